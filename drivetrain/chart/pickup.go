package chart

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/ampstroke/drivetrain/pickup"
)

// The grounds of the side view, apart in grey.
var (
	sectorGround = color.NRGBA{R: 0xc9, G: 0xd6, B: 0xdb, A: 0xff}
	rackGround   = color.NRGBA{R: 0xee, G: 0xe9, B: 0xe0, A: 0xff}
	cutGround    = color.NRGBA{R: 0xf0, G: 0xb4, B: 0x6c, A: 0xff}
	spacerGround = color.NRGBA{R: 0x8a, G: 0x90, B: 0x99, A: 0xff}
)

// Pickup draws sector and rack from the side, to scale, with tooth 1 of the sector
// at its first contact: as the build stands and after the work. The error is
// [ErrNothing] where one of the two is missing.
func Pickup(r *pickup.Result) (*Picture, error) {
	if r == nil || r.Work == nil || r.Now.Build == nil {
		return nil, nothing("there is no result of a pickup")
	}
	for _, s := range []*pickup.State{&r.Before, &r.After} {
		if err := examined(s); err != nil {
			return nil, err
		}
	}
	p := pickupPicture(r, 21*vg.Centimeter, 10.8*vg.Centimeter, false)
	p.narrow = func() *Picture { return pickupPicture(r, pageWidth, 7.6*vg.Centimeter, true) }
	return p, nil
}

// pickupLegend says what is seen from the side.
func pickupLegend() []string {
	return []string{
		"pickup from the side, to scale: the front is on the left, the sector turns clockwise and pulls the rack to the right",
		"dashed circle: swing of the tips  ·  dotted: what the rack has to leave free  ·  hatched: to be taken down",
	}
}

// pickupPicture is Pickup in a width, each state in a height; on a page without a title.
func pickupPicture(r *pickup.Result, width, panelHeight vg.Length, page bool) *Picture {
	header, said := 2.4*vg.Centimeter, pickupLegend()
	if page {
		said = nil
		for _, line := range pickupLegend() {
			said = append(said, folded(line, letters(9.5, ink), width-2*leftMargin)...)
		}
		header = secondLine*vg.Length(len(said)) + vg.Points(6)
	}
	return &Picture{width: width, height: header + 2*panelHeight, draw: func(c draw.Canvas) {
		c.SetColor(color.White)
		c.Fill(c.Rectangle.Path())
		x, y := c.Min.X+leftMargin, c.Max.Y-vg.Points(2)
		if !page {
			title := letters(16, ink)
			title.YAlign = text.YTop
			x, y = c.Min.X+0.6*vg.Centimeter, c.Max.Y-vg.Points(10)
			c.FillText(title, vg.Point{X: x, Y: y}, short(r.Work.Now.Build.Name, 50))
			y -= vg.Points(21)
		}
		sub := letters(9.5, ink)
		sub.YAlign = text.YTop
		for _, line := range said {
			c.FillText(sub, vg.Point{X: x, Y: y}, line)
			y -= secondLine
		}
		top := draw.Crop(c, 0, 0, panelHeight, -header)
		bottom := draw.Crop(c, 0, 0, 0, -header-panelHeight)
		// Teeth to be taken down are marked where they are still whole.
		cuts := map[int]float64{}
		for _, t := range r.TakeDown {
			cuts[t.Tooth] = t.Depth
		}
		newSideView(top, &r.Before, "as it stands", len(cuts)).draw(cuts, nil)
		newSideView(bottom, &r.After, "after the work", len(cuts)).draw(nil, r.Pads)
	}}
}

// sideView is one state on a canvas.
type sideView struct {
	c      draw.Canvas
	state  *pickup.State
	name   string
	sketch pickup.Sketch
	scale  vg.Length // of a metre
	zero   vg.Point  // where the sector's centre is
	low    float64   // what is below is not drawn [m]
	high   float64   // where the rack's body ends [m]
	left   float64   // what is seen [m]
	right  float64   // [m]
}

