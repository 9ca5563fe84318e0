package ode

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// conditions are the order conditions of Runge–Kutta methods up to order 5, one a
// rooted tree: Σ b·weight = 1/density (J. C. Butcher, from memory; the count for
// each order, 1 1 2 4 9, is complete).
var conditions = []struct {
	name    string
	order   int
	density float64
	weight  func(a func([]float64) []float64, c []float64) []float64
}{
	{"1", 1, 1, func(a func([]float64) []float64, c []float64) []float64 { return power(c, 0) }},
	{"c", 2, 2, func(a func([]float64) []float64, c []float64) []float64 { return c }},
	{"c²", 3, 3, func(a func([]float64) []float64, c []float64) []float64 { return power(c, 2) }},
	{"Ac", 3, 6, func(a func([]float64) []float64, c []float64) []float64 { return a(c) }},
	{"c³", 4, 4, func(a func([]float64) []float64, c []float64) []float64 { return power(c, 3) }},
	{"c·Ac", 4, 8, func(a func([]float64) []float64, c []float64) []float64 { return times(c, a(c)) }},
	{"Ac²", 4, 12, func(a func([]float64) []float64, c []float64) []float64 { return a(power(c, 2)) }},
	{"AAc", 4, 24, func(a func([]float64) []float64, c []float64) []float64 { return a(a(c)) }},
	{"c⁴", 5, 5, func(a func([]float64) []float64, c []float64) []float64 { return power(c, 4) }},
	{"c²·Ac", 5, 10, func(a func([]float64) []float64, c []float64) []float64 { return times(power(c, 2), a(c)) }},
	{"c·Ac²", 5, 15, func(a func([]float64) []float64, c []float64) []float64 { return times(c, a(power(c, 2))) }},
	{"c·AAc", 5, 30, func(a func([]float64) []float64, c []float64) []float64 { return times(c, a(a(c))) }},
	{"Ac·Ac", 5, 20, func(a func([]float64) []float64, c []float64) []float64 { return times(a(c), a(c)) }},
	{"Ac³", 5, 20, func(a func([]float64) []float64, c []float64) []float64 { return a(power(c, 3)) }},
	{"A(c·Ac)", 5, 40, func(a func([]float64) []float64, c []float64) []float64 { return a(times(c, a(c))) }},
	{"AAc²", 5, 60, func(a func([]float64) []float64, c []float64) []float64 { return a(a(power(c, 2))) }},
	{"AAAc", 5, 120, func(a func([]float64) []float64, c []float64) []float64 { return a(a(a(c))) }},
}

func power(x []float64, n int) []float64 {
	y := make([]float64, len(x))
	for i := range x {
		y[i] = math.Pow(x[i], float64(n))
	}
	return y
}

func times(x, y []float64) []float64 {
	z := make([]float64, len(x))
	for i := range x {
		z[i] = x[i] * y[i]
	}
	return z
}

func dot(x, y []float64) float64 {
	var sum float64
	for i := range x {
		sum += x[i] * y[i]
	}
	return sum
}

// apply multiplies by the stages' matrix.
func (tab *tableau) apply(x []float64) []float64 {
	y := make([]float64, len(x))
	for i, row := range tab.a {
		y[i] = dot(row, x)
	}
	return y
}

// weights are those of the result, on all stages.
func (tab *tableau) weights() []float64 {
	b := make([]float64, len(tab.c))
	copy(b, tab.a[len(tab.a)-1])
	return b
}

// at are the weights of the dense output at s, from the nested form.
func (tab *tableau) at(s float64) []float64 {
	b := tab.weights()
	w := make([]float64, len(b))
	u := 1 - s
	for i := range b {
		var first, last float64
		if i == 0 {
			first = 1
		}
		if i == len(b)-1 {
			last = 1
		}
		r1, r2 := b[i], first-b[i]
		r3 := r1 - last - r2
		w[i] = s * (r1 + u*(r2+s*(r3+u*tab.d[i])))
	}
	return w
}

// rounding bounds sums of some ten terms of at most 15, each rounded to 2^-53.
const rounding = 2e-14

func TestTableauRowSums(t *testing.T) {
	tab := dormandPrince()
	ones := power(tab.c, 0)
	assert.InDeltaSlice(t, tab.c, tab.apply(ones), rounding)
	assert.InDelta(t, 0, dot(tab.e, ones), rounding, "the error estimate of a constant slope")
	assert.InDelta(t, 0, dot(tab.d, ones), rounding, "the dense output of a constant slope")
	for i, row := range tab.a {
		assert.Len(t, row, min(i, len(tab.a)-1), "explicit")
	}
}

func TestTableauOrder(t *testing.T) {
	tab := dormandPrince()
	b := tab.weights()
	embedded := make([]float64, len(b))
	for i := range b {
		embedded[i] = b[i] - tab.e[i]
	}
	misses := 0
	for _, c := range conditions {
		w := c.weight(tab.apply, tab.c)
		assert.InDelta(t, 1/c.density, dot(b, w), rounding, "result, %s", c.name)
		if c.order <= 4 {
			assert.InDelta(t, 1/c.density, dot(embedded, w), rounding, "embedded, %s", c.name)
		} else if math.Abs(dot(embedded, w)-1/c.density) > 1e-6 {
			misses++
		}
		for _, s := range []float64{0.2, 0.5, 0.9, 1} {
			if c.order <= 4 {
				assert.InDelta(t, math.Pow(s, float64(c.order))/c.density, dot(tab.at(s), w), rounding,
					"dense output at %v, %s", s, c.name)
			}
		}
	}
	assert.Positive(t, misses, "the embedded result has order 4 only, or there is no estimate")
	assert.InDeltaSlice(t, b, tab.at(1), rounding, "dense output at the end")
}

// A cut polynomial is the polynomial it was cut from. Coefficients of order one
// and a dozen operations leave 1e-14.
func TestCut(t *testing.T) {
	var g, whole segment
	g.lay(make([]float64, 2*vectors), 2)
	whole.lay(make([]float64, 2*vectors), 2)
	for _, s := range []*segment{&g, &whole} {
		s.t0, s.t1 = 1, 3
		copy(s.y0, []float64{1, -2})
		copy(s.y1, []float64{2, 0.5})
		copy(s.r2, []float64{0.3, -1})
		copy(s.r3, []float64{-0.7, 2})
		copy(s.r4, []float64{1.5, 0.9})
	}
	g.cut(2.3)
	a, b := make([]float64, 2), make([]float64, 2)
	for _, x := range []float64{1, 1.1, 1.7, 2.2, 2.3} {
		g.at(a, x)
		whole.at(b, x)
		assert.InDeltaSlice(t, b, a, 1e-14, "at %v", x)
	}
	assert.Equal(t, 2.3, g.t1)
}

// At its ends a segment is the steps' states, also where y0 + (y1 − y0) rounds to
// another float.
func TestSegmentEnds(t *testing.T) {
	g := segment{t0: 1, t1: 2}
	g.lay(make([]float64, vectors), 1)
	g.y0[0], g.y1[0] = 1e17, 0.1
	y := make([]float64, 1)
	g.at(y, 1)
	assert.Equal(t, 1e17, y[0])
	g.at(y, 2)
	assert.Equal(t, 0.1, y[0])
}
