package ode

// NewFixed returns a solver that makes steps of h without looking at their error.
func NewFixed(p Problem, h float64, method Method) (*Solver, error) {
	s, err := New(p, Settings{Method: method})
	if err != nil {
		return nil, err
	}
	s.fixed, s.h = true, h
	return s, nil
}
