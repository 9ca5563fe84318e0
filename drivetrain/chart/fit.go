package chart

import (
	"fmt"
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/fit"
	"example.org/ampstroke/drivetrain/quantity"
)

// Fit draws what readings tell of a build: on the left how far the build is from each
// reading, before and after, in standard deviations of the reading; on the right what was
// believed of each unknown, thin, and what is known of it now, thick, in standard deviations of
// the belief. Outliers, and what the readings don't tell, are marked. The error is
// [ErrNothing] of no result.
func Fit(build, readings string, r *fit.Result) (*Picture, error) {
	if r == nil || len(r.Readings) == 0 {
		return nil, nothing("there is no result of a fit")
	}
	v := newFitView(build, readings, r)
	return &Picture{width: v.width, height: v.height, draw: v.draw}, nil
}

// fitView is a fit on paper.
type fitView struct {
	title, subtitle string
	left, right     fitPane
	width, height   vg.Length
}

// fitPane is rows of bars over one axis.
type fitPane struct {
	axis  string
	far   float64 // the axis reaches to both sides of 0
	rows  []fitRow
	names vg.Length // what the rows' names take
}

// fitRow is one reading or one unknown.
type fitRow struct {
	name   string
	note   string // stands behind the name, warm
	pale   bool
	thin   [2]float64 // a thin bar
	thick  [2]float64 // a thick one
	before float64    // an open dot; NaN: none
	after  float64    // a full dot
}

const (
	fitRowHeight = 15 // points
	fitHeader    = 2.9 * vg.Centimeter
	fitFooter    = 1.4 * vg.Centimeter
	fitAxis      = 6.2 * vg.Centimeter // across
	fitGap       = 0.35 * vg.Centimeter
)

// leastFar is how far an axis reaches at least, mostFar at most: what lies beyond is an
// arrow with its number [1].
const (
	leastFar = 3
	mostFar  = 8
)

func newFitView(build, readings string, r *fit.Result) *fitView {
	v := &fitView{title: short(build, 60)}
	agree := "fitted robustly"
	if !math.IsNaN(r.Fit.P) {
		agree = fmt.Sprintf("p = %.2g", r.Fit.P)
	}
	v.subtitle = fmt.Sprintf("%s: %s  ·  fitted to this model, not proved of this gun", short(readings, 60), agree)
	v.left = fitPane{axis: "apart from the reading, standard deviations", far: leastFar}
	for i := range r.Readings {
		x := &r.Readings[i]
		row := fitRow{name: fmt.Sprintf("%d  %s", i+1, ofReading(&x.Reading)), thick: [2]float64{-2, 2}, before: (x.Before - x.Measured) / x.SD, after: -x.Residual + 0}
		if x.Outlier {
			row.note = "outlier"
		}
		v.left.rows = append(v.left.rows, row)
		for _, at := range []float64{row.before, row.after} {
			v.left.far = min(max(v.left.far, 1.1*math.Abs(at)), mostFar)
		}
	}
	v.right = fitPane{axis: "moved, standard deviations of the belief", far: leastFar}
	for i := range r.Unknowns {
		k := &r.Unknowns[i]
		row := fitRow{name: k.Key, thin: [2]float64{-2, 2}, thick: [2]float64{k.Shift - 2*k.ToldRatio, k.Shift + 2*k.ToldRatio}, before: math.NaN(), after: k.Shift, pale: !k.Told}
		switch {
		case k.AtBound:
			row.note = "at its bound"
		case !k.Told:
			row.note = "not told"
		}
		v.right.rows = append(v.right.rows, row)
		v.right.far = min(max(v.right.far, 1.05*math.Abs(row.thick[0]), 1.05*math.Abs(row.thick[1])), mostFar)
	}
	style, note := letters(8.5, ink), letters(7.5, ink)
	for _, p := range []*fitPane{&v.left, &v.right} {
		for i := range p.rows {
			q := &p.rows[i]
			q.name = short(q.name, 48)
			w := style.Width(q.name)
			if q.note != "" {
				w += note.Width(q.note) + vg.Points(5)
			}
			p.names = max(p.names, w)
		}
	}
	v.width = 2*leftMargin + v.left.names + v.right.names + 2*fitAxis + 5*fitGap
	v.height = fitHeader + fitFooter + vg.Points(fitRowHeight)*vg.Length(max(len(v.left.rows), len(v.right.rows), 3))
	return v
}

