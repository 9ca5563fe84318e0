package ode_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// A driven slide returns to its start at each full stroke and keeps part of its
// speed: x' = v, v' = a, a' = j, j' = k, k' = drive, and at x = 1 the state becomes
// 0, keep·v, a0, j0, k0. The stroke is a polynomial of degree 5 in time, which the
// method meets exactly, so that only the location of the events can spoil the map
// from one stroke to the next. A clock that has nothing to do with the strokes
// interrupts the steps, so that each stroke is cut differently.
const (
	slideKeep  = 0.5
	slideA     = 0.3
	slideJ     = 2.0
	slideK     = -9.0
	slideDrive = 40.0
	slideTick  = 0.61
)

// slideStroke is the exact map from the speed at a stroke's start to that at the
// next.
func slideStroke(v float64) float64 {
	at := func(t float64) (x, speed float64) {
		x = t * (v + t/2*(slideA+t/3*(slideJ+t/4*(slideK+t/5*slideDrive))))
		speed = v + t*(slideA+t/2*(slideJ+t/3*(slideK+t/4*slideDrive)))
		return x, speed
	}
	lo, hi := 0., 3.
	for {
		t := (lo + hi) / 2
		x, speed := at(t)
		if t <= lo || t >= hi {
			return slideKeep * speed
		}
		if x < 1 {
			lo = t
		} else {
			hi = t
		}
	}
}

// slideRun returns the speeds at the starts of strokes.
func slideRun(t *testing.T, tol float64, strokes int) ([]float64, ode.Stats) {
	p := ode.Problem{
		Deriv: func(dydt []float64, _ float64, y []float64) {
			copy(dydt, y[1:5])
			dydt[4] = slideDrive
			dydt[5] = 1
		},
		T1: 1000,
		Y0: []float64{0, 0.1, slideA, slideJ, slideK, 0},
		Events: []ode.Event{
			{Name: "tick", Terminal: true, Func: func(_ float64, y []float64) float64 { return y[5] - slideTick }},
			{Name: "stroke", Terminal: true, Func: func(_ float64, y []float64) float64 { return y[0] - 1 }},
		},
	}
	s, err := ode.New(p, ode.Settings{RelTol: tol})
	require.NoError(t, err)
	var speeds []float64
	for len(speeds) < strokes {
		require.NoError(t, s.Step())
		if s.Status() != ode.Stopped {
			continue
		}
		y := s.At(nil, s.T())
		for _, e := range s.Events() {
			switch e.Index {
			case 0:
				y[5] = 0
			case 1:
				y[0], y[1], y[2], y[3], y[4] = 0, slideKeep*y[1], slideA, slideJ, slideK
				speeds = append(speeds, y[1])
			}
		}
		require.NoError(t, s.Reset(s.T(), y))
	}
	return speeds, s.Stats()
}

// Iterated from event to event, the map converges to its fixed point up to
// rounding, however loose the tolerance and however the strokes are cut. Some ten
// steps of five sums of terms up to 20 round by 1e-13 at most; 1e-12 leaves room for
// the arithmetic of other machines.
func TestPeriodicMapConverges(t *testing.T) {
	want := 0.1
	for range 200 {
		want = slideStroke(want)
	}
	require.Greater(t, want, 0.5)
	for _, tol := range []float64{1e-2, 1e-4, 1e-6, 1e-9} {
		speeds, stats := slideRun(t, tol, 150)
		worst, change := 0., 0.
		for i := 100; i < len(speeds); i++ {
			worst = max(worst, math.Abs(speeds[i]-want))
			change = max(change, math.Abs(speeds[i]-speeds[i-1]))
		}
		t.Logf("tolerance %g: off by %.1e, changes by %.1e, %+v", tol, worst, change, stats)
		assert.Less(t, worst, 1e-12, "tolerance %g", tol)
		assert.Less(t, change, 1e-12, "tolerance %g", tol)
	}
}
