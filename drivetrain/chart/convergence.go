package chart

import (
	"math"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
)

// Convergence draws the relative errors of figures over the tolerance that was
// asked for, both as powers of ten, with the line on which they are equal. An error
// of 0 is drawn at the rounding of numbers, 1e-16. Each name wants its errors, one for
// each tolerance; without them, or without a tolerance, the error is [ErrNothing].
func Convergence(title string, tolerances []float64, names []string, errors [][]float64) (*Picture, error) {
	if len(tolerances) == 0 {
		return nil, nothing("no tolerance was asked for")
	}
	for i, name := range names {
		if i >= len(errors) || len(errors[i]) != len(tolerances) {
			return nil, nothing("the figure %q has not an error for each of %d tolerances", name, len(tolerances))
		}
	}
	s := stack{
		title: short(title, 50), subtitle: "relative error of figures, against a run at the tightest tolerance",
		axis: "tolerance, power of ten", column: true, step: 1,
		panels: []panel{{label: "relative error, power of ten", least: math.NaN(), span: 1}},
		lo:     math.Log10(tolerances[0]), hi: math.Log10(tolerances[0]),
	}
	power := func(v float64) float64 { return math.Log10(max(v, 1e-16)) }
	var promise plotter.XYs
	for _, t := range tolerances {
		s.lo, s.hi = min(s.lo, power(t)), max(s.hi, power(t))
		promise = append(promise, plotter.XY{X: power(t), Y: power(t)})
	}
	for i, name := range names {
		style := series(i+1, name)
		s.legend = append(s.legend, style)
		var xy plotter.XYs
		for j, t := range tolerances {
			xy = append(xy, plotter.XY{X: power(t), Y: power(errors[i][j])})
		}
		s.panels[0].lines = append(s.panels[0].lines, course{xy, style})
	}
	style := series(0, "the promise: no more than the tolerance")
	s.legend = append([]stroke{style}, s.legend...)
	s.panels[0].lines = append(s.panels[0].lines, course{promise, style})
	return s.picture(19*vg.Centimeter, 14*vg.Centimeter+legendLine*vg.Length(len(names))), nil
}
