package flight

import "math"

// Summary is what a flight comes to, in figures. A figure that doesn't exist is
// NaN.
type Summary struct {
	// TimeToHome is from release to the last time that the piston passes the
	// clearance of the sector's next tooth homewards (equation E7) [s].
	TimeToHome float64
	// TimeToMuzzle is from release to the pellet's exit [s].
	TimeToMuzzle float64
	// MuzzleVelocity is the pellet's speed at the exit [m/s].
	MuzzleVelocity float64
	// MuzzleEnergy is the pellet's kinetic energy at the exit [J].
	MuzzleEnergy float64
	// PistonImpact is the piston's speed when it first arrives at its stop, positive [m/s].
	PistonImpact float64
	// PeakPressure is the largest absolute pressure in the cylinder [Pa].
	PeakPressure float64
	// PeakBarrelPressure is the largest absolute pressure behind the pellet [Pa].
	PeakBarrelPressure float64
	// MostRearward is the piston's largest travel, stroke and run-on [m].
	MostRearward float64
	// Duration is from release until nothing can move any more, or the flight is given up [s].
	Duration float64
}

// NoSummary is one without figures.
func NoSummary() Summary {
	n := math.NaN()
	return Summary{n, n, n, n, n, n, n, n, n}
}
