package harness

import (
	"math"
	"slices"

	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor/wire"
)

// ContactMetal is what contacts are made of. The relations that use it hold for
// pure metals, not for alloys or platings.
type ContactMetal struct {
	Name string
	wire.Conductor
	// Hardness is the contact hardness of the work-hardened metal (from memory) [Pa].
	Hardness float64
	// Softening is where the spot softens and grows (Holm, Electric Contacts, from
	// memory) [K].
	Softening float64
	// Melting is the melting point (ITS-90 fixed points, from memory) [K].
	Melting float64
	// ArcVoltage is the least voltage that an arc in air needs: silver a secondary
	// source, copper from memory [V].
	ArcVoltage float64
	// ArcCurrent is the least current that an arc in air needs (from memory) [A].
	ArcCurrent float64
}

// ContactMetals lists the metals a pair of contacts may be made of.
func ContactMetals() []ContactMetal {
	const zero = quantity.Celsius
	return []ContactMetal{
		{"copper", wire.Copper(), 0.9e9, zero + 190, 1357.77, 13, 0.43},
		{"silver", wire.Silver(), 0.6e9, zero + 180, 1234.93, 12, 0.40},
	}
}

// FindContactMetal returns the metal of a name, false if there is none.
func FindContactMetal(name string) (ContactMetal, bool) {
	all := ContactMetals()
	i := slices.IndexFunc(all, func(m ContactMetal) bool { return m.Name == name })
	if i < 0 {
		return ContactMetal{}, false
	}
	return all[i], true
}

// Lorenz is the ratio of thermal and electrical conductivity of pure metals, by
// temperature (Wiedemann and Franz) [V2/K2].
const Lorenz = 2.443e-8

// SpotTemperature returns the temperature [K] of the spot through which the
// current flows, from the voltage over the pair of contacts [V] and the
// temperature of the metal around it [K] (equation C4). Source: Holm, Electric
// Contacts, 4th ed., from memory.
func SpotTemperature(voltage, bulk float64) float64 {
	return math.Sqrt(bulk*bulk + voltage*voltage/(4*Lorenz))
}

// SpotVoltage returns the voltage over the pair [V] at which the spot reaches a
// temperature [K]: the inverse of SpotTemperature. At the metal's melting point it
// is the melting voltage.
func SpotVoltage(spot, bulk float64) float64 {
	return 2 * math.Sqrt(Lorenz*(spot*spot-bulk*bulk))
}
