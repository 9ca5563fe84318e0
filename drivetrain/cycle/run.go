package cycle

import (
	"context"
	"errors"
	"math"
)

// run drives a machine through its modes: which arc the sector stands in,
// whether the shaft turns, which way the current flows through the brushes.
type run struct {
	mode
	y      [states]float64 // the present state
	series series          // its course
	seen   look            // at the end of it, if nothing happens before

	time       float64 // [s]
	unit       float64 // of the next series [s]
	stride     float64 // of the last gliding step [s]
	patience   int     // steps of a mode before a gliding one is tried
	tolerance  float64
	amps, rads float64 // what currents and speeds come to [A, rad/s]
	longest    float64 // limit of time [s]
	mostSteps  int
	steps      int
	books      bool    // the integrals are wanted
	leaps      []leaps // of all arcs

	entry float64 // speed just after the pickup that the last cycle began with [rad/s]
	creep float64 // speed below which a turning shaft counts as stopped [rad/s]

	cutoff   cutoff    // where the switch opens
	lobe     int       // pickups since the last begin
	opened   float64   // when the switch opened [s]
	braked   bool      // the brake has begun
	releases []release // since the last begin
	hunts    Hunt      // over what the books are kept of a gun that hunts
	shown    float64   // when the rack was let go in the course of its last cycle [s]

	t0      float64         // time of the last begin [s]
	stopped float64         // when the shaft last stopped [s]
	stall   [states]float64 // where it stalled
	broke   [states]float64 // where the switch opened
	tally   tally
	trace   *Trace // nil: not kept
}

// Ends of a simulated stretch.
type ending int

const (
	pickedUp ending = iota // the next pickup was reached
	stalled                // the shaft stands and the motor can't move it
	rested                 // the shaft stands with the switch open
)

// path is which way the motor's current flows.
type path int

const (
	closed    path = iota // through pack, harness and switch
	freewheel             // through the flyback diode, behind an open MOSFET
	open                  // no way
	braking               // through the brake
)

// cutoff is where the switch opens: a sector angle in a lobe that is counted from
// the begin.
type cutoff struct {
	set   bool
	lobe  int
	angle float64 // [rad]
}

// release is a rack that was let go.
type release struct {
	time float64 // since the begin [s]
	rack float64 // its speed [m/s]

	pickup float64 // when the sector comes round to it; NaN: it doesn't [s]
	sector float64 // its speed then [rad/s]
}

// ErrUnfinished is what the error of a simulation wraps that came to no end
// within the limit of time or work.
var ErrUnfinished = errors.New("the simulation came to no end")

// longest is how much simulated time a run may take [s], next to for ever: a train of a
// thousand to one on a weak motor takes hours for a shot. After rising seconds, the
// current of a stalled motor is not followed any further [s]. mostSteps is how many steps
// a run may take, with mostOfRound more for each round of a burst.
const (
	longest     = 1e10
	rising      = 120
	mostSteps   = 1_000_000
	mostOfRound = 20_000
)

// creeping is the share of the no-load speed below which a shaft that only slows down
// counts as stopped (D8).
const creeping = 1e-6

// The events of every mode, in this order; each is off (constant) where it
// doesn't apply.
const (
	arcEnds = iota
	shaftStops
	breaksAway
	givesUp
	currentEnds
	currentStarts
	currentReverses
	switchOpens
	brakeStarts
	currentPeaks
	brakePeaks
	voltageDips
)

// none is no event.
const none = -1

// newRun makes a driver at rest at the machine's start, with time and steps for
// a burst of so many rounds.
func newRun(m *machine, tolerance float64, held bool, rounds int, trace *Trace) *run {
	r := new(run)
	r.reset(m, tolerance, held, rounds, trace)
	return r
}

// reset makes it as new.
func (r *run) reset(m *machine, tolerance float64, held bool, rounds int, trace *Trace) {
	*r = run{mode: mode{m: m, held: held}, trace: trace, releases: r.releases[:0], leaps: r.leaps, books: true, tolerance: tolerance}
	r.y[angle] = m.start
	r.y[voltage1], r.y[voltage2], r.y[charge] = m.v1, m.v2, m.charge
	r.source = m.ocv(m.charge)
	if held {
		r.creep = creeping * m.noLoadSpeed()
	}
	r.amps, r.rads = m.common()
	r.unit = m.motor.Inductance / m.resistance
	r.patience = patience
	// Steps are bounded, and events with them: a current that stands still peaks in
	// every one.
	r.longest = longest
	r.mostSteps = mostSteps + rounds*mostOfRound
	r.place()
}

