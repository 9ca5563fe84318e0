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

// reynoldsBehind is the Reynolds number of the air that follows the pellet
// (equation E9).
func (g *gun) reynoldsBehind(y []float64) float64 {
	_, air := g.barrel(y)
	T := air.h / cp
	return air.p / (GasConstant * T) * y[fast] * g.bore2 / Viscosity(T)
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
	times int     // how often it has jumped, of those that belong together once
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
		c.times++
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