// row is the height of a line of names above the rack.
const row = 11 // points

// newSideView fits a state into a canvas, with room for lines of names above.
func newSideView(c draw.Canvas, s *pickup.State, name string, lines int) *sideView {
	v := &sideView{c: c, state: s, name: name, sketch: s.Sketch()}
	k := &v.sketch
	const foot = 0.5 * vg.Centimeter
	head := 2.1*vg.Centimeter + row*vg.Length(max(2, lines))
	v.high = k.Root + 0.9*k.Pitch
	v.low = -0.08 * k.TipRadius
	room := c.Max.Y - c.Min.Y - head - foot
	v.scale = room / vg.Length(v.high-v.low)
	across := float64((c.Max.X - c.Min.X - 1.2*vg.Centimeter) / v.scale)
	if most := 3.6 * k.TipRadius; across > most { // few teeth: no need for so much rack
		across = most
	}
	v.left, v.right = -0.56*across, 0.44*across
	middle := (c.Min.X + c.Max.X) / 2
	v.zero = vg.Point{X: middle - v.scale*vg.Length((v.left+v.right)/2), Y: c.Min.Y + foot - v.scale*vg.Length(v.low)}
	return v
}

func (v *sideView) at(x, y float64) vg.Point {
	return vg.Point{X: v.zero.X + v.scale*vg.Length(x), Y: v.zero.Y + v.scale*vg.Length(y)}
}

// met is the contact that the sector's first tooth really makes.
func (v *sideView) met() *pickup.Contact { return &v.state.Contacts[v.state.FirstTooth-1] }

func (v *sideView) points(all []pickup.Point) []vg.Point {
	p := make([]vg.Point, len(all))
	for i, q := range all {
		p[i] = v.at(q.X, q.Y)
	}
	return p
}

func thin(c color.Color, width float64, dashes ...float64) draw.LineStyle {
	s := draw.LineStyle{Color: c, Width: vg.Points(width)}
	for _, d := range dashes {
		s.Dashes = append(s.Dashes, vg.Points(d))
	}
	return s
}

// shape fills an outline and draws it, closed or open at its root, cut off where the
// view ends.
func (v *sideView) shape(all []pickup.Point, ground color.Color, line draw.LineStyle, closed bool) {
	p := v.points(all)
	box := v.c
	box.Rectangle = vg.Rectangle{Min: v.at(v.left, v.low), Max: v.at(v.right, v.high+v.sketch.Pitch)}
	if ground != nil {
		if q := box.ClipPolygonXY(p); len(q) > 2 {
			v.c.FillPolygon(ground, q)
		}
	}
	if closed {
		p = append(p, p[0])
	}
	v.c.StrokeLines(line, box.ClipLinesXY(p)...)
}

// arc draws part of a circle about the sector's centre, from one angle to another,
// both from straight up towards the rear.
func (v *sideView) arc(line draw.LineStyle, radius, from, to float64) {
	v.shape(arcPoints(radius, from, to), nil, line, false)
}

func arcPoints(radius, from, to float64) (all []pickup.Point) {
	n := 2 + int(math.Abs(to-from)/0.02)
	for i := range n + 1 {
		sin, cos := math.Sincos(from + (to-from)*float64(i)/float64(n))
		all = append(all, pickup.Point{X: radius * sin, Y: radius * cos})
	}
	return all
}

