package flight

import "math"

// The events of every mode, in this order; each is off (constant) where it
// doesn't apply.
const (
	pelletFreed = iota
	pelletMark
	pelletStops
	portEdge
	pistonArrives
	pistonLifts
	settles
	wallStirs
	pelletBrisk
	airRough
	airTears
	pistonClear
	pistonTurns
	pressure1Peaks
	pressure2Peaks
)

// look tells by what is cheap which events may lie in the step from near to far, as
// a set of bits. Where something moves as in a Hermite polynomial, it stays between
// the least and the largest of four values.
func (f *Flyer) look() (kinds uint) {
	g, m, a, b := &f.gun, &f.mode, f.step.near, f.step.far
	h := f.step.h / 3
	if m.seated {
		lift := f.lift1
		if f.step.waves {
			push := min(a.now.push, b.now.push, a.now.push+h*a.in.push, b.now.push-h*b.in.push)
			lift = g.pressure*(1+moveSlack) + push/g.piston
		}
		if max(b.p1, a.p1+h*a.r1, b.p1-h*b.r1) >= lift {
			kinds |= 1 << pistonLifts
		}
		if m.pellet != sliding && max(b.p1, b.p2) <= f.settle {
			kinds |= 1 << settles
		}
	} else {
		x0, x1, v0, v1 := a.y[travel], b.y[travel], a.y[speed], b.y[speed]
		c0, c1 := x0+h*v0, x1-h*v1
		lo, hi := min(x0, x1, c0, c1), max(x0, x1, c0, c1)
		if lo <= 0 {
			kinds |= 1 << pistonArrives
		}
		if lo <= g.clear && g.clear <= hi {
			kinds |= 1 << pistonClear
		}
		if g.hasPort && lo <= g.port && g.port <= hi {
			kinds |= 1 << portEdge
		}
		c0, c1 = v0+h*a.v, v1-h*b.v
		if max(v0, c0, c1) > 0 && min(v1, c0, c1) <= 0 {
			kinds |= 1 << pistonTurns
		}
	}
	if f.step.full {
		kinds |= f.lookAir(b)
	}
	switch m.pellet {
	case held:
		if max(b.p2, a.p2+h*a.r2, b.p2-h*b.r2) >= f.free2 {
			kinds |= 1 << pelletFreed
		}
	case sliding:
		w0, w1 := a.y[fast], b.y[fast]
		if max(b.y[along], a.y[along]+h*w0, b.y[along]-h*w1) >= f.mark() {
			kinds |= 1 << pelletMark
		}
		if min(w1, w0+h*a.w, w1-h*b.w) <= 0 {
			kinds |= 1 << pelletStops
		}
	}
	return kinds
}

// lookAir tells which jumps of the air in the barrel lie before a point.
func (f *Flyer) lookAir(p *point) (kinds uint) {
	m := &f.mode
	look := func(kind int, on bool, value, limit float64) {
		if (value > f.jumps.limit(kind, on, limit)) != on {
			kinds |= 1 << kind
		}
	}
	if f.step.warm2 > 0 {
		look(wallStirs, m.stirred, p.re.wall, turbulent)
	}
	if m.pellet != sliding || !f.gun.pipe {
		return kinds
	}
	look(pelletBrisk, m.brisk, p.y[fast], slowest)
	look(airRough, m.rough, p.re.behind, turbulent)
	look(airTears, m.ahead, p.y[fast], f.tearing)
	return kinds
}

// judge sets what the air in the barrel does by the state at the start of a mode, but for
// what stands so near a jump that only rounding may have it on one side of it. It tells
// whether that changes anything.
func (f *Flyer) judge(p *point) bool {
	const near = 1e-6
	g, m := &f.gun, &f.mode
	was := *m
	set := func(kind int, value, limit float64) {
		on := m.flag(kind)
		if limit = f.jumps.limit(kind, *on, limit); math.Abs(value-limit) > near*limit {
			*on = value > limit
		}
	}
	if f.step.warm2 > 0 {
		set(wallStirs, p.re.wall, turbulent)
	}
	if m.pellet == sliding && g.pipe {
		set(pelletBrisk, p.y[fast], slowest)
		set(airRough, p.re.behind, turbulent)
		set(airTears, p.y[fast], f.tearing)
	}
	return was != *m
}

