package chart

import (
	"fmt"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/ampstroke/drivetrain/search"
	"example.org/ampstroke/drivetrain/study"
)

// dots are points that have no names.
type dots struct {
	xy     plotter.XYs
	color  color.Color
	radius vg.Length
}

// Plot implements [plot.Plotter].
func (d dots) Plot(c draw.Canvas, p *plot.Plot) {
	style := draw.GlyphStyle{Color: d.color, Radius: d.radius, Shape: draw.CircleGlyph{}}
	for _, v := range d.xy {
		c.DrawGlyph(style, vg.Point{X: c.X(p.X.Norm(v.X)), Y: c.Y(p.Y.Norm(v.Y))})
	}
}

// legend is how dots are told in a legend.
func (d dots) legend(name string) stroke {
	return stroke{name: name, line: draw.LineStyle{Color: d.color, Width: 2 * d.radius, Dashes: []vg.Length{2 * d.radius, vg.Points(4)}}}
}

// Front draws what a search has found over the first two figures of its front: sound
// builds as dots, missed ones pale, the front joined where nothing is to be had of one of
// the two without giving up of the other, the cheapest and the base by name. What lies far
// from all that is sound is left out.
func Front(r *search.Report) (*Picture, error) {
	if r == nil || len(r.Asked.Front) < 2 {
		return nil, nothing("no shelf was searched")
	}
	s := front(r)
	return s.picture(19*vg.Centimeter, 14*vg.Centimeter), nil
}

// ofAxis is a figure, or the price, as an axis shows it.
func ofAxis(r *search.Report, name string) (label string, scale float64) {
	if name == search.Price {
		label = "price"
		if r.Shelf.Currency != "" {
			label += ", " + r.Shelf.Currency
		}
		return label, 1
	}
	f, _ := study.FindFigure(name)
	label = f.Label
	if f.Unit != "" {
		label += ", " + f.Unit
	}
	return label, f.Scale()
}

// front is what Front draws.
func front(r *search.Report) *stack {
	names := r.Asked.Front
	xLabel, xScale := ofAxis(r, names[0])
	yLabel, yScale := ofAxis(r, names[1])
	at := func(f *search.Found) plotter.XY {
		return plotter.XY{X: xScale * r.Value(names[0], f), Y: yScale * r.Value(names[1], f)}
	}
	of := func(points []search.Point) (xy plotter.XYs) {
		for _, p := range points {
			xy = append(xy, plotter.XY{X: xScale * p.X, Y: yScale * p.Y})
		}
		return xy
	}
	pale, small, large := 1.2, 1.7, 2.6 // points
	const crowd = 400
	if len(r.SoundCloud)+len(r.MissedCloud) > crowd {
		pale, small, large = 0.9, 1.1, 1.8
	}
	missed := dots{of(r.MissedCloud), between, vg.Points(pale)}
	whole := dots{of(r.SoundCloud), middle, vg.Points(small)}
	edge := dots{nil, deep, vg.Points(large)}
	step := search.Front{By: []search.Score{r.Score(names[0]), r.Score(names[1])}}
	for i := range r.OnFront {
		edge.xy = append(edge.xy, at(&r.OnFront[i]))
		step.Add(&r.OnFront[i])
	}
	line := course{style: solid("")}
	for _, f := range step.List() {
		line.xy = append(line.xy, at(&f))
	}
	var marks []mark
	name := func(f *search.Found, text string) {
		if p := at(f); !math.IsNaN(p.X) && !math.IsNaN(p.Y) {
			marks = append(marks, mark{x: p.X, y: p.Y, name: text})
		}
	}
	if r.Cheapest != nil {
		name(r.Cheapest, "cheapest, "+r.Money(r.Cheapest.Price))
	}
	if r.Base != nil {
		name(r.Base, "as it stands")
	}
	// The frame is that of what is listed, with half as much again around it for those that
	// miss; without any, theirs.
	frame := slices.Concat(whole.xy, edge.xy)
	for _, m := range marks {
		frame = append(frame, plotter.XY{X: m.x, Y: m.y})
	}
	alone := len(whole.xy)+len(edge.xy) == 0
	if alone {
		frame = append(frame, missed.xy...)
	}
	box := around(frame)
	if !alone {
		box = box.wider(0.5)
	}
	within := slices.DeleteFunc(slices.Clone(missed.xy), func(v plotter.XY) bool { return !box.holds(v) })
	outside := len(missed.xy) - len(within)
	missed.xy = within
	box = around(slices.Concat(frame, within)).wider(0.04)

	listed := "meet the wish and stay whole"
	all := r.Sound
	if r.Broken {
		listed, all = "meet the wish", r.Met
	}
	s := &stack{
		title:    short(r.Shelf.Name, 50),
		subtitle: fmt.Sprintf("%d of %d combinations %s", all, r.Combinations, listed),
		axis:     xLabel, lo: box.x0, hi: box.x1,
		panels: []panel{{
			label: yLabel, least: math.NaN(), span: 1e-6, dots: []dots{missed, whole, edge}, lines: []course{line}, points: marks,
		}},
	}
	if n := len(r.OnFront); n > 0 {
		s.subtitle += fmt.Sprintf("  ·  %d on the front of %s", n, joined(names))
		s.legend = []stroke{edge.legend("the front")}
		if int(all) > n {
			s.legend = append(s.legend, whole.legend(shownOf("the others", len(whole.xy), int(all))))
		}
	}
	if n := len(missed.xy); n > 0 {
		text := shownOf("miss the wish", n, int(r.Fired-r.Met))
		if outside > 0 {
			text += ", the rest outside"
		}
		s.legend = append(s.legend, missed.legend(text))
	}
	return s
}

// shownOf says how many of so many are drawn, where not all are.
func shownOf(what string, drawn, all int) string {
	if drawn < 5000 || drawn >= all {
		return what
	}
	return fmt.Sprintf("%s, %d of %d", what, drawn, all)
}

// joined lists the names of figures.
func joined(names []string) (text string) {
	for i, n := range names {
		label := n
		if f, ok := study.FindFigure(n); ok {
			label = f.Label
		}
		switch {
		case i == len(names)-1:
			text += " and "
		case i > 0:
			text += ", "
		}
		text += label
	}
	return text
}

// frame is a rectangle of values.
type frame struct{ x0, x1, y0, y1 float64 }

func around(xy plotter.XYs) frame {
	b := frame{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
	for _, v := range xy {
		b.x0, b.x1, b.y0, b.y1 = min(b.x0, v.X), max(b.x1, v.X), min(b.y0, v.Y), max(b.y1, v.Y)
	}
	if len(xy) == 0 {
		return frame{0, 1, 0, 1}
	}
	return b
}

// wider has a share of room on each side, and is of some width in any case.
func (b frame) wider(share float64) frame {
	room := func(lo, hi float64) float64 { return max(share*(hi-lo), 0.01*math.Abs(hi), 1e-6) }
	x, y := room(b.x0, b.x1), room(b.y0, b.y1)
	return frame{b.x0 - x, b.x1 + x, b.y0 - y, b.y1 + y}
}

func (b frame) holds(v plotter.XY) bool {
	return v.X >= b.x0 && v.X <= b.x1 && v.Y >= b.y0 && v.Y <= b.y1
}
