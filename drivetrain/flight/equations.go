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
	return chamber(g.breech+g.bore*y[along], y[mass2], y[energy2])
}

func chamber(volume, mass, energy float64) (float64, side) {
	p := (Gamma - 1) * energy / volume
	return volume, side{p, math.Sqrt(p * mass / volume), Gamma * energy / mass}
}

// derive is equations E1 to E5 in the mode.
func (m *mode) derive(g *gun, dy, y []float64) {
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
	dy[mass1] = -jet - lost
	dy[energy1] = -jetHeat - lostHeat
	dy[mass2] = jet - front
	dy[energy2] = jetHeat - frontHeat
	dy[sumEnthalpy] = lostHeat + frontHeat
	dy[travel], dy[speed], dy[sumDrag] = 0, 0, 0
	if !m.seated {
		x, v := y[travel], y[speed]
		drag := g.drag * direction(v)
		dy[travel] = v
		dy[speed] = ((one.p-g.pressure)*g.piston - g.rate*(g.preload+x) - drag) / g.moving
		dy[energy1] -= one.p * g.piston * v
		dy[sumDrag] = drag * v
	}
	dy[along], dy[fast] = 0, 0
	if m.pellet == sliding {
		v := y[fast]
		dy[along] = v
		dy[fast] = ((two.p-g.pressure)*g.bore - m.brake) / g.pellet
		dy[energy2] -= two.p * g.bore * v
	}
}
