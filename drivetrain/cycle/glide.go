package cycle

import "math"

// A series is bound by the fastest of its exponentials long after that has died
// away: with next to no inductance, or with a drag that stops the shaft in a
// microsecond, it takes a million steps through what is nothing but slow any more.
// There a run glides: a step is one polynomial that satisfies the equations at the
// nodes of Radau, however stiff they are (the implicit Runge–Kutta method Radau IIA;
// Hairer and Wanner, Solving Ordinary Differential Equations II, section IV.5). Its
// coefficients stand in the rows of a series, so that events, books and courses are
// read off it as off any other.

// nodal is the count of nodes, and the degree of the polynomials. Their square, which
// the bend of the open-circuit voltage wants, is still a row.
const nodal = 12

type (
	nodes12  [nodal]float64
	square12 [nodal]nodes12
)

// radau is what all gliding steps have in common.
var radau = newRadau()

type radauTable struct {
	place    nodes12  // the nodes, the last one at the end of the step [1]
	integral square12 // from values at the nodes to integrals from 0 to each node
	twice    square12 // the same done twice
	legendre square12 // from values at the nodes to coefficients of Legendre polynomials
	powers   square12 // coefficients of each Legendre polynomial on 0 to 1, whole numbers
}

func newRadau() *radauTable {
	// Legendre polynomials up to nodal at t, on −1 to 1.
	all := func(t float64) (p [nodal + 1]float64) {
		p[0], p[1] = 1, t
		for l := 1; l < nodal; l++ {
			p[l+1] = (float64(2*l+1)*t*p[l] - float64(l)*p[l-1]) / float64(l+1)
		}
		return p
	}
	zero := func(t float64) float64 { p := all(t); return p[nodal] - p[nodal-1] }
	r := new(radauTable)
	const grid = 1000
	found := 0
	for n := range grid - 1 {
		lo, hi := -1+2*float64(n)/grid, -1+2*float64(n+1)/grid
		if zero(lo)*zero(hi) > 0 {
			continue
		}
		for range 100 {
			if middle := lo + (hi-lo)/2; zero(lo)*zero(middle) > 0 {
				lo = middle
			} else {
				hi = middle
			}
		}
		r.place[found] = hi
		found++
	}
	r.place[nodal-1] = 1
	var sums square12 // integrals of the Legendre polynomials up to each node
	for k, t := range r.place {
		p := all(t)
		weight := (1 + t) / (2 * nodal * nodal * p[nodal-1] * p[nodal-1])
		for l := range nodal {
			r.legendre[l][k] = float64(2*l+1) * weight * p[l]
			if l > 0 {
				sums[k][l] = (p[l+1] - p[l-1]) / float64(2*(2*l+1))
			}
		}
		r.place[k] = (1 + t) / 2
		sums[k][0] = r.place[k]
	}
	r.integral = sums.times(&r.legendre)
	r.twice = r.integral.times(&r.integral)
	for l := range nodal {
		r.powers[l][0] = 1 - 2*float64(l%2)
		for m := 1; m <= l; m++ {
			r.powers[l][m] = -r.powers[l][m-1] * float64((l+m)*(l-m+1)) / float64(m*m)
		}
	}
	return r
}

// times returns the product of two matrices.
func (a *square12) times(b *square12) (c square12) {
	for i := range a {
		for k, v := range a[i] {
			for j := range b[k] {
				c[i][j] += v * b[k][j]
			}
		}
	}
	return c
}

// of returns a matrix's product with a vector.
func (a *square12) of(x *nodes12) (y nodes12) {
	for i := range a {
		for j, v := range a[i] {
			y[i] += v * x[j]
		}
	}
	return y
}

// row writes the polynomial that starts from a value and has derivatives at the nodes.
// It returns how large its last terms are, by which it may be wrong.
func (r *radauTable) row(c *row, from float64, derivative *nodes12) (tail float64) {
	terms := r.legendre.of(derivative)
	*c = row{from}
	for l, b := range terms {
		for m := range l + 1 {
			c[m+1] += b * r.powers[l][m]
		}
	}
	for m := 2; m <= nodal; m++ {
		c[m] /= float64(m)
	}
	return max(math.Abs(terms[nodal-1]), math.Abs(terms[nodal-2])) / (4*nodal - 2)
}

// sum writes the integral of another row times a factor.
func (c *row) sum(from, factor float64, of *row) {
	c[0] = from
	for k := 1; k <= order; k++ {
		c[k] = factor * of[k-1] * inverse[k]
	}
}

