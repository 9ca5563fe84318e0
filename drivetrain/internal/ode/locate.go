package ode

import "math"

// Occurrence is a crossing of zero by an event function.
type Occurrence struct {
	// Index is the event's place in Problem.Events.
	Index int
	// Rising reports whether the function came from below.
	Rising bool
	// T is the time of the crossing [caller's unit of time].
	T float64
	// Y is the state at T: that of a step of the method that ends there. It is a
	// view: not to be written to, and valid until the next Step [caller's unit, per
	// component].
	Y []float64

	repeated    bool    // Y is that of a step of the method, not the polynomial's
	from, to    float64 // the samples before and after the crossing
	least, most float64 // between the function's neighbouring crossings
}

// samples is where the polynomial is looked at for events, in parts of the step.
func samples() []float64 { return []float64{0.2, 0.4, 0.6, 0.8, 1} }

// samplesFirst is the same for the first step after a start, where a function may
// leave zero and come back soon.
func samplesFirst() []float64 { return append([]float64{1. / 64, 1. / 16}, samples()...) }

const (
	maxBisections = 100 // beyond 2^-64 of the step only next to time zero
	maxRepeats    = 64  // of a step for one event; three are usual
)

// event evaluates an event function. It returns false, and keeps the fault, if
// the value is not finite.
func (s *Solver) event(i int, t float64, y []float64) (float64, bool) {
	s.stats.EventEvaluations++
	g := s.prob.Events[i].Func(t, y)
	if !finite(g) {
		s.rhs.fault = fault{quantity: "event", index: i, value: g, time: t}
		return g, false
	}
	return g, true
}

// scan looks for crossings in the step whose polynomial is in next, and puts them
// into pending in the order of time. It returns false if a value is not finite.
func (s *Solver) scan() bool {
	s.pending = s.pending[:0]
	if len(s.prob.Events) == 0 {
		return true
	}
	copy(s.nextSigns, s.signs)
	parts := s.samples
	if s.first {
		parts = s.samplesFirst
	}
	before := s.next.t0
	for _, part := range parts {
		t := s.next.t1
		if part < 1 {
			t = s.next.t0 + part*(s.next.t1-s.next.t0)
			if !(t > before && t < s.next.t1) {
				continue // the step is a few floats long
			}
		}
		s.next.at(s.sample, t)
		for i := range s.prob.Events {
			g, ok := s.event(i, t, s.sample)
			if !ok {
				return false
			}
			old := s.nextSigns[i]
			s.nextSigns[i] = sign(g)
			if old != 0 && s.nextSigns[i] != old {
				s.add(Occurrence{Index: i, Rising: old < 0, from: before, to: t})
			}
		}
		before = t
	}
	s.narrow()
	for k := range s.pending {
		if !s.locate(&s.pending[k]) {
			return false
		}
	}
	s.sort()
	return true
}

// narrow sets how far the crossings may move, and drops those whose direction does
// not count.
func (s *Solver) narrow() {
	for k := range s.pending {
		o := &s.pending[k]
		o.least, o.most = math.Nextafter(s.next.t0, math.Inf(1)), s.next.t1
		for j := range s.pending {
			switch other := &s.pending[j]; {
			case other.Index != o.Index:
			case j < k:
				o.least = max(o.least, other.to)
			case j > k:
				o.most = min(o.most, other.from)
			}
		}
	}
	kept := 0
	for k := range s.pending {
		o := s.pending[k]
		toward := int8(-1)
		if o.Rising {
			toward = 1
		}
		if s.prob.Events[o.Index].Direction.wants(toward) {
			s.pending[k], s.pending[kept] = s.pending[kept], o // the states stay apart
			kept++
		}
	}
	s.pending = s.pending[:kept]
}

// add appends a crossing to pending.
func (s *Solver) add(o Occurrence) {
	n, k := len(s.from.y), len(s.pending)
	o.Y = s.pendingY[k*n : (k+1)*n : (k+1)*n]
	s.pending = append(s.pending, o)
}

// sort puts pending in the order of time, and at the same time of events.
func (s *Solver) sort() {
	p := s.pending
	for i := 1; i < len(p); i++ {
		for j := i; j > 0 && (p[j].T < p[j-1].T || p[j].T == p[j-1].T && p[j].Index < p[j-1].Index); j-- {
			p[j], p[j-1] = p[j-1], p[j]
		}
	}
}

// crossed reports whether g is at or past the crossing.
func (o *Occurrence) crossed(g float64) bool {
	if o.Rising {
		return g >= 0
	}
	return g <= 0
}

// locate finds time and state of a crossing: first on the polynomial, then on
// steps repeated up to it. It returns false if a value is not finite.
func (s *Solver) locate(o *Occurrence) bool {
	lo, hi := o.from, o.to
	for range maxBisections {
		t := lo + (hi-lo)/2
		if t <= lo || t >= hi {
			break
		}
		s.next.at(s.sample, t)
		g, ok := s.event(o.Index, t, s.sample)
		if !ok {
			return false
		}
		if o.crossed(g) {
			hi = t
		} else {
			lo = t
		}
	}
	slope, ok := s.slope(o, hi)
	if !ok {
		return false
	}
	if o.T, o.repeated = s.polish(o, hi, slope); !o.repeated {
		o.T = hi
		s.next.at(o.Y, hi)
	}
	return true
}

