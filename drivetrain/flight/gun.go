package flight

import (
	"math"

	"example.org/ampstroke/drivetrain"
)

// gun is what of a build a flight depends on. It is only read once made.
type gun struct {
	stroke   float64 // s [m]
	rate     float64 // k of the spring [N/m]
	preload  float64 // x0 with spacer [m]
	moving   float64 // me [kg]
	drag     float64 // Ff [N]
	clear    float64 // [m]
	piston   float64 // Ac [m2]
	dead     float64 // Vd [m3]
	hasPort  bool
	port     float64 // travel at which the port shuts [m]
	bore     float64 // Ab [m2]
	breech   float64 // Vb0 [m3]
	length   float64 // Lb [m]
	pellet   float64 // mb [kg]
	hop      float64 // [N]
	hopEnd   float64 // [m]
	friction float64 // Fb [N]

	// Effective areas [m2].
	nozzle, leak, leakPort, gap, muzzle float64

	pressure    float64 // of the air around, pa [Pa]
	temperature float64 // [K]
	jet         float64 // √(pa·ρa), flow per area out of it [kg/(m2 s)]
	enthalpy    float64 // of it [J/kg]
}

func newGun(b *drivetrain.Build) gun {
	g, c, r, p := b.Geometry(), &b.Cylinder, &b.Barrel, &b.Pellet
	const quarter = math.Pi / 4
	a := gun{
		stroke: g.Stroke, rate: g.SpringRate, preload: g.Preload, moving: g.MovingMass,
		drag: b.Piston.Drag, clear: b.Piston.Clear,
		piston: c.Area(), dead: c.DeadVolume, hasPort: c.Port != 0, port: c.Port - b.Piston.Spacer,
		bore: r.Area(), breech: r.BreechVolume, length: r.Length,
		pellet: p.Mass, hop: p.HopForce, hopEnd: p.HopLength, friction: p.BarrelDrag,

		nozzle:   quarter * c.Nozzle * c.Nozzle * c.Discharge,
		leak:     c.SealLeak,
		leakPort: c.SealLeak + c.PortArea*c.Discharge,
		gap:      quarter * (r.Bore*r.Bore - p.Diameter*p.Diameter) * r.ClearanceDischarge,
		muzzle:   r.Area() * c.Discharge,
	}
	a.ambient(b.Ambient.Pressure, b.Ambient.Temperature)
	return a
}

// ambient sets the air around by pressure [Pa] and temperature [K].
func (g *gun) ambient(p, T float64) {
	g.pressure, g.temperature = p, T
	g.jet = p / math.Sqrt(GasConstant*T)
	g.enthalpy = cp * T
}

// springEnergy returns what the spring holds at a travel [J].
func (g *gun) springEnergy(travel float64) float64 {
	x := g.preload + travel
	return g.rate * x * x / 2
}

// fill writes the masses and energies of both volumes at pressure [Pa] and
// temperature [K] to a state.
func (g *gun) fill(y []float64, p1, t1, p2, t2 float64) {
	V1, V2 := g.piston*y[travel]+g.dead, g.breech+g.bore*y[along]
	y[mass1], y[energy1] = p1*V1/(GasConstant*t1), p1*V1/(Gamma-1)
	y[mass2], y[energy2] = p2*V2/(GasConstant*t2), p2*V2/(Gamma-1)
}

// pressure1 returns that of the cylinder at a state [Pa].
func (g *gun) pressure1(y []float64) float64 {
	return (Gamma - 1) * y[energy1] / (g.piston*y[travel] + g.dead)
}

// pressure2 returns that of the barrel at a state [Pa].
func (g *gun) pressure2(y []float64) float64 {
	return (Gamma - 1) * y[energy2] / (g.breech + g.bore*y[along])
}
