package drivetrain

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Cylinder is where the piston pushes the air.
type Cylinder struct {
	// Bore is the inner diameter [m].
	Bore float64
	// DeadVolume is what is left in front of the piston at home [m3].
	DeadVolume float64
	// Port is the distance of the port's front edge from the piston's face at
	// home, without spacer; 0: no port [m].
	Port float64
	// PortArea is the area of the port [m2].
	PortArea float64
	// Nozzle is the diameter of the nozzle's bore [m].
	Nozzle float64
	// Discharge is the discharge coefficient of nozzle, port and muzzle [1].
	Discharge float64
	// SealLeak is the effective area of the leak past the seal; 0: none [m2].
	SealLeak float64
	// WallHeat is a factor on the heat that the air gives to the walls; 0: none, an
	// adiabatic cylinder (equation E8) [1].
	WallHeat float64
}

// MostCylinderHeat is the largest factor on the heat to a cylinder's walls [1].
const MostCylinderHeat = 6

// NewCylinder returns a cylinder of a bore [m] without port and with what is
// commonly assumed for the rest: 1 cm³ of dead volume, a nozzle of 4.8 mm, a port
// area of 20 mm² should there be a port, discharge 0.8, a leak of 0.05 mm², which holds air for seconds (closures
// of this project), and heat to the walls as reckoned.
func NewCylinder(bore float64) Cylinder {
	return Cylinder{Bore: bore, DeadVolume: 1e-6, PortArea: 20e-6, Nozzle: 4.8e-3, Discharge: 0.8, SealLeak: 0.05e-6, WallHeat: 1}
}

// Area returns that of the bore, Ac [m2].
func (c *Cylinder) Area() float64 { return math.Pi / 4 * c.Bore * c.Bore }

// Validate reports every field that can't be used.
func (c *Cylinder) Validate() error {
	var k quantity.Check
	k.Range("bore", c.Bore, quantity.Length, 1e-3, 0.5)
	k.Range("dead_volume", c.DeadVolume, quantity.Volume, 1e-9, 1e-2)
	if c.Port != 0 {
		k.Range("port", c.Port, quantity.Length, 0.1e-3, 1)
		k.Range("port_area", c.PortArea, quantity.Area, 1e-9, 0.01)
	}
	k.Range("nozzle", c.Nozzle, quantity.Length, 0.1e-3, 0.1)
	if k.OK("bore", "nozzle") && c.Nozzle > c.Bore {
		k.Add("nozzle", "%s is wider than the cylinder's bore of %s", quantity.Length.Format(c.Nozzle), quantity.Length.Format(c.Bore))
	}
	k.Range("discharge", c.Discharge, quantity.Number, 0.01, 1)
	k.Range("seal_leak", c.SealLeak, quantity.Area, 0, 1e-3)
	k.Range("wall_heat", c.WallHeat, quantity.Number, 0, MostCylinderHeat)
	return k.Err()
}
