package chart

import (
	"cmp"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// panel is one of several plots that stand above each other over the same axis.
type panel struct {
	label  string   // of the left axis, with unit
	lines  []course // what is drawn
	points []mark   // named points
	right  *scale   // a second scale for the same lines
	least  float64  // the axis shows at least this value; NaN: none
	span   float64  // the axis shows no less than this span

}

// course is one line; a NaN interrupts it.
type course struct {
	xy    plotter.XYs
	style stroke
}

// mark is a point with its name, which may be none.
type mark struct {
	x, y  float64
	name  string
	left  bool // the name stands to the left
	below bool // the name stands below the point, else above
}

// scale is a straight-line scale on the right: value = offset + slope·left.
type scale struct {
	label         string
	offset, slope float64
}

// of returns what the right scale shows at a place of the left one.
func (s *scale) of(left float64) float64 { return s.offset + s.slope*left }

// left returns where on the left scale a value of the right one stands.
func (s *scale) left(value float64) float64 { return (value - s.offset) / s.slope }

// moment is an event, marked across all panels.
type moment struct {
	x     float64
	name  string
	row   int // 0: above, 1: a line lower
	style stroke
}

// stack is panels over one axis.
type stack struct {
	title, subtitle string
	second          string // another line below the subtitle; "": none
	axis            string // label of the shared axis, with unit
	lo, hi          float64
	legend          []stroke
	panels          []panel
	moments         []moment
	step            float64 // between the labels of the axis; 0: a round number
	column          bool    // the legend stands in a column
	rows            int     // of names of moments, see arrange
}

// arrange puts the names of moments into rows so that none covers another, the
// first rows kept where there is room.
func (s *stack) arrange(width vg.Length) {
	across := width - leftMargin - rightMargin - 1.4*vg.Centimeter // about what the axis takes
	style := letters(8.5, ink)
	order := make([]int, len(s.moments))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(s.moments[a].x, s.moments[b].x) })
	var ends []vg.Length // of the rows
	for _, i := range order {
		m := &s.moments[i]
		half := style.Width(m.name) / 2
		at := vg.Length((m.x-s.lo)/(s.hi-s.lo)) * across
		at = min(max(at, half), max(half, across-half))
		for ; m.row < len(ends) && at-half < ends[m.row]+vg.Points(5); m.row++ {
		}
		for len(ends) <= m.row {
			ends = append(ends, -vg.Centimeter)
		}
		ends[m.row] = at + half
	}
	s.rows = len(ends)
}

// headerHeight is what title, legend and names of moments take.
func (s *stack) headerHeight() vg.Length {
	h := 2.9 * vg.Centimeter
	if s.second != "" {
		h += secondLine
	}
	if s.rows > 2 {
		h += vg.Points(10) * vg.Length(s.rows-2)
	}
	if s.title == "" {
		h = 1.2 * vg.Centimeter
	} else if len(s.legend) == 0 {
		h = 2.3 * vg.Centimeter
	} else if s.column {
		h = 2.2*vg.Centimeter + legendLine*vg.Length(len(s.legend))
	}
	return h
}

const (
	legendLine  = 14 // points
	secondLine  = 13 // points
	rightMargin = 1.7 * vg.Centimeter
	leftMargin  = 0.3 * vg.Centimeter
)

func (s *stack) picture(width, height vg.Length) *Picture {
	s.arrange(width)
	return &Picture{width: width, height: height, draw: func(c draw.Canvas) { s.draw(c) }}
}

func (s *stack) draw(c draw.Canvas) {
	c.SetColor(color.White)
	c.Fill(c.Rectangle.Path())
	body := draw.Crop(c, leftMargin, -rightMargin, 0.2*vg.Centimeter, -s.headerHeight())

	rows := make([][]*plot.Plot, len(s.panels))
	for i := range s.panels {
		rows[i] = []*plot.Plot{s.plot(i)}
	}
	canvases := plot.Align(rows, draw.Tiles{Rows: len(rows), Cols: 1, PadY: vg.Points(7)}, body)
	data := make([]draw.Canvas, len(rows))
	for i, row := range rows {
		row[0].Draw(canvases[i][0])
		data[i] = row[0].DataCanvas(canvases[i][0])
		s.rightAxis(i, row[0], data[i])
	}
	s.drawMoments(rows, data)
	for i, row := range rows {
		for _, m := range s.panels[i].points {
			drawMark(row[0], data[i], m)
		}
	}
	s.header(c, data[0])
}

