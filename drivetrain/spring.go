package drivetrain

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Spring is the mainspring: its rate and preload, or the dimensions they follow
// from.
type Spring struct {
	// Rate is the force per travel; 0 where the wire is given [N/m].
	Rate float64
	// Preload is by how much the spring is compressed with the piston home and no
	// spacer in; 0: not at all, or the lengths are given [m].
	Preload float64
	// Mass is that of the spring, a third of which moves with the piston; 0: none [kg].
	Mass float64
	// Waves has the spring fly as a line of mass along which waves run (equation D12),
	// and not as a force with a third of its mass at the piston.
	Waves bool
	// Wire is the diameter of the wire, in place of Rate [m].
	Wire float64
	// CoilDiameter is the mean diameter of the coils [m].
	CoilDiameter float64
	// Coils is the number of active coils [1].
	Coils float64
	// Modulus is the shear modulus of the wire [Pa].
	Modulus float64
	// FreeLength is the length of the loose spring, in place of Preload [m].
	FreeLength float64
	// InstalledLength is the length with the piston home and no spacer in [m].
	InstalledLength float64
}

// MusicWireModulus is the shear modulus of spring steel, 79.3 GPa [Pa]. Source:
// Shigley, Mechanical Engineering Design, ch. 10 (from memory).
const MusicWireModulus = 79.3e9

// DefaultSpringMass is assumed of a spring that was not weighed (a closure of
// this project) [kg].
const DefaultSpringMass = 18e-3

// NewSpring returns a spring of a rate [N/m] and a preload [m] with what is commonly
// assumed for the rest: 18 g (a closure of this project), which run in waves.
func NewSpring(rate, preload float64) Spring {
	return Spring{Rate: rate, Preload: preload, Mass: DefaultSpringMass, Waves: true}
}

// HelicalRate returns the rate [N/m] of a helical spring: wire and mean coil
// diameter [m], active coils, shear modulus [Pa] (equation D3).
func HelicalRate(wire, coilDiameter, coils, modulus float64) float64 {
	return modulus * math.Pow(wire, 4) / (8 * math.Pow(coilDiameter, 3) * coils)
}

// ForcePerTravel returns the rate k [N/m], however it is given.
func (s *Spring) ForcePerTravel() float64 {
	if s.Wire != 0 {
		return HelicalRate(s.Wire, s.CoilDiameter, s.Coils, s.Modulus)
	}
	return s.Rate
}

// Compression returns the compression [m] with the piston home and no spacer
// in, however it is given.
func (s *Spring) Compression() float64 {
	if s.FreeLength != 0 {
		return s.FreeLength - s.InstalledLength
	}
	return s.Preload
}

// SolidLength returns the length [m] at which the coils touch, (coils + 2)·d;
// NaN where the wire is not given.
func (s *Spring) SolidLength() float64 {
	if s.Wire == 0 {
		return math.NaN()
	}
	return (s.Coils + 2) * s.Wire
}

// Validate reports every field that can't be used.
func (s *Spring) Validate() error {
	var c quantity.Check
	if s.Wire != 0 || s.CoilDiameter != 0 || s.Coils != 0 {
		if s.Rate != 0 {
			c.Add("rate", "%s is given beside wire and coils, from which the rate follows; give one of the two", quantity.SpringRate.Format(s.Rate))
		}
		c.Range("wire", s.Wire, quantity.Length, 0.05e-3, 20e-3)
		c.Range("coil_diameter", s.CoilDiameter, quantity.Length, 0.5e-3, 0.5)
		c.Range("coils", s.Coils, quantity.Number, 0.5, 1000)
		c.Range("modulus", s.Modulus, quantity.Stress, 1e9, 1e12)
		if c.OK("wire", "coil_diameter") && s.CoilDiameter <= s.Wire {
			c.Add("coil_diameter", "%s is no more than the wire's %s; wanted the mean diameter of the coil",
				quantity.Length.Format(s.CoilDiameter), quantity.Length.Format(s.Wire))
		}
	} else {
		c.Range("rate", s.Rate, quantity.SpringRate, 1e-6, 1e7)
	}
	if s.FreeLength != 0 || s.InstalledLength != 0 {
		if s.Preload != 0 {
			c.Add("preload", "%s is given beside free and installed length, from which it follows; give one of the two", quantity.Length.Format(s.Preload))
		}
		c.Range("free_length", s.FreeLength, quantity.Length, 1e-3, 2)
		c.Range("installed_length", s.InstalledLength, quantity.Length, 1e-3, 2)
		if c.OK("free_length", "installed_length") && s.InstalledLength > s.FreeLength {
			c.Add("installed_length", "%s exceeds the free length %s; wanted a spring that is compressed when installed",
				quantity.Length.Format(s.InstalledLength), quantity.Length.Format(s.FreeLength))
		}
	} else {
		c.Range("preload", s.Preload, quantity.Length, 0, 2)
	}
	c.Range("mass", s.Mass, quantity.Mass, 0, 10)
	return c.Err()
}

// LeastWaves is the share of the piston's mass below which a spring's waves are left
// out: it is then a force with a third of its mass at the piston [1].
const LeastWaves = 1e-3

// Line returns the spring as a uniform line: its impedance √(k·ms) [N s/m] and the time
// [s] that a wave takes there and back, 2·√(ms/k) (equation D12).
func (s *Spring) Line() (impedance, delay float64) {
	k := s.ForcePerTravel()
	return math.Sqrt(k * s.Mass), 2 * math.Sqrt(s.Mass/k)
}
