package chart

import (
	"cmp"
	"fmt"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/spread"
)

// Spread draws how guns spread that are built alike: for each figure that is wanted (or,
// where nothing is, the first three) how often it comes to what, against the band that is
// wanted, with what lies outside shaded and counted; beside it, which keys drive it.
func Spread(r *spread.Result) (*Picture, error) {
	if r == nil || r.Build == nil || len(r.Figures) == 0 {
		return nil, nothing("there is no result of guns that spread")
	}
	s := gunsOf(r)
	height := spreadHead + spreadRowHeight*vg.Length(len(s.rows)) + 0.3*vg.Centimeter
	return &Picture{width: 22 * vg.Centimeter, height: height, draw: s.draw}, nil
}

const (
	spreadHead      = 2.9 * vg.Centimeter
	spreadRowHeight = 6.4 * vg.Centimeter
	spreadLeft      = 13 * vg.Centimeter // what densities take of the width
	spreadBars      = 7                  // drivers of a figure that are shown
	spreadBins      = 48
	spreadLine      = 240 // points of a density
	leastDriver     = 0.01
)

// spreadSheet is what Spread draws.
type spreadSheet struct {
	title string
	said  []string // below it
	rows  []spreadRow
}

// spreadRow is a figure with its drivers.
type spreadRow struct {
	axis      string
	lo, hi    float64   // of the axis
	bins      []float64 // shares of all guns, evenly over the axis
	line      []float64 // the density, in shares of a bin
	low, high float64   // of the band, NaN: none
	below     string    // what lies below the band, in words, above it, and what has no figure
	above     string
	title     string // above it
	missing   string
	none      float64 // share of guns that haven't the figure
	note      string  // in place of all that
	heading   string  // of the drivers
	drivers   []spreadBar
}

// spreadBar is a driver.
type spreadBar struct {
	key          string
	first, total float64
}

func gunsOf(r *spread.Result) *spreadSheet {
	s := &spreadSheet{title: short(r.Build.Name, 60)}
	does := "stay whole"
	switch {
	case len(r.Wants) > 0 && r.Sound.Value == 0:
		does = "meets the wish and stays whole"
	case len(r.Wants) > 0:
		does = "meet the wish and stay whole"
	}
	s.said = append(s.said, fmt.Sprintf("%s of 1000 such guns %s", spread.PerMille(r.Sound.Value), does))
	if len(r.Wants) > 0 && r.Meets.Value != r.Sound.Value {
		s.said[0] += fmt.Sprintf("; %s meet the wish", spread.PerMille(r.Meets.Value))
	}
	var failures string
	for _, f := range r.Failures {
		failures += fmt.Sprintf("  ·  %s %s", f.Code, spread.PerMille(f.Share.Value))
	}
	if failures != "" {
		s.said = append(s.said, "failures, of 1000:  "+failures[len("  ·  "):])
	}
	for i := range r.Figures {
		f := &r.Figures[i]
		w := slices.IndexFunc(r.Wants, func(w spread.WantShare) bool { return w.Figure == f.Name })
		if w < 0 && (len(r.Wants) > 0 || len(s.rows) == 3) {
			continue
		}
		var want *spread.WantShare
		if w >= 0 {
			want = &r.Wants[w]
		}
		s.rows = append(s.rows, spreadRowOf(r, i, want))
	}
	return s
}

