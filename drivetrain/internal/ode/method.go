package ode

// Method is a way to make a step. The methods of this package implement it.
type Method interface {
	// String is the method's name.
	String() string
	// stepper returns the method's memory for n components.
	stepper(n int) stepper
}

// stepper makes trial steps. All tries between two calls of begin start from the
// same point, so what depends on that point alone is computed in begin.
type stepper interface {
	// exponent is the power of the step in the error estimate.
	exponent() int
	// begin prepares tries from a point. It fills in the slope unless it is known.
	// It returns false if a value is not finite.
	begin(f *rhs, from *point) bool
	// try makes a step from the point to to.t1, over to.h, and fills in state and
	// error estimate there, and the slope if the method has it. It returns false if
	// a value is not finite. It changes nothing but to and the method's memory.
	try(f *rhs, from *point, to *trial) bool
	// dense writes the coefficients r2, r3, r4 of the last try to seg, whose other
	// fields are set.
	dense(seg *segment, from *point, to *trial)
}

// point is where steps start.
type point struct {
	t     float64
	y     []float64
	slope []float64 // y' there
	known bool      // slope is valid
}

// trial is the end of a step that is tried.
type trial struct {
	t1, h float64
	y     []float64
	err   []float64 // estimated error of y
	slope []float64 // y' there
	known bool      // slope is valid
}

// rhs calls the right-hand side, counts and looks for values that are not finite.
type rhs struct {
	deriv func(dydt []float64, t float64, y []float64)
	calls int
	fault fault
}

// eval writes the derivatives to dydt. It returns false, and keeps the fault, if
// one of them is not finite.
func (f *rhs) eval(dydt []float64, t float64, y []float64) bool {
	f.calls++
	f.deriv(dydt, t, y)
	return f.check("derivative", dydt, t)
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
