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

// finish steps until the end or an error.
func finish(t *testing.T, p ode.Problem, set ode.Settings) (*ode.Solver, error) {
	t.Helper()
	s, err := ode.New(p, set)
	require.NoError(t, err)
	for s.Status() == ode.Running {
		if err := s.Step(); err != nil {
			return s, err
		}
	}
	return s, nil
}

// good is a valid problem.
func good() ode.Problem {
	return ode.Problem{
		Deriv: func(dydt []float64, _ float64, y []float64) { dydt[0], dydt[1] = y[1], -y[0] },
		T1:    1,
		Y0:    []float64{1, 0},
	}
}

func TestNewRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	zero := func(float64, []float64) float64 { return 0 }
	tests := []struct {
		name string
		edit func(p *ode.Problem, s *ode.Settings)
		want []string
	}{
		{"no right-hand side", func(p *ode.Problem, _ *ode.Settings) { p.Deriv = nil }, []string{"Deriv is nil"}},
		{"NaN start", func(p *ode.Problem, _ *ode.Settings) { p.T0 = nan }, []string{"T0 is NaN"}},
		{"infinite end", func(p *ode.Problem, _ *ode.Settings) { p.T1 = inf }, []string{"T1 is +Inf"}},
		{"backwards", func(p *ode.Problem, _ *ode.Settings) { p.T1 = -1 }, []string{"T1 -1 is not after T0 0"}},
		{"no span", func(p *ode.Problem, _ *ode.Settings) { p.T1 = 0 }, []string{"not after"}},
		{"span too long", func(p *ode.Problem, _ *ode.Settings) { p.T0, p.T1 = -1.5e308, 1.5e308 }, []string{"overflows"}},
		{"no state", func(p *ode.Problem, _ *ode.Settings) { p.Y0 = nil }, []string{"Y0 is empty"}},
		{
			"state not finite",
			func(p *ode.Problem, _ *ode.Settings) { p.Y0 = []float64{nan, inf}; p.Names = []string{"x", "v"} },
			[]string{"x is NaN", "v is +Inf"},
		},
		{"passive, negative", func(p *ode.Problem, _ *ode.Settings) { p.Passive = -1 }, []string{"Passive is -1 of 2 components, want 0 to 1"}},
		{"passive, all", func(p *ode.Problem, _ *ode.Settings) { p.Passive = 2 }, []string{"Passive is 2 of 2 components, want 0 to 1"}},
		{"method", func(_ *ode.Problem, s *ode.Settings) { s.Method = 7 }, []string{"Method is Method(7), want DormandPrince or Rodas"}},
		{"no Jacobian", func(_ *ode.Problem, s *ode.Settings) { s.Method = ode.Rodas }, []string{"Jacobian is nil, Rodas needs it"}},
		{"names", func(p *ode.Problem, _ *ode.Settings) { p.Names = []string{"x"} }, []string{"1 Names for 2 components"}},
		{"event", func(p *ode.Problem, _ *ode.Settings) { p.Events = []ode.Event{{Name: "e"}} }, []string{"event e: Func is nil"}},
		{
			"direction",
			func(p *ode.Problem, _ *ode.Settings) { p.Events = []ode.Event{{Func: zero, Direction: 7}} },
			[]string{"event #0: direction is Direction(7)"},
		},
		{"relative, small", func(_ *ode.Problem, s *ode.Settings) { s.RelTol = 1e-15 }, []string{"RelTol is 1e-15"}},
		{"relative, negative", func(_ *ode.Problem, s *ode.Settings) { s.RelTol = -1 }, []string{"RelTol is -1"}},
		{"relative, NaN", func(_ *ode.Problem, s *ode.Settings) { s.RelTol = nan }, []string{"RelTol is NaN"}},
		{"absolute, zero", func(_ *ode.Problem, s *ode.Settings) { s.AbsTol = []float64{1, 0} }, []string{"AbsTol[1] is 0"}},
		{"absolute, NaN", func(_ *ode.Problem, s *ode.Settings) { s.AbsTol = []float64{nan} }, []string{"AbsTol[0] is NaN"}},
		{
			"absolute, three",
			func(_ *ode.Problem, s *ode.Settings) { s.AbsTol = []float64{1, 1, 1} },
			[]string{"3 values of AbsTol for 2 components"},
		},
		{"first step", func(_ *ode.Problem, s *ode.Settings) { s.InitialStep = -1 }, []string{"InitialStep is -1"}},
		{"longest step", func(_ *ode.Problem, s *ode.Settings) { s.MaxStep = inf }, []string{"MaxStep is +Inf"}},
		{"late events, negative", func(_ *ode.Problem, s *ode.Settings) { s.EventTol = -1e-9 }, []string{"EventTol is -1e-09"}},
		{"late events, NaN", func(_ *ode.Problem, s *ode.Settings) { s.EventTol = nan }, []string{"EventTol is NaN"}},
		{"late events, coarse", func(_ *ode.Problem, s *ode.Settings) { s.EventTol = 0.01 }, []string{"EventTol is 0.01"}},
		{"steps", func(_ *ode.Problem, s *ode.Settings) { s.MaxSteps = -1 }, []string{"MaxSteps is -1"}},
		{"events", func(_ *ode.Problem, s *ode.Settings) { s.MaxEvents = -1 }, []string{"MaxEvents is -1"}},
		{
			"all at once",
			func(p *ode.Problem, s *ode.Settings) { p.Deriv, p.T1, s.RelTol = nil, nan, 2 },
			[]string{"Deriv is nil", "T1 is NaN", "RelTol is 2"},
		},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			p, set := good(), ode.Settings{}
			test.edit(&p, &set)
			s, err := ode.New(p, set)
			assert.Nil(t, s)
			require.ErrorIs(t, err, ode.ErrInvalid)
			for _, want := range test.want {
				assert.ErrorContains(t, err, want)
			}
		})
	}
	s, err := ode.New(good(), ode.Settings{})
	require.NoError(t, err, "the problem that the faults are put into is good")
	assert.Equal(t, ode.Running, s.Status())
	assert.Zero(t, s.Stats(), "New calls nothing")
}

