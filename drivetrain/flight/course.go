package flight

// A flight is smooth between its events, by far smoother than RODAS can make use of: where
// air is pressed through the nozzle, a Rosenbrock method loses orders to that flow's
// stiffness, and its steps are a fifth as long as the solution would allow. So what a step
// is made of is the deviation δ from an expected course P, which goes on from the steps
// before:
//
//	δ′ = f(P + δ) − P′,  δ = 0 where the step starts.
//
// That is as stiff, but small, and so are all errors. P is of degree 4: it has the state and
// the slope where the step starts, and the states where the last three steps started.
// (Slopes of earlier points in it, or more points, make the steps unstable where the flow
// is stiffest.) With fewer steps since the last event it is of a lower degree; a step after
// an event has P = y0 alone, and is RODAS's own.

// past is how many steps the expected course goes back at most.
const past = 3

// expected is the course that is expected from where a step starts.
type expected struct {
	steps   int // that it goes back
	lengths [past]float64
	starts  [past][active]float64 // the states there; the last step is the first here, too

	powers [3][active]float64 // coefficients of the powers of the time from 2 to 4
	// The derivatives by time, along the course, of the states' slopes and of the sums'.
	turns  [active]float64
	turned [integrals]float64
}

// extend goes on from a point that a step of h from another has led to.
func (e *expected) extend(from, to *point, h float64) {
	copy(e.lengths[1:], e.lengths[:past-1])
	copy(e.starts[1:], e.starts[:past-1])
	e.lengths[0] = h
	e.starts[0] = [active]float64(from.y[:active])
	e.steps = min(e.steps+1, past)

	// Newton's divided differences: 0 and a, b, c before it are the times of the points.
	a := h
	b := a + e.lengths[1]
	c := b + e.lengths[2]
	perA, perB, perC := 1/a, 1/b, 1/c
	perAB, perBC, perAC := 1/e.lengths[1], 1/e.lengths[2], 1/(c-a)
	if e.steps < 2 {
		perB, perAB = 0, 0
	}
	if e.steps < 3 {
		perC, perBC, perAC = 0, 0, 0
	}
	f := to.slopes()
	for i := range active {
		ya, yb, yc := e.starts[0][i], e.starts[1][i], e.starts[2][i]
		upToA := (to.y[i] - ya) * perA
		aToB := (ya - yb) * perAB
		bToC := (yb - yc) * perBC
		second := (f[i] - upToA) * perA
		upToB := (upToA - aToB) * perB
		third := (second - upToB) * perB
		aToC := (aToB - bToC) * perAC
		fourth := (third - (upToB-aToC)*perC) * perC
		e.powers[0][i] = second + a*(third+b*fourth)
		e.powers[1][i] = third + (a+b)*fourth
		e.powers[2][i] = fourth
	}
	to.turn(&f, &e.turns, &e.turned)
}

// forget is for a start at an event.
func (e *expected) forget() { e.steps = 0 }

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
		sumDrag - sumDrag:     p.dragV*v + p.dragX*x + p.dragU*u1,
		sumEnthalpy - sumDrag: (p.ex*x + p.em*m1) + (p.eu*u1 + p.en*m2) + (p.ek*u2 + p.ez*z) + p.ew*w,
		sumWalls - sumDrag:    p.in.walls + ((p.hx*x + p.hm*m1) + (p.hu*u1 + p.hn*m2) + (p.hk*u2 + p.hz*z) + p.hw*w),
		sumSurge - sumDrag:    p.in.surge + (p.fx*x + p.fv*v),
		sumColumn - sumDrag:   (p.cn*m2 + p.ck*u2) + (p.cz*z + p.cw*w),
	}
}

// stage is where a stage of a step stands: the course there, and its slopes.
type stage struct{ y, slope [active]float64 }

// expect lays the expected course out over a step of h. What is left of the slopes at its
// start, and of their derivatives by time, goes to left and turns, of the sums' to turned.
func (s *stepper) expect(h float64) {
	y, e := &s.near.y, &s.expected
	if e.steps == 0 {
		for i := range s.stages {
			s.stages[i].y = [active]float64(y[:active])
			s.stages[i].slope = [active]float64{}
		}
		in := &s.near.in
		s.left = s.near.slopes()
		s.turns = [active]float64{speed: h * in.v, energy1: h * in.u1}
		s.turned = [integrals]float64{sumWalls - sumDrag: h * in.walls, sumSurge - sumDrag: h * in.surge}
		return
	}
	s.left = [active]float64{}
	for i := range s.turned {
		s.turned[i] = h * e.turned[i]
	}
	f := s.near.slopes()
	for i := range active {
		y, f := y[i], f[i]
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
	if e.steps == 0 {
		return
	}
	h2 := h * h
	for i := range active {
		c2, c3, c4 := h2*e.powers[0][i], h2*(h*e.powers[1][i]), h2*(h2*e.powers[2][i])
		b.r2[i] -= c2 + (c3 + c4)
		b.r3[i] -= c3 + 2*c4
		b.r4[i] = c4
	}
}

// fourth returns r4 of a state's polynomial in a step of h.
func (e *expected) fourth(state int, h float64) float64 {
	if e.steps == 0 {
		return 0
	}
	return e.powers[2][state] * (h * h * (h * h))
}
