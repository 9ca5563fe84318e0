package flight

import (
	"context"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain"
)

// How the piston moves at a time can't be read off over speeds as figures can: what happens
// to it comes sooner or later. But from one happening to the next, in shares of the time
// between them, its course changes as smoothly with the speed as figures do.

// stretches is the degree of what stands for a piston's course from one happening to the
// next.
const stretches = 24

// happening is something from which on the piston moves by other laws.
type happening struct {
	t    float64 // [s]
	what int     // by kind, or by the mode it leads to
}

// What is none of an Event's kinds; a mode's code is added to its.
const (
	leavesRest = -1 - iota
	isHome
	turnsRound
	comesBack
	changesMode = 1 << 16
)

// journey is how a piston moves until it is home: at Chebyshev's nodes of each stretch
// between what happens to it, in the order of time.
type journey struct {
	marks     []happening // with the release and the piston home
	stretches [][stretches + 1]Motion
	off       []float64 // of each, by how much what lies between its nodes is off at worst, as apart has it

	calm *journey // the same without what comes back; nil: nothing does
}

// rail is how the piston moves in a step: nested polynomials of travel and speed.
type rail struct {
	t0, t1  float64
	code    int           // of the mode
	courses [2][5]float64 // of travel and of speed
}

// at is where it is at a share of the step.
func (r *rail) at(s float64) Motion {
	x, v := &r.courses[0], &r.courses[1]
	return Motion{nested(s, x[0], x[1], x[2], x[3], x[4]), r.speed(s, v)}
}

func (r *rail) speed(s float64, v *[5]float64) float64 {
	return nested(s, v[0], v[1], v[2], v[3], v[4])
}

// rails are what is written down of a flight for a journey.
type rails struct {
	on    bool
	steps []rail
	heard []happening
}

// start begins anew, if they are kept.
func (r *rails) start(on bool) { r.on, r.steps, r.heard = on, r.steps[:0], r.heard[:0] }

// add writes down a step, whose courses of travel and speed are given by what yields them.
func (r *rails) add(t0, t1 float64, m *mode, of func(state int) [5]float64) {
	r.steps = append(r.steps, rail{t0, t1, m.code(), [2][5]float64{of(travel), of(speed)}})
}

// journey makes that of a flight with rails until the piston is home; nil where it doesn't
// come home. What comes back of a spring with waves counts as something that happens, or
// not.
func (r *rails) journey(g *gun, home float64, echoes bool) *journey {
	if !(home > 0) || len(r.steps) == 0 {
		return nil
	}
	j := &journey{marks: []happening{{0, leavesRest}}}
	// What would have been before the release is there at any speed.
	v := r.steps[0].courses[1][0]
	if v >= 0 && v <= turning {
		j.marks = append(j.marks, happening{0, turnsRound})
	}
	if v == 0 {
		j.marks = append(j.marks, happening{0, int(Turn)})
	}
	for _, h := range r.heard {
		switch EventKind(h.what) {
		case Turn, PortShuts, PortOpens, PelletStarts, HopEnds, PelletStops, MuzzleExit, PistonArrives, PistonLifts:
			j.add(h, home)
		}
	}
	for i := range r.steps {
		s := &r.steps[i]
		if s.t0 >= home {
			break
		}
		if i > 0 && s.code != r.steps[i-1].code {
			j.add(happening{s.t0, changesMode + s.code}, home)
		}
		// The drag turns round between these speeds.
		v := &s.courses[1]
		for _, level := range [...]float64{turning, -turning} {
			falls := v[0] > level
			if falls == (v[0]+v[1] > level) {
				continue
			}
			lo, hi := 0., 1.
			for hi-lo > 1e-9 {
				if m := (lo + hi) / 2; (s.speed(m, v) > level) == falls {
					lo = m
				} else {
					hi = m
				}
			}
			j.add(happening{s.t0 + lo*(s.t1-s.t0), turnsRound}, home)
		}
	}
	// A spring with waves sends back what the piston did.
	without := len(j.marks)
	if g.impedance > 0 && echoes {
		for _, h := range slices.Clone(j.marks) {
			if h.what == leavesRest || h.what == turnsRound || h.what == int(Turn) {
				for k := 1; k < mostEchoes && h.t+float64(k)*g.delay < home; k++ {
					j.add(happening{h.t + float64(k)*g.delay, comesBack}, home)
				}
			}
		}
	}
	if len(j.marks) > without {
		j.calm = r.journey(g, home, false)
	}
	j.marks = append(j.marks, happening{home, isHome})
	j.stretches, j.off = make([][stretches + 1]Motion, len(j.marks)-1), make([]float64, len(j.marks)-1)
	i := 0
	find := func(t float64, last bool) Motion {
		for i+1 < len(r.steps) && !(r.steps[i].t1 > t || last && r.steps[i].t1 == t) {
			i++
		}
		s := &r.steps[i]
		return s.at(min(max((t-s.t0)/(s.t1-s.t0), 0), 1))
	}
	for k := range j.stretches {
		from, to := j.marks[k].t, j.marks[k+1].t
		var between [stretches]Motion
		for n := range j.stretches[k] {
			if n > 0 {
				between[n-1] = find(from+(to-from)*middles[n-1].share, false)
			}
			j.stretches[k][n] = find(node(to, from, n, stretches), n == stretches) // forwards
		}
		for n := range between {
			j.off[k] = max(j.off[k], g.apart(between[n], j.sum(k, middles[n].weights)))
		}
	}
	return j
}

