package odetest_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/ode/odetest"
)

// The closed forms are checked by themselves: where values are published too, they
// must agree to the rounding of the values.
func TestClosedFormsMeetPublishedValues(t *testing.T) {
	for _, p := range odetest.All() {
		if p.Exact == nil {
			continue
		}
		t.Run(p.Name, func(t *testing.T) {
			y := make([]float64, len(p.Problem.Y0))
			p.Exact(y, p.Problem.T0)
			assert.InDeltaSlice(t, p.Problem.Y0, y, 1e-15)
			for _, c := range p.Checks {
				p.Exact(y, c.T)
				for i := range y {
					if math.IsNaN(c.Y[i]) {
						continue
					}
					assert.InEpsilon(t, c.Y[i], y[i], 1e-14, "component %d at %v", i, c.T)
				}
			}
		})
	}
}

// The derivative of a closed form by central differences is the right-hand side.
// With a step of 1e-5 the truncation is 1e-10/6 of the third derivative, at most 4
// in these problems, and the rounding 1e-16/1e-5 of values up to 20: 1e-9 in all.
func TestClosedFormsSolveTheirEquations(t *testing.T) {
	for _, p := range odetest.All() {
		if p.Exact == nil {
			continue
		}
		t.Run(p.Name, func(t *testing.T) {
			n := len(p.Problem.Y0)
			y, dydt, a, b := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
			for _, x := range []float64{0.3, 1.7, 4.9, 9.1} {
				p.Exact(y, x)
				p.Problem.Deriv(dydt, x, y)
				p.Exact(a, x-1e-5)
				p.Exact(b, x+1e-5)
				for i := range y {
					assert.InDelta(t, dydt[i], (b[i]-a[i])/2e-5, 1e-9, "component %d at %v", i, x)
				}
			}
		})
	}
}

// jacobian compares a problem's Jacobian and its derivative by time with central
// differences at a state. With steps d of 1e-5 of the size, at least 1e-5, the truncation
// is d²/6 of the third derivative and the rounding 1e-16/d of the terms: tol is for the
// sizes met in these problems.
func jacobian(t *testing.T, p odetest.Problem, at float64, y []float64, tol float64) {
	t.Helper()
	n := len(y)
	dfdy, a, b := make([]float64, n*n), make([]float64, n), make([]float64, n)
	p.Problem.Jacobian(dfdy, at, y)
	for j := range n {
		d := 1e-5 * max(1, math.Abs(y[j]))
		moved := append([]float64(nil), y...)
		moved[j] = y[j] + d
		p.Problem.Deriv(b, at, moved)
		moved[j] = y[j] - d
		p.Problem.Deriv(a, at, moved)
		for i := range n {
			want := (b[i] - a[i]) / (2 * d)
			assert.InDelta(t, want, dfdy[i*n+j], tol*max(1, math.Abs(want)), "%s: row %d, column %d at %v", p.Name, i, j, y)
		}
	}
	dfdt := make([]float64, n)
	if p.ByTime != nil {
		p.ByTime(dfdt, at, y)
	}
	p.Problem.Deriv(b, at+1e-5, y)
	p.Problem.Deriv(a, at-1e-5, y)
	for i := range n {
		want := (b[i] - a[i]) / 2e-5
		assert.InDelta(t, want, dfdt[i], tol*max(1, math.Abs(want)), "%s: row %d, by time at %v", p.Name, i, at)
	}
}

func TestJacobians(t *testing.T) {
	for _, p := range append(append(odetest.All(), odetest.Stiff()...), odetest.Linear(-1e6)) {
		t.Run(p.Name, func(t *testing.T) {
			for _, q := range []odetest.Problem{p, p.Autonomous()} {
				size := 1.
				if p.Name == "Robertson" {
					size = 1e-3 // at which the slow reaction is not lost in the rounding
				}
				for _, at := range []float64{0.4, 2.2} {
					// Off the solution, so that each term counts.
					y := make([]float64, len(q.Problem.Y0))
					for i := range y {
						y[i] = size * (0.6 + 0.3*math.Sin(7*at+float64(i*i)))
					}
					jacobian(t, q, at, y, 1e-7)
				}
			}
		})
	}
}

// The Jacobians of the switched problems, in each mode that events lead to.
func TestSwitchedJacobians(t *testing.T) {
	for _, p := range []odetest.Switched{odetest.Ball(), odetest.Contact()} {
		p.Start()
		for k := range p.Problem.Events {
			for _, y := range [][]float64{{0.3, -0.7}, {-0.6, 1.1}} {
				jacobian(t, odetest.Problem{Name: p.Name, Problem: p.Problem}, 0, y, 1e-7)
			}
			p.Switch(k, make([]float64, 2))
		}
	}
}

func TestAutonomous(t *testing.T) {
	p := odetest.A3()
	q := p.Autonomous()
	assert.Equal(t, []float64{1, 0}, q.Problem.Y0)
	assert.Equal(t, []float64{p.Checks[0].Y[0], 20}, q.Checks[0].Y)
	dydt, y := make([]float64, 2), make([]float64, 2)
	q.Exact(y, 3)
	assert.Equal(t, []float64{math.Exp(math.Sin(3)), 3}, y)
	q.Problem.Deriv(dydt, 99, []float64{2, 3})
	assert.Equal(t, []float64{2 * math.Cos(3), 1}, dydt, "the state's time, not the solver's")
	assert.Equal(t, []float64{1}, p.Problem.Y0, "the original is as it was")
	assert.Len(t, odetest.A2().Autonomous().Problem.Y0, 1, "no time in it")
}

func TestChecksEndTheProblems(t *testing.T) {
	for _, p := range append(odetest.All(), odetest.Stiff()...) {
		t.Run(p.Name, func(t *testing.T) {
			require.NotEmpty(t, p.Source)
			last := p.Problem.T0
			for _, c := range p.Checks {
				assert.Greater(t, c.T, last)
				assert.Len(t, c.Y, len(p.Problem.Y0))
				last = c.T
			}
			assert.Equal(t, p.Problem.T1, last)
		})
	}
}

// Between events the contact problem is linear: its closed form is held by the
// energy. Contact begins with the speed of the flight before; the spring's and the
// damper's forces cancel at its end.
func TestContactClosedForm(t *testing.T) {
	p := odetest.Contact()
	require.Len(t, p.Times, 10)
	for i := 0; i < len(p.Times); i += 2 {
		side := math.Copysign(1, p.States[i][0])
		u, v := side*p.States[i+1][0]-0.5, side*p.States[i+1][1]
		assert.Positive(t, u, "still penetrated at the release")
		assert.Negative(t, v, "moves away at the release")
		assert.InDelta(t, 0, 10*u+1.5*v, 1e-14, "no force at the release")
		// Half the critical damping: 1.5/(2·√10) of it, so the energy falls in contact.
		assert.Less(t, v*v/2+10*u*u/2, p.States[i][1]*p.States[i][1]/2)
	}
}
