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

// integrate runs a problem without terminal events to its end.
func integrate(t testing.TB, p ode.Problem, set ode.Settings) (*ode.Trajectory, ode.Stats) {
	t.Helper()
	s, err := ode.New(p, set)
	require.NoError(t, err)
	tr := &ode.Trajectory{}
	for s.Status() != ode.Done {
		require.NoError(t, s.Step())
		tr.Append(s, 0)
	}
	return tr, s.Stats()
}

// distance is the largest difference of the known components.
func distance(want, got []float64) float64 {
	var d float64
	for i := range want {
		if !math.IsNaN(want[i]) {
			d = max(d, math.Abs(got[i]-want[i]))
		}
	}
	return d
}

// runs are the methods with the problems they are for: those of Rodas have time as a
// state, and a stiff one is among them. Robertson's problem, whose components differ by
// powers of ten, has a test of its own.
func runs() map[ode.Method][]odetest.Problem {
	var autonomous []odetest.Problem
	for _, p := range append(odetest.All(), odetest.HIRES()) {
		autonomous = append(autonomous, p.Autonomous())
	}
	return map[ode.Method][]odetest.Problem{ode.DormandPrince: odetest.All(), ode.Rodas: autonomous}
}

// growth is how much an error in the state at the start has grown at t, from the
// difference of neighbouring solutions; at least 1.
func growth(t *testing.T, p odetest.Problem, set ode.Settings, at float64) float64 {
	t.Helper()
	d := 1e3 * set.RelTol
	tr, _ := integrate(t, p.Problem, set)
	y := tr.At(nil, at)
	largest := 1.
	for i := range p.Problem.Y0 {
		q := p.Problem
		q.Y0 = append([]float64(nil), q.Y0...)
		q.Y0[i] += d
		tr, _ := integrate(t, q, set)
		largest = max(largest, distance(y, tr.At(nil, at))/d)
	}
	return largest
}

// The tolerance of a check is that of ten steps at the start which err by all
// their tolerance, grown: the other steps err by less, or have less time to grow.
func TestPublished(t *testing.T) {
	tols := map[ode.Method]float64{ode.DormandPrince: 1e-13, ode.Rodas: 1e-11}
	for method, problems := range runs() {
		set := ode.Settings{RelTol: tols[method], Method: method}
		for _, p := range problems {
			t.Run(fmt.Sprint(method, p.Name), func(t *testing.T) {
				tr, _ := integrate(t, p.Problem, set)
				for _, c := range p.Checks {
					tol := 10 * set.RelTol * growth(t, p, set, c.T)
					assert.LessOrEqual(t, distance(c.Y, tr.At(nil, c.T)), tol, "at %v, %s", c.T, p.Source)
					assert.Less(t, tol, 1e8*set.RelTol, "the check tells")
				}
			})
		}
	}
}

// The estimate controlled is of the method's order in h, as is the error of the run,
// so the error is proportional to the tolerance. The exponent 0.9 instead of 1 leaves
// room for the long steps of the loosest tolerance, which are before the asymptotic
// range.
func TestErrorFallsWithTolerance(t *testing.T) {
	tols := map[ode.Method][]float64{
		ode.DormandPrince: {1e-5, 1e-7, 1e-9, 1e-11, 1e-13},
		ode.Rodas:         {1e-5, 1e-7, 1e-9, 1e-11},
	}
	for method, problems := range runs() {
		tols := tols[method]
		for _, p := range problems {
			t.Run(fmt.Sprint(method, p.Name), func(t *testing.T) {
				var errs []float64
				for _, tol := range tols {
					tr, _ := integrate(t, p.Problem, ode.Settings{RelTol: tol, Method: method})
					errs = append(errs, distance(p.Checks[0].Y, tr.At(nil, p.Checks[0].T)))
				}
				t.Logf("errors %.2g", errs)
				for i := 1; i < len(errs); i++ {
					assert.Less(t, errs[i], errs[i-1], "from %g to %g", tols[i-1], tols[i])
				}
				last := len(tols) - 1
				assert.Less(t, errs[last]/errs[0], math.Pow(tols[last]/tols[0], 0.9))
			})
		}
	}
}