// push returns the voltage that changes the current [V], given the pack's
// open-circuit voltage: the right-hand side of F1 and F3, with A16.
func (r *run) push(ocv float64, y []float64) float64 {
	m := r.m
	i := y[current]
	var terminal float64 // of the motor
	switch r.path {
	case closed:
		terminal = ocv - y[voltage1] - y[voltage2] - m.series*i
	case freewheel:
		terminal = -m.flyback
	case braking:
		terminal = -m.brake * i
	}
	return m.motor.VoltageLeft(terminal, i, y[speed], r.sign)
}

// ocv returns the pack's open-circuit voltage at a state [V].
func (r *run) ocv(y []float64) float64 {
	if r.held {
		return r.source
	}
	return r.m.ocv(y[charge])
}

// needed returns the torque that a shaft at rest has to overcome [N m] (D8). On
// a held pack a shaft that creeps counts as one at rest: there is to be more than
// what a crawl takes in drag and back-EMF, twice to be clear of it.
func (r *run) needed(y []float64) float64 {
	m := r.m
	crawl := 2 * r.creep * (m.motor.DragViscous + m.churning + m.motor.Ke*m.motor.Ke/m.resistance)
	return m.motor.DragConstant + crawl + m.arcs[r.arc].at(y[angle])
}

// begin puts the tally to zero at the state y.
func (r *run) begin() {
	r.t0 = r.time
	for i := sumCurrent; i < states; i++ {
		r.y[i] = 0
	}
	r.lobe, r.releases = 0, r.releases[:0]
	if r.trace != nil {
		r.trace.clear(r.t0, r.y, r.arc, r.path)
	}
	r.tally = tally{start: r.stored(), open: math.NaN(), peak: r.y[current], dip: r.terminal(r.y[:])}
}

// chooseSign sets the brushes' mode from the state.
func (r *run) chooseSign() {
	switch i := r.y[current]; {
	case i > 0:
		r.sign = 1
	case i < 0:
		r.sign = -1
	default:
		r.sign = 0
		if r.path == freewheel || r.path == open {
			return
		}
		drop := r.m.motor.BrushDrop
		if v := r.push(r.ocv(r.y[:]), r.y[:]); v > drop {
			r.sign = 1
		} else if v < -drop {
			r.sign = -1
		}
	}
}

// terminal returns the pack's voltage at its terminals [V].
func (r *run) terminal(y []float64) float64 {
	i := y[current]
	if r.path != closed {
		i = 0
	}
	return r.m.circuit.Terminal(r.ocv(y), y[voltage1], y[voltage2], i)
}

// opensHere tells that the switch is to open in this lobe.
func (r *run) opensHere() bool { return r.cutoff.set && r.path == closed && r.lobe == r.cutoff.lobe }

// awaitsBrake tells that the brake is to begin after its delay.
func (r *run) awaitsBrake() bool { return r.path != closed && r.m.brakes && !r.braked }

// cut opens the switch if the sector stands at the cut-off (F3): behind a MOSFET
// the current goes on through the diode; between contacts it ends at once, with
// what the motor's inductance held.
func (r *run) cut() {
	if !r.opensHere() || r.y[angle] < r.cutoff.angle-sameAngle {
		return
	}
	r.opened, r.broke = r.time, r.y
	r.tally.open = r.tally.turned
	r.path = freewheel
	if !r.m.diode || r.y[current] <= 0 {
		r.endCurrent()
	}
	if r.m.motor.DragConstant == 0 { // it would slow down for ever
		r.creep = creeping * r.m.noLoadSpeed()
	}
	r.note(Opening)
	if r.m.brakes && r.m.brakeDelay == 0 {
		r.brake()
	}
}

// brake shorts the motor.
func (r *run) brake() {
	r.path, r.braked = braking, true
	r.chooseSign()
	r.note(Braking)
}

// endCurrent takes the current away with the switch open.
func (r *run) endCurrent() {
	i := r.y[current]
	r.tally.arc += r.m.motor.Inductance * i * i / 2
	r.y[current], r.sign, r.path = 0, 0, open
}

