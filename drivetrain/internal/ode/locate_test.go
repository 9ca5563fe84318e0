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

// clock is y' = 1 from 0 to 1 in one step, so that y is time.
func clock(events ...ode.Event) (ode.Problem, ode.Settings) {
	return ode.Problem{
		Deriv:  func(dydt []float64, _ float64, _ []float64) { dydt[0] = 1 },
		T1:     1,
		Y0:     []float64{0},
		Events: events,
	}, ode.Settings{InitialStep: 1}
}

// quintic is y = t⁵ from 0 to 1 in one step: y' = 5u⁴ with a clock u. A method of
// order 5 is exact at the step's end, its dense output of order 4 is not inside.
func quintic(events ...ode.Event) (ode.Problem, ode.Settings) {
	return ode.Problem{
		Deriv: func(dydt []float64, _ float64, y []float64) {
			dydt[0] = 5 * y[1] * y[1] * y[1] * y[1]
			dydt[1] = 1
		},
		T1:     1,
		Y0:     []float64{0, 0},
		Events: events,
	}, ode.Settings{InitialStep: 1, AbsTol: []float64{10}}
}

// at is an event at a time.
func at(name string, x float64, d ode.Direction, terminal bool) ode.Event {
	return ode.Event{Name: name, Direction: d, Terminal: terminal, Func: func(t float64, _ []float64) float64 { return t - x }}
}

// names lists what happened in the last step.
func names(p ode.Problem, s *ode.Solver) []string {
	var list []string
	for _, e := range s.Events() {
		list = append(list, p.Events[e.Index].Name)
	}
	return list
}

func TestDirection(t *testing.T) {
	tests := []struct {
		name      string
		direction ode.Direction
		slope     float64
		want      int
		rising    bool
		reason    string
	}{
		{"both, rising", ode.Both, 1, 1, true, "counts"},
		{"both, falling", ode.Both, -1, 1, false, "counts"},
		{"rising, rising", ode.Rising, 1, 1, true, "counts"},
		{"rising, falling", ode.Rising, -1, 0, false, "the other direction"},
		{"falling, rising", ode.Falling, 1, 0, false, "the other direction"},
		{"falling, falling", ode.Falling, -1, 1, false, "counts"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			p, set := clock(ode.Event{
				Direction: test.direction,
				Func:      func(_ float64, y []float64) float64 { return test.slope * (y[0] - 0.3) },
			})
			s, err := ode.New(p, set)
			require.NoError(t, err)
			require.NoError(t, s.Step())
			require.Len(t, s.Events(), test.want, test.reason)
			for _, e := range s.Events() {
				assert.Equal(t, test.rising, e.Rising)
				assert.InDelta(t, 0.3, e.T, 1e-16)
			}
			assert.Equal(t, ode.Done, s.Status())
		})
	}
}

// Crossings and ends of a single step.
func TestOrderOfEvents(t *testing.T) {
	tests := []struct {
		name   string
		events []ode.Event
		want   []string
		end    float64
		reason string
	}{
		{
			"in time order",
			[]ode.Event{at("c", 0.7, ode.Both, false), at("a", 0.1, ode.Both, false), at("b", 0.3, ode.Both, false)},
			[]string{"a", "b", "c"}, 1, "not in slice order",
		},
		{
			"ties",
			[]ode.Event{at("a", 0.3, ode.Both, false), at("b", 0.3, ode.Both, false), at("c", 0.3, ode.Both, false)},
			[]string{"a", "b", "c"}, 1, "in slice order",
		},
		{
			"terminal",
			[]ode.Event{at("late", 0.7, ode.Both, false), at("stop", 0.5, ode.Both, true), at("early", 0.1, ode.Both, false)},
			[]string{"early", "stop"}, 0.5, "later ones are not reported",
		},
		{
			"terminal, between the same samples",
			[]ode.Event{at("stop", 0.5, ode.Both, true), at("late", 0.55, ode.Both, false), at("early", 0.45, ode.Both, false)},
			[]string{"early", "stop"}, 0.5, "later ones are not reported",
		},
		{
			"two terminal",
			[]ode.Event{at("late", 0.7, ode.Both, true), at("stop", 0.5, ode.Both, true)},
			[]string{"stop"}, 0.5, "the earliest ends the step",
		},
		{
			"ties with the end",
			[]ode.Event{at("a", 0.5, ode.Both, false), at("stop", 0.5, ode.Both, true), at("b", 0.5, ode.Both, false), at("c", 0.5, ode.Both, true)},
			[]string{"a", "stop", "b", "c"}, 0.5, "all are reported",
		},
		{
			"at the end",
			[]ode.Event{at("stop", 1, ode.Both, true)},
			[]string{"stop"}, 1, "zero is reached",
		},
		{
			"after the end",
			[]ode.Event{at("stop", math.Nextafter(1, 2), ode.Both, true)},
			nil, 1, "not reached",
		},
		{
			"at once",
			[]ode.Event{at("stop", math.SmallestNonzeroFloat64, ode.Both, true)},
			[]string{"stop"}, math.SmallestNonzeroFloat64, "the first float after the start",
		},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			p, set := clock(test.events...)
			s, err := ode.New(p, set)
			require.NoError(t, err)
			require.NoError(t, s.Step())
			assert.Equal(t, test.want, names(p, s), test.reason)
			assert.Equal(t, test.end, s.T(), test.reason)
			assert.Equal(t, s.Y(), s.At(nil, s.T()))
			assert.Len(t, s.Events(), s.Stats().Events)
		})
	}
}

