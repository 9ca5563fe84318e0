package ode

import "fmt"

// Method is a way to make steps.
type Method int8

const (
	// DormandPrince is the explicit Runge–Kutta pair of orders 5 and 4 with seven
	// stages, six evaluations for each step. The result is that of order 5; the dense
	// output has order 4. It is for problems that are not stiff.
	DormandPrince Method = iota
	// Rodas is the Rosenbrock pair of orders 4 and 3 with six stages: six evaluations,
	// a Jacobian and a factorisation for each step. The result is that of order 4; the
	// dense output has order 3. It is stiffly accurate, for stiff problems whose
	// right-hand side does not depend on time: where it does, the caller appends time
	// as a state with the derivative 1.
	Rodas
)

// String returns the method's name.
func (m Method) String() string {
	switch m {
	case DormandPrince:
		return "Dormand–Prince 5(4)"
	case Rodas:
		return "RODAS 4(3)"
	}
	return fmt.Sprintf("Method(%d)", int8(m))
}

// stepper returns the method's memory for a problem.
func (m Method) stepper(p *Problem) stepper {
	if m == Rodas {
		return newRosenbrock(rodas(), len(p.Y0), p.Passive)
	}
	return newExplicit(dormandPrince(), len(p.Y0))
}

// needs returns what a problem lacks for the method, as ErrInvalid.
func (m Method) needs(p *Problem) error {
	if m == Rodas && p.Jacobian == nil {
		return fmt.Errorf("%w: problem: Jacobian is nil, Rodas needs it", ErrInvalid)
	}
	return nil
}

// suspect is what to look for where steps become too short or too many.
func (m Method) suspect() string {
	if m == Rodas {
		return "a fault in the Jacobian"
	}
	return "stiffness"
}

// stepper makes trial steps. All tries between two calls of begin start from the
// same point, so what depends on that point alone is computed in begin.
type stepper interface {
	// exponent is the power of the step in the error estimate.
	exponent() int
	// predictive says whether the predictive controller chooses the steps, or the PI
	// controller.
	predictive() bool
	// begin prepares tries from a point, unless it is prepared. It fills in the slope
	// unless it is known. It returns false if a value is not finite.
	begin(f *rhs, from *point) bool
	// try makes a step from the prepared point to to.t1, over to.h, and fills in state
	// and error estimate there, and the slope if the method has it. It returns false if
	// a value is not finite, or if there is no such step. It changes nothing but to
	// and the method's memory.
	try(f *rhs, from *point, to *trial) bool
	// dense writes the coefficients r2, r3, r4 of the last try to seg, whose other
	// fields are set.
	dense(seg *segment, from *point, to *trial)
}

// point is where steps start.
type point struct {
	t        float64
	y        []float64
	slope    []float64 // y' there
	known    bool      // slope is valid
	prepared bool      // the method's memory is that for the point
}

// trial is the end of a step that is tried.
type trial struct {
	t1, h float64
	y     []float64
	err   []float64 // estimated error of y
	slope []float64 // y' there
	known bool      // slope is valid
}

// rhs calls the right-hand side and its Jacobian, counts and looks for values that
// are not finite.
type rhs struct {
	deriv    func(dydt []float64, t float64, y []float64)
	jacobian func(dfdy []float64, t float64, y []float64)
	passive  int
	fault    fault

	calls, jacobians, factorisations int
}

// eval writes the derivatives to dydt. It returns false, and keeps the fault, if
// one of them is not finite.
func (f *rhs) eval(dydt []float64, t float64, y []float64) bool {
	f.calls++
	f.deriv(dydt, t, y)
	return f.check("derivative", dydt, t)
}

// evalJacobian writes the Jacobian to dfdy. It returns false, and keeps the fault
// with the component whose derivative it is, if an entry outside the passive
// columns is not finite.
func (f *rhs) evalJacobian(dfdy []float64, t float64, y []float64) bool {
	f.jacobians++
	clear(dfdy)
	f.jacobian(dfdy, t, y)
	n := len(y)
	for i := range y {
		for _, v := range dfdy[i*n : (i+1)*n-f.passive] {
			if !finite(v) {
				f.fault = fault{quantity: "Jacobian", index: i, value: v, time: t}
				return false
			}
		}
	}
	return true
}

// check returns false, and keeps the fault, if a value is not finite.
func (f *rhs) check(quantity string, x []float64, t float64) bool {
	for i, v := range x {
		if !finite(v) {
			f.fault = fault{quantity: quantity, index: i, value: v, time: t}
			return false
		}
	}
	return true
}