// ofReading says what was read, and how.
func ofReading(r *buildfile.Reading) string {
	name := r.Figure.Label
	if r.Supply > 0 {
		name += " at " + quantity.Voltage.Format(math.Round(1e3*r.Supply)/1e3)
	}
	for _, o := range r.With {
		key := o.Path[strings.LastIndexByte(o.Path, '.')+1:]
		name += ", " + strings.ReplaceAll(key, "_", " ") + " " + o.Value
	}
	return name
}

func (v *fitView) draw(c draw.Canvas) {
	c.SetColor(color.White)
	c.Fill(c.Rectangle.Path())
	x, y := c.Min.X+leftMargin+fitGap, c.Max.Y-vg.Points(10)
	title := letters(16, ink)
	title.YAlign = text.YTop
	c.FillText(title, vg.Point{X: x, Y: y}, v.title)
	sub := letters(9.5, ink)
	sub.YAlign = text.YTop
	y -= vg.Points(21)
	for _, line := range broken(v.subtitle, sub, v.width-2*leftMargin-2*fitGap) {
		c.FillText(sub, vg.Point{X: x, Y: y}, line)
		y -= vg.Points(12)
	}
	top := c.Max.Y - fitHeader
	right := x + v.left.names + fitAxis + 2*fitGap
	v.legend(c, x, right, top+vg.Points(16))
	v.left.draw(c, x, top)
	v.right.draw(c, right, top)
}

// legend says what the marks mean, above each pane.
func (v *fitView) legend(c draw.Canvas, left, right, y vg.Length) {
	style := letters(8.5, ink)
	style.YAlign = text.YCenter
	bar(c, y, left, left+vg.Points(22), 7, faint, between)
	at := left + vg.Points(26)
	put := func(what string) {
		c.FillText(style, vg.Point{X: at, Y: y + vg.Points(0.8)}, what)
		at += style.Width(what) + vg.Points(12)
	}
	put("reading ± 2")
	ring(c, vg.Point{X: at, Y: y}, false)
	at += vg.Points(6)
	put("build before")
	ring(c, vg.Point{X: at, Y: y}, true)
	at += vg.Points(6)
	put("after")

	at = right
	c.StrokeLine2(thin(ink, 1), at, y, at+vg.Points(22), y)
	at += vg.Points(26)
	put("believed ± 2")
	bar(c, y, at, at+vg.Points(22), 5, deep, deep)
	at += vg.Points(26)
	put("known now ± 2")
	bar(c, y, at, at+vg.Points(22), 5, faint, deep)
	at += vg.Points(26)
	put("nothing learnt")
}

// bar draws a box about a height.
func bar(c draw.Canvas, y, from, to vg.Length, thick float64, ground, line color.Color) {
	half := vg.Points(thick / 2)
	corners := []vg.Point{{X: from, Y: y - half}, {X: to, Y: y - half}, {X: to, Y: y + half}, {X: from, Y: y + half}, {X: from, Y: y - half}}
	c.FillPolygon(ground, corners[:4])
	c.StrokeLines(thin(line, 0.7), corners)
}

// ring draws a dot, full or open.
func ring(c draw.Canvas, at vg.Point, full bool) {
	c.DrawGlyph(draw.GlyphStyle{Color: ink, Radius: vg.Points(3), Shape: draw.CircleGlyph{}}, at)
	if !full {
		c.DrawGlyph(draw.GlyphStyle{Color: paper, Radius: vg.Points(1.9), Shape: draw.CircleGlyph{}}, at)
	}
}

