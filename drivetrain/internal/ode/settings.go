package ode

import (
	"errors"
	"fmt"
	"slices"
)

const (
	defaultRelTol    = 1e-9
	defaultMaxSteps  = 1_000_000
	defaultMaxEvents = 10_000
	smallestRelTol   = 1e-14 // some 50 units of rounding
)

// Settings say how to integrate. The zero value is safe and good.
type Settings struct {
	// Method makes the steps. The default is DormandPrince.
	Method Method

	// RelTol is the tolerance of a step's error in each component relative to the
	// component, at least 1e-14 [1]. The default is 1e-9.
	RelTol float64
	// AbsTol is the tolerance that is added to the relative one: one positive value
	// for each component, or a single one for all [unit of its component]. The
	// default is the number RelTol for all.
	AbsTol []float64

	// InitialStep is the first step after New and after each Reset [caller's unit
	// of time]. The default is chosen from the derivatives there.
	InitialStep float64
	// MaxStep bounds each step [caller's unit of time]. The default is no bound.
	MaxStep float64

	// EventTol is how late an event may be reported, as part of the step it lies in, less
	// than 0.01. It saves repeated steps; time and state are those of a step of the
	// method to just beyond the crossing [1]. The default is 0, the first float.
	EventTol float64

	// MaxSteps bounds the number of steps of a run, the rejected ones included.
	// The default is 1,000,000.
	MaxSteps int
	// MaxEvents bounds how often one event may happen in a run. The default is
	// 10,000.
	MaxEvents int
}

// filled returns the settings with the defaults put in, for n components, or
// every fault at once.
func (s Settings) filled(n int) (Settings, error) {
	var errs []error
	fault := func(format string, args ...any) {
		errs = append(errs, fmt.Errorf("%w: settings: "+format, append([]any{ErrInvalid}, args...)...))
	}
	if s.Method != DormandPrince && s.Method != Rodas {
		fault("Method is %v, want DormandPrince or Rodas", s.Method)
	}
	if s.RelTol == 0 {
		s.RelTol = defaultRelTol
	}
	if !(s.RelTol >= smallestRelTol && s.RelTol < 1) {
		fault("RelTol is %v, want 1e-14 to 1, or 0 for 1e-9", s.RelTol)
	}
	switch len(s.AbsTol) {
	case 0:
		s.AbsTol = slices.Repeat([]float64{s.RelTol}, n)
	case n:
		s.AbsTol = slices.Clone(s.AbsTol)
	case 1:
		s.AbsTol = slices.Repeat(s.AbsTol, n)
	default:
		fault("%d values of AbsTol for %d components, want one for each or one for all", len(s.AbsTol), n)
	}
	for i, a := range s.AbsTol {
		if !(a > 0) || !finite(a) {
			fault("AbsTol[%d] is %v, want a positive value", i, a)
			break
		}
	}
	for _, h := range []struct {
		name  string
		value float64
	}{{"InitialStep", s.InitialStep}, {"MaxStep", s.MaxStep}} {
		if !(h.value >= 0) || !finite(h.value) {
			fault("%s is %v, want a positive time, or 0 for the default", h.name, h.value)
		}
	}
	if !(s.EventTol >= 0 && s.EventTol < 0.01) {
		fault("EventTol is %v, want 0 to 0.01", s.EventTol)
	}
	for _, m := range []struct {
		name     string
		value    *int
		standard int
	}{{"MaxSteps", &s.MaxSteps, defaultMaxSteps}, {"MaxEvents", &s.MaxEvents, defaultMaxEvents}} {
		switch {
		case *m.value < 0:
			fault("%s is %d, want a positive number, or 0 for %d", m.name, *m.value, m.standard)
		case *m.value == 0:
			*m.value = m.standard
		}
	}
	return s, errors.Join(errs...)
}