func (v *sideView) draw(cuts map[int]float64, pads []float64) {
	k := &v.sketch
	angle := v.met().SectorAngle
	outline := thin(ink, 1)
	v.sector(angle)

	// The rack: its body, then tooth by tooth.
	body := []pickup.Point{{X: v.left, Y: k.Root}, {X: v.right, Y: k.Root}, {X: v.right, Y: v.high}, {X: v.left, Y: v.high}}
	first := k.RackTooth(1, 0, 0)
	last := k.RackTooth(k.RackTeeth, 0, 0)
	body[0].X, body[3].X = max(v.left, last[0].X-0.3*k.Pitch), max(v.left, last[0].X-0.3*k.Pitch)
	end := first[3].X + 0.8*k.Pitch
	if name := max(0, -v.state.Offset) + float64((vg.Points(16)+letters(9, ink).Width(v.flush()))/v.scale); end < name {
		end = name // the dimension is written on the rack
	}
	end = min(v.right, end)
	body[1].X, body[2].X = end, end
	v.shape(body, rackGround, thin(ink, 0), false)
	v.shape([]pickup.Point{body[3], body[2]}, nil, outline, false)
	if end < v.right {
		v.shape([]pickup.Point{body[1], body[2]}, nil, outline, false)
	}
	rootFrom := body[0].X
	for n := k.RackTeeth; n >= 1; n-- {
		down := k.TakenDown(n)
		tooth := k.RackTooth(n, 0, down)
		if tooth[3].X < v.left || tooth[0].X > v.right {
			continue
		}
		if tooth[0].X > rootFrom {
			v.shape([]pickup.Point{{X: rootFrom, Y: k.Root}, tooth[0]}, nil, outline, false)
		}
		rootFrom = tooth[3].X
		if down > 0 { // what it was
			v.shape(k.RackTooth(n, 0, 0), nil, thin(middle, 0.8, 1.5, 2), false)
		}
		v.shape(tooth, rackGround, outline, false)
		if depth := cuts[n]; depth > down {
			cut := k.RackTooth(n, 0, depth)
			piece := []pickup.Point{cut[1], tooth[1], tooth[2], cut[2]}
			v.shape(piece, cutGround, outline, true)
			v.hatch(piece)
			v.shape([]pickup.Point{{X: cut[1].X - 0.25*k.Pitch, Y: cut[1].Y}, {X: cut[2].X + 0.25*k.Pitch, Y: cut[2].Y}}, nil, thin(ink, 1.6, 5, 2), false)
		}
	}
	if rootFrom < end {
		v.shape([]pickup.Point{{X: rootFrom, Y: k.Root}, {X: end, Y: k.Root}}, nil, outline, false)
	}
	v.spacer(pads)
	v.construction()
	v.dimensions(cuts)
	v.numbers()
	v.header()
	v.ruler()
}

// numbers counts the rack's teeth, on a ground of their own.
func (v *sideView) numbers() {
	k := &v.sketch
	style := letters(9, ink)
	style.YAlign = text.YCenter
	for n := 1; n <= k.RackTeeth; n++ {
		tooth := k.RackTooth(n, 0, 0)
		x := (tooth[0].X + tooth[3].X) / 2
		if x < v.left+0.3*k.Pitch || x > v.right {
			continue
		}
		at := v.at(x, k.Root+0.22*k.Pitch)
		at.X -= style.Width(fmt.Sprint(n)) / 2
		v.paper(style, at, fmt.Sprint(n), rackGround)
	}
}

// sector draws the sector with its first tooth at an angle, and where that tooth
// has come from.
func (v *sideView) sector(angle float64) {
	k := &v.sketch
	v.shape(v.disc(), sectorGround, thin(ink, 0), true)
	of := &v.state.Build.Sector
	for lobe := range of.Lobes {
		for n := 1; n <= k.SectorTeeth; n++ {
			tooth := k.SectorTooth(n, angle-float64(lobe)*of.LobeAngle())
			lowest := math.Inf(1)
			for _, p := range tooth {
				lowest = min(lowest, p.Y)
			}
			if lowest < v.low {
				continue
			}
			v.shape(tooth, sectorGround, thin(ink, 1), false)
		}
	}
	own := 2 * math.Pi / float64(of.FullTeeth)
	v.shape(k.SectorTooth(1, angle-own/2), nil, thin(deep, 0.8, 2.5, 2), false)
	half := math.Acos(max(-1, v.low/k.RootRadius)) // the round between the teeth, and where there are none
	v.arc(thin(ink, 0.8), k.RootRadius, -half, half)
	label := centred(letters(9, ink))
	label.YAlign = text.YCenter
	tip := angle - own/4
	sin, cos := math.Sincos(tip)
	v.c.FillText(label, v.at(0.93*k.PitchRadius*sin, 0.93*k.PitchRadius*cos), "1")
}

