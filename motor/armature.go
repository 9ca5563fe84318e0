package motor

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor/wire"
)

// Armature is the rotor: laminations, winding and commutator, whatever can it
// turns in.
type Armature struct {
	// Slots is the number of slots, teeth and coils; odd.
	Slots int
	// Turns is the number of turns on each tooth.
	Turns int
	// Wire is the diameter of the bare copper [m].
	Wire float64
	// Strands is the number of wires wound in parallel.
	Strands int
	// RotorDiameter is that over the teeth [m].
	RotorDiameter float64
	// StackLength is the length of the laminations, Le [m].
	StackLength float64
	// SlotOpening is the width of the slot between the tooth tips [m].
	SlotOpening float64
	// ToothWidth is the width of the tooth's neck [m].
	ToothWidth float64
	// Saturation is the flux density at which the neck saturates [T].
	Saturation float64
	// Stacking is the share of iron in the stack [1].
	Stacking float64
	// MeanTurn is the mean length of a turn [m].
	MeanTurn float64
	// SlotArea is the area of a slot for copper; 0: not known, and no slot fill [m2].
	SlotArea float64
	// Inertia is the moment of inertia of the armature [kg m2].
	Inertia float64
	// Inductance is the terminal inductance; 0: computed from the winding [H].
	Inductance float64
}

// What is commonly assumed of laminations (closures of this project).
const (
	// DefaultSaturation is the flux density at which silicon steel saturates [T].
	DefaultSaturation = 1.8
	// DefaultStacking is the share of iron in a stack [1].
	DefaultStacking = 0.95
)

// NewArmature returns an armature with a winding, slots, turns on each tooth and the
// diameter of the bare copper [m], and what is commonly assumed for the rest: one strand
// and, of the laminations, saturation at 1.8 T and 95 % of iron (closures of this
// project). The dimensions of the rotor, the mean turn and the inertia are left open.
func NewArmature(slots, turns int, wire float64) Armature {
	return Armature{Slots: slots, Turns: turns, Wire: wire, Strands: 1, Saturation: DefaultSaturation, Stacking: DefaultStacking}
}

// Span returns y, the number of teeth that a coil spans.
func (a *Armature) Span() int { return a.Slots / 2 }

// Radius returns the rotor's radius [m].
func (a *Armature) Radius() float64 { return a.RotorDiameter / 2 }

// CoilResistance returns the resistance [ohm] of one tooth's coil at a
// temperature [K] (equation A6).
func (a *Armature) CoilResistance(temperature float64) float64 {
	length := float64(a.Turns) * a.MeanTurn
	return wire.Resistance(length, float64(a.Strands)*wire.Area(a.Wire), temperature)
}

// SlotFill returns the share of a slot that enamelled wire takes [1] (equation
// A11), NaN where the slot's area is not known.
func (a *Armature) SlotFill() float64 {
	if a.SlotArea == 0 {
		return math.NaN()
	}
	return 2 * float64(a.Turns) * float64(a.Strands) * wire.Area(wire.Enamelled(a.Wire)) / a.SlotArea
}

// HandWound is the slot fill above which winding by hand is doubtful (common
// practice, no source) [1].
const HandWound = 0.60

// mostTurns bounds the turns of a tooth. Frames of this size are wound with 10 to 100.
// A slot of 50 mm2, filled to a third, takes two coils of a thousand turns of a wire of
// 0.1 mm: with 76 mm a turn 170 ohm, which leave no current that could pull a spring.
const mostTurns = 1000

// Validate reports every field that can't be used.
func (a *Armature) Validate() error {
	var c quantity.Check
	c.Whole("slots", a.Slots, 3, 99)
	if c.OK("slots") && a.Slots%2 == 0 {
		c.Add("slots", "%d is even; wanted an odd number of slots such as 3 or 5 (with an even number the rotor cogs and can stand in a dead spot)", a.Slots)
	}
	c.Whole("turns", a.Turns, 1, mostTurns)
	c.Range("wire", a.Wire, quantity.WireSize, 0.01e-3, 10e-3)
	c.Whole("strands", a.Strands, 1, 1000)
	c.Range("rotor_diameter", a.RotorDiameter, quantity.Length, 1e-3, 1)
	c.Range("stack_length", a.StackLength, quantity.Length, 1e-3, 1)
	c.Range("slot_opening", a.SlotOpening, quantity.Length, 0, 0.5)
	if c.OK("slots", "rotor_diameter", "slot_opening") {
		if pitch := math.Pi * a.RotorDiameter / float64(a.Slots); a.SlotOpening >= pitch {
			c.Add("slot_opening", "%s leaves no tooth: %d slots on a rotor of %s are %s apart",
				quantity.Length.Format(a.SlotOpening), a.Slots, quantity.Length.Format(a.RotorDiameter), quantity.Length.Format(pitch))
		}
	}
	c.Range("tooth_width", a.ToothWidth, quantity.Length, 0.1e-3, 0.5)
	if c.OK("rotor_diameter", "tooth_width") && a.ToothWidth >= a.RotorDiameter {
		c.Add("tooth_width", "%s is as wide as the rotor (%s)", quantity.Length.Format(a.ToothWidth), quantity.Length.Format(a.RotorDiameter))
	}
	c.Range("saturation", a.Saturation, quantity.FluxDensity, 0.1, 3)
	c.Range("stacking", a.Stacking, quantity.Share, 0.1, 1)
	c.Range("mean_turn", a.MeanTurn, quantity.Length, 1e-3, 5)
	if a.SlotArea != 0 {
		c.Range("slot_area", a.SlotArea, quantity.Area, 0.1e-6, 0.01)
	}
	c.Range("inertia", a.Inertia, quantity.Inertia, 1e-9, 1e-2)
	if a.Inductance != 0 {
		c.Range("inductance", a.Inductance, quantity.Inductance, 1e-8, 1)
	}
	return c.Err()
}
