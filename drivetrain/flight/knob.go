package flight

import "example.org/ampstroke/drivetrain"

// Knob is a number of a build that a flight feels, and that parts are tried by.
type Knob int

// The knobs of a build.
const (
	SpringRate Knob = iota
	SpringPreload
	SpringMass
	PistonMass
	PistonDrag
	CylinderBore
	DeadVolume
	Port
	Nozzle
	SealLeak
	BarrelBore
	BarrelLength
	BreechVolume
	PelletMass
	HopForce
	Knobs int = iota
)

// Of returns where a build has the knob [SI].
func (k Knob) Of(b *drivetrain.Build) *float64 {
	switch k {
	case SpringRate:
		return &b.Spring.Rate
	case SpringPreload:
		return &b.Spring.Preload
	case SpringMass:
		return &b.Spring.Mass
	case PistonMass:
		return &b.Piston.Mass
	case PistonDrag:
		return &b.Piston.Drag
	case CylinderBore:
		return &b.Cylinder.Bore
	case DeadVolume:
		return &b.Cylinder.DeadVolume
	case Port:
		return &b.Cylinder.Port
	case Nozzle:
		return &b.Cylinder.Nozzle
	case SealLeak:
		return &b.Cylinder.SealLeak
	case BarrelBore:
		return &b.Barrel.Bore
	case BarrelLength:
		return &b.Barrel.Length
	case BreechVolume:
		return &b.Barrel.BreechVolume
	case PelletMass:
		return &b.Pellet.Mass
	case HopForce:
		return &b.Pellet.HopForce
	}
	panic("flight: no such knob")
}
