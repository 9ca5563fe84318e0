package chart

import (
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// band is what lies between the least and the most of each place; a NaN interrupts it.
type band struct {
	lo, hi plotter.XYs
	style  stroke
	bare   bool // without outlines
}

// Plot implements [plot.Plotter]: a pale ground within outlines of the band's style.
func (b band) Plot(c draw.Canvas, p *plot.Plot) {
	lows, highs := split(b.lo), split(b.hi)
	place := func(xy plotter.XYs) []vg.Point {
		points := make([]vg.Point, len(xy))
		for i, v := range xy {
			points[i] = vg.Point{X: c.X(p.X.Norm(v.X)), Y: c.Y(p.Y.Norm(v.Y))}
		}
		return points
	}
	for i := range lows {
		lo, hi := place(lows[i]), place(highs[i])
		round := append([]vg.Point(nil), lo...)
		for k := len(hi) - 1; k >= 0; k-- {
			round = append(round, hi[k])
		}
		c.FillPolygon(b.style.ground(), round)
		if !b.bare {
			c.StrokeLines(b.style.outline(), lo, hi)
		}
	}
}

// ground is the pale colour of a band, which covers what lies below.
func (s stroke) ground() color.Color {
	r, g, b, _ := s.line.Color.RGBA()
	mix := func(v uint32) uint8 { return uint8((v>>8)/3 + 170) }
	return color.NRGBA{R: mix(r), G: mix(g), B: mix(b), A: 0xff}
}

// outline is a band's.
func (s stroke) outline() draw.LineStyle {
	return draw.LineStyle{Color: s.line.Color, Width: vg.Points(0.7)}
}

// stretches of an axis that bands tell apart; some two dots of a PNG each.
const stretches = 400

// bandOf gives the least and the most that a line takes on in each stretch of an axis from
// 0 to hi. A stretch in which the line has no point takes what it passes through there.
func bandOf(xy plotter.XYs, hi float64, style stroke) band {
	b := band{style: style}
	if len(xy) == 0 {
		return b
	}
	at := func(x float64, k int) float64 { // between the points k−1 and k
		if k == 0 {
			return xy[0].Y
		}
		if k == len(xy) {
			return xy[k-1].Y
		}
		from, to := xy[k-1], xy[k]
		if to.X <= from.X {
			return to.Y
		}
		return from.Y + (to.Y-from.Y)*(x-from.X)/(to.X-from.X)
	}
	width := hi / stretches
	for i, k := 0, 0; i < stretches; i++ {
		begin, end := float64(i)*width, float64(i+1)*width
		if begin > xy[len(xy)-1].X {
			break
		}
		least := at(begin, k)
		most := least
		for ; k < len(xy) && (xy[k].X < end || i == stretches-1); k++ {
			least, most = min(least, xy[k].Y), max(most, xy[k].Y)
		}
		last := at(end, k)
		least, most = min(least, last), max(most, last)
		middle := (begin + end) / 2
		b.lo, b.hi = append(b.lo, plotter.XY{X: middle, Y: least}), append(b.hi, plotter.XY{X: middle, Y: most})
	}
	return b
}
