package flight

import (
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// stepper makes steps of RODAS for the equations of a flight, unrolled.
type stepper struct {
	laws
	echo   *echo
	matrix matrix
	near   *point // where steps start
	far    *point // where the last one tried ends: its state alone, until filled
	h      float64

	expected expected
	courses  [4]*[active]float64 // expected at the stages, the last two being at the end of the step last tried
	ways     [4]*[active]float64 // and its slopes
	stages   [4]stage            // where both are kept
	left     [active]float64     // what the course leaves of the slopes at its start
	turns    [active]float64     // and of their derivatives by time, over the step
	turned   [integrals]float64  // the same of the sums

	k    [5][active]float64    // the stages', for the polynomial
	sums [integrals][6]float64 // the stages' slopes of the sums

	evaluations, jacobians int
}

// active are the states that steps are solved for; the clock is none of them.
const active = clock

// What a stage adds of the equations' derivative by time, over the step; the last two
// add none. (Hairer and Wanner; the sums of a method's γ over a row.)
const (
	in1 = 0.25
	in2 = -0.1043
	in3 = 0.1035
	in4 = -0.0362
)

// The stages' places in a step; the last two stand at its end.
const (
	at1 = .386
	at2 = .21
	at3 = .63
)

// The sums' share of a step. Nothing depends on a sum, so that its
//
//	k[i] = hγ(g[i] + Σ c[i][j]·k[j]/h)
//
// with g the stage's slope and J·k, is never formed: what a step adds, its error and
// the polynomial are h times a weighted sum of the g, whose weights follow from
// those of the k.
const (
	w6 = ode.RodasGamma
	w5 = ode.RodasGamma * (1 + ode.RodasC65*w6)
	w4 = ode.RodasGamma * (ode.RodasA54 + ode.RodasC64*w6 + ode.RodasC54*w5)
	w3 = ode.RodasGamma * (ode.RodasA53 + ode.RodasC63*w6 + ode.RodasC53*w5 + ode.RodasC43*w4)
	w2 = ode.RodasGamma * (ode.RodasA52 + ode.RodasC62*w6 + ode.RodasC52*w5 + ode.RodasC42*w4 + ode.RodasC32*w3)
	w1 = ode.RodasGamma * (ode.RodasA51 + ode.RodasC61*w6 + ode.RodasC51*w5 + ode.RodasC41*w4 + ode.RodasC31*w3 + ode.RodasC21*w2)

	v6 = ode.RodasGamma
	v5 = ode.RodasGamma * (ode.RodasC65 * v6)
	v4 = ode.RodasGamma * (ode.RodasC64*v6 + ode.RodasC54*v5)
	v3 = ode.RodasGamma * (ode.RodasC63*v6 + ode.RodasC53*v5 + ode.RodasC43*v4)
	v2 = ode.RodasGamma * (ode.RodasC62*v6 + ode.RodasC52*v5 + ode.RodasC42*v4 + ode.RodasC32*v3)
	v1 = ode.RodasGamma * (ode.RodasC61*v6 + ode.RodasC51*v5 + ode.RodasC41*v4 + ode.RodasC31*v3 + ode.RodasC21*v2)
)

// begin makes a point ready to step from.
func (s *stepper) begin(p *point) {
	s.evaluations++
	s.jacobians++
	if s.full {
		t := p.y[clock]
		p.now = s.moment(t)
		if s.waves {
			p.in.push = s.echo.find(t).slope(t)
		}
	}
	s.fill(p)
}

// stiffness is how fast what decays fastest does so at a point [1/s], or more: less the
// trace of the equations' derivatives.
func (p *point) stiffness() float64 {
	return p.nm - p.vv - p.ww - p.sm + p.ku - p.tu - p.nn - p.kk
}

// add keeps the slopes of the sums at a stage, with the part of their derivative by time
// that it takes in.
func (s *stepper) add(i int, in, heat, drag, kx, kv, km1, ku1, km2, ku2, kz, kw float64) {
	p, t := s.near, &s.turned
	heat += in*t[sumEnthalpy-sumDrag] + ((p.ex*kx + p.em*km1) + (p.eu*ku1 + p.en*km2) + (p.ek*ku2 + p.ez*kz))
	drag += in*t[0] + p.dragV*kv
	if !s.full {
		s.sums[0][i], s.sums[sumEnthalpy-sumDrag][i] = drag, heat
		return
	}
	s.sums[0][i], s.sums[sumEnthalpy-sumDrag][i] = drag+(p.dragX*kx+p.dragU*ku1), heat+p.ew*kw
	e := &s.laws.extra
	if i == 0 {
		e = &p.extra
	}
	s.sums[sumWalls-sumDrag][i] = e.walls + in*t[sumWalls-sumDrag] + ((p.hx*kx + p.hm*km1) + (p.hu*ku1 + p.hn*km2) + (p.hk*ku2 + p.hz*kz) + p.hw*kw)
	s.sums[sumSurge-sumDrag][i] = e.surge + in*t[sumSurge-sumDrag] + (p.fx*kx + p.fv*kv)
	s.sums[sumColumn-sumDrag][i] = e.column + in*t[sumColumn-sumDrag] + ((p.cn*km2 + p.ck*ku2) + (p.cz*kz + p.cw*kw))
}

// try makes a step of h from near to far, whose state it fills in, and returns the
// largest error in units of what is allowed; NaN, or more than 1, is a step in
// vain.
func (s *stepper) try(h float64) float64 {
	const (
		a21           = ode.RodasA21
		a31, a32      = ode.RodasA31, ode.RodasA32
		a41, a42, a43 = ode.RodasA41, ode.RodasA42, ode.RodasA43
		a51, a52      = ode.RodasA51, ode.RodasA52
		a53, a54      = ode.RodasA53, ode.RodasA54
		c21           = ode.RodasC21
		c31, c32      = ode.RodasC31, ode.RodasC32
		c41, c42, c43 = ode.RodasC41, ode.RodasC42, ode.RodasC43
		c51, c52      = ode.RodasC51, ode.RodasC52
		c53, c54      = ode.RodasC53, ode.RodasC54
		c61, c62, c63 = ode.RodasC61, ode.RodasC62, ode.RodasC63
		c64, c65      = ode.RodasC64, ode.RodasC65
	)
	p, m, o := s.near, &s.matrix, &s.laws
	s.h = h
	if !m.factor(p, h) {
		return math.NaN()
	}
	s.evaluations += 5
	if s.full {
		s.moments(h)
	}
	s.expect(h)
	rate := 1 / h
	r21, r31, r32, r41, r42, r43 := rate*c21, rate*c31, rate*c32, rate*c41, rate*c42, rate*c43
	r51, r52, r53, r54 := rate*c51, rate*c52, rate*c53, rate*c54
	r61, r62, r63, r64, r65 := rate*c61, rate*c62, rate*c63, rate*c64, rate*c65
	t := &s.turns
	tx, tv, tm, tu, tn, te, tz, tw := t[travel], t[speed], t[mass1], t[energy1], t[mass2], t[energy2], t[along], t[fast]

	l := &s.left
	x1, v1, m1, u1, n1, e1, z1, w1 := m.solve(l[travel]+in1*tx, l[speed]+in1*tv, l[mass1]+in1*tm, l[energy1]+in1*tu,
		l[mass2]+in1*tn, l[energy2]+in1*te, l[along]+in1*tz, l[fast]+in1*tw)
	s.add(0, in1, p.heat, p.drag, x1, v1, m1, u1, n1, e1, z1, w1)

	q, d := s.courses[0], s.ways[0]
	x, v, mm, u, n, e, z, w := q[travel]+(a21*x1), q[speed]+(a21*v1), q[mass1]+(a21*m1), q[energy1]+(a21*u1),
		q[mass2]+(a21*n1), q[energy2]+(a21*e1), q[along]+(a21*z1), q[fast]+(a21*w1)
	dv, dm, du, dn, de, dw, heat, drag := o.rates(0, x, v, mm, u, n, e, z, w)
	x2, v2, m2, u2, n2, e2, z2, w2 := m.solve(
		v-d[travel]+in2*tx+(r21*x1), dv-d[speed]+in2*tv+(r21*v1), dm-d[mass1]+in2*tm+(r21*m1), du-d[energy1]+in2*tu+(r21*u1),
		dn-d[mass2]+in2*tn+(r21*n1), de-d[energy2]+in2*te+(r21*e1), w-d[along]+in2*tz+(r21*z1), dw-d[fast]+in2*tw+(r21*w1))
	s.add(1, in2, heat, drag, x2, v2, m2, u2, n2, e2, z2, w2)

	q, d = s.courses[1], s.ways[1]
	x, v, mm, u, n, e, z, w = q[travel]+(a31*x1+a32*x2), q[speed]+(a31*v1+a32*v2), q[mass1]+(a31*m1+a32*m2), q[energy1]+(a31*u1+a32*u2),
		q[mass2]+(a31*n1+a32*n2), q[energy2]+(a31*e1+a32*e2), q[along]+(a31*z1+a32*z2), q[fast]+(a31*w1+a32*w2)
	dv, dm, du, dn, de, dw, heat, drag = o.rates(1, x, v, mm, u, n, e, z, w)
	x3, v3, m3, u3, n3, e3, z3, w3 := m.solve(
		v-d[travel]+in3*tx+(r31*x1+r32*x2), dv-d[speed]+in3*tv+(r31*v1+r32*v2), dm-d[mass1]+in3*tm+(r31*m1+r32*m2), du-d[energy1]+in3*tu+(r31*u1+r32*u2),
		dn-d[mass2]+in3*tn+(r31*n1+r32*n2), de-d[energy2]+in3*te+(r31*e1+r32*e2), w-d[along]+in3*tz+(r31*z1+r32*z2), dw-d[fast]+in3*tw+(r31*w1+r32*w2))
	s.add(2, in3, heat, drag, x3, v3, m3, u3, n3, e3, z3, w3)

	q, d = s.courses[2], s.ways[2]
	x, v, mm, u, n, e, z, w = q[travel]+(a41*x1+a42*x2+a43*x3), q[speed]+(a41*v1+a42*v2+a43*v3),
		q[mass1]+(a41*m1+a42*m2+a43*m3), q[energy1]+(a41*u1+a42*u2+a43*u3),
		q[mass2]+(a41*n1+a42*n2+a43*n3), q[energy2]+(a41*e1+a42*e2+a43*e3),
		q[along]+(a41*z1+a42*z2+a43*z3), q[fast]+(a41*w1+a42*w2+a43*w3)
	dv, dm, du, dn, de, dw, heat, drag = o.rates(2, x, v, mm, u, n, e, z, w)
	x4, v4, m4, u4, n4, e4, z4, w4 := m.solve(
		v-d[travel]+in4*tx+(r41*x1+r42*x2+r43*x3), dv-d[speed]+in4*tv+(r41*v1+r42*v2+r43*v3),
		dm-d[mass1]+in4*tm+(r41*m1+r42*m2+r43*m3), du-d[energy1]+in4*tu+(r41*u1+r42*u2+r43*u3),
		dn-d[mass2]+in4*tn+(r41*n1+r42*n2+r43*n3), de-d[energy2]+in4*te+(r41*e1+r42*e2+r43*e3),
		w-d[along]+in4*tz+(r41*z1+r42*z2+r43*z3), dw-d[fast]+in4*tw+(r41*w1+r42*w2+r43*w3))
	s.add(3, in4, heat, drag, x4, v4, m4, u4, n4, e4, z4, w4)

	q, d = s.courses[3], s.ways[3]
	x, v, mm, u, n, e, z, w = q[travel]+(a51*x1+a52*x2+a53*x3+a54*x4), q[speed]+(a51*v1+a52*v2+a53*v3+a54*v4),
		q[mass1]+(a51*m1+a52*m2+a53*m3+a54*m4), q[energy1]+(a51*u1+a52*u2+a53*u3+a54*u4),
		q[mass2]+(a51*n1+a52*n2+a53*n3+a54*n4), q[energy2]+(a51*e1+a52*e2+a53*e3+a54*e4),
		q[along]+(a51*z1+a52*z2+a53*z3+a54*z4), q[fast]+(a51*w1+a52*w2+a53*w3+a54*w4)
	dv, dm, du, dn, de, dw, heat, drag = o.rates(3, x, v, mm, u, n, e, z, w)
	x5, v5, m5, u5, n5, e5, z5, w5 := m.solve(
		v-d[travel]+(r51*x1+r52*x2+r53*x3+r54*x4), dv-d[speed]+(r51*v1+r52*v2+r53*v3+r54*v4),
		dm-d[mass1]+(r51*m1+r52*m2+r53*m3+r54*m4), du-d[energy1]+(r51*u1+r52*u2+r53*u3+r54*u4),
		dn-d[mass2]+(r51*n1+r52*n2+r53*n3+r54*n4), de-d[energy2]+(r51*e1+r52*e2+r53*e3+r54*e4),
		w-d[along]+(r51*z1+r52*z2+r53*z3+r54*z4), dw-d[fast]+(r51*w1+r52*w2+r53*w3+r54*w4))
	s.add(4, 0, heat, drag, x5, v5, m5, u5, n5, e5, z5, w5)

	x, v, mm, u, n, e, z, w = x+x5, v+v5, mm+m5, u+u5, n+n5, e+e5, z+z5, w+w5
	dv, dm, du, dn, de, dw, heat, drag = o.rates(4, x, v, mm, u, n, e, z, w)
	x6, v6, m6, u6, n6, e6, z6, w6 := m.solve(
		v-d[travel]+(r61*x1+r62*x2+r63*x3+r64*x4+r65*x5), dv-d[speed]+(r61*v1+r62*v2+r63*v3+r64*v4+r65*v5),
		dm-d[mass1]+(r61*m1+r62*m2+r63*m3+r64*m4+r65*m5), du-d[energy1]+(r61*u1+r62*u2+r63*u3+r64*u4+r65*u5),
		dn-d[mass2]+(r61*n1+r62*n2+r63*n3+r64*n4+r65*n5), de-d[energy2]+(r61*e1+r62*e2+r63*e3+r64*e4+r65*e5),
		w-d[along]+(r61*z1+r62*z2+r63*z3+r64*z4+r65*z5), dw-d[fast]+(r61*w1+r62*w2+r63*w3+r64*w4+r65*w5))
	s.add(5, 0, heat, drag, x6, v6, m6, u6, n6, e6, z6, w6)

	s.k = [5][active]float64{
		{x1, v1, m1, u1, n1, e1, z1, w1}, {x2, v2, m2, u2, n2, e2, z2, w2}, {x3, v3, m3, u3, n3, e3, z3, w3},
		{x4, v4, m4, u4, n4, e4, z4, w4}, {x5, v5, m5, u5, n5, e5, z5, w5},
	}
	y := &s.far.y
	y[travel], y[speed], y[mass1], y[energy1] = x+x6, v+v6, mm+m6, u+u6
	y[mass2], y[energy2], y[along], y[fast] = n+n6, e+e6, z+z6, w+w6
	y[clock] = p.y[clock] + h
	others := s.sum()

	per := &p.per
	return math.Float64frombits(max(
		size(x6*per[travel]), size(v6*per[speed]), size(m6*per[mass1]), size(u6*per[energy1]), size(n6*per[mass2]),
		size(e6*per[energy2]), size(z6*per[along]), size(w6*per[fast]), others))
}

// size orders floats by their size, what is not finite last.
func size(x float64) uint64 { return math.Float64bits(x) &^ (1 << 63) }

// moments sets the times of the stages, which stand at these parts of the step.
func (s *stepper) moments(h float64) {
	t := s.near.y[clock]
	s.perLength, s.rooted = s.near.perLength, s.near.rooted
	s.laws.re, s.logRe = s.near.re.wall, s.near.logRe
	for i, part := range [...]float64{at1, at2, at3, 1} {
		s.laws.times[i] = s.moment(t + part*h)
	}
	s.laws.times[4] = s.laws.times[3]
}

// moment returns what the equations read of a time.
func (s *stepper) moment(t float64) (now moment) {
	if s.waves {
		now.push = s.echo.find(t).at(t)
	}
	now.layer = s.layer(t)
	return now
}

// counted is how many sums there are.
func (s *stepper) counted() int {
	if s.full {
		return integrals
	}
	return sumWalls - sumDrag
}

// sum fills in the sums at the end of a step, and returns the size of the largest of their
// errors in units of what is allowed.
func (s *stepper) sum() (most uint64) {
	y, y0, per, h := &s.far.y, &s.near.y, &s.near.per, s.h
	for i := range s.counted() {
		g := &s.sums[i]
		y[sumDrag+i] = y0[sumDrag+i] + h*(w1*g[0]+w2*g[1]+w3*g[2]+w4*g[3]+w5*g[4]+w6*g[5])
		most = max(most, size(h*(v1*g[0]+v2*g[1]+v3*g[2]+v4*g[3]+v5*g[4]+v6*g[5])*per[sumDrag+i]))
	}
	return most
}

// The sums' weights for the polynomial.
const (
	d25 = ode.RodasGamma * ode.RodasD25
	d24 = ode.RodasGamma * (ode.RodasD24 + ode.RodasC54*d25)
	d23 = ode.RodasGamma * (ode.RodasD23 + ode.RodasC53*d25 + ode.RodasC43*d24)
	d22 = ode.RodasGamma * (ode.RodasD22 + ode.RodasC52*d25 + ode.RodasC42*d24 + ode.RodasC32*d23)
	d21 = ode.RodasGamma * (ode.RodasD21 + ode.RodasC51*d25 + ode.RodasC41*d24 + ode.RodasC31*d23 + ode.RodasC21*d22)

	d35 = ode.RodasGamma * ode.RodasD35
	d34 = ode.RodasGamma * (ode.RodasD34 + ode.RodasC54*d35)
	d33 = ode.RodasGamma * (ode.RodasD33 + ode.RodasC53*d35 + ode.RodasC43*d34)
	d32 = ode.RodasGamma * (ode.RodasD32 + ode.RodasC52*d35 + ode.RodasC42*d34 + ode.RodasC32*d33)
	d31 = ode.RodasGamma * (ode.RodasD31 + ode.RodasC51*d35 + ode.RodasC41*d34 + ode.RodasC31*d33 + ode.RodasC21*d32)
)

// bends returns r2 and r3 of a state in the last step tried, without what is expected.
func (s *stepper) bends(i int) (r2, r3 float64) {
	k := &s.k
	r2 = ode.RodasD21*k[0][i] + ode.RodasD22*k[1][i] + ode.RodasD23*k[2][i] + ode.RodasD24*k[3][i] + ode.RodasD25*k[4][i]
	r3 = ode.RodasD31*k[0][i] + ode.RodasD32*k[1][i] + ode.RodasD33*k[2][i] + ode.RodasD34*k[3][i] + ode.RodasD35*k[4][i]
	return r2, r3
}

// course returns what nested takes of a state in the last step tried.
func (s *stepper) course(i int) [5]float64 {
	y0, y1 := s.near.y[i], s.far.y[i]
	r2, r3 := s.bends(i)
	d2, d3, r4 := s.expected.bends(i, s.h)
	return [5]float64{y0, y1 - y0, r2 + d2, r3 + d3, r4}
}

// dense writes the polynomial of the last step tried.
func (s *stepper) dense(b *bend) {
	b.y0, b.y1 = s.near.y, s.far.y
	b.r2, b.r3, b.r4 = [states]float64{}, [states]float64{}, [states]float64{}
	h := s.h
	for i := range active {
		b.r2[i], b.r3[i] = s.bends(i)
	}
	for i := range s.counted() {
		g := &s.sums[i]
		b.r2[sumDrag+i] = h * (d21*g[0] + d22*g[1] + d23*g[2] + d24*g[3] + d25*g[4])
		b.r3[sumDrag+i] = h * (d31*g[0] + d32*g[1] + d33*g[2] + d34*g[3] + d35*g[4])
	}
	s.expected.lift(b, h)
}
