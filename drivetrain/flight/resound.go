package flight

import "math"

// resound is what a spring with waves pushes (equation D12) in a flight beside another, by
// its own time: before the first echo as the release says, then what the other's does and
// what the two sent apart 2τ before.
type resound struct {
	impedance, delay float64
	push, slope      float64 // before the first echo [N, N/s]
	speed, change    float64 // the piston's, until both meet [m/s, m/s2]
	met              float64 // when they do [s]
	late             float64 // how much later than its own the other's time is [s]
	struck           float64 // when the other's piston struck its stop first; +Inf: it didn't [s]
	echoes           bool    // the first has come back
	sent             []piece // by the other's time [N]
	first, head      int     // of these, the first one of the present span, and the present one
}

// sway is how much more a spring pushes at a time of the other's than the other does [N],
// and how much faster its piston is, each with how it changes.
type sway struct{ t, push, rise, speed, change float64 }

// start begins with a piston that is let go at a speed and meets the other at another.
func (r *resound) start(g *gun, released, speed, met, late float64) {
	*r = resound{
		impedance: g.impedance, delay: g.delay, push: g.rate*(g.preload+g.stroke) - g.impedance*released, slope: g.rate * released,
		speed: released, met: met, late: late, struck: math.Inf(1), sent: r.sent,
	}
	if met > 0 {
		r.change = (speed - released) / met
	}
}

// enter goes to where a span of the other's starts, which one does at every kink of its
// push: the neighbour is taken over it at the same knot. It tells whether it can be; a blow
// at the stop comes back as a jump, a little sooner or later than in the other.
func (r *resound) enter(t float64) bool {
	const same = 1 - 1e-9
	r.echoes = t >= r.delay*same
	for r.first < len(r.sent) && r.sent[r.first].t1 <= (t-r.delay)/same {
		r.first++
	}
	return t < (r.struck+r.delay)*same
}

// strike takes notice of the other's piston at its stop.
func (r *resound) strike(t float64) { r.struck = min(r.struck, t) }

// keep writes down what goes on from one place to the next.
func (r *resound) keep(s []sway) {
	if r.impedance == 0 {
		return
	}
	z := 2 * r.impedance
	for i := range len(s) - 1 {
		a, b := &s[i], &s[i+1]
		r.sent = append(r.sent, newPiece(a.t, b.t, a.push+z*a.speed, b.push+z*b.speed, a.rise+z*a.change, b.rise+z*b.change, 0))
	}
}

// at returns the push at a time and how it rises, where the other's does so at the same
// knot [N, N/s].
func (r *resound) at(t, push, rise float64) (float64, float64) {
	if !r.echoes {
		return r.push + r.slope*t, r.slope
	}
	if t -= r.delay; t < r.met {
		return r.push + r.slope*t + 2*r.impedance*(r.speed+r.change*t), r.slope + 2*r.impedance*r.change
	}
	t += r.late
	last := len(r.sent) - 1
	if last < 0 {
		return math.NaN(), math.NaN() // nothing has been sent
	}
	r.head = min(max(r.head, r.first), last)
	for r.head < last && r.sent[r.head].t1 < t*(1-sliver) {
		r.head++
	}
	for r.head > r.first && r.sent[r.head].t0 > t {
		r.head--
	}
	return push + r.sent[r.head].at(t), rise + r.sent[r.head].slope(t)
}