// Two crossings between neighbouring samples cancel; samples between them, or a
// bound on the step, show them. A root that is touched is missed.
func TestSeveralCrossingsInAStep(t *testing.T) {
	tests := []struct {
		name    string
		a, b    float64 // g = (t − a)(t − b)
		maxStep float64
		want    int
		reason  string
	}{
		{"apart", 0.3, 0.5, 0, 2, "the sample at 0.4 lies between"},
		{"wide", 0.1, 0.9, 0, 2, "several samples lie between"},
		{"close", 0.45, 0.55, 0, 0, "no sample lies between: documented"},
		{"close, short steps", 0.45, 0.55, 0.25, 2, "a sample at 0.5"},
		{"touched", 0.5, 0.5, 0, 0, "no change of sign: documented"},
		{"touched at a sample", 0.5, 0.5, 0.5, 1, "zero is reached exactly: documented"},
	}
	for _, test := range tests {
		for _, start := range []float64{0, 1} { // the first step and a later one
			t.Run(fmt.Sprint(test.name, start), func(t *testing.T) {
				p, set := clock(ode.Event{Func: func(x float64, _ []float64) float64 {
					return (x - start - test.a) * (x - start - test.b)
				}})
				p.T1 = start + 1
				set.MaxStep = 1
				if test.maxStep > 0 {
					set.MaxStep = test.maxStep
				}
				s, err := ode.New(p, set)
				require.NoError(t, err)
				var found []float64
				for s.Status() != ode.Done {
					require.NoError(t, s.Step())
					for _, e := range s.Events() {
						found = append(found, e.T-start)
					}
				}
				require.Len(t, found, test.want, test.reason)
				for i, x := range found {
					assert.InDelta(t, []float64{test.a, test.b}[i], x, 1e-15, test.reason)
				}
			})
		}
	}
}

// Two functions that mean the same crossing and round differently are both
// reported, and once each, when one of them ends the step.
func TestTiesUpToRounding(t *testing.T) {
	for i := 1; i < 1000; i++ {
		x := float64(i) / 1000
		p, set := clock(
			ode.Event{Name: "stop", Terminal: true, Func: func(_ float64, y []float64) float64 { return y[0] - x }},
			ode.Event{Name: "other", Func: func(_ float64, y []float64) float64 { return 3*y[0] - 3*x }},
		)
		s, err := ode.New(p, set)
		require.NoError(t, err)
		counts := [2]int{}
		for s.Status() != ode.Done {
			require.NoError(t, s.Step())
			for _, e := range s.Events() {
				counts[e.Index]++
				require.InDelta(t, x, e.T, 1e-15)
			}
			if s.Status() == ode.Stopped {
				require.NoError(t, s.Reset(s.T(), s.Y()))
			}
		}
		require.Equal(t, [2]int{1, 1}, counts, "at %v", x)
	}
}

