package flight

import "math"

// peak follows a pressure to its maximum. Its event, the zero of the slope, costs
// an evaluation at every place the solver looks, so it is armed only for steps in
// which the slope is likely to vanish. Where it vanishes in another step, that
// step's polynomial tells.
type peak struct {
	most   float64 // so far [Pa]
	last   float64 // at the end of the last step [Pa]
	slope  float64 // there; NaN: not known [Pa/s]
	armed  bool
	turned bool // the event happened in the last step
}

// see takes notice of a value.
func (p *peak) see(pressure float64) { p.most = math.Max(p.most, pressure) }

// begin starts anew after a change of mode.
func (p *peak) begin(pressure, slope float64) {
	p.see(pressure)
	*p = peak{most: p.most, last: pressure, slope: slope}
}

// wants tells whether the slope at the end of a step is of interest: the pressure
// rises or has just done so, and may pass what was reached before.
func (p *peak) wants(pressure float64) bool {
	return pressure > p.most/2 && (pressure > p.last || p.slope > 0)
}

// end takes pressure and slope at the end of a step, and tells whether the slope
// vanished in it unseen. It arms the event if the slope, going on as it changed in
// this step, vanishes within two more.
func (p *peak) end(pressure, slope float64) (unseen bool) {
	p.see(pressure)
	unseen = p.slope > 0 && slope <= 0 && !p.turned
	p.armed = slope > 0 && slope < 2*(p.slope-slope)
	p.last, p.slope, p.turned = pressure, slope, false
	return unseen
}

// watch follows both pressures over the last step, whose mode still holds.
func (r *run) watch() {
	g, y := r.gun, r.solver.Y()
	for _, e := range r.solver.Events() {
		switch e.Index {
		case pressure1Peaks:
			r.peak1.see(g.pressure1(e.Y))
			r.peak1.turned = true
		case pressure2Peaks:
			r.peak2.see(g.pressure2(e.Y))
			r.peak2.turned = true
		}
	}
	p1, p2 := g.pressure1(y), g.pressure2(y)
	s1, s2 := math.NaN(), math.NaN()
	if r.peak1.wants(p1) || r.peak2.wants(p2) {
		s1, s2 = r.pressureSlopes(y)
	}
	if r.peak1.end(p1, s1) {
		r.peak1.see(g.pressure1(r.crest(func(y []float64) float64 { s, _ := r.pressureSlopes(y); return s })))
	}
	if r.peak2.end(p2, s2) {
		r.peak2.see(g.pressure2(r.crest(func(y []float64) float64 { _, s := r.pressureSlopes(y); return s })))
	}
}

// crest returns the state on the last step's polynomial at which a slope that
// falls through zero in it vanishes.
func (r *run) crest(slope func(y []float64) float64) []float64 {
	y := r.sample[:]
	lo, hi := r.solver.PrevT(), r.solver.T()
	for range 40 {
		t := lo + (hi-lo)/2
		if slope(r.solver.At(y, t)) > 0 {
			lo = t
		} else {
			hi = t
		}
	}
	return r.solver.At(y, hi)
}