// disc is the sector's body down to where the view ends.
func (v *sideView) disc() []pickup.Point {
	half := math.Acos(max(-1, v.low/v.sketch.RootRadius))
	return arcPoints(v.sketch.RootRadius, -half, half)
}

// hatch marks a piece that goes.
func (v *sideView) hatch(piece []pickup.Point) {
	p := v.points(piece)
	box := p[0]
	far := p[0]
	for _, q := range p {
		box.X, box.Y = min(box.X, q.X), min(box.Y, q.Y)
		far.X, far.Y = max(far.X, q.X), max(far.Y, q.Y)
	}
	inside := func(q vg.Point) bool {
		in := false
		for i := range p {
			a, b := p[i], p[(i+1)%len(p)]
			if (a.Y > q.Y) != (b.Y > q.Y) && q.X < a.X+(b.X-a.X)*(q.Y-a.Y)/(b.Y-a.Y) {
				in = !in
			}
		}
		return in
	}
	const step = 1.2 // points
	for off := box.X - (far.Y - box.Y); off < far.X; off += vg.Points(4) {
		var run []vg.Point
		for t := vg.Length(0); t <= far.Y-box.Y; t += vg.Points(step) {
			q := vg.Point{X: off + t, Y: box.Y + t}
			if inside(q) {
				run = append(run, q)
			}
		}
		if len(run) > 1 {
			v.c.StrokeLine2(thin(ink, 0.6), run[0].X, run[0].Y, run[len(run)-1].X, run[len(run)-1].Y)
		}
	}
}

// spacer draws what moves the piston back: as a whole, and pad by pad what is new.
func (v *sideView) spacer(pads []float64) {
	k := &v.sketch
	all := v.state.Build.Piston.Spacer
	if all <= 0 {
		return
	}
	low := v.high + float64(vg.Points(4)/v.scale)
	high := low + float64(vg.Points(9)/v.scale)
	from := k.RackTooth(1, 0, 0)[0].X - all
	x, added := from, 0.
	box := func(thick float64) {
		v.shape([]pickup.Point{{X: x, Y: low}, {X: x + thick, Y: low}, {X: x + thick, Y: high}, {X: x, Y: high}}, spacerGround, thin(ink, 0.8), true)
		x += thick
	}
	for _, p := range pads {
		added += p
	}
	if old := all - added; old > 1e-9 {
		box(old)
	}
	for _, p := range pads {
		box(p)
	}
	label := letters(9, ink)
	label.YAlign = text.YCenter
	what := fmt.Sprintf("spacer %.2f mm", 1e3*all)
	if added > 0 && added < all-1e-9 {
		what += fmt.Sprintf(", %.2f mm of it new", 1e3*added)
	}
	v.c.FillText(label, v.at(x+0.2*k.Pitch, (low+high)/2), what)
}

// construction draws the lines that the dimensions stand on.
func (v *sideView) construction() {
	k := &v.sketch
	v.shape([]pickup.Point{{X: 0, Y: v.low}, {X: 0, Y: v.high}}, nil, thin(middle, 0.7, 9, 2, 1.5, 2), false)
	v.shape([]pickup.Point{{X: v.left, Y: k.PitchRadius}, {X: v.right, Y: k.PitchRadius}}, nil, thin(middle, 0.7, 9, 2, 1.5, 2), false)
	// the swing of the tips, and what has to be left free
	v.arc(thin(deep, 1, 5, 2.5), k.TipRadius, -1.2, 1.2)
	v.arc(thin(deep, 0.7, 1, 2), k.Sweep, -1.2, 0.5)
}

