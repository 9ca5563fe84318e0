package flight

// nested is the polynomial of a step in s from 0 to 1 with u = 1 − s, y0 + s(r1 + u(r2 +
// s(r3 + u·r4))), and nestedRate its derivative by s.
func nested(s, y0, r1, r2, r3, r4 float64) float64 {
	u := 1 - s
	return y0 + s*(r1+u*(r2+s*(r3+u*r4)))
}

func nestedRate(s, r1, r2, r3, r4 float64) float64 {
	return r1 + (1-2*s)*r2 + s*((2-3*s)*r3+2*(1-s)*(1-2*s)*r4)
}

// bend is the course inside a step, each state a nested polynomial with r1 = y1 − y0.
type bend struct {
	y0, y1, r2, r3, r4 [states]float64
}

// at returns a state at s.
func (b *bend) at(i int, s float64) float64 {
	return nested(s, b.y0[i], b.y1[i]-b.y0[i], b.r2[i], b.r3[i], b.r4[i])
}

// course returns what nested takes of a state.
func (b *bend) course(i int) [5]float64 {
	return [5]float64{b.y0[i], b.y1[i] - b.y0[i], b.r2[i], b.r3[i], b.r4[i]}
}

// rate returns the derivative of a state by s.
func (b *bend) rate(i int, s float64) float64 {
	return nestedRate(s, b.y1[i]-b.y0[i], b.r2[i], b.r3[i], b.r4[i])
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