// glide makes the series that of a gliding step from a state. It returns what currents
// and speeds may be wrong by, as a share of what they commonly come to [A, rad/s], and
// whether there is such a polynomial.
func (c *series) glide(md *mode, y *[states]float64, unit, amps, rads float64) (tail float64, ok bool) {
	c.mode, c.unit, c.glides = md, unit, true
	m, r := md.m, radau
	resistance, voltage := md.loop()
	ke, rate := m.motor.Ke, m.motor.Commutation
	perL := m.motor.Inductance / unit
	var perJ, torque, drag, slope, per float64
	if md.turns {
		a := &m.arcs[md.arc]
		per = unit / m.geometry.Ratio
		perJ, slope = a.inertia/unit, a.slope
		torque, drag = -(m.motor.DragConstant + a.load + slope*y[angle]), m.motor.DragViscous+m.churning
	}
	p := &m.circuit
	free := !md.held
	fed := free && md.path == closed // the source is in the motor's loop
	var perQ float64
	var pairs [2]pair
	if md.held {
		if md.path == closed {
			voltage += md.source - y[voltage1] - y[voltage2]
		}
	} else {
		c.from, c.source[0] = y[charge], m.ocv(y[charge])
		into := 0.
		if fed {
			into = 1
			perQ = -unit / m.pack.Capacity
		}
		pairs[0].set(y[voltage1], unit/(p.R1*p.C1), into*unit/p.C1)
		pairs[1].set(y[voltage2], unit/(p.R2*p.C2), into*unit/p.C2)
	}

	// By Newton's method, whose second round takes the roundings of the first away
	// where the equations are linear.
	var di, dw nodes12 // derivatives of current and speed by the share of the step
	const most = 8
	last := math.Inf(1)
	for round := 1; ; round++ {
		i, w := r.integral.of(&di), r.integral.of(&dw)
		ii, ww := r.twice.of(&di), r.twice.of(&dw) // what their integrals gain beyond the start's
		var sag [2]nodes12
		for k := range i {
			i[k] += y[current]
			w[k] += y[speed]
		}
		if free {
			for n := range pairs {
				sag[n] = pairs[n].voltage(&i)
			}
		}
		var s system
		for k := range nodal {
			x := r.place[k]
			e, t := &s[2*k], &s[2*k+1] // the loop's equation, the shaft's
			if md.sign != 0 {
				left := voltage - resistance*i[k] - ke*w[k] - rate*i[k]*w[k] - perL*di[k]
				charged := 0. // the slope of the source's voltage there
				if fed {
					s := y[charge] + perQ*(x*y[current]+ii[k])
					left += m.ocv(s) - sag[0][k] - sag[1][k]
					charged = perQ * m.pack.Slope(m.cell, s)
				}
				for j := range nodal {
					a := r.integral[k][j]
					e[2*j] = (resistance + rate*w[k]) * a
					e[2*j+1] = (ke + rate*i[k]) * a
					if fed {
						e[2*j] += pairs[0].answer[k][j] + pairs[1].answer[k][j] - charged*r.twice[k][j]
					}
				}
				e[2*k] += perL
				e[2*nodal] = left
			} else {
				e[2*k] = 1
			}
			if md.turns {
				for j := range nodal {
					t[2*j] = -ke * r.integral[k][j]
					t[2*j+1] = drag*r.integral[k][j] + slope*per*r.twice[k][j]
				}
				t[2*k+1] += perJ
				t[2*nodal] = torque + ke*i[k] - drag*w[k] - slope*per*(x*y[speed]+ww[k]) - perJ*dw[k]
			} else {
				t[2*k+1] = 1
			}
			for j := range nodal {
				e[2*j], e[2*j+1] = e[2*j]*amps, e[2*j+1]*rads
				t[2*j], t[2*j+1] = t[2*j]*amps, t[2*j+1]*rads
			}
		}
		x, ok := s.solve()
		if !ok {
			return 0, false
		}
		step := 0.
		for k := range nodal {
			step = max(step, math.Abs(x[2*k]), math.Abs(x[2*k+1]))
			di[k] += amps * x[2*k]
			dw[k] += rads * x[2*k+1]
		}
		if round > 1 && (step <= 1e-13 || step <= 1e-9 && step > last/4) { // or it doesn't get any closer
			break
		}
		if round == most || math.IsNaN(step) {
			return 0, false
		}
		last = step
	}

	tail = max(r.row(&c.current, y[current], &di)/amps, r.row(&c.speed, y[speed], &dw)/rads)
	c.angle.sum(y[angle], per, &c.speed)
	if !free {
		return tail, true
	}
	i, ii := r.integral.of(&di), r.twice.of(&di)
	for k := range i {
		i[k] += y[current]
	}
	from := c.source[0]
	for n, v := range []*row{&c.voltage1, &c.voltage2} {
		d := pairs[n].derivative(&i)
		tail = max(tail, r.row(v, pairs[n].from, &d)/from)
	}
	c.charge.sum(y[charge], perQ, &c.current)
	var d nodes12
	for k := range d {
		d[k] = perQ * i[k] * m.pack.Slope(m.cell, y[charge]+perQ*(r.place[k]*y[current]+ii[k]))
	}
	tail = max(tail, r.row(&c.source, from, &d)/from)
	// A kink of the voltage before the first node is seen by no other.
	tail = max(tail, math.Abs(c.source.of(1)-m.ocv(c.charge.of(1)))/from)
	resistance = 0
	if md.path == closed {
		resistance = p.R0
	}
	for k := range c.terminal {
		c.terminal[k] = c.source[k] - c.voltage1[k] - c.voltage2[k] - resistance*c.current[k]
	}
	return tail, true
}

