package chart

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// Sweep draws what comes of a sweep over one key or two, given all its points: over one,
// a panel for each of the figures shown, with what the target leaves; over two, a map of
// each, with the target's edge. More keys are an error. Only the first figures are drawn:
// six panels, or four maps.
func Sweep(s *study.Sweep, points []study.Point, shown []string) (*Picture, error) {
	switch {
	case s == nil || len(points) == 0 || len(points) != s.Count():
		return nil, nothing("there are no points of a sweep, or not all")
	case !slices.ContainsFunc(s.Figures(), func(f figure.Info) bool { return slices.Contains(shown, f.Name) }):
		return nil, nothing("no figure of the sweep is to be shown")
	case len(s.Axes) == 1:
		t := sweepStack(s, points, shown)
		return t.picture(19*vg.Centimeter, 6*vg.Centimeter+3.4*vg.Centimeter*vg.Length(len(t.panels))), nil
	case len(s.Axes) == 2:
		return sweepMaps(s, points, shown).picture(), nil
	}
	return nil, fmt.Errorf("%d keys are more than a picture has sides; wanted one or two", len(s.Axes))
}

const (
	mostPanels = 6
	mostMaps   = 4
)

// axisOf is how an axis is called and scaled.
func axisOf(a *study.Axis) (label string, in func(v float64) float64) {
	label = a.Key
	_, unit, ok := strings.Cut(a.Kind.Format(1), " ")
	in = func(v float64) float64 { return v }
	switch {
	case a.Kind == quantity.Temperature:
		return label + ", °C", func(v float64) float64 { return v - quantity.Celsius }
	case ok && a.Kind == quantity.Gauge:
		return label + ", AWG", in
	case ok:
		scale := a.Kind.In(unit)
		return label + ", " + strings.NewReplacer("mohm", "mΩ", "deg", "degrees").Replace(unit), func(v float64) float64 { return scale * v }
	}
	return label, in
}

// figuresOf are the figures that are drawn, with their place in an answer's values, and
// what the target asks of them.
func figuresOf(s *study.Sweep, shown []string, most int) (list []figure.Info, places []int, wants []figure.Want) {
	for i, f := range s.Figures() {
		if !slices.Contains(shown, f.Name) || len(list) == most {
			continue
		}
		list, places = append(list, f), append(places, i)
		k := slices.IndexFunc(s.Document.Target, func(w figure.Want) bool { return w.Figure == f.Name })
		if k < 0 {
			wants = append(wants, figure.Want{})
			continue
		}
		wants = append(wants, s.Document.Target[k])
	}
	return list, places, wants
}

func labelled(f *figure.Info) string {
	if f.Unit == "" {
		return strings.TrimSpace(f.Label)
	}
	return strings.TrimSpace(f.Label) + ", " + f.Unit
}

// sweepStack is what Sweep draws over one key.
func sweepStack(s *study.Sweep, points []study.Point, shown []string) *stack {
	a := &s.Axes[0]
	label, in := axisOf(a)
	t := &stack{
		title: short(s.Document.Build.Name, 50), axis: label,
		lo: in(slices.Min(a.Values)), hi: in(slices.Max(a.Values)),
	}
	line := solid("as the key goes")
	room := stroke{name: "what the target leaves", line: draw.LineStyle{Color: warm, Width: vg.Points(1.2), Dashes: []vg.Length{vg.Points(5), vg.Points(2.5)}}, band: true}
	list, places, wants := figuresOf(s, shown, mostPanels)
	order := slices.Clone(points)
	slices.SortStableFunc(order, func(a, b study.Point) int {
		switch {
		case a.Values[0] < b.Values[0]:
			return -1
		case a.Values[0] > b.Values[0]:
			return 1
		}
		return 0
	})
	faulty := false
	for i := range list {
		f := &list[i]
		p := panel{label: labelled(f), least: math.NaN()}
		var xy plotter.XYs
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, point := range order {
			v := plotter.XY{X: in(point.Values[0]), Y: math.NaN()}
			if point.Answer != nil {
				v.Y = f.In(point.Answer.Values[places[i]])
			}
			xy = append(xy, v)
			if !math.IsNaN(v.Y) {
				lo, hi = min(lo, v.Y), max(hi, v.Y)
				if broken := point.Answer.Findings.Broken(); broken || len(order) <= 40 {
					p.points = append(p.points, mark{x: v.X, y: v.Y, cross: broken})
					faulty = faulty || broken
				}
			}
		}
		p.lines = []course{{xy, line}}
		if w := &wants[i]; w.Asks() && lo <= hi {
			// The open side reaches as far as the line, and a little farther.
			for _, b := range []figure.Bound{w.Min, w.Max} {
				if b.Given {
					lo, hi = min(lo, f.In(b.At)), max(hi, f.In(b.At))
				}
			}
			beyond := 0.08 * (hi - lo)
			from, to := lo-beyond, hi+beyond
			if w.Min.Given {
				from = f.In(w.Min.At)
			}
			if w.Max.Given {
				to = f.In(w.Max.At)
			}
			p.bands = []band{{
				lo: plotter.XYs{{X: t.lo, Y: from}, {X: t.hi, Y: from}}, hi: plotter.XYs{{X: t.lo, Y: to}, {X: t.hi, Y: to}}, style: room, bare: true,
			}}
			for _, b := range []figure.Bound{w.Min, w.Max} {
				if b.Given {
					p.lines = append(p.lines, course{plotter.XYs{{X: t.lo, Y: f.In(b.At)}, {X: t.hi, Y: f.In(b.At)}}, room})
				}
			}
		}
		if !(lo <= hi) {
			p.note = "no build has this figure"
		}
		t.panels = append(t.panels, p)
	}
	n := 0
	for _, p := range points {
		if s.Good(p.Answer) {
			n++
		}
	}
	t.subtitle = fmt.Sprintf("%d values; %d without a fault", len(points), n)
	if len(s.Document.Target) > 0 {
		t.subtitle = fmt.Sprintf("%d values, of which %d meet the target without a fault  ·  what the target leaves is coloured", len(points), n)
	}
	if faulty {
		t.second = "a cross where the build has a fault"
	}
	return t
}