// spreadRowOf prepares figure i.
func spreadRowOf(r *spread.Result, i int, want *spread.WantShare) spreadRow {
	f := &r.Figures[i]
	row := spreadRow{title: f.Label, axis: f.Label, low: math.NaN(), high: math.NaN(), none: 1 - f.Exists.Value}
	if f.Unit != "" {
		row.axis += ", " + f.Unit
	}
	var values []float64
	below, above := 0, 0
	for d := range r.Draws {
		v := d.Figures[i]
		switch {
		case math.IsNaN(v):
			continue
		case want != nil && want.Min.Given && v < want.Min.At:
			below++
		case want != nil && want.Max.Given && v > want.Max.At:
			above++
		}
		values = append(values, f.In(v))
	}
	all := float64(r.Settings.Draws)
	if row.none > 0 {
		row.missing = spread.PerMille(row.none) + "\nhave none"
	}
	if want != nil {
		if want.Min.Given {
			row.low = f.In(want.Min.At)
		}
		if want.Max.Given {
			row.high = f.In(want.Max.At)
		}
		if below > 0 {
			row.below = spread.PerMille(float64(below)/all) + "\ntoo low"
		}
		if above > 0 {
			row.above = spread.PerMille(float64(above)/all) + "\ntoo high"
		}
		row.title = fmt.Sprintf("%s %s: %s of 1000", f.Label, asked(f.Text, &want.Want), spread.PerMille(want.Share.Value))
	}
	row.heading = "what drives it"
	for k, d := range f.Drivers {
		if d.Total.Value >= leastDriver && spread.Told(d.Total) {
			// By itself no key does more than with others; what goes beyond is the draws' error.
			total := min(d.Total.Value, 1)
			row.drivers = append(row.drivers, spreadBar{r.Keys[k].Path, min(max(d.First.Value, 0), total), total})
		}
	}
	slices.SortStableFunc(row.drivers, func(a, b spreadBar) int { return cmp.Compare(b.total, a.total) })
	row.drivers = row.drivers[:min(len(row.drivers), spreadBars)]
	if len(row.drivers) == 0 {
		row.heading = "what drives it wasn't asked, or can't be told"
	}
	if len(values) == 0 {
		row.note, row.hi = "none of the guns comes to it", 1
		return row
	}
	slices.Sort(values)
	row.lo, row.hi = reachOf(values, row.low, row.high)
	row.bins, row.line = densityOf(values, row.lo, row.hi, all)
	return row
}

// asked says what is wanted of a figure.
func asked(show func(float64) string, w *figure.Want) string {
	switch {
	case !w.Max.Given:
		return "of at least " + show(w.Min.At)
	case !w.Min.Given:
		return "of at most " + show(w.Max.At)
	}
	return fmt.Sprintf("of %s to %s", show(w.Min.At), show(w.Max.At))
}

// reachOf is the axis of a density: nearly all of the values, and the edges of the band
// unless they lie far off.
func reachOf(sorted []float64, low, high float64) (lo, hi float64) {
	at := func(share float64) float64 { return sorted[int(share*float64(len(sorted)-1))] }
	lo, hi = at(0.005), at(0.995)
	width := max(hi-lo, 1e-3*math.Abs(hi), 1e-9)
	for _, edge := range []float64{low, high} {
		if quantity.Finite(edge) && edge > lo-4*width && edge < hi+4*width {
			lo, hi = min(lo, edge-0.1*width), max(hi, edge+0.1*width)
		}
	}
	room := 0.06 * max(hi-lo, width)
	return lo - room, hi + room
}

// densityOf counts values into bins, and smooths them into a line, by a normal kernel of
// Silverman's width (Density Estimation, 1986, equation 3.31).
func densityOf(sorted []float64, lo, hi, all float64) (bins, line []float64) {
	bins, line = make([]float64, spreadBins), make([]float64, spreadLine+1)
	fine := make([]float64, spreadLine)
	mean, square := 0., 0.
	for _, v := range sorted {
		mean += v / float64(len(sorted))
	}
	for _, v := range sorted {
		square += (v - mean) * (v - mean) / float64(len(sorted))
		share := (v - lo) / (hi - lo)
		if share < 0 || share >= 1 {
			continue
		}
		bins[int(share*spreadBins)] += 1 / all
		fine[int(share*spreadLine)] += 1 / all
	}
	n := float64(len(sorted))
	quartiles := sorted[int(0.75*(n-1))] - sorted[int(0.25*(n-1))]
	width := 0.9 * min(math.Sqrt(square), max(quartiles/1.34, 0.2*math.Sqrt(square))) * math.Pow(n, -0.2)
	h := max(width/(hi-lo)*spreadLine, 1)
	for i := range line {
		for k, v := range fine {
			z := (float64(i) - float64(k) - 0.5) / h
			line[i] += v * math.Exp(-z*z/2) / (h * math.Sqrt(2*math.Pi)) * spreadLine / spreadBins
		}
	}
	return bins, line
}

