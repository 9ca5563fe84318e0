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

// Over eleven powers of ten of time each component is held to its own size. Errors do
// not grow: the two fast components follow the slow one, which falls as 1/t and forgets.
// So the tolerance is that of ten steps, as for the other published values.
func TestRobertson(t *testing.T) {
	p := odetest.Robertson()
	last := math.Inf(1)
	for _, tol := range []float64{1e-4, 1e-6, 1e-8, 1e-9} {
		s, err := finish(t, p.Problem, ode.Settings{
			Method: ode.Rodas, RelTol: tol, AbsTol: []float64{tol * 1e-10, tol * 1e-14, tol},
		})
		require.NoError(t, err)
		var worst float64
		for i, want := range p.Checks[0].Y {
			worst = max(worst, math.Abs(s.Y()[i]/want-1))
		}
		t.Logf("tolerance %g: off by %.1e, %+v", tol, worst, s.Stats())
		assert.Less(t, worst, 10*tol, p.Source)
		assert.Less(t, worst, last)
		last = worst
		assert.InDelta(t, 1, s.Y()[0]+s.Y()[1]+s.Y()[2], 1e-12, "a linear invariant: rounding only")
		assert.Less(t, s.Stats().Steps, 10_000)
	}
	// The explicit method's steps stay some 3/λ long with λ = 2e3 and more: 10,000 of them
	// end before t = 15.
	s, err := finish(t, p.Problem, ode.Settings{RelTol: 1e-4, AbsTol: []float64{1e-8}, MaxSteps: 10_000})
	assert.ErrorIs(t, err, ode.ErrTooManySteps)
	assert.Less(t, s.T(), 15.)
}

// y' = λ(y − sin t) + cos t from the solution, in fixed steps of 0.5: hλ is −5e5 and
// more. The error is that of a stiffly accurate method: it falls to zero with 1/λ.
func TestStifflyAccurate(t *testing.T) {
	var errs []float64
	for _, lambda := range []float64{-1e6, -1e7, -1e8} {
		p := odetest.Linear(lambda).Autonomous()
		s, err := ode.NewFixed(p.Problem, 0.5, ode.Rodas)
		require.NoError(t, err)
		var worst float64
		for s.Status() != ode.Done {
			require.NoError(t, s.Step())
			worst = max(worst, math.Abs(s.Y()[0]-math.Sin(s.T())))
		}
		require.Equal(t, 20, s.Stats().Steps)
		errs = append(errs, worst)
	}
	t.Logf("errors %.2g", errs)
	// An error of λ/(1/hγ − λ)·h²/2 of the slope's change, about 1, would be h²/2: it is
	// damped by 1/hλ, to 2e-6.
	assert.Less(t, errs[0], 2e-6)
	assert.InDelta(t, 10, errs[0]/errs[1], 1)
	assert.InDelta(t, 10, errs[1]/errs[2], 1)
}

// From beside the solution the difference is gone in a few steps of hλ = −1e5: a step
// leaves some 1/hλ of it.
func TestStiffDamping(t *testing.T) {
	p := odetest.Linear(-1e6).Autonomous()
	p.Problem.Y0[0] = 1
	s, err := ode.NewFixed(p.Problem, 0.1, ode.Rodas)
	require.NoError(t, err)
	for i, most := range []float64{1e-3, 1e-6, 1e-6} {
		require.NoError(t, s.Step())
		assert.Less(t, math.Abs(s.Y()[0]-math.Sin(s.T())), most, "step %d", i+1)
	}
}

// With step control the stiff problem takes steps by its solution, not by λ.
func TestStiffSteps(t *testing.T) {
	p := odetest.Linear(-1e6).Autonomous().Problem
	tr, stats := integrate(t, p, ode.Settings{RelTol: 1e-4, Method: ode.Rodas})
	assert.Less(t, stats.Steps+stats.Rejected, 100, "3e6 of the explicit method")
	assert.InDelta(t, math.Sin(10), tr.At(nil, 10)[0], 1e-3)
}