// What the caller does to its slices after New changes nothing.
func TestNewCopies(t *testing.T) {
	p := good()
	set := ode.Settings{AbsTol: []float64{1e-9, 1e-9}}
	s, err := ode.New(p, set)
	require.NoError(t, err)
	p.Y0[0], set.AbsTol[0], set.AbsTol[1] = 7, 1e9, 1e9
	assert.Equal(t, []float64{1, 0}, s.Y())
	for s.Status() != ode.Done {
		require.NoError(t, s.Step())
	}
	assert.InDelta(t, math.Cos(1), s.Y()[0], 1e-7, "1e-9 in each of fewer than a hundred steps")
}

func TestNotFinite(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		name     string
		edit     func(p *ode.Problem)
		quantity string
		index    int
		called   string
		value    float64
		at       float64 // the last time without the fault
	}{
		{
			"derivative", func(p *ode.Problem) {
				p.Deriv = func(dydt []float64, t float64, _ []float64) {
					dydt[0], dydt[1] = 0, 1
					if t > 0.5 {
						dydt[1] = nan
					}
				}
			}, "derivative", 1, "speed", nan, 0.5,
		},
		{
			"derivative at the start", func(p *ode.Problem) {
				p.Deriv = func(dydt []float64, _ float64, _ []float64) { dydt[0], dydt[1] = math.Inf(-1), 0 }
			}, "derivative", 0, "place", math.Inf(-1), 0,
		},
		{
			"derivative next to time zero", func(p *ode.Problem) {
				p.Deriv = func(dydt []float64, t float64, _ []float64) {
					dydt[0], dydt[1] = 0, 1
					if t > 0 {
						dydt[0] = nan
					}
				}
			}, "derivative", 0, "place", nan, 0,
		},
		{
			"event", func(p *ode.Problem) {
				p.Events = append(p.Events, ode.Event{Name: "broken", Func: func(t float64, _ []float64) float64 {
					if t > 0.5 {
						return math.Inf(1)
					}
					return 1
				}})
			}, "event", 1, "broken", math.Inf(1), 0.5,
		},
		{
			"event at the start", func(p *ode.Problem) {
				p.Events[0] = ode.Event{Name: "broken", Func: func(float64, []float64) float64 { return nan }}
			}, "event", 0, "broken", nan, 0,
		},
	}
	for _, test := range tests {
		for _, method := range []ode.Method{ode.DormandPrince, ode.Rodas} {
			t.Run(fmt.Sprint(method, test.name), func(t *testing.T) {
				p := good()
				p.Jacobian = func([]float64, float64, []float64) {}
				p.Names = []string{"place", "speed"}
				p.Mode = func() string { return "flight" }
				p.Events = []ode.Event{{Name: "sound", Func: func(float64, []float64) float64 { return 1 }}}
				test.edit(&p)
				s, err := finish(t, p, ode.Settings{Method: method})
				require.ErrorIs(t, err, ode.ErrNotFinite)
				var e *ode.Error
				require.ErrorAs(t, err, &e)
				assert.Equal(t, test.quantity, e.Quantity)
				assert.Equal(t, test.index, e.Index)
				assert.Equal(t, test.called, e.Name)
				if math.IsNaN(test.value) {
					assert.True(t, math.IsNaN(e.Value))
				} else {
					assert.Equal(t, test.value, e.Value)
				}
				assert.GreaterOrEqual(t, e.Time, test.at)
				assert.InDelta(t, test.at, e.Time, 1e-14, "shrunk to some floats")
				assert.Equal(t, "flight", e.Mode)
				for _, want := range []string{test.called, "mode flight", "t=", "no shorter step"} {
					assert.ErrorContains(t, err, want)
				}
				assert.LessOrEqual(t, s.Stats().Rejected, 100)
				// The solver stays at the last good step and keeps its error.
				assert.InDelta(t, test.at, s.T(), 1e-14)
				assert.LessOrEqual(t, s.T(), test.at)
				assert.Equal(t, s.Y(), s.At(nil, s.T()))
				assert.False(t, math.IsNaN(s.Y()[0]+s.Y()[1]))
				assert.Equal(t, err, s.Step())
			})
		}
	}
}

