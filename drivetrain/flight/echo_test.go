package flight

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What comes back is what went out, to the fourth power of the time: a push and a speed
// that are polynomials of degree 4 in a step are so 2τ later, and in a step that is a part of
// it, as their sum and with its slope.
func TestEchoOfAQuartic(t *testing.T) {
	g := with(waves)
	const from, to = 1e-4, 3e-4
	quartic := func(c ...float64) func(t float64) (value, slope float64) {
		return func(t float64) (value, slope float64) {
			x := (t - from) / (to - from)
			for i := len(c) - 1; i >= 0; i-- {
				slope = slope*x + value
				value = value*x + c[i]
			}
			return value, slope / (to - from)
		}
	}
	push, speed := quartic(30, -4, 7, 2, -9), quartic(-5, 3, -1, 4, 6)
	at := func(t float64) *end {
		p, dp := push(t)
		v, dv := speed(t)
		return &end{p, dp, v, dv}
	}
	e := echo{impedance: g.impedance, delay: g.delay}
	a, b := at(from), at(to)
	e.pieces = []piece{newPiece(from, to, a.push, b.push, a.slope, b.slope, -9)}
	for _, x := range []float64{0.1, 0.4, 0.8} {
		middle := from + x*(to-from)
		want, slope := push(middle)
		assert.InEpsilon(t, want, e.find(middle).at(middle), 1e-12)
		assert.InEpsilon(t, slope, e.find(middle).slope(middle), 1e-9)
	}

	// A step of a part: its own fourth power is that of the part.
	start, stop := from+0.2*(to-from), from+0.7*(to-from)
	a, b = at(start), at(stop)
	push4 := e.fourth(start, stop, a, b)
	assert.InEpsilon(t, -9*math.Pow(0.5, 4), push4, 1e-9)
	e.pieces[0].t1 = start + g.delay // so that what is added stands where it belongs
	e.add(stop, a, b, push4, 6*math.Pow(0.5, 4))
	for _, x := range []float64{0, 0.3, 0.5, 0.9, 1} {
		then := start + x*(stop-start)
		p, dp := push(then)
		v, dv := speed(then)
		later := then + g.delay
		assert.InEpsilon(t, p+2*g.impedance*v, e.pieces[1].at(later), 1e-9, "%g of the step", x)
		assert.InEpsilon(t, dp+2*g.impedance*dv, e.pieces[1].slope(later), 1e-6, "%g of the step", x)
	}
}

// The fourth power of a speed in a step on an expected course is the course's; without one
// there is none.
func TestFourthPowerOfASpeed(t *testing.T) {
	e := expected{most: past}
	assert.Zero(t, e.fourth(speed, 1e-3), "of a step without an expected course")
	var points [past + 1]point
	for i := range points {
		x := 0.1 * float64(i)
		points[i].y[speed] = 2 + x - 3*x*x + 5*math.Pow(x, 4)
		if i > 0 {
			e.extend(&points[i-1], &points[i], 0.1)
		}
	}
	assert.InEpsilon(t, 5*math.Pow(0.07, 4), e.fourth(speed, 0.07), 1e-9)
}

// A step that is made is written down with the fourth power of the piston's speed in it.
func TestStepsAreKeptToTheFourthPower(t *testing.T) {
	const h, fourth = 1e-4, 1e9
	g := with(waves)
	var f Flyer
	f.shot.gun = g
	f.echo.start(g, 1.5)
	f.step.near = &point{}
	to := &point{}
	first := &f.echo.pieces[0] // linear: it has no fourth power itself
	f.step.near.now.push, f.step.near.in.push = first.at(0), first.slope(0)
	to.now.push, to.in.push = first.at(h), first.slope(h)
	f.step.expected.degree = past
	f.step.expected.powers[2][speed] = fourth
	f.keep(to, h)
	assert.InEpsilon(t, 2*g.impedance*fourth*math.Pow(h, 4), f.echo.pieces[1].r4, 1e-6)
}