// The jumps of van der Pol's oscillator shorten the steps a thousandfold within a few of
// them. The controller expects that: fewer than one try in five is in vain, where the PI
// controller loses one in three.
func TestFewRejections(t *testing.T) {
	p := odetest.VanDerPol()
	for _, tol := range []float64{1e-3, 1e-5, 1e-7} {
		tr, stats := integrate(t, p.Problem, ode.Settings{RelTol: tol, Method: ode.Rodas})
		t.Logf("%+v", stats)
		assert.Less(t, 5*stats.Rejected, stats.Steps+stats.Rejected)
		// Ten steps' tolerance, 2·tol at these sizes: the slow stretches forget errors.
		assert.Less(t, distance(p.Checks[0].Y, tr.At(nil, 2)), 20*tol, p.Source)
	}
}

// With Passive the steps are those without, up to rounding: some 1e-16 for each of the
// 14 terms of a sum, some ten sums a step, not growing as the problem forgets errors.
func TestPassive(t *testing.T) {
	carried := carried()
	whole := carried
	whole.Passive = 0
	one := func(p ode.Problem) *ode.Solver {
		s, err := ode.NewFixed(p, 0.01, ode.Rodas)
		require.NoError(t, err)
		require.NoError(t, s.Step())
		return s
	}
	a, b := one(carried), one(whole)
	assert.InDeltaSlice(t, b.Y(), a.Y(), 1e-15)
	assert.InDeltaSlice(t, b.At(nil, 0.004), a.At(nil, 0.004), 1e-15)
	assert.Greater(t, a.Y()[8], 1e-7, "they move")

	set := ode.Settings{RelTol: 1e-6, AbsTol: []float64{1e-9}, Method: ode.Rodas}
	x, statsX := integrate(t, carried, set)
	y, statsY := integrate(t, whole, set)
	assert.Equal(t, statsY, statsX)
	for _, at := range []float64{0.1, 10, carried.T1} {
		for i, want := range y.At(nil, at) {
			assert.InEpsilon(t, want, x.At(nil, at)[i], 1e-10, "component %d at %v", i, at)
		}
	}

	// The columns of passive states are not read.
	poisoned := carried
	poisoned.Jacobian = func(dfdy []float64, t float64, y []float64) {
		carried.Jacobian(dfdy, t, y)
		for i := range y {
			for j := 8; j < len(y); j++ {
				dfdy[i*len(y)+j] = math.NaN()
			}
		}
	}
	z, statsZ := integrate(t, poisoned, set)
	assert.Equal(t, statsX, statsZ)
	assert.Equal(t, x.At(nil, carried.T1), z.At(nil, carried.T1))

	// The explicit method does not look at it.
	explicit := ode.Settings{RelTol: 1e-6}
	carried.T1, whole.T1 = 5, 5
	x, _ = integrate(t, carried, explicit)
	y, _ = integrate(t, whole, explicit)
	assert.Equal(t, y.At(nil, 5), x.At(nil, 5))
}

