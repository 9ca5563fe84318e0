package ode_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/ode"
	"example.org/ampstroke/drivetrain/internal/ode/odetest"
)

// The trajectory gives what the solver gave during the run, to the last bit.
func TestTrajectoryIsTheRun(t *testing.T) {
	s, err := ode.New(odetest.Oscillator().Problem, ode.Settings{})
	require.NoError(t, err)
	var tr ode.Trajectory
	var times []float64
	var states [][]float64
	for s.Status() != ode.Done {
		require.NoError(t, s.Step())
		tr.Append(s, 3)
		require.Equal(t, s.Y(), s.At(nil, s.T()), "also where y0 + (y1 − y0) rounds to another float")
		for _, part := range []float64{0.1, 0.5, 0.8, 1} {
			x := s.T()
			if part < 1 {
				x = s.PrevT() + part*(s.T()-s.PrevT())
			}
			times = append(times, x)
			states = append(states, s.At(nil, x))
		}
	}
	require.Equal(t, s.Stats().Steps, tr.Len())
	y := make([]float64, 2)
	for i, x := range times {
		assert.Equal(t, states[i], tr.At(y, x))
		assert.Equal(t, states[i], tr.Before(y, x))
	}
	assert.Equal(t, []float64{1, 0}, tr.At(nil, 0))
	assert.Equal(t, []float64{1, 0}, tr.Before(nil, 0))
	last := 0.
	for i := range tr.Len() {
		t0, t1, mode := tr.Segment(i)
		assert.Equal(t, last, t0)
		assert.Greater(t, t1, t0)
		assert.Equal(t, 3, mode)
		last = t1
	}
	assert.Equal(t, 10., last)
}

// At a bounce the state before it and the one after it can both be had.
func TestTrajectoryAtAJump(t *testing.T) {
	p := odetest.Ball()
	found, err := p.Run(ode.Settings{})
	require.NoError(t, err)
	tr := &found.Trajectory
	for k, x := range found.Times {
		before, after := tr.Before(nil, x), tr.At(nil, x)
		assert.Equal(t, found.States[k], before)
		assert.Equal(t, []float64{0, -0.8 * before[1]}, after)
		i := tr.Find(x)
		t0, _, mode := tr.Segment(i)
		assert.Equal(t, x, t0)
		assert.Equal(t, k+1, mode)
		_, t1, mode := tr.Segment(i - 1)
		assert.Equal(t, x, t1)
		assert.Equal(t, k, mode)
		assert.Equal(t, before, tr.AtSegment(nil, i-1, x))
		assert.Equal(t, after, tr.AtSegment(nil, i, x))
	}
}

// A step handed over by its polynomial is that of the Solver.
func TestAppendStep(t *testing.T) {
	s, err := ode.New(good(), ode.Settings{})
	require.NoError(t, err)
	var ours, theirs ode.Trajectory
	for mode := 0; s.Status() != ode.Done; mode++ {
		require.NoError(t, s.Step())
		theirs.Append(s, mode)
		t0, t1, _ := theirs.Segment(mode)
		y0, y1 := s.At(nil, t0), s.At(nil, t1)
		// The polynomial through three more points of the step.
		var r2, r3, r4 []float64
		for i := range y0 {
			part := func(x float64) float64 { // r2 + x(r3 + (1−x)r4)
				return ((s.At(nil, t0+x*(t1-t0))[i]-y0[i])/x - (y1[i] - y0[i])) / (1 - x)
			}
			a, b, c := part(0.25), part(0.5), part(0.75)
			r3 = append(r3, 2*(c-a))
			r4 = append(r4, 16*(b-(a+c)/2))
			r2 = append(r2, b-r3[i]/2-r4[i]/4)
		}
		ours.AppendStep(t0, t1, y0, y1, r2, r3, r4, mode)
		for _, x := range []float64{0, 0.1, 0.25, 0.6, 1} {
			at := t0 + x*(t1-t0)
			for i, want := range theirs.AtSegment(nil, mode, at) {
				assert.InDelta(t, want, ours.AtSegment(nil, mode, at)[i], 1e-13)
			}
		}
		_, _, got := ours.Segment(mode)
		assert.Equal(t, mode, got)
	}
	assert.Contains(t, panicking(func() {
		ours.AppendStep(1, 2, []float64{0, 0}, []float64{0, 0}, []float64{0, 0}, []float64{0}, []float64{0, 0}, 0)
	}), "2 and 1")
	assert.Contains(t, panicking(func() {
		ours.AppendStep(0.5, 2, []float64{0, 0}, []float64{0, 0}, []float64{0, 0}, []float64{0, 0}, []float64{0, 0}, 0)
	}), "step from time")
}

// The dense output errs by no more than some tolerances between the steps.
func TestTrajectoryIsAccurate(t *testing.T) {
	for method, problems := range runs() {
		for _, p := range problems {
			if p.Exact == nil {
				continue
			}
			t.Run(fmt.Sprint(method, p.Name), func(t *testing.T) {
				set := ode.Settings{RelTol: 1e-9, Method: method}
				grown := growth(t, p, set, p.Problem.T1)
				tr, _ := integrate(t, p.Problem, set)
				y := make([]float64, len(p.Problem.Y0))
				want := make([]float64, len(y))
				for i := range 1000 {
					x := p.Problem.T1 * float64(i) / 999
					p.Exact(want, x)
					size := 1.
					for _, v := range want {
						size = max(size, math.Abs(v))
					}
					// Ten steps' tolerance, as for the published values, of 1e-9 of the state.
					assert.Less(t, distance(want, tr.At(y, x)), 10*2e-9*size*grown, "at %v", x)
				}
			})
		}
	}
}

func TestTrajectoryGap(t *testing.T) {
	p := good()
	s, err := ode.New(p, ode.Settings{})
	require.NoError(t, err)
	var tr ode.Trajectory
	assert.Equal(t, -1, tr.Find(0))
	require.NoError(t, s.Step())
	tr.Append(s, 0)
	end := s.T()
	require.NoError(t, s.Reset(0.5, []float64{0, 0}))
	assert.Contains(t, panicking(func() { tr.Append(s, 0) }), "no step")
	for s.Status() != ode.Done {
		require.NoError(t, s.Step())
		tr.Append(s, 1)
	}
	assert.Equal(t, 0, tr.Find(end))
	assert.Equal(t, -1, tr.Find((end+0.5)/2), "the gap")
	assert.Equal(t, 1, tr.Find(0.5))
	assert.Equal(t, tr.Len()-1, tr.Find(1))
	for _, x := range []float64{-1e-9, (end + 0.5) / 2, 1 + 1e-9, math.NaN()} {
		assert.Equal(t, -1, tr.Find(x))
		assert.Contains(t, panicking(func() { tr.At(nil, x) }), "no segment")
		assert.Contains(t, panicking(func() { tr.Before(nil, x) }), "no segment")
	}
	assert.Contains(t, panicking(func() { tr.At(make([]float64, 1), 1) }), "length 1, want 2")
	assert.Contains(t, panicking(func() { tr.AtSegment(nil, 0, 1) }), "outside segment 0")
	assert.Contains(t, panicking(func() { tr.Append(s, 1) }), "step from time", "twice")

	p.Deriv = func(dydt []float64, _ float64, _ []float64) { dydt[0] = 0 }
	p.T0, p.T1, p.Y0 = 2, 3, []float64{0}
	other, err := ode.New(p, ode.Settings{})
	require.NoError(t, err)
	require.NoError(t, other.Step())
	assert.Contains(t, panicking(func() { tr.Append(other, 0) }), "1 components after steps of 2")
}