// A right-hand side that is not defined beyond the solution is not a failure:
// y' = √(1 − y) from 0 has y = 1 − (1 − t/2)², and stages of long steps pass 1.
func TestNaNIsAvoided(t *testing.T) {
	p := ode.Problem{
		Deriv:    func(dydt []float64, _ float64, y []float64) { dydt[0] = math.Sqrt(1 - y[0]) },
		T1:       1.99,
		Y0:       []float64{0},
		Jacobian: func(dfdy []float64, _ float64, y []float64) { dfdy[0] = -1 / (2 * math.Sqrt(1-y[0])) },
	}
	for _, method := range []ode.Method{ode.DormandPrince, ode.Rodas} {
		s, err := finish(t, p, ode.Settings{InitialStep: 1.99, Method: method})
		require.NoError(t, err)
		assert.Positive(t, s.Stats().Rejected)
		// An error e grows by 1/√(1−y) at most, 200 at the end, in fewer than 100 steps.
		assert.InDelta(t, 1-0.005*0.005, s.Y()[0], 1e-9*200*100)
	}
}

func TestStepTooSmall(t *testing.T) {
	tests := []struct {
		name  string
		deriv func(dydt []float64, t float64, y []float64)
		at    float64
		tol   float64
	}{
		{"stiff", func(dydt []float64, t float64, y []float64) { dydt[0] = -1e18 * (y[0] - math.Sin(t)) }, 1, 1e-12},
		{"pole", func(dydt []float64, t float64, y []float64) { dydt[0] = y[0] * y[0] / (1 + 0*t) }, 2, 1e-6},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			p := ode.Problem{
				Deriv: test.deriv, T0: 1, T1: 10, Y0: []float64{1}, Names: []string{"height"},
				Mode: func() string { return "fall" },
			}
			s, err := finish(t, p, ode.Settings{})
			require.ErrorIs(t, err, ode.ErrStepTooSmall)
			var e *ode.Error
			require.ErrorAs(t, err, &e)
			assert.Equal(t, "height", e.Name)
			assert.Equal(t, s.T(), e.Time)
			assert.InDelta(t, test.at, e.Time, test.tol)
			assert.Less(t, e.Value, 1e-14, "the step")
			assert.ErrorContains(t, err, "held by height")
			assert.ErrorContains(t, err, "mode fall")
		})
	}
}

