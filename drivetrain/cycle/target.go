package cycle

import (
	"fmt"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain/quantity"
)

// Want is what a target asks of one figure.
type Want struct {
	// Figure is the name, one of Figures.
	Figure string
	// Min is the least value that is good, in the figure's SI unit; NaN: none [SI].
	Min float64
	// Max is the largest value that is good, in the figure's SI unit; NaN: none [SI].
	Max float64
}

// Target is what a build is to reach, in the order it was written down.
type Target []Want

// Figure is a result that a target can ask for.
type Figure struct {
	Name string
	Kind quantity.Kind
	// Steady tells that it is one of the steady cycle, which single fire hasn't.
	Steady bool
	of     func(*Summary) float64
}

// Figures lists what a target can ask for.
func Figures() []Figure {
	return []Figure{
		{"rate_of_fire", quantity.Rate, true, func(s *Summary) float64 { return s.RateOfFire }},
		{"muzzle_velocity", quantity.Velocity, false, func(s *Summary) float64 { return s.MuzzleVelocity }},
		{"muzzle_energy", quantity.Energy, false, func(s *Summary) float64 { return s.MuzzleEnergy }},
		{"trigger_delay", quantity.Time, false, func(s *Summary) float64 { return s.TriggerDelay }},
		{"pme_margin", quantity.Time, true, func(s *Summary) float64 { return s.PMEMargin }},
		{"pme_rate_of_fire", quantity.Rate, true, func(s *Summary) float64 { return s.PMERateOfFire }},
		{"time_to_home", quantity.Time, false, func(s *Summary) float64 { return s.TimeToHome }},
		{"overall_efficiency", quantity.Share, false, func(s *Summary) float64 { return s.OverallEfficiency }},
		{"current_rms", quantity.Current, true, func(s *Summary) float64 { return s.CurrentRMS }},
		{"inrush", quantity.Current, false, func(s *Summary) float64 { return s.Inrush }},
		{"shots_per_charge", quantity.Number, false, func(s *Summary) float64 { return s.ShotsPerCharge }},
	}
}

// FindFigure returns the figure of a name, false if there is none.
func FindFigure(name string) (Figure, bool) {
	all := Figures()
	i := slices.IndexFunc(all, func(f Figure) bool { return f.Name == name })
	if i < 0 {
		return Figure{}, false
	}
	return all[i], true
}

// Validate reports every want that can't be met by any build.
func (t Target) Validate() error {
	var c quantity.Check
	for _, w := range t {
		f, ok := FindFigure(w.Figure)
		switch {
		case !ok:
			c.Add(w.Figure, "is no figure a target can ask for")
		case math.IsNaN(w.Min) && math.IsNaN(w.Max):
			c.Add(w.Figure, "neither min nor max is given; wanted one or both, such as {min: %s}", f.Kind.Example())
		case w.Min > w.Max:
			c.Add(w.Figure, "min %s is above max %s", f.Kind.Format(w.Min), f.Kind.Format(w.Max))
		case math.IsInf(w.Min, 0) || math.IsInf(w.Max, 0):
			c.Add(w.Figure, "an infinite bound; wanted a number")
		}
	}
	return c.Err()
}

// Outcome says whether a want is met.
type Outcome int

// A want is met or missed, or the build has no such figure.
const (
	NoFigure Outcome = iota
	Met
	Missed
)

// Verdict is one want with what the build does.
type Verdict struct {
	Want
	// Value is the build's figure in SI, NaN where it has none [SI].
	Value   float64
	Outcome Outcome
}

// Shortfall returns by how much the value misses the want, 0 where it doesn't [SI].
func (v *Verdict) Shortfall() float64 {
	switch {
	case v.Value < v.Min:
		return v.Min - v.Value
	case v.Value > v.Max:
		return v.Value - v.Max
	}
	return 0
}

// Better tells whether the target likes a figure better than that of another
// build: it misses by less, or both meet a one-sided bound and it lies further
// from it. A figure that doesn't exist is never better than one that does.
func (v *Verdict) Better(than Verdict) bool {
	switch {
	case v.Outcome == NoFigure || than.Outcome == NoFigure:
		return v.Outcome != NoFigure && than.Outcome == NoFigure
	case v.Shortfall() != than.Shortfall():
		return v.Shortfall() < than.Shortfall()
	case math.IsNaN(v.Max):
		return v.Value > than.Value
	case math.IsNaN(v.Min):
		return v.Value < than.Value
	}
	return false
}

// Judge holds a summary against the target.
func (t Target) Judge(s *Summary) []Verdict {
	all := []Verdict{}
	for _, w := range t {
		f, ok := FindFigure(w.Figure)
		if !ok {
			panic(fmt.Sprintf("cycle: no figure %q: the target was not validated", w.Figure))
		}
		v := Verdict{Want: w, Value: f.of(s)}
		switch {
		case math.IsNaN(v.Value):
			v.Outcome = NoFigure
		case v.Shortfall() > 0:
			v.Outcome = Missed
		default:
			v.Outcome = Met
		}
		all = append(all, v)
	}
	return all
}