// orders are the problems with a closed form whose orders are measured, and the orders
// of the methods.
func orders() []orderTest {
	var tests []orderTest
	for _, p := range []odetest.Problem{odetest.A3(), odetest.Linear(-1), odetest.Oscillator()} {
		tests = append(tests, orderTest{ode.DormandPrince, p, 80, 5, 4})
	}
	for _, p := range []odetest.Problem{odetest.D1(), odetest.A2(), odetest.A3(), odetest.Linear(-1), odetest.Oscillator()} {
		tests = append(tests, orderTest{ode.Rodas, p.Autonomous(), 160, 4, 3})
	}
	return tests
}

type orderTest struct {
	method      ode.Method
	problem     odetest.Problem
	steps       int // in the span of 10, at least
	end, inside float64
}

// order is that of errors at h, h/2 and h/4, each the worst of a row, which fall as
// a·hᵖ + b·hᵖ⁺¹ + …, with p what is expected. The second term is eliminated, since it
// can be the larger one: 2ᵖ⁺¹e(h/2) − e(h) leaves a·hᵖ + O(hᵖ⁺²), or another first term
// if there is one.
func order(p float64, errs [3][]float64) float64 {
	var worst [2]float64
	for i := range worst {
		for j := range errs[i] {
			worst[i] = max(worst[i], math.Abs(math.Exp2(p+1)*errs[i+1][j]-errs[i][j]))
		}
	}
	return math.Log2(worst[0] / worst[1])
}

// The order measured between h/2 and h/4 differs from the limit by O(h²): with 100
// steps and more in the span of 10, by less than 0.15.
func TestOrderAtTheEnd(t *testing.T) {
	for _, test := range orders() {
		p := test.problem
		t.Run(fmt.Sprint(test.method, p.Name), func(t *testing.T) {
			p.Problem.T1 = 10
			want := make([]float64, len(p.Problem.Y0))
			p.Exact(want, 10)
			var errs [3][]float64
			for i := range errs {
				steps := test.steps << i
				s, err := ode.NewFixed(p.Problem, 10/float64(steps), test.method)
				require.NoError(t, err)
				for s.Status() != ode.Done {
					require.NoError(t, s.Step())
				}
				require.Equal(t, steps, s.Stats().Steps)
				errs[i] = []float64{s.Y()[0] - want[0]}
			}
			got := order(test.end, errs)
			t.Logf("order %.2f", got)
			assert.InDelta(t, test.end, got, 0.15)
		})
	}
}

// In a step from an exact state the error falls with h to the order plus one: at the
// end with h⁶ and h⁵, inside with h⁵ and h⁴.
func TestOrderInsideAStep(t *testing.T) {
	for _, test := range orders() {
		p := test.problem
		t.Run(fmt.Sprint(test.method, p.Name), func(t *testing.T) {
			y := make([]float64, len(p.Problem.Y0))
			var end, inside [3][]float64
			for i := range end {
				h := 10 / float64(test.steps<<i)
				for _, t0 := range []float64{1, 2, 3, 4, 5} {
					q := p.Problem
					q.T0, q.Y0 = t0, make([]float64, len(y))
					p.Exact(q.Y0, t0)
					s, err := ode.NewFixed(q, h, test.method)
					require.NoError(t, err)
					require.NoError(t, s.Step())
					p.Exact(y, s.T())
					end[i] = append(end[i], s.Y()[0]-y[0])
					for _, part := range []float64{0.3, 0.5, 0.7} {
						p.Exact(y, t0+part*h)
						inside[i] = append(inside[i], s.At(nil, t0+part*h)[0]-y[0])
					}
				}
			}
			atEnd, within := order(test.end+1, end)-1, order(test.inside+1, inside)-1
			t.Logf("order %.2f at the end, %.2f inside", atEnd, within)
			assert.InDelta(t, test.end, atEnd, 0.15)
			assert.InDelta(t, test.inside, within, 0.15)
		})
	}
}

// pair is two oscillations that do not know each other: component 0 of frequency 1,
// component 2 of frequency 50.
func pair() ode.Problem {
	return ode.Problem{
		Deriv: func(dydt []float64, _ float64, y []float64) {
			dydt[0], dydt[1] = y[1], -y[0]
			dydt[2], dydt[3] = 50*y[3], -50*y[2]
		},
		T1: 10,
		Y0: []float64{1, 0, 1, 0},
	}
}

