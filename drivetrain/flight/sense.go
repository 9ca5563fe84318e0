package flight

import "math"

// sense is tanh(v/creep), the direction of the piston's drag, as [direction] but
// faster and good to a float or two of 1: with e = exp(−2|v|/creep) it is
// (1 − e)/(1 + e).
func sense(v float64) float64 {
	const (
		log2e  = math.Log2E
		ln2hi  = 0x1.62e42fefa38p-1
		ln2lo  = 0x1.ef35793c7673p-45
		bias   = 1023
		digits = 52
	)
	u := math.Abs(v)
	if u > 20*creep {
		return math.Copysign(1, v)
	}
	u *= -2 / creep
	n := int(u*log2e - 0.5) // rounded, for u ≤ 0
	k := float64(n)
	r := (u - k*ln2hi) - k*ln2lo
	r2 := r * r
	r4 := r2 * r2
	e := ((1 + r) + (1./2+1./6*r)*r2) + ((1./24+1./120*r)+(1./720+1./5040*r)*r2)*r4 +
		((1./40320+1./362880*r)+(1./3628800+1./39916800*r)*r2+1./479001600*r4)*(r4*r4)
	e *= math.Float64frombits(uint64(n+bias) << digits)
	return math.Copysign((1-e)/(1+e), v)
}
