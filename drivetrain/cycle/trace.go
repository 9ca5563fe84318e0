package cycle

import (
	"cmp"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/internal/ode"
)

// Trace is the course of a simulation in time. It keeps the run's own
// steps, so that reading it at more or fewer points changes nothing.
type Trace struct {
	Events []Event

	m       *machine
	flights []loose
	course  course
	first   [states]float64 // the state at the start
	arc     int             // there
	path    path            // there
	start   float64         // in the run's time [s]
	end     float64         // in the run's time [s]
	held    bool
	source  float64 // of a held pack [V]
}

// loose is a piston that was released.
type loose struct {
	at     float64 // in the run's time [s]
	flight *flight.Trace
}

// Point is the state of a cycle at one time. What doesn't exist then is NaN.
type Point struct {
	// Time is counted from the start of the trace [s].
	Time float64
	// Angle is the sector's; it falls back by a lobe at the pickup [rad].
	Angle float64
	// Current is the motor's, negative while it brakes [A].
	Current float64
	// Battery is the battery's current, 0 with the switch open [A].
	Battery float64
	// PackVoltage is that at the battery's terminals [V].
	PackVoltage float64
	// Speed is the motor's [rad/s].
	Speed float64
	// Travel is the piston's from home, in pull and flight [m].
	Travel float64
	// SpringForce is the spring's, in pull and flight [N].
	SpringForce float64
	// Pressure is the absolute one in the cylinder in flight [Pa].
	Pressure float64
	// BarrelPressure is the absolute one behind the pellet in flight [Pa].
	BarrelPressure float64
	// PelletTravel is the pellet's in the barrel, in flight [m].
	PelletTravel float64
	// PelletSpeed is the pellet's in the barrel, in flight [m/s].
	PelletSpeed float64
}

// Duration returns the length of the trace [s].
func (t *Trace) Duration() float64 { return t.end - t.start }

// At returns the state at a time from 0 to Duration [s]; at an event, the one
// just after it. Outside, it returns that at the nearest end.
func (t *Trace) At(time float64) Point {
	at := min(max(t.start+time, t.start), t.end)
	return t.point(t.course.find(at), at, (*flight.Trace).At)
}

// Before returns the state just before an event at a time [s], elsewhere the
// same as At.
func (t *Trace) Before(time float64) Point {
	at := min(max(t.start+time, t.start), t.end)
	i := t.course.find(at)
	if i > 0 && t.course.steps[i].from == at {
		i--
	}
	return t.point(i, at, (*flight.Trace).Before)
}

// point reads the state, and that of the flight by one of its readers.
func (t *Trace) point(segment int, at float64, read func(*flight.Trace, float64) flight.Point) Point {
	y, arc, path := t.first, t.arc, t.path // all there is of a shaft that never moved
	if segment >= 0 {
		t.course.at(&y, segment, at)
		md := &t.course.steps[segment].mode
		arc, path = md.arc, md.path
	}
	m := t.m
	none := math.NaN()
	p := Point{
		Time: at - t.start, Angle: y[angle], Current: y[current], Speed: y[speed], Travel: none, SpringForce: none,
		Pressure: none, BarrelPressure: none, PelletTravel: none, PelletSpeed: none,
	}
	ocv := t.source
	if !t.held {
		ocv = m.ocv(y[charge])
	}
	if path == closed {
		p.Battery = p.Current
	}
	p.PackVoltage = m.circuit.Terminal(ocv, y[voltage1], y[voltage2], p.Battery)
	if m.arcs[arc].pull {
		p.Travel = max(0, m.geometry.Travel(y[angle]))
		p.SpringForce = m.geometry.SpringForce(p.Travel)
	} else if l := t.loose(at); l != nil {
		when := at - l.at
		for _, e := range l.flight.Events { // the difference is rounded
			if math.Abs(e.Time-when) < 1e-13 {
				when = e.Time
			}
		}
		f := read(l.flight, when)
		p.Travel, p.SpringForce = f.Travel, f.SpringForce
		p.Pressure, p.BarrelPressure = f.Pressure, f.BarrelPressure
		p.PelletTravel, p.PelletSpeed = f.PelletTravel, f.PelletSpeed
	}
	return p
}

// loose returns the last release before a time of the run, nil if there
// was none.
func (t *Trace) loose(at float64) (last *loose) {
	for i := range t.flights {
		if t.flights[i].at <= at {
			last = &t.flights[i]
		}
	}
	return last
}

// fly puts a flight into the trace that was released at a time from its start [s];
// of what happens in it, the muzzle exit and the piston's coming home are events,
// if they come before the end.
func (t *Trace) fly(f *flight.Result, released float64) {
	t.flights = append(t.flights, loose{t.start + released, f.Trace})
	for _, e := range []Event{{Kind: MuzzleExit, Time: f.Summary.TimeToMuzzle}, {Kind: Home, Time: f.Summary.TimeToHome}} {
		e.Time += released
		if !(e.Time < t.Duration()) {
			continue
		}
		e.Angle = t.At(e.Time).Angle
		t.Events = append(t.Events, e)
	}
	slices.SortStableFunc(t.Events, func(a, b Event) int { return cmp.Compare(a.Time, b.Time) })
}

// clear forgets all and starts anew from a state at a time of the run [s].
func (t *Trace) clear(start float64, y [states]float64, arc int, path path) {
	*t = Trace{m: t.m, held: t.held, source: t.source, start: start, end: start, first: y, arc: arc, path: path}
}

// Sample returns n or more points in the order of time: evenly spaced ones with
// both ends, and each event twice, just before and just after it.
func (t *Trace) Sample(n int) []Point {
	times := make([]float64, len(t.Events))
	for i, e := range t.Events {
		times[i] = e.Time
	}
	return ode.Sample(n, t.Duration(), times, t.At, t.Before, func(p Point) float64 { return p.Time })
}