// Each component is held to its own tolerance: a loose one lets it be wrong, and
// spares steps if the component is the fast one.
func TestAbsTolPerComponent(t *testing.T) {
	tests := []struct {
		name   string
		abs    []float64
		fast   bool // the fast component is held
		reason string
	}{
		{"all tight", []float64{1e-9}, true, "one value for all"},
		{"fast tight", []float64{1, 1, 1e-9, 1e-9}, true, "the slow one profits from the short steps"},
		{"slow tight", []float64{1e-9, 1e-9, 1, 1}, false, "the fast one goes to pieces"},
	}
	steps := map[string]int{}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			tr, stats := integrate(t, pair(), ode.Settings{RelTol: 1e-14, AbsTol: test.abs})
			steps[test.name] = stats.Steps
			y := tr.At(nil, 10)
			// An error of 1e-9 in each step, of about 0.1 radians.
			assert.Less(t, math.Abs(y[0]-math.Cos(10)), 1e-8*10, test.reason)
			fast := math.Abs(y[2] - math.Cos(500))
			if test.fast {
				assert.Less(t, fast, 1e-8*500, test.reason)
			} else {
				assert.Greater(t, fast, 1e-3, test.reason)
			}
		})
	}
	t.Log(steps)
	assert.Less(t, 5*steps["slow tight"], steps["all tight"])
	assert.Equal(t, steps["fast tight"], steps["all tight"], "the fast one alone sets the step")
}

// A change of units changes nothing but the units: with tolerances in the new units
// the steps are the same, for factors that are powers of 2 to the last bit.
func TestUnits(t *testing.T) {
	base := odetest.Oscillator().Problem
	scaled := base
	const u = 1 << 20
	scaled.Y0 = []float64{u * base.Y0[0], u * base.Y0[1]}
	for _, method := range []ode.Method{ode.DormandPrince, ode.Rodas} {
		a, statsA := integrate(t, base, ode.Settings{RelTol: 1e-8, AbsTol: []float64{1e-8}, Method: method})
		b, statsB := integrate(t, scaled, ode.Settings{RelTol: 1e-8, AbsTol: []float64{u * 1e-8}, Method: method})
		assert.Equal(t, statsA, statsB)
		y := b.At(nil, 7)
		assert.Equal(t, a.At(nil, 7), []float64{y[0] / u, y[1] / u})
	}
}

// The relative tolerance counts where the state is large: y = eᵗ grows by 5e8, and
// each of its steps errs by at most 1e-8 of it.
func TestRelTol(t *testing.T) {
	p := ode.Problem{
		Deriv: func(dydt []float64, _ float64, y []float64) { dydt[0] = y[0] },
		T1:    20,
		Y0:    []float64{1},
	}
	tr, stats := integrate(t, p, ode.Settings{RelTol: 1e-8, AbsTol: []float64{1e-100}})
	assert.InEpsilon(t, math.Exp(20), tr.At(nil, 20)[0], 1e-8*float64(stats.Steps))
	assert.Less(t, stats.Steps, 300, "some steps for each of 20 units")
}

// With Dormand and Prince the slope at a step's end is that at the next one's start:
// six evaluations a try, and two for the first step. With Rodas slope and Jacobian at
// the start serve all tries of a step: five evaluations and a factorisation a try, one
// and a Jacobian for each step, and one more for the first.
func TestEvaluations(t *testing.T) {
	for method, problems := range runs() {
		rejected := 0
		for _, p := range problems {
			_, stats := integrate(t, p.Problem, ode.Settings{RelTol: 1e-7, Method: method})
			tries := stats.Steps + stats.Rejected
			rejected += stats.Rejected
			if method == ode.DormandPrince {
				assert.Equal(t, 2+6*tries, stats.Evaluations, p.Name)
				assert.Zero(t, stats.Jacobians+stats.Factorisations, p.Name)
				continue
			}
			assert.Equal(t, 1+stats.Steps+5*tries, stats.Evaluations, p.Name)
			assert.Equal(t, stats.Steps, stats.Jacobians, p.Name)
			assert.Equal(t, tries, stats.Factorisations, p.Name)
		}
		assert.Positive(t, rejected, "the test tells")
	}
}