// toPickup runs until just after the next pickup, or until the shaft stands for
// good. The shaft is at rest or turns as the state says.
func (r *run) toPickup(ctx context.Context) (ending, error) {
	rest := r.tally // when the shaft last stopped
	if r.y[speed] <= r.creep {
		r.y[speed] = 0
		r.turns = false
		r.stopped = r.time
		r.stall = r.y
	}
	r.chooseSign()
	for {
		r.cut()
		if !r.turns && r.path != closed {
			return rested, nil
		}
		if !r.turns {
			need := r.needed(r.y[:])
			if !(r.m.motor.Ke*r.most() > need) {
				return stalled, r.hold(ctx)
			}
			// At equality the event would have to leave zero first.
			r.turns = r.m.motor.Ke*r.y[current] >= need
		}
		event, err := r.phase(ctx)
		if err != nil {
			return 0, err
		}
		switch event {
		case shaftStops:
			r.turns = false
			r.y[speed] = 0
			r.stopped = r.time
			r.chooseSign()
			r.stall, rest = r.y, r.tally
			r.note(Stop)
		case breaksAway:
			r.turns = true
		case givesUp: // it has stood since it stopped
			r.tally = rest
			return stalled, nil
		case currentEnds:
			r.y[current] = 0
			if r.path == freewheel {
				r.path = open
			}
			r.chooseSign()
		case switchOpens:
			r.y[angle] = r.cutoff.angle
			r.cut()
			// At the end of an arc too, since two events at once are told as one.
			if r.y[angle] >= r.m.arcs[r.arc].to-sameAngle && r.nextArc() {
				return pickedUp, nil
			}
		case brakeStarts:
			r.brake()
		case currentStarts:
			r.sign = 1
		case currentReverses:
			r.sign = -1
		case arcEnds:
			r.y[angle] = r.m.arcs[r.arc].to
			r.cut()
			if r.nextArc() {
				return pickedUp, nil
			}
		}
	}
}

// hold follows a current that still rises after a stall, for the trace alone.
func (r *run) hold(ctx context.Context) error {
	if r.trace == nil || r.held {
		return nil
	}
	told := r.tally
	defer func() { r.tally = told }()
	if !(r.sign*r.push(r.ocv(r.y[:]), r.y[:]) > 0) {
		return nil
	}
	// What takes minutes to rise is no part of the picture any more.
	r.longest = r.time + rising
	_, err := r.phase(ctx)
	if errors.Is(err, ErrUnfinished) {
		err = nil
	}
	return err
}

// most returns the largest current that the held shaft sees [A].
func (r *run) most() float64 {
	y := r.y[:]
	return max(y[current], r.m.stallCurrent(r.ocv(y), y[voltage1], y[voltage2]))
}

// nextArc moves from the end of an arc to the next one, and tells whether that
// was a pickup.
func (r *run) nextArc() bool {
	g := &r.m.geometry
	w := r.y[speed]
	left := &r.m.arcs[r.arc]
	if r.arc == len(r.m.arcs)-1 { // pickup (D7)
		r.arc = 0
		r.lobe++
		r.y[angle] = r.m.arcs[0].from
		if n := len(r.releases); n > 0 && math.IsNaN(r.releases[n-1].pickup) {
			r.releases[n-1].pickup, r.releases[n-1].sector = r.time-r.t0, w/g.Ratio
		}
		r.y[speed] = w * g.FreeInertia / g.PullInertia
		r.tally.pickup += (g.FreeInertia*w*w - g.PullInertia*r.y[speed]*r.y[speed]) / 2
		r.note(Pickup)
		return true
	}
	r.arc++
	next := &r.m.arcs[r.arc]
	if left.pull && !next.pull { // release
		rack := g.PitchRadius * w / g.Ratio
		r.releases = append(r.releases, release{r.time - r.t0, rack, math.NaN(), math.NaN()})
		r.tally.shot += g.SpringEnergy(g.Stroke) - g.SpringEnergy(0) + g.MovingMass*rack*rack/2
		r.note(Release)
	}
	return false
}

func (r *run) note(what EventKind) {
	if r.trace != nil {
		r.trace.Events = append(r.trace.Events, Event{what, r.time - r.trace.start, r.y[angle]})
	}
}

// stored returns the energy in rotation, inductance, spring and RC pairs [J].
func (r *run) stored() float64 {
	m, y := r.m, r.y[:]
	g := &m.geometry
	a := &m.arcs[r.arc]
	inertia, travel := a.inertia, 0.
	if a.pull {
		travel = g.Travel(y[angle])
	}
	sum := inertia*y[speed]*y[speed]/2 + m.motor.Inductance*y[current]*y[current]/2 + g.SpringEnergy(travel)
	if !r.held {
		sum += (m.circuit.C1*y[voltage1]*y[voltage1] + m.circuit.C2*y[voltage2]*y[voltage2]) / 2
	}
	return sum
}

// place finds the arc of the state's angle.
func (r *run) place() {
	for r.arc = 0; r.arc < len(r.m.arcs)-1 && r.y[angle] >= r.m.arcs[r.arc].to-sameAngle; r.arc++ {
	}
	r.y[angle] = math.Max(r.y[angle], r.m.arcs[r.arc].from)
}
