package ode

import (
	"errors"
	"fmt"
	"strings"
)

// Sentinels for errors.Is.
var (
	// ErrInvalid is a fault of a problem, of settings or of a state for Reset.
	ErrInvalid = errors.New("ode: invalid")
	// ErrNotFinite is a NaN or an infinity that shorter steps do not avoid.
	ErrNotFinite = errors.New("ode: not finite")
	// ErrStepTooSmall is a step that the tolerance shrinks to the rounding of time.
	ErrStepTooSmall = errors.New("ode: step too small")
	// ErrTooManySteps is a run that exceeds Settings.MaxSteps.
	ErrTooManySteps = errors.New("ode: too many steps")
	// ErrTooManyEvents is an event that exceeds Settings.MaxEvents.
	ErrTooManyEvents = errors.New("ode: too many events")
	// ErrNotRunning is a Step after Done or Stopped without a Reset.
	ErrNotRunning = errors.New("ode: not running")
)

// Error says where and why a run fails. It wraps one of the sentinels.
type Error struct {
	// Err is the sentinel.
	Err error
	// Quantity is what the error is about: "derivative", "Jacobian" (an entry in the
	// component's row), "state", "event" (a value of its function), "crossings" (of
	// an event) or "step".
	Quantity string
	// Index is the component's or the event's index, −1 if the error is about
	// none.
	Index int
	// Name is the component's or the event's name.
	Name string
	// Value is the value found: of the derivative, the Jacobian's entry, the state or
	// the event function, the number of crossings, or the length of the step [unit of the quantity].
	Value float64
	// Time is where it was found [caller's unit of time].
	Time float64
	// Mode is the mode it was found in, empty if the problem names none.
	Mode string
	// Hint is what to look at next.
	Hint string
}

// Error returns place, fact and next step.
func (e *Error) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%v: t=%g", e.Err, e.Time)
	if e.Mode != "" {
		fmt.Fprintf(&b, ", mode %s", e.Mode)
	}
	b.WriteString(": ")
	switch e.Quantity {
	case "derivative":
		fmt.Fprintf(&b, "derivative of %s is %g", e.Name, e.Value)
	case "Jacobian":
		fmt.Fprintf(&b, "an entry of the Jacobian for %s is %g", e.Name, e.Value)
	case "state":
		fmt.Fprintf(&b, "%s is %g", e.Name, e.Value)
	case "event":
		fmt.Fprintf(&b, "event %s is %g", e.Name, e.Value)
	case "crossings":
		fmt.Fprintf(&b, "event %s happens %g times", e.Name, e.Value)
	default:
		fmt.Fprintf(&b, "step %g", e.Value)
		if e.Name != "" {
			fmt.Fprintf(&b, ", held by %s", e.Name)
		}
	}
	if e.Hint != "" {
		fmt.Fprintf(&b, "; %s", e.Hint)
	}
	return b.String()
}

// Unwrap returns the sentinel.
func (e *Error) Unwrap() error { return e.Err }

// fault is a value found not finite, kept until the step is given up.
type fault struct {
	quantity string // empty: none
	index    int
	value    float64
	time     float64
}