// pair is an RC pair over a gliding step, whose voltage follows from the currents at
// the nodes.
type pair struct {
	from   float64  // its voltage at the start [V]
	decay  float64  // the share of its voltage that is lost in a step [1]
	charge float64  // what a current adds in a step [V/A]
	solved square12 // inverse of 1 + decay·integral
	answer square12 // from derivatives of the current to the voltage at the nodes [V/A]
}

func (p *pair) set(from, decay, charge float64) {
	*p = pair{from: from, decay: decay, charge: charge}
	var a square12
	for k := range a {
		for j := range a {
			a[k][j] = decay * radau.integral[k][j]
		}
		a[k][k]++
	}
	p.solved = a.inverted()
	p.answer = radau.integral.times(&p.solved)
	p.answer = p.answer.times(&radau.integral)
	for k := range p.answer {
		for j := range p.answer {
			p.answer[k][j] *= charge
		}
	}
}

// derivative returns that of the voltage at the nodes, by the share of the step.
func (p *pair) derivative(i *nodes12) nodes12 {
	var d nodes12
	for k := range d {
		d[k] = p.charge*i[k] - p.decay*p.from
	}
	return p.solved.of(&d)
}

// voltage returns that at the nodes.
func (p *pair) voltage(i *nodes12) nodes12 {
	d := p.derivative(i)
	v := radau.integral.of(&d)
	for k := range v {
		v[k] += p.from
	}
	return v
}

// inverted returns the inverse of 1 plus a positive multiple of the integral, by Gauss
// and Jordan with the largest pivot of a column.
func (a square12) inverted() (b square12) {
	for k := range b {
		b[k][k] = 1
	}
	for k := range a {
		best := k
		for i := k + 1; i < nodal; i++ {
			if math.Abs(a[i][k]) > math.Abs(a[best][k]) {
				best = i
			}
		}
		a[k], a[best] = a[best], a[k]
		b[k], b[best] = b[best], b[k]
		scale := 1 / a[k][k]
		for j := range nodal {
			a[k][j] *= scale
			b[k][j] *= scale
		}
		for i := range a {
			if f := a[i][k]; i != k && f != 0 {
				for j := range nodal {
					a[i][j] -= f * a[k][j]
					b[i][j] -= f * b[k][j]
				}
			}
		}
	}
	return b
}

// system is a linear one in the derivatives of current and speed at the nodes, with
// its right-hand side in the last column.
type system [2 * nodal][2*nodal + 1]float64

// solve solves it by elimination, rows made alike and the largest pivot of a column
// taken first; false where it is singular.
func (s *system) solve() (x [2 * nodal]float64, ok bool) {
	const n = 2 * nodal
	for i := range s {
		most := 0.
		for j := range n {
			most = max(most, math.Abs(s[i][j]))
		}
		if !(most > 0) || math.IsInf(most, 1) {
			return x, false
		}
		for j := range s[i] {
			s[i][j] /= most
		}
	}
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if math.Abs(s[i][k]) > math.Abs(s[best][k]) {
				best = i
			}
		}
		if s[best][k] == 0 {
			return x, false
		}
		if best != k {
			s[k], s[best] = s[best], s[k]
		}
		pivot := &s[k]
		for i := k + 1; i < n; i++ {
			to := &s[i]
			f := to[k] / pivot[k]
			if f == 0 {
				continue
			}
			for j := k + 1; j <= n; j++ {
				to[j] -= f * pivot[j]
			}
		}
	}
	for k := n - 1; k >= 0; k-- {
		v := s[k][n]
		for j := k + 1; j < n; j++ {
			v -= s[k][j] * x[j]
		}
		x[k] = v / s[k][k]
	}
	return x, true
}
