package cycle

import "math"

// leaps carry current, speed and angle through one arc in the mode that a steady
// cycle nearly always is in: the switch closed on a held pack, the shaft turning,
// current through the brushes, no commutation loss. There equations F1 and F2 are
// linear with constants, so that a step of a given length is one affine map, made
// once: the shortest from the equations, each next by doing the last one twice.
type leaps struct {
	shortest float64 // its time [s]
	known    int     // how many are made
	most     int     // how many may be
	maps     [leapLevels]affine

	to     float64       // sector angle at the end of the arc [rad]
	matrix [3][3]float64 // of the equations, by current, speed and angle [1/s, …]
	drive  [3]float64
}

// leapLevels is how many lengths there can be, each twice the one before.
const leapLevels = 24

// leapOrder is that of the shortest leap's series, which spans leapReach of the
// equations' time: 0.5^15/15! is below the last digit.
const (
	leapOrder = 14
	leapReach = 0.5
)

// affine maps a state to another: by the matrix, plus the last column.
type affine [3][4]float64

// apply returns the image of a state.
func (p *affine) apply(i, w, a float64) (float64, float64, float64) {
	return p[0][0]*i + p[0][1]*w + p[0][2]*a + p[0][3],
		p[1][0]*i + p[1][1]*w + p[1][2]*a + p[1][3],
		p[2][0]*i + p[2][1]*w + p[2][2]*a + p[2][3]
}

// twice writes what applying q twice does.
func (p *affine) twice(q *affine) {
	for r := range 3 {
		a, b, c := q[r][0], q[r][1], q[r][2]
		for k := range 4 {
			p[r][k] = a*q[0][k] + b*q[1][k] + c*q[2][k]
		}
		p[r][3] += q[r][3]
	}
}

// begin makes them for an arc of a machine on a held pack of a voltage, RC pairs
// included [V].
func (l *leaps) begin(m *machine, arc int, voltage float64) {
	k := &m.motor
	a := &m.arcs[arc]
	perL, perJ := 1/k.Inductance, 1/a.inertia
	l.to = a.to
	l.matrix = [3][3]float64{
		{-perL * m.resistance, -perL * k.Ke, 0},
		{perJ * k.Ke, -perJ * (k.DragViscous + m.churning), -perJ * a.slope},
		{0, 1 / m.geometry.Ratio, 0},
	}
	l.drive = [3]float64{perL * (voltage - k.BrushDrop), -perJ * (k.DragConstant + a.load), 0}

	fastest := -l.matrix[0][0] - l.matrix[1][1] + math.Sqrt(-l.matrix[0][1]*l.matrix[1][0])
	l.shortest = leapReach / fastest
	// A leap spans less than a swing.
	half := (l.matrix[0][0] - l.matrix[1][1]) / 2
	swing := math.Sqrt(max(a.slope*perJ/m.geometry.Ratio, -l.matrix[0][1]*l.matrix[1][0]-half*half))
	l.most = leapLevels
	if swing > 0 {
		l.most = min(max(1, 1+int(math.Log2(1/(swing*l.shortest)))), leapLevels)
	}

	// exp(h·M) and its integral by their series, whose powers the characteristic
	// polynomial brings down to 1, M and M² (Cayley and Hamilton).
	h := l.shortest
	x, y, z := h*l.matrix[0][0], h*l.matrix[0][1], h*l.matrix[1][0]
	u, v, s := h*l.matrix[1][1], h*l.matrix[1][2], h*l.matrix[2][1]
	c2, c1, c0 := x+u, y*z+v*s-x*u, -x*v*s // M³ = c2·M² + c1·M + c0
	var exp, sum [3]float64                // by 1, M, M²
	p0, p1, p2 := 1., 0., 0.               // M^k/k!
	for k := 0; k <= leapOrder; k++ {
		n := inverse[k+1]
		exp[0], exp[1], exp[2] = exp[0]+p0, exp[1]+p1, exp[2]+p2
		sum[0], sum[1], sum[2] = sum[0]+p0*n, sum[1]+p1*n, sum[2]+p2*n
		p0, p1, p2 = c0*p2*n, (p0+c1*p2)*n, (p1+c2*p2)*n
	}
	matrix := [3][3]float64{{x, y, 0}, {z, u, v}, {0, s, 0}}
	square := [3][3]float64{
		{x*x + y*z, x*y + y*u, y * v},
		{z*x + u*z, z*y + u*u + v*s, u * v},
		{s * z, s * u, s * v},
	}
	p := &l.maps[0]
	for r := range 3 {
		for k := range 3 {
			p[r][k] = exp[1]*matrix[r][k] + exp[2]*square[r][k]
		}
		p[r][r] += exp[0]
		p[r][3] = 0
		for k := range 2 {
			p[r][3] += (sum[1]*matrix[r][k] + sum[2]*square[r][k]) * h * l.drive[k]
		}
		p[r][3] += sum[0] * h * l.drive[r]
	}
	l.known = 1
}

