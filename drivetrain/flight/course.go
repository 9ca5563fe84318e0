package flight

// A flight is smooth between its events, by far smoother than RODAS can make use of: where
// air is pressed through the nozzle, a Rosenbrock method loses orders to that flow's
// stiffness, and its steps are a fifth as long as the solution would allow. So what a step
// is made of is the deviation δ from an expected course P, which goes on from the steps
// before:
//
//	δ′ = f(P + δ) − P′,  δ = 0 where the step starts.
//
// That is as stiff, but small, and so are all errors. P is the polynomial through the states
// where the last steps started and where this one does. (One that has slopes in common with
// the solution as well makes steps unstable that are both stiff and longer than the last:
// TestExpectedCourseIsStable has the figures.) With fewer steps since the last event its
// degree is lower; a step after an event has P = y0 alone, and is RODAS's own.

// past is how many steps the expected course goes back at most, which is its degree.
const past = 4

// pastSteps is how many it goes back in steps of a tolerance: the longer they are, the less
// can be told from the ones before. Loose steps are RODAS's own, which costs a fifth less.
func pastSteps(tolerance float64) int {
	switch {
	case tolerance <= 3e-6:
		return past
	case tolerance <= 8e-6:
		return 3
	}
	return 0
}

// growth is how much longer a step may be than the last one, by the steps that the expected
// course goes back then: the further, the sooner longer steps make it unstable. Without one
// it is the method's own.
var growth = [past + 1]float64{6, 3, 3, 2, 1.4}

// expected is the course that is expected from where a step starts.
type expected struct {
	most    int // steps that it may go back
	made    int // steps since the last event, up to past
	degree  int // of the course
	lengths [past]float64

	differences [past][active]float64     // divided ones, of the states at the last steps' ends
	first       [active]float64           // the course's slopes where the step starts
	powers      [past - 1][active]float64 // and its coefficients of the powers of the time from 2 on
	// The derivatives by time, along the course, of the states' slopes and of the sums'.
	turns  [active]float64
	turned [integrals]float64
}

// extend goes on from a point that a step of h from another has led to.
func (e *expected) extend(from, to *point, h float64) {
	if e.most == 0 {
		return
	}
	copy(e.lengths[1:], e.lengths[:past-1])
	e.lengths[0] = h
	e.made = min(e.made+1, past)
	e.degree = min(e.made, e.most)
	// The times back to the points, and one over them; none of what isn't there.
	var back, per [past]float64
	t := 0.
	for i, length := range e.lengths[:e.made] {
		t += length
		back[i], per[i] = t, 1/t
	}
	for i := range active {
		d1 := (to.y[i] - from.y[i]) * per[0]
		d2 := (d1 - e.differences[0][i]) * per[1]
		d3 := (d2 - e.differences[1][i]) * per[2]
		d4 := (d3 - e.differences[2][i]) * per[3]
		e.differences[0][i], e.differences[1][i], e.differences[2][i] = d1, d2, d3
		if e.degree < 4 {
			d4 = 0
			if e.degree < 3 {
				d3 = 0
				if e.degree < 2 {
					d2 = 0
				}
			}
		}
		// Newton's form, from the innermost bracket.
		c0, c1 := d3+back[2]*d4, d4
		b0, b1 := d2+back[1]*c0, c0+back[1]*c1
		e.first[i] = d1 + back[0]*b0
		e.powers[0][i], e.powers[1][i], e.powers[2][i] = b0+back[0]*b1, b1+back[0]*c1, c1
	}
	to.turn(&e.first, &e.turns, &e.turned)
}

// grow returns the growth from the present step to the next.
func (e *expected) grow() float64 { return growth[min(e.made+1, e.most)] }

// forget is for a start at an event.
func (e *expected) forget() { e.made, e.degree = 0, 0 }

// slopes are the states' derivatives by time.
func (p *point) slopes() [active]float64 {
	return [active]float64{travel: p.y[speed], speed: p.v, mass1: p.m1, energy1: p.u1, mass2: p.m2, energy2: p.u2, along: p.y[fast], fast: p.w}
}

