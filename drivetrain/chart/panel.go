package chart

import (
	"cmp"
	"image/color"
	"maps"
	"math"
	"slices"
	"strings"

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
	bands  []band   // drawn below the lines
	dots   []dots   // drawn below the lines, the first ones lowest
	points []mark   // named points
	note   string   // stands in the middle, where there is nothing to draw
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
	left  bool // the name had best stand to the left
	below bool // the name had best stand below the point, else above
	cross bool // what must not be: a cross instead of a dot
	open  bool // what is not there: a ring instead of a dot
	pale  bool // what does not count
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
	row   int // of its name, from below
	style stroke
	bare  bool // its name is left out, since others of that name have theirs
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
	step            float64  // between the labels of the axis; 0: a round number
	column          bool     // the legend stands in a column
	beside          bool     // the legend stands on the right
	page            bool     // a page has the title, and little width
	rows            int      // of names of moments, see arrange
	said            []string // subtitle and second, in lines, see arrange
}

// mostRows of names of moments there are, unless each name is another; of a name that
// stands for more than mostAlike moments, only the first and the last have it.
const (
	mostRows  = 3
	mostAlike = 8
)

// arrange puts the names of moments into rows so that none covers another, the
// first rows kept where there is room. Of moments of the same name the first has it in any
// case, the others where a row has room.
func (s *stack) arrange(width vg.Length) {
	across := width - leftMargin - s.right() - 1.4*vg.Centimeter // about what the axis takes
	s.said = nil
	for _, text := range []string{s.subtitle, s.second} {
		if text != "" {
			s.said = append(s.said, broken(text, letters(9.5, ink), width-leftMargin-2*vg.Centimeter)...)
		}
	}
	if s.page {
		s.fold(width)
	}
	style := letters(8.5, ink)
	order := make([]int, len(s.moments))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(s.moments[a].x, s.moments[b].x) })
	var taken [][][2]vg.Length // of each row
	free := func(row int, from, to vg.Length) bool {
		return row >= len(taken) || !slices.ContainsFunc(taken[row], func(t [2]vg.Length) bool { return from < t[1]+vg.Points(5) && t[0] < to+vg.Points(5) })
	}
	put := func(m *moment, most int) {
		half := style.Width(m.name) / 2
		at := vg.Length((m.x-s.lo)/(s.hi-s.lo)) * across
		at = min(max(at, half), max(half, across-half))
		row := m.row
		for !free(row, at-half, at+half) {
			row++
		}
		if m.bare = row >= most; m.bare {
			return
		}
		for len(taken) <= row {
			taken = append(taken, nil)
		}
		m.row, taken[row] = row, append(taken[row], [2]vg.Length{at - half, at + half})
	}
	seen, count := map[string]bool{}, map[string]int{}
	for _, m := range s.moments {
		count[m.name]++
	}
	var again []int
	left := maps.Clone(count)
	for _, i := range order {
		m := &s.moments[i]
		left[m.name]--
		if m.name == "" {
			continue
		}
		if m.bare = count[m.name] > mostAlike && seen[m.name] && left[m.name] > 0; m.bare {
			continue
		}
		if seen[m.name] {
			again = append(again, i)
			continue
		}
		seen[m.name] = true
		put(m, len(s.moments)+2)
	}
	for _, i := range again {
		put(&s.moments[i], max(mostRows, len(taken)))
	}
	s.rows = len(taken)
}

// broken cuts a line between its parts where it would be wider than there is room.
func broken(line string, style text.Style, room vg.Length) (lines []string) {
	const between = "  ·  "
	for _, part := range strings.Split(line, between) {
		if last := len(lines) - 1; last >= 0 && style.Width(lines[last]+between+part) <= room {
			lines[last] += between + part
			continue
		}
		lines = append(lines, part)
	}
	return lines
}

