package cycle

import "math"

// order is that of the Taylor series, which suits the exponentials that the
// equations are made of: the higher, the fewer steps, until the terms of
// alternating sign cost digits.
const order = 30

// row holds the coefficients of one state.
type row [order + 1]float64

// at returns the polynomial's value and derivative.
func (c *row) at(x float64) (value, slope float64) {
	value = c[order]
	for k := order - 1; k >= 0; k-- {
		slope = slope*x + value
		value = value*x + c[k]
	}
	return value, slope
}

// of returns the polynomial's value.
func (c *row) of(x float64) (value float64) {
	for k := order; k >= 0; k-- {
		value = value*x + c[k]
	}
	return value
}

// inverse are 1/k.
var inverse = func() (all row) {
	for k := 1; k <= order; k++ {
		all[k] = 1 / float64(k)
	}
	return all
}()

// mode is what the equations F1 to F3 and B1 hold in: within it they are smooth,
// and but for the open-circuit voltage and commutation linear.
type mode struct {
	m      *machine
	held   bool    // the pack's charge and RC voltages stand still (F5)
	path   path    // which way the motor's current flows
	arc    int     // in m.arcs
	turns  bool    // the shaft is not held by the latch
	sign   float64 // of the current through the brushes: 1, −1, or 0 for none
	source float64 // open-circuit voltage of a held pack [V]
}

// series is the course of a mode from a state on, as polynomials in the time over
// a unit: y(t) = Σ c[k]·(t/unit)^k. Their recursion follows from the equations,
// coefficient by coefficient.
type series struct {
	mode   *mode
	unit   float64 // [s]
	glides bool    // over the unit, and no further

	current, speed, angle row
	// Of the pack that isn't held.
	voltage1, voltage2, charge row
	source                     row // open-circuit voltage
	terminal                   row // voltage at the terminals
	bends                      bool
	from                       float64 // the charge at the begin
	slope, curvature           float64 // of the open-circuit voltage by the charge there [V]
}

// loop returns resistance and voltage of the motor's loop, without the pack's
// voltage: La·di/dt = voltage − resistance·i − … (equations F1, F3).
func (md *mode) loop() (resistance, voltage float64) {
	m := md.m
	switch md.path {
	case closed:
		resistance = m.resistance
	case freewheel:
		resistance, voltage = m.motor.Resistance, -m.flyback
	case braking:
		resistance = m.motor.Resistance + m.brake
	}
	return resistance, voltage - md.sign*m.motor.BrushDrop
}

// expand computes the coefficients from a state.
func (c *series) expand(md *mode, y *[states]float64, unit float64) {
	c.mode, c.unit, c.glides = md, unit, false
	m := md.m
	resistance, voltage := md.loop()
	perL := unit * md.sign * md.sign / m.motor.Inductance
	var perJ, perG, torque, drag, slope float64
	if md.turns {
		a := &m.arcs[md.arc]
		perJ, perG = unit/a.inertia, unit/m.geometry.Ratio
		torque, drag, slope = -(m.motor.DragConstant + a.load), m.motor.DragViscous+m.churning, a.slope
	}
	c.current[0], c.speed[0], c.angle[0] = y[current], y[speed], y[angle]
	if !md.held {
		c.voltage1[0], c.voltage2[0], c.charge[0] = y[voltage1], y[voltage2], y[charge]
		c.open(y, unit)
		c.expandAll(resistance, voltage, perL, perJ, perG, torque, drag, slope)
		return
	}
	if md.path == closed {
		voltage += md.source - y[voltage1] - y[voltage2]
	}
	ke, rate := m.motor.Ke, m.motor.Commutation
	if rate != 0 {
		for k := range order {
			next := inverse[k+1]
			i, w, a := c.current[k], c.speed[k], c.angle[k]
			c.current[k+1] = perL * (voltage - resistance*i - ke*w - rate*product(&c.current, &c.speed, k)) * next
			c.speed[k+1] = perJ * (torque + ke*i - drag*w - slope*a) * next
			c.angle[k+1] = perG * w * next
			voltage, torque = 0, 0
		}
		return
	}
	// Coefficients and products of constants are taken out of the loop, whose length
	// is that of the chain from one coefficient to the next.
	ii, iw := -perL*resistance, -perL*ke
	wi, ww, wa := perJ*ke, -perJ*drag, -perJ*slope
	i, w, a := c.current[0], c.speed[0], c.angle[0]
	di, dw := perL*voltage, perJ*torque
	for k := 1; k <= order; k++ {
		next := inverse[k]
		i, w, a = (di+ii*i+iw*w)*next, (dw+wi*i+ww*w+wa*a)*next, perG*w*next
		c.current[k], c.speed[k], c.angle[k] = i, w, a
		di, dw = 0, 0
	}
}