// turn writes the derivatives by time of the states' slopes and the sums' where the states
// change as f.
func (p *point) turn(f, states *[active]float64, sums *[integrals]float64) {
	x, v, m1, u1 := f[travel], f[speed], f[mass1], f[energy1]
	m2, u2, z, w := f[mass2], f[energy2], f[along], f[fast]
	s := (p.sx*x + p.sm*m1) + (p.su*u1 + p.sn*m2) + (p.sk*u2 + p.sz*z) + p.sw*w
	t := (p.tx*x + p.tm*m1) + (p.tu*u1 + p.tn*m2) + (p.tk*u2 + p.tz*z) + (p.tv*v + p.tw*w)
	n := (p.nx*x + p.nm*m1) + (p.nu*u1 + p.nn*m2) + (p.nk*u2 + p.nz*z) + p.nw*w
	k := (p.kx*x + p.km*m1) + (p.ku*u1 + p.kn*m2) + (p.kk*u2 + p.kz*z) + p.kw*w
	*states = [active]float64{
		travel: v, speed: p.vx*x + p.vv*v + p.vu*u1 + p.in.v,
		mass1: s - n, energy1: t - k + p.in.u1, mass2: n, energy2: k,
		along: w, fast: p.wz*z + p.wk*u2 + p.wn*m2 + p.ww*w,
	}
	*sums = [integrals]float64{
		0:                     p.dragV*v + p.dragX*x + p.dragU*u1,
		sumEnthalpy - sumDrag: (p.ex*x + p.em*m1) + (p.eu*u1 + p.en*m2) + (p.ek*u2 + p.ez*z) + p.ew*w,
		sumWalls - sumDrag:    p.in.walls + ((p.hx*x + p.hm*m1) + (p.hu*u1 + p.hn*m2) + (p.hk*u2 + p.hz*z) + p.hw*w),
		sumSurge - sumDrag:    p.in.surge + (p.fx*x + p.fv*v),
		sumColumn - sumDrag:   (p.cn*m2 + p.ck*u2) + (p.cz*z + p.cw*w),
	}
}

// stage is where a stage of a step stands: the course there, and its slopes.
type stage struct{ y, slope [active]float64 }

// resting are the slopes of a course that stays where it is.
var resting [active]float64

// expect lays the expected course out over a step of h. What is left of the slopes at its
// start, and of their derivatives by time, goes to left and turns, of the sums' to turned.
func (s *stepper) expect(h float64) {
	y, e := &s.near.y, &s.expected
	if e.degree == 0 {
		for i := range s.courses {
			s.courses[i], s.ways[i] = (*[active]float64)(y[:active]), &resting
		}
		in := &s.near.in
		s.left = s.near.slopes()
		s.turns = [active]float64{speed: h * in.v, energy1: h * in.u1}
		s.turned = [integrals]float64{sumWalls - sumDrag: h * in.walls, sumSurge - sumDrag: h * in.surge}
		return
	}
	for i := range s.courses {
		s.courses[i], s.ways[i] = &s.stages[i].y, &s.stages[i].slope
	}
	for i := range s.turned {
		s.turned[i] = h * e.turned[i]
	}
	f := s.near.slopes()
	for i := range active {
		s.left[i] = f[i] - e.first[i]
		y, f := y[i], e.first[i]
		d2, d3, d4 := h*e.powers[0][i], h*h*e.powers[1][i], h*h*(h*e.powers[2][i])
		c1, c2, c3, c4 := h*f, h*d2, h*d3, h*d4
		s.turns[i] = h*e.turns[i] - 2*d2
		d2, d3, d4 = 2*d2, 3*d3, 4*d4
		s.stages[0].y[i] = y + at1*(c1+at1*(c2+at1*(c3+at1*c4)))
		s.stages[1].y[i] = y + at2*(c1+at2*(c2+at2*(c3+at2*c4)))
		s.stages[2].y[i] = y + at3*(c1+at3*(c2+at3*(c3+at3*c4)))
		s.stages[3].y[i] = y + ((c1 + c2) + (c3 + c4))
		s.stages[0].slope[i] = f + at1*(d2+at1*(d3+at1*d4))
		s.stages[1].slope[i] = f + at2*(d2+at2*(d3+at2*d4))
		s.stages[2].slope[i] = f + at3*(d2+at3*(d3+at3*d4))
		s.stages[3].slope[i] = f + (d2 + (d3 + d4))
	}
}

// lift adds the expected course to the polynomial of a step's deviation from it.
func (e *expected) lift(b *bend, h float64) {
	if e.degree == 0 {
		return
	}
	for i := range active {
		d2, d3, r4 := e.bends(i, h)
		b.r2[i] += d2
		b.r3[i] += d3
		b.r4[i] = r4
	}
}

// bends returns what the expected course adds to r2 and r3 of a state in a step of h, and
// r4.
func (e *expected) bends(i int, h float64) (d2, d3, r4 float64) {
	if e.degree == 0 {
		return 0, 0, 0
	}
	h2 := h * h
	c2, c3, c4 := h2*e.powers[0][i], h2*(h*e.powers[1][i]), h2*(h2*e.powers[2][i])
	return -(c2 + (c3 + c4)), -(c3 + 2*c4), c4
}

// fourth returns r4 of a state's polynomial in a step of h.
func (e *expected) fourth(state int, h float64) float64 {
	if e.degree == 0 {
		return 0
	}
	return e.powers[2][state] * (h * h * (h * h))
}
