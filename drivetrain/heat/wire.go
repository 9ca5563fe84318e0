package heat

import (
	"math"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor/wire"
)

// Insulation is what a lead's jacket is made of.
type Insulation struct {
	Name string
	// Conductivity is that of heat [W/(m K)].
	Conductivity float64
	// Capacity is the heat capacity of a volume [J/(m3 K)].
	Capacity float64
}

// Insulations lists the jackets (equation C2): PVC 0.20 W/(m·K) (IEC 60287) and
// 1.7e6 J/(m³·K) (IEC 60853-2), silicone the same (from memory), PTFE 0.25 and
// 2.2e6 (from memory). Their limits are [harness.InsulationLimit].
func Insulations() []Insulation {
	return []Insulation{{"PVC", 0.20, 1.7e6}, {"PVC-105", 0.20, 1.7e6}, {"silicone", 0.20, 1.7e6}, {"PTFE", 0.25, 2.2e6}}
}

// FindInsulation returns the jacket of a name, PVC if none is named, and false if
// there is none of the name.
func FindInsulation(name string) (Insulation, bool) {
	if name == "" {
		name = "PVC"
	}
	for _, i := range Insulations() {
		if i.Name == name {
			return i, true
		}
	}
	return Insulation{}, false
}

// CopperCapacity is the heat capacity of a volume of copper (IEC 60949, from
// memory) [J/(m3 K)].
const CopperCapacity = 3.45e6

// Cable is a lead as heat sees it (equation C2): a conductor, a jacket around it,
// still air around that.
type Cable struct {
	// Diameter is that of the conductor, taken as round and solid [m].
	Diameter float64
	// Outer is the diameter over the jacket [m].
	Outer float64
	// Length is that of the whole loop [m].
	Length float64
	// Emissivity is that of the surface [1].
	Emissivity float64
	Jacket     Insulation
	// Ambient is the temperature around [K].
	Ambient float64
	// Pressure is that of the air around [Pa].
	Pressure float64
}

// NewCable returns the cable of a lead in its surroundings.
func NewCable(l *harness.Lead, a drivetrain.Ambient) Cable {
	jacket, _ := FindInsulation(l.Insulation)
	d := math.Sqrt(4 * l.Area / math.Pi)
	return Cable{Diameter: d, Outer: d + 2*l.Wall, Length: l.Length, Emissivity: l.Emissivity, Jacket: jacket, Ambient: a.Temperature, Pressure: a.Pressure}
}

// Bare tells that there is no jacket.
func (c *Cable) Bare() bool { return !(c.Outer > c.Diameter) }

// ConductorCapacity returns the heat capacity of the copper [J/K].
func (c *Cable) ConductorCapacity() float64 {
	return CopperCapacity * wire.Area(c.Diameter) * c.Length
}

// JacketCapacity returns that of the jacket [J/K].
func (c *Cable) JacketCapacity() float64 {
	return c.Jacket.Capacity * (wire.Area(c.Outer) - wire.Area(c.Diameter)) * c.Length
}

// Wall returns the conductance through the jacket [W/K].
func (c *Cable) Wall() float64 {
	return 2 * math.Pi * c.Jacket.Conductivity * c.Length / math.Log(c.Outer/c.Diameter)
}

// AddTo puts conductor, jacket and surface into a network and returns the nodes of
// the two; of a bare wire the second is the first again.
func (c *Cable) AddTo(n *Network) (conductor, jacket int) {
	conductor = n.Add("leads", c.ConductorCapacity())
	jacket = conductor
	if !c.Bare() {
		jacket = n.Add("jacket", c.JacketCapacity())
		n.Paths = append(n.Paths, Path{From: conductor, To: jacket, Conductance: c.Wall()})
	}
	n.Paths = append(n.Paths, Path{From: jacket, To: Surroundings, Surface: c})
	return conductor, jacket
}

// Flow implements [Surface]: free convection and radiation of the outer surface.
func (c *Cable) Flow(rise float64) float64 {
	convection, radiation := c.Shed(rise)
	return convection + radiation
}

// Shed returns what the outer surface gives off by convection and by radiation [W]
// at a rise above the surroundings [K].
func (c *Cable) Shed(rise float64) (convection, radiation float64) {
	ts := c.Ambient + rise
	air := FilmAt((ts+c.Ambient)/2, c.Pressure)
	area := c.Length * math.Pi * c.Outer
	h := FreeConvection(rise, c.Outer, air)
	return area * h * rise, area * c.Emissivity * StefanBoltzmann * (ts*ts*ts*ts - c.Ambient*c.Ambient*c.Ambient*c.Ambient)
}

// StefanBoltzmann is the constant of radiation [W/(m2 K4)].
const StefanBoltzmann = 5.670374419e-8

// Film is what convection needs to know of it.
type Film struct {
	// Temperature is that of the film [K].
	Temperature float64
	// Conductivity is that of heat [W/(m K)].
	Conductivity float64
	// Viscosity is the kinematic one [m2/s].
	Viscosity float64
	// Prandtl is the ratio of the diffusion of momentum and of heat [1].
	Prandtl float64
}

