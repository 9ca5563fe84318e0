package flight

import (
	"context"
	"errors"
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// run drives a gun through the modes of a flight.
type run struct {
	gun    *gun
	mode   mode
	solver *ode.Solver
	y      [states]float64 // the state at the last switch of mode
	start  [states]float64 // at release
	slope  [states]float64 // scratch
	sample [states]float64 // scratch

	summary      Summary
	impact       float64 // lost at the stop so far [J]
	peak1, peak2 peak
	gaveUp       bool   // the limit of work was reached
	extra        int    // evaluations outside the solver
	trace        *Trace // nil: not kept
}

// longest is how much simulated time a flight may take [s], and mostSteps how
// many steps. A shot takes some 10 ms and, at the tightest tolerance, 20,000.
const (
	longest   = 10
	mostSteps = 200_000
)

// The integrator's tolerance is such a share of what figures are to keep, since
// errors add up over a flight. The explicit method, held by its stability, sees its
// errors less well.
const (
	implicitShare = 30.
	explicitShare = 300.
)

// Pressures are compared with what holds piston or pellet with a slack, as shares
// of the ambient pressure, so that what is held by nothing is not moved by
// rounding, and an approach that takes for ever has an end.
const (
	moveSlack = 1e-12 // to move what is held
	restSlack = 1e-9  // to be too little ever to move it
)

// What is freed starts with a trace of travel or speed, so that the event of its
// coming back is armed at once: of the stroke, and in m/s.
const (
	liftOff = 1e-14
	freed   = 1e-12
)

// The events of every mode, in this order; each is off (constant) where it
// doesn't apply.
const (
	pelletFreed = iota
	pelletMark
	pelletStops
	portEdge
	pistonArrives
	pistonLifts
	settles
	pistonClear
	pistonTurns
	pressure1Peaks
	pressure2Peaks
)

// newRun makes a driver at the release, with both volumes at ambient.
func newRun(g *gun, s *Settings) *run {
	r := &run{gun: g, summary: emptySummary()}
	r.y[travel], r.y[speed] = g.stroke, s.ReleaseSpeed
	g.fill(r.y[:], g.pressure, g.temperature, g.pressure, g.temperature)
	r.mode.inHop = g.hopEnd > 0
	r.mode.portOpen = g.hasPort && (g.stroke > g.port || g.stroke == g.port && s.ReleaseSpeed > 0)
	if s.Trace {
		r.trace = &Trace{gun: g}
	}
	return r
}

// prepare makes the solver for the state y.
func (r *run) prepare(s *Settings) error {
	method, tolerance := ode.Rodas, s.tolerance()/implicitShare
	if s.Explicit {
		method, tolerance = ode.DormandPrince, s.tolerance()/explicitShare
	}
	tolerance = max(tolerance, 1e-13)
	steps := s.steps
	if steps == 0 {
		steps = mostSteps
	}
	solver, err := ode.New(ode.Problem{
		Deriv:    func(dy []float64, _ float64, y []float64) { r.mode.derive(r.gun, dy, y) },
		Jacobian: func(f []float64, _ float64, y []float64) { r.mode.jacobian(r.gun, f, y) },
		Passive:  passive,
		T0:       0, T1: longest, Y0: r.y[:], Events: r.events(), Mode: r.mode.String, Names: stateNames,
	}, ode.Settings{Method: method, RelTol: tolerance, AbsTol: r.scales(tolerance), MaxSteps: steps})
	r.solver, r.start = solver, r.y
	r.summary.MostRearward = r.y[travel]
	return err
}

// scales returns the absolute tolerances: tolerance times what each state comes to.
func (r *run) scales(tolerance float64) []float64 {
	g, y := r.gun, &r.y
	work := g.springEnergy(g.stroke) - g.springEnergy(0) + g.moving*y[speed]*y[speed]/2
	// A piston may come home at a crawl, and its impact is a figure.
	s := [states]float64{
		travel: g.stroke, speed: 0.03 * math.Sqrt(2*work/g.moving),
		mass1: y[mass1], energy1: y[energy1], mass2: y[mass2], energy2: y[energy2],
		along: g.length, fast: math.Sqrt(2 * work / g.pellet),
		sumDrag: work, sumEnthalpy: work,
	}
	for i := range s {
		s[i] *= tolerance
	}
	return s[:]
}

// spare1 is what lifts a seated piston [Pa]: pressure in the cylinder above what
// spring and air around hold (equation E7).
func (r *run) spare1(y []float64) float64 {
	g := r.gun
	return g.pressure1(y) - g.pressure*(1+moveSlack) - g.rate*g.preload/g.piston
}

// spare2 is what frees a held pellet [Pa]: pressure behind it above what hop,
// barrel and air around hold (equation E5).
func (r *run) spare2(y []float64) float64 {
	g := r.gun
	return g.pressure2(y) - g.pressure*(1+moveSlack) - r.mode.brake/g.bore
}

// inHand is how far, with a seated piston and a pellet at rest or out, the
// pressures are from being able to move either again [Pa]. Air flows from the
// higher to the lower, so the larger of the two only falls.
func (r *run) inHand(y []float64) float64 {
	g := r.gun
	limit := g.rate * g.preload / g.piston
	if r.mode.pellet == held {
		limit = min(limit, r.mode.brake/g.bore)
	}
	return limit + g.pressure*(1+restSlack) - max(g.pressure1(y), g.pressure2(y))
}

// mark is the place that a sliding pellet comes to next [m].
func (r *run) mark() float64 {
	if r.mode.inHop {
		return min(r.gun.hopEnd, r.gun.length)
	}
	return r.gun.length
}

func (r *run) events() []ode.Event {
	const off = -1
	m, g := &r.mode, r.gun
	return []ode.Event{
		pelletFreed: {Name: "pellet freed", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.pellet != held {
				return off
			}
			return r.spare2(y)
		}},
		pelletMark: {Name: "end of hop or barrel", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.pellet != sliding {
				return off
			}
			return y[along] - r.mark()
		}},
		pelletStops: {Name: "stop of the pellet", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.pellet != sliding {
				return off
			}
			return -y[fast]
		}},
		portEdge: {Name: "edge of the port", Terminal: true, Func: func(_ float64, y []float64) float64 {
			if !g.hasPort {
				return off
			}
			return y[travel] - g.port
		}},
		pistonArrives: {Name: "piston home", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.seated {
				return off
			}
			return -y[travel]
		}},
		pistonLifts: {Name: "piston lifts", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if !m.seated {
				return off
			}
			return r.spare1(y)
		}},
		settles: {Name: "end", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if !m.seated || m.pellet == sliding {
				return off
			}
			return r.inHand(y)
		}},
		pistonClear: {Name: "piston clear", Direction: ode.Rising, Func: func(_ float64, y []float64) float64 {
			return g.clear - y[travel]
		}},
		pistonTurns: {Name: "piston turns", Direction: ode.Rising, Func: func(_ float64, y []float64) float64 {
			return -y[speed]
		}},
		pressure1Peaks: {Name: "peak in the cylinder", Direction: ode.Rising, Func: func(_ float64, y []float64) float64 {
			if !r.peak1.armed {
				return off
			}
			s, _ := r.pressureSlopes(y)
			return -s
		}},
		pressure2Peaks: {Name: "peak in the barrel", Direction: ode.Rising, Func: func(_ float64, y []float64) float64 {
			if !r.peak2.armed {
				return off
			}
			_, s := r.pressureSlopes(y)
			return -s
		}},
	}
}

