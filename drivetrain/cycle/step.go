package cycle

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// longestStep bounds a step where the series has an end [s].
const longestStep = 0.1

// phase goes on from r.y in one mode until an event that ends it, which it
// returns, with r.y the state there.
func (r *run) phase(ctx context.Context) (int, error) {
	begin := r.y
	c := &r.series
	swing := r.swing()
	late := r.patience // which step may be a gliding one
	r.stride = 0
	for n := 0; ; n++ {
		if n%64 == 0 && ctx.Err() != nil {
			return 0, ctx.Err()
		}
		if r.steps++; r.steps > r.mostSteps {
			return 0, fmt.Errorf("%w within %d steps; look for an inductance, drag or churning of an unusual size", ErrUnfinished, r.mostSteps)
		}
		far, places := 1., nodal
		glides := false
		if n >= late && n%checked != 0 {
			if glides = r.glide(); glides {
				r.patience = hasty
			} else {
				late = n + max(r.patience, n/2) // something fast is not over yet
			}
		}
		if !glides {
			c.expand(&r.mode, &r.y, r.unit)
			far = min(c.reach(r.amps, r.rads, r.tolerance), longestStep/r.unit)
			if !(far > 0) { // the coefficients overflow
				if r.unit *= 1e-3; r.unit < 1e-30 || math.IsNaN(r.y[current]+r.y[speed]+r.y[angle]) {
					return 0, fmt.Errorf("a state that is no number at %v s (%s): current %v A, speed %v rad/s, angle %v rad", r.time, r.mode.name(), r.y[current], r.y[speed], r.y[angle])
				}
				continue
			}
		}
		if !r.held && r.path == closed && !glides {
			far = r.follow(far)
		}
		reached := far
		ended := none
		if r.awaitsBrake() {
			if left := (r.opened + r.m.brakeDelay - r.time) / c.unit; left <= far {
				far, ended = max(left, 0), brakeStarts
			}
		}
		r.seen.x = none
		if !glides {
			places = 1 + int(min(swing*far*c.unit, 100))
		}
		at, event := r.scan(far, places)
		if event != none {
			far, ended = at, event
		}
		r.advance(far)
		if glides {
			r.stride *= reached
		} else {
			r.unit *= reached
		}
		if ended != none {
			r.tally.meet(r, &begin)
			return ended, nil
		}
		if r.time > r.longest {
			return 0, fmt.Errorf("%w: the sector has not come round after %.0f s", ErrUnfinished, r.time)
		}
	}
}

// patience is how many steps of the series a mode takes before the run tries to glide:
// hardly any ordinary mode takes so many. A run that has glided tries again after hasty.
const (
	patience = 128
	hasty    = 16
)

// glide makes the series that of a gliding step, as long as the tolerance allows, and
// tells whether it spans so much more than a step of the series as to be worth it.
func (r *run) glide() bool {
	least := worthwhile * r.unit
	r.stride = max(mostGrowth*r.stride, least)
	for r.stride >= least {
		tail, ok := r.series.glide(&r.mode, &r.y, r.stride, r.amps, r.rads)
		if ok && tail <= r.tolerance {
			return true
		}
		share := 0.1
		if ok {
			share = max(share, 0.8*math.Pow(r.tolerance/tail, 1./nodal))
		}
		r.stride *= share
	}
	return false
}

// worthwhile is how many steps of the series one of the gliding ones costs, mostGrowth
// by what one may be longer than the last, and one in checked is of the series, to know
// how far that would reach.
const (
	worthwhile = 10
	mostGrowth = 8
	checked    = 8
)

// swing returns the fastest oscillation of the present mode: of current and speed
// about each other, of the shaft on the spring; 0 without any [rad/s].
func (r *run) swing() float64 {
	if !r.turns {
		return 0
	}
	m := r.m
	k := &m.motor
	a := &m.arcs[r.arc]
	spring := a.slope / (m.geometry.Ratio * a.inertia)
	if r.sign == 0 {
		return math.Sqrt(spring)
	}
	resistance := k.Resistance
	switch r.path {
	case closed:
		resistance = m.resistance
	case braking:
		resistance += m.brake
	}
	half := (resistance/k.Inductance - (k.DragViscous+m.churning)/a.inertia) / 2
	return math.Sqrt(max(spring, k.Ke*k.Ke/(k.Inductance*a.inertia)-half*half))
}