// plot prepares panel i.
func (s *stack) plot(i int) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	q := &s.panels[i]
	p.Y.Label.Text = q.label
	p.Y.Label.TextStyle = centred(letters(9.5, ink))
	p.Y.Label.Padding = vg.Points(4)
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.LineStyle.Width = vg.Points(0.8)
		a.LineStyle.Color = ink
		a.Tick.LineStyle = a.LineStyle
		a.Tick.Label.Font = letters(9, ink).Font
		a.Tick.Label.Color = ink
		a.Tick.Length = vg.Points(4)
		a.Padding = 0
	}
	p.X.Min, p.X.Max = s.lo, s.hi
	p.X.Tick.Marker, p.Y.Tick.Marker = round{9, s.step}, round{5, 0}
	if i == len(s.panels)-1 {
		p.X.Label.Text = s.axis
		p.X.Label.TextStyle = centred(letters(9.5, ink))
	} else {
		p.X.Tick.Marker = unlabelled{p.X.Tick.Marker}
	}
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Vertical.Color = faint, faint
	grid.Horizontal.Width, grid.Vertical.Width = vg.Points(0.5), vg.Points(0.5)
	p.Add(grid)

	lo, hi := math.Inf(1), math.Inf(-1)
	for _, l := range q.lines {
		for _, part := range split(l.xy) {
			line, err := plotter.NewLine(part)
			if err != nil {
				continue // no points
			}
			line.LineStyle = l.style.line
			p.Add(line)
			for _, v := range part {
				lo, hi = min(lo, v.Y), max(hi, v.Y)
			}
		}
	}
	if !math.IsNaN(q.least) {
		lo, hi = min(lo, q.least), max(hi, q.least)
	}
	if !(lo <= hi) {
		lo, hi = 0, 1
	}
	if middle := (lo + hi) / 2; hi-lo < q.span {
		if lo == q.least {
			hi = lo + q.span
		} else {
			lo, hi = middle-q.span/2, middle+q.span/2
		}
	}
	share := 0.08
	if len(q.points) > 0 {
		share = 0.16 // for the names of points
	}
	room := max((hi-lo)*share, math.Abs(hi)*1e-6, 1e-9)
	p.Y.Min, p.Y.Max = lo, hi+room
	if lo != q.least {
		p.Y.Min = lo - room
	}
	return p
}

// split cuts a line where it has no value.
func split(xy plotter.XYs) (parts []plotter.XYs) {
	from := 0
	for i := 0; i <= len(xy); i++ {
		if i == len(xy) || math.IsNaN(xy[i].Y) {
			if i > from {
				parts = append(parts, xy[from:i])
			}
			from = i + 1
		}
	}
	return parts
}

// unlabelled keeps ticks and drops their labels.
type unlabelled struct{ plot.Ticker }

func (u unlabelled) Ticks(lo, hi float64) []plot.Tick {
	ticks := u.Ticker.Ticks(lo, hi)
	for i := range ticks {
		if !ticks[i].IsMinor() {
			ticks[i].Label = " "
		}
	}
	return ticks
}

