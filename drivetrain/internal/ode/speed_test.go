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
	for _, method := range []ode.Method{ode.DormandPrince, ode.Rodas} {
		t.Run(method.String(), func(t *testing.T) { noAllocation(t, method) })
	}

	// Nor do states that are carried along.
	s, err := ode.New(carried(), ode.Settings{RelTol: 1e-6, Method: ode.Rodas})
	require.NoError(t, err)
	var failure error
	assert.Zero(t, testing.AllocsPerRun(50, func() {
		if err := s.Step(); err != nil {
			failure = err
		}
	}))
	require.NoError(t, failure)
}

func noAllocation(t *testing.T, method ode.Method) {
	p := odetest.Oscillator().Problem
	p.T1 = 1e6
	p.Events = []ode.Event{
		{Name: "zero", Func: func(_ float64, y []float64) float64 { return y[0] }, Direction: ode.Falling, Terminal: true},
		{Name: "turn", Func: func(_ float64, y []float64) float64 { return y[1] }},
	}
	s, err := ode.New(p, ode.Settings{RelTol: 1e-6, Method: method})
	require.NoError(t, err)
	y, sample := make([]float64, 2), make([]float64, 2)
	var failure error
	allocs := testing.AllocsPerRun(4000, func() {
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

// A trajectory keeps many steps in one slab: few allocations.
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

// carried is HIRES with six integrals of its state that are carried along: as many
// states as those of a flight.
func carried() ode.Problem {
	p := odetest.HIRES().Problem
	const n, passive = 8, 6
	deriv, jacobian := p.Deriv, p.Jacobian
	block := make([]float64, n*n)
	p.Y0 = append(append([]float64(nil), p.Y0...), make([]float64, passive)...)
	p.Deriv = func(dydt []float64, t float64, y []float64) {
		deriv(dydt[:n], t, y[:n])
		for i := range passive {
			dydt[n+i] = y[i] * y[i+1]
		}
	}
	p.Jacobian = func(dfdy []float64, t float64, y []float64) {
		clear(block)
		jacobian(block, t, y[:n])
		for i := range n {
			copy(dfdy[i*(n+passive):], block[i*n:(i+1)*n])
		}
		for i := range passive {
			row := dfdy[(n+i)*(n+passive):]
			row[i], row[i+1] = y[i+1], y[i]
		}
	}
	p.Passive = passive
	return p
}

// A step of the stiff method, with eight states and six that are carried along; at
// the end it starts anew.
func BenchmarkRodasStep(b *testing.B) {
	p := carried()
	s, err := ode.New(p, ode.Settings{RelTol: 1e-5, AbsTol: []float64{1e-9}, Method: ode.Rodas})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if s.Status() == ode.Done {
			b.StopTimer()
			if s, err = ode.New(p, ode.Settings{RelTol: 1e-5, AbsTol: []float64{1e-9}, Method: ode.Rodas}); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
		}
		if err := s.Step(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRobertson(b *testing.B) {
	p := odetest.Robertson().Problem
	var stats ode.Stats
	for b.Loop() {
		s, err := ode.New(p, ode.Settings{RelTol: 1e-6, AbsTol: []float64{1e-12, 1e-18, 1e-12}, Method: ode.Rodas})
		if err != nil {
			b.Fatal(err)
		}
		for s.Status() != ode.Done {
			if err := s.Step(); err != nil {
				b.Fatal(err)
			}
		}
		stats = s.Stats()
	}
	b.ReportMetric(float64(stats.Evaluations), "evaluations/op")
	b.ReportMetric(float64(stats.Steps), "steps/op")
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
