package pickup

import "math"

// ToothLoss returns the contact ratio of two standard spur gears without backlash
// and the tooth-loss factor HV, of which a mesh with a coefficient of friction µ
// loses the share µ·HV: ISO/TR 14179-2. Teeth of both, pressure angle [rad],
// addendum in modules. gears.efficiency is an input; this helps to judge it.
func ToothLoss(pinion, wheel int, pressureAngle, addendum float64) (ratio, factor float64) {
	sin, cos := math.Sincos(pressureAngle)
	z1, z2 := float64(pinion), float64(wheel)
	// by how many teeth's pitch the contact goes on past the pitch point
	past := func(z float64) float64 {
		tip, base := z/2+addendum, z/2*cos
		return (math.Sqrt(tip*tip-base*base) - z/2*sin) / (math.Pi * cos)
	}
	e1, e2 := past(z1), past(z2)
	ratio = e1 + e2
	u := z2 / z1
	return ratio, math.Pi * (u + 1) / (z1 * u) * (1 - ratio + e1*e1 + e2*e2)
}