// The crossings of sin t = ½ in a stiff problem, at steps of up to radians: located to
// the tolerance, and on the state of a step, not on the polynomial.
func TestStiffEvents(t *testing.T) {
	for _, tol := range []float64{1e-3, 1e-5, 1e-7} {
		for _, terminal := range []bool{false, true} {
			t.Run(fmt.Sprint(tol, terminal), func(t *testing.T) {
				p := odetest.Linear(-1e6).Autonomous().Problem
				p.Events = []ode.Event{{
					Name: "half", Terminal: terminal,
					Func: func(_ float64, y []float64) float64 { return y[0] - 0.5 },
				}}
				s, err := ode.New(p, ode.Settings{RelTol: tol, Method: ode.Rodas})
				require.NoError(t, err)
				var times []float64
				apart := 0.
				for s.Status() != ode.Done {
					require.NoError(t, s.Step())
					for _, e := range s.Events() {
						times = append(times, e.T)
						// The stages' shares are up to 34·k with k below 1, rounded to 2^-53.
						assert.InDelta(t, 0.5, e.Y[0], 1e-14, "on the root")
						assert.InDelta(t, e.T, e.Y[1], 1e-14, "the clock is that of the step")
						if terminal {
							assert.Equal(t, e.Y, s.Y())
						} else {
							apart = max(apart, math.Abs(s.At(nil, e.T)[0]-0.5))
						}
					}
					if s.Status() == ode.Stopped {
						require.NoError(t, s.Reset(s.T(), s.Y()))
					}
				}
				// A step errs by 2·tol at most, and the next forgets it; the speed at the
				// crossings is cos(π/6) = 0.87.
				want := []float64{math.Pi / 6, 5 * math.Pi / 6, 13 * math.Pi / 6, 17 * math.Pi / 6}
				assert.InDeltaSlice(t, want, times, 2*tol/0.87)
				if !terminal {
					assert.Greater(t, apart, 1e-12, "the polynomial crosses elsewhere")
				}
				stats := s.Stats()
				tries := stats.Steps + stats.Rejected + stats.Repeats
				assert.LessOrEqual(t, stats.Factorisations, tries)
				if terminal {
					assert.Less(t, stats.Factorisations, tries, "a step repeated twice is factored once")
				}
				assert.Less(t, stats.Repeats, 20*len(want), "from roots that are off by up to radians")
			})
		}
	}
}

// With an EventTol events come late by no more than that part of the step, never early,
// on the state of a step, and with fewer repeats.
func TestEventTol(t *testing.T) {
	functions := []func(float64, []float64) float64{
		func(_ float64, y []float64) float64 { return y[0] },
		func(_ float64, y []float64) float64 { return y[1] + 0.01 },
		func(_ float64, y []float64) float64 { return y[0] - 0.3*y[1] },
		func(_ float64, y []float64) float64 { return y[0] + 0.9*y[1] },
	}
	for _, method := range []ode.Method{ode.DormandPrince, ode.Rodas} {
		for _, terminal := range []bool{false, true} {
			t.Run(fmt.Sprint(method, terminal), func(t *testing.T) {
				p := odetest.Oscillator().Problem
				for _, g := range functions {
					p.Events = append(p.Events, ode.Event{Terminal: terminal, Func: g})
				}
				run := func(eventTol float64) (repeats int, times []float64) {
					s, err := ode.New(p, ode.Settings{Method: method, RelTol: 1e-6, EventTol: eventTol, MaxStep: 0.5})
					require.NoError(t, err)
					for s.Status() != ode.Done {
						require.NoError(t, s.Step())
						for _, e := range s.Events() {
							times = append(times, e.T)
							g := functions[e.Index](e.T, e.Y)
							if !e.Rising {
								g = -g
							}
							assert.GreaterOrEqual(t, g, 0., "has crossed")
							// The functions change by 1 + 0.9·1.2 a unit of time at most; and rounding.
							assert.LessOrEqual(t, g, 2.1*eventTol*0.5+1e-15, "late")
						}
						if s.Status() == ode.Stopped {
							require.NoError(t, s.Reset(s.T(), s.Y()))
						}
					}
					return s.Stats().Repeats, times
				}
				exact, want := run(0)
				for eventTol := 1e-12; eventTol < 0.01; eventTol *= 2 {
					run(eventTol)
				}
				loose, got := run(1e-6)
				t.Logf("%d repeats for %d events, %d to the float", loose, len(got), exact)
				assert.Greater(t, len(got), 10, "three for each function")
				assert.InDeltaSlice(t, want, got, 1e-5, "late by 0.5e-6, in each of some ten terminal ones")
				assert.Less(t, loose, exact)
				most := 2 * len(got)
				if terminal {
					most += len(got) // the step that ends there, once more
				}
				assert.LessOrEqual(t, loose, most, "beyond the root at the first try or the second")
			})
		}
	}
}