var (
	inside  = color.NRGBA{R: 0xb3, G: 0xcf, B: 0xd8, A: 0xff}
	outside = color.NRGBA{R: 0xed, G: 0xc0, B: 0x95, A: 0xff}
)

func (s *spreadSheet) draw(c draw.Canvas) {
	c.SetColor(color.White)
	c.Fill(c.Rectangle.Path())
	title := letters(16, ink)
	title.YAlign = text.YTop
	x, y := c.Min.X+0.8*vg.Centimeter, c.Max.Y-vg.Points(10)
	c.FillText(title, vg.Point{X: x, Y: y}, s.title)
	y -= vg.Points(24)
	for i, line := range s.said {
		style := letters(11, ink)
		if i > 0 {
			style = letters(9.5, middle)
		}
		style.YAlign = text.YTop
		for _, part := range broken(line, style, c.Max.X-x-vg.Centimeter) {
			c.FillText(style, vg.Point{X: x, Y: y}, part)
			y -= vg.Points(14)
		}
	}
	y -= vg.Points(6)
	s.legend(c, vg.Point{X: x, Y: y})
	for i := range s.rows {
		top := c.Max.Y - spreadHead - spreadRowHeight*vg.Length(i)
		at := func(from, to vg.Length) draw.Canvas {
			return draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{Min: vg.Point{X: c.Min.X + from, Y: top - spreadRowHeight}, Max: vg.Point{X: c.Min.X + to, Y: top - 0.5*vg.Centimeter}}}
		}
		s.rows[i].draw(at(0.5*vg.Centimeter, spreadLeft))
		s.rows[i].drawDrivers(at(spreadLeft+0.7*vg.Centimeter, c.Max.X-c.Min.X-0.8*vg.Centimeter))
	}
}

// legend says what the colours mean.
func (s *spreadSheet) legend(c draw.Canvas, at vg.Point) {
	style := letters(9, ink)
	style.YAlign = text.YCenter
	for _, l := range []struct {
		fill    color.Color
		outline bool
		name    string
	}{{inside, false, "guns, as wanted"}, {outside, false, "not as wanted"}, {deep, false, "a key by itself"}, {nil, true, "in all, with others"}} {
		box(c, vg.Rectangle{Min: vg.Point{X: at.X, Y: at.Y - 4}, Max: vg.Point{X: at.X + 18, Y: at.Y + 4}}, l.fill, l.outline)
		c.FillText(style, vg.Point{X: at.X + 23, Y: at.Y}, l.name)
		at.X += 23 + style.Width(l.name) + vg.Points(18)
	}
}

// box draws a bar.
func box(c draw.Canvas, r vg.Rectangle, fill color.Color, outline bool) {
	corners := []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min}
	if fill != nil {
		c.FillPolygon(fill, corners)
	}
	if outline {
		c.StrokeLines(draw.LineStyle{Color: deep, Width: vg.Points(0.9)}, corners)
	}
}

// plotterFunc is a function that draws.
type plotterFunc func(c draw.Canvas, p *plot.Plot)

// Plot implements [plot.Plotter].
func (f plotterFunc) Plot(c draw.Canvas, p *plot.Plot) { f(c, p) }

// noneWidth is what the bar of guns without the figure takes of an axis.
const noneWidth = 0.09