// atlas is figures over two keys.
type atlas struct {
	title, subtitle string
	across, up      string    // labels of the axes
	x, y            []float64 // places
	sheets          []figureMap
}

// figureMap is one figure over two keys.
type figureMap struct {
	label  string
	values [][]float64 // by place across, then up; NaN: none
	good   [][]bool    // meets the target without a fault
	faulty [][]bool    // has a fault
	edges  []float64   // where the figure's own bounds lie
	lo, hi float64     // the least and the largest value
	digits int         // behind the point, where values are written
}

// sweepMaps is what Sweep draws over two keys.
func sweepMaps(s *study.Sweep, points []study.Point, shown []string) *atlas {
	m := &atlas{title: short(s.Document.Build.Name, 50)}
	var in [2]func(float64) float64
	m.across, in[0] = axisOf(&s.Axes[0])
	m.up, in[1] = axisOf(&s.Axes[1])
	places := func(i int) (order []int, at []float64) {
		values := s.Axes[i].Values
		for k := range values {
			order = append(order, k)
		}
		slices.SortFunc(order, func(a, b int) int {
			if values[a] < values[b] {
				return -1
			}
			return 1
		})
		for _, k := range order {
			at = append(at, in[i](values[k]))
		}
		return order, at
	}
	var across, up []int
	across, m.x = places(0)
	up, m.y = places(1)
	list, at, wants := figuresOf(s, shown, mostMaps)
	n := 0
	for _, p := range points {
		if s.Good(p.Answer) {
			n++
		}
	}
	for i := range list {
		f := &list[i]
		fm := figureMap{label: labelled(f)}
		for _, a := range across {
			var column []float64
			var met, faulty []bool
			for _, b := range up {
				v, ok, broken := math.NaN(), false, false
				if k := a*len(up) + b; k < len(points) && points[k].Answer != nil {
					v, ok, broken = f.In(points[k].Answer.Values[at[i]]), s.Good(points[k].Answer), points[k].Answer.Findings.Broken()
				}
				column, met, faulty = append(column, v), append(met, ok), append(faulty, broken)
			}
			fm.values, fm.good, fm.faulty = append(fm.values, column), append(fm.good, met), append(fm.faulty, faulty)
		}
		fm.scale()
		for _, b := range []figure.Bound{wants[i].Min, wants[i].Max} {
			if b.Given {
				fm.edges = append(fm.edges, f.In(b.At))
			}
		}
		m.sheets = append(m.sheets, fm)
	}
	m.subtitle = fmt.Sprintf("%d builds, %d of them without a fault (framed)  ·  struck through: a fault", len(points), n)
	if len(s.Document.Target) > 0 {
		m.subtitle = fmt.Sprintf("%d builds, %d of them meet the target without a fault (framed)  ·  dashed: the edge of what the target asks of the figure  ·  struck through: a fault", len(points), n)
	}
	return m
}

// scale finds the least and the largest value, and how many digits tell a hundredth of what
// lies between.
func (f *figureMap) scale() {
	f.lo, f.hi = math.Inf(1), math.Inf(-1)
	for _, column := range f.values {
		for _, v := range column {
			if !math.IsNaN(v) {
				f.lo, f.hi = min(f.lo, v), max(f.hi, v)
			}
		}
	}
	if f.lo < f.hi {
		f.digits = max(0, 2-int(math.Round(math.Log10(f.hi-f.lo))))
	}
	if f.lo <= f.hi {
		f.label += fmt.Sprintf("  (pale %s, deep %s)", inCell(f.lo, f.digits), inCell(f.hi, f.digits))
	}
}