func TestTooManySteps(t *testing.T) {
	stiff := odetest.Linear(-1e6).Problem
	s, err := finish(t, stiff, ode.Settings{MaxSteps: 100})
	require.ErrorIs(t, err, ode.ErrTooManySteps)
	assert.Equal(t, 100, s.Stats().Steps+s.Stats().Rejected)
	assert.ErrorContains(t, err, "held by y[0]")
	s, err = finish(t, good(), ode.Settings{MaxSteps: 100})
	require.NoError(t, err)
	assert.Less(t, s.Stats().Steps, 100)
}

func TestStepAfterTheEnd(t *testing.T) {
	s, err := finish(t, good(), ode.Settings{})
	require.NoError(t, err)
	stats := s.Stats()
	err = s.Step()
	require.ErrorIs(t, err, ode.ErrNotRunning)
	assert.ErrorContains(t, err, "done")
	assert.Equal(t, stats, s.Stats())

	p := good()
	p.Events = []ode.Event{at("stop", 0.5, ode.Both, true)}
	s, err = finish(t, p, ode.Settings{})
	require.NoError(t, err)
	require.Equal(t, ode.Stopped, s.Status())
	err = s.Step()
	require.ErrorIs(t, err, ode.ErrNotRunning)
	assert.ErrorContains(t, err, "stopped")
	require.NoError(t, s.Reset(s.T(), s.Y()))
	require.NoError(t, s.Step(), "a Reset mends it")
}

func TestReset(t *testing.T) {
	s, err := ode.New(good(), ode.Settings{})
	require.NoError(t, err)
	require.NoError(t, s.Step())
	now, y := s.T(), s.At(nil, s.T())
	for _, test := range []struct {
		name string
		t    float64
		y    []float64
	}{
		{"back", s.PrevT(), y},
		{"beyond the end", 1.5, y},
		{"NaN time", math.NaN(), y},
		{"short", now, y[:1]},
		{"NaN", now, []float64{math.NaN(), 0}},
		{"infinite", now, []float64{0, math.Inf(1)}},
	} {
		require.ErrorIs(t, s.Reset(test.t, test.y), ode.ErrInvalid, test.name)
		assert.Equal(t, now, s.T(), test.name)
		assert.Equal(t, y, s.Y(), test.name)
	}
	stats := s.Stats()
	require.NoError(t, s.Reset(now, []float64{2, 3}))
	assert.Equal(t, now, s.T())
	assert.Equal(t, now, s.PrevT())
	assert.Equal(t, []float64{2, 3}, s.Y())
	assert.Equal(t, []float64{2, 3}, s.At(nil, now))
	stats.Resets++
	assert.Equal(t, stats, s.Stats(), "the statistics go on")
	for s.Status() != ode.Done {
		require.NoError(t, s.Step())
	}
	sin, cos := math.Sincos(1 - now)
	assert.InDelta(t, 2*cos+3*sin, s.Y()[0], 1e-7, "5e-9 in each of fewer than a hundred steps")

	require.NoError(t, s.Reset(1, []float64{0, 0}), "the end is a place to restart")
	assert.Equal(t, ode.Done, s.Status())
}

// The slope at a restart is that of the new mode, not the one kept from the last
// step.
func TestResetForgetsTheSlope(t *testing.T) {
	rate := 1.
	p := ode.Problem{
		Deriv:  func(dydt []float64, _ float64, _ []float64) { dydt[0] = rate },
		T1:     1,
		Y0:     []float64{0},
		Events: []ode.Event{at("switch", 0.25, ode.Rising, true)},
	}
	s, err := ode.New(p, ode.Settings{})
	require.NoError(t, err)
	for s.Status() != ode.Done {
		require.NoError(t, s.Step())
		if s.Status() == ode.Stopped {
			rate = -2
			require.NoError(t, s.Reset(s.T(), s.Y()))
		}
	}
	assert.InDelta(t, 0.25-1.5, s.Y()[0], 1e-14)
}