// right is what lies beside the panels.
func (s *stack) right() vg.Length {
	if s.page && !slices.ContainsFunc(s.panels, func(p panel) bool { return p.right != nil && p.right.slope != 0 }) {
		return 0.5 * vg.Centimeter
	}
	if s.beside {
		return besideGap + besideWidth
	}
	return rightMargin
}

// headerHeight is what title, legend and names of moments take.
func (s *stack) headerHeight() vg.Length {
	if s.page {
		return secondLine*vg.Length(len(s.said)) + legendLine*vg.Length(len(s.legend)) + labelLine + vg.Points(12) + vg.Points(10)*vg.Length(s.rows)
	}
	if s.title == "" {
		return 1.2 * vg.Centimeter
	}
	h := 2.9 * vg.Centimeter
	if len(s.legend) == 0 || s.beside {
		h = 2.3 * vg.Centimeter
	} else if s.column {
		h = 2.2*vg.Centimeter + legendLine*vg.Length(len(s.legend))
	}
	return h + secondLine*vg.Length(max(0, len(s.said)-1)) + vg.Points(10)*vg.Length(max(0, s.rows-2))
}

const (
	legendLine  = 14 // points
	labelLine   = 13 // points
	secondLine  = 13 // points
	rightMargin = 1.7 * vg.Centimeter
	besideGap   = 0.7 * vg.Centimeter
	besideWidth = 4.9 * vg.Centimeter
	leftMargin  = 0.3 * vg.Centimeter
)

func (s *stack) picture(width, height vg.Length) *Picture {
	s.arrange(width)
	return &Picture{width: width, height: height, draw: func(c draw.Canvas) { s.draw(c) }, narrow: s.narrow}
}

// narrow is the stack for a page.
func (s *stack) narrow() *Picture {
	const panelHeight = 2.45 * vg.Centimeter
	n := *s
	n.moments, n.legend = slices.Clone(s.moments), slices.Clone(s.legend)
	for i := range n.moments {
		n.moments[i].row = 0
	}
	if !n.column { // else it says what is seen, where of other pictures the page does
		n.subtitle = ""
	}
	n.page, n.column, n.beside = true, true, false
	n.arrange(pageWidth)
	height := n.headerHeight() + panelHeight*vg.Length(len(n.panels)) + vg.Centimeter
	return &Picture{width: pageWidth, height: height, draw: func(c draw.Canvas) { n.draw(c) }}
}

// pageWidth is that of narrow pictures.
const pageWidth = 12 * vg.Centimeter

// fold breaks what stands above the panels so that it fits a width.
func (s *stack) fold(width vg.Length) {
	room := width - leftMargin - vg.Points(6)
	var said []string
	for _, line := range s.said {
		said = append(said, folded(line, letters(9.5, ink), room)...)
	}
	s.said = said
	var legend []stroke
	for _, l := range s.legend {
		for i, line := range folded(strings.ReplaceAll(l.name, "\n", ", "), letters(9, ink), room-vg.Points(31)) {
			part := stroke{name: line}
			if i == 0 {
				part = l
				part.name = line
			}
			legend = append(legend, part)
		}
	}
	s.legend = legend
}

// folded breaks a text at its blanks; a word that is wider than the room is cut.
func folded(text string, style text.Style, room vg.Length) (lines []string) {
	for _, word := range strings.Fields(text) {
		for r := []rune(word); style.Width(word) > room && len(r) > 1; {
			r = r[:len(r)-1]
			word = string(r) + "…"
		}
		if last := len(lines) - 1; last >= 0 && style.Width(lines[last]+" "+word) <= room {
			lines[last] += " " + word
			continue
		}
		lines = append(lines, word)
	}
	return lines
}

