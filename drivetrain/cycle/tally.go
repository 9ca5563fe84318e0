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
	released float64 // time of the release; NaN: none [s]
	rack     float64 // its speed at the release [m/s]
	sector   float64 // its speed just before the pickup [rad/s]
	peak     float64 // of the current [A]
	dip      float64 // least pack voltage [V]
}

// meet adds what a mode that began at a sector angle has done by its end.
func (t *tally) meet(r *run, begin float64) {
	m := r.m
	g := &m.geometry
	a := &m.arcs[r.arc]
	end := r.y[angle]
	t.turned += end - begin
	t.tappet += a.tappet * (end - begin) * g.Ratio
	if a.pull {
		x0, x1 := g.Travel(begin), g.Travel(end)
		drag := m.pistonDrag * (x1 - x0)
		t.pullDrag += drag
		t.mesh += (1/m.efficiency - 1) * (g.SpringEnergy(x1) - g.SpringEnergy(x0) + drag)
	}
	t.peak = max(t.peak, r.y[current])
	t.dip = min(t.dip, r.terminal(r.y[:]))
}