func (s *stack) rightAxis(i int, p *plot.Plot, c draw.Canvas) {
	r := s.panels[i].right
	if r == nil || r.slope == 0 {
		return
	}
	x := c.Max.X
	line := draw.LineStyle{Color: ink, Width: vg.Points(0.8)}
	c.StrokeLine2(line, x, c.Min.Y, x, c.Max.Y)
	style := letters(9, ink)
	style.YAlign = text.YCenter
	ticks := round{5, 0}.Ticks(r.of(p.Y.Min), r.of(p.Y.Max))
	var widest vg.Length
	for _, t := range ticks {
		y := c.Y(p.Y.Norm(r.left(t.Value)))
		length := vg.Points(4)
		if t.IsMinor() {
			length = vg.Points(2)
		}
		c.StrokeLine2(line, x, y, x+length, y)
		if !t.IsMinor() {
			c.FillText(style, vg.Point{X: x + vg.Points(6), Y: y}, t.Label)
			widest = max(widest, style.Width(t.Label))
		}
	}
	label := centred(letters(9.5, ink))
	label.Rotation = math.Pi / 2
	label.YAlign = text.YTop
	c.FillText(label, vg.Point{X: x + vg.Points(9) + widest, Y: (c.Min.Y + c.Max.Y) / 2}, r.label)
}

func (s *stack) drawMoments(rows [][]*plot.Plot, data []draw.Canvas) {
	top := data[0].Max.Y
	for _, m := range s.moments {
		line := draw.LineStyle{Color: middle, Width: vg.Points(0.9), Dashes: m.style.line.Dashes}
		for i, c := range data {
			x := c.X(rows[i][0].X.Norm(m.x))
			c.StrokeLine2(line, x, c.Min.Y, x, c.Max.Y)
		}
		style := centred(letters(8.5, ink))
		style.YAlign = text.YBottom
		x := data[0].X(rows[0][0].X.Norm(m.x))
		half := style.Width(m.name) / 2
		x = min(max(x, data[0].Min.X+half), data[0].Max.X-half)
		data[0].FillText(style, vg.Point{X: x, Y: top + vg.Points(3) + vg.Points(10)*vg.Length(m.row)}, m.name)
	}
}

func drawMark(p *plot.Plot, c draw.Canvas, m mark) {
	at := vg.Point{X: c.X(p.X.Norm(m.x)), Y: c.Y(p.Y.Norm(m.y))}
	c.DrawGlyph(draw.GlyphStyle{Color: ink, Radius: vg.Points(2.4), Shape: draw.CircleGlyph{}}, at)
	if m.name == "" {
		return
	}
	style := letters(8.5, ink)
	style.YAlign = text.YCenter
	at.X += vg.Points(5)
	if m.left {
		at.X -= vg.Points(10) + style.Width(m.name)
	}
	if m.below {
		at.Y -= vg.Points(9)
	} else {
		at.Y += vg.Points(9)
	}
	// Curves and grid end before the name.
	half, edge := style.Height(m.name)/2, vg.Points(1)
	c.FillPolygon(color.White, []vg.Point{
		{X: at.X - edge, Y: at.Y - half}, {X: at.X + style.Width(m.name) + edge, Y: at.Y - half},
		{X: at.X + style.Width(m.name) + edge, Y: at.Y + half}, {X: at.X - edge, Y: at.Y + half},
	})
	c.FillText(style, at, m.name)
}

func (s *stack) header(c, data draw.Canvas) {
	if s.title == "" {
		return
	}
	title := letters(16, ink)
	title.YAlign = text.YTop
	x := data.Min.X
	y := c.Max.Y - vg.Points(10)
	c.FillText(title, vg.Point{X: x, Y: y}, s.title)
	y -= vg.Points(21)
	sub := letters(9.5, ink)
	sub.YAlign = text.YTop
	c.FillText(sub, vg.Point{X: x, Y: y}, s.subtitle)
	if s.second != "" {
		y -= secondLine
		c.FillText(sub, vg.Point{X: x, Y: y}, s.second)
	}
	y -= vg.Points(20)
	legend := letters(9, ink)
	legend.YAlign = text.YCenter
	for _, l := range s.legend {
		c.StrokeLine2(l.line, x, y, x+vg.Points(26), y)
		if s.column {
			c.FillText(legend, vg.Point{X: x + vg.Points(31), Y: y}, l.name)
			y -= legendLine
			continue
		}
		x += vg.Points(31)
		c.FillText(legend, vg.Point{X: x, Y: y}, l.name)
		x += legend.Width(l.name) + vg.Points(18)
	}
}

func centred(s text.Style) text.Style {
	s.XAlign = text.XCenter
	return s
}
