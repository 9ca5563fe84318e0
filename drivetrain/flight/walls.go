package flight

import "math"

// Air next to a wall: viscosity and conductivity by Sutherland's formula, with the
// constants of equation C2.
const (
	viscosityAt0    = 1.716e-5 // at 273.15 K [Pa s]
	viscosityS      = 110.4    // [K]
	conductivityAt0 = 0.0241   // at 273.15 K [W/(m K)]
	conductivityS   = 194.     // [K]
	freezing        = 273.15   // [K]
)

// thinLayer is how old the layer of equation E8 is at least [s].
const thinLayer = 0.2e-3

// turbulent is the Reynolds number above which a flow in a pipe is [1], and laminarNu
// the Nusselt number below.
const (
	turbulent = 2300
	laminarNu = 3.66
)

// slowest is the pellet's speed up to which the air in the barrel has no friction
// (equation E9) [m/s].
const slowest = 1

// Viscosity returns that of air [Pa s] at a temperature [K].
func Viscosity(T float64) float64 {
	r := T / freezing
	return viscosityAt0 * r * math.Sqrt(r) * (freezing + viscosityS) / (T + viscosityS)
}

// Conductivity returns that of air for heat [W/(m K)] at a temperature [K].
func Conductivity(T float64) float64 {
	r := T / freezing
	return conductivityAt0 * r * math.Sqrt(r) * (freezing + conductivityS) / (T + conductivityS)
}

// Conduction returns the heat per area that a wall takes in a second [W/m2] from a gas
// that has been next to it for a time [s], warmer by a difference [K], of a
// conductivity [W/(m K)] and a diffusivity [m2/s]. Source: Carslaw and Jaeger,
// Conduction of Heat in Solids, the half space (from memory).
func Conduction(conductivity, diffusivity, difference, t float64) float64 {
	return conductivity * difference / math.Sqrt(math.Pi*diffusivity*t)
}

// Nusselt returns the Nusselt number of a flow in a pipe at a Reynolds and a Prandtl
// number: Gnielinski's formula above a Reynolds number of 2300, 3.66 up to it. Source: V.
// Gnielinski, Int. Chem. Eng. 16 (1976) 359 (from memory).
func Nusselt(re, pr float64) float64 {
	if re <= turbulent {
		return laminarNu
	}
	return gnielinski(re, pr)
}

func gnielinski(re, pr float64) float64 {
	f := math.Pow(0.790*math.Log(re)-1.64, -2)
	return f / 8 * (re - 1000) * pr / (1 + 12.7*math.Sqrt(f/8)*(math.Pow(pr, 2./3)-1))
}

// Friction returns the friction factor of a smooth pipe at a Reynolds number above 0:
// Blasius' above 2300, 64/Re up to it.
func Friction(re float64) float64 { return friction(re, re > turbulent) }

func friction(re float64, rough bool) float64 {
	if rough {
		return 0.3164 / math.Sqrt(math.Sqrt(re))
	}
	return 64 / re
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

// reynolds2 is the Reynolds number at the barrel's wall, with what flows through the
// nozzle [kg/s] (equation E8).
func (g *gun) reynolds2(y []float64, air *side, jet float64) float64 {
	T := air.h / cp
	density := air.p / (GasConstant * T)
	u := (y[fast] + math.Abs(jet)/(density*g.bore)) / 2
	return density * u * g.bore2 / Viscosity((T+g.temperature)/2)
}

// wallReynolds is reynolds2 at a state.
func (g *gun) wallReynolds(y []float64) float64 {
	_, one := g.cylinder(y)
	_, two := g.barrel(y)
	jet, _ := flow(g.nozzle, &one, &two)
	return g.reynolds2(y, &two, jet)
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

// reynoldsBehind is the Reynolds number of the air that follows the pellet, and
// reynoldsAhead that of the air in front of it (equation E9).
func (g *gun) reynoldsBehind(y []float64) float64 {
	_, air := g.barrel(y)
	T := air.h / cp
	return air.p / (GasConstant * T) * y[fast] * g.bore2 / Viscosity(T)
}

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

// jumps is how the flow in the barrel changes between its kinds, by number (wallStirs to
// airTears). As the model has it that is a jump at one value, which is met as an event.
// Where the change drives the flow back, as where a colder gas is warmed by being stirred,
// both would follow each other without end; such a jump is then given two values, one for
// each direction.
type jumps [airTears - wallStirs + 1]struct {
	band  float64 // half the distance of the two, as a share
	since float64 // [s]
	count int     // jumps since then
}

// Sixteen jumps in a microsecond are taken for a flow that is held between its kinds.
const (
	mostJumps = 16
	jumpTime  = 1e-6 // [s]
	firstBand = 1e-3
)

// limit is the value at which a flow changes from a kind.
func (j *jumps) limit(kind int, on bool, at float64) float64 {
	if b := j[kind-wallStirs].band; on {
		return at * (1 - b)
	} else {
		return at * (1 + b)
	}
}

// jump takes notice of a change at a time.
func (j *jumps) jump(kind int, t float64) {
	c := &j[kind-wallStirs]
	if t-c.since > jumpTime {
		c.since, c.count = t, 0
	}
	if c.count++; c.count > mostJumps {
		c.band = max(firstBand, 2*c.band)
		c.count = 0
	}
}

// flag returns what a kind of event changes.
func (m *mode) flag(kind int) *bool {
	return [...]*bool{&m.stirred, &m.brisk, &m.rough, &m.ahead}[kind-wallStirs]
}

// change changes it.
func (r *shot) change(kind int) {
	f := r.mode.flag(kind)
	*f = !*f
	r.jumps.jump(kind, r.t)
}
