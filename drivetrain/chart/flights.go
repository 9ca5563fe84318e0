package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"example.org/ampstroke/drivetrain/flight"
)

// NamedFlight is a flight with the name it goes by.
type NamedFlight struct {
	Name string
	*flight.Result
}

// Flights draws several flights over each other: pressure in the cylinder, and the
// piston's travel and speed. A dot marks where the rack is clear of the sector's
// next tooth. The error is [ErrNothing] of no flight, and where one kept no course
// (Settings.Trace).
func Flights(title string, flights ...NamedFlight) (*Picture, error) {
	if len(flights) == 0 {
		return nil, nothing("there is no flight")
	}
	for _, f := range flights {
		if err := flyable(f.Result); err != nil {
			return nil, err
		}
	}
	return flightsStack(title, flights).picture(19*vg.Centimeter, 18*vg.Centimeter+legendLine*vg.Length(len(flights))), nil
}

// flightsStack is what Flights draws.
func flightsStack(title string, flights []NamedFlight) *stack {
	s := &stack{
		title:    short(title, 50),
		subtitle: "from the release; a dot where the piston is home, the rack clear of the next tooth",
		axis:     "time from the release, ms",
		panels: []panel{
			{label: "cylinder pressure, kPa", least: math.NaN(), span: 1},
			{label: "piston travel, mm", least: 0, span: 1},
			{label: "piston speed homewards, m/s", least: math.NaN(), span: 1},
		},
		column: true,
		hi:     1,
	}
	for _, f := range flights {
		s.hi = max(s.hi, shownFlight(f.Result))
	}
	for i, f := range flights {
		rest, home := "", f.Summary.TimeToHome
		if math.IsNaN(home) {
			rest = ": does not come home"
		} else {
			rest = fmt.Sprintf(": home after %.2f ms", 1e3*home)
		}
		style := series(i, entry("", f.Name, rest))
		s.legend = append(s.legend, style)
		lines := make([]plotter.XYs, len(s.panels))
		end := min(s.hi, 1e3*f.Trace.Duration())
		for j := range samples {
			p := f.Trace.At(end / 1e3 * float64(j) / (samples - 1))
			for k, y := range flown(p) {
				lines[k] = append(lines[k], plotter.XY{X: 1e3 * p.Time, Y: y})
			}
		}
		for k, xy := range lines {
			s.panels[k].lines = append(s.panels[k].lines, course{xy, style})
		}
		if !math.IsNaN(home) {
			s.panels[1].points = append(s.panels[1].points, mark{x: 1e3 * home, y: 1e3 * f.Build.Piston.Clear})
		}
	}
	return s
}

// flown is what the panels of flights show of a point.
func flown(p flight.Point) [3]float64 {
	return [3]float64{p.Pressure / 1e3, 1e3 * max(0, p.Travel), -p.Speed}
}

// shownFlight is how much of a flight there is to see [ms]: a piston that never
// comes home creeps for seconds.
func shownFlight(r *flight.Result) float64 {
	most := 1e3 * r.Trace.Duration()
	if home := r.Summary.TimeToHome; !math.IsNaN(home) {
		return 1.03 * min(most, 1.4e3*home)
	}
	return 1.03 * min(most, 60)
}