// draw draws the density. Guns without the figure stand in a bar of their own on the right,
// whose area is theirs.
func (r *spreadRow) draw(c draw.Canvas) {
	p := plot.New()
	p.BackgroundColor = nil
	p.HideY()
	a := &p.X
	a.LineStyle.Width, a.LineStyle.Color = vg.Points(0.8), ink
	a.Tick.LineStyle = a.LineStyle
	a.Tick.Label.Font, a.Tick.Label.Color = letters(9, ink).Font, ink
	a.Tick.Length, a.Padding = vg.Points(4), 0
	a.Label.Text, a.Label.TextStyle = r.axis, centred(letters(9.5, ink))
	a.Min, a.Max = r.lo, r.hi
	if r.none > 0 && r.note == "" {
		a.Max += noneWidth * (r.hi - r.lo)
		p.X.Tick.Marker = until{round{7, 0}, r.hi}
	} else {
		p.X.Tick.Marker = round{7, 0}
	}
	p.Y.Min, p.Y.Max = 0, 1
	most := 0.
	for _, v := range r.bins {
		most = max(most, v)
	}
	for _, v := range r.line {
		most = max(most, v)
	}
	if most > 0 {
		p.Y.Max = 1.38 * most // room for words
	}
	p.Add(plotterFunc(func(c draw.Canvas, p *plot.Plot) { r.plot(c, p, most) }))
	heading := letters(9.5, ink)
	heading.YAlign = text.YTop
	c.FillText(heading, vg.Point{X: c.Min.X + 0.3*vg.Centimeter, Y: c.Max.Y}, r.title)
	c.Max.Y -= vg.Points(15)
	p.Draw(c)
}

// until leaves out the ticks beyond a value.
type until struct {
	plot.Ticker
	end float64
}

func (u until) Ticks(lo, hi float64) []plot.Tick {
	return slices.DeleteFunc(u.Ticker.Ticks(lo, hi), func(t plot.Tick) bool { return t.Value > u.end })
}

func (r *spreadRow) plot(c draw.Canvas, p *plot.Plot, most float64) {
	x := func(v float64) vg.Length { return c.X(p.X.Norm(v)) }
	y := func(v float64) vg.Length { return c.Y(p.Y.Norm(v)) }
	if r.note != "" {
		style := centred(letters(11, ink))
		style.YAlign = text.YCenter
		c.FillText(style, c.Center(), r.note)
		return
	}
	width := (r.hi - r.lo) / spreadBins
	bar := func(from, to, height float64) {
		// A bar that the band's edge cuts is shaded on both sides of it.
		for _, part := range cutAt(from, to, r.low, r.high) {
			fill := inside
			if part.out {
				fill = outside
			}
			box(c, vg.Rectangle{Min: vg.Point{X: x(part.from), Y: y(0)}, Max: vg.Point{X: x(part.to), Y: y(height)}}, fill, false)
		}
	}
	for i, v := range r.bins {
		if v > 0 {
			bar(r.lo+float64(i)*width, r.lo+float64(i+1)*width, v)
		}
	}
	line := make([]vg.Point, len(r.line))
	for i, v := range r.line {
		line[i] = vg.Point{X: x(r.lo + (r.hi-r.lo)*float64(i)/spreadLine), Y: y(v)}
	}
	c.StrokeLines(draw.LineStyle{Color: deep, Width: vg.Points(1.6)}, line)
	words := func(at float64, put text.XAlignment, what string, where vg.Length) {
		for k, part := range split2(what) {
			style := letters(10, ink)
			if k > 0 {
				style = letters(8.5, middle)
			}
			style.XAlign, style.YAlign = put, text.YTop
			c.FillText(style, vg.Point{X: x(at), Y: where - vg.Points(12)*vg.Length(k)}, part)
		}
	}
	top := c.Max.Y - vg.Points(4)
	if r.none > 0 {
		from := r.hi + 0.25*noneWidth*(r.hi-r.lo)
		wide := 0.6 * noneWidth * (r.hi - r.lo)
		height := min(r.none*width/wide, 1.05*most)
		box(c, vg.Rectangle{Min: vg.Point{X: x(from), Y: y(0)}, Max: vg.Point{X: x(from + wide), Y: max(y(height), y(0)+vg.Points(1.5))}}, warm, false)
		words(from+wide/2, text.XCenter, r.missing, min(max(y(height), y(0))+vg.Points(26), top))
	}
	left, right := r.lo, r.hi
	for _, edge := range []struct {
		at    float64
		under bool // the band lies above it
	}{{r.low, true}, {r.high, false}} {
		switch {
		case math.IsNaN(edge.at):
			continue
		case edge.at > r.hi:
			words(r.hi, text.XRight, fmt.Sprintf("wanted: far beyond, %s %.4g", map[bool]string{true: "from", false: "up to"}[edge.under], edge.at), top-vg.Points(26))
			continue
		case edge.at < r.lo:
			words(r.lo, text.XLeft, fmt.Sprintf("wanted: far below, %s %.4g", map[bool]string{true: "from", false: "up to"}[edge.under], edge.at), top-vg.Points(26))
			continue
		}
		c.StrokeLine2(draw.LineStyle{Color: ink, Width: vg.Points(1.1), Dashes: []vg.Length{vg.Points(4), vg.Points(2)}}, x(edge.at), y(0), x(edge.at), c.Max.Y)
		if edge.under {
			left = edge.at
		} else {
			right = edge.at
		}
	}
	// What lies outside is said beside the edge, on the side where it lies, or at the end of
	// the axis.
	gap := 0.012 * (r.hi - r.lo)
	if r.below != "" {
		if left > r.lo+0.12*(r.hi-r.lo) {
			words(min(left, r.hi)-gap, text.XRight, r.below, top)
		} else {
			words(r.lo, text.XLeft, r.below, top)
		}
	}
	if r.above != "" {
		if right < r.hi-0.12*(r.hi-r.lo) {
			words(max(right, r.lo)+gap, text.XLeft, r.above, top)
		} else {
			words(r.hi, text.XRight, r.above, top)
		}
	}
}

