package flight

// bend is the course inside a step, the polynomial of the method in s from 0 to 1:
// y0 + s(r1 + (1−s)(r2 + s·r3)) with r1 = y1 − y0.
type bend struct {
	y0, y1, r2, r3 [states]float64
}

// at returns a state at s.
func (b *bend) at(i int, s float64) float64 {
	return b.y0[i] + s*(b.y1[i]-b.y0[i]+(1-s)*(b.r2[i]+s*b.r3[i]))
}

// rate returns the derivative of a state by s.
func (b *bend) rate(i int, s float64) float64 {
	return b.y1[i] - b.y0[i] + (1-2*s)*b.r2[i] + s*(2-3*s)*b.r3[i]
}

// cut moves the end to s.
func (b *bend) cut(s float64) {
	for i, y0 := range b.y0 {
		// In powers of the old s, then of the new one.
		r1, r2, r3 := b.y1[i]-y0, b.r2[i], b.r3[i]
		c1, c2, c3 := s*(r1+r2), s*s*(r3-r2), -s*s*s*r3
		b.y1[i] = y0 + (c1 + c2 + c3)
		b.r2[i], b.r3[i] = -c2-c3, -c3
	}
}
