package motor

import "math"

// machineConstant returns what of a DC machine's EMF belongs to the winding [1]:
// E = P·Z·Φ·n/(60·a), n in rpm, is that times flux per pole Φ and speed, and the
// torque T = P·Z·Φ·I/(2π·a) that times flux and armature current. Poles P,
// conductors Z in all, parallel paths a (the poles for a lap winding, 2 for a wave
// winding). Source: the DC-machine equation, e.g. Fitzgerald, Electric Machinery,
// ch. 7.
func machineConstant(poles, conductors, paths int) float64 {
	return float64(poles) * float64(conductors) / (2 * math.Pi * float64(paths))
}
