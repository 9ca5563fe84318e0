package flight

// bend is the course inside a step, a polynomial in s from 0 to 1 with u = 1 − s:
// y0 + s(r1 + u(r2 + s(r3 + u·r4))) with r1 = y1 − y0.
type bend struct {
	y0, y1, r2, r3, r4 [states]float64
}

// at returns a state at s.
func (b *bend) at(i int, s float64) float64 {
	u := 1 - s
	return b.y0[i] + s*(b.y1[i]-b.y0[i]+u*(b.r2[i]+s*(b.r3[i]+u*b.r4[i])))
}

// rate returns the derivative of a state by s.
func (b *bend) rate(i int, s float64) float64 {
	return b.y1[i] - b.y0[i] + (1-2*s)*b.r2[i] + s*((2-3*s)*b.r3[i]+2*(1-s)*(1-2*s)*b.r4[i])
}

// cut moves the end to s.
func (b *bend) cut(s float64) {
	for i, y0 := range b.y0 {
		// From the value at the new end and the slopes at both; the power of four is r4.
		end, slope := b.at(i, s)-y0, b.rate(i, s)
		r2 := s*(b.y1[i]-y0+b.r2[i]) - end
		b.y1[i] = y0 + end
		b.r2[i], b.r3[i] = r2, end-r2-s*slope
		b.r4[i] *= s * s * s * s
	}
}
