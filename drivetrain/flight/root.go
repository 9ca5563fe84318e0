package flight

// seventhRoot returns r^(1/7) for ratios from CriticalRatio to 1. The start is
// the polynomial of degree 5 through the root at the Chebyshev nodes of that
// range, good to 7.3e-7; one step of Halley's method, which leaves four times the
// cube of that, takes it to the last float or two.
func seventhRoot(r float64) float64 {
	const (
		c0, c1, c2 = 0.6788026913, 0.7718023524, -0.9621163404
		c3, c4, c5 = 0.8360422994, -0.4098728309, 0.08534221845
	)
	r2 := r * r
	q := c0 + c1*r + r2*(c2+c3*r+r2*(c4+c5*r))
	q2 := q * q
	q4 := q2 * q2
	q7 := q4 * q2 * q
	return q - q*(q7-r)/(4*q7+3*r)
}
