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

	// The spring's waves (equation D12); impedance 0: none.
	impedance float64 // Z [N s/m]
	delay     float64 // 2τ, there and back [s]
	riding    float64 // a third of the spring's mass, where moving is without it [kg]

	seal float64 // friction per pressure, As [m2]

	// Moving air in the barrel (equation E9); all 0: still.
	kinetic float64 // κe: ½·κe·m2·vb² of energy2 is of motion [1]
	inert   float64 // κm: κm·m2 moves with the pellet [1]
	column  float64 // of the air in front, ρa·Ab [kg/m]
	pipe    bool    // with friction

	// Heat to the walls (equation E8): factors; 0: none.
	warm1, warm2 float64
	bore1, bore2 float64 // diameters of cylinder and barrel [m]

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
	a.bore1, a.bore2 = c.Bore, r.Bore
	a.warm1, a.warm2 = c.WallHeat, r.WallHeat
	a.seal = b.Piston.SealArea
	a.ambient(b.Ambient.Pressure, b.Ambient.Temperature)
	if r.Air == drivetrain.MovingAir {
		a.kinetic, a.inert, a.pipe = 1, 0.5, true
		a.column = a.pressure / (GasConstant * a.temperature) * a.bore
	}
	if b.SpringWaves() {
		a.moving = b.Piston.Mass
		a.riding = b.Spring.Mass / 3
		a.impedance, a.delay = b.Spring.Line()
	}
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

// density is that of the air around [kg/m3].
func (g *gun) density() float64 { return g.pressure / (GasConstant * g.temperature) }

// warmed tells whether walls take heat.
func (g *gun) warmed() bool { return g.warm1 > 0 || g.warm2 > 0 }

// plain tells whether the equations are E1 to E7 alone.
func (g *gun) plain() bool {
	return g.impedance == 0 && g.seal == 0 && g.kinetic == 0 && g.inert == 0 && g.column == 0 && !g.pipe && !g.warmed()
}

// pressure1 returns that of the cylinder at a state [Pa].
func (g *gun) pressure1(y []float64) float64 {
	return (Gamma - 1) * y[energy1] / (g.piston*y[travel] + g.dead)
}

// rest2 is the energy of the air in the barrel without that of its motion [J].
func (g *gun) rest2(y []float64) float64 {
	return y[energy2] - g.kinetic/2*y[mass2]*y[fast]*y[fast]
}

// pressure2 returns that of the barrel at a state [Pa].
func (g *gun) pressure2(y []float64) float64 {
	return (Gamma - 1) * g.rest2(y) / (g.breech + g.bore*y[along])
}

// swing is about what a piston would take for its stroke without air [s].
func (g *gun) swing() float64 {
	return math.Sqrt(2 * g.stroke * g.moving / (g.rate*(g.preload+g.stroke) + g.drag))
}
