package flight

// Ledger is where the energy of a flight goes: what spring and moving piston give
// is what the rows take (equation F7).
type Ledger struct {
	// Spring is what the spring gives from release to the end [J].
	Spring float64
	// Kinetic is the energy of the moving piston at release, with a third of the
	// spring's mass [J].
	Kinetic float64
	// PistonDrag is the piston's friction [J].
	PistonDrag float64
	// Impact is what the piston's stop loses, over all arrivals [J].
	Impact float64
	// Air is what the air takes: gain of internal energy, plus enthalpy out less in,
	// plus the work of displacing the air around; of moving air with the work on what
	// stands in front of the pellet and its friction in the barrel (equation E9) [J].
	Air float64
	// Walls is the heat that the air gives to cylinder and barrel (equation E8) [J].
	Walls float64
	// Surge is what stays in the coils of a spring with waves and dies in its guide
	// (equation D12) [J].
	Surge float64
	// Barrel is the drag of hop and barrel on the pellet [J].
	Barrel float64
	// Pellet is the pellet's energy at the muzzle [J].
	Pellet float64
	// Stored is what still moves at the end; 0 at a regular one [J].
	Stored float64
	// Residual is Spring and Kinetic less all rows [J].
	Residual float64
}

// Row is one line of a ledger.
type Row struct {
	Name string
	// Energy is what the row takes [J].
	Energy float64
}

// Rows lists all that Spring and Kinetic are spent on, in a fixed order.
func (l *Ledger) Rows() []Row {
	return []Row{
		{"piston_drag", l.PistonDrag}, {"impact", l.Impact}, {"air", l.Air}, {"walls", l.Walls}, {"surge", l.Surge}, {"barrel", l.Barrel}, {"pellet", l.Pellet},
		{"stored", l.Stored},
	}
}

// balance fills in the residual.
func (l *Ledger) balance() {
	l.Residual = l.Spring + l.Kinetic - (l.PistonDrag + l.Impact + l.Air + l.Walls + l.Surge + l.Barrel + l.Pellet + l.Stored)
}

// ledger closes the books at the present state.
func (r *shot) ledger() Ledger {
	g, y, y0 := r.gun, &r.y, &r.start
	l := Ledger{
		Spring:     g.springEnergy(y0[travel]) - g.springEnergy(y[travel]),
		Kinetic:    (g.moving + g.riding) * y0[speed] * y0[speed] / 2,
		PistonDrag: y[sumDrag],
		Impact:     r.impact,
		Walls:      y[sumWalls],
		Barrel:     g.hop*min(y[along], g.hopEnd) + g.friction*y[along],
		Stored:     g.moving*y[speed]*y[speed]/2 + g.pellet*y[fast]*y[fast]/2,
	}
	if r.mode.pellet == out {
		l.Pellet = r.summary.MuzzleEnergy
	}
	if g.impedance > 0 {
		l.Surge = g.riding*y0[speed]*y0[speed]/2 + y[sumSurge]
	}
	displaced := g.piston*(y[travel]-y0[travel]) + g.bore*(y[along]-y0[along])
	l.Air = y[energy1] - y0[energy1] + y[energy2] - y0[energy2] + y[sumEnthalpy] + y[sumColumn] + g.pressure*displaced
	l.balance()
	return l
}