// flush says how far from flush the pickup tooth stands.
func (v *sideView) flush() string {
	e := v.state.Offset
	switch {
	case math.Abs(e) < 5e-6:
		return "flush"
	case e < 0:
		return fmt.Sprintf("%.2f mm behind flush", -1e3*e)
	}
	return fmt.Sprintf("%.2f mm ahead of flush", 1e3*e)
}

func (v *sideView) dimensions(cuts map[int]float64) {
	k, s := &v.sketch, v.state
	at := v.met()
	// the contact angle
	heavy := thin(warm, 1.4)
	v.shape([]pickup.Point{{}, {X: at.X, Y: at.Y}}, nil, heavy, false)
	radius := 0.5 * k.PitchRadius
	v.arc(heavy, radius, min(0, -at.Angle), max(0, -at.Angle))
	label := letters(10, ink)
	label.YAlign = text.YCenter
	sin, cos := math.Sincos(-max(at.Angle, 0))
	name := pickup.Degrees(at.Angle, "°")
	place := v.at(radius*sin, radius*cos)
	place.X -= label.Width(name) + vg.Points(5)
	v.paper(label, place, name, sectorGround)
	v.c.DrawGlyph(draw.GlyphStyle{Color: ink, Radius: vg.Points(3.2), Shape: draw.CircleGlyph{}}, v.at(at.X, at.Y))
	v.c.DrawGlyph(draw.GlyphStyle{Color: ink, Radius: vg.Points(2), Shape: draw.CircleGlyph{}}, v.at(0, 0))

	// how far ahead the pickup tooth stands, above the rack
	y := v.high - 0.22*k.Pitch
	v.measure(-s.Offset, 0, y, v.flush())

	// teeth to come down
	for n := 2; n <= k.RackTeeth; n++ {
		depth, ok := cuts[n]
		if !ok {
			continue
		}
		tooth := k.RackTooth(n, 0, k.TakenDown(n))
		x := (tooth[0].X + tooth[3].X) / 2
		if x < v.left || x > v.right {
			continue
		}
		// The frontmost stands lowest and to the left, so that no leader meets a name.
		text := fmt.Sprintf("tooth %d: down by %.2f mm", n, 1e3*depth)
		style := letters(9.5, ink)
		ahead := 0
		for o, d := range cuts {
			if tooth := k.RackTooth(o, 0, 0); d > 0 && o > n && tooth[0].X > v.left {
				ahead++
			}
		}
		up := v.at(x, v.high)
		up.Y += 4 + row*vg.Length(ahead)
		cut := k.RackTooth(n, 0, depth)
		from := v.at(x, (cut[1].Y+tooth[1].Y)/2)
		v.c.StrokeLine2(thin(ink, 0.7), from.X, from.Y, up.X, up.Y+vg.Points(8))
		up.X = max(up.X-vg.Points(4)-style.Width(text), v.c.Min.X+vg.Points(4))
		v.c.FillText(style, up, text)
	}
}

// paper writes on a ground of its own.
func (v *sideView) paper(style text.Style, at vg.Point, what string, ground color.Color) {
	half, edge := style.Height(what)/2, vg.Points(1.5)
	v.c.FillPolygon(ground, []vg.Point{
		{X: at.X - edge, Y: at.Y - half}, {X: at.X + style.Width(what) + edge, Y: at.Y - half},
		{X: at.X + style.Width(what) + edge, Y: at.Y + half}, {X: at.X - edge, Y: at.Y + half},
	})
	v.c.FillText(style, at, what)
}