// follow shortens a share of the unit until the open-circuit voltage of the series
// is that of the pack.
func (r *run) follow(far float64) float64 {
	const kink = 1e-8 // of the charge: where the table bends, it is passed over
	for r.series.astray(far) > r.tolerance*r.series.source[0] {
		if math.Abs(r.series.charge.of(far)-r.series.from) < kink {
			break
		}
		far /= 2
	}
	return far
}

// advance goes on by a share of the unit.
func (r *run) advance(x float64) {
	c := &r.series
	if r.books {
		r.book(x)
	}
	from := r.time
	r.time += x * c.unit
	if r.trace != nil && r.time > from {
		r.trace.course.add(from, r.time, c, &r.y)
		r.trace.end = r.time
	}
	if r.held && x == r.seen.x {
		r.y[current], r.y[speed], r.y[angle] = r.seen.i, r.seen.w, r.seen.a
		return
	}
	c.state(&r.y, x)
}

// nodes and weights are those of Gauss and Legendre between 0 and 1. In a step the
// squares of what decays fall by some e^-10, which twelve of them sum to the last
// digits.
var nodes, weights = func() (x, w [12]float64) {
	quad.Legendre{}.FixedLocations(x[:], w[:], 0, 1)
	return x, w
}()

// book adds up the integrals of the ledger over a share x of the unit.
func (r *run) book(x float64) {
	c := &r.series
	var flown, square, reverse, speed2, pairs float64
	for n := 0; n < len(nodes); n += 4 {
		at := [4]float64{x * nodes[n], x * nodes[n+1], x * nodes[n+2], x * nodes[n+3]}
		var i, w, v1, v2 [4]float64
		c.current.four(&at, &i)
		c.speed.four(&at, &w)
		if !r.held {
			c.voltage1.four(&at, &v1)
			c.voltage2.four(&at, &v2)
		}
		for j := range at {
			k := weights[n+j]
			flown += k * i[j]
			square += k * i[j] * i[j]
			reverse += k * i[j] * i[j] * w[j]
			speed2 += k * w[j] * w[j]
			pairs += k * (v1[j]*v1[j]/r.m.circuit.R1 + v2[j]*v2[j]/r.m.circuit.R2)
		}
	}
	time := x * c.unit
	y := &r.y
	y[sumCurrent] += time * flown
	y[sumBrush] += time * flown * r.sign
	y[sumSquare] += time * square
	y[sumReverse] += time * reverse
	y[sumSpeed2] += time * speed2
	y[sumPairs] += time * pairs
	switch {
	case r.path != closed:
	case r.held:
		y[sumSource] += r.source * time * flown
	default:
		y[sumSource] += c.given(x)
	}
}

// scan looks for events up to a share of the unit, at so many places, and returns
// the first one that ends the mode and where, none without one. It takes notice of
// peaks and dips on the way. Between two places a value that touches its mark and
// turns back can be missed.
func (r *run) scan(far float64, places int) (at float64, event int) {
	c := &r.series
	last := look{i: c.current[0], w: c.speed[0], a: c.angle[0], di: c.current[1], dw: c.speed[1], voltage: c.terminal[0], slope: c.terminal[1]}
	for n := 1; n <= places; n++ {
		x := far
		if n < places {
			x = far * float64(n) / float64(places)
		}
		next := c.look(x)
		at, event = r.between(&last, &next)
		for again := event != none && event != arcEnds && event != switchOpens; again; {
			// Behind the event the series goes where the gun doesn't, and something
			// earlier may have come and gone.
			there := c.look(at)
			earlier, what := r.between(&last, &there)
			if again = what != none && earlier < at; again {
				at, event = earlier, what
			}
		}
		if event != none {
			x = at
		}
		r.watch(&last, &next, x)
		if event != none {
			return at, event
		}
		last = next
	}
	r.seen = last
	return 0, none
}

// between returns the first event between two looks that ends the mode, and where.
func (r *run) between(last, next *look) (at float64, event int) {
	f := first{last: last, next: next, at: math.Inf(1), event: none}
	if r.turns {
		r.turning(&f)
	} else {
		r.standing(&f)
	}
	switch {
	case r.sign != 0:
		if x, ok := r.series.current.sinks(r.sign, 0, last.x, next.x, last.i, last.di, next.i, next.di); ok {
			f.take(currentEnds, x)
		}
	case r.path == closed || r.path == braking:
		r.currentless(&f)
	}
	return f.at, f.event
}