// level returns leap j.
func (l *leaps) level(j int) *affine {
	for ; l.known <= j; l.known++ {
		l.maps[l.known].twice(&l.maps[l.known-1])
	}
	return &l.maps[j]
}

// mostLeaps bounds the way through an arc.
const mostLeaps = 10_000

// pass carries a state to the end of the arc. It gives up where the current or the
// speed doesn't stay above zero and creep [rad/s], as the mode wants it.
func (l *leaps) pass(i, w, a, creep float64) (i1, w1 float64, ok bool) {
	j := 0
	for n := 0; ; n++ {
		ni, nw, na := l.level(j).apply(i, w, a)
		if na >= l.to {
			break
		}
		if !(ni > 0 && nw > creep) || n > mostLeaps {
			return 0, 0, false
		}
		if l.dips(i, w, ni, nw, j) {
			if j--; j < 0 {
				return 0, 0, false
			}
			continue
		}
		i, w, a = ni, nw, na
		if n > 0 && j < l.most-1 { // as far again as all before
			j++
		}
	}
	for j--; j >= 0; j-- {
		if ni, nw, na := l.maps[j].apply(i, w, a); na < l.to {
			if l.dips(i, w, ni, nw, j) {
				return 0, 0, false
			}
			i, w, a = ni, nw, na
		}
	}
	return l.last(i, w, a)
}

// dips tells whether the current may have touched zero inside a leap, from its values
// and slopes at both ends: a curve that is bent upwards lies above its tangents, which
// meet at the lowest it can come to.
func (l *leaps) dips(i0, w0, i1, w1 float64, level int) bool {
	d0 := l.matrix[0][0]*i0 + l.matrix[0][1]*w0 + l.drive[0]
	d1 := l.matrix[0][0]*i1 + l.matrix[0][1]*w1 + l.drive[0]
	if !(d0 < 0 && d1 > 0) {
		return false
	}
	length := math.Ldexp(l.shortest, level)
	at := (i1 - i0 - d1*length) / (d0 - d1)
	return i0+d0*at <= 0
}

// last goes on by less than the shortest leap, to the end of the arc: by the
// series, and Newton's method on the angle.
func (l *leaps) last(i, w, a float64) (i1, w1 float64, ok bool) {
	var ci, cw, ca [leapOrder + 1]float64
	ci[0], cw[0], ca[0] = i, w, a-l.to
	h := l.shortest
	di, dw := h*l.drive[0], h*(l.drive[1]+l.matrix[1][2]*l.to)
	ii, iw := h*l.matrix[0][0], h*l.matrix[0][1]
	wi, ww, wa := h*l.matrix[1][0], h*l.matrix[1][1], h*l.matrix[1][2]
	aw := h * l.matrix[2][1]
	i, w, a = ci[0], cw[0], ca[0]
	for k := 1; k <= leapOrder; k++ {
		n := inverse[k]
		i, w, a = (di+ii*i+iw*w)*n, (dw+wi*i+ww*w+wa*a)*n, aw*w*n
		ci[k], cw[k], ca[k] = i, w, a
		di, dw = 0, 0
	}
	x := min(1, -ca[0]/ca[1])
	for range 20 {
		y, slope := ca[leapOrder], 0.
		for k := leapOrder - 1; k >= 0; k-- {
			slope = slope*x + y
			y = y*x + ca[k]
		}
		step := y / slope
		x -= step
		if math.Abs(step) <= 1e-9 { // the next one would be its square
			i1, w1 = ci[leapOrder], cw[leapOrder]
			for k := leapOrder - 1; k >= 0; k-- {
				i1 = i1*x + ci[k]
				w1 = w1*x + cw[k]
			}
			return i1, w1, i1 > 0 && w1 > 0 && x >= -1e-9 && x <= 1+1e-9
		}
	}
	return 0, 0, false
}

// prepare makes the leaps of all arcs, and tells whether there are any: the
// equations have to be linear.
func (r *run) prepare() bool {
	m := r.m
	if !r.held || m.motor.Commutation != 0 {
		return false
	}
	if cap(r.leaps) < len(m.arcs) {
		r.leaps = make([]leaps, len(m.arcs))
	}
	r.leaps = r.leaps[:len(m.arcs)]
	for n := range r.leaps {
		r.leaps[n].begin(m, n, r.source-r.y[voltage1]-r.y[voltage2])
	}
	return true
}

// leap is the map of a steady cycle: current and speed just after a pickup to
// those just after the next. It gives up where the cycle leaves the mode.
func (r *run) leap(i, w float64) (i1, w1 float64, ok bool) {
	m := r.m
	for n := range m.arcs {
		if !(i > 0 && w > r.creep) {
			return 0, 0, false
		}
		if i, w, ok = r.leaps[n].pass(i, w, m.arcs[n].from, r.creep); !ok {
			return 0, 0, false
		}
	}
	return i, w * m.geometry.FreeInertia / m.geometry.PullInertia, true
}