// measure draws a dimension between two places at a height, its text to the right.
func (v *sideView) measure(x0, x1, y float64, what string) {
	if x0 > x1 {
		x0, x1 = x1, x0
	}
	line := thin(ink, 0.8)
	a, b := v.at(x0, y), v.at(x1, y)
	for _, x := range []float64{x0, x1} {
		end := v.at(x, y)
		foot := v.at(x, v.sketch.PitchRadius)
		v.c.StrokeLine2(thin(ink, 0.5), end.X, end.Y+vg.Points(4), foot.X, foot.Y)
		v.c.StrokeLine2(line, end.X-vg.Points(2.5), end.Y-vg.Points(2.5), end.X+vg.Points(2.5), end.Y+vg.Points(2.5))
	}
	v.c.StrokeLine2(line, a.X-vg.Points(6), a.Y, b.X+vg.Points(6), b.Y)
	style := letters(9, ink)
	style.YAlign = text.YCenter
	v.c.FillText(style, vg.Point{X: b.X + vg.Points(10), Y: b.Y}, what)
}

// header says what is seen.
func (v *sideView) header() {
	s := v.state
	style := letters(11, ink)
	style.YAlign = text.YTop
	at := vg.Point{X: v.c.Min.X + 0.6*vg.Centimeter, Y: v.c.Max.Y - vg.Points(4)}
	words := fmt.Sprintf("%s: %s", v.name, s.Contact.Kind.Say())
	if len(s.Blocking) > 0 {
		words += fmt.Sprintf(", but rack tooth %d is in the way", s.FirstTooth)
	}
	v.c.FillText(style, at, words)
	style = letters(9, ink)
	style.YAlign = text.YTop
	at.Y -= vg.Points(15)
	var lines [2]string
	add := func(i int, format string, value float64) {
		if math.IsNaN(value) {
			return
		}
		if lines[i] != "" {
			lines[i] += "  ·  "
		}
		lines[i] += fmt.Sprintf(format, value)
	}
	lines[0] = "contact angle " + pickup.Degrees(s.Contact.Angle, "°")
	if s.FirstTooth != 1 {
		lines[0] += fmt.Sprintf(", but tooth %d is met first, at %s", s.FirstTooth, pickup.Degrees(v.met().Angle, "°"))
	}
	add(0, "depth of contact %.0f %%", 100*s.Depth)
	add(0, "stroke %.1f mm", 1e3*s.Stroke)
	if s.Contact.Kind != pickup.Land && len(s.Blocking) == 0 { // else it jams
		add(0, "%.1f m/s", s.Cycle.Summary.MuzzleVelocity)
		add(0, "%.1f rounds a second", s.Cycle.Summary.RateOfFire)
		if late := -s.Cycle.Summary.PMEMargin; late > 0 {
			add(0, namePME+": home %.1f ms too late", 1e3*late)
		}
	}
	add(1, "pickup tooth %.0f MPa", s.PickupStress/1e6)
	add(1, "release tooth %.0f MPa", s.ReleaseStress/1e6)
	add(1, "strength %.0f MPa: a comparison of builds, no promise", s.Build.Rack.Strength/1e6)
	room := v.c.Max.X - at.X - vg.Points(8)
	for _, line := range append(broken(lines[0], style, room), broken(lines[1], style, room)...) {
		v.c.FillText(style, at, line)
		at.Y -= vg.Points(12)
	}
}

// ruler draws the scale.
func (v *sideView) ruler() {
	length := roundStep(v.sketch.TipRadius / 4)
	x := v.right - length
	a, b := v.at(x, v.low), v.at(x+length, v.low)
	line := thin(ink, 1.2)
	v.c.StrokeLine2(line, a.X, a.Y, b.X, b.Y)
	for _, p := range []vg.Point{a, b} {
		v.c.StrokeLine2(line, p.X, p.Y-vg.Points(3), p.X, p.Y+vg.Points(3))
	}
	style := centred(letters(9, ink))
	v.c.FillText(style, vg.Point{X: (a.X + b.X) / 2, Y: a.Y + vg.Points(4)}, fmt.Sprintf("%g mm", math.Round(1e6*length)/1e3))
}