// airValue returns, of a jump of the air in the barrel, what rises through zero.
func (f *Flyer) airValue(kind int, b *bend, s float64) float64 {
	g := &f.gun
	var value, limit float64
	switch kind {
	case pelletBrisk:
		value, limit = b.at(fast, s), slowest
	case airTears:
		value, limit = b.at(fast, s), f.tearing
	default:
		var y [states]float64
		for i := range clock {
			y[i] = b.at(i, s)
		}
		if kind == airRough {
			value, limit = g.reynoldsBehind(y[:]), turbulent
			break
		}
		value, limit = g.wallReynolds(y[:]), turbulent
	}
	on := *f.mode.flag(kind)
	limit = f.jumps.limit(kind, on, limit)
	if on {
		return limit - value
	}
	return value - limit
}

// value returns, on a step's polynomial, what rises through zero where an event
// happens.
func (f *Flyer) value(kind int, b *bend, s float64) float64 {
	g := &f.gun
	switch kind {
	case pelletFreed:
		return f.pressure2(b, s) - f.free2
	case pelletMark:
		return b.at(along, s) - f.mark()
	case pelletStops:
		return -b.at(fast, s)
	case portEdge:
		if f.mode.portOpen {
			return g.port - b.at(travel, s)
		}
		return b.at(travel, s) - g.port
	case pistonArrives:
		return -b.at(travel, s)
	case pistonLifts:
		if f.step.waves {
			return f.pressure1(b, s) - f.liftAt(b.at(clock, s))
		}
		return f.pressure1(b, s) - f.lift1
	case wallStirs, pelletBrisk, airRough, airTears:
		return f.airValue(kind, b, s)
	case settles:
		return f.settle - max(f.pressure1(b, s), f.pressure2(b, s))
	case pistonClear:
		return g.clear - b.at(travel, s)
	}
	return -b.at(speed, s)
}

// slope returns the derivative of value by s.
func (f *Flyer) slope(kind int, b *bend, s float64) float64 {
	switch kind {
	case pelletFreed:
		return f.slope2(b, s)
	case pelletMark:
		return b.rate(along, s)
	case pelletStops:
		return -b.rate(fast, s)
	case portEdge:
		if f.mode.portOpen {
			return -b.rate(travel, s)
		}
		return b.rate(travel, s)
	case pistonLifts:
		if f.step.waves {
			t := b.at(clock, s)
			return f.slope1(b, s) - f.echo.find(t).slope(t)*b.rate(clock, s)/f.gun.piston
		}
		return f.slope1(b, s)
	case settles:
		if f.pressure1(b, s) > f.pressure2(b, s) {
			return -f.slope1(b, s)
		}
		return -f.slope2(b, s)
	case pistonTurns:
		return -b.rate(speed, s)
	}
	return -b.rate(travel, s)
}

func (f *Flyer) pressure1(b *bend, s float64) float64 {
	return (Gamma - 1) * b.at(energy1, s) / (f.gun.piston*b.at(travel, s) + f.gun.dead)
}

func (f *Flyer) pressure2(b *bend, s float64) float64 {
	g := &f.gun
	energy := b.at(energy2, s)
	if g.kinetic > 0 {
		w := b.at(fast, s)
		energy -= g.kinetic / 2 * b.at(mass2, s) * w * w
	}
	return (Gamma - 1) * energy / (g.breech + g.bore*b.at(along, s))
}

// slope1 returns the derivative of pressure1 by s, and slope2 that of pressure2.
func (f *Flyer) slope1(b *bend, s float64) float64 {
	V := f.gun.piston*b.at(travel, s) + f.gun.dead
	return (Gamma - 1) * (b.rate(energy1, s) - b.at(energy1, s)*f.gun.piston*b.rate(travel, s)/V) / V
}

