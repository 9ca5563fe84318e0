package ode

// tableau is an embedded explicit Runge–Kutta pair whose last stage is the slope
// at the step's end (FSAL), with a dense output.
type tableau struct {
	c []float64   // stage i stands at t + c[i]·h
	a [][]float64 // and at y + h·Σ a[i][j]·k[j]; the last row is the result
	e []float64   // the error estimate is h·Σ e[i]·k[i]
	d []float64   // the coefficient r4 is h·Σ d[i]·k[i]

	exponent int // power of h in the error estimate
}

// explicit makes the steps of a tableau.
type explicit struct {
	tab *tableau
	k   [][]float64 // slopes; the first and the last belong to the caller
	y   []float64   // a stage's state
}

func newExplicit(tab *tableau, n int) *explicit {
	stages := len(tab.c)
	slab := make([]float64, (stages-1)*n)
	x := &explicit{tab: tab, k: make([][]float64, stages), y: slab[:n:n]}
	for i := 1; i < stages-1; i++ {
		x.k[i] = slab[i*n : (i+1)*n : (i+1)*n]
	}
	return x
}

func (x *explicit) exponent() int { return x.tab.exponent }

func (x *explicit) predictive() bool { return false }

func (x *explicit) begin(f *rhs, from *point) bool {
	if !from.known {
		from.known = f.eval(from.slope, from.t, from.y)
	}
	from.prepared = from.known
	return from.prepared
}

func (x *explicit) try(f *rhs, from *point, to *trial) bool {
	last := len(x.k) - 1
	x.k[0], x.k[last] = from.slope, to.slope
	to.known = false
	for i := 1; i < last; i++ {
		x.combine(x.y, x.tab.a[i], from.y, to.h)
		if !f.eval(x.k[i], min(from.t+x.tab.c[i]*to.h, to.t1), x.y) {
			return false
		}
	}
	x.combine(to.y, x.tab.a[last], from.y, to.h)
	if !f.check("state", to.y, to.t1) || !f.eval(x.k[last], to.t1, to.y) {
		return false
	}
	to.known = true
	x.combine(to.err, x.tab.e, nil, to.h)
	return f.check("state", to.err, to.t1)
}

// combine writes y + h·Σ w[j]·k[j] to dst; a nil y is zero.
func (x *explicit) combine(dst, w, y []float64, h float64) {
	for i := range dst {
		var sum float64
		for j, wj := range w {
			if wj != 0 {
				sum += wj * x.k[j][i]
			}
		}
		if y == nil {
			dst[i] = h * sum
		} else {
			dst[i] = y[i] + h*sum
		}
	}
}

func (x *explicit) dense(seg *segment, from *point, to *trial) {
	x.k[0], x.k[len(x.k)-1] = from.slope, to.slope
	x.combine(seg.r4, x.tab.d, nil, to.h)
	for i := range seg.r2 {
		r1 := to.y[i] - from.y[i]
		seg.r2[i] = to.h*from.slope[i] - r1
		seg.r3[i] = r1 - to.h*to.slope[i] - seg.r2[i]
	}
}