// pressureSlopes returns dp/dt in cylinder and barrel [Pa/s].
func (r *run) pressureSlopes(y []float64) (one, two float64) {
	g, dy := r.gun, r.slope[:]
	r.extra++
	r.mode.derive(g, dy, y)
	V1, a := g.cylinder(y)
	V2, b := g.barrel(y)
	return ((Gamma-1)*dy[energy1] - a.p*g.piston*dy[travel]) / V1, ((Gamma-1)*dy[energy2] - b.p*g.bore*dy[along]) / V2
}

// fly runs from the state y to the end.
func (r *run) fly(ctx context.Context) (Status, error) {
	r.note(Release)
	for {
		r.release()
		if r.mode.seated && r.mode.pellet != sliding && r.inHand(r.y[:]) >= 0 {
			break
		}
		stopped, err := r.phase(ctx)
		if err != nil {
			return 0, err
		}
		if !stopped {
			break // at the limit of time or work
		}
	}
	r.note(End)
	s := &r.summary
	s.Duration = r.solver.T()
	s.PeakPressure, s.PeakBarrelPressure = r.peak1.most, r.peak2.most
	if r.y[travel] >= r.gun.clear {
		s.TimeToHome = math.NaN()
	}
	return r.status(), nil
}

// status names the present state as an end.
func (r *run) status() Status {
	m, y := &r.mode, r.y[:]
	// Without preload a piston comes to rest without ever touching the stop.
	resting := m.seated || y[travel] < 1e-6*r.gun.stroke && math.Abs(y[speed]) < 1e-6
	switch {
	case r.gaveUp:
		return GivenUp
	case !resting:
		return PistonHeld
	case m.pellet == out:
		return Done
	case m.pellet == held && r.inHand(y) >= 0:
		return PelletStuck
	}
	return Unsettled
}