// inCell is a value in its cell.
func inCell(v float64, digits int) string {
	if math.IsNaN(v) {
		return "none"
	}
	unit := math.Pow(10, float64(digits))
	return strconv.FormatFloat(math.Round(v*unit)/unit+0, 'f', digits, 64)
}

func (m *atlas) picture() *Picture {
	columns := min(2, max(1, len(m.sheets)))
	rows := (len(m.sheets) + columns - 1) / columns
	width := vg.Length(columns)*9.5*vg.Centimeter + 0.6*vg.Centimeter
	if columns == 1 {
		width = 15 * vg.Centimeter
	}
	height := 3.2*vg.Centimeter + vg.Length(max(1, rows))*9*vg.Centimeter
	return &Picture{width: width, height: height, draw: func(c draw.Canvas) { m.draw(c, rows, columns) }}
}

func (m *atlas) draw(c draw.Canvas, rows, columns int) {
	c.SetColor(color.White)
	c.Fill(c.Rectangle.Path())
	head := letters(16, ink)
	head.YAlign = text.YTop
	x, y := c.Min.X+leftMargin, c.Max.Y-vg.Points(10)
	c.FillText(head, vg.Point{X: x, Y: y}, m.title)
	y -= vg.Points(21)
	sub := letters(9.5, ink)
	sub.YAlign = text.YTop
	for _, line := range broken(m.subtitle, sub, c.Max.X-x-leftMargin) {
		c.FillText(sub, vg.Point{X: x, Y: y}, line)
		y -= secondLine
	}
	body := draw.Crop(c, leftMargin, -leftMargin, 0.2*vg.Centimeter, y-c.Max.Y-vg.Points(18))
	tiles := draw.Tiles{Rows: max(1, rows), Cols: columns, PadX: vg.Points(12), PadY: vg.Points(20)}
	for i := range m.sheets {
		m.one(tiles.At(body, i%columns, i/columns), &m.sheets[i])
	}
}

// borders lie halfway between places, and as far outside.
func borders(at []float64) []float64 {
	if len(at) == 1 {
		return []float64{at[0] - 0.5, at[0] + 0.5}
	}
	all := []float64{at[0] - (at[1]-at[0])/2}
	for i := range at[1:] {
		all = append(all, (at[i]+at[i+1])/2)
	}
	n := len(at)
	return append(all, at[n-1]+(at[n-1]-at[n-2])/2)
}

// one draws one figure: a cell a build, from pale to deep, with its value where there is
// room, a frame about what is good, and the figure's own edges through the places.
func (m *atlas) one(c draw.Canvas, f *figureMap) {
	p := plot.New()
	p.BackgroundColor = nil
	p.Title.Text = f.label
	p.Title.TextStyle = centred(letters(10.5, ink))
	p.Title.Padding = vg.Points(4)
	p.X.Label.Text, p.Y.Label.Text = m.across, m.up
	x, y := borders(m.x), borders(m.y)
	for _, a := range []struct {
		axis *plot.Axis
		at   []float64
	}{{&p.X, x}, {&p.Y, y}} {
		a.axis.Label.TextStyle = centred(letters(9.5, ink))
		a.axis.LineStyle.Width, a.axis.LineStyle.Color = vg.Points(0.8), ink
		a.axis.Tick.LineStyle = a.axis.LineStyle
		a.axis.Tick.Label.Font, a.axis.Tick.Label.Color = letters(9, ink).Font, ink
		a.axis.Tick.Length, a.axis.Padding = vg.Points(4), 0
		a.axis.Min, a.axis.Max = a.at[0], a.at[len(a.at)-1]
		a.axis.Tick.Marker = round{6, 0}
	}
	p.Add(mosaic{m, f, x, y})
	p.Draw(c)
}

// mosaic is a map's cells, as gonum/plot draws them.
type mosaic struct {
	m    *atlas
	f    *figureMap
	x, y []float64
}