func TestSettingsBoundSteps(t *testing.T) {
	p := odetest.Oscillator().Problem
	s, err := ode.New(p, ode.Settings{InitialStep: 1e-3, MaxStep: 0.125})
	require.NoError(t, err)
	require.NoError(t, s.Step())
	assert.Equal(t, 1e-3, s.T())
	for s.Status() != ode.Done {
		require.NoError(t, s.Step())
		assert.LessOrEqual(t, s.T()-s.PrevT(), 0.125*(1+1e-15*s.T()), "up to the rounding of t")
	}

	// The way to T1 is split evenly, so that no sliver is left: 0.3, 0.3, 0.2, 0.2.
	p = good()
	p.Deriv = func(dydt []float64, _ float64, _ []float64) { dydt[0], dydt[1] = 1, 2 }
	s, err = ode.New(p, ode.Settings{InitialStep: 0.3, MaxStep: 0.3})
	require.NoError(t, err)
	for s.Status() != ode.Done {
		require.NoError(t, s.Step())
		assert.GreaterOrEqual(t, s.T()-s.PrevT(), 0.19)
	}
	assert.Equal(t, 4, s.Stats().Steps)

	// A first step that time cannot resolve is lengthened to some floats.
	p.T0, p.T1 = 1e9, 1e9+1
	_, stats := integrate(t, p, ode.Settings{InitialStep: 1e-9})
	assert.Less(t, stats.Steps, 20)
}

// T1 is landed on exactly, times increase, and neither Deriv nor an event function
// is called outside the span.
func TestEnd(t *testing.T) {
	for _, span := range [][2]float64{{0, 10}, {0.1, 0.1 + 0.2}, {-3, 1. / 3}, {1e6, 1e6 + 0.7}, {-1, 0}, {5, math.Nextafter(5, 6)}} {
		for _, set := range []ode.Settings{
			{RelTol: 1e-3}, {RelTol: 1e-9}, {RelTol: 1e-3, Method: ode.Rodas}, {RelTol: 1e-9, Method: ode.Rodas},
		} {
			t.Run(fmt.Sprint(span, set), func(t *testing.T) {
				p := odetest.Oscillator().Problem
				p.T0, p.T1 = span[0], span[1]
				deriv := p.Deriv
				outside := 0
				probe := func(x float64) {
					if !(x >= p.T0 && x <= p.T1) {
						outside++
					}
				}
				p.Deriv = func(dydt []float64, x float64, y []float64) { probe(x); deriv(dydt, x, y) }
				p.Events = []ode.Event{{Func: func(x float64, y []float64) float64 { probe(x); return y[0] }}}
				s, err := ode.New(p, set)
				require.NoError(t, err)
				for s.Status() != ode.Done {
					before := s.T()
					require.NoError(t, s.Step())
					require.Greater(t, s.T(), before)
					require.Equal(t, before, s.PrevT())
				}
				assert.Equal(t, p.T1, s.T())
				assert.Zero(t, outside)
			})
		}
	}
}

// Sampling the dense output in each step changes nothing: states, times and work
// are the same to the last bit.
func TestOutputChangesNothing(t *testing.T) {
	for _, method := range []ode.Method{ode.DormandPrince, ode.Rodas} {
		t.Run(method.String(), func(t *testing.T) { outputChangesNothing(t, ode.Settings{Method: method}) })
	}
}

func outputChangesNothing(t *testing.T, set ode.Settings) {
	p := odetest.Arenstorf().Problem
	p.Events = []ode.Event{{Name: "axis", Func: func(_ float64, y []float64) float64 { return y[1] }}}
	quiet, stats := integrate(t, p, set)
	s, err := ode.New(p, set)
	require.NoError(t, err)
	y := make([]float64, 4)
	for i := 0; s.Status() != ode.Done; i++ {
		require.NoError(t, s.Step())
		for k := range 7 {
			s.At(y, s.PrevT()+(s.T()-s.PrevT())*float64(k)/7)
		}
		t0, t1, _ := quiet.Segment(i)
		require.Equal(t, t0, s.PrevT())
		require.Equal(t, t1, s.T())
		require.Equal(t, quiet.At(nil, t1), s.Y())
	}
	assert.Equal(t, stats, s.Stats())
}
