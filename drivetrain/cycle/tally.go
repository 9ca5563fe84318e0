package cycle

// tally is what one stretch from pickup to pickup adds up beside the integrals
// in the state.
type tally struct {
	start    float64 // energy stored at the begin [J]
	turned   float64 // of the sector [rad]
	mesh     float64 // friction of the meshes in the pull [J]
	pullDrag float64 // piston drag in the pull [J]
	tappet   float64 // [J]
	shot     float64 // what the rack takes with it at release [J]
	pickup   float64 // lost in the pickup [J]
	open     float64 // what turned before the switch opened; NaN: it is closed [rad]
	drawn    float64 // from the battery [C]
	square   float64 // ∫i² of the battery's current [A2 s]
	diode    float64 // through the flyback diode [C]
	shorted  float64 // ∫i² through the brake [A2 s]
	arc      float64 // magnetic energy that ends between contacts [J]
	brake    float64 // largest braking current, negative [A]
	peak     float64 // of the battery's current [A]
	dip      float64 // least pack voltage [V]
}

// meet adds what a mode that began at a state has done by its end.
func (t *tally) meet(r *run, begin *[states]float64) {
	m := r.m
	g := &m.geometry
	a := &m.arcs[r.arc]
	from, end := begin[angle], r.y[angle]
	t.turned += end - from
	t.tappet += a.tappet * (end - from) * g.Ratio
	if a.pull {
		x0, x1 := g.Travel(from), g.Travel(end)
		drag := m.pistonDrag * (x1 - x0)
		t.pullDrag += drag
		t.mesh += (1/m.efficiency - 1) * (g.SpringEnergy(x1) - g.SpringEnergy(x0) + drag)
	}
	flown, squared := r.y[sumCurrent]-begin[sumCurrent], r.y[sumSquare]-begin[sumSquare]
	switch r.path {
	case closed:
		t.drawn += flown
		t.square += squared
		t.peak = max(t.peak, r.y[current])
	case freewheel:
		t.diode += flown
	case braking:
		t.shorted += squared
		t.brake = min(t.brake, r.y[current])
	}
	t.dip = min(t.dip, r.terminal(r.y[:]))
}
