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
