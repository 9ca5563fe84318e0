package chart

import (
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/levers"
)

// Levers draws what a step of each key does to the figures that are missed, or to those
// that are wanted where nothing is: a bar a key, and beside it the value that alone meets
// the want.
func Levers(r *levers.Result) (*Picture, error) {
	if r == nil || r.Document == nil || len(r.Figures) == 0 {
		return nil, nothing("there is no result of levers")
	}
	return leverBars(r).picture(), nil
}

// bars is rows of bars, in columns over scales of their own.
type bars struct {
	title    string
	subtitle []string
	rows     []string
	columns  []barColumn
}

// barColumn is one figure over all rows.
type barColumn struct {
	head   string
	values []float64 // in the figure's unit
	counts []bool    // the step is one of a count
	labels []string  // behind the bars: their values
	notes  []string  // what alone meets the want, "" for none
}

const (
	mostBars    = 18 // keys
	mostColumns = 3  // figures
)

// leverBars is what Levers draws.
func leverBars(r *levers.Result) *bars {
	b := &bars{title: short(r.Document.Build.Name, 50)}
	type column struct {
		figure int
		want   int // −1: none of a missed one
	}
	var shown []column
	at := func(name string) int {
		for i := range r.Figures {
			if r.Figures[i].Name == name {
				return i
			}
		}
		return -1
	}
	for _, i := range r.Missed() {
		shown = append(shown, column{at(r.Verdicts[i].Figure), i})
	}
	missed := len(shown)
	if missed == 0 {
		for i := range r.Figures[:max(min(len(r.Verdicts), mostColumns), min(len(r.Figures), 2))] {
			shown = append(shown, column{i, -1})
		}
	}
	shown = shown[:min(mostColumns, len(shown))]
	effects := r.Effects[:min(mostBars, len(r.Effects))]
	for _, e := range effects {
		b.rows = append(b.rows, e.Key+"  "+e.Text(e.From))
	}
	for _, c := range shown {
		f := &r.Figures[c.figure]
		col := barColumn{head: strings.TrimSpace(f.Label)}
		if c.want >= 0 {
			col.head = "misses " + col.head + " by " + strings.TrimSpace(amount(f, r.Verdicts[c.want].Shortfall()))
			if r.Verdicts[c.want].Fate == figure.NoFigure {
				col.head = "has no " + strings.TrimSpace(f.Label)
			}
		}
		for _, e := range effects {
			v := f.Scale() * e.Changes[c.figure]
			col.values, col.counts = append(col.values, v), append(col.counts, e.Whole)
			label := amount(f, e.Changes[c.figure])
			if v > 0 {
				label = "+" + label
			}
			if v == 0 || math.IsNaN(v) {
				label = ""
			}
			note := ""
			for i := range r.Singles {
				if s := &r.Singles[i]; s.Want == c.want && s.Key == e.Key && s.Meets() {
					note = "alone at " + s.Text(s.Value)
				}
			}
			col.labels, col.notes = append(col.labels, strings.TrimSpace(label)), append(col.notes, note)
		}
		b.columns = append(b.columns, col)
	}
	b.subtitle = []string{"what one per cent more of a value does, or one more of a count (orange, on a scale of its own);", "first what does most to what is wanted"}
	if missed > 0 {
		b.subtitle[1] = "first what does most to what is missed; behind it, the value that alone meets the want"
	}
	return b
}

// amount shows a difference of a figure in its unit.
func amount(f *figure.Info, v float64) string {
	unit := f.Unit
	switch unit {
	case "%":
		unit = "points"
	case "°C":
		unit = "K"
	}
	return figure.Text(f.Scale()*v, 2, unit)
}

func (b *bars) picture() *Picture {
	const row = 0.72 * vg.Centimeter
	height := 3.6*vg.Centimeter + row*vg.Length(max(1, len(b.rows)))
	width := 19 * vg.Centimeter
	if len(b.columns) > 1 {
		width = 11*vg.Centimeter + 7*vg.Centimeter*vg.Length(len(b.columns))
	}
	return &Picture{width: width, height: height, draw: func(c draw.Canvas) { b.draw(c, row) }}
}

