package odetest

import "example.org/ampstroke/drivetrain/internal/ode"

// Problem is a smooth initial-value problem with a known solution.
type Problem struct {
	Name string
	// Source says where definition and values come from.
	Source string
	// Problem ends at the time of the last check.
	Problem ode.Problem
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

// All returns all smooth problems that are not stiff.
func All() []Problem {
	return []Problem{Arenstorf(), A2(), A3(), A4(), B1(), D1(), Linear(-1), Oscillator()}
}