// stretch is a part of a bar, inside of the band or outside.
type stretch struct {
	from, to float64
	out      bool
}

// cutAt cuts a bar at the edges of a band.
func cutAt(from, to, low, high float64) (all []stretch) {
	edges := []float64{from, to}
	for _, edge := range []float64{low, high} {
		if edge > from && edge < to {
			edges = append(edges, edge)
		}
	}
	slices.Sort(edges)
	for i := range edges[1:] {
		middle := (edges[i] + edges[i+1]) / 2
		all = append(all, stretch{edges[i], edges[i+1], middle < low || middle > high})
	}
	return all
}

// split2 cuts a text at its line break.
func split2(s string) []string {
	for i := range s {
		if s[i] == '\n' {
			return []string{s[:i], s[i+1:]}
		}
	}
	return []string{s}
}

// drawDrivers draws the bars of the drivers, each below its key.
func (r *spreadRow) drawDrivers(c draw.Canvas) {
	style := letters(9.5, ink)
	style.YAlign = text.YTop
	y := c.Max.Y
	c.FillText(style, vg.Point{X: c.Min.X, Y: y}, r.heading)
	y -= vg.Points(16)
	if len(r.drivers) == 0 {
		return
	}
	number := letters(8.5, ink)
	number.YAlign = text.YCenter
	room := c.Max.X - c.Min.X - number.Width("100 %") - vg.Points(5)
	height := min((y-c.Min.Y-vg.Points(2))/vg.Length(spreadBars), vg.Points(22))
	for _, d := range r.drivers {
		name := letters(8.5, middle)
		name.YAlign = text.YTop
		c.FillText(name, vg.Point{X: c.Min.X, Y: y}, short(d.key, 45))
		low, high := y-height+vg.Points(1), y-vg.Points(11.5)
		at := func(share float64) vg.Rectangle {
			return vg.Rectangle{Min: vg.Point{X: c.Min.X, Y: low}, Max: vg.Point{X: c.Min.X + room*vg.Length(share), Y: high}}
		}
		box(c, at(d.first), deep, false)
		box(c, at(d.total), nil, true)
		c.FillText(number, vg.Point{X: c.Min.X + room*vg.Length(d.total) + vg.Points(4), Y: (low + high) / 2}, fmt.Sprintf("%.0f %%", 100*d.total))
		y -= height
	}
}