// turning is the speed within which the drag turns round [m/s].
const turning = 5 * creep

// mostEchoes is how many of a spring's are aligned: with more, the piston is none that can
// be read off.
const mostEchoes = 64

// middles are the places between the nodes of a stretch, and their weights.
var middles = func() (all [stretches]struct {
	share   float64
	weights []float64
}) {
	for n := range all {
		all[n].share = (node(1, 0, n, stretches) + node(1, 0, n+1, stretches)) / 2
		all[n].weights = lagrange(1-2*all[n].share, stretches)
	}
	return all
}()

// apart is how far two motions are apart, in strokes, and in speeds of 10 m/s or of what
// they are.
func (g *gun) apart(a, b Motion) float64 {
	return max(math.Abs(a.Travel-b.Travel)/g.stroke, math.Abs(a.Speed-b.Speed)/max(10, math.Abs(b.Speed)))
}

// add puts in what happens before the end, in the order of time; what happens at once is one.
func (j *journey) add(h happening, end float64) {
	if h.t <= 0 || h.t >= end {
		return
	}
	i := len(j.marks)
	for i > 0 && j.marks[i-1].t > h.t {
		i--
	}
	if j.marks[i-1].t == h.t {
		return
	}
	j.marks = append(j.marks, happening{})
	copy(j.marks[i+1:], j.marks[i:])
	j.marks[i] = h
}

// alike tells whether the same happens on two journeys.
func (j *journey) alike(o *journey) bool {
	if j == nil || o == nil || len(j.marks) != len(o.marks) {
		return false
	}
	for i := range j.marks {
		if j.marks[i].what != o.marks[i].what {
			return false
		}
	}
	return true
}

// sum is where the piston is in a stretch, by the weights of its nodes.
func (j *journey) sum(k int, weights []float64) (m Motion) {
	at := &j.stretches[k]
	for n, w := range weights {
		m.Travel += w * at[n].Travel
		m.Speed += w * at[n].Speed
	}
	return m
}

