package flight

// knot is a place on a flight's course, where a step starts or ends.
type knot struct {
	t     float64
	y     [active]float64
	slope [active]float64
	push  float64 // of a spring with waves [N]
	rise  float64 // of that [N/s]
}

// span is a part of a flight in one mode.
type span struct {
	mode        mode
	first, last int // knots; the last is just before what ends it
	kind        int // of the event that does; quietly: none
}

// quietly is no event.
const quietly = -1

// track is what is written down of a flight up to the muzzle.
type track struct {
	knots []knot
	spans []span
	on    bool // it is kept
}

// start begins anew, if it is kept.
func (r *track) start(on bool) { r.knots, r.spans, r.on = r.knots[:0], r.spans[:0], on }

// lose gives it up.
func (r *track) lose() {
	if r.on {
		r.start(false)
	}
}

// enter begins a span at a point.
func (r *track) enter(m *mode, p *point) {
	if !r.on {
		return
	}
	if m.pellet == out {
		r.on = false
		return
	}
	r.spans = append(r.spans, span{mode: *m, first: len(r.knots), kind: quietly})
	r.add(p)
}

// add writes down a point that a step has come to.
func (r *track) add(p *point) {
	if !r.on {
		return
	}
	r.spans[len(r.spans)-1].last = len(r.knots)
	r.knots = append(r.knots, knot{p.y[clock], [active]float64(p.y[:active]), p.slopes(), p.now.push, p.in.push})
}

// leave ends a span at an event, with the state just before it, whose slopes are left out.
func (r *track) leave(kind int, t float64, y *[states]float64) {
	if !r.on {
		return
	}
	s := &r.spans[len(r.spans)-1]
	s.kind, s.last = kind, len(r.knots)
	r.knots = append(r.knots, knot{t: t, y: [active]float64(y[:active])})
}

// push writes down what the spring pushes at the last knot, as at a point.
func (r *track) push(p *point) {
	if r.on {
		k := &r.knots[len(r.knots)-1]
		k.push, k.rise = p.now.push, p.in.push
	}
}
