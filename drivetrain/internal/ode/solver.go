package ode

import (
	"errors"
	"fmt"
	"slices"
)

// Status says whether a solver can go on.
type Status int8

const (
	// Running is a solver before T1.
	Running Status = iota
	// Done is a solver at T1.
	Done
	// Stopped is a solver at a terminal event: Reset restarts it.
	Stopped
)

// String returns the status's name.
func (s Status) String() string {
	switch s {
	case Running:
		return "running"
	case Done:
		return "done"
	case Stopped:
		return "stopped"
	}
	return fmt.Sprintf("Status(%d)", int8(s))
}

// Stats count the work of a run, all Resets included.
type Stats struct {
	// Steps are the accepted steps.
	Steps int
	// Rejected are the steps tried in vain.
	Rejected int
	// Evaluations are the calls of Deriv.
	Evaluations int
	// Jacobians are the calls of Jacobian.
	Jacobians int
	// Factorisations are those of the matrix of a step, for repeated steps too.
	Factorisations int
	// Events are the crossings reported.
	Events int
	// EventEvaluations are the calls of event functions.
	EventEvaluations int
	// Repeats are the steps repeated to locate events; their calls of Deriv are
	// among the Evaluations.
	Repeats int
	// Resets are the restarts.
	Resets int
}

// Solver integrates a problem step by step. It is made by New. One goroutine at a
// time may use it.
type Solver struct {
	prob    Problem
	set     Settings
	method  stepper
	rhs     rhs
	control control

	status  Status
	failure error // what the run failed with
	begun   bool  // the method and the events know the present start
	first   bool  // no step since the start
	h       float64
	fixed   bool // the step is h and no error is estimated; for tests

	from   point
	to     trial // the step
	repeat trial // the step repeated up to an event

	last, next segment // of the last step and of the one being made
	prev       float64 // start of the last step

	samples, samplesFirst []float64

	signs     []int8 // of the event functions; 0 is disarmed
	nextSigns []int8
	sample    []float64 // a state on the polynomial
	pending   []Occurrence
	pendingY  []float64 // their states
	happened  []Occurrence
	happenedY []float64
	counts    []int // how often each event happened in the run

	stats Stats
}

// New returns a solver at T0, Y0. It reports every fault of problem and settings
// at once, as ErrInvalid. It calls neither Deriv nor an event function.
func New(p Problem, set Settings) (*Solver, error) {
	set, setErr := set.filled(len(p.Y0))
	if err := errors.Join(p.validate(), set.Method.needs(&p), setErr); err != nil {
		return nil, err
	}
	n, events := len(p.Y0), len(p.Events)
	p.Events = slices.Clone(p.Events)
	p.Names = slices.Clone(p.Names)

	most := events * len(samplesFirst())
	slab := make([]float64, (9+2*vectors+2*most)*n)
	cut := func(k int) []float64 {
		v := slab[: k*n : k*n]
		slab = slab[k*n:]
		return v
	}
	s := &Solver{
		prob:         p,
		set:          set,
		method:       set.Method.stepper(&p),
		rhs:          rhs{deriv: p.Deriv, jacobian: p.Jacobian, passive: p.Passive},
		from:         point{y: cut(1), slope: cut(1)},
		to:           trial{y: cut(1), err: cut(1), slope: cut(1)},
		repeat:       trial{y: cut(1), err: cut(1), slope: cut(1)},
		sample:       cut(1),
		samples:      samples(),
		samplesFirst: samplesFirst(),
		signs:        make([]int8, events),
		nextSigns:    make([]int8, events),
		pending:      make([]Occurrence, 0, most),
		happened:     make([]Occurrence, 0, most),
		counts:       make([]int, events),
	}
	s.last.lay(cut(vectors), n)
	s.next.lay(cut(vectors), n)
	s.pendingY, s.happenedY = cut(most), cut(most)
	s.start(p.T0, p.Y0)
	return s, nil
}

// start puts the solver at a point with no step behind it.
func (s *Solver) start(t float64, y []float64) {
	copy(s.from.y, y)
	s.from.t, s.from.known, s.from.prepared = t, false, false
	s.prev = t
	s.last.t0, s.last.t1 = t, t
	copy(s.last.y0, s.from.y)
	copy(s.last.y1, s.from.y)
	s.happened = s.happened[:0]
	s.begun, s.failure = false, nil
	s.status = Running
	if t == s.prob.T1 {
		s.status = Done
	}
}

