package heat

import (
	"math"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain/quantity"
)

// FuseBlows is where the zinc of a fuse melts (from memory) [K].
const FuseBlows = quantity.Celsius + 419.5

// fuseSpan is how much a fuse warms up to its melting integral [K].
const fuseSpan = 394.5

// melt is a fuse that is on its way (equation C6).
type melt struct {
	fuse *harness.Fuse
	x    float64 // what of the melting integral is there [A2 s]
}

// tau returns how fast it forgets [s]: 1.2 times the rating just melts it for good.
func (m *melt) tau() float64 {
	i := 1.2 * m.fuse.Rating
	return m.fuse.Melting / (i * i)
}

// rise returns how far the fuse is above the surroundings [K].
func (m *melt) rise() float64 { return m.x * fuseSpan / m.fuse.Melting }

// after returns the integral after a time [s] at a mean square of the current [A2].
func (m *melt) after(square, time float64) float64 {
	end := square * m.tau()
	return end + (m.x-end)*math.Exp(-time/m.tau())
}

// reaches returns when the fuse reaches a rise [K] at a mean square of the current
// [A2]; NaN: never.
func (m *melt) reaches(rise, square float64) float64 {
	end, there := square*m.tau(), rise*m.fuse.Melting/fuseSpan
	switch {
	case m.x >= there:
		return 0
	case end <= there:
		return math.NaN()
	}
	return -m.tau() * math.Log((end-there)/(end-m.x))
}
