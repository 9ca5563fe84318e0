package ode

import (
	"fmt"
	"math"
)

// segment is the solution inside one step, as a polynomial in s = (t − t0)/(t1 −
// t0): y0 + s(r1 + (1−s)(r2 + s(r3 + (1−s)r4))) with r1 = y1 − y0.
type segment struct {
	t0, t1 float64
	y0, y1 []float64
	r2     []float64
	r3     []float64
	r4     []float64
}

// vectors is the number of vectors in a segment.
const vectors = 5

// lay cuts the vectors of the segment from a slab of 5n values.
func (g *segment) lay(slab []float64, n int) {
	for i, v := range []*[]float64{&g.y0, &g.y1, &g.r2, &g.r3, &g.r4} {
		*v = slab[i*n : (i+1)*n : (i+1)*n]
	}
}

// at writes the state at t to dst. At t0 and t1 it is that of the step, exactly.
func (g *segment) at(dst []float64, t float64) {
	switch t {
	case g.t1:
		copy(dst, g.y1)
		return
	case g.t0:
		copy(dst, g.y0)
		return
	}
	s := (t - g.t0) / (g.t1 - g.t0)
	u := 1 - s
	for i, y0 := range g.y0 {
		r1 := g.y1[i] - y0
		dst[i] = y0 + s*(r1+u*(g.r2[i]+s*(g.r3[i]+u*g.r4[i])))
	}
}

// cut shortens the segment to end at t, on the same polynomial. With s = σu the
// new coefficients follow from the value at σ, the slopes at 0 and at σ and the
// coefficient of s⁴, which is r4.
func (g *segment) cut(t float64) {
	s := (t - g.t0) / (g.t1 - g.t0)
	u := 1 - s
	for i, y0 := range g.y0 {
		r1, r2, r3, r4 := g.y1[i]-y0, g.r2[i], g.r3[i], g.r4[i]
		slope := r1 + (1-2*s)*r2 + s*(2-3*s)*r3 + 2*s*u*(1-2*s)*r4 // at σ
		c1 := s * (r1 + u*(r2+s*(r3+u*r4)))
		c2 := s*(r1+r2) - c1
		g.y1[i] = y0 + c1
		g.r2[i] = c2
		g.r3[i] = c1 - c2 - s*slope
		g.r4[i] = s * s * s * s * r4
	}
	g.t1 = t
}

// sized returns dst, or a new slice if it is nil. Another length than n panics.
func sized(dst []float64, n int) []float64 {
	if dst == nil {
		return make([]float64, n)
	}
	if len(dst) != n {
		panic(fmt.Sprintf("ode: dst has length %d, want %d", len(dst), n))
	}
	return dst
}

// ulp is the distance from |t| to the next larger float.
func ulp(t float64) float64 {
	t = math.Abs(t)
	return math.Nextafter(t, math.Inf(1)) - t
}
