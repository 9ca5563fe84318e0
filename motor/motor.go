package motor

import (
	"errors"
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// ErrMisfit is what Assemble's error wraps when two sound parts don't fit.
var ErrMisfit = errors.New("the armature does not fit the stator")

// Drag is the mechanical loss of a turning motor (equation A9).
type Drag struct {
	// Constant is the torque of brushes, bearings and hysteresis; 0: none [N m].
	Constant float64
	// Viscous is the torque of eddy currents and windage per speed; 0: none [N m s/rad].
	Viscous float64
}

// Heat is what a motor's temperatures follow from (equation A12). A motor whose
// temperatures aren't asked for needs none of it.
type Heat struct {
	// Winding is the heat capacity of the winding [J/K].
	Winding float64
	// Can is the heat capacity of can, magnets and brushes [J/K].
	Can float64
	// WindingToCan is the thermal resistance between the two [K/W].
	WindingToCan float64
	// CanToAmbient is the thermal resistance from can to surroundings [K/W].
	CanToAmbient float64
	// Class is the winding's thermal class by IEC 60085 (A, E, B, F, H), "" where Limit is given.
	Class string
	// Limit is the highest temperature of the winding; 0: by Class [K].
	Limit float64
}

// DefaultDrag is assumed of a motor that was not measured: 3.5 mN·m and
// 2e-6 N·m·s (closures of this project, typical of a small motor with two
// carbon brushes).
func DefaultDrag() Drag { return Drag{Constant: 3.5e-3, Viscous: 2e-6} }

// DefaultHeat is assumed of a motor that was not measured: 12 J/K in the
// winding, 55 J/K in the can, 3.5 K/W between them, 15 K/W to the surroundings
// (closures of this project), class F.
func DefaultHeat() Heat {
	limit, _ := ClassLimit("F")
	return Heat{Winding: 12, Can: 55, WindingToCan: 3.5, CanToAmbient: 15, Limit: limit}
}

// ClassLimit returns the temperature [K] of a thermal class by IEC 60085: A 105,
// E 120, B 130, F 155, H 180 °C. It is false for any other letter.
func ClassLimit(class string) (float64, bool) {
	limit, ok := 0., true
	switch class {
	case "A":
		limit = 105
	case "E":
		limit = 120
	case "B":
		limit = 130
	case "F":
		limit = 155
	case "H":
		limit = 180
	default:
		ok = false
	}
	return quantity.Celsius + limit, ok
}

// Motor is an armature in a stator, or what the bench says of one.
type Motor struct {
	Stator   Stator
	Armature Armature
	// Bench, unless nil, stands in place of stator and armature, and of the
	// constant drag, which follows from it.
	Bench *Bench
	Drag  Drag
	Heat  Heat
	// Commutation is κ, the share of the coils' magnetic energy that each
	// reversal loses; 0: none (equation A16); DerivedCommutation: by equation A17 [1].
	Commutation float64
}

// DerivedCommutation, as a motor's Commutation, has the share follow from the winding
// and from how far the teeth are saturated (equation A17) [1].
const DerivedCommutation = -1

// EndLeakage is λ of equation A17, the share of a coil's inductance whose flux closes
// over slots and winding heads, which saturation of the teeth leaves alone, from memory:
// 0.25 to 0.5 [1].
const EndLeakage = 0.35

// CommutationShare returns κ [1] of a motor with neutral brushes, of an odd number of
// slots, whose coils would carry a flux over what their teeth can take: the energy of a
// coil that is handed from segment to segment is lost beyond what the contacts drop,
// whatever the contact law, with the incremental inductance of the saturated tooth
// (equation A17).
func CommutationShare(slots int, saturation float64) float64 {
	tooth := math.Pow(1+math.Pow(saturation, saturationExponent), -1-1./saturationExponent)
	return 4 / float64(slots+1) * (EndLeakage + (1-EndLeakage)*tooth)
}

// New returns a motor of a stator and an armature with what is commonly assumed for the
// rest: [DefaultDrag], [DefaultHeat], and a commutation loss that follows from the winding.
// Whether the one turns in the other, Validate says.
func New(s Stator, a Armature) Motor {
	return Motor{Stator: s, Armature: a, Drag: DefaultDrag(), Heat: DefaultHeat(), Commutation: DerivedCommutation}
}

// FromBench returns a motor of readings with what is commonly assumed for the rest:
// [DefaultHeat]. The readings hold the losses: all of the no-load current is put down to
// constant drag, and commutation is within the resistance.
func FromBench(b Bench) Motor { return Motor{Bench: &b, Heat: DefaultHeat()} }

// Assemble makes a motor of a stator and an armature, without losses by drag or
// commutation until they are set. It reports every fault of the two parts, or,
// with [ErrMisfit], the dimension that stops the one from turning in the other.
func Assemble(s Stator, a Armature) (Motor, error) {
	m := Motor{Stator: s, Armature: a}
	return m, m.validateParts()
}

func (m *Motor) validateParts() error {
	var c quantity.Check
	c.Part("stator", m.Stator.Validate())
	c.Part("armature", m.Armature.Validate())
	if err := c.Err(); err != nil {
		return err
	}
	if fault := m.Stator.fits(&m.Armature); fault != nil {
		return fault
	}
	if psi := m.coilArc(); !(psi > 0) {
		c.Add("stator.magnet.arc", "a coil that spans %d teeth sees no magnet", m.Armature.Span())
	}
	return c.Err()
}

// Validate reports every field that can't be used.
func (m *Motor) Validate() error {
	var c quantity.Check
	if m.Bench != nil {
		m.validateBench(&c)
	} else {
		c.Part("", m.validateParts())
	}
	c.Range("drag.constant", m.Drag.Constant, quantity.Torque, 0, 10)
	c.Range("drag.viscous", m.Drag.Viscous, quantity.ViscousDrag, 0, 1)
	if m.Commutation != DerivedCommutation {
		c.Range("commutation", m.Commutation, quantity.Share, 0, 1)
	}
	h := &m.Heat
	for _, f := range []struct {
		field string
		value float64
		kind  quantity.Kind
	}{
		{"heat.winding", h.Winding, quantity.HeatCapacity},
		{"heat.can", h.Can, quantity.HeatCapacity},
		{"heat.winding_to_can", h.WindingToCan, quantity.ThermalResistance},
		{"heat.can_to_ambient", h.CanToAmbient, quantity.ThermalResistance},
	} {
		if f.value != 0 {
			c.Range(f.field, f.value, f.kind, 1e-3, 1e6)
		}
	}
	if _, ok := ClassLimit(h.Class); h.Class != "" && !ok {
		c.Add("heat.class", "%q is no thermal class; wanted A, E, B, F or H (IEC 60085)", h.Class)
	}
	if h.Limit != 0 {
		c.Range("heat.limit", h.Limit, quantity.Temperature, quantity.Celsius, quantity.Celsius+600)
	}
	if c.Err() == nil {
		m.validateSwing(&c)
	}
	return c.Err()
}

// mostHaste is how many times as fast as its current rises a motor may run up: the ratio
// of inductance over resistance to inertia times resistance over Ke². It is 0.01 to 10
// for small motors with brushes. Where it is large, speed and current swing about each
// other some √haste times before they settle; ten thousand swings, each of which has to
// be followed, are those of a number in the wrong unit [1].
const mostHaste = 1e8

func (m *Motor) validateSwing(c *quantity.Check) {
	k := m.At(reference, reference)
	haste := k.Ke * k.Ke * k.Inductance / (k.Resistance * k.Resistance * k.Inertia)
	if haste <= mostHaste {
		return
	}
	field := "armature.inertia"
	if m.Bench != nil {
		field = "bench.inertia"
	}
	c.Add(field, "%s is next to nothing for a motor of %.3g V s and %s: speed and current would swing about each other some %.0f times before they settle, and those of real motors hardly do; wanted %s or more, or other figures for the rest",
		quantity.Inertia.Format(k.Inertia), k.Ke, quantity.Inductance.Format(k.Inductance), math.Sqrt(haste), quantity.Inertia.Format(k.Inertia*haste/mostHaste))
}

func (m *Motor) validateBench(c *quantity.Check) {
	b := m.Bench
	err := b.Validate()
	c.Part("bench", err)
	if m.Drag.Constant != 0 {
		c.Add("drag.constant", "%s is given beside bench readings, from which it follows; leave it out", quantity.Torque.Format(m.Drag.Constant))
	}
	if m.Commutation != 0 {
		c.Add("commutation", "%s is given beside bench readings, which hold it already; leave it out", quantity.Share.Format(m.Commutation))
	}
	if err != nil || !quantity.Finite(m.Drag.Viscous) {
		return
	}
	if k := b.at(b.Temperature, b.Temperature, m.Drag.Viscous); k.DragConstant < 0 {
		c.Add("drag.viscous", "%s takes %s at the no-load speed, more than the %s that the no-load current stands for",
			quantity.ViscousDrag.Format(m.Drag.Viscous), quantity.Torque.Format(m.Drag.Viscous*b.NoLoadSpeed),
			quantity.Torque.Format(k.LossTorque(b.NoLoadSpeed)))
	}
}

// Warm reports what the surroundings' temperature [K] leaves of the magnets: where
// the straight drifts of remanence and coercivity leave next to nothing, the motor
// has no constants there.
func (m *Motor) Warm(temperature float64) error {
	var c quantity.Check
	degrees := func() string { return quantity.Temperature.Format(temperature) }
	if m.Bench != nil {
		if !(m.Bench.warmth(temperature) >= leastWarmth) {
			c.Add("bench.drift", "%s leaves no magnet at the ambient %s", quantity.Drift.Format(m.Bench.Drift), degrees())
		}
		return c.Err()
	}
	g := &m.Stator.Magnet
	if !(g.At(temperature) >= leastWarmth*g.Remanence) {
		c.Add("stator.magnet.drift", "%s leaves no magnet at the ambient %s", quantity.Drift.Format(g.Drift), degrees())
	}
	if g.Coercivity != 0 && !(1+g.CoercivityDrift*(temperature-reference) >= leastWarmth) {
		c.Add("stator.magnet.coercivity_drift", "%s leaves no coercivity at the ambient %s", quantity.Drift.Format(g.CoercivityDrift), degrees())
	}
	return c.Err()
}

// Inertia returns the armature's moment of inertia [kg m2].
func (m *Motor) Inertia() float64 {
	if m.Bench != nil {
		return m.Bench.Inertia
	}
	return m.Armature.Inertia
}

// coilArc is ψ of equation A3: the angle over which a coil sees a magnet [rad].
func (m *Motor) coilArc() float64 {
	a := &m.Armature
	span := float64(a.Span())*2*math.Pi/float64(a.Slots) - a.SlotOpening/a.Radius()
	return min(m.Stator.Magnet.Arc, span)
}

// String names the motor by what a builder calls it.
func (m *Motor) String() string {
	if b := m.Bench; b != nil {
		return fmt.Sprintf("bench motor, %s at %s", quantity.AngularSpeed.Format(math.Round(b.NoLoadSpeed*30/math.Pi)*math.Pi/30), quantity.Voltage.Format(b.Voltage))
	}
	return fmt.Sprintf("%d slots, %d turns of %s", m.Armature.Slots, m.Armature.Turns, quantity.WireSize.Format(math.Round(m.Armature.Wire*1e6)/1e6))
}
