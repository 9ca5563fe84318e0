package chart

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// label is the name of a point, with where it stands.
type label struct {
	name   string
	dot    vg.Point     // what it names
	box    vg.Rectangle // what it covers
	leader bool         // a line leads to the dot
	style  text.Style
}

// What the place of a name costs, in points of distance from where it had best stand: other
// names and dots must not be covered, curves had better not be.
const (
	costSide  = 2
	costBelow = 3
	costLine  = 2 // a moment's line, each
	costCurve = 4 // each point of a curve's length
	costDot   = 1000
	costName  = 10000
)

// labels finds the places of the names in panel i: beside their dots, where they cover
// neither dots nor other names nor, if there is room at all, curves.
func (s *stack) labels(i int, p *plot.Plot, c draw.Canvas) (all []label) {
	q := &s.panels[i]
	place := func(x, y float64) vg.Point { return vg.Point{X: c.X(p.X.Norm(x)), Y: c.Y(p.Y.Norm(y))} }
	var inked []vg.Point // what curves cover, a point apart
	for _, l := range q.lines {
		for _, part := range split(l.xy) {
			for k := range part {
				to := place(part[k].X, part[k].Y)
				if k == 0 {
					inked = append(inked, to)
					continue
				}
				from := inked[len(inked)-1]
				n := int(max(to.X-from.X, from.X-to.X, to.Y-from.Y, from.Y-to.Y) / vg.Points(1))
				for j := 1; j <= n; j++ {
					share := vg.Length(j) / vg.Length(n)
					inked = append(inked, vg.Point{X: from.X + share*(to.X-from.X), Y: from.Y + share*(to.Y-from.Y)})
				}
			}
		}
	}
	for _, d := range q.dots {
		for _, v := range d.xy {
			inked = append(inked, place(v.X, v.Y))
		}
	}
	const gap, dot = 1.5, 3 // points
	for k, m := range q.points {
		if m.name == "" {
			continue
		}
		style := letters(8.5, ink)
		style.YAlign = text.YCenter
		l := label{name: m.name, dot: place(m.x, m.y), style: style}
		width, half := style.Width(m.name), style.Height(m.name)/2
		least := -1.
		for step, up := range []vg.Length{9, -9, 19, -19, 29, -29, 40, -40, 52, -52, 64, -64} {
			for side, away := range []vg.Length{5, 5, -1, 18, 18, 32, 32} { // beside the dot, on one side and the other, and across it
				left := l.dot.X + vg.Points(float64(away))
				if away < 0 {
					left = l.dot.X - width/2
				} else if (side == 0 || side == 3 || side == 5) == m.left {
					left = l.dot.X - vg.Points(float64(away)) - width
				}
				rise := up
				if m.below {
					rise = -up
				}
				y := l.dot.Y + vg.Points(float64(rise))
				box := vg.Rectangle{Min: vg.Point{X: left, Y: y - half}, Max: vg.Point{X: left + width, Y: y + half}}
				if box.Min.X < c.Min.X+1 || box.Max.X > c.Max.X || box.Min.Y < c.Min.Y+1 || box.Max.Y > c.Max.Y {
					continue
				}
				cost := float64(max(up, -up)) + float64(max(away, 0)) + costSide*float64(side) + costBelow*float64(step%2)
				for _, o := range all {
					if overlap(box, o.box, vg.Points(gap)) {
						cost += costName
					}
				}
				for o, other := range q.points {
					if o != k && covers(box, place(other.x, other.y), vg.Points(dot)) {
						cost += costDot
					}
				}
				for _, at := range inked {
					if covers(box, at, vg.Points(gap)) {
						cost += costCurve
					}
				}
				for _, o := range s.moments {
					if x := c.X(p.X.Norm(o.x)); x > box.Min.X && x < box.Max.X {
						cost += costLine
					}
				}
				if least < 0 || cost < least {
					least, l.box, l.leader = cost, box, step > 1 || away > 5
				}
			}
		}
		if least >= 0 {
			all = append(all, l)
		}
	}
	return all
}

func covers(box vg.Rectangle, at vg.Point, gap vg.Length) bool {
	return at.X > box.Min.X-gap && at.X < box.Max.X+gap && at.Y > box.Min.Y-gap && at.Y < box.Max.Y+gap
}

func overlap(a, b vg.Rectangle, gap vg.Length) bool {
	return a.Min.X < b.Max.X+gap && b.Min.X < a.Max.X+gap && a.Min.Y < b.Max.Y+gap && b.Min.Y < a.Max.Y+gap
}

// draw writes the name; curves and grid end before it.
func (l *label) draw(c draw.Canvas) {
	if l.leader {
		to := vg.Point{X: min(max(l.dot.X, l.box.Min.X), l.box.Max.X), Y: min(max(l.dot.Y, l.box.Min.Y), l.box.Max.Y)}
		c.StrokeLine2(draw.LineStyle{Color: ink, Width: vg.Points(0.5)}, l.dot.X, l.dot.Y, to.X, to.Y)
	}
	edge := vg.Points(1)
	c.FillPolygon(paper, []vg.Point{
		{X: l.box.Min.X - edge, Y: l.box.Min.Y}, {X: l.box.Max.X + edge, Y: l.box.Min.Y},
		{X: l.box.Max.X + edge, Y: l.box.Max.Y}, {X: l.box.Min.X - edge, Y: l.box.Max.Y},
	})
	c.FillText(l.style, vg.Point{X: l.box.Min.X, Y: (l.box.Min.Y + l.box.Max.Y) / 2}, l.name)
}
