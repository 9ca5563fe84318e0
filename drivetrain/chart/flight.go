package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/quantity"
)

// Flight draws what happens after the release: the pressures in cylinder and
// barrel, the spring's force, the piston's travel and speed, and the pellet's speed in the barrel, with
// the events marked. The error is [ErrNothing] of a flight that kept no course
// (Settings.Trace).
func Flight(r *flight.Result) (*Picture, error) {
	if err := flyable(r); err != nil {
		return nil, err
	}
	return flightStack(r).picture(19*vg.Centimeter, 26*vg.Centimeter), nil
}

// FlightIn is Flight of a shot of a cycle, with the pickup that follows it; of a motor
// that stalls there is none.
func FlightIn(r *cycle.Result) (*Picture, error) {
	if err := drawable(r); err != nil {
		return nil, err
	}
	if err := flyable(r.Flight); err != nil {
		return nil, err
	}
	return flightInStack(r).picture(19*vg.Centimeter, 26*vg.Centimeter), nil
}

// flightInStack is what FlightIn draws.
func flightInStack(r *cycle.Result) *stack {
	s := flightStack(r.Flight)
	at, travel := r.Summary.FreeTime, r.Summary.EngagementTravel
	if r.Status == cycle.Once {
		at, travel = math.NaN(), math.NaN()
		if len(r.Pull.Releases) > 0 {
			shot := &r.Pull.Releases[0]
			for _, e := range r.First.Events {
				if e.Kind == cycle.Pickup && e.Time > shot.Release {
					at, travel = e.Time-shot.Release, shot.Engagement.Travel
					break
				}
			}
		}
	}
	if !math.IsNaN(at) && 1e3*at <= s.hi {
		s.moments = append(s.moments, moment{x: 1e3 * at, name: namePickup, style: solid("")})
	}
	if !math.IsNaN(travel) {
		s.second = fmt.Sprintf("%s: the sector meets the rack after %.2f ms, %.1f mm from home", namePME, 1e3*at, 1e3*travel)
		s.panels[2].points = append(s.panels[2].points, mark{x: 1e3 * at, y: 1e3 * travel, name: namePME, cross: true})
	}
	return s
}

// flightStack is what Flight draws.
func flightStack(r *flight.Result) *stack {
	s := &stack{
		title:    short(r.Build.Name, 50),
		subtitle: flightSubtitle(r),
		axis:     "time from the release, ms",
		panels: []panel{
			{label: "pressure, kPa", least: math.NaN(), span: 1},
			{label: "spring force, N", least: math.NaN(), span: 1},
			{label: "piston travel, mm", least: 0, span: 1},
			{label: "piston speed homewards, m/s", least: math.NaN(), span: 1},
			{label: "pellet speed, m/s", least: 0, span: 1},
		},
	}
	s.hi = shownFlight(r)
	cylinder, barrel := solid("cylinder and piston"), dashed("barrel and pellet")
	s.legend = []stroke{cylinder, barrel}
	lines := make([]plotter.XYs, 6)
	for i := range samples {
		p := r.Trace.At(min(s.hi/1e3, r.Trace.Duration()) * float64(i) / (samples - 1))
		own := flown(p)
		for k, y := range []float64{own[0], p.BarrelPressure / 1e3, p.SpringForce, own[1], own[2], p.PelletSpeed} {
			lines[k] = append(lines[k], plotter.XY{X: 1e3 * p.Time, Y: y})
		}
	}
	for k, at := range []struct {
		panel int
		style stroke
	}{{0, cylinder}, {0, barrel}, {1, cylinder}, {2, cylinder}, {3, cylinder}, {4, barrel}} {
		s.panels[at.panel].lines = append(s.panels[at.panel].lines, course{lines[k], at.style})
	}
	seen := map[flight.EventKind]bool{}
	for _, e := range r.Trace.Events {
		style, row := cylinder, 1
		switch e.Kind {
		case flight.PelletStarts, flight.MuzzleExit, flight.PelletStops:
			style, row = barrel, 0
		case flight.PortShuts, flight.PistonArrives:
		default:
			continue
		}
		if !seen[e.Kind] && 1e3*e.Time <= s.hi {
			s.moments = append(s.moments, moment{x: 1e3 * e.Time, name: flightEventName(e.Kind), row: row, style: style})
		}
		seen[e.Kind] = true
	}
	f := &r.Summary
	mark := func(panel int, time, y float64, below bool, name string) {
		if x := 1e3 * time; x <= s.hi {
			s.panels[panel].points = append(s.panels[panel].points, mark{x: x, y: y, name: name, left: x > 0.6*s.hi, below: below})
		}
	}
	mark(2, f.TimeToHome, 1e3*r.Build.Piston.Clear, false, fmt.Sprintf("%s, %.2f ms", nameHome, 1e3*f.TimeToHome))
	mark(4, f.TimeToMuzzle, f.MuzzleVelocity, false, fmt.Sprintf("%.1f m/s, %.3g J", f.MuzzleVelocity, f.MuzzleEnergy))
	return s
}

func flightSubtitle(r *flight.Result) string {
	f := &r.Summary
	text := fmt.Sprintf("%.2f g pellet", 1e3*r.Build.Pellet.Mass)
	if !math.IsNaN(f.MuzzleVelocity) {
		text += fmt.Sprintf("  ·  %.1f m/s (%.0f ft/s), %.3g J", f.MuzzleVelocity, f.MuzzleVelocity/quantity.Foot, f.MuzzleEnergy)
	} else {
		text += "  ·  the pellet stays in the barrel"
	}
	if !math.IsNaN(f.PistonImpact) {
		text += fmt.Sprintf("  ·  impact of the piston at %.1f m/s", f.PistonImpact)
	}
	if r.Status != flight.Done && r.Status != flight.PelletStuck {
		text += "  ·  " + r.Status.String()
	}
	return text
}