// lagrange are the weights of the values at Chebyshev's nodes, from 1 down to −1, of degree
// n, for what lies between them at s. (Barycentric: J.-P. Berrut, L. N. Trefethen, SIAM
// Review 46 (2004) 501, from memory.)
func lagrange(s float64, n int) []float64 {
	w := make([]float64, n+1)
	sum, sign := 0., 1.
	for i := range w {
		d := s - node(-1, 1, i, n)
		if d == 0 {
			clear(w)
			w[i] = 1
			return w
		}
		w[i] = sign / d
		if i == 0 || i == n {
			w[i] /= 2
		}
		sum += w[i]
		sign = -sign
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// motions are the journeys at a piece's nodes, and on which stretches what lies between them
// can be read off.
type motions struct {
	journeys []*journey
	smooth   []bool
}

// weights are those of the nodes for a place.
func (p *smoothed) weights(x *place, ways int) []float64 {
	all := []float64{1}
	for d := range ways {
		var next []float64
		one := lagrange((2*x[d]-p.lo[d]-p.hi[d])/(p.hi[d]-p.lo[d]), p.n[d])
		for _, w := range all {
			for _, v := range one {
				next = append(next, w*v)
			}
		}
		all = next
	}
	return all
}

// at reads off where the piston is at a time before it is home; false where it has to be
// watched.
func (m *motions) at(weights []float64, t float64) (at Motion, ok bool) {
	last := len(m.smooth)
	mark := func(k int) (t float64) {
		for i, w := range weights {
			t += w * m.journeys[i].marks[k].t
		}
		return t
	}
	from := 0.
	for k := range last {
		to := mark(k + 1)
		if t >= to && k+1 < last {
			from = to
			continue
		}
		if !m.smooth[k] {
			return at, false
		}
		share := (t - from) / (to - from)
		along := lagrange(1-2*share, stretches)
		for i, w := range weights {
			one := m.journeys[i].sum(k, along)
			at.Travel += w * one.Travel
			at.Speed += w * one.Speed
		}
		return at, share >= 0 && share <= 1
	}
	return at, false
}

// motions makes those of a piece from the journeys at its nodes, held against those at other
// places; nil where different things happen on them. Where they differ in the order of what
// comes back, that is left out.
func (t *Table) motions(p *smoothed, nodes []*journey, looks []place, others []*journey) *motions {
	m := t.along(p, nodes, looks, others)
	if m == nil {
		calm := func(all []*journey) {
			for i, j := range all {
				if j != nil && j.calm != nil {
					all[i] = j.calm
				}
			}
		}
		calm(nodes)
		calm(others)
		m = t.along(p, nodes, looks, others)
	}
	for _, j := range nodes {
		if j != nil {
			j.calm = nil // no longer wanted
		}
	}
	return m
}

// along is motions for journeys as they are.
func (t *Table) along(p *smoothed, nodes []*journey, looks []place, others []*journey) *motions {
	first := nodes[0]
	for _, j := range nodes {
		if !first.alike(j) {
			return nil
		}
	}
	m := &motions{nodes, make([]bool, len(first.stretches))}
	may := tableShare * t.tolerance
	for k := range m.smooth {
		m.smooth[k] = true
		for _, j := range nodes {
			m.smooth[k] = m.smooth[k] && j.off[k] <= may
		}
	}
	for i, j := range others {
		if !first.alike(j) {
			return nil
		}
		weights := p.weights(&looks[i], t.ways())
		for k := range m.smooth {
			for _, share := range [...]float64{0.03, 0.2, 0.41, 0.6, 0.83, 0.97} {
				from, to := j.marks[k].t, j.marks[k+1].t
				read, ok := m.at(weights, from+share*(to-from))
				m.smooth[k] = m.smooth[k] && ok && t.gun.of.apart(j.sum(k, lagrange(1-2*share, stretches)), read) <= may
			}
		}
	}
	return m
}

// Motion reads off how the piston of a build that fits moves at a time, at a speed of its
// rack [m/s]; false where it has to be watched, or once it is home. It is good to the
// table's tolerance, of the stroke, and of 10 m/s or the speed if that is more. The error is
// the context's.
func (t *Table) Motion(ctx context.Context, b *drivetrain.Build, v, at float64) (m Motion, ok bool, err error) {
	p, x, err := t.find(ctx, b, v)
	if p == nil || p.motions == nil || err != nil {
		return Motion{}, false, err
	}
	m, ok = p.motions.at(p.weights(&x, t.ways()), at)
	return m, ok, nil
}
