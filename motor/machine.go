package motor

import "math"

// EMF returns the voltage [V] that a DC machine generates, E = P·Z·Φ·n/(60·a)
// with n in rpm: poles P, conductors Z in all, flux per pole Φ [Wb], parallel
// paths a (the poles for a lap winding, 2 for a wave winding), speed [rad/s].
// Source: the DC-machine equation, e.g. Fitzgerald, Electric Machinery, ch. 7.
func EMF(poles, conductors int, flux float64, paths int, speed float64) float64 {
	return machineConstant(poles, conductors, paths) * flux * speed
}

// Torque returns the electromagnetic torque [N m], T = P·Z·Φ·I/(2π·a), of the
// machine that EMF describes at the armature current [A].
func Torque(poles, conductors int, flux float64, paths int, current float64) float64 {
	return machineConstant(poles, conductors, paths) * flux * current
}

// Speed returns the speed [rad/s] at which the machine that EMF describes
// generates the voltage [V].
func Speed(poles, conductors int, flux float64, paths int, emf float64) float64 {
	return emf / (machineConstant(poles, conductors, paths) * flux)
}

func machineConstant(poles, conductors, paths int) float64 {
	return float64(poles) * float64(conductors) / (2 * math.Pi * float64(paths))
}

// ElectromagneticTorque returns the torque [N m] at which an armature of the
// EMF [V] turns electrical into mechanical power, E·I/ω: current [A], speed
// [rad/s], not zero.
func ElectromagneticTorque(emf, current, speed float64) float64 { return emf * current / speed }

// PoleFlux returns the flux [Wb] under a pole of uniform flux density [T] that
// covers an arc [rad] at a radius [m] over a length [m].
func PoleFlux(density, radius, arc, length float64) float64 { return density * radius * arc * length }