// Reset restarts the solver at (t, y) after a switch of mode. T1, the limits of
// the run and the statistics go on; the last step is forgotten, so what is wanted
// of it is taken before, by Trajectory.Append say. y is copied and may be a view
// of the solver's own. t must lie between T and T1; at T1 the solver is Done. A
// fault is an ErrInvalid and leaves the solver as it is. Reset calls neither Deriv
// nor an event function.
func (s *Solver) Reset(t float64, y []float64) error {
	if !(t >= s.from.t && t <= s.prob.T1) {
		return fmt.Errorf("%w: reset to time %v, want %v to %v", ErrInvalid, t, s.from.t, s.prob.T1)
	}
	if len(y) != len(s.from.y) {
		return fmt.Errorf("%w: reset to %d components, want %d", ErrInvalid, len(y), len(s.from.y))
	}
	for i, v := range y {
		if !finite(v) {
			return fmt.Errorf("%w: reset: %s is %v at time %v, want a finite value",
				ErrInvalid, s.prob.componentName(i), v, t)
		}
	}
	s.start(t, y)
	s.stats.Resets++
	return nil
}

// Until moves the end T1, as often as is liked, to a time that isn't before T. It takes
// a Reset to go on where the solver was Done.
func (s *Solver) Until(t1 float64) error {
	if !(t1 > s.from.t && finite(t1)) {
		return fmt.Errorf("%w: an end at time %v, want one after %v", ErrInvalid, t1, s.from.t)
	}
	s.prob.T1 = t1
	return nil
}

// T returns the present time [caller's unit of time].
func (s *Solver) T() float64 { return s.from.t }

// PrevT returns the time at which the last step began; T if there is none since
// New or Reset [caller's unit of time].
func (s *Solver) PrevT() float64 { return s.prev }

// Y returns the present state. It is a view: not to be written to, and valid
// until the next Step or Reset.
func (s *Solver) Y() []float64 { return s.from.y }

// Status says whether the solver can go on.
func (s *Solver) Status() Status { return s.status }

// Stats returns the work of the run so far.
func (s *Solver) Stats() Stats {
	stats := s.stats
	stats.Evaluations = s.rhs.calls
	stats.Jacobians, stats.Factorisations = s.rhs.jacobians, s.rhs.factorisations
	return stats
}

// Events returns what happened in the last step, in the order of time and, at the
// same time, of Problem.Events. It is a view: not to be written to, and valid
// until the next Step, also over a Reset.
func (s *Solver) Events() []Occurrence { return s.happened }

// At writes the state at a time from PrevT to T to dst, and returns it. A nil dst
// is made; one of a wrong length, and a time outside, panic. At T it equals Y.
func (s *Solver) At(dst []float64, t float64) []float64 {
	if !(t >= s.last.t0 && t <= s.last.t1) {
		panic(fmt.Sprintf("ode: time %v is outside the last step, %v to %v", t, s.last.t0, s.last.t1))
	}
	dst = sized(dst, len(s.from.y))
	s.last.at(dst, t)
	return dst
}

// Step makes one accepted step, which a terminal event cuts short. After an error
// the solver is where it was before the call, and further calls return the same
// error until a Reset. A call when the status is not Running is an ErrNotRunning;
// other errors are of the type *Error.
func (s *Solver) Step() error {
	if s.failure != nil {
		return s.failure
	}
	if s.status != Running {
		return fmt.Errorf("%w: %v at time %v; Reset restarts after a terminal event", ErrNotRunning, s.status, s.from.t)
	}
	s.failure = s.step()
	return s.failure
}

func (s *Solver) step() error {
	s.rhs.fault = fault{}
	if !s.begun {
		if err := s.begin(); err != nil {
			return err
		}
	}
	if !s.method.begin(&s.rhs, &s.from) {
		return s.notFinite()
	}
	t0 := s.from.t
	h := s.h
	for tries := 0; ; tries++ {
		if s.stats.Steps+s.stats.Rejected >= s.set.MaxSteps {
			return s.stuck(ErrTooManySteps, h,
				"raise MaxSteps or the tolerances, or look for "+s.set.Method.suspect()+" and missing events")
		}
		t1 := s.target(h)
		if tries >= maxTries || t1 < s.prob.T1 && t1-t0 < 4*ulp(t0) {
			if s.rhs.fault.quantity != "" {
				return s.notFinite()
			}
			return s.stuck(ErrStepTooSmall, h,
				"look for "+s.set.Method.suspect()+" or for a discontinuity that is not an event")
		}
		s.to.t1, s.to.h = t1, t1-t0
		s.rhs.fault = fault{}
		if !s.method.try(&s.rhs, &s.from, &s.to) {
			s.stats.Rejected++
			s.control.rejected = true
			h = faultShrink * s.to.h
			continue
		}
		if !s.fixed {
			if err := s.norm(s.to.err, s.from.y, s.to.y); err > 1 {
				s.stats.Rejected++
				h = s.to.h * s.control.reject(err)
				continue
			}
		}
		s.fill(&s.to)
		if !s.scan() || !s.goesOn() {
			s.stats.Rejected++
			s.control.rejected = true
			h = faultShrink * s.to.h
			continue
		}
		break
	}
	return s.accept()
}