// first is the earliest event between two looks of those that were looked for so far.
type first struct {
	last, next *look
	at         float64
	event      int
}

// take notes an event, unless an earlier one is known.
func (f *first) take(what int, x float64) {
	if x < f.at {
		f.at, f.event = x, what
	}
}

// crossing notes where a row crosses a value; from and to are the row's own at the looks.
func (f *first) crossing(what int, of *row, value, from, to float64) {
	f.take(what, of.between(value, f.last.x, f.next.x, from-value, to-value))
}

// turning looks for what ends a mode in which the shaft turns.
func (r *run) turning(f *first) {
	c, last, next := &r.series, f.last, f.next
	if to := r.m.arcs[r.arc].to; last.a < to && next.a >= to {
		f.crossing(arcEnds, &c.angle, to, last.a, next.a)
	}
	if to := r.cutoff.angle; last.a < to && next.a >= to && r.opensHere() {
		f.crossing(switchOpens, &c.angle, to, last.a, next.a)
	}
	if x, ok := c.speed.sinks(1, r.creep, last.x, next.x, last.w, last.dw, next.w, next.dw); ok {
		f.take(shaftStops, x)
	}
}

// standing looks for what ends a mode in which the shaft stands.
func (r *run) standing(f *first) {
	c, last, next, ke := &r.series, f.last, f.next, r.m.motor.Ke
	if need := r.needed(r.y[:]); ke*last.i < need && ke*next.i >= need {
		f.crossing(breaksAway, &c.current, need/ke, last.i, next.i)
	}
	if r.sign != 0 && last.di > 0 && next.di <= 0 {
		d := c.current.derivative()
		f.crossing(givesUp, &d, 0, last.di, next.di)
	}
}

// currentless looks for what ends a mode in which no current flows, although a path is
// there: the voltage over the brushes comes to what they drop.
func (r *run) currentless(f *first) {
	drop := r.m.motor.BrushDrop
	from, to := r.overBrushes(f.last), r.overBrushes(f.next)
	if r.path == closed && from < drop && to >= drop {
		over := r.brushRow()
		f.crossing(currentStarts, &over, drop, from, to)
	}
	if from > -drop && to <= -drop {
		over := r.brushRow()
		f.crossing(currentReverses, &over, -drop, from, to)
	}
}

// overBrushes is the voltage over the brushes at a look, while nothing flows [V].
func (r *run) overBrushes(l *look) float64 {
	v := -r.m.motor.Ke * l.w
	switch {
	case r.path != closed:
	case r.held:
		v += r.source - r.y[voltage1] - r.y[voltage2]
	default:
		v += l.voltage
	}
	return v
}

// brushRow is overBrushes as a series.
func (r *run) brushRow() row {
	all := r.series.speed
	for k := range all {
		all[k] *= -r.m.motor.Ke
		if r.path == closed && !r.held {
			all[k] += r.series.terminal[k]
		}
	}
	if r.path == closed && r.held {
		all[0] += r.source - r.y[voltage1] - r.y[voltage2]
	}
	return all
}

// watch takes notice of peaks of the current and dips of the voltage between two
// looks, as far as the mode lasts.
func (r *run) watch(last, next *look, until float64) {
	c := &r.series
	t := &r.tally
	// A value near its extreme doesn't feel where exactly it is read.
	const near = 1e-8
	if r.sign != 0 && r.path == closed && last.di > 0 && next.di <= 0 {
		d := c.current.derivative()
		if x := d.within(0, last.x, next.x, last.di, next.di, near); x <= until {
			i := c.current.of(x)
			t.peak = max(t.peak, i)
			if r.held {
				t.dip = min(t.dip, r.m.circuit.Terminal(r.source, r.y[voltage1], r.y[voltage2], i))
			}
		}
	}
	if r.path == braking && last.di < 0 && next.di >= 0 {
		d := c.current.derivative()
		if x := d.within(0, last.x, next.x, last.di, next.di, near); x <= until {
			t.brake = min(t.brake, c.current.of(x))
		}
	}
	if !r.held && r.path == closed && last.slope < 0 && next.slope >= 0 {
		d := c.terminal.derivative()
		if x := d.within(0, last.x, next.x, last.slope, next.slope, near); x <= until {
			t.dip = min(t.dip, c.terminal.of(x))
		}
	}
}