func (s *stack) draw(c draw.Canvas) {
	c.SetColor(color.White)
	c.Fill(c.Rectangle.Path())
	body := draw.Crop(c, leftMargin, -s.right(), 0.2*vg.Centimeter, -s.headerHeight())

	rows := make([][]*plot.Plot, len(s.panels))
	for i := range s.panels {
		rows[i] = []*plot.Plot{s.plot(i)}
	}
	gap := vg.Points(7)
	if s.page {
		gap = labelLine + vg.Points(3)
	}
	canvases := plot.Align(rows, draw.Tiles{Rows: len(rows), Cols: 1, PadY: gap}, body)
	data := make([]draw.Canvas, len(rows))
	for i, row := range rows {
		row[0].Draw(canvases[i][0])
		data[i] = row[0].DataCanvas(canvases[i][0])
		if s.page {
			c.FillText(letters(9.5, ink), vg.Point{X: c.Min.X + leftMargin, Y: data[i].Max.Y + vg.Points(4)}, s.panels[i].label)
		}
		s.rightAxis(i, row[0], data[i])
	}
	s.drawMoments(rows, data)
	for i, row := range rows {
		for _, m := range s.panels[i].points {
			drawMark(row[0], data[i], m)
		}
		for _, l := range s.labels(i, row[0], data[i]) {
			l.draw(data[i])
		}
		if note := s.panels[i].note; note != "" {
			style := centred(letters(11, ink))
			style.YAlign = text.YCenter
			lines := []string{note}
			if s.page {
				lines = folded(note, style, data[i].Max.X-data[i].Min.X-vg.Points(10))
			}
			middle := data[i].Center()
			middle.Y += style.Height(note) * vg.Length(len(lines)-1)
			for _, line := range lines {
				half, up := style.Width(line)/2+vg.Points(3), style.Height(line)
				data[i].FillPolygon(paper, []vg.Point{ // lines end before it
					{X: middle.X - half, Y: middle.Y - up}, {X: middle.X + half, Y: middle.Y - up},
					{X: middle.X + half, Y: middle.Y + up}, {X: middle.X - half, Y: middle.Y + up},
				})
				data[i].FillText(style, middle, line)
				middle.Y -= 2 * up
			}
		}
	}
	s.header(c, data[0])
}

// plot prepares panel i.
func (s *stack) plot(i int) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	q := &s.panels[i]
	if !s.page {
		p.Y.Label.Text = q.label
	}
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
	for _, b := range q.bands {
		p.Add(b)
		for i := range b.lo {
			if v := b.lo[i].Y; !math.IsNaN(v) {
				lo, hi = min(lo, v), max(hi, b.hi[i].Y)
			}
		}
	}
	for _, d := range q.dots {
		p.Add(d)
		for _, v := range d.xy {
			lo, hi = min(lo, v.Y), max(hi, v.Y)
		}
	}
	for _, m := range q.points {
		lo, hi = min(lo, m.y), max(hi, m.y)
	}
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
		share = 0.2 // for the names of points
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
	if s.page {
		label.XAlign = text.XRight
		c.FillText(label, vg.Point{X: x + rightMargin - vg.Points(10), Y: c.Max.Y + vg.Points(4)}, r.label)
		return
	}
	label.Rotation = math.Pi / 2
	label.YAlign = text.YTop
	c.FillText(label, vg.Point{X: x + vg.Points(9) + widest, Y: (c.Min.Y + c.Max.Y) / 2}, r.label)
}

func (s *stack) drawMoments(rows [][]*plot.Plot, data []draw.Canvas) {
	top := data[0].Max.Y
	for _, m := range s.moments {
		line := draw.LineStyle{Color: middle, Width: vg.Points(0.9), Dashes: m.style.line.Dashes}
		if m.bare {
			line.Color, line.Width = between, vg.Points(0.5)
		}
		for i, c := range data {
			x := c.X(rows[i][0].X.Norm(m.x))
			c.StrokeLine2(line, x, c.Min.Y, x, c.Max.Y)
		}
		if m.bare {
			continue
		}
		style := centred(letters(8.5, ink))
		style.YAlign = text.YBottom
		x := data[0].X(rows[0][0].X.Norm(m.x))
		half := style.Width(m.name) / 2
		x = min(max(x, data[0].Min.X+half), data[0].Max.X-half)
		up := vg.Points(3)
		if s.page {
			up += labelLine
		}
		data[0].FillText(style, vg.Point{X: x, Y: top + up + vg.Points(10)*vg.Length(m.row)}, m.name)
	}
}