// The bouncing ball is a quadratic in each flight, which the method meets exactly:
// what remains is rounding, some units in each of the six flights, at any tolerance.
func TestBouncingBall(t *testing.T) {
	for _, set := range []ode.Settings{
		{RelTol: 1e-2}, {RelTol: 1e-5}, {RelTol: 1e-9}, {RelTol: 1e-2, Method: ode.Rodas}, {RelTol: 1e-9, Method: ode.Rodas},
	} {
		p := odetest.Ball()
		tol := set.RelTol
		found, err := p.Run(set)
		require.NoError(t, err)
		assert.InDeltaSlice(t, p.Times, found.Times, 2e-14, "tolerance %v", tol)
		for i := range p.States {
			assert.InDeltaSlice(t, p.States[i], found.States[i], 1e-13)
		}
		assert.InDeltaSlice(t, p.End, found.End, 2e-13)
	}
}

// Bounces too short for a first step by the size of the flight are not lost: the
// ball never falls through the floor.
func TestManyBounces(t *testing.T) {
	p := odetest.Ball()
	p.Problem.T1 = 4.0635 // bounces gather at √(2/g)·(1 + 0.8)/(1 − 0.8) = 4.0637 s
	found, err := p.Run(ode.Settings{RelTol: 1e-6})
	require.NoError(t, err)
	end := math.Sqrt(2/9.81) * 9
	require.Greater(t, end, p.Problem.T1)
	// Of the time after the first fall, 8·√(2/g), bounce k leaves the part 0.8^k.
	want := 1 + math.Floor(math.Log((end-p.Problem.T1)/(8*math.Sqrt(2/9.81)))/math.Log(0.8))
	assert.Len(t, found.Times, int(want))
	assert.GreaterOrEqual(t, found.End[0], 0.)
}

// Times of the contact problem err by the error in place over the speed, and the
// speed falls from one contact to the next.
func TestContact(t *testing.T) {
	for _, set := range []ode.Settings{
		{RelTol: 1e-4}, {RelTol: 1e-7}, {RelTol: 1e-10},
		{RelTol: 1e-4, Method: ode.Rodas}, {RelTol: 1e-7, Method: ode.Rodas}, {RelTol: 1e-10, Method: ode.Rodas},
	} {
		p := odetest.Contact()
		tol := set.RelTol
		found, err := p.Run(set)
		require.NoError(t, err)
		require.Len(t, found.Times, len(p.Times))
		slowest := math.Abs(p.End[1])
		for i := range p.Times {
			// Ten steps in each contact err by 2·tol at most; a slow flight over 1 m
			// makes an error in speed into one in time by 1/v².
			v := math.Abs(p.States[i][1])
			assert.InDeltaSlice(t, p.States[i], found.States[i], 20*tol, "event %d", i)
			assert.InDelta(t, p.Times[i], found.Times[i], 20*tol/min(1, v*v), "event %d at %v", i, v)
		}
		assert.InDeltaSlice(t, p.End, found.End, 20*tol/slowest)
	}
}

func TestAtPanics(t *testing.T) {
	s, err := ode.New(good(), ode.Settings{})
	require.NoError(t, err)
	assert.Equal(t, []float64{1, 0}, s.At(nil, 0), "the start is there before a step")
	require.NoError(t, s.Step())
	require.NoError(t, s.Step())
	for _, x := range []float64{s.PrevT() - 1e-9, s.T() + 1e-9, math.NaN()} {
		assert.Contains(t, panicking(func() { s.At(nil, x) }), "outside the last step")
	}
	assert.Contains(t, panicking(func() { s.At(make([]float64, 3), s.T()) }), "length 3, want 2")
}

// panicking returns what f panics with, empty if it does not.
func panicking(f func()) (message string) {
	defer func() {
		if r := recover(); r != nil {
			message = fmt.Sprint(r)
		}
	}()
	f()
	return ""
}
