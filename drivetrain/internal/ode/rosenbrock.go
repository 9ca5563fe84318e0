package ode

// stages is the number of stages of a rosenbrockTableau.
const stages = 6

// rosenbrockTableau is an embedded Rosenbrock pair with six stages in transformed,
// autonomous form. Stage i solves
//
//	(I/(hγ) − J) k[i] = f(y + Σ a[i][j]·k[j]) + Σ c[i][j]·k[j]/h
//
// with the Jacobian J at the step's start. It is stiffly accurate: the last stage
// stands at the embedded result, that at the fifth stage's state plus its k, and
// the result is the last stage's state plus its k, which is the error estimate.
type rosenbrockTableau struct {
	gamma  float64
	alpha  [stages]float64 // stage i stands at t + alpha[i]·h
	a, c   [stages][stages]float64
	d2, d3 [stages]float64 // the dense output's r2 and r3 are Σ d[j]·k[j]; r4 is 0

	exponent int // power of h in the error estimate
}

// rosenbrock makes the steps of a rosenbrockTableau. The last states, which are
// passive, do not occur in the right-hand side: their columns in the Jacobian are
// zero, so only the block of the others is factored, and
//
//	k = hγ(… + Σ J·k)
//
// gives theirs afterwards.
type rosenbrock struct {
	tab      *rosenbrockTableau
	n        int
	active   int
	k        [stages][]float64
	y        []float64 // a stage's state
	jacobian []float64 // at the step's start
	matrix   lu
	h        float64 // that of the matrix, 0 if it is not factored
}

func newRosenbrock(tab *rosenbrockTableau, n, passive int) *rosenbrock {
	m := n - passive
	slab := make([]float64, (stages+1+n)*n+luSize(m))
	cut := func(k int) []float64 {
		v := slab[:k:k]
		slab = slab[k:]
		return v
	}
	x := &rosenbrock{tab: tab, n: n, active: m, y: cut(n), jacobian: cut(n * n)}
	for i := range x.k {
		x.k[i] = cut(n)
	}
	x.matrix = newLU(cut(luSize(m)), m)
	return x
}

func (x *rosenbrock) exponent() int { return x.tab.exponent }

// On stiff problems the predictive controller rejects fewer steps than the PI
// controller: of the oscillator of van der Pol with ε = 1e-6 up to t = 2, at a
// tolerance of 1e-3, 11 instead of 102 beside some 190 accepted.
func (x *rosenbrock) predictive() bool { return true }

func (x *rosenbrock) begin(f *rhs, from *point) bool {
	if from.prepared {
		return true
	}
	x.h = 0
	if !from.known {
		from.known = f.eval(from.slope, from.t, from.y)
	}
	from.prepared = from.known && f.evalJacobian(x.jacobian, from.t, from.y)
	return from.prepared
}

// factor factors I/(hγ) − J without the passive states, unless it is done. It
// returns false if the matrix is singular.
func (x *rosenbrock) factor(f *rhs, h float64) bool {
	if h == x.h {
		return true
	}
	x.h = 0
	diagonal := 1 / (h * x.tab.gamma)
	if !finite(diagonal) {
		return false
	}
	n, m, wide := x.n, x.active, x.matrix.wide
	for i := range m {
		for j, v := range x.jacobian[i*n : i*n+m] {
			x.matrix.a[j*wide+i] = -v
		}
		x.matrix.a[i*wide+i] += diagonal
	}
	f.factorisations++
	if !x.matrix.factor() {
		return false
	}
	x.h = h
	return true
}

// solve solves for a stage in place.
func (x *rosenbrock) solve(k []float64) {
	n, m := x.n, x.active
	x.matrix.solve(k[:m])
	hg := x.h * x.tab.gamma
	active := k[:m]
	for q := m; q < n; q++ {
		row := x.jacobian[q*n:][:len(active)]
		sum := k[q]
		for j, v := range active {
			sum += row[j] * v
		}
		k[q] = hg * sum
	}
}

func (x *rosenbrock) try(f *rhs, from *point, to *trial) bool {
	to.known = false
	if !x.factor(f, to.h) {
		return false
	}
	copy(x.k[0], from.slope)
	x.solve(x.k[0])
	for i := 1; i < stages; i++ {
		x.state(i, from.y)
		if !f.eval(x.k[i], min(from.t+x.tab.alpha[i]*to.h, to.t1), x.y) {
			return false
		}
		x.couple(i, 1/to.h)
		x.solve(x.k[i])
	}
	last := x.k[stages-1]
	for i, v := range x.y {
		to.y[i] = v + last[i]
	}
	copy(to.err, last)
	return f.check("state", to.y, to.t1)
}

// state writes the state of stage i to y.
func (x *rosenbrock) state(i int, from []float64) {
	a := &x.tab.a[i]
	y := x.y
	from = from[:len(y)]
	k0, k1, k2, k3, k4 := x.k[0][:len(y)], x.k[1][:len(y)], x.k[2][:len(y)], x.k[3][:len(y)], x.k[4][:len(y)]
	switch i {
	case 1:
		for i := range y {
			y[i] = from[i] + a[0]*k0[i]
		}
	case 2:
		for i := range y {
			y[i] = from[i] + (a[0]*k0[i] + a[1]*k1[i])
		}
	case 3:
		for i := range y {
			y[i] = from[i] + (a[0]*k0[i] + a[1]*k1[i] + a[2]*k2[i])
		}
	case 4:
		for i := range y {
			y[i] = from[i] + (a[0]*k0[i] + a[1]*k1[i] + a[2]*k2[i] + a[3]*k3[i])
		}
	case 5:
		for i := range y {
			y[i] += k4[i]
		}
	}
}

// couple adds the other stages' share to the right-hand side in k of stage i.
func (x *rosenbrock) couple(i int, rate float64) {
	c := &x.tab.c[i]
	b := x.k[i]
	k0, k1, k2, k3, k4 := x.k[0][:len(b)], x.k[1][:len(b)], x.k[2][:len(b)], x.k[3][:len(b)], x.k[4][:len(b)]
	switch i {
	case 1:
		for i := range b {
			b[i] += rate * (c[0] * k0[i])
		}
	case 2:
		for i := range b {
			b[i] += rate * (c[0]*k0[i] + c[1]*k1[i])
		}
	case 3:
		for i := range b {
			b[i] += rate * (c[0]*k0[i] + c[1]*k1[i] + c[2]*k2[i])
		}
	case 4:
		for i := range b {
			b[i] += rate * (c[0]*k0[i] + c[1]*k1[i] + c[2]*k2[i] + c[3]*k3[i])
		}
	case 5:
		for i := range b {
			b[i] += rate * (c[0]*k0[i] + c[1]*k1[i] + c[2]*k2[i] + c[3]*k3[i] + c[4]*k4[i])
		}
	}
}

func (x *rosenbrock) dense(seg *segment, _ *point, _ *trial) {
	d2, d3 := &x.tab.d2, &x.tab.d3
	r2 := seg.r2
	r3 := seg.r3[:len(r2)]
	k0, k1, k2, k3, k4 := x.k[0][:len(r2)], x.k[1][:len(r2)], x.k[2][:len(r2)], x.k[3][:len(r2)], x.k[4][:len(r2)]
	for i := range r2 {
		r2[i] = d2[0]*k0[i] + d2[1]*k1[i] + d2[2]*k2[i] + d2[3]*k3[i] + d2[4]*k4[i]
		r3[i] = d3[0]*k0[i] + d3[1]*k1[i] + d3[2]*k2[i] + d3[3]*k3[i] + d3[4]*k4[i]
	}
	clear(seg.r4)
}