// product returns coefficient k of the product of two polynomials.
func product(a, b *row, k int) (sum float64) {
	x, y := a[:k+1], b[:k+1]
	var s0, s1, s2, s3 float64 // side by side: none waits for another
	j := 0
	for ; j+3 <= k; j += 4 {
		s0 += x[j] * y[k-j]
		s1 += x[j+1] * y[k-j-1]
		s2 += x[j+2] * y[k-j-2]
		s3 += x[j+3] * y[k-j-3]
	}
	for ; j <= k; j++ {
		s0 += x[j] * y[k-j]
	}
	return s0 + s1 + (s2 + s3)
}

// open takes the open-circuit voltage as a parabola in the charge, and settles
// whether its bend counts.
func (c *series) open(y *[states]float64, unit float64) {
	m := c.mode.m
	s := y[charge]
	c.from = s
	c.source[0] = m.ocv(s)
	c.slope = m.pack.Slope(m.cell, s)
	// What a unit of time may take at the larger of the present current and that of
	// a held motor.
	most := unit * max(math.Abs(y[current]), m.stallCurrent(c.source[0], 0, 0)) / m.pack.Capacity
	const aside = 1e-3 // of the charge, for the difference quotient
	c.curvature = (m.pack.Slope(m.cell, s+aside) - m.pack.Slope(m.cell, s-aside)) / (2 * aside)
	if s-aside < 0 || s+aside > 1 {
		c.curvature = 0
	}
	c.bends = math.Abs(c.curvature)*most*most > 1e-13*c.source[0]
}

// expandAll is expand with the pack's charge and RC pairs on the move.
func (c *series) expandAll(resistance, voltage, perL, perJ, perG, torque, drag, slope float64) {
	m := c.mode.m
	p := &m.circuit
	ke, rate := m.motor.Ke, m.motor.Commutation
	var fed, battery float64 // the source is in the motor's loop, and its current the pack's
	if c.mode.path == closed {
		fed, battery = 1, 1
	}
	perC1, perC2, perQ := c.unit/p.C1, c.unit/p.C2, -c.unit*battery/m.pack.Capacity
	leak1, leak2 := -perC1/p.R1, -perC2/p.R2
	perC1, perC2 = perC1*battery, perC2*battery
	ii, iw, iv := -perL*resistance, -perL*ke, perL*fed
	wi, ww, wa := perJ*ke, -perJ*drag, -perJ*slope
	rate *= perL
	resistance = battery * p.R0
	bend := c.curvature / 2
	i, w, a, v1, v2, ocv := c.current[0], c.speed[0], c.angle[0], c.voltage1[0], c.voltage2[0], c.source[0]
	di, dw := perL*voltage, perJ*torque
	for k := 1; ; k++ {
		terminal := ocv - v1 - v2
		c.terminal[k-1] = terminal - resistance*i
		if k > order {
			return
		}
		if rate != 0 {
			di -= rate * product(&c.current, &c.speed, k-1)
		}
		next := inverse[k]
		s := perQ * i * next
		i, w, a, v1, v2 = (di+ii*i+iw*w+iv*terminal)*next, (dw+wi*i+ww*w+wa*a)*next, perG*w*next,
			(perC1*i+leak1*v1)*next, (perC2*i+leak2*v2)*next
		ocv = c.slope * s
		if c.bends {
			ocv += bend * c.squared(k)
		}
		c.current[k], c.speed[k], c.angle[k] = i, w, a
		c.voltage1[k], c.voltage2[k], c.charge[k], c.source[k] = v1, v2, s, ocv
		di, dw = 0, 0
	}
}

