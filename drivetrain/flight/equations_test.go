package flight

import "math"

// direction returns tanh(v/creep), which is ±1 to the last float from 20 creeps on.
func direction(v float64) float64 {
	switch {
	case v < -20*creep:
		return -1
	case v > 20*creep:
		return 1
	}
	return math.Tanh(v / creep)
}

// derive is equations E1 to E5 in the mode, with D11, D12, E8 and E9 where the gun
// has them.
func (m *mode) derive(g *gun, e *echo, dy, y []float64) {
	_, one := g.cylinder(y)
	_, two := g.barrel(y)
	air := g.around()
	jet, jetHeat := flow(g.nozzle, &one, &two)
	var lost, lostHeat, front, frontHeat float64
	if m.leak > 0 {
		lost, lostHeat = flow(m.leak, &one, &air)
	}
	if m.front > 0 {
		front, frontHeat = flow(m.front, &two, &air)
	}
	walls1, walls2 := g.heat1(y, &one), 0.
	if m.pellet != out {
		walls2 = g.heat2(y, &two, jet, m.stirred)
	}
	dy[mass1] = -jet - lost
	dy[energy1] = -jetHeat - lostHeat - walls1
	dy[mass2] = jet - front
	dy[energy2] = jetHeat - frontHeat - walls2
	dy[sumEnthalpy] = lostHeat + frontHeat
	dy[sumWalls] = walls1 + walls2
	dy[clock] = 1
	dy[travel], dy[speed], dy[sumDrag], dy[sumSurge] = 0, 0, 0, 0
	if !m.seated {
		x, v := y[travel], y[speed]
		drag := (g.drag + g.seal*max(one.p-g.pressure, 0)) * direction(v)
		spring := g.rate * (g.preload + x)
		if g.impedance > 0 {
			wave := e.find(y[clock]).at(y[clock]) + g.impedance*v
			dy[sumSurge] = (wave - spring) * v
			spring = wave
		}
		dy[travel] = v
		dy[speed] = ((one.p-g.pressure)*g.piston - spring - drag) / g.moving
		dy[energy1] -= one.p * g.piston * v
		dy[sumDrag] = drag * v
	}
	dy[along], dy[fast], dy[sumColumn] = 0, 0, 0
	if m.pellet == sliding {
		v := y[fast]
		grind := g.grind(m, y, &two)
		column := g.column * (g.length - y[along])
		dy[along] = v
		dy[fast] = ((two.p-g.pressure)*g.bore - m.brake - grind) / (g.pellet + g.inert*y[mass2] + column)
		base := g.pressure*g.bore + (g.pellet+column)*dy[fast] + m.brake + grind // pb·Ab
		dy[energy2] -= base * v
		dy[sumColumn] = (column*dy[fast] + grind) * v
	}
}

// heat1 is the heat from the cylinder's air to its walls at a state [W] (equation E8).
func (g *gun) heat1(y []float64, air *side) float64 {
	if g.warm1 == 0 {
		return 0
	}
	T := air.h / cp
	film := (T + g.temperature) / 2
	conductivity := Conductivity(film)
	density := air.p / (GasConstant * T)
	area := 2*g.piston + math.Pi*g.bore1*y[travel] + 4*g.dead/g.bore1
	return g.warm1 * area * Conduction(conductivity, conductivity/(density*cp), T-g.temperature, max(y[clock], thinLayer))
}

// heat2 is the heat from the air in the barrel to its walls at a state [W], with what
// flows through the nozzle [kg/s] (equation E8).
func (g *gun) heat2(y []float64, air *side, jet float64, stirred bool) float64 {
	if g.warm2 == 0 {
		return 0
	}
	T := air.h / cp
	film := (T + g.temperature) / 2
	conductivity := Conductivity(film)
	nu := laminarNu
	if stirred {
		nu = gnielinski(g.reynolds2(y, air, jet), cp*Viscosity(film)/conductivity)
	}
	length := y[along] + g.breech/g.bore
	entry := 1 + math.Pow(g.bore2/length, 2./3)
	return g.warm2 * (nu * conductivity / g.bore2) * entry * math.Pi * g.bore2 * length * (T - g.temperature)
}

// reynoldsAhead is the Reynolds number of the air in front of the pellet (equation E9).
func (g *gun) reynoldsAhead(y []float64) float64 {
	return g.density() * y[fast] * g.bore2 / Viscosity(g.temperature)
}

// grind is the friction of the air in the barrel, behind the pellet and in front of
// it [N] (equation E9).
func (g *gun) grind(m *mode, y []float64, air *side) float64 {
	if !m.brisk || !g.pipe {
		return 0
	}
	behind, ahead := g.reynoldsBehind(y), g.reynoldsAhead(y)
	density := air.p * Gamma / (Gamma - 1) / air.h
	vv := y[fast] * y[fast] / 2 * g.bore
	// The air behind is on its way along half of the tube on average.
	return friction(behind, m.rough)/2*(y[along]/g.bore2)*density*vv +
		friction(ahead, m.ahead)*((g.length-y[along])/g.bore2)*g.density()*vv
}
