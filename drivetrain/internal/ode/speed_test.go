package ode_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/ode"
	"example.org/ampstroke/drivetrain/internal/ode/odetest"
)

// A pendulum with impulses: events that stop and events that do not, restarts and
// samples, and none of them allocates.
func TestNoAllocation(t *testing.T) {
	p := odetest.Oscillator().Problem
	p.T1 = 1e6
	p.Events = []ode.Event{
		{Name: "zero", Func: func(_ float64, y []float64) float64 { return y[0] }, Direction: ode.Falling, Terminal: true},
		{Name: "turn", Func: func(_ float64, y []float64) float64 { return y[1] }},
	}
	s, err := ode.New(p, ode.Settings{RelTol: 1e-6})
	require.NoError(t, err)
	y, sample := make([]float64, 2), make([]float64, 2)
	var failure error
	allocs := testing.AllocsPerRun(2000, func() {
		if err := s.Step(); err != nil {
			failure = err
		}
		s.At(sample, (s.PrevT()+s.T())/2)
		for _, e := range s.Events() {
			if e.Index == 0 {
				y[0], y[1] = 0, e.Y[1]-0.5
				if err := s.Reset(e.T, y); err != nil {
					failure = err
				}
			}
		}
	})
	require.NoError(t, failure)
	assert.Zero(t, allocs)
	assert.Greater(t, s.Stats().Resets, 50)
	assert.Greater(t, s.Stats().Events, 2*s.Stats().Resets)
	assert.Positive(t, s.Stats().Rejected+s.Stats().Repeats)
}

// The slab of a trajectory grows by factors: few allocations for many steps.
func TestTrajectoryGrowth(t *testing.T) {
	var tr *ode.Trajectory
	var failure error
	allocs := testing.AllocsPerRun(1, func() {
		tr = &ode.Trajectory{}
		s, err := ode.New(odetest.Arenstorf().Problem, ode.Settings{RelTol: 1e-11})
		for err == nil && s.Status() != ode.Done {
			err = s.Step()
			tr.Append(s, 0)
		}
		failure = err
	})
	require.NoError(t, failure)
	require.Greater(t, tr.Len(), 1000)
	assert.Less(t, allocs, 100., "some for the solver, and two slices that grow by a quarter and more")

	y := make([]float64, 4)
	assert.Zero(t, testing.AllocsPerRun(100, func() { tr.At(y, math.Pi); tr.Before(y, 1) }))
}

func BenchmarkArenstorf(b *testing.B) {
	p := odetest.Arenstorf().Problem
	evaluations := 0
	for b.Loop() {
		s, err := ode.New(p, ode.Settings{RelTol: 1e-9})
		if err != nil {
			b.Fatal(err)
		}
		for s.Status() != ode.Done {
			if err := s.Step(); err != nil {
				b.Fatal(err)
			}
		}
		evaluations = s.Stats().Evaluations
	}
	b.ReportMetric(float64(evaluations), "evaluations/op")
}

func BenchmarkContact(b *testing.B) {
	p := odetest.Contact()
	evaluations := 0
	for b.Loop() {
		found, err := p.Run(ode.Settings{RelTol: 1e-9})
		if err != nil {
			b.Fatal(err)
		}
		evaluations = found.Stats.Evaluations
	}
	b.ReportMetric(float64(evaluations), "evaluations/op")
}
