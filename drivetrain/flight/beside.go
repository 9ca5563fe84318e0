package flight

import (
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// Two flights of a gun that differ only in the speed at which the rack is let go are all
// but the same flight, a little earlier or later and a little stronger or weaker. Where of
// the one only the time to the muzzle is wanted, as of the first shot, it is found beside
// the other, by what sets the two apart: with P the course of the flight that is flown,
// put so in time that both pistons start to come home together, and y = P + δ the other,
//
//	δ′ = f(P + δ) − f(P).
//
// δ is small, so that it wants few figures and long steps: over as many of the flight's
// own as its error allows, by a linearly implicit method of order 2. An event of the one
// flight comes a little sooner or later in the other: δ then jumps by the difference of
// what drives it before and after, times that. Where the two differ in more than that, or
// in more than a step of δ can tell, nothing is found, and the other has to be flown.

// Neighbour is another release of the same gun, of which the time to the muzzle is wanted
// beside the flight.
type Neighbour struct {
	// Speed is that of the rack at its release, positive rearwards [m/s].
	Speed float64
	// Delay is what the release comes after: as exact as Settings.Delay asks for. 0: there is
	// no neighbour [s].
	Delay float64
}

// Exit is a pellet that leaves the muzzle.
type Exit struct {
	// Time is counted from the release [s].
	Time float64
	// Speed is the pellet's [m/s].
	Speed float64
}

// noExit is none.
func noExit() Exit { return Exit{math.NaN(), math.NaN()} }

// knot is a state on a flight's course, where a step starts or ends.
type knot struct {
	t     float64
	y     [active]float64
	slope [active]float64
	push  float64 // of a spring with waves [N]
}

// span is a part of a course in one mode.
type span struct {
	mode  mode
	first int // knot
	kind  int // of the event that it ends by; none: no event
	last  int // knot, the state just before that event
}

// none is no event.
const none = -1

// course is what is written down of a flight up to the muzzle.
type course struct {
	knots []knot
	spans []span
	on    bool // it is kept
}

func (c *course) reset(on bool) {
	c.knots, c.spans, c.on = c.knots[:0], c.spans[:0], on
}

// enter begins a span at a point.
func (c *course) enter(m *mode, p *point) {
	if !c.on {
		return
	}
	if m.pellet == out {
		c.on = false
		return
	}
	if len(c.spans) == 0 {
		c.knots = c.knots[:0]
	}
	c.spans = append(c.spans, span{mode: *m, first: len(c.knots), kind: none, last: len(c.knots)})
	c.add(p)
}

// add writes down a point that a step has come to.
func (c *course) add(p *point) {
	if !c.on {
		return
	}
	c.spans[len(c.spans)-1].last = len(c.knots)
	c.knots = append(c.knots, knot{p.y[clock], [active]float64(p.y[:active]), p.slopes(), p.now.push})
}

// push writes down what the spring pushes at the last knot.
func (c *course) push(p *point) {
	if c.on {
		c.knots[len(c.knots)-1].push = p.now.push
	}
}

// leave ends a span at an event, with the state just before it.
func (c *course) leave(kind int, t float64, y *[states]float64) {
	if !c.on {
		return
	}
	s := &c.spans[len(c.spans)-1]
	s.kind, s.last = kind, len(c.knots)
	c.knots = append(c.knots, knot{t: t, y: [active]float64(y[:active])})
}

// aside is a flight beside another, from knot to knot of its course.
type aside struct {
	laws
	matrix   matrix
	at       point
	least    [active]float64 // what errors are weighed by: absolute
	relative float64         // and relative
	apart    [active]float64 // δ
	slope    [active]float64 // and how it changes
	late     float64         // how much later than its own time the other's is [s]
	moving   [3]sway         // of the last step tried
	pushed   float64         // how much more its spring pushes, where it was looked at last [N]
	fresh    bool            // that is where δ is, not what a step came to
	step     float64         // to try next [s]
	lasting  float64         // what decays sooner hardly counts [s]
	wave     wave
	tries    int
}

// beside finds the neighbour's exit beside the flight that is written down, up to the
// muzzle, whose figures are known; none where it has to be flown.
func (f *Flyer) beside(s *Settings) Exit {
	n, a := &s.Neighbour, &f.aside
	if f.mode.pellet != out || f.gaveUp || f.hangs() || len(f.course.spans) == 0 || !(f.start[speed] > 0 && n.Speed > 0) {
		return noExit()
	}
	f.weighBeside(s)
	a.at = point{}
	k, i, ok := f.meetBeside(n.Speed)
	if !ok {
		return noExit()
	}
	knots := f.course.knots
	a.step = math.Inf(1)
	for ; ; k++ {
		sp := &f.course.spans[k]
		if !f.walk(sp, max(i, sp.first)) {
			return noExit()
		}
		last := &knots[sp.last]
		if k+1 == len(f.course.spans) {
			if sp.kind != pelletMark {
				return noExit()
			}
			return f.exitBeside(last)
		}
		if !f.turnBeside(sp, &f.course.spans[k+1].mode) {
			return noExit()
		}
	}
}

// weighBeside sets how exact the neighbour's time has to be.
func (f *Flyer) weighBeside(s *Settings) {
	a, g := &f.aside, &f.gun
	d := Settings{Tolerance: s.Tolerance, Delay: s.Neighbour.Delay}
	tolerance := within(d.share(2*g.swing())/delayShare, loosestDelay)
	if given := f.given(); f.summary.MuzzleEnergy < usualPellet*given {
		tolerance = min(tolerance, within(d.share(f.summary.TimeToMuzzle)/laterShare*min(1, f.summary.MuzzleEnergy/(slowerYet*given)), loosestDelay))
	}
	for i := range a.least {
		a.least[i] = f.scales[i] / f.tol * tolerance * besideShare
	}
	a.relative = tolerance * besideShare
	a.lasting = g.swing() / 50
}

// far returns the largest of a vector's parts in units of what errors may come to at a
// state.
func (a *aside) far(d, y *[active]float64) (most float64) {
	for i, v := range d {
		allowed := a.least[i]
		if i != travel && i != along {
			allowed += a.relative * math.Abs(y[i])
		}
		if v := math.Abs(v) / allowed; !(v <= most) {
			most = v
		}
	}
	return most
}

// meetBeside flies the neighbour from a speed at its release until its piston is as fast
// as the other's at a knot, and sets it apart from that.
func (f *Flyer) meetBeside(v float64) (in, at int, ok bool) {
	a, g, knots := &f.aside, &f.gun, f.course.knots
	for k := range f.course.spans {
		sp := &f.course.spans[k]
		for i := sp.first; i <= sp.last; i++ {
			if knots[i].y[speed] <= v {
				in, at, ok = k, i, true
				break
			}
		}
		if ok || sp.kind != none {
			break
		}
	}
	if !ok || knots[at].y[speed] < 0 {
		return 0, 0, false
	}
	a.wave = wave{
		impedance: g.impedance, delay: g.delay, slope: g.rate * v, push: g.rate*(g.preload+g.stroke) - g.impedance*v, v0: v,
		sent: a.wave.sent[:0],
	}
	// The spring's and the steps' memory are free: the other flight is over.
	f.echo.start(g, v)
	p := &f.step
	p.follow(g, &f.course.spans[0].mode)
	p.expected.forget()
	p.near.y = f.start
	p.near.y[speed], p.near.y[clock] = v, 0
	goal := knots[at].y[speed]
	for range 4 {
		p.begin(p.near)
		a.tries++
		f.weigh(p.near)
		if !(p.near.v < 0) {
			return 0, 0, false
		}
		h := (goal - p.near.y[speed]) / p.near.v
		if h <= 0 {
			break
		}
		e := p.try(h)
		for range 4 {
			if e *= f.tol / a.relative; e <= 1 {
				break
			}
			h *= max(shrink, safety/math.Sqrt(math.Sqrt(e)))
			e = p.try(h)
		}
		a.tries += 5
		if !(e <= 1) {
			return 0, 0, false
		}
		p.near, p.far = p.far, p.near
		if p.near.y[speed]-goal < 1e-2*(v-goal) {
			break
		}
	}
	y, t := &p.near.y, p.near.y[clock]
	if !(t < g.delay) && g.impedance > 0 {
		return 0, 0, false
	}
	a.late = knots[at].t - t
	for i := range active {
		a.apart[i] = y[i] - knots[at].y[i]
	}
	a.wave.begun, a.wave.v1, a.wave.late = t, y[speed], a.late
	return in, at, true
}

// fillBeside makes a point of a state at the neighbour's own time, with what the other's
// spring pushes at the same knot.
func (f *Flyer) fillBeside(p *point, t, push float64) {
	a := &f.aside
	a.tries++
	p.y[clock] = t
	if a.full {
		p.now = moment{}
		p.in.push = 0
		if a.waves {
			p.now.push = a.wave.at(t, push)
		}
		p.now.layer = a.layer(t)
	}
	a.fill(p)
}

// solve moves δ towards what a linearly implicit stage wants at a knot: δ = goal + F(δ)/d,
// with F from where δ stands; the matrix is left for its errors. It returns false if it is
// singular.
func (f *Flyer) implicit(k *knot, d float64, goal, to *[active]float64) (moved float64, ok bool) {
	a := &f.aside
	p := &a.at
	for i := range active {
		p.y[i] = k.y[i] + to[i]
	}
	f.fillBeside(p, k.t-a.late, k.push)
	if !a.matrix.factor(p, 1/(d*ode.RodasGamma)) {
		return 0, false
	}
	r := p.slopes()
	for i := range active {
		r[i] = (r[i] - k.slope[i]) + d*(goal[i]-to[i])
	}
	r = a.matrix.times(&r)
	for i := range active {
		to[i] += r[i]
	}
	moved = max(math.Abs(r[mass1]/p.y[mass1]), math.Abs(r[energy1]/p.y[energy1]), math.Abs(r[mass2]/p.y[mass2]), math.Abs(r[energy2]/p.y[energy2]))
	a.pushed = p.now.push - k.push
	return moved, true
}

// times solves for a right-hand side.
func (m *matrix) times(b *[active]float64) (r [active]float64) {
	r[0], r[1], r[2], r[3], r[4], r[5], r[6], r[7] = m.solve(b[0], b[1], b[2], b[3], b[4], b[5], b[6], b[7])
	return r
}

// The method is TR-BDF2 (R. E. Bank et al., IEEE Trans. Electron Devices 32 (1985) 1992;
// M. E. Hosea and L. F. Shampine, Appl. Numer. Math. 20 (1996) 21, both from memory): the
// trapezoidal rule to a place within the step, and from both on by the backward formula of
// order 2. It is L-stable wherever the place lies.
const mostKnots = 6

const besideShare = 0.25

const halfway = 2 - math.Sqrt2

// leap makes a step over the knots from i by m to j. It returns where δ gets, how it
// changes there, and the error's size.
func (f *Flyer) leap(i, m, j int) (to, slope [active]float64, e float64) {
	a, knots := &f.aside, f.course.knots
	from, mid, end := &knots[i], &knots[m], &knots[j]
	h := end.t - from.t
	s := (mid.t - from.t) / h
	d := 2 / (s * h)
	var goal [active]float64
	for k := range active {
		goal[k] = a.apart[k] + a.slope[k]/d
	}
	to = a.apart
	if !a.fresh {
		for k := range active {
			to[k] += s * h * a.slope[k]
		}
	}
	started := a.pushed
	moved1, ok := f.implicit(mid, d, &goal, &to)
	if !ok {
		return to, slope, math.NaN()
	}
	// At the place and at the end δ changes as the stages say.
	half, pushed := to, a.pushed
	one, two := 1/(s*(2-s)), (1-s)*(1-s)/(s*(2-s))
	last := (2 - s) / ((1 - s) * h)
	for k := range active {
		goal[k] = one*half[k] - two*a.apart[k]
		to[k] += (half[k] - a.apart[k]) * ((1 - s) / s)
	}
	moved2, ok := f.implicit(end, last, &goal, &to)
	if !ok {
		return to, slope, math.NaN()
	}
	c := (-3*s*s + 4*s - 2) / (6 * (2 - s)) * h
	var miss [active]float64
	for k := range active {
		slope[k] = last * (to[k] - goal[k])
		miss[k] = c * (a.slope[k]/s - (d*(half[k]-a.apart[k])-a.slope[k])/(s*(1-s)) + slope[k]/(1-s))
	}
	if rate := 1 / a.lasting; rate < last {
		if last = rate; !a.matrix.factor(&a.at, 1/(rate*ode.RodasGamma)) {
			return to, slope, math.NaN()
		}
	}
	miss = a.matrix.times(&miss)
	for k := range active {
		miss[k] *= last
	}
	if a.waves {
		a.moving = [3]sway{
			{from.t, started, a.apart[speed], a.slope[speed]},
			{mid.t, pushed, half[speed], d*(half[speed]-a.apart[speed]) - a.slope[speed]},
			{end.t, a.pushed, to[speed], slope[speed]},
		}
	}
	moved := max(moved1, moved2)
	return to, slope, max(a.far(&miss, &end.y), moved*moved/(0.1*a.relative))
}

// walk goes beside the flight from a knot of a span to its end. It tells whether it could.
func (f *Flyer) walk(sp *span, i int) bool {
	a, knots := &f.aside, f.course.knots
	a.laws.follow(&f.gun, &sp.mode)
	// A kink in the push is met together, as other events are.
	a.wave.echoes = knots[sp.first].t >= a.wave.delay*(1-1e-9)
	if sp.kind != none { // what the flight does before the event is not known yet
		f.fillOther(&a.at, &knots[sp.last])
	}
	f.fillHere(&knots[i])
	if i < sp.last {
		a.step = min(a.step, 10*(knots[i+1].t-knots[i].t))
	}
	for i < sp.last {
		j := min(sp.last, i+mostKnots)
		if i+1 == sp.last {
			// With nothing in between, the trapezoidal rule to the end.
			d := 2 / (knots[j].t - knots[i].t)
			goal := a.apart
			for k := range active {
				goal[k] += a.slope[k] / d
			}
			was := sway{knots[i].t, a.pushed, a.apart[speed], a.slope[speed]}
			_, ok := f.implicit(&knots[j], d, &goal, &a.apart)
			if a.waves {
				change := d*(a.apart[speed]-was.speed) - was.change
				a.wave.keep(&was, &sway{knots[j].t, a.pushed, a.apart[speed], change})
			}
			return ok
		}
		for a.step < knots[j].t-knots[i].t && j > i+2 {
			j--
		}
		if j == sp.last-1 {
			j++
		}
		for {
			h := knots[j].t - knots[i].t
			m := i + 1
			for middle := knots[i].t + halfway*h; m+2 < j && knots[m+1].t <= middle; m++ {
			}
			to, slope, e := f.leap(i, m, j)
			a.step = h * min(5, max(shrink, safety/math.Cbrt(e)))
			if e <= 1 {
				if a.waves {
					a.wave.keep(&a.moving[0], &a.moving[1])
					a.wave.keep(&a.moving[1], &a.moving[2])
				}
				a.apart, a.slope, i = to, slope, j
				a.fresh = false
				break
			}
			if j == i+2 || math.IsNaN(e) {
				return false
			}
			a.pushed = a.moving[0].push
			for j--; a.step < knots[j].t-knots[i].t && j > i+2; j-- {
			}
		}
	}
	return true
}

// fillHere makes the point at of where the neighbour is beside a knot.
func (f *Flyer) fillHere(k *knot) {
	a := &f.aside
	for i := range active {
		a.at.y[i] = k.y[i] + a.apart[i]
	}
	f.fillBeside(&a.at, k.t-a.late, k.push)
	a.slope = a.at.slopes()
	a.fresh = true
	for i := range active {
		a.slope[i] -= k.slope[i]
	}
	a.pushed = a.at.now.push - k.push
}

// fillOther finds how the other flight changes at a knot.
func (f *Flyer) fillOther(p *point, n *knot) {
	a := &f.aside
	a.tries++
	copy(p.y[:], n.y[:])
	p.y[clock] = n.t
	if a.full {
		p.now = moment{push: n.push, layer: a.layer(n.t)}
		p.in.push = 0
	}
	a.fill(p)
	n.slope = p.slopes()
}

// turnBeside takes the neighbour over the event that ends a span, into the next mode. It
// tells whether it could.
func (f *Flyer) turnBeside(sp *span, next *mode) bool {
	if sp.kind == none {
		return sp.mode == *next
	}
	a, g, n := &f.aside, &f.gun, &f.course.knots[sp.last]
	was, is := sp.mode, *next
	f.fillHere(n)
	p := &a.at
	var wait float64 // until it happens
	switch sp.kind {
	case portEdge:
		wait = (g.port - p.y[travel]) / p.y[speed]
		was.portOpen = is.portOpen
	case pelletFreed:
		wait = (g.pressure*(1+moveSlack) + sp.mode.brake/g.bore - p.p2) / p.r2
		was.pellet = is.pellet
	case pelletMark:
		wait = (n.y[along] - p.y[along]) / p.y[fast]
		was.inHop = is.inHop
	case pistonArrives:
		wait = -p.y[travel] / p.y[speed]
		was.seated = is.seated
	case wallStirs, pelletBrisk, airRough, airTears:
		wait = f.airWait(sp.kind)
	default:
		return false
	}
	was.stirred, was.brisk, was.rough, was.ahead = is.stirred, is.brisk, is.rough, is.ahead
	was.leak, was.front, was.brake = is.leak, is.front, is.brake
	if was != is {
		return false
	}
	if wait == 0 {
		return true
	}
	old, before := p.slopes(), [active]float64(p.y[:active])
	t := n.t - a.late
	for i := range active {
		p.y[i] += wait / 2 * old[i]
	}
	f.fillBeside(p, t, n.push)
	middle := p.slopes()
	a.laws.follow(g, next)
	f.fillBeside(p, t, n.push)
	late := p.slopes()
	copy(p.y[:], before[:])
	f.fillBeside(p, t, n.push)
	early := p.slopes()
	var bend [active]float64
	for i := range active {
		a.apart[i] += wait * (middle[i] - late[i])
		bend[i] = wait * ((middle[i] - late[i]) - (old[i] - early[i]))
	}
	if is.seated {
		a.apart[travel], a.apart[speed] = 0, 0
		bend[travel], bend[speed] = 0, 0
	}
	return a.far(&bend, &n.y) <= 1
}

// airWait is how long a jump of the air in the barrel is ahead of the point at [s].
func (f *Flyer) airWait(kind int) float64 {
	const moment = 1e-7
	a := &f.aside
	p := &a.at
	value := func() float64 {
		switch kind {
		case pelletBrisk:
			return p.y[fast] - slowest
		case airTears:
			return p.y[fast] - f.tearing
		case airRough:
			return p.re.behind - turbulent
		}
		return p.re.wall - turbulent
	}
	y, now, r := p.y, value(), p.slopes()
	for i := range active {
		p.y[i] += moment * r[i]
	}
	a.fill(p)
	rate := (value() - now) / moment
	p.y = y
	a.fill(p)
	return -now / rate
}

// exitBeside finds the neighbour's exit from where it is at that of the other.
func (f *Flyer) exitBeside(n *knot) Exit {
	a := &f.aside
	f.fillHere(n)
	p := &a.at
	w := p.y[fast]
	wait := -a.apart[along] / w
	wait -= wait * wait * p.w / 2 / w
	if !(w > 0 && math.Abs(wait*p.w) < 0.1*w) {
		return noExit()
	}
	return Exit{n.t - a.late + wait, w + wait*p.w}
}

// wave is what a spring with waves pushes (equation D12), at the neighbour's own times.
type wave struct {
	impedance, delay float64
	push, slope      float64 // until the first echo
	v0, v1           float64 // the piston's speeds at the release and where the two meet
	begun            float64 // when they do
	late             float64
	echoes           bool    // the first has come back, to the other
	sent             []piece // what will come back, less the other's, by the other's time [N]
	head             int     // of these
}

// sway is by how much the push is apart at a time [N], and the piston's speed with its
// change.
type sway struct{ t, push, speed, change float64 }

// keep writes down what goes on between two places.
func (w *wave) keep(a, b *sway) {
	z, mean := 2*w.impedance, (b.push-a.push)/(b.t-a.t)
	w.sent = append(w.sent, newPiece(a.t, b.t, a.push+z*a.speed, b.push+z*b.speed, mean+z*a.change, mean+z*b.change, 0))
}

// at returns the push at a time, with the other's at the same knot [N].
func (w *wave) at(t, push float64) float64 {
	if !w.echoes {
		return w.push + w.slope*t
	}
	t -= w.delay
	if t < w.begun {
		return w.push + w.slope*t + 2*w.impedance*(w.v0+(w.v1-w.v0)*t/w.begun)
	}
	t += w.late
	for w.head+1 < len(w.sent) && w.sent[w.head].t1 < t {
		w.head++
	}
	for w.head > 0 && w.sent[w.head].t0 > t {
		w.head--
	}
	return push + w.sent[w.head].at(t)
}
