package flight

import (
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// Two flights of a gun that differ in nothing but the speed at which the rack is let go are
// all but the same, one a little earlier or later and a little stronger or weaker than the
// other. Where of the one only the time to the muzzle is wanted, as of a first shot, it is
// found by what sets it apart from the other: with P the course of the flight that was
// flown, put so in time that both pistons come to a stop together, and P + δ the other,
//
//	δ′ = f(P + δ) − f(P).
//
// δ is small, and so wants few figures and long steps: from one knot of the flight's track
// over some to another. The method is TR-BDF2: the trapezoidal rule to a knot within the
// step, and from there on by the backward formula of order 2 through both (R. E. Bank et
// al., IEEE Trans. Electron Devices 32 (1985) 1992; M. E. Hosea and L. F. Shampine, Appl.
// Numer. Math. 20 (1996) 21, both from memory). It is L-stable wherever that knot lies, and
// each half takes one step of Newton's iteration.
//
// An event of the one comes a little sooner or later in the other: there δ jumps by that
// time's worth of the difference in what drives it before and after, which is exact to the
// first order in the time. What δ can't tell, and what is too far apart, has to be flown.

const (
	// Steps of δ go over so many of the flight's own at most: where the flight had to look
	// closely, as where the piston's drag turns round, δ must not look away.
	mostKnots = 6
	// The place within a step at which both halves are alike.
	halfway = 2 - math.Sqrt2
	// What a step may err, as a share of what the same steps may where the flight to the
	// muzzle is flown: the method has less in hand than RODAS; and the steps are more the
	// tighter they are.
	besideShare = 0.05
	besideOrder = 1. / 3
	// A step over two of the flight's can't be shorter. Few are such, and may err so much more.
	bearable = 4
	// One step of Newton's iteration misses what it has moved squared, as a share of the state.
	newton = 10
	// Turns have to be so many times as far from the port as they are apart, and what meets an
	// edge may not lose more than such a share of its speed until the other does.
	grazing = 2
	slowing = 0.03
	// The first step in a span, in those of the flight.
	firstLeap = 10
	// An error that decays within such a part of a piston's stroke hardly counts.
	passing = 1. / 50
)

// aside is a flight beside the one on a track.
type aside struct {
	laws
	f      *Flyer
	matrix matrix
	at     point // of the flight beside, where it was looked at last

	least    [active]float64 // what errors may come to: absolute
	relative float64         // and relative
	lasting  float64         // what decays sooner hardly counts [s]

	apart  [active]float64 // δ
	change [active]float64 // δ′
	late   float64         // how much later than its own the other's time is [s]
	raw    bool            // δ′ is f's, not what a step came to
	step   float64         // to try next [s]

	resound resound
	push    sway    // how much more its spring pushes, where it was looked at last
	sways   [3]sway // of the last step tried

	evaluations int
}

// begin makes ready for a flight that is over.
func (a *aside) begin(f *Flyer, s *Settings) {
	g := &f.gun
	*a = aside{f: f, resound: resound{sent: a.resound.sent[:0]}, step: math.Inf(1), lasting: passing * g.swing()}
	d := Settings{Tolerance: s.Tolerance, Delay: s.Neighbour.Delay}
	tolerance := d.later(g)
	if given := f.given(); f.summary.MuzzleEnergy < usualPellet*given {
		tolerance = min(tolerance, d.slower(&f.summary, given))
	}
	tolerance *= besideShare * min(1, math.Pow(s.tolerance()*1e6, besideOrder))
	for i := range a.least {
		a.least[i] = f.scales[i] / f.tol * tolerance
	}
	a.relative = tolerance
}

// size is that of the largest of a vector's parts in units of what errors may come to at a
// state.
func (a *aside) size(d, y *[active]float64) (most float64) {
	for i, v := range d {
		allowed := a.least[i]
		if i != travel && i != along {
			allowed += a.relative * math.Abs(y[i])
		}
		most = max(most, math.Abs(v)/allowed)
	}
	return most
}

// meet flies the neighbour from its release, at a speed, until its piston is as fast as the
// flight's at a knot, the first at which that is no faster, and sets it apart from there.
func (a *aside) meet(v float64) (in, at int, ok bool) {
	f, g := a.f, &a.f.gun
	knots := f.track.knots
	for k, sp := range f.track.spans {
		for i := sp.first; i <= sp.last && !ok; i++ {
			if knots[i].y[speed] <= v {
				in, at, ok = k, i, true
			}
		}
		if ok || sp.kind != quietly {
			break
		}
	}
	if !ok || knots[at].y[speed] < 0 {
		return 0, 0, false
	}
	// The stepper and the echo are free.
	f.echo.start(g, v)
	s := &f.step
	before := s.evaluations
	s.follow(g, &f.track.spans[0].mode)
	s.expected.forget()
	s.near.y = f.start
	s.near.y[speed], s.near.y[clock] = v, 0
	goal := knots[at].y[speed]
	for range 4 {
		s.begin(s.near)
		f.weigh(s.near)
		if !(s.near.v < 0) {
			return 0, 0, false
		}
		h := (goal - s.near.y[speed]) / s.near.v
		if h <= 0 {
			break
		}
		ease := f.tol / a.relative
		e := ease * s.try(h)
		for n := 0; n < 4 && e > 1; n++ {
			h *= max(shrink, safety/math.Sqrt(math.Sqrt(e)))
			e = ease * s.try(h)
		}
		if !(e <= 1) {
			return 0, 0, false
		}
		s.near, s.far = s.far, s.near
		if s.near.y[speed]-goal < 1e-2*(v-goal) {
			break
		}
	}
	a.evaluations += s.evaluations - before
	y := &s.near.y
	if g.impedance > 0 && y[clock] >= g.delay {
		return 0, 0, false
	}
	a.late = knots[at].t - y[clock]
	for i := range active {
		a.apart[i] = y[i] - knots[at].y[i]
	}
	a.resound.start(g, v, y[speed], y[clock], a.late)
	return in, at, true
}

// look makes the point of where the neighbour is beside a knot, apart from it by d.
func (a *aside) look(k *knot, d *[active]float64) {
	p := &a.at
	for i := range active {
		p.y[i] = k.y[i] + d[i]
	}
	a.fillAt(k)
}

// fillAt fills the point, by the neighbour's time at a knot.
func (a *aside) fillAt(k *knot) {
	p := &a.at
	a.evaluations++
	t := k.t - a.late
	p.y[clock] = t
	if a.full {
		p.now = moment{layer: a.layer(t)}
		if a.waves {
			push, rise := a.resound.at(t, k.push, k.rise)
			p.now.push = push
			a.push = sway{t: k.t, push: push - k.push, rise: rise - k.rise}
		}
	}
	a.laws.fill(p)
}

// land makes δ′ what f says where the neighbour is beside a knot.
func (a *aside) land(k *knot) {
	a.look(k, &a.apart)
	a.change = a.at.slopes()
	a.raw = true
	for i := range active {
		a.change[i] -= k.slope[i]
	}
}

// implicit moves d, from a guess, to what fulfils d = goal + δ′(d)/rate at a knot, and
// returns how far it has moved, as a share of the state.
func (a *aside) implicit(k *knot, rate float64, goal, d *[active]float64) (moved float64) {
	a.look(k, d)
	p := &a.at
	r := p.slopes()
	for i := range active {
		r[i] = (r[i] - k.slope[i]) + rate*(goal[i]-d[i])
	}
	if !a.solve(rate, &r) {
		return math.NaN()
	}
	for i := range active {
		d[i] += r[i]
	}
	for _, i := range [...]int{mass1, energy1, mass2, energy2} {
		moved = max(moved, math.Abs(r[i]/p.y[i]))
	}
	return moved
}

// solve solves (rate − J)·r = b at the point, in place. It returns false if that is singular.
func (a *aside) solve(rate float64, r *[active]float64) bool {
	m := &a.matrix
	if !m.factor(&a.at, 1/(rate*ode.RodasGamma)) {
		return false
	}
	r[0], r[1], r[2], r[3], r[4], r[5], r[6], r[7] = m.solve(r[0], r[1], r[2], r[3], r[4], r[5], r[6], r[7])
	return true
}

// leap makes a step over knots from one by another to a third. It returns where δ gets, how
// it changes there, and the error's size.
func (a *aside) leap(from, mid, end *knot) (to, change [active]float64, e float64) {
	h := end.t - from.t
	s := (mid.t - from.t) / h

	rate := 2 / (s * h)
	var goal, half, first [active]float64
	for i := range active {
		goal[i] = a.apart[i] + a.change[i]/rate
	}
	half = a.apart
	if !a.raw {
		for i := range active {
			half[i] += s * h * a.change[i]
		}
	}
	a.sways[0] = a.push
	moved := a.implicit(mid, rate, &goal, &half)
	a.sways[1] = a.push

	last := (2 - s) / ((1 - s) * h)
	one, two := 1/(s*(2-s)), (1-s)*(1-s)/(s*(2-s))
	for i := range active {
		first[i] = rate*(half[i]-a.apart[i]) - a.change[i]
		goal[i] = one*half[i] - two*a.apart[i]
		to[i] = half[i] + (half[i]-a.apart[i])*((1-s)/s)
	}
	moved = max(moved, a.implicit(end, last, &goal, &to))
	a.sways[2] = a.push

	// The error by the third derivative, less what decays.
	c := (-3*s*s + 4*s - 2) / (6 * (2 - s)) * h
	last = min(last, 1/a.lasting)
	var miss [active]float64
	for i := range active {
		change[i] = (2 - s) / ((1 - s) * h) * (to[i] - goal[i])
		miss[i] = c * last * (a.change[i]/s - first[i]/(s*(1-s)) + change[i]/(1-s))
	}
	if !a.solve(last, &miss) {
		return to, change, math.NaN()
	}
	w := &a.sways
	w[0].speed, w[0].change = a.apart[speed], a.change[speed]
	w[1].speed, w[1].change = half[speed], first[speed]
	w[2].speed, w[2].change = to[speed], change[speed]
	return to, change, max(a.size(&miss, &end.y), newton*moved*moved/a.relative)
}

// walk goes beside the flight from a knot of a span to its end. It tells whether it could.
func (a *aside) walk(sp *span, i int) bool {
	knots := a.f.track.knots
	a.laws.follow(&a.f.gun, &sp.mode)
	if sp.kind != quietly {
		a.complete(&knots[sp.last])
	}
	if a.waves && !a.resound.enter(knots[sp.first].t) {
		return false
	}
	a.land(&knots[i])
	if i < sp.last {
		a.step = min(a.step, firstLeap*(knots[i+1].t-knots[i].t))
	}
	for i < sp.last {
		if i+1 == sp.last {
			to, ok := a.bridge(&knots[i], &knots[i+1])
			ok = ok && !a.strays(sp, knots[i:i+2], &to)
			a.apart = to
			return ok
		}
		j := min(i+mostKnots, sp.last)
		for e := math.Inf(1); ; {
			for ; j > i+2 && knots[j].t-knots[i].t > a.step; j-- {
			}
			if j == sp.last-1 && math.IsInf(e, 1) {
				j++ // not to leave a step over one
			}
			h := knots[j].t - knots[i].t
			m := i + 1
			for m+2 < j && knots[m+1].t <= knots[i].t+halfway*h {
				m++
			}
			var to, change [active]float64
			to, change, e = a.leap(&knots[i], &knots[m], &knots[j])
			a.step = h * min(5, max(shrink, safety/math.Cbrt(e)))
			if e <= 1 || j == i+2 && e <= bearable {
				if a.strays(sp, knots[i:j+1], &to) {
					return false
				}
				a.resound.keep(a.sways[:])
				a.apart, a.change, a.raw, i = to, change, false, j
				break
			}
			if j == i+2 || math.IsNaN(e) {
				return false
			}
			a.push = a.sways[0]
			j--
		}
	}
	return true
}

// strays tells whether, on the way of δ to where a step has led, something happens to the
// neighbour that doesn't to the flight, or may: they are only taken over events together.
func (a *aside) strays(sp *span, over []knot, to *[active]float64) bool {
	g, m := &a.f.gun, &sp.mode
	start, last := over[0].t, len(over)-1
	length := over[last].t - start
	for n := range over {
		k := &over[n]
		s := (k.t - start) / length
		at := func(i int) float64 { return k.y[i] + a.apart[i] + s*(to[i]-a.apart[i]) }
		if m.pellet == sliding && k.y[fast] > 1e-9 && at(fast) <= 0 {
			return true // it stops
		}
		x, v, dv := at(travel), at(speed), k.slope[speed]
		inside := n > 0 && n < last
		switch {
		case m.seated:
			if inside && g.impedance == 0 && (Gamma-1)*at(energy1) >= a.f.liftAt(0)*(g.piston*x+g.dead) {
				return true // it lifts
			}
			continue
		case inside && x < 0 && k.y[travel] > 0:
			return true // it is at its stop
		}
		// Where both turn, by how they move here: well on the same side of the port.
		if g.hasPort && v*dv < 0 && math.Abs(v) < length*math.Abs(dv) {
			own, other := x-v*v/(2*dv), k.y[travel]-k.y[speed]*k.y[speed]/(2*dv)
			if math.Abs(other-g.port) <= grazing*math.Abs(own-other) {
				return true
			}
		}
	}
	return false
}

// bridge makes a step over neighbouring knots, by the trapezoidal rule. It returns where δ
// gets, and whether it could.
func (a *aside) bridge(from, end *knot) (to [active]float64, ok bool) {
	rate := 2 / (end.t - from.t)
	goal := a.apart
	for i := range active {
		goal[i] += a.change[i] / rate
	}
	w := a.sways[:2]
	w[0] = a.push
	w[0].speed, w[0].change = a.apart[speed], a.change[speed]
	to = a.apart
	moved := a.implicit(end, rate, &goal, &to)
	w[1] = a.push
	w[1].speed, w[1].change = to[speed], rate*(to[speed]-a.apart[speed])-a.change[speed]
	a.resound.keep(w)
	return to, newton*moved*moved <= a.relative
}

// complete fills in how the flight changes at the last knot of a span.
func (a *aside) complete(k *knot) {
	p := &a.at
	copy(p.y[:], k.y[:])
	p.y[clock] = k.t
	if a.full {
		p.now = moment{push: k.push, layer: a.layer(k.t)}
	}
	a.evaluations++
	a.laws.fill(p)
	k.slope = p.slopes()
}

// pass takes the neighbour over what ends a span, into the next mode. It tells whether it
// could.
func (a *aside) pass(sp *span, next *mode) bool {
	if sp.kind == quietly {
		return sp.mode == *next
	}
	k := &a.f.track.knots[sp.last]
	a.land(k)
	wait, ok := a.wait(sp, next, k)
	if !ok {
		return false
	}
	lands := sp.kind == pistonArrives // wherever it comes from
	settle := func() {
		if lands {
			a.at.y[travel], a.at.y[speed] = 0, 0
		}
	}
	p := &a.at
	before, y := p.slopes(), p.y
	for i := range active {
		p.y[i] += wait / 2 * before[i]
	}
	a.fillAt(k)
	middle := p.slopes()
	a.laws.follow(&a.f.gun, next)
	settle()
	a.fillAt(k)
	after := p.slopes()
	p.y = y
	settle()
	a.fillAt(k)
	first := p.slopes() // after it, were it now
	var bend [active]float64
	for i := range active {
		if lands && (i == travel || i == speed) {
			a.apart[i] = -wait * after[i]
			bend[i] = -wait * (after[i] - first[i])
			continue
		}
		a.apart[i] += wait * (middle[i] - after[i])
		bend[i] = wait * ((middle[i] - after[i]) - (before[i] - first[i]))
	}
	return a.size(&bend, &k.y) <= 1
}

// wait returns how much later than at the knot the event that ends a span comes to the
// neighbour [s], and whether it leads to the next mode.
func (a *aside) wait(sp *span, next *mode, k *knot) (wait float64, ok bool) {
	g, p, m := &a.f.gun, &a.at, sp.mode
	switch sp.kind {
	case portEdge:
		wait = (g.port - p.y[travel]) / p.y[speed]
		if !(math.Abs(wait*p.v) <= slowing*math.Abs(p.y[speed])) {
			return 0, false
		}
		m.portOpen = !m.portOpen
	case pelletFreed:
		wait = (g.freeing(&m) - p.p2) / p.r2
		m.pellet = sliding
	case pelletMark:
		wait = (k.y[along] - p.y[along]) / p.y[fast]
		if !(math.Abs(wait*p.w) <= slowing*p.y[fast]) {
			return 0, false
		}
		m.inHop = false
	case pistonArrives:
		wait = -p.y[travel] / p.y[speed]
		m.seated = next.seated // or lifted at once
		a.resound.strike(k.t)
	case pistonLifts:
		if a.waves { // the push at the time tells
			return 0, false
		}
		wait = (a.f.liftAt(0) - p.p1) / p.r1
		m.seated = false
	case wallStirs, pelletBrisk, airRough, airTears:
		wait = a.airWait(sp.kind)
	default:
		return 0, false
	}
	m.stirred, m.brisk, m.rough, m.ahead = next.stirred, next.brisk, next.rough, next.ahead
	m.follow(g)
	return wait, m == *next
}

// airWait is how long a jump of the air in the barrel is ahead of the point [s].
func (a *aside) airWait(kind int) float64 {
	const moment = 1e-7 // [s]
	p := &a.at
	value := func() float64 {
		switch kind {
		case pelletBrisk:
			return p.y[fast] - slowest
		case airTears:
			return p.y[fast] - a.f.tearing
		case airRough:
			return p.re.behind - turbulent
		}
		return p.re.wall - turbulent
	}
	y, now, slope := p.y, value(), p.slopes()
	for i := range active {
		p.y[i] += moment * slope[i]
	}
	a.laws.fill(p)
	rate := (value() - now) / moment
	p.y = y
	a.laws.fill(p)
	a.evaluations += 2
	return -now / rate
}

// exit finds when the neighbour's pellet leaves, from where it is at the end of the flight's
// last span.
func (a *aside) exit(sp *span) Exit {
	if sp.kind != pelletMark {
		return noExit()
	}
	k := &a.f.track.knots[sp.last]
	a.look(k, &a.apart)
	w, dw := a.at.y[fast], a.at.w
	wait := -a.apart[along] / w
	wait -= wait * wait * dw / 2 / w
	if !(w > 0 && math.Abs(wait*dw) < 0.1*w) {
		return noExit()
	}
	return Exit{k.t - a.late + wait, w + wait*dw}
}