// A function that is zero at the start counts only after it has left zero.
func TestZeroAtTheStart(t *testing.T) {
	// g = −sin 2πt leaves zero downwards, rises through it at 0.5 and reaches it
	// again at 1, where the sine's rounding decides.
	sine := ode.Event{Func: func(_ float64, y []float64) float64 { return -math.Sin(2 * math.Pi * y[0]) }, Terminal: true}
	p, set := clock(sine)
	p.T1 = 0.9
	s, err := ode.New(p, set)
	require.NoError(t, err)
	require.NoError(t, s.Step())
	require.Len(t, s.Events(), 1)
	assert.InDelta(t, 0.5, s.T(), 1e-15)
	assert.True(t, s.Events()[0].Rising)

	// Restarts where g is zero are disarmed, also in the direction that counts.
	for _, direction := range []ode.Direction{ode.Both, ode.Rising, ode.Falling} {
		p, set := clock(ode.Event{Func: func(_ float64, y []float64) float64 { return y[0] }, Direction: direction, Terminal: true})
		s, err := ode.New(p, set)
		require.NoError(t, err)
		require.NoError(t, s.Step())
		assert.Empty(t, s.Events(), direction)
		assert.Equal(t, ode.Done, s.Status())
	}

	// A function that stays zero never happens.
	p, set = clock(ode.Event{Func: func(float64, []float64) float64 { return 0 }, Terminal: true})
	s, err = ode.New(p, set)
	require.NoError(t, err)
	require.NoError(t, s.Step())
	assert.Empty(t, s.Events())
}

// A restart from an event without a change of state does not report it again.
func TestRestartAtAnEvent(t *testing.T) {
	p := odetest.Oscillator().Problem
	p.Events = []ode.Event{{Name: "zero", Func: func(_ float64, y []float64) float64 { return y[0] }, Terminal: true}}
	for _, tol := range []float64{1e-3, 1e-6, 1e-10} {
		s, err := ode.New(p, ode.Settings{RelTol: tol})
		require.NoError(t, err)
		var rising []bool
		for s.Status() != ode.Done {
			require.NoError(t, s.Step())
			if s.Status() == ode.Stopped {
				rising = append(rising, s.Events()[0].Rising)
				require.NoError(t, s.Reset(s.T(), s.Y()))
			}
		}
		assert.Equal(t, []bool{false, true, false}, rising, "π/2, 3π/2 and 5π/2 within 10")
	}
}

// The time is the first float at or after the crossing, wherever it lies in the
// step. y = t up to the rounding of the weights' sum, of its product with the step
// and of the product with the slopes, so the time may be off by some four floats.
func TestFirstFloat(t *testing.T) {
	for i := 1; i < 2000; i++ {
		x := float64(i) / 2000
		switch i % 3 {
		case 1:
			x = math.Nextafter(x, 0)
		case 2:
			x = math.Nextafter(x, 1)
		}
		p, set := clock(ode.Event{Func: func(_ float64, y []float64) float64 { return y[0] - x }, Terminal: true})
		s, err := ode.New(p, set)
		require.NoError(t, err)
		require.NoError(t, s.Step())
		require.Equal(t, ode.Stopped, s.Status(), "at %v", x)
		require.GreaterOrEqual(t, s.Y()[0], x, "has crossed")
		require.InDelta(t, x, s.T(), 4*(math.Nextafter(x, 1)-x))
	}
}

// With a step of length 1 the dense output errs by 1e-2, the step by rounding. The
// slope 5t⁴ of y makes 2^-53 of rounding in y into 1e-16/(5t⁴) of time, a few times
// for the sums in the step.
func TestLocationIsThatOfTheStep(t *testing.T) {
	p, set := quintic()
	unit, err := ode.New(p, set)
	require.NoError(t, err)
	require.NoError(t, unit.Step())
	require.Equal(t, 1., unit.T())
	for _, terminal := range []bool{true, false} {
		for _, x := range []float64{0.2, 0.35, 0.5, 0.65, 0.9, 0.99} {
			t.Run(fmt.Sprint(terminal, x), func(t *testing.T) {
				y0 := math.Pow(x, 5)
				p, set := quintic(ode.Event{Terminal: terminal, Func: func(_ float64, y []float64) float64 { return y[0] - y0 }})
				s, err := ode.New(p, set)
				require.NoError(t, err)
				require.NoError(t, s.Step())
				require.Len(t, s.Events(), 1)
				e := s.Events()[0]
				tol := 1e-15 * (1 + y0/(5*math.Pow(x, 4)))
				assert.InDelta(t, x, e.T, tol)
				assert.InDelta(t, y0, e.Y[0], 1e-15)
				assert.InDelta(t, e.T, e.Y[1], 1e-15)
				assert.GreaterOrEqual(t, e.Y[0], y0, "has crossed")
				assert.Less(t, s.Stats().Repeats, 40, "from a root that is off by up to 0.2")
				if !terminal {
					assert.Equal(t, 1., s.T())
					if x < 0.9 {
						assert.Greater(t, math.Abs(s.At(nil, e.T)[0]-y0), 1e-5, "the dense output is worse")
					}
					return
				}
				assert.Equal(t, e.T, s.T())
				assert.Equal(t, e.Y, s.Y())
				assert.Equal(t, s.Y(), s.At(nil, s.T()))
				// The polynomial is that of the shortened step: t⁵ being homogeneous, a
				// step of length x errs by x⁵ of what the step of length 1 errs.
				for _, part := range []float64{0.3, 0.6, 0.9, 1 - 1e-12} {
					scaled := math.Pow(s.T(), 5) * unit.At(nil, part)[0]
					assert.InDelta(t, scaled, s.At(nil, part*s.T())[0], 1e-15)
				}
			})
		}
	}
}