func (f *Flyer) slope2(b *bend, s float64) float64 {
	V := f.gun.breech + f.gun.bore*b.at(along, s)
	energy, rate := b.at(energy2, s), b.rate(energy2, s)
	if k := f.gun.kinetic / 2; k > 0 {
		m, w := b.at(mass2, s), b.at(fast, s)
		energy -= k * m * w * w
		rate -= k * (b.rate(mass2, s)*w + 2*m*b.rate(fast, s)) * w
	}
	return (Gamma - 1) * (rate - energy*f.gun.bore*b.rate(along, s)/V) / V
}

// crossing is an event in a step, between two places of its polynomial.
type crossing struct {
	kind   int
	lo, hi float64
	s      float64
}

const mostEvents = 10_000

// scan looks for events of the kinds in the step from near to far, whose polynomial
// it keeps in full. At the first that changes the mode it ends the step there, sets
// time and state, switches the mode and returns true.
func (f *Flyer) scan(kinds uint, first bool) bool {
	s := &f.step
	s.dense(&f.full)
	length := s.h
	places := []float64{1. / 64, 1. / 16, 0.2, 0.4, 0.6, 0.8, 1}
	if !first {
		places = places[2:]
	}
	// A kind rises through zero before every second place at most.
	var found [(pistonTurns + 1) * 4]crossing
	n := 0
	for kind := 0; kind <= pistonTurns; kind++ {
		if kinds>>kind&1 == 0 {
			continue
		}
		var armed bool
		switch kind {
		case pistonClear:
			armed = f.above
		case pistonTurns:
			armed = f.rearward
		default:
			armed = f.value(kind, &f.full, 0) < 0
		}
		before := 0.
		for _, at := range places {
			g := f.value(kind, &f.full, at)
			if armed && g >= 0 {
				found[n] = crossing{kind: kind, lo: before, hi: at}
				n++
			}
			armed = g < 0
			before = at
		}
	}
	if n == 0 {
		return false
	}
	for i := range n {
		found[i].s = f.root(&found[i])
		for j := i; j > 0 && found[j].s < found[j-1].s; j-- {
			found[j], found[j-1] = found[j-1], found[j]
		}
	}
	before := f.noted()
	for i := range found[:n] {
		c := &found[i]
		f.counts[c.kind]++
		if f.counts[c.kind] > mostEvents {
			f.gaveUp = true
			f.y = s.near.y
			return false
		}
		switch c.kind {
		case pistonTurns:
			f.turns(f.t+c.s*length, f.full.at(travel, c.s))
			f.rearward = false
			continue
		case pistonClear:
			f.clears(f.t + f.land(c, length))
			f.above = false
			continue
		}
		h := f.land(c, length)
		end := max(f.t+h, math.Nextafter(f.t, math.Inf(1)))
		if f.trace != nil {
			f.append(&f.part, end)
		}
		if f.rails.on {
			f.rails.add(f.t, end, &f.mode, f.part.course)
		}
		if f.watch < end {
			f.see(&f.part, end-f.t)
		}
		f.partPeaks(h)
		f.precede(before, end)
		f.track.leave(c.kind, end, &f.part.y1)
		if s.waves {
			f.spare.y = f.part.y1
			f.spare.y[clock] = end
			s.begin(f.spare)
			f.keep(f.spare, end)
			f.track.push(f.spare)
		}
		f.t, f.y = end, f.part.y1
		f.y[clock] = end
		f.echo.enter(end)
		f.control.restart()
		f.meet(c.kind)
		return true
	}
	return false
}

// noted returns how many events are in the trace.
func (f *Flyer) noted() int {
	if f.trace == nil {
		return 0
	}
	return len(f.trace.Events)
}

// precede puts no later than the end of a step what was noted in it, from an event of
// the trace on: where the piston bounces less than the tolerance can tell, the step
// that meets it may do so before the polynomial has it turn.
func (f *Flyer) precede(from int, end float64) {
	f.summary.TimeToHome = min(f.summary.TimeToHome, end)
	for i := from; i < f.noted(); i++ {
		e := &f.trace.Events[i]
		e.Time = min(e.Time, end)
	}
}