// Plot implements [plot.Plotter].
func (s mosaic) Plot(c draw.Canvas, p *plot.Plot) {
	lo, hi := s.f.lo, s.f.hi
	at := func(x, y float64) vg.Point { return vg.Point{X: c.X(p.X.Norm(x)), Y: c.Y(p.Y.Norm(y))} }
	words := letters(8, ink)
	words.XAlign, words.YAlign = text.XCenter, text.YCenter
	for i, column := range s.f.values {
		for k, v := range column {
			a, b := at(s.x[i], s.y[k]), at(s.x[i+1], s.y[k+1])
			corners := []vg.Point{a, {X: b.X, Y: a.Y}, b, {X: a.X, Y: b.Y}}
			if math.IsNaN(v) {
				c.FillPolygon(faint, corners)
				continue
			}
			share := 0.5
			if hi > lo {
				share = (v - lo) / (hi - lo)
			}
			c.FillPolygon(shade(share), corners)
			if s.f.faulty[i][k] {
				c.StrokeLine2(draw.LineStyle{Color: between, Width: vg.Points(0.8)}, a.X, a.Y, b.X, b.Y)
			}
		}
	}
	s.edges(c, at)
	fit := func(digits int) bool { // all values or none
		for i, column := range s.f.values {
			for k, v := range column {
				a, b := at(s.x[i], s.y[k]), at(s.x[i+1], s.y[k+1])
				label := inCell(v, digits)
				if words.Width(label)+vg.Points(4) > b.X-a.X || words.Height(label)+vg.Points(3) > b.Y-a.Y {
					return false
				}
			}
		}
		return true
	}
	digits := s.f.digits
	for digits > 0 && !fit(digits) {
		digits--
	}
	fits := fit(digits)
	for i, column := range s.f.values {
		for k, v := range column {
			a, b := at(s.x[i], s.y[k]), at(s.x[i+1], s.y[k+1])
			style := words
			if (v-lo)/(hi-lo) > 0.55 {
				style.Color = paper
			}
			if fits {
				c.FillText(style, vg.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}, inCell(v, digits))
			}
		}
	}
	frame := draw.LineStyle{Color: ink, Width: vg.Points(2)}
	met := func(i, k int) bool {
		return i >= 0 && k >= 0 && i < len(s.f.good) && k < len(s.f.good[i]) && s.f.good[i][k]
	}
	for i := range s.f.good {
		for k := range s.f.good[i] {
			if !met(i, k) {
				continue
			}
			a, b := at(s.x[i], s.y[k]), at(s.x[i+1], s.y[k+1])
			for _, side := range []struct {
				i, k           int
				x1, y1, x2, y2 vg.Length
			}{{i - 1, k, a.X, a.Y, a.X, b.Y}, {i + 1, k, b.X, a.Y, b.X, b.Y}, {i, k - 1, a.X, a.Y, b.X, a.Y}, {i, k + 1, a.X, b.Y, b.X, b.Y}} {
				if !met(side.i, side.k) {
					c.StrokeLine2(frame, side.x1, side.y1, side.x2, side.y2)
				}
			}
		}
	}
}

// edges draws where the figure comes to what is asked of it, between the places.
func (s mosaic) edges(c draw.Canvas, at func(x, y float64) vg.Point) {
	line := draw.LineStyle{Color: warm, Width: vg.Points(1.8), Dashes: []vg.Length{vg.Points(5), vg.Points(2.5)}}
	for _, bound := range s.f.edges {
		for _, part := range contour(s.m.x, s.m.y, s.f.values, bound) {
			a, b := at(part[0].X, part[0].Y), at(part[1].X, part[1].Y)
			c.StrokeLine2(line, a.X, a.Y, b.X, b.Y)
		}
	}
}

// contour returns where values over places come to a level, in straight pieces: those of
// the two triangles of each cell between four places.
func contour(x, y []float64, values [][]float64, level float64) (all [][2]plotter.XY) {
	type corner struct{ x, y, v float64 }
	triangle := func(t [3]corner) {
		var cuts []plotter.XY
		for i := range t {
			a, b := t[i], t[(i+1)%3]
			if (a.v >= level) != (b.v >= level) {
				s := (level - a.v) / (b.v - a.v)
				cuts = append(cuts, plotter.XY{X: a.x + s*(b.x-a.x), Y: a.y + s*(b.y-a.y)})
			}
		}
		if len(cuts) == 2 {
			all = append(all, [2]plotter.XY{cuts[0], cuts[1]})
		}
	}
	for i := 0; i+1 < len(x); i++ {
		for k := 0; k+1 < len(y); k++ {
			a := corner{x[i], y[k], values[i][k]}
			b := corner{x[i+1], y[k], values[i+1][k]}
			d := corner{x[i+1], y[k+1], values[i+1][k+1]}
			e := corner{x[i], y[k+1], values[i][k+1]}
			if math.IsNaN(a.v + b.v + d.v + e.v) {
				continue
			}
			triangle([3]corner{a, b, d})
			triangle([3]corner{a, d, e})
		}
	}
	return all
}

// shade goes from pale to deep.
func shade(share float64) color.Color {
	mix := func(from, to uint8) uint8 {
		return uint8(math.Round(float64(from) + share*(float64(to)-float64(from))))
	}
	return color.NRGBA{R: mix(0xf0, deep.R), G: mix(0xf4, deep.G), B: mix(0xf5, deep.B), A: 0xff}
}
