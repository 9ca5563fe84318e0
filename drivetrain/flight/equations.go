package flight

import "math"

// side is one side of an orifice.
type side struct {
	p float64 // pressure [Pa]
	w float64 // √(p·ρ) = p/√(R·T), flow per area and Ψ out of it [kg/(m2 s)]
	h float64 // specific enthalpy [J/kg]
}

// flow returns what an orifice of an effective area passes from a to b: mass
// [kg/s] and enthalpy [W] (equation E3).
func flow(area float64, a, b *side) (mass, enthalpy float64) {
	if a.p >= b.p {
		mass = area * a.w * Psi(b.p/a.p)
		return mass, mass * a.h
	}
	mass = -area * b.w * Psi(a.p/b.p)
	return mass, mass * b.h
}

// creep is the speed that the direction of the piston's drag is smoothed over
// (equation E1) [m/s].
const creep = 0.05

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

// around returns the air around as a side of an orifice.
func (g *gun) around() side { return side{g.pressure, g.jet, g.enthalpy} }

// cylinder returns volume and air of the cylinder at a state.
func (g *gun) cylinder(y []float64) (volume float64, air side) {
	return chamber(g.piston*y[travel]+g.dead, y[mass1], y[energy1])
}

// barrel returns volume and air of the barrel behind the pellet at a state.
func (g *gun) barrel(y []float64) (volume float64, air side) {
	return chamber(g.breech+g.bore*y[along], y[mass2], g.rest2(y))
}

func chamber(volume, mass, energy float64) (float64, side) {
	p := (Gamma - 1) * energy / volume
	return volume, side{p, math.Sqrt(p * mass / volume), Gamma * energy / mass}
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
