package motor

import "example.org/ampstroke/drivetrain/quantity"

// Magnet is one pole's magnet: its material and its shape.
type Magnet struct {
	// Remanence is Br at 20 °C [T].
	Remanence float64
	// Drift is the relative change of remanence per kelvin, referred to 20 °C,
	// negative for a magnet that weakens when warm [1/K].
	Drift float64
	// Permeability is the relative recoil permeability μr [1].
	Permeability float64
	// Coercivity is the intrinsic coercivity at 20 °C; 0: not known, and no
	// demagnetisation margin [A/m].
	Coercivity float64
	// CoercivityDrift is the relative change of coercivity per kelvin, referred
	// to 20 °C [1/K].
	CoercivityDrift float64
	// Limit is the highest temperature the magnet is meant for; 0: not known [K].
	Limit float64
	// Thickness is that in the direction of the flux, lm [m].
	Thickness float64
	// Arc is the angle a pole covers [rad].
	Arc float64
}

// HardFerrite is the material of a sintered hard ferrite: 0.38 T, −0.2 %/K
// (Modelica Standard Library, hard-magnetic materials); recoil permeability 1.05
// and +0.3 %/K of coercivity (suppliers' tables; from memory). Coercivity,
// thickness and arc are left open; the limit is that of [MagnetLimit] without a coercivity.
func HardFerrite() Magnet { return magnet(0.38, -0.002) }

// SinteredNdFeB is the material of a sintered neodymium magnet: 1.2 T, −0.1 %/K
// (Modelica Standard Library, hard-magnetic materials); recoil permeability 1.05
// and −0.6 %/K of coercivity (suppliers' tables; from memory). Coercivity,
// thickness and arc are left open; the limit is that of [MagnetLimit] without a coercivity.
func SinteredNdFeB() Magnet { return magnet(1.2, -0.001) }

// BondedNdFeB is the material of a plastic-bonded neodymium magnet: 0.58 T,
// −0.1 %/K (Modelica Standard Library, hard-magnetic materials); the rest as
// SinteredNdFeB.
func BondedNdFeB() Magnet { return magnet(0.58, -0.001) }

func magnet(remanence, drift float64) Magnet {
	return Magnet{
		Remanence: remanence, Drift: drift, Permeability: DefaultPermeability,
		CoercivityDrift: CoercivityDrift(remanence), Limit: MagnetLimit(remanence, 0),
	}
}

const (
	// DefaultPermeability is the recoil permeability of most permanent magnets
	// (suppliers' tables) [1].
	DefaultPermeability = 1.05

	// ferriteBelow parts ferrite from neodymium where only the remanence is
	// known: no ferrite reaches it, no sintered or bonded neodymium in use lies
	// below [T].
	ferriteBelow = 0.5
)

// RemanenceDrift returns the drift of remanence [1/K] of a magnet of which only
// the remanence [T] at 20 °C is known: −0.20 %/K below 0.5 T (ferrite), −0.12 %/K
// above (neodymium). Source: suppliers' tables.
func RemanenceDrift(remanence float64) float64 {
	if remanence < ferriteBelow {
		return -0.0020
	}
	return -0.0012
}

// CoercivityDrift returns the drift of coercivity [1/K] of a magnet of which
// only the remanence [T] at 20 °C is known: +0.3 %/K below 0.5 T (ferrite),
// −0.6 %/K above (neodymium). From memory.
func CoercivityDrift(remanence float64) float64 {
	if remanence < ferriteBelow {
		return 0.003
	}
	return -0.006
}

// MagnetLimit returns the highest temperature [K] a magnet is meant for
// (equation A12): 250 °C for ferrite (remanence [T] below 0.5 T; from memory),
// else by the coercivity [A/m]: 80 °C below 1114 kA/m, then 100 (suppliers'
// tables); from 1353 kA/m 120, 1592 150, 1989 180, 2387 200 °C (from memory).
func MagnetLimit(remanence, coercivity float64) float64 {
	if remanence < ferriteBelow {
		return quantity.Celsius + 250
	}
	limit := 80.
	for _, grade := range []struct{ from, limit float64 }{
		{1114e3, 100}, {1353e3, 120}, {1592e3, 150}, {1989e3, 180}, {2387e3, 200},
	} {
		if coercivity >= grade.from {
			limit = grade.limit
		}
	}
	return quantity.Celsius + limit
}

// At returns the remanence [T] at a temperature [K] (equation A1).
func (m *Magnet) At(temperature float64) float64 {
	return m.Remanence * (1 + m.Drift*(temperature-reference))
}

const reference = quantity.Celsius + 20 // [K]

// Validate reports every field that can't be used.
func (m *Magnet) Validate() error {
	var c quantity.Check
	c.Range("remanence", m.Remanence, quantity.FluxDensity, 0.05, 2)
	c.Range("drift", m.Drift, quantity.Drift, -0.01, 0.01)
	c.Range("permeability", m.Permeability, quantity.Number, 1, 10)
	c.Range("coercivity", m.Coercivity, quantity.FieldStrength, 0, 5e6)
	c.Range("coercivity_drift", m.CoercivityDrift, quantity.Drift, -0.02, 0.02)
	if m.Limit != 0 {
		c.Range("limit", m.Limit, quantity.Temperature, quantity.Celsius, quantity.Celsius+600)
	}
	c.Range("thickness", m.Thickness, quantity.Length, 0.1e-3, 0.1)
	c.Range("arc", m.Arc, quantity.Angle, 0.1, 3.1415927)
	return c.Err()
}
