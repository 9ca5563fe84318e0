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

func TestChecksEndTheProblems(t *testing.T) {
	for _, p := range odetest.All() {
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