// phase steps from r.y in one mode until an event that changes it, with r.y the
// state after that, or until the limit of time or work. It tells which.
func (r *run) phase(ctx context.Context) (stopped bool, err error) {
	s := r.solver
	if err := s.Reset(s.T(), r.y[:]); err != nil {
		return false, err
	}
	s1, s2 := r.pressureSlopes(r.y[:])
	r.peak1.begin(r.gun.pressure1(r.y[:]), s1)
	r.peak2.begin(r.gun.pressure2(r.y[:]), s2)
	for n := 0; ; n++ {
		if n%64 == 0 && ctx.Err() != nil {
			return false, ctx.Err()
		}
		if err := s.Step(); err != nil {
			if !errors.Is(err, ode.ErrTooManySteps) && !errors.Is(err, ode.ErrTooManyEvents) {
				return false, err
			}
			r.gaveUp = true
			copy(r.y[:], s.Y())
			return false, nil
		}
		if r.trace != nil {
			r.trace.path.Append(s, r.mode.code())
		}
		r.watch()
		switch s.Status() {
		case ode.Stopped, ode.Done:
			copy(r.y[:], s.Y())
			r.meet()
			return s.Status() == ode.Stopped, nil
		}
		r.meet()
	}
}

// meet takes notice of what happened in the last step and switches the mode.
func (r *run) meet() {
	g, m, y, sum := r.gun, &r.mode, &r.y, &r.summary
	for _, e := range r.solver.Events() {
		switch e.Index {
		case pelletFreed:
			r.free()
		case pelletMark:
			y[along] = r.mark()
			if m.inHop && g.hopEnd < g.length {
				m.inHop = false
				r.note(HopEnds)
				break
			}
			m.pellet = out
			sum.TimeToMuzzle = e.T
			sum.MuzzleVelocity = y[fast]
			sum.MuzzleEnergy = g.pellet * y[fast] * y[fast] / 2
			y[fast] = 0
			r.note(MuzzleExit)
		case pelletStops:
			if m.pellet != sliding {
				break // it left with its last breath
			}
			m.pellet = held
			y[fast] = 0
			r.note(PelletStops)
		case portEdge:
			m.portOpen = y[speed] > 0
			if m.portOpen {
				r.note(PortOpens)
			} else {
				r.note(PortShuts)
			}
		case pistonArrives:
			if math.IsNaN(sum.PistonImpact) {
				sum.PistonImpact = -y[speed]
			}
			r.impact += g.moving * y[speed] * y[speed] / 2
			y[travel], y[speed] = 0, 0
			m.seated = true
			r.note(PistonArrives)
		case pistonLifts:
			r.lift()
		case pistonClear:
			sum.TimeToHome = e.T
			r.noteAt(Clear, e.T)
		case pistonTurns:
			sum.MostRearward = math.Max(sum.MostRearward, e.Y[travel])
			r.noteAt(Turn, e.T)
		}
	}
}

// release lets go of what can't be held in the state as it is.
func (r *run) release() {
	r.mode.follow(r.gun)
	if r.mode.seated && r.spare1(r.y[:]) >= 0 {
		r.lift()
	}
	if r.mode.pellet == held && r.spare2(r.y[:]) >= 0 {
		r.free()
	}
}

// free lets a held pellet go.
func (r *run) free() {
	r.mode.pellet = sliding
	r.y[fast] = freed
	r.note(PelletStarts)
}

// lift lets a seated piston go.
func (r *run) lift() {
	r.mode.seated = false
	r.y[travel] = liftOff * r.gun.stroke
	r.note(PistonLifts)
}

func (r *run) note(what EventKind) { r.noteAt(what, r.solver.T()) }

func (r *run) noteAt(what EventKind, time float64) {
	if r.trace != nil {
		r.trace.Events = append(r.trace.Events, Event{what, time})
	}
}
