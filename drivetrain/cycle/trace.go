package cycle

import (
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// Trace is the course of a simulation in time. It keeps the integrator's own
// steps, so that reading it at more or fewer points changes nothing.
type Trace struct {
	Events []Event

	m      *machine
	path   ode.Trajectory
	first  [states]float64 // the state at the start
	arc    int             // there
	start  float64         // in the integrator's time [s]
	end    float64         // in the integrator's time [s]
	held   bool
	source float64 // of a held pack [V]
}

// Point is the state of a cycle at one time. What doesn't exist then is NaN.
type Point struct {
	// Time is counted from the start of the trace [s].
	Time float64
	// Angle is the sector's; it falls back by a lobe at the pickup [rad].
	Angle float64
	// Current is the battery's [A].
	Current float64
	// PackVoltage is that at the battery's terminals [V].
	PackVoltage float64
	// Speed is the motor's [rad/s].
	Speed float64
	// Travel is the piston's from home while the rack is engaged [m].
	Travel float64
	// SpringForce is the spring's while the rack is engaged [N].
	SpringForce float64
}

// Duration returns the length of the trace [s].
func (t *Trace) Duration() float64 { return t.end - t.start }

// At returns the state at a time from 0 to Duration [s]; at an event, the one
// just after it. Outside, it returns that at the nearest end.
func (t *Trace) At(time float64) Point {
	at := min(max(t.start+time, t.start), t.end)
	return t.point(t.path.Find(at), at)
}

// Before returns the state just before an event at a time [s], elsewhere the
// same as At.
func (t *Trace) Before(time float64) Point {
	at := min(max(t.start+time, t.start), t.end)
	i := t.path.Find(at)
	if i > 0 {
		if t0, _, _ := t.path.Segment(i); t0 == at {
			i--
		}
	}
	return t.point(i, at)
}

func (t *Trace) point(segment int, at float64) Point {
	y, arc := t.first, t.arc // all there is of a shaft that never moved
	if segment >= 0 {
		t.path.AtSegment(y[:], segment, at)
		_, _, arc = t.path.Segment(segment)
	}
	m := t.m
	p := Point{Time: at - t.start, Angle: y[angle], Current: y[current], Speed: y[speed], Travel: math.NaN(), SpringForce: math.NaN()}
	ocv := t.source
	if !t.held {
		ocv = m.ocv(y[charge])
	}
	p.PackVoltage = m.circuit.Terminal(ocv, y[voltage1], y[voltage2], y[current])
	if m.arcs[arc].pull {
		p.Travel = max(0, m.geometry.Travel(y[angle]))
		p.SpringForce = m.geometry.SpringForce(p.Travel)
	}
	return p
}

// clear forgets all and starts anew from a state at a time of the integrator [s].
func (t *Trace) clear(start float64, y [states]float64, arc int) {
	*t = Trace{m: t.m, held: t.held, source: t.source, start: start, end: start, first: y, arc: arc}
}

// Sample returns n or more points in the order of time: evenly spaced ones with
// both ends, and each event twice, just before and just after it.
func (t *Trace) Sample(n int) []Point {
	all := make([]Point, 0, n+2*len(t.Events))
	next := 0
	span := t.Duration()
	for i := range n {
		time := span * float64(i) / float64(max(1, n-1))
		for ; next < len(t.Events) && t.Events[next].Time <= time; next++ {
			e := t.Events[next]
			if e.Time > 0 {
				all = append(all, t.Before(e.Time))
			}
			if e.Time < span {
				all = append(all, t.At(e.Time))
			}
		}
		if len(all) == 0 || time > all[len(all)-1].Time {
			all = append(all, t.At(time))
		}
	}
	return all
}