// A crossing that only the dense output makes is located on it: the step ends on
// the polynomial, which is the one before the cut.
func TestCrossingOfThePolynomialOnly(t *testing.T) {
	p, set := quintic()
	s, err := ode.New(p, set)
	require.NoError(t, err)
	require.NoError(t, s.Step())
	var peak, place float64
	for i := 1; i < 100; i++ {
		x := float64(i) / 100
		if d := s.At(nil, x)[0] - math.Pow(x, 5); math.Abs(d) > math.Abs(peak) {
			peak, place = d, x
		}
	}
	require.Greater(t, math.Abs(peak), 1e-3)
	g := func(_ float64, y []float64) float64 { return (y[0]-math.Pow(y[1], 5))/peak - 0.5 }
	for _, terminal := range []bool{false, true} {
		p.Events = []ode.Event{{Func: g, Terminal: terminal, Direction: ode.Rising}}
		q, err := ode.New(p, set)
		require.NoError(t, err)
		require.NoError(t, q.Step())
		require.Len(t, q.Events(), 1)
		e := q.Events()[0]
		assert.Less(t, e.T, place)
		assert.GreaterOrEqual(t, g(e.T, e.Y), 0., "has crossed")
		assert.InDelta(t, 0, g(e.T, e.Y), 1e-12, "at the root: 1e-16 of rounding over a peak of 1e-3 and more")
		if terminal {
			require.Equal(t, e.T, q.T())
			assert.Equal(t, e.Y, q.Y())
			assert.Equal(t, e.Y, q.At(nil, e.T))
			for _, part := range []float64{0, 0.3, 0.9} {
				assert.InDeltaSlice(t, s.At(nil, part*e.T), q.At(nil, part*e.T), 1e-15)
			}
			require.NoError(t, q.Reset(q.T(), q.Y()))
			require.NoError(t, q.Step(), "goes on")
		}
	}
}

// Crossings of one function keep their order where the polynomial makes more of
// them than the step, and none is taken for another.
func TestNeighbouringCrossings(t *testing.T) {
	p, set := quintic()
	s, err := ode.New(p, set)
	require.NoError(t, err)
	require.NoError(t, s.Step())
	peak := s.At(nil, 0.2)[0] - math.Pow(0.2, 5)
	require.Greater(t, peak, 1e-3)
	// On the steps u⁵ cancels and g rises through zero at 0.95 only; on the polynomial
	// it is above zero at 0.2 as well.
	p.Events = []ode.Event{{Func: func(_ float64, y []float64) float64 {
		return (y[0]-math.Pow(y[1], 5))/peak - 0.5 + 50*max(0, y[1]-0.94)
	}}}
	s, err = ode.New(p, set)
	require.NoError(t, err)
	require.NoError(t, s.Step())
	e := s.Events()
	require.Len(t, e, 3)
	assert.True(t, e[0].Rising && !e[1].Rising && e[2].Rising, "%+v", e)
	assert.Less(t, e[0].T, 0.2)
	assert.GreaterOrEqual(t, e[1].T, 0.2)
	assert.Less(t, e[1].T, 0.8)
	assert.InDelta(t, 0.95, e[2].T, 1e-15/peak)
}

// A function that jumps is bracketed to the float.
func TestJump(t *testing.T) {
	p, set := clock(ode.Event{Terminal: true, Func: func(_ float64, y []float64) float64 {
		if y[0] < 0.3 {
			return -1
		}
		return 1
	}})
	s, err := ode.New(p, set)
	require.NoError(t, err)
	require.NoError(t, s.Step())
	assert.InDelta(t, 0.3, s.T(), 2e-16)
	assert.GreaterOrEqual(t, s.Y()[0], 0.3)
}

