package flight

import (
	"math"
)

// shot is a gun on its way through the modes of a flight: what holds whatever
// integrates it between the events.
type shot struct {
	gun   *gun
	mode  mode
	t     float64         // [s]
	y     [states]float64 // the state at t
	start [states]float64 // at release

	summary Summary
	impact  float64 // lost at the stop so far [J]
	gaveUp  bool    // the limit of work was reached
	trace   *Trace  // nil: not kept
	heard   *rails  // what is told what happens, too; nil: none

	echo  echo // of the spring
	jumps jumps
}

// longest is how much simulated time a flight may take [s], and mostSteps how
// many steps. A shot takes some 10 ms and, at the tightest tolerance, 20,000.
const (
	longest   = 10
	mostSteps = 200_000
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

// load puts a gun at the release, with both volumes at ambient.
func (r *shot) load(g *gun, s *Settings) {
	*r = shot{gun: g, summary: NoSummary(), echo: r.echo} // whose memory is used again
	r.y[travel], r.y[speed] = g.stroke, s.ReleaseSpeed
	if g.hasPort && g.stroke == g.port && s.ReleaseSpeed > 0 {
		r.y[travel] = math.Nextafter(g.port, math.Inf(1)) // so that its coming back is an event
	}
	g.fill(r.y[:], g.pressure, g.temperature, g.pressure, g.temperature)
	r.mode.inHop = g.hopEnd > 0
	r.mode.portOpen = g.hasPort && r.y[travel] > g.port
	if s.Trace {
		r.trace = &Trace{gun: g}
	}
}

// begin makes the present state the one that the books start from.
func (r *shot) begin() {
	r.start = r.y
	r.echo.start(r.gun, r.y[speed])
	r.summary.MostRearward = r.y[travel]
}

// scales returns what each state comes to, which absolute tolerances are a share of.
func (r *shot) scales() (s [states]float64) {
	g, y := r.gun, &r.y
	work := g.springEnergy(g.stroke) - g.springEnergy(0) + g.moving*y[speed]*y[speed]/2
	return [states]float64{
		// A piston may come home at a crawl, and its impact is a figure.
		travel: g.stroke, speed: 0.03 * math.Sqrt(2*work/g.moving),
		mass1: y[mass1], energy1: y[energy1], mass2: y[mass2], energy2: y[energy2],
		along: g.length, fast: math.Sqrt(2 * work / g.pellet),
		clock:   1,
		sumDrag: work, sumEnthalpy: work, sumWalls: work, sumSurge: work, sumColumn: work,
	}
}

// due is the time at which a step has to end, since the push of a spring with waves has
// a kink there (equation D12), or the heat to the cylinder's walls (equation E8), or
// nothing is followed further.
func (r *shot) due() float64 {
	due := float64(longest)
	if r.gun.warm1 > 0 && r.t < thinLayer {
		due = thinLayer
	}
	if r.gun.impedance > 0 {
		due = min(due, r.echo.end())
	}
	return due
}

// spare1 is what lifts a seated piston [Pa]: pressure in the cylinder above what
// spring and air around hold (equation E7).
func (r *shot) spare1(y []float64) float64 {
	return r.gun.pressure1(y) - r.liftAt(y[clock])
}

// spare2 is what frees a held pellet [Pa]: pressure behind it above what hop,
// barrel and air around hold (equation E5).
func (r *shot) spare2(y []float64) float64 {
	return r.gun.pressure2(y) - r.freeAt()
}

// liftAt is the pressure in the cylinder that lifts a seated piston at a time, and
// freeAt the one in the barrel that frees a held pellet [Pa].
func (r *shot) liftAt(t float64) float64 {
	g := r.gun
	force := g.rate * g.preload
	if g.impedance > 0 {
		force = r.echo.find(t).at(t)
	}
	return g.pressure*(1+moveSlack) + force/g.piston
}

func (r *shot) freeAt() float64 { return r.gun.freeing(&r.mode) }

// freeing is freeAt in a mode.
func (g *gun) freeing(m *mode) float64 { return g.pressure*(1+moveSlack) + m.brake/g.bore }

// inHand is how far, with a seated piston and a pellet at rest or out, the
// pressures are from being able to move either again [Pa]. Air flows from the
// higher to the lower, so the larger of the two only falls.
func (r *shot) inHand(y []float64) float64 {
	return r.settleAt() - max(r.gun.pressure1(y), r.gun.pressure2(y))
}

// settleAt is the pressure from which down neither can be moved [Pa]. Waves that run on
// in a spring at rest don't count (equation D12).
func (r *shot) settleAt() float64 {
	g := r.gun
	limit := g.rate * g.preload / g.piston
	if r.mode.pellet == held {
		limit = min(limit, r.mode.brake/g.bore)
	}
	return limit + g.pressure*(1+restSlack)
}

// settled tells whether nothing can move any more.
func (r *shot) settled() bool {
	return r.mode.seated && r.mode.pellet != sliding && r.inHand(r.y[:]) >= 0
}

// mark is the place that a sliding pellet comes to next [m].
func (r *shot) mark() float64 {
	if r.mode.inHop {
		return min(r.gun.hopEnd, r.gun.length)
	}
	return r.gun.length
}

// atMuzzle closes the figures of a flight that is followed no further.
func (r *shot) atMuzzle() {
	r.note(End)
	r.summary.Duration, r.summary.TimeToHome = r.t, math.NaN()
}

// finish fills in the figures that the end decides.
func (r *shot) finish() {
	r.note(End)
	r.summary.Duration = r.t
	if r.y[travel] >= r.gun.clear {
		r.summary.TimeToHome = math.NaN()
	}
}

// status names the present state as an end.
func (r *shot) status() Status {
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

// release lets go of what can't be held in the state as it is.
func (r *shot) release() {
	r.mode.follow(r.gun)
	if r.mode.seated && r.spare1(r.y[:]) >= 0 {
		r.lift()
	}
	if r.mode.pellet == held && r.spare2(r.y[:]) >= 0 {
		r.free()
	}
}

// free lets a held pellet go.
func (r *shot) free() {
	r.mode.pellet = sliding
	r.y[fast] = freed
	r.note(PelletStarts)
}

// lift lets a seated piston go.
func (r *shot) lift() {
	r.mode.seated = false
	r.echo.jump(r.t)
	r.y[travel] = liftOff * r.gun.stroke
	r.note(PistonLifts)
}

// pass takes the pellet past its mark.
func (r *shot) pass() {
	m, y, sum := &r.mode, &r.y, &r.summary
	y[along] = r.mark()
	if m.inHop && r.gun.hopEnd < r.gun.length {
		m.inHop = false
		r.note(HopEnds)
		return
	}
	m.pellet = out
	m.calm()
	m.stirred = false
	sum.TimeToMuzzle = r.t
	sum.MuzzleVelocity = y[fast]
	sum.MuzzleEnergy = r.gun.pellet * y[fast] * y[fast] / 2
	y[fast] = 0
	r.note(MuzzleExit)
}

// stop brings a sliding pellet to rest.
func (r *shot) stop() {
	r.mode.pellet = held
	r.mode.calm()
	r.y[fast] = 0
	r.note(PelletStops)
}

// turnPort opens or shuts the port as the piston passes its edge.
func (r *shot) turnPort(open bool) {
	r.mode.portOpen = open
	if r.mode.portOpen {
		r.note(PortOpens)
	} else {
		r.note(PortShuts)
	}
}

// arrive seats the piston.
func (r *shot) arrive() {
	y, sum := &r.y, &r.summary
	if math.IsNaN(sum.PistonImpact) {
		sum.PistonImpact = max(0, -y[speed]) // one that creeps up may arrive on a rounding
	}
	r.impact += r.gun.moving * y[speed] * y[speed] / 2
	y[travel], y[speed] = 0, 0
	r.echo.jump(r.t)
	r.mode.seated = true
	r.note(PistonArrives)
}

// clears takes notice of the piston passing the next tooth at a time.
func (r *shot) clears(t float64) {
	r.summary.TimeToHome = t
	r.noteAt(Clear, t)
}

// turns takes notice of the piston turning homewards at a time and travel.
func (r *shot) turns(t, at float64) {
	r.summary.MostRearward = math.Max(r.summary.MostRearward, at)
	r.noteAt(Turn, t)
}

func (r *shot) note(what EventKind) { r.noteAt(what, r.t) }

func (r *shot) noteAt(what EventKind, time float64) {
	if r.heard != nil {
		r.heard.heard = append(r.heard.heard, happening{time, int(what)})
	}
	if r.trace != nil {
		r.trace.Events = append(r.trace.Events, Event{what, time})
	}
}