// Nothing of the old mode is left after a Reset: the next step is that of a new solver,
// to the last bit, also when the switch comes at the same time and state.
func TestResetForgetsTheJacobian(t *testing.T) {
	lambda := -1e6
	p := ode.Problem{
		Deriv:    func(dydt []float64, _ float64, y []float64) { dydt[0] = lambda * y[0] },
		Jacobian: func(dfdy []float64, _ float64, _ []float64) { dfdy[0] = lambda },
		T1:       1,
		Y0:       []float64{1},
		Events:   []ode.Event{at("switch", 0.25, ode.Rising, true)},
	}
	set := ode.Settings{Method: ode.Rodas, InitialStep: 0.5, AbsTol: []float64{10}}
	s, err := ode.New(p, set)
	require.NoError(t, err)
	require.NoError(t, s.Step())
	require.Equal(t, ode.Stopped, s.Status())
	lambda = -2
	require.NoError(t, s.Reset(s.T(), []float64{1}))
	require.NoError(t, s.Step())

	p.T0 = 0.25
	fresh, err := ode.New(p, set)
	require.NoError(t, err)
	require.NoError(t, fresh.Step())
	assert.Equal(t, fresh.T(), s.T())
	assert.Equal(t, fresh.Y(), s.Y())
	assert.InDelta(t, math.Exp(-2*(s.T()-0.25)), s.Y()[0], 0.01)
}

// The same after an error in a step: the point it failed at is not taken for the new one.
func TestResetAfterAnError(t *testing.T) {
	for _, method := range []ode.Method{ode.DormandPrince, ode.Rodas} {
		lambda, broken := -3., true
		p := ode.Problem{
			Deriv: func(dydt []float64, x float64, y []float64) {
				dydt[0] = lambda * y[0]
				if broken && x > 0 {
					dydt[0] = math.NaN()
				}
			},
			Jacobian: func(dfdy []float64, _ float64, _ []float64) { dfdy[0] = lambda },
			T1:       1,
			Y0:       []float64{1},
		}
		set := ode.Settings{Method: method, InitialStep: 0.1, RelTol: 1e-3}
		s, err := ode.New(p, set)
		require.NoError(t, err)
		require.ErrorIs(t, s.Step(), ode.ErrNotFinite)
		lambda, broken = -5, false
		require.NoError(t, s.Reset(0, []float64{2}))
		require.NoError(t, s.Step())

		p.Y0 = []float64{2}
		fresh, err := ode.New(p, set)
		require.NoError(t, err)
		require.NoError(t, fresh.Step())
		assert.Equal(t, fresh.T(), s.T(), "%v", method)
		assert.Equal(t, fresh.Y(), s.Y(), "%v", method)
	}
}

// A step whose matrix I/(hγ) − J is singular is not made: with γ = ¼ and λ = 16 that is
// the one of ¼.
func TestSingularMatrix(t *testing.T) {
	p := ode.Problem{
		Deriv: func(dydt []float64, _ float64, y []float64) {
			dydt[0], dydt[1] = y[1], 256*y[0] // eigenvalues ±16
		},
		Jacobian: func(dfdy []float64, _ float64, _ []float64) { dfdy[1], dfdy[2] = 1, 256 },
		T1:       1,
		Y0:       []float64{1, 16},
	}
	s, err := ode.New(p, ode.Settings{Method: ode.Rodas, InitialStep: 0.25, AbsTol: []float64{1e9}})
	require.NoError(t, err)
	require.NoError(t, s.Step(), "a tolerance that lets any step pass")
	assert.Equal(t, 1, s.Stats().Rejected)
	assert.Less(t, s.T(), 0.25)
	assert.Equal(t, 1, s.Stats().Jacobians)
	assert.Equal(t, 2, s.Stats().Factorisations)
	assert.InEpsilon(t, math.Exp(16*s.T()), s.Y()[0], 1e-3)

	s, err = finish(t, p, ode.Settings{Method: ode.Rodas, InitialStep: 0.25, RelTol: 1e-6})
	require.NoError(t, err)
	assert.InEpsilon(t, math.Exp(16), s.Y()[0], 1e-6*float64(s.Stats().Steps))
}

