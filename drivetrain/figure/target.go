package figure

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Bound is the edge of what is good; the zero Bound is none.
type Bound struct {
	// At is where it lies, in the figure's SI unit [SI].
	At    float64
	Given bool
}

// At is a bound at a value [SI].
func At(v float64) Bound { return Bound{v, true} }

// Or is where the bound lies, or what stands for none [SI].
func (b Bound) Or(none float64) float64 {
	if b.Given {
		return b.At
	}
	return none
}

// Want is what a target asks of one figure. The zero Want asks nothing.
type Want struct {
	// Figure is its name.
	Figure string
	// Min is the least value that is good, Max the largest.
	Min, Max Bound
}

// Asks tells whether the want asks for anything.
func (w *Want) Asks() bool { return w.Min.Given || w.Max.Given }

// Shortfall returns by how much a value misses the want, 0 where it doesn't, NaN where
// there is no value [SI].
func (w *Want) Shortfall(v float64) float64 {
	switch {
	case math.IsNaN(v):
		return math.NaN()
	case w.Min.Given && v < w.Min.At:
		return w.Min.At - v
	case w.Max.Given && v > w.Max.At:
		return v - w.Max.At
	}
	return 0
}

// Target is what a build is to reach, in the order it was written down.
type Target []Want

// Validate reports every want that no build can meet, or whose figure find doesn't know.
func (t Target) Validate(find func(name string) (Info, bool)) error {
	var c quantity.Check
	for _, w := range t {
		f, ok := find(w.Figure)
		lo, hi := w.Min.Or(math.Inf(-1)), w.Max.Or(math.Inf(1))
		switch {
		case !ok:
			c.Add(w.Figure, "is no figure a target can ask for")
		case !w.Asks():
			c.Add(w.Figure, "neither min nor max is given; wanted one or both, such as {min: %s}", f.Kind.Example())
		case math.IsNaN(lo) || math.IsNaN(hi):
			c.Add(w.Figure, "a bound that is not a number; wanted a number")
		case lo > hi:
			c.Add(w.Figure, "min %s is above max %s", f.Kind.Format(lo), f.Kind.Format(hi))
		case w.Min.Given && math.IsInf(lo, 0) || w.Max.Given && math.IsInf(hi, 0):
			c.Add(w.Figure, "an infinite bound; wanted a number")
		}
	}
	return c.Err()
}

// Fate says whether a want is met.
type Fate int

// A want is met or missed, or the build has no such figure.
const (
	NoFigure Fate = iota
	Met
	Missed
)

// Verdict is one want with what the build does.
type Verdict struct {
	Want
	// Value is the build's figure in SI, NaN where it has none [SI].
	Value float64
	Fate  Fate
}

// Judge holds a value [SI] against a want.
func (w Want) Judge(v float64) Verdict {
	j := Verdict{Want: w, Value: v, Fate: Met}
	switch miss := w.Shortfall(v); {
	case math.IsNaN(miss):
		j.Fate = NoFigure
	case miss > 0:
		j.Fate = Missed
	}
	return j
}

// Shortfall returns by how much the value misses the want, 0 where it doesn't or doesn't
// exist [SI].
func (v *Verdict) Shortfall() float64 {
	if v.Fate != Missed {
		return 0
	}
	return v.Want.Shortfall(v.Value)
}

// Better tells whether the target likes a figure better than that of another
// build: it misses by less, or both meet a one-sided bound and it lies further
// from it. A figure that doesn't exist is never better than one that does.
func (v *Verdict) Better(than Verdict) bool {
	switch {
	case v.Fate == NoFigure || than.Fate == NoFigure:
		return v.Fate != NoFigure && than.Fate == NoFigure
	case v.Shortfall() != than.Shortfall():
		return v.Shortfall() < than.Shortfall()
	case !v.Max.Given:
		return v.Value > than.Value
	case !v.Min.Given:
		return v.Value < than.Value
	}
	return false
}

// Judge holds the values that a function gives by name [SI] against the target.
func (t Target) Judge(value func(name string) float64) []Verdict {
	all := make([]Verdict, len(t))
	for i, w := range t {
		all[i] = w.Judge(value(w.Figure))
	}
	return all
}
