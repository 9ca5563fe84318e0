package ode

import (
	"errors"
	"fmt"
	"math"
)

// Problem is an initial-value problem with events. It is read by New and must
// not change while its solver is in use.
type Problem struct {
	// Deriv writes the derivatives at (t, y) to dydt. It may read a mode that the
	// caller switches at events, but must not branch on a threshold of the state,
	// and must neither write to y nor keep either slice.
	Deriv func(dydt []float64, t float64, y []float64)

	// T0 is the time of the start [caller's unit of time].
	T0 float64
	// T1 is the time of the end, after T0. It is landed on exactly, and Deriv is
	// not called beyond it [caller's unit of time].
	T1 float64

	// Y0 is the state at T0; its length is that of all states. New copies it
	// [caller's unit, per component].
	Y0 []float64

	// Jacobian writes the derivatives of Deriv's values by the states to dfdy, row by
	// row: dfdy[i*n+j] is that of the derivative of state i by state j, with n states.
	// dfdy comes zeroed. It may read the mode as Deriv does, and must neither write to
	// y nor keep either slice. It must be finite where Deriv is. Rodas needs it,
	// DormandPrince does not read it.
	Jacobian func(dfdy []float64, t float64, y []float64)
	// Passive says how many of the last states do not occur in Deriv: integrals that
	// are carried along, fewer than all states. Rodas solves for them after the others,
	// and does not read their columns of the Jacobian. DormandPrince does not read it.
	Passive int

	// Events are what to look for. None is needed.
	Events []Event

	// Mode names the present mode in errors. It may be nil.
	Mode func() string
	// Names are the components' names in errors, one for each, or none at all.
	Names []string
}

// Event is a crossing of zero by a function of time and state.
type Event struct {
	// Name stands in errors.
	Name string
	// Func is the function. It must neither write to y nor keep it.
	Func func(t float64, y []float64) float64
	// Direction says which crossings count. The zero value is Both.
	Direction Direction
	// Terminal ends the step at the crossing: Step returns with Status Stopped.
	Terminal bool
}

// Direction says which crossings of zero count.
type Direction int8

const (
	// Falling counts crossings from above to below.
	Falling Direction = -1
	// Both counts all crossings.
	Both Direction = 0
	// Rising counts crossings from below to above.
	Rising Direction = 1
)

// String returns the direction's name.
func (d Direction) String() string {
	switch d {
	case Falling:
		return "falling"
	case Both:
		return "both"
	case Rising:
		return "rising"
	}
	return fmt.Sprintf("Direction(%d)", int8(d))
}

// wants reports whether a crossing towards sign counts.
func (d Direction) wants(sign int8) bool {
	return d == Both || int8(d) == sign
}

// eventName is the name of event i in errors.
func (p *Problem) eventName(i int) string {
	if p.Events[i].Name != "" {
		return p.Events[i].Name
	}
	return fmt.Sprintf("#%d", i)
}

// componentName is the name of component i in errors.
func (p *Problem) componentName(i int) string {
	if i < len(p.Names) && p.Names[i] != "" {
		return p.Names[i]
	}
	return fmt.Sprintf("y[%d]", i)
}

// mode is the name of the present mode, empty if there is none.
func (p *Problem) mode() string {
	if p.Mode == nil {
		return ""
	}
	return p.Mode()
}

// validate reports every fault of the problem at once.
func (p *Problem) validate() error {
	var errs []error
	fault := func(format string, args ...any) {
		errs = append(errs, fmt.Errorf("%w: problem: "+format, append([]any{ErrInvalid}, args...)...))
	}
	if p.Deriv == nil {
		fault("Deriv is nil")
	}
	for _, t := range []struct {
		name  string
		value float64
	}{{"T0", p.T0}, {"T1", p.T1}} {
		if !finite(t.value) {
			fault("%s is %v, want a finite time", t.name, t.value)
		}
	}
	if finite(p.T0) && finite(p.T1) {
		if p.T1 <= p.T0 {
			fault("T1 %v is not after T0 %v", p.T1, p.T0)
		} else if !finite(p.T1 - p.T0) {
			fault("the span from T0 %v to T1 %v overflows", p.T0, p.T1)
		}
	}
	if len(p.Y0) == 0 {
		fault("Y0 is empty")
	}
	if p.Passive < 0 || p.Passive > 0 && p.Passive >= len(p.Y0) {
		fault("Passive is %d of %d components, want 0 to %d", p.Passive, len(p.Y0), max(0, len(p.Y0)-1))
	}
	if len(p.Names) != 0 && len(p.Names) != len(p.Y0) {
		fault("%d Names for %d components", len(p.Names), len(p.Y0))
	}
	for i, v := range p.Y0 {
		if !finite(v) {
			fault("Y0: %s is %v, want a finite value", p.componentName(i), v)
		}
	}
	for i, e := range p.Events {
		if e.Func == nil {
			fault("event %s: Func is nil", p.eventName(i))
		}
		if e.Direction < Falling || e.Direction > Rising {
			fault("event %s: direction is %v, want Both, Rising or Falling", p.eventName(i), e.Direction)
		}
	}
	return errors.Join(errs...)
}

// finite reports whether x is neither NaN nor infinite.
func finite(x float64) bool {
	return math.Abs(x) <= math.MaxFloat64
}

// sign is −1, 0 or 1.
func sign(x float64) int8 {
	switch {
	case x < 0:
		return -1
	case x > 0:
		return 1
	}
	return 0
}
