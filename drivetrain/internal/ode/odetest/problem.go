package odetest

import (
	"slices"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// Problem is a smooth initial-value problem with a known solution.
type Problem struct {
	Name string
	// Source says where definition and values come from.
	Source string
	// Problem ends at the time of the last check. It has a Jacobian.
	Problem ode.Problem
	// ByTime writes the derivatives of Deriv's values by t to dfdt; nil if t does not
	// occur in Deriv.
	ByTime func(dfdt []float64, t float64, y []float64)
	// Checks are known states, in the order of time.
	Checks []Check
	// Exact writes the solution at t to dst; nil if there is no closed form.
	Exact func(dst []float64, t float64)
}

// Check is a known state.
type Check struct {
	// T is the time [1].
	T float64
	// Y is the state, NaN where a component is not known [1].
	Y []float64
}

// Autonomous returns the problem with time as a state after the others, or as it is
// if time does not occur in Deriv.
func (p Problem) Autonomous() Problem {
	if p.ByTime == nil {
		return p
	}
	deriv, jacobian, byTime, exact := p.Problem.Deriv, p.Problem.Jacobian, p.ByTime, p.Exact
	n := len(p.Problem.Y0)
	block, column := make([]float64, n*n), make([]float64, n)
	q := p
	q.ByTime = nil
	q.Problem.Y0 = append(slices.Clone(p.Problem.Y0), p.Problem.T0)
	q.Problem.Deriv = func(dydt []float64, _ float64, y []float64) {
		deriv(dydt[:n], y[n], y[:n])
		dydt[n] = 1
	}
	q.Problem.Jacobian = func(dfdy []float64, _ float64, y []float64) {
		clear(block)
		jacobian(block, y[n], y[:n])
		byTime(column, y[n], y[:n])
		for i := range n {
			copy(dfdy[i*(n+1):], block[i*n:(i+1)*n])
			dfdy[i*(n+1)+n] = column[i]
		}
	}
	q.Checks = nil
	for _, c := range p.Checks {
		q.Checks = append(q.Checks, Check{c.T, append(slices.Clone(c.Y), c.T)})
	}
	if exact != nil {
		q.Exact = func(dst []float64, t float64) {
			exact(dst[:n], t)
			dst[n] = t
		}
	}
	return q
}

// All returns the smooth problems that are not stiff.
func All() []Problem {
	return []Problem{Arenstorf(), A2(), A3(), A4(), B1(), D1(), Linear(-1), Oscillator()}
}

// Stiff returns the smooth problems that are stiff. Linear is one as well, for
// large negative λ.
func Stiff() []Problem {
	return []Problem{Robertson(), HIRES(), VanDerPol()}
}