// A Jacobian that is not finite where the right-hand side is cannot be avoided.
func TestJacobianNotFinite(t *testing.T) {
	p := good()
	p.Names = []string{"place", "speed"}
	p.Mode = func() string { return "flight" }
	for _, from := range []float64{-1, 0.5} {
		p.Jacobian = func(dfdy []float64, x float64, _ []float64) {
			dfdy[1], dfdy[2] = 1, -1
			if x > from {
				dfdy[3] = math.Inf(1)
			}
		}
		s, err := finish(t, p, ode.Settings{Method: ode.Rodas})
		require.ErrorIs(t, err, ode.ErrNotFinite)
		assert.ErrorContains(t, err, "an entry of the Jacobian for speed is +Inf")
		assert.ErrorContains(t, err, "mode flight")
		assert.Greater(t, s.T(), from)
		assert.Equal(t, err, s.Step())
		require.NoError(t, s.Reset(s.T(), s.Y()))
		assert.ErrorIs(t, s.Step(), ode.ErrNotFinite, "nor by a Reset")
	}
}

// A Jacobian of the wrong sign costs steps, not the truth: the errors found name it as
// what to look at.
func TestWrongJacobian(t *testing.T) {
	p := odetest.Linear(-1e4).Autonomous().Problem
	right := p.Jacobian
	p.Jacobian = func(dfdy []float64, t float64, y []float64) {
		right(dfdy, t, y)
		dfdy[0] = -dfdy[0]
	}
	_, err := finish(t, p, ode.Settings{Method: ode.Rodas, RelTol: 1e-6, MaxSteps: 1000})
	require.ErrorIs(t, err, ode.ErrTooManySteps)
	assert.ErrorContains(t, err, "look for a fault in the Jacobian")

	p = odetest.Oscillator().Problem
	p.Jacobian = func(dfdy []float64, _ float64, _ []float64) { dfdy[1], dfdy[2] = 1.5, -0.5 }
	s, err := finish(t, p, ode.Settings{Method: ode.Rodas, RelTol: 1e-6})
	require.NoError(t, err)
	assert.InDeltaSlice(t, odetest.Oscillator().Checks[0].Y, s.Y(), 1e-4)
}

// A pole ends the run where it is.
func TestStiffStepTooSmall(t *testing.T) {
	p := ode.Problem{
		Deriv:    func(dydt []float64, _ float64, y []float64) { dydt[0] = y[0] * y[0] },
		Jacobian: func(dfdy []float64, _ float64, y []float64) { dfdy[0] = 2 * y[0] },
		T0:       1, T1: 10, Y0: []float64{1}, Names: []string{"height"},
	}
	s, err := finish(t, p, ode.Settings{Method: ode.Rodas})
	require.ErrorIs(t, err, ode.ErrStepTooSmall)
	assert.InDelta(t, 2, s.T(), 1e-6)
	assert.ErrorContains(t, err, "held by height")
	assert.ErrorContains(t, err, "look for a fault in the Jacobian or for a discontinuity")
}

// The slope at a step's end, where the next one starts, belongs to the step: if it is not
// finite, the step is shortened. Here that is the seventh call, after the slope at the
// start and five stages.
func TestNaNAtTheEndIsAvoided(t *testing.T) {
	calls := 0
	p := good()
	deriv := p.Deriv
	p.Deriv = func(dydt []float64, t float64, y []float64) {
		deriv(dydt, t, y)
		if calls++; calls == 7 {
			dydt[0] = math.NaN()
		}
	}
	p.Jacobian = odetest.Oscillator().Problem.Jacobian
	s, err := ode.New(p, ode.Settings{Method: ode.Rodas, InitialStep: 0.01, RelTol: 1e-3})
	require.NoError(t, err)
	require.NoError(t, s.Step())
	assert.Equal(t, 1, s.Stats().Rejected)
	assert.InDelta(t, 0.001, s.T(), 1e-15)
	assert.InDelta(t, math.Cos(0.001), s.Y()[0], 1e-9)
}