// squared returns coefficient k of the square of the charge's change.
func (c *series) squared(k int) (sum float64) {
	q := &c.charge
	for j := 1; 2*j < k; j++ {
		sum += q[j] * q[k-j]
	}
	sum *= 2
	if k%2 == 0 {
		sum += q[k/2] * q[k/2]
	}
	return sum
}

// reach returns up to what share of the unit the series keeps the tolerance, given
// what currents [A] and speeds [rad/s] commonly come to.
func (c *series) reach(amps, rads, tolerance float64) float64 {
	tail := max(
		math.Abs(c.current[order])/amps, math.Abs(c.current[order-1])/amps,
		math.Abs(c.speed[order])/rads, math.Abs(c.speed[order-1])/rads,
	)
	if !c.mode.held && c.bends { // the square takes more terms than the charge
		tail = max(tail, math.Abs(c.source[order])/c.source[0], math.Abs(c.source[order-1])/c.source[0])
	}
	if tail == 0 {
		return farthest
	}
	return min(farthest, math.Exp(math.Log(tolerance/tail)*(1./order)))
}

// farthest is how far beyond its unit a series is used.
const farthest = 4

// state writes the state at a share x of the unit to y.
func (c *series) state(y *[states]float64, x float64) {
	y[current], y[speed], y[angle] = three(&c.current, &c.speed, &c.angle, x)
	if !c.mode.held {
		y[voltage1], y[voltage2], y[charge] = three(&c.voltage1, &c.voltage2, &c.charge, x)
	}
}

// three returns the values of three polynomials.
func three(a, b, c *row, x float64) (p, q, r float64) {
	for k := order; k >= 0; k-- {
		p = p*x + a[k]
		q = q*x + b[k]
		r = r*x + c[k]
	}
	return p, q, r
}

// four writes the polynomial's values at four places: side by side, since each has
// to wait for its own last step only.
func (c *row) four(x, y *[4]float64) {
	x0, x1, x2, x3 := x[0], x[1], x[2], x[3]
	y0 := c[order]
	y1, y2, y3 := y0, y0, y0
	for k := order - 1; k >= 0; k-- {
		v := c[k]
		y0, y1, y2, y3 = y0*x0+v, y1*x1+v, y2*x2+v, y3*x3+v
	}
	*y = [4]float64{y0, y1, y2, y3}
}

// look is what events are the signs of, at one place of a series. Slopes are those
// by the share of the unit.
type look struct {
	x              float64 // the share of the unit
	i, w, a        float64
	di, dw         float64
	voltage, slope float64 // at the terminals of a pack that isn't held
}

// look returns what there is to see at a share x of the unit.
func (c *series) look(x float64) look {
	i, w, a := c.current[order], c.speed[order], c.angle[order]
	var di, dw float64
	for k := order - 1; k >= 0; k-- {
		di, i = di*x+i, i*x+c.current[k]
		dw, w = dw*x+w, w*x+c.speed[k]
		a = a*x + c.angle[k]
	}
	l := look{x: x, i: i, w: w, a: a, di: di, dw: dw}
	if !c.mode.held {
		l.voltage, l.slope = c.terminal.at(x)
	}
	return l
}

// astray returns by how much the open-circuit voltage at a share x of the unit
// differs from the pack's [V].
func (c *series) astray(x float64) float64 {
	change := c.charge.of(x) - c.from
	bend := 0.
	if c.bends {
		bend = c.curvature / 2
	}
	m := c.mode.m
	return math.Abs(c.source[0] + change*(c.slope+change*bend) - m.ocv(c.from+change))
}