// At loose tolerances the located time is as good as the solution, and no worse:
// the error at the event, seen as time by the speed there, is that of the steps.
func TestEventTimesOfAnOscillator(t *testing.T) {
	const zeta = 0.1
	w := math.Sqrt(1 - zeta*zeta)
	phase := math.Atan2(-w, zeta) + math.Pi // tan wt = −w/ζ at x = 0
	for _, tol := range []float64{1e-4, 1e-6, 1e-8, 1e-10} {
		p := odetest.Oscillator()
		p.Problem.Events = []ode.Event{{Func: func(_ float64, y []float64) float64 { return y[0] }}}
		s, err := ode.New(p.Problem, ode.Settings{RelTol: tol})
		require.NoError(t, err)
		k := 0
		for s.Status() != ode.Done {
			require.NoError(t, s.Step())
			for _, e := range s.Events() {
				want := (phase + float64(k)*math.Pi) / w
				// Each of the at most five steps a radian errs by at most its tolerance,
				// 2·tol at |y| ≤ 1; the speed at x = 0 is at least exp(−ζt).
				assert.InDelta(t, want, e.T, 2*tol*5*want/math.Exp(-zeta*want), "tolerance %v", tol)
				assert.InDelta(t, 0, e.Y[0], 1e-15, "on the root")
				k++
			}
		}
		assert.Equal(t, 3, k)
		assert.LessOrEqual(t, s.Stats().Repeats, 6*k, "the root, a correction or two, rounding")
	}
}

// A terminal event within rounding of the step's end, on either side of it.
func TestEventAtTheStepsEnd(t *testing.T) {
	for i := -8; i <= 8; i++ {
		x := 0.5 + float64(i)*math.Pow(2, -54)
		p, set := clock(ode.Event{Terminal: true, Func: func(_ float64, y []float64) float64 { return y[0] - x }})
		set.InitialStep, set.MaxStep = 0.5, 0.5
		s, err := ode.New(p, set)
		require.NoError(t, err)
		stops := 0
		for s.Status() != ode.Done {
			require.NoError(t, s.Step())
			if s.Status() == ode.Stopped {
				stops++
				require.InDelta(t, x, s.T(), 3e-16)
				require.NoError(t, s.Reset(s.T(), s.Y()))
			}
		}
		assert.Equal(t, 1, stops, "at %v", x)
		assert.InDelta(t, 1, s.Y()[0], 1e-15)
	}
}

func TestTooManyEvents(t *testing.T) {
	p := odetest.Oscillator().Problem
	p.Mode = func() string { return "swinging" }
	p.Events = []ode.Event{
		{Name: "quiet", Func: func(_ float64, y []float64) float64 { return y[0] + 10 }},
		{Name: "zero", Func: func(_ float64, y []float64) float64 { return y[0] }},
	}
	run := func(cap int) error {
		s, err := ode.New(p, ode.Settings{MaxEvents: cap})
		require.NoError(t, err)
		for s.Status() != ode.Done {
			if err := s.Step(); err != nil {
				return err
			}
		}
		return nil
	}
	assert.NoError(t, run(3), "three happen")
	err := run(2)
	require.ErrorIs(t, err, ode.ErrTooManyEvents)
	var e *ode.Error
	require.ErrorAs(t, err, &e)
	assert.Equal(t, "zero", e.Name)
	assert.Equal(t, 1, e.Index)
	assert.ErrorContains(t, err, "event zero happens 3 times")
	assert.ErrorContains(t, err, "mode swinging")
}

// After an error the last good step is still there, its events included.
func TestEventsSurviveAnError(t *testing.T) {
	p, set := clock(
		at("a", 0.1, ode.Both, false),
		ode.Event{Name: "b", Func: func(_ float64, y []float64) float64 { return (y[0] - 0.2) * (y[0] - 0.7) }},
	)
	set.InitialStep, set.MaxStep, set.MaxEvents = 0.5, 0.5, 1
	s, err := ode.New(p, set)
	require.NoError(t, err)
	require.NoError(t, s.Step())
	require.Equal(t, []string{"a", "b"}, names(p, s))
	require.ErrorIs(t, s.Step(), ode.ErrTooManyEvents)
	assert.Equal(t, 0.5, s.T())
	assert.Equal(t, s.Y(), s.At(nil, 0.5))
	require.Equal(t, []string{"a", "b"}, names(p, s))
	for i, e := range s.Events() {
		assert.InDelta(t, []float64{0.1, 0.2}[i], e.T, 1e-15)
		assert.InDelta(t, e.T, e.Y[0], 1e-15)
	}
}