func (b *bars) draw(c draw.Canvas, row vg.Length) {
	c.SetColor(color.White)
	c.Fill(c.Rectangle.Path())
	x, y := c.Min.X+leftMargin, c.Max.Y-vg.Points(10)
	line := func(size float64, ink color.Color, at vg.Point, words string) {
		style := letters(size, ink)
		style.YAlign = text.YTop
		c.FillText(style, at, words)
	}
	line(16, ink, vg.Point{X: x, Y: y}, b.title)
	y -= vg.Points(22)
	for _, words := range b.subtitle {
		line(9.5, ink, vg.Point{X: x, Y: y}, words)
		y -= secondLine
	}
	y -= vg.Points(8)
	names := letters(9, ink)
	names.YAlign = text.YCenter
	var widest vg.Length
	for _, name := range b.rows {
		widest = max(widest, names.Width(name))
	}
	left := x + widest + vg.Points(10)
	share := (c.Max.X - leftMargin - left) / vg.Length(max(1, len(b.columns)))
	top := y - vg.Points(16)
	for i, name := range b.rows {
		c.FillText(names, vg.Point{X: x, Y: top - row*(vg.Length(i)+0.5)}, name)
	}
	if len(b.rows) == 0 {
		c.FillText(names, vg.Point{X: x, Y: top - row/2}, "no key moves a figure by a small change")
	}
	for k := range b.columns {
		b.column(c, &b.columns[k], vg.Rectangle{Min: vg.Point{X: left + share*vg.Length(k), Y: top - row*vg.Length(len(b.rows))}, Max: vg.Point{X: left + share*vg.Length(k+1) - vg.Points(10), Y: top}}, row)
	}
}

// which is the number of a scale.
func which(count bool) int {
	if count {
		return 1
	}
	return 0
}

// column draws one figure's bars; negative ones go to the left.
func (b *bars) column(c draw.Canvas, col *barColumn, at vg.Rectangle, row vg.Length) {
	var most [2]float64 // of per cents, and of counts, which would dwarf these
	noted, less, more := false, false, false
	for i, v := range col.values {
		if math.IsNaN(v) {
			continue
		}
		kind := which(col.counts[i])
		most[kind] = max(most[kind], math.Abs(v))
		less, more = less || v < 0, more || v > 0
		noted = noted || col.notes[i] != ""
	}
	head := letters(10, ink)
	head.YAlign = text.YBottom
	c.FillText(head, vg.Point{X: at.Min.X, Y: at.Max.Y + vg.Points(5)}, col.head)
	small := letters(8.5, ink)
	small.YAlign = text.YCenter
	var widest vg.Length
	for i := range col.labels {
		words := col.labels[i]
		widest = max(widest, small.Width(words))
	}
	var notes vg.Length
	for _, n := range col.notes {
		notes = max(notes, small.Width(n))
	}
	if noted {
		notes += vg.Points(8)
	}
	// What is left for bars, with room for labels at both ends.
	from, to := at.Min.X, at.Max.X-notes
	if less {
		from += widest + vg.Points(4)
	}
	if more || !less {
		to -= widest + vg.Points(4)
	}
	zero := from
	if less && more {
		zero = (from + to) / 2
	} else if less {
		zero = to
	}
	for i := range b.rows {
		if i%2 == 0 {
			low, high := at.Max.Y-row*vg.Length(i+1), at.Max.Y-row*vg.Length(i)
			c.FillPolygon(color.NRGBA{R: 0xf4, G: 0xf5, B: 0xf6, A: 0xff}, []vg.Point{{X: at.Min.X, Y: low}, {X: at.Max.X, Y: low}, {X: at.Max.X, Y: high}, {X: at.Min.X, Y: high}})
		}
	}
	for i, v := range col.values {
		middle := at.Max.Y - row*(vg.Length(i)+0.5)
		if col.notes[i] != "" {
			c.FillText(small, vg.Point{X: at.Max.X - notes + vg.Points(8), Y: middle}, col.notes[i])
		}
		if math.IsNaN(v) || v == 0 {
			continue
		}
		half := row * 0.3
		room := to - zero
		if v < 0 {
			room = zero - from
		}
		end := zero + room*vg.Length(v/most[which(col.counts[i])])
		hue := deep
		if col.counts[i] {
			hue = warm
		}
		c.FillPolygon(hue, []vg.Point{{X: zero, Y: middle - half}, {X: end, Y: middle - half}, {X: end, Y: middle + half}, {X: zero, Y: middle + half}})
		label := small
		place := end + vg.Points(4)
		if v < 0 {
			place = end - vg.Points(4) - label.Width(col.labels[i])
		}
		c.FillText(label, vg.Point{X: place, Y: middle}, col.labels[i])
	}
	axis := draw.LineStyle{Color: ink, Width: vg.Points(0.8)}
	c.StrokeLine2(axis, zero, at.Min.Y, zero, at.Max.Y)
}