// FilmAt returns air at a temperature [K] and a pressure [Pa]: Sutherland's law for
// viscosity and conductivity (from memory), ideal gas (equation C2).
func FilmAt(temperature, pressure float64) Film {
	t := temperature / 273.15
	power := t * math.Sqrt(t)
	mu := 1.716e-5 * power * 383.55 / (temperature + 110.4)
	k := 0.0241 * power * 467.15 / (temperature + 194)
	density := pressure / (287.05 * temperature)
	return Film{Temperature: temperature, Conductivity: k, Viscosity: mu / density, Prandtl: 1007 * mu / k}
}

// FreeConvection returns the coefficient of heat transfer [W/(m2 K)] of a single
// horizontal cylinder of a diameter [m] in still air at a rise above it [K]
// (Churchill and Chu 1975).
func FreeConvection(rise, diameter float64, air Film) float64 {
	rayleigh := gravity * math.Abs(rise) * diameter * diameter * diameter * air.Prandtl / (air.Temperature * air.Viscosity * air.Viscosity)
	return Nusselt(rayleigh, air.Prandtl) * air.Conductivity / diameter
}

const gravity = 9.80665 // [m/s2]

// Nusselt returns the Nusselt number of a horizontal cylinder by its Rayleigh and
// Prandtl numbers [1] (Churchill and Chu 1975).
func Nusselt(rayleigh, prandtl float64) float64 {
	// {0.60 + 0.387·[Ra/(1 + (0.559/Pr)^(9/16))^(16/9)]^(1/6)}², with roots in place of
	// powers, for this is what most of a plan's time goes into.
	p := math.Sqrt(math.Sqrt(math.Sqrt(math.Sqrt(0.559 / prandtl)))) // to the power of 1/16
	p *= p * p
	p *= p * p                                        // 9/16
	q := math.Cbrt(math.Cbrt(math.Cbrt(1 / (1 + p)))) // to the power of −1/27
	q *= q
	q *= q
	q *= q // −8/27
	root := 0.60 + 0.387*math.Cbrt(math.Sqrt(rayleigh))*q
	return root * root
}

// SteadyRise returns how far the conductor and the surface of a cable end above the
// surroundings [K] with a current [A] that flows for good, the resistance at the
// conductor's temperature; +Inf where the copper would melt first.
func (c *Cable) SteadyRise(current float64) (conductor, surface float64) {
	area := wire.Area(c.Diameter)
	heat := func(rise float64) float64 {
		return current * current * wire.Resistance(c.Length, area, c.Ambient+rise)
	}
	wall := func(q float64) float64 { // over the jacket
		if c.Bare() {
			return 0
		}
		return q / c.Wall()
	}
	// The surface at a rise s gives off q(s), and so the conductor stands at
	// s + q/wall: the balance is a rising function of s as long as cooling wins.
	excess := func(s float64) float64 {
		q := c.Flow(s)
		return q - heat(s+wall(q))
	}
	lo, hi := 0., 1.
	for ; excess(hi) < 0; hi *= 1.5 {
		if c.Ambient+hi > CopperMelts {
			return math.Inf(1), math.Inf(1)
		}
		lo = hi
	}
	for range 200 {
		middle := (lo + hi) / 2
		if middle == lo || middle == hi {
			break
		}
		if excess(middle) < 0 {
			lo = middle
		} else {
			hi = middle
		}
	}
	conductor = hi + wall(c.Flow(hi))
	if c.Ambient+conductor > CopperMelts { // under a thick jacket, whose surface stays cooler
		return math.Inf(1), math.Inf(1)
	}
	return conductor, hi
}

// SteadyCurrent returns the current [A] that holds the conductor at a rise above the
// surroundings [K] for good.
func (c *Cable) SteadyCurrent(rise float64) float64 {
	lo, hi := 0., rise // of the surface
	for range 200 {
		middle := (lo + hi) / 2
		if middle == lo || middle == hi {
			break
		}
		q, over := c.Flow(middle), 0.
		if !c.Bare() {
			over = q / c.Wall()
		}
		if middle+over < rise {
			lo = middle
		} else {
			hi = middle
		}
	}
	return math.Sqrt(c.Flow(hi) / wire.Resistance(c.Length, wire.Area(c.Diameter), c.Ambient+rise))
}

// CopperMelts is the melting point of copper (ITS-90, from memory) [K].
const CopperMelts = 1357.77

// Onderdonk returns the current [A] that melts a copper wire of a cross-section [m2]
// at an ambient temperature [K] within a short time [s], up to some 10 s:
// 33·(I/A)²·t = log10(1 + (Tm − Ta)/(234 + Ta)), A in circular mils, Tm 1083 °C.
func Onderdonk(area, ambient, time float64) float64 {
	ta := ambient - quantity.Celsius
	return area / CircularMil * math.Sqrt(math.Log10(1+(1083-ta)/(234+ta))/(33*time))
}

// CircularMil is the area of a circle of a thousandth of an inch [m2].
const CircularMil = math.Pi / 4 * 25.4e-6 * 25.4e-6