// meet switches the mode at an event.
func (f *Flyer) meet(kind int) {
	switch kind {
	case pelletFreed:
		f.free()
	case pelletMark:
		f.pass()
		f.sudden = f.mode.pellet == out
	case pelletStops:
		f.shot.stop()
	case portEdge:
		f.turnPort(!f.mode.portOpen)
		f.sudden = true
		f.y[travel] = f.beyond()
	case pistonArrives:
		f.arrive()
		f.sudden = true
	case pistonLifts:
		f.lift()
	case wallStirs, pelletBrisk, airRough, airTears:
		f.change(kind)
	}
}

// beyond is the next float behind the port's edge, on the side that the piston has
// come to: the event of its coming back is armed at once.
func (f *Flyer) beyond() float64 {
	if f.mode.portOpen {
		return math.Nextafter(f.gun.port, math.Inf(1))
	}
	return math.Nextafter(f.gun.port, math.Inf(-1))
}

// root finds where a crossing lies on the polynomial, by the secant of a bracket that is
// halved where that is slow.
func (f *Flyer) root(c *crossing) float64 {
	lo, hi := c.lo, c.hi
	glo, ghi := f.value(c.kind, &f.full, lo), f.value(c.kind, &f.full, hi)
	if glo >= 0 {
		return lo
	}
	slow := false
	enough := fine
	if ofAir(c.kind) {
		enough = fair
	}
	for range 200 {
		width := hi - lo
		if ghi == 0 || width < enough {
			break
		}
		s := lo + width/2
		if !slow {
			s = min(max(hi-ghi*width/(ghi-glo), lo+enough/2), hi-enough/2)
		}
		g := f.value(c.kind, &f.full, s)
		if g >= 0 {
			hi, ghi = s, g
			glo /= 2
		} else {
			lo, glo = s, g
			ghi /= 2
		}
		slow = hi-lo > width/2
	}
	return hi
}

// fine is how closely a crossing is found, as part of a step, and fair how closely one
// of the air in the barrel, at which next to nothing jumps: neither pressures nor speeds.
const (
	fine = 1e-13
	fair = 1e-7
)

// ofAir tells whether a kind is a jump of the air in the barrel.
func ofAir(kind int) bool { return kind >= wallStirs && kind <= airTears }

// land makes a step that ends at a crossing, on the state itself and not only on the
// polynomial of the longer step, and returns its length. Its polynomial is in part.
func (f *Flyer) land(c *crossing, length float64) float64 {
	s := &f.step
	far, whole := s.far, s.h
	s.far = f.spare
	defer func() { s.far, s.h = far, whole }()
	place := c.s
	for range 8 {
		h := place * length
		if !(h > 0) {
			break
		}
		if e := s.try(h); math.IsNaN(e) {
			break
		}
		s.dense(&f.part)
		if ofAir(c.kind) {
			return h // when that is hardly counts
		}
		g, slope := f.value(c.kind, &f.part, 1), f.slope(c.kind, &f.part, 1)
		d := -g / slope
		if !(math.Abs(d) < 1) || slope <= 0 {
			break
		}
		if math.Abs(d) <= 1e-3 {
			f.part.cut(1 + d)
			return h * f.reach(c.kind, 1+d)
		}
		place *= 1 + d
		if place > 1 {
			break
		}
	}
	f.part = f.full
	f.part.cut(c.s)
	return c.s * length * f.reach(c.kind, 1)
}

// reach lengthens part by roundings until a pressure does what its event says.
func (f *Flyer) reach(kind int, done float64) float64 {
	short := func() bool {
		y := f.part.y1[:]
		switch kind {
		case pelletFreed:
			return f.spare2(y) < 0
		case pistonLifts:
			return f.spare1(y) < 0
		case settles:
			return f.inHand(y) < 0
		}
		return false
	}
	for e := 1e-15; short() && e < 1e-6; e *= 2 {
		f.part.cut(1 + e)
		done *= 1 + e
	}
	return done
}

