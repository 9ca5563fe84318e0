package chart

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/ampstroke/drivetrain/cycle"
)

// Energy draws where the energy of a shot goes, of one steady shot or of the whole pull of
// a single: a bar for each row of the ledger that takes a part to be seen, with joules and
// the share of what the battery gives. The pellet's is set off from the losses. The error
// is [ErrNothing] of a build that stalls, which has no such books.
func Energy(r *cycle.Result) (*Picture, error) {
	if r == nil || !(r.Ledger.Battery > 0) {
		return nil, nothing("no shot is fired, so that there are no books of one")
	}
	const row, gap = 15.0, 3.0 // points
	bars := energyBars(r)
	most := 0.
	var names vg.Length
	style := letters(9, ink)
	style.YAlign = text.YCenter
	for _, b := range bars {
		most = max(most, math.Abs(b.energy))
		names = max(names, style.Width(b.name))
	}
	height := vg.Points(row*float64(len(bars)) + 8)
	return &Picture{width: pageWidth, height: height, draw: func(c draw.Canvas) {
		c.SetColor(color.White)
		c.Fill(c.Rectangle.Path())
		y := c.Max.Y - vg.Points(4+row/2)
		from := c.Min.X + leftMargin + names + vg.Points(6)
		room := c.Max.X - from - style.Width("0.000 J  100.0 %") - vg.Points(14)
		for _, b := range bars {
			c.FillText(style, vg.Point{X: c.Min.X + leftMargin, Y: y}, b.name)
			end := from + max(room*vg.Length(math.Abs(b.energy)/most), vg.Points(0.6))
			low, high := y-vg.Points((row-gap)/2), y+vg.Points((row-gap)/2)
			corners := []vg.Point{{X: from, Y: low}, {X: end, Y: low}, {X: end, Y: high}, {X: from, Y: high}, {X: from, Y: low}}
			c.FillPolygon(b.ground, corners)
			c.StrokeLines(draw.LineStyle{Color: ink, Width: vg.Points(0.6)}, corners)
			c.FillText(style, vg.Point{X: end + vg.Points(5), Y: y}, fmt.Sprintf("%.3f J  %.1f %%", b.energy, 100*b.share))
			y -= vg.Points(row)
		}
	}}, nil
}

// portion is one of Energy's bars.
type portion struct {
	name          string
	energy, share float64
	ground        color.Color
}

// energyBars are the rows of a ledger that take a part to be seen.
func energyBars(r *cycle.Result) (all []portion) {
	l := &r.Ledger
	all = append(all, portion{"battery gives", l.Battery, 1, paper})
	for _, e := range l.Rows() {
		if math.IsNaN(e.Energy) || math.Abs(e.Energy) < 5e-5*l.Battery {
			continue
		}
		ground := color.Color(between)
		if e.Name == "pellet" {
			ground = deep
		}
		all = append(all, portion{e.Label(), e.Energy, e.Energy / l.Battery, ground})
	}
	return all
}
