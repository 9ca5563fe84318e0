package chart

import (
	"fmt"
	"html"
	"image"
	"image/color"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Inline writes the picture as SVG to stand within a page, with a text for whoever can't
// see it: without a head, identifiers, links or fonts of its own, so that several stand
// side by side. Its width is that of what it stands in, and its letters are in the font
// of the page, as wide as ours. Lines are thinned to what an eye tells apart.
func (p *Picture) Inline(w io.Writer, alternative string) error {
	c := &inline{height: p.height.Points()}
	c.stack = []inlineState{{width: 1, at: [6]float64{1, 0, 0, 1, 0, 0}}}
	fmt.Fprintf(&c.b, `<svg role="img" aria-label="%s" viewBox="0 0 %s %s">`+"\n",
		html.EscapeString(alternative), tenths(p.width.Points()), tenths(p.height.Points()))
	p.draw(draw.NewCanvas(c, p.width, p.height))
	c.b.WriteString("</svg>\n")
	_, err := io.WriteString(w, c.b.String())
	return err
}

// inline is a canvas that writes SVG with a tenth of a point as its grain, which is a
// fifth of a dot of a printer's page.
type inline struct {
	b      strings.Builder
	height float64
	stack  []inlineState
}

// inlineState is what Push keeps and Pop brings back.
type inlineState struct {
	color  color.Color
	width  float64
	dashes []vg.Length
	offset vg.Length
	at     [6]float64 // x' = a·x + c·y + e, y' = b·x + d·y + f, with y upwards
}

func (c *inline) now() *inlineState { return &c.stack[len(c.stack)-1] }

// SetLineWidth implements [vg.Canvas], as do the others.
func (c *inline) SetLineWidth(w vg.Length) { c.now().width = w.Points() }

func (c *inline) SetLineDash(pattern []vg.Length, offset vg.Length) {
	c.now().dashes, c.now().offset = pattern, offset
}

func (c *inline) SetColor(col color.Color) { c.now().color = col }

func (c *inline) Rotate(rad float64) {
	sin, cos := math.Sincos(rad)
	c.concat([6]float64{cos, sin, -sin, cos, 0, 0})
}

func (c *inline) Translate(p vg.Point) {
	c.concat([6]float64{1, 0, 0, 1, p.X.Points(), p.Y.Points()})
}

func (c *inline) Scale(x, y float64) { c.concat([6]float64{x, 0, 0, y, 0, 0}) }

func (c *inline) concat(m [6]float64) {
	t := c.now().at
	c.now().at = [6]float64{
		t[0]*m[0] + t[2]*m[1], t[1]*m[0] + t[3]*m[1], t[0]*m[2] + t[2]*m[3], t[1]*m[2] + t[3]*m[3],
		t[0]*m[4] + t[2]*m[5] + t[4], t[1]*m[4] + t[3]*m[5] + t[5],
	}
}

func (c *inline) Push() { c.stack = append(c.stack, *c.now()) }
func (c *inline) Pop()  { c.stack = c.stack[:len(c.stack)-1] }

// place is where a point stands on the page, y downwards.
func (c *inline) place(p vg.Point) (x, y float64) {
	t, px, py := c.now().at, p.X.Points(), p.Y.Points()
	return t[0]*px + t[2]*py + t[4], c.height - (t[1]*px + t[3]*py + t[5])
}

func (c *inline) Stroke(path vg.Path) {
	s := c.now()
	if s.width <= 0 {
		return
	}
	d := c.data(path)
	if d == "" {
		return
	}
	fmt.Fprintf(&c.b, `<path d="%s" fill="none" stroke="%s" stroke-width="%s"`, d, hex(s.color), hundredths(s.width))
	if len(s.dashes) > 0 {
		var all []string
		for _, l := range s.dashes {
			all = append(all, tenths(l.Points()))
		}
		fmt.Fprintf(&c.b, ` stroke-dasharray="%s"`, strings.Join(all, " "))
		if s.offset != 0 {
			fmt.Fprintf(&c.b, ` stroke-dashoffset="%s"`, tenths(s.offset.Points()))
		}
	}
	c.b.WriteString("/>\n")
}

func (c *inline) Fill(path vg.Path) {
	if d := c.data(path); d != "" {
		fmt.Fprintf(&c.b, `<path d="%s" fill="%s"/>`+"\n", d, hex(c.now().color))
	}
}

func (c *inline) FillString(f font.Face, at vg.Point, text string) {
	text = strings.Map(func(r rune) rune { // what doesn't print may turn around what does
		if r != ' ' && !unicode.IsPrint(r) && r != zeroWidthJoiner {
			return -1
		}
		return r
	}, text)
	if strings.TrimSpace(text) == "" {
		return
	}
	x, y := c.place(at)
	t := c.now().at
	fmt.Fprintf(&c.b, `<text x="%s" y="%s" font-size="%s" fill="%s"`, tenths(x), tenths(y), tenths(f.Font.Size.Points()), hex(c.now().color))
	if angle := -math.Atan2(t[1], t[0]) * 180 / math.Pi; angle != 0 {
		fmt.Fprintf(&c.b, ` transform="rotate(%s %s %s)"`, tenths(angle), tenths(x), tenths(y))
	}
	if withBoxes(f, text) == text { // whatever font the page has, it fits where ours does
		fmt.Fprintf(&c.b, ` textLength="%s" lengthAdjust="spacingAndGlyphs"`, tenths(f.Width(text).Points()))
	}
	fmt.Fprintf(&c.b, ">%s</text>\n", html.EscapeString(text))
}

// zeroWidthJoiner holds the parts of an emoji, and the letters of some scripts, together.
const zeroWidthJoiner = '\u200d'

// DrawImage draws nothing: no picture of this package has images.
func (c *inline) DrawImage(vg.Rectangle, image.Image) {}

// data is a path in SVG's letters, straight lines thinned.
func (c *inline) data(path vg.Path) string {
	var b strings.Builder
	var line [][2]float64 // not written yet
	flush := func() {
		if len(line) == 0 {
			return
		}
		for i, p := range thinned(line, 0.08) {
			letter := " " // a line to the next point goes without saying
			if i == 0 {
				letter = "M "
			}
			b.WriteString(letter + tenths(p[0]) + " " + tenths(p[1]))
		}
		line = line[:0]
	}
	to := func(p vg.Point) {
		x, y := c.place(p)
		line = append(line, [2]float64{x, y})
	}
	var from vg.Point // where a curve begins
	for i, k := range path {
		if i > 0 {
			from = path[i-1].Pos
		}
		switch k.Type {
		case vg.MoveComp:
			flush()
			to(k.Pos)
		case vg.LineComp:
			to(k.Pos)
		case vg.ArcComp:
			const steps = 24 // of a circle of a few points
			n := max(2, int(math.Ceil(steps*math.Abs(k.Angle)/(2*math.Pi))))
			for i := range n + 1 {
				sin, cos := math.Sincos(k.Start + k.Angle*float64(i)/float64(n))
				to(vg.Point{X: k.Pos.X + k.Radius*vg.Length(cos), Y: k.Pos.Y + k.Radius*vg.Length(sin)})
			}
		case vg.CurveComp:
			bend(from, k, to)
		case vg.CloseComp:
			flush()
			b.WriteString("Z")
		}
	}
	flush()
	return b.String()
}

// bend goes along a curve of Bézier from a point, in short lines.
func bend(from vg.Point, k vg.PathComp, to func(vg.Point)) {
	const steps = 12
	for i := 1; i <= steps; i++ {
		points := append(append([]vg.Point{from}, k.Control...), k.Pos)
		for t := vg.Length(i) / steps; len(points) > 1; points = points[:len(points)-1] { // de Casteljau
			for j := range points[1:] {
				points[j].X += t * (points[j+1].X - points[j].X)
				points[j].Y += t * (points[j+1].Y - points[j].Y)
			}
		}
		to(points[0])
	}
}

// thinned leaves out points of a line that lie within a distance of what is left (Douglas
// and Peucker 1973).
func thinned(line [][2]float64, distance float64) [][2]float64 {
	if len(line) < 3 {
		return line
	}
	keep := make([]bool, len(line))
	keep[0], keep[len(line)-1] = true, true
	type span struct{ from, to int }
	for todo := []span{{0, len(line) - 1}}; len(todo) > 0; {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		a, e := line[s.from], line[s.to]
		dx, dy := e[0]-a[0], e[1]-a[1]
		length := math.Hypot(dx, dy)
		at, most := -1, distance
		for i := s.from + 1; i < s.to; i++ {
			px, py := line[i][0]-a[0], line[i][1]-a[1]
			off := math.Hypot(px, py)
			if length > 0 {
				along := min(max((px*dx+py*dy)/(length*length), 0), 1)
				off = math.Hypot(px-along*dx, py-along*dy)
			}
			if off > most {
				at, most = i, off
			}
		}
		if at >= 0 {
			keep[at] = true
			todo = append(todo, span{s.from, at}, span{at, s.to})
		}
	}
	kept := line[:0:0]
	for i, p := range line {
		if keep[i] {
			kept = append(kept, p)
		}
	}
	return kept
}

func tenths(v float64) string     { return shortest(math.Round(v*10) / 10) }
func hundredths(v float64) string { return shortest(math.Round(v*100) / 100) }
func shortest(v float64) string   { return strconv.FormatFloat(v+0, 'f', -1, 64) }

// hex is a colour in the letters of SVG; all colours here are opaque.
func hex(c color.Color) string {
	if c == nil {
		return "#000"
	}
	r, g, b, _ := c.RGBA()
	return fmt.Sprintf("#%02x%02x%02x", r>>8, g>>8, b>>8)
}