// peaks takes notice of the largest pressures in a step.
func (f *Flyer) peaks(known bool) {
	a, b := f.step.near, f.step.far
	h := f.step.h / 3
	f.most1, f.most2 = max(f.most1, b.p1), max(f.most2, b.p2)
	one := max(a.p1+h*a.r1, b.p1-h*b.r1) > f.most1
	two := max(a.p2+h*a.r2, b.p2-h*b.r2) > f.most2
	if !one && !two {
		return
	}
	if !known {
		f.step.dense(&f.full)
	}
	if one {
		f.most1 = f.crest(&f.full, f.step.h, f.most1, false)
	}
	if two {
		f.most2 = f.crest(&f.full, f.step.h, f.most2, true)
	}
}

// partPeaks is peaks for the part of a step up to the event that ends it, of a length [s],
// on the polynomial of its own.
func (f *Flyer) partPeaks(length float64) {
	f.most1 = f.crest(&f.part, length, f.most1, false)
	f.most2 = f.crest(&f.part, length, f.most2, true)
}

// crest returns the larger of a value and the largest pressure in a step from near, of a
// polynomial and a length [s]: in the cylinder, or in the barrel.
func (f *Flyer) crest(b *bend, length, most float64, barrel bool) float64 {
	start, end := f.pressure(b, 0, barrel), f.pressure(b, 1, barrel)
	most = max(most, end)
	rise := f.step.near.rise(barrel)
	if max(start+length*rise/3, end-f.climb(b, 1, barrel)/3) <= most {
		return most
	}
	before, up := 0., rise > 0
	for i := 1; i <= 4; i++ {
		s := float64(i) / 4
		now := f.climb(b, s, barrel) > 0
		if up && !now {
			most = max(most, f.top(b, before, s, length, barrel))
		}
		before, up = s, now
	}
	return most
}

// top returns the largest pressure between two places of a step from near, at the first
// of which it rises and at the other not. It is that of a step of its own that ends there:
// steps are more exact by far than their polynomial, which knows nothing of a peak behind
// an event that is over in a part of it.
func (f *Flyer) top(b *bend, lo, hi, length float64, barrel bool) float64 {
	const enough = 1e-2 // of a step's tolerance
	s := &f.step
	far, whole := s.far, s.h
	s.far = f.spare
	defer func() { s.far, s.h = far, whole }()
	place := lo + (hi-lo)/8
	if f.climb(b, lo, barrel) > 0 {
		a, z := lo, hi
		for range 20 {
			if mid := (a + z) / 2; f.climb(b, mid, barrel) > 0 {
				a = mid
			} else {
				z = mid
			}
		}
		place = z
	}
	most := f.pressure(b, lo, barrel)
	up, down := s.near.rise(barrel), f.climb(b, hi, barrel)/length // at lo and hi
	if lo > 0 {
		up = f.climb(b, lo, barrel) / length
	}
	for range 12 {
		if !(s.try(place*length) < math.Inf(1)) {
			return max(most, f.pressure(b, place, barrel))
		}
		s.begin(s.far)
		p, rise := s.far.p1, s.far.rise(barrel)
		if barrel {
			p = s.far.p2
		}
		most = max(most, p)
		if rise > 0 {
			lo, up = place, rise
			down /= 2
		} else {
			hi, down = place, rise
			up /= 2
		}
		next := lo + (hi-lo)*up/(up-down)
		if !(math.Abs(rise*(next-place)*length) > enough*f.tol*p) || !(next > lo && next < hi) {
			break
		}
		place = next
	}
	return most
}

// pressure is pressure1 or, of the barrel, pressure2, and climb its derivative by s.
func (f *Flyer) pressure(b *bend, s float64, barrel bool) float64 {
	if barrel {
		return f.pressure2(b, s)
	}
	return f.pressure1(b, s)
}

func (f *Flyer) climb(b *bend, s float64, barrel bool) float64 {
	if barrel {
		return f.slope2(b, s)
	}
	return f.slope1(b, s)
}

// rise is how fast the pressure of the cylinder or the barrel rises [Pa/s].
func (p *point) rise(barrel bool) float64 {
	if barrel {
		return p.r2
	}
	return p.r1
}
