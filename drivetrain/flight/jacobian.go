package flight

// slopes are the derivatives of what an orifice passes, by the pressures and
// densities of its sides.
type slopes struct {
	massPA, massDA, massPB, massDB float64
	heatPA, heatDA, heatPB, heatDB float64
}

// flowSlopes returns the derivatives of flow by pressure and density of a and b.
func flowSlopes(area float64, a, b *side) (s slopes) {
	if a.p >= b.p {
		s.massPA, s.massDA, s.massPB, s.heatPA, s.heatDA, s.heatPB = downstream(area, a, b)
		return s
	}
	s.massPB, s.massDB, s.massPA, s.heatPB, s.heatDB, s.heatPA = downstream(-area, b, a)
	return s
}

// downstream returns the derivatives of mass and enthalpy flow from u to d, by
// pressure and density of u and by the pressure of d. With ρ = w²/p
//
//	ṁ = CdA·w·Ψ(pd/pu)   ∂w/∂p = w/(2p)   ∂w/∂ρ = p/(2w)
//	h = γ/(γ−1)·p/ρ      ∂h/∂p = h/p      ∂h/∂ρ = −h/ρ
func downstream(area float64, u, d *side) (massP, massD, massPD, heatP, heatD, heatPD float64) {
	r := d.p / u.p
	psi, slope := psiAndSlope(r)
	aw := area * u.w
	mass := aw * psi
	perP := 1 / u.p
	perD := u.p / (u.w * u.w) // 1/ρ
	massPD = aw * slope * perP
	massP = mass*perP/2 - massPD*r
	massD = mass * perD / 2
	heatP = u.h * (massP + mass*perP)
	heatD = u.h * (massD - mass*perD)
	heatPD = u.h * massPD
	return massP, massD, massPD, heatP, heatD, heatPD
}

// jacobian writes the derivatives of derive by the states to the zeroed f, row by
// row, without those by the passive states.
func (m *mode) jacobian(g *gun, f, y []float64) {
	at := func(row, col int) *float64 { return &f[row*states+col] }
	V1, one := g.cylinder(y)
	V2, two := g.barrel(y)
	air := g.around()

	// By p and ρ of each volume first, then by the states they are made of:
	// p = (γ−1)·U/V, ρ = m/V.
	jet := flowSlopes(g.nozzle, &one, &two)
	var lost, front slopes
	if m.leak > 0 {
		lost = flowSlopes(m.leak, &one, &air)
	}
	if m.front > 0 {
		front = flowSlopes(m.front, &two, &air)
	}
	perU1, perU2 := (Gamma-1)/V1, (Gamma-1)/V2
	perM1, perM2 := 1/V1, 1/V2
	// One metre of travel lowers pressure and density by these shares of themselves.
	thin1, thin2 := g.piston/V1, g.bore/V2
	d1, d2 := y[mass1]/V1, y[mass2]/V2
	byX := func(p, d float64) float64 { return -thin1 * (p*one.p + d*d1) }
	byZ := func(p, d float64) float64 { return -thin2 * (p*two.p + d*d2) }

	rows := [...]struct {
		row            int
		p1, d1, p2, d2 float64
	}{
		{mass1, -jet.massPA - lost.massPA, -jet.massDA - lost.massDA, -jet.massPB, -jet.massDB},
		{energy1, -jet.heatPA - lost.heatPA, -jet.heatDA - lost.heatDA, -jet.heatPB, -jet.heatDB},
		{mass2, jet.massPA, jet.massDA, jet.massPB - front.massPA, jet.massDB - front.massDA},
		{energy2, jet.heatPA, jet.heatDA, jet.heatPB - front.heatPA, jet.heatDB - front.heatDA},
		{sumEnthalpy, lost.heatPA, lost.heatDA, front.heatPA, front.heatDA},
	}
	for i := range rows {
		r := &rows[i]
		*at(r.row, travel) = byX(r.p1, r.d1)
		*at(r.row, mass1) = r.d1 * perM1
		*at(r.row, energy1) = r.p1 * perU1
		*at(r.row, along) = byZ(r.p2, r.d2)
		*at(r.row, mass2) = r.d2 * perM2
		*at(r.row, energy2) = r.p2 * perU2
	}
	if !m.seated {
		v := y[speed]
		way := direction(v)
		*at(travel, speed) = 1
		*at(speed, travel) = (-one.p*thin1*g.piston - g.rate) / g.moving
		*at(speed, speed) = -g.drag * (1 - way*way) / (creep * g.moving)
		*at(speed, energy1) = perU1 * g.piston / g.moving
		*at(energy1, travel) += one.p * thin1 * g.piston * v
		*at(energy1, speed) = -one.p * g.piston
		*at(energy1, energy1) -= perU1 * g.piston * v
		*at(sumDrag, speed) = g.drag * (way + v*(1-way*way)/creep)
	}
	if m.pellet == sliding {
		v := y[fast]
		*at(along, fast) = 1
		*at(fast, along) = -two.p * thin2 * g.bore / g.pellet
		*at(fast, energy2) = perU2 * g.bore / g.pellet
		*at(energy2, along) += two.p * thin2 * g.bore * v
		*at(energy2, fast) = -two.p * g.bore
		*at(energy2, energy2) -= perU2 * g.bore * v
	}
}
