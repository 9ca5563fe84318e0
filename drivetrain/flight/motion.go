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
const stretches = 32

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

// journey is how a piston moves until it is home: at Chebyshev's nodes, the last first, of
// each stretch between what happens to it.
type journey struct {
	marks     []happening // with the release and the piston home
	stretches [][stretches + 1]Motion
	off       []float64 // by how much what lies between the nodes is off at worst, as apart has it
}

// journeyOf makes that of a flight with a course; nil where the piston doesn't come home.
func (f *Flyer) journeyOf(r *Result) *journey {
	home := r.Summary.TimeToHome
	if !(home > 0) {
		return nil
	}
	j := &journey{marks: []happening{{0, leavesRest}}}
	path := &r.Trace.path
	for _, e := range r.Trace.Events {
		switch e.Kind {
		case Turn, PortShuts, PortOpens, PelletStarts, HopEnds, PelletStops, MuzzleExit, PistonArrives, PistonLifts:
			j.add(happening{e.Time, int(e.Kind)}, home)
		}
	}
	was := 0
	for i := range path.Len() {
		t, _, code := path.Segment(i)
		if i > 0 && code != was {
			j.add(happening{t, changesMode + code}, home)
		}
		was = code
	}
	// The drag turns round between these speeds.
	for i := range path.Len() {
		t0, t1, _ := path.Segment(i)
		y0, y1, r2, r3, r4 := path.Step(i)
		for _, level := range [...]float64{5 * creep, -5 * creep} {
			lo, hi := 0., 1.
			if falls := y0[speed] > level; falls != (y1[speed] > level) {
				for hi-lo > 1e-9 {
					m := (lo + hi) / 2
					if v := nested(m, y0[speed], y1[speed]-y0[speed], r2[speed], r3[speed], r4[speed]); v > level == falls {
						lo = m
					} else {
						hi = m
					}
				}
				j.add(happening{t0 + lo*(t1-t0), turnsRound}, home)
			}
		}
	}
	// A spring with waves sends back what the piston did.
	if late := f.gun.delay; f.gun.impedance > 0 {
		for _, h := range slices.Clone(j.marks) {
			if h.t == 0 || h.what == turnsRound || h.what == int(Turn) {
				for k := 1; k < 64 && h.t+float64(k)*late < home; k++ {
					j.add(happening{h.t + float64(k)*late, comesBack}, home)
				}
			}
		}
	}
	j.marks = append(j.marks, happening{home, isHome})
	j.stretches, j.off = make([][stretches + 1]Motion, len(j.marks)-1), make([]float64, len(j.marks)-1)
	i := 0
	find := func(t float64, last bool) Motion {
		for ; i+1 < path.Len(); i++ {
			if _, end, _ := path.Segment(i); end > t || last && end == t {
				break
			}
		}
		t0, t1, _ := path.Segment(i)
		y0, y1, r2, r3, r4 := path.Step(i)
		s := min(max((t-t0)/(t1-t0), 0), 1)
		of := func(q int) float64 { return nested(s, y0[q], y1[q]-y0[q], r2[q], r3[q], r4[q]) }
		return Motion{of(travel), of(speed)}
	}
	for k := range j.stretches {
		from, to := j.marks[k].t, j.marks[k+1].t
		var between [stretches]Motion
		t := from
		for n := range j.stretches[k] {
			next := node(to, from, n, stretches) // forwards
			if n > 0 {
				between[n-1] = find((t+next)/2, false)
			}
			j.stretches[k][n] = find(next, n == stretches)
			t = next
		}
		for n, m := range between {
			share := (node(1, 0, n, stretches) + node(1, 0, n+1, stretches)) / 2
			j.off[k] = max(j.off[k], f.gun.apart(m, j.at(k, share)))
		}
	}
	return j
}

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

// at is where the piston is at a share of a stretch.
func (j *journey) at(k int, share float64) (m Motion) {
	for n, w := range lagrange(1-2*share, stretches) {
		m.Travel += w * j.stretches[k][n].Travel
		m.Speed += w * j.stretches[k][n].Speed
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
		for i, w := range weights {
			one := m.journeys[i].at(k, share)
			at.Travel += w * one.Travel
			at.Speed += w * one.Speed
		}
		return at, share >= 0 && share <= 1
	}
	return at, false
}

// motions makes those of a piece from the journeys at its nodes, held against those at other
// places; nil where different things happen on them.
func (t *Table) motions(p *smoothed, nodes []*journey, looks []place, others []*journey) *motions {
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
				m.smooth[k] = m.smooth[k] && ok && t.gun.of.apart(j.at(k, share), read) <= may
			}
		}
	}
	return m
}

// Motion reads off how the piston of a build that fits moves at a time, at a speed of its
// rack [m/s]; false where it has to be watched, or once it is home. The error is the
// context's.
func (t *Table) Motion(ctx context.Context, b *drivetrain.Build, v, at float64) (m Motion, ok bool, err error) {
	p, x, err := t.find(ctx, b, v)
	if p == nil || p.motions == nil || err != nil {
		return Motion{}, false, err
	}
	m, ok = p.motions.at(p.weights(&x, t.ways()), at)
	return m, ok, nil
}
