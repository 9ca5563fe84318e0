package flight

import (
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// Trace is the course of a flight in time. It keeps the integrator's own steps,
// so that reading it at more or fewer points changes nothing.
type Trace struct {
	Events []Event

	gun    *gun
	path   ode.Trajectory
	pushes []piece // of a spring with waves, a step's each
}

// Point is the state of a flight at one time. What doesn't exist then is NaN.
type Point struct {
	// Time is counted from the release [s].
	Time float64
	// Travel is the piston's from home [m].
	Travel float64
	// Speed is the piston's, negative homewards [m/s].
	Speed float64
	// SpringForce is the spring's [N].
	SpringForce float64
	// Pressure is the absolute one in the cylinder [Pa].
	Pressure float64
	// BarrelPressure is the absolute one in the barrel behind the pellet [Pa].
	BarrelPressure float64
	// Temperature is that of the air in the cylinder [K].
	Temperature float64
	// BarrelTemperature is that of the air in the barrel behind the pellet [K].
	BarrelTemperature float64
	// Mass is that of the air in the cylinder [kg].
	Mass float64
	// BarrelMass is that of the air in the barrel behind the pellet [kg].
	BarrelMass float64
	// NozzleFlow is from cylinder to barrel [kg/s].
	NozzleFlow float64
	// LeakFlow is from the cylinder through port and past the seal [kg/s].
	LeakFlow float64
	// FrontFlow is from the barrel past the pellet or out of the muzzle [kg/s].
	FrontFlow float64
	// PelletTravel is the pellet's from where it is held, while it is in the barrel [m].
	PelletTravel float64
	// PelletSpeed is the pellet's, while it is in the barrel [m/s].
	PelletSpeed float64
}

// push keeps the spring's push of a step.
func (t *Trace) push(t0, t1 float64, a, b *end, r4 float64) {
	if t != nil {
		t.pushes = append(t.pushes, newPiece(t0, t1, a.push, b.push, a.slope, b.slope, r4))
	}
}

// Duration returns the length of the trace [s].
func (t *Trace) Duration() float64 {
	_, end, _ := t.path.Segment(t.path.Len() - 1)
	return end
}

// At returns the state at a time from 0 to Duration [s]; at an event, the one
// just after it. Outside, it returns that at the nearest end.
func (t *Trace) At(time float64) Point {
	at := min(max(time, 0), t.Duration())
	return t.point(t.path.Find(at), at)
}

// Before returns the state just before an event at a time [s], elsewhere the
// same as At.
func (t *Trace) Before(time float64) Point {
	at := min(max(time, 0), t.Duration())
	i := t.path.Find(at)
	if i > 0 {
		if t0, _, _ := t.path.Segment(i); t0 == at {
			i--
		}
	}
	return t.point(i, at)
}

func (t *Trace) point(segment int, at float64) Point {
	var y [states]float64
	t.path.AtSegment(y[:], segment, at)
	_, _, code := t.path.Segment(segment)
	m, g := unpack(code), t.gun
	m.follow(g)
	_, one := g.cylinder(y[:])
	_, two := g.barrel(y[:])
	air := g.around()
	p := Point{
		Time: at, Travel: y[travel], Speed: y[speed], SpringForce: g.rate * (g.preload + y[travel]),
		Pressure: one.p, BarrelPressure: two.p,
		Temperature: one.h / cp, BarrelTemperature: two.h / cp,
		Mass: y[mass1], BarrelMass: y[mass2],
		PelletTravel: y[along], PelletSpeed: y[fast],
	}
	if g.impedance > 0 {
		p.SpringForce = t.pushes[segment].at(at) + g.impedance*y[speed]
	}
	p.NozzleFlow, _ = flow(g.nozzle, &one, &two)
	p.LeakFlow, _ = flow(m.leak, &one, &air)
	p.FrontFlow, _ = flow(m.front, &two, &air)
	if m.pellet == out {
		p.PelletTravel, p.PelletSpeed = math.NaN(), math.NaN()
	}
	return p
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
