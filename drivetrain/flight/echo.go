package flight

// echo is the force of a spring with waves (equation D12): Fs = Z·v + push(t), where
// the push at the piston is what came back from the spring's far end. Until 2τ that is
//
//	push(t) = k·(x0 + s) + k·v0·t − Z·v0
//
// and later push(t) = push(t − 2τ) + 2·Z·v(t − 2τ): each step, once made, is written
// down as the piece of the push that it will be 2τ later, a polynomial of degree 4 with its
// ends' values and slopes. Where the piston's speed jumps, at the release and at its stop,
// the push has a kink or a jump 2τ later, and again every 2τ after that; there steps
// have to end.
type echo struct {
	impedance, delay float64
	pieces           []piece
	head             int // piece that the present time is in
	ends             []float64
	next             int // of ends
}

// piece is a part of the push over time: a nested polynomial, as a step's.
type piece struct {
	t0, t1         float64
	per            float64 // one over its length [1/s]
	y0             float64 // [N]
	r1, r2, r3, r4 float64
}

// newPiece returns the polynomial with values [N] and slopes [N/s] at its ends, and r4.
func newPiece(t0, t1, y0, y1, d0, d1, r4 float64) piece {
	h, r1 := t1-t0, y1-y0
	r2 := h*d0 - r1
	return piece{t0, t1, 1 / h, y0, r1, r2, r1 - r2 - h*d1, r4}
}

// place is s at a time; outside, at the nearest end.
func (p *piece) place(t float64) float64 {
	s := (t - p.t0) * p.per
	if s < 0 {
		return 0
	}
	if s > 1 {
		return 1
	}
	return s
}

// at returns the push at a time [N].
func (p *piece) at(t float64) float64 {
	return nested(p.place(t), p.y0, p.r1, p.r2, p.r3, p.r4)
}

// slope returns its derivative [N/s].
func (p *piece) slope(t float64) float64 {
	return nestedRate(p.place(t), p.r1, p.r2, p.r3, p.r4) * p.per
}

// sliver is a time too short to count, as a share of 2τ and of the time so far.
const sliver = 1e-13

func (e *echo) sliver(t float64) float64 { return sliver * (e.delay + t) }

// start puts a gun's spring at the release, with the piston at a speed [m/s].
func (e *echo) start(g *gun, speed float64) {
	e.impedance, e.delay = g.impedance, g.delay
	e.pieces, e.ends = e.pieces[:0], e.ends[:0]
	e.head, e.next = 0, 0
	if g.impedance == 0 {
		return
	}
	slope := g.rate * speed
	base := g.rate*(g.preload+g.stroke) - g.impedance*speed
	e.pieces = append(e.pieces, newPiece(0, g.delay, base, base+slope*g.delay, slope, slope, 0))
	e.jump(0)
}

// jump takes notice that the piston's speed, or what moves it, jumps at a time.
func (e *echo) jump(t float64) {
	if e.impedance == 0 {
		return
	}
	if n := len(e.ends); n > e.next && t+e.delay-e.ends[n-1] <= e.sliver(t) {
		return
	}
	e.ends = squeeze(e.ends, &e.next)
	e.ends = append(e.ends, t+e.delay)
}

// end returns the time at which the next kink comes back.
func (e *echo) end() float64 { return e.ends[e.next] }

// enter goes to a time that a step starts at. What has come back by then will do so
// again.
func (e *echo) enter(t float64) {
	for e.next < len(e.ends) && e.ends[e.next] <= t {
		e.next++
		e.jump(t)
	}
	for e.head+1 < len(e.pieces) && t >= e.pieces[e.head].t1-e.sliver(t) {
		e.head++
	}
}

// find returns the piece of a time in the present step.
func (e *echo) find(t float64) *piece {
	i := e.head
	for i+1 < len(e.pieces) && t > e.pieces[i].t1+e.sliver(t) {
		i++
	}
	return &e.pieces[i]
}

// end is what a step's echo follows from at one of its ends: the push [N] with its
// slope [N/s], and the piston's speed and acceleration.
type end struct{ push, slope, speed, acceleration float64 }

// fourth returns r4 of the push in a step, from what it is in the middle.
func (e *echo) fourth(t0, t1 float64, a, b *end) float64 {
	middle := t0 + (t1-t0)/2
	return 16 * (e.find(middle).at(middle) - ((a.push+b.push)/2 + (t1-t0)/8*(a.slope-b.slope)))
}

// add writes down a step, with the r4 of the push and of the speed in it.
func (e *echo) add(t1 float64, a, b *end, push4, speed4 float64) {
	e.pieces = squeeze(e.pieces, &e.head)
	z := 2 * e.impedance
	e.pieces = append(e.pieces, newPiece(e.pieces[len(e.pieces)-1].t1, t1+e.delay,
		a.push+z*a.speed, b.push+z*b.speed, a.slope+z*a.acceleration, b.slope+z*b.acceleration, push4+z*speed4))
}

// squeeze moves what is left of a list to its start when it is full and half of it is
// past.
func squeeze[T any](list []T, past *int) []T {
	if len(list) < cap(list) || 2**past < len(list) {
		return list
	}
	n := copy(list, list[*past:])
	*past = 0
	return list[:n]
}