// slope returns the derivative of an event function on the polynomial near its
// root, with the sign of the crossing.
func (s *Solver) slope(o *Occurrence, root float64) (float64, bool) {
	chord := func(a, b float64) (float64, bool) {
		s.next.at(s.sample, a)
		ga, okA := s.event(o.Index, a, s.sample)
		s.next.at(s.sample, b)
		gb, okB := s.event(o.Index, b, s.sample)
		return (gb - ga) / (b - a), okA && okB
	}
	d := 1e-4 * (s.next.t1 - s.next.t0)
	a, b := max(root-d, s.next.t0), min(root+d, s.next.t1)
	slope, ok := chord(a, b)
	if !ok {
		return 0, false
	}
	if finite(slope) && slope != 0 && slope > 0 == o.Rising {
		return slope, true
	}
	return chord(o.from, o.to) // the signs there differ as the crossing says
}

// polish corrects the root on steps that the method makes up to it: a Newton
// iteration with the polynomial's slope, then with that of the last two steps as
// soon as they are apart enough to tell, held by bisection. It keeps the earliest
// time at which the function has crossed, and its state; with an EventTol it aims half
// of that beyond the root, and ends once the root is no further away than that. It returns false if there
// is none between the function's neighbouring crossings: the polynomial then
// crosses where the steps do not.
func (s *Solver) polish(o *Occurrence, root, slope float64) (float64, bool) {
	var (
		found        bool
		lo           = math.Nextafter(o.least, math.Inf(-1)) // not crossed
		hi           = o.most                                // crossed
		tLast, gLast float64
		apart        = 1e-8 * (o.to - o.from)
		late         = s.set.EventTol * (s.next.t1 - s.next.t0)
		t            = min(max(root, o.least), o.most)
		nudge        = ulp(t)
	)
	for k := range maxRepeats {
		g, ok := s.tryEvent(o.Index, t)
		if !ok {
			break
		}
		crossed := o.crossed(g)
		if crossed {
			found, hi = true, t
			copy(o.Y, s.repeat.y)
		} else {
			lo = t
		}
		if k > 0 && math.Abs(t-tLast) > apart {
			if secant := (g - gLast) / (t - tLast); secant != 0 && secant > 0 == o.Rising {
				slope = secant
			}
		}
		tLast, gLast = t, g

		t -= g / slope // towards the root from either side
		if crossed && hi-t <= late {
			break // the root is less than a float before hi, or what may be late
		}
		t += late / 2
		if !crossed {
			// Rounding can hold the function short of zero: go on in growing steps.
			t = max(t, lo+nudge)
			nudge *= 2
		}
		t = min(max(t, o.least), o.most)
		if found && (t <= lo || t >= hi || k >= 6 && k%2 == 0) {
			t = lo + (hi-lo)/2 // rounding, or a function far from straight
			if t <= lo || t >= hi {
				break
			}
		}
		if t == tLast {
			break // at a limit
		}
	}
	return hi, found
}

// tryEvent repeats the step up to t and evaluates an event function there. It
// returns false, and forgets the fault, if a value is not finite.
func (s *Solver) tryEvent(i int, t float64) (float64, bool) {
	if s.again(t) {
		if g, ok := s.event(i, t, s.repeat.y); ok {
			return g, true
		}
	}
	s.rhs.fault = fault{}
	return 0, false
}

// again repeats the step from its start up to t.
func (s *Solver) again(t float64) bool {
	s.stats.Repeats++
	s.repeat.t1, s.repeat.h = t, t-s.from.t
	return s.method.try(&s.rhs, &s.from, &s.repeat)
}

// stop returns the place in pending of the terminal crossing that ends the step,
// −1 if there is none, and drops what comes after it.
func (s *Solver) stop() int {
	stopped := -1
	for k := range s.pending {
		if s.prob.Events[s.pending[k].Index].Terminal {
			stopped = k
			break
		}
	}
	if stopped < 0 {
		return -1
	}
	end := s.pending[stopped]
	kept := stopped + 1
	for k := kept; k < len(s.pending); k++ {
		o := s.pending[k]
		if o.T > end.T {
			// Rounding can put a crossing after the end that has happened in the state
			// there. A restart would not see it.
			if o.from >= end.T {
				continue
			}
			if g, ok := s.event(o.Index, end.T, end.Y); !ok || !o.crossed(g) {
				continue
			}
			o.T, o.repeated = end.T, end.repeated
			copy(o.Y, end.Y)
		}
		s.pending[kept], s.pending[k] = o, s.pending[kept] // the states stay apart
		kept++
	}
	s.pending = s.pending[:kept]
	return stopped
}

// shorten ends the step at a crossing. It returns the repeated step that ends
// there, or nil if the polynomial's root is all there is.
func (s *Solver) shorten(o *Occurrence) *trial {
	if o.repeated && s.again(o.T) {
		s.fill(&s.repeat)
		return &s.repeat
	}
	s.next.cut(o.T)
	copy(s.next.y1, o.Y)
	return nil
}