func drawMark(p *plot.Plot, c draw.Canvas, m mark) {
	at := vg.Point{X: c.X(p.X.Norm(m.x)), Y: c.Y(p.Y.Norm(m.y))}
	if m.cross {
		line := draw.LineStyle{Color: ink, Width: vg.Points(2)}
		arm := vg.Points(4)
		c.StrokeLine2(line, at.X-arm, at.Y-arm, at.X+arm, at.Y+arm)
		c.StrokeLine2(line, at.X-arm, at.Y+arm, at.X+arm, at.Y-arm)
		return
	}
	style := draw.GlyphStyle{Color: ink, Radius: vg.Points(2.4), Shape: draw.CircleGlyph{}}
	if m.pale {
		style.Color = between
	}
	if m.open {
		style.Shape = draw.RingGlyph{}
	}
	c.DrawGlyph(style, at)
}

func (s *stack) header(c, data draw.Canvas) {
	if s.page {
		s.pageHeader(c)
		return
	}
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
	for i, line := range s.said {
		if i > 0 {
			y -= secondLine
		}
		c.FillText(sub, vg.Point{X: x, Y: y}, line)
	}
	if s.beside {
		s.legendBeside(vg.Point{X: data.Max.X + besideGap, Y: data.Max.Y - vg.Points(6)}, c)
		return
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

// pageHeader is what stands above the panels where a page has the title.
func (s *stack) pageHeader(c draw.Canvas) {
	x, y := c.Min.X+leftMargin, c.Max.Y-vg.Points(2)
	sub := letters(9.5, ink)
	sub.YAlign = text.YTop
	for _, line := range s.said {
		c.FillText(sub, vg.Point{X: x, Y: y}, line)
		y -= secondLine
	}
	y -= vg.Points(8)
	legend := letters(9, ink)
	legend.YAlign = text.YCenter
	for _, l := range s.legend {
		if l.band {
			l.swatch(c, x, y)
		} else if l.line.Width > 0 {
			c.StrokeLine2(l.line, x, y, x+vg.Points(26), y)
		}
		c.FillText(legend, vg.Point{X: x + vg.Points(31), Y: y}, l.name)
		y -= legendLine
	}
}

// swatch is the piece of a band that a legend shows.
func (s stroke) swatch(c draw.Canvas, x, y vg.Length) {
	low, high := y-vg.Points(3.5), y+vg.Points(3.5)
	corners := []vg.Point{{X: x, Y: low}, {X: x + vg.Points(26), Y: low}, {X: x + vg.Points(26), Y: high}, {X: x, Y: high}, {X: x, Y: low}}
	c.FillPolygon(s.ground(), corners)
	c.StrokeLines(s.outline(), corners)
}

// legendBeside stands on the right of the panels, a line of text below another.
func (s *stack) legendBeside(at vg.Point, c draw.Canvas) {
	for _, l := range s.legend {
		if l.band {
			l.swatch(c, at.X, at.Y)
		} else {
			c.StrokeLine2(l.line, at.X, at.Y, at.X+vg.Points(26), at.Y)
		}
		style := letters(9, ink)
		style.YAlign = text.YCenter
		for i, line := range strings.Split(l.name, "\n") {
			if i > 0 {
				style = letters(8.5, middle)
				style.YAlign = text.YCenter
			}
			c.FillText(style, vg.Point{X: at.X + vg.Points(31), Y: at.Y}, line)
			at.Y -= vg.Points(11.5)
		}
		at.Y -= vg.Points(5)
	}
}

func centred(s text.Style) text.Style {
	s.XAlign = text.XCenter
	return s
}