// goesOn fills in the slope at the end of the step, unless it is known or no step
// follows. It returns false if a value is not finite: a shorter step may avoid that.
func (s *Solver) goesOn() bool {
	if s.to.known || s.to.t1 == s.prob.T1 {
		return true
	}
	for i := range s.pending {
		if s.prob.Events[s.pending[i].Index].Terminal {
			return true
		}
	}
	s.to.known = s.rhs.eval(s.to.slope, s.to.t1, s.to.y)
	return s.to.known
}

const (
	// maxTries bounds the tries of one step. The rounding of t alone does not where
	// t is near zero.
	maxTries = 100
	// shortest is the first step at least, and the step that is not halved on the
	// way to T1, in floats.
	shortest = 16
)

// begin evaluates slope and events at a new start and chooses the first step.
func (s *Solver) begin() error {
	s.control.reset(s.method.exponent(), s.method.predictive())
	if !s.method.begin(&s.rhs, &s.from) {
		return s.notFinite()
	}
	for i := range s.prob.Events {
		g, ok := s.event(i, s.from.t, s.from.y)
		if !ok {
			return s.notFinite()
		}
		s.signs[i] = sign(g)
	}
	if !s.fixed {
		s.h = max(s.firstStep(), shortest*ulp(s.from.t))
	}
	s.begun, s.first = true, true
	return nil
}

// target returns the end of a step of about h: T1 if it is within reach, and half
// the way if it is within two steps, so that the last step is not a sliver.
func (s *Solver) target(h float64) float64 {
	t0, t1 := s.from.t, s.prob.T1
	rest := t1 - t0
	switch {
	case s.fixed:
		if h < rest*(1-1e-6) {
			return t0 + h
		}
		return t1
	case h >= rest || rest < shortest*ulp(t0):
		return t1
	case h > rest/2:
		h = rest / 2
	}
	return min(t0+h, t1)
}

// fill writes the polynomial of a trial, the last that the method made, to next.
func (s *Solver) fill(to *trial) {
	s.next.t0, s.next.t1 = s.from.t, to.t1
	copy(s.next.y0, s.from.y)
	copy(s.next.y1, to.y)
	s.method.dense(&s.next, &s.from, to)
}

// accept makes the step in to, next and pending the last one.
func (s *Solver) accept() error {
	end := &s.to
	stopped := s.stop()
	if stopped >= 0 {
		end = s.shorten(&s.pending[stopped])
	}
	for i := range s.pending {
		e := s.pending[i].Index
		s.counts[e]++
		if s.counts[e] > s.set.MaxEvents {
			return &Error{
				Err: ErrTooManyEvents, Quantity: "crossings", Index: e, Name: s.prob.eventName(e),
				Value: float64(s.counts[e]), Time: s.pending[i].T, Mode: s.prob.mode(),
				Hint: "raise MaxEvents or look for chattering",
			}
		}
	}
	if !s.fixed {
		s.h = s.to.h * s.control.accept(s.to.h, s.norm(s.to.err, s.from.y, s.to.y))
		if s.set.MaxStep > 0 {
			s.h = min(s.h, s.set.MaxStep)
		}
	}
	s.prev = s.from.t
	s.last, s.next = s.next, s.last
	s.from.t = s.last.t1
	copy(s.from.y, s.last.y1)
	s.from.prepared = false
	s.from.known = end != nil && end.known
	if s.from.known {
		copy(s.from.slope, end.slope)
	}
	s.signs, s.nextSigns = s.nextSigns, s.signs
	s.pending, s.happened = s.happened[:0], s.pending
	s.pendingY, s.happenedY = s.happenedY, s.pendingY
	s.first = false
	s.stats.Steps++
	s.stats.Events += len(s.happened)
	switch {
	case stopped >= 0:
		s.status = Stopped
	case s.from.t == s.prob.T1:
		s.status = Done
	}
	return nil
}

// notFinite is the error for the fault that was found.
func (s *Solver) notFinite() error {
	f := s.rhs.fault
	name := ""
	if f.quantity == "event" {
		name = s.prob.eventName(f.index)
	} else {
		name = s.prob.componentName(f.index)
	}
	return &Error{
		Err: ErrNotFinite, Quantity: f.quantity, Index: f.index, Name: name,
		Value: f.value, Time: f.time, Mode: s.prob.mode(), Hint: "no shorter step avoids it",
	}
}

// stuck is an error about the length of the step, which the component with the
// largest error holds.
func (s *Solver) stuck(sentinel error, h float64, hint string) error {
	worst, name := -1, ""
	var largest float64
	if s.stats.Steps+s.stats.Rejected > 0 {
		for i := range s.to.err {
			if e := s.scaled(i, s.to.err[i], s.from.y[i], s.to.y[i]); e > largest {
				worst, largest = i, e
			}
		}
	}
	if worst >= 0 {
		name = s.prob.componentName(worst)
	}
	return &Error{
		Err: sentinel, Quantity: "step", Index: worst, Name: name,
		Value: h, Time: s.from.t, Mode: s.prob.mode(), Hint: hint,
	}
}