// derivative writes the derivative of a row by the share of the unit.
func (c *row) derivative() (d row) {
	for k := 1; k <= order; k++ {
		d[k-1] = float64(k) * c[k]
	}
	return d
}

// root returns where the polynomial comes to a value, which it passes between lo
// and hi: by Newton's method, or by halves where that leaves them.
func (c *row) root(value, lo, hi float64) float64 {
	from, to := c.of(lo)-value, c.of(hi)-value
	return c.between(value, lo, hi, from, to)
}

// between is root, given what the polynomial is above the value at both ends.
func (c *row) between(value, lo, hi, from, to float64) float64 {
	return c.within(value, lo, hi, from, to, 1e-16)
}

// within is between, to an accuracy that is a share of x.
func (c *row) within(value, lo, hi, from, to, accuracy float64) float64 {
	rises := from < 0
	x, last := lo-(hi-lo)*from/(to-from), hi-lo
	for range 100 {
		if !(x >= lo && x <= hi) {
			x, last = lo+(hi-lo)/2, hi-lo
		}
		y, slope := c.at(x)
		y -= value
		if y == 0 {
			return x
		}
		if (y < 0) == rises {
			lo = x
		} else {
			hi = x
		}
		step := y / slope
		next, size := x-step, math.Abs(step)
		// Steps fall by their squares: the next one would be size·(size/last)².
		if share := size / last; size <= 1e-16*math.Abs(x) || share < 0.1 && size*share*share <= accuracy*math.Abs(x) {
			return min(max(next, lo), hi)
		}
		if hi-lo <= 2e-16*math.Abs(hi) {
			return hi
		}
		x, last = next, size
	}
	return x
}

// sinks tells whether sign times the polynomial falls to a mark between lo and hi,
// or from there at once, and where. Values and slopes at both ends are given.
func (c *row) sinks(sign, mark, lo, hi, v0, d0, v1, d1 float64) (at float64, ok bool) {
	v0, v1 = sign*(v0-mark), sign*(v1-mark)
	falls, rises := sign*d0 < 0, sign*d1 > 0
	switch {
	case v0 > 0 && v1 <= 0:
		return c.root(mark, lo, hi), true
	case v0 > 0 && falls && rises: // it may have been lower in between
		d := c.derivative()
		if x := d.root(0, lo, hi); sign*(c.of(x)-mark) <= 0 {
			return c.root(mark, lo, x), true
		}
	case v0 <= 0 && v1 < 0: // it starts from the mark, and leaves it at once or later
		for x := hi; x-lo > 1e-6*(hi-lo); {
			half := lo + (x-lo)/2
			if sign*(c.of(half)-mark) > 0 {
				return c.root(mark, half, x), true
			}
			x = half
		}
		return lo, true
	}
	return 0, false
}

// given returns what the battery's chemistry gives over a share x of the unit
// through the closed switch [J]: the integral of the open-circuit voltage over the
// charge.
func (c *series) given(x float64) float64 {
	if c.glides {
		var sum float64
		for n, w := range weights {
			at := x * nodes[n]
			sum += w * c.source.of(at) * c.current.of(at)
		}
		return sum * x * c.unit
	}
	change := c.charge.of(x) - c.from
	bend := 0.
	if c.bends {
		bend = c.curvature / 2
	}
	return -c.mode.m.pack.Capacity * change * (c.source[0] + change*(c.slope/2+change*bend/3))
}

// name says what the mode is.
func (md *mode) name() string {
	name := "free"
	if md.m.arcs[md.arc].pull {
		name = "pull"
	}
	if !md.turns {
		name += ", shaft held"
	}
	if md.held {
		name += ", steady"
	}
	return name + [...]string{"", ", freewheel", ", switch open", ", braking"}[md.path]
}