func (p *fitPane) draw(c draw.Canvas, x, top vg.Length) {
	from := x + p.names + fitGap
	middleOf := from + fitAxis/2
	across := func(v float64) vg.Length {
		v = min(max(v, -p.far), p.far)
		return middleOf + vg.Length(v/p.far)*fitAxis/2
	}
	bottom := top - vg.Points(fitRowHeight)*vg.Length(max(len(p.rows), 1))
	label := centred(letters(8.5, ink))
	label.YAlign = text.YTop
	for _, t := range (round{7, 0}).Ticks(-p.far, p.far) {
		at := across(t.Value)
		line := thin(faint, 0.5)
		if t.Value == 0 {
			line = thin(middle, 0.9)
		}
		c.StrokeLine2(line, at, bottom, at, top)
		if !t.IsMinor() {
			c.StrokeLine2(thin(ink, 0.8), at, bottom, at, bottom-vg.Points(3))
			c.FillText(label, vg.Point{X: at, Y: bottom - vg.Points(5)}, t.Label)
		}
	}
	c.StrokeLine2(thin(ink, 0.8), from, bottom, from+fitAxis, bottom)
	c.FillText(label, vg.Point{X: middleOf, Y: bottom - vg.Points(18)}, p.axis)
	for i := range p.rows {
		q := &p.rows[i]
		y := top - vg.Points(fitRowHeight)*(vg.Length(i)+0.5)
		name := letters(8.5, ink)
		if q.pale {
			name.Color = middle
		}
		name.YAlign = text.YCenter
		c.FillText(name, vg.Point{X: x, Y: y + vg.Points(0.8)}, q.name)
		if q.note != "" {
			note := letters(7.5, warm)
			note.YAlign = text.YCenter
			c.FillText(note, vg.Point{X: from - fitGap/2 - note.Width(q.note), Y: y + vg.Points(0.8)}, q.note)
		}
		if q.thin[1] > q.thin[0] { // an unknown
			ground := color.Color(deep)
			if q.pale {
				ground = faint
			}
			bar(c, y, across(q.thick[0]), across(q.thick[1]), 5, ground, deep)
			c.StrokeLine2(thin(ink, 1), across(q.thin[0]), y, across(q.thin[1]), y)
			for _, end := range q.thin {
				c.StrokeLine2(thin(ink, 1), across(end), y-vg.Points(3), across(end), y+vg.Points(3))
			}
		} else {
			bar(c, y, across(q.thick[0]), across(q.thick[1]), 7, faint, between)
			if !math.IsNaN(q.before) {
				c.StrokeLine2(thin(middle, 0.8, 2, 2), across(q.before), y, across(q.after), y)
			}
		}
		for k, v := range []float64{q.before, q.after} {
			switch {
			case math.IsNaN(v):
			case math.Abs(v) <= p.far:
				ring(c, vg.Point{X: across(v), Y: y}, k == 1)
				if k == 1 && q.note == "outlier" {
					at, arm, line := across(v), vg.Points(5), thin(warm, 1.8)
					c.StrokeLine2(line, at-arm, y-arm, at+arm, y+arm)
					c.StrokeLine2(line, at-arm, y+arm, at+arm, y-arm)
				}
			default:
				p.beyond(c, across(v), y, v, k == 1)
			}
		}
	}
}

// beyond draws an arrow at the edge of a pane, with how far away what it points to is.
func (p *fitPane) beyond(c draw.Canvas, edge, y vg.Length, v float64, full bool) {
	way := vg.Length(math.Copysign(1, v))
	tip := edge - way*vg.Points(1)
	head := []vg.Point{{X: tip, Y: y}, {X: tip - way*vg.Points(6), Y: y + vg.Points(3.2)}, {X: tip - way*vg.Points(6), Y: y - vg.Points(3.2)}}
	ground := color.Color(paper)
	if full {
		ground = ink
	}
	c.FillPolygon(ground, head)
	c.StrokeLines(thin(ink, 0.8), append(head, head[0]))
	style := letters(7.5, ink)
	style.YAlign = text.YCenter
	what := fmt.Sprintf("%.0f", v)
	at := vg.Point{X: tip - way*vg.Points(9), Y: y}
	if way > 0 {
		at.X -= style.Width(what)
	}
	half := style.Height(what) / 2
	c.FillPolygon(paper, []vg.Point{{X: at.X - 1, Y: y - half}, {X: at.X + style.Width(what) + 1, Y: y - half}, {X: at.X + style.Width(what) + 1, Y: y + half}, {X: at.X - 1, Y: y + half}})
	c.FillText(style, at, what)
}
