package wire

import "math"

const (
	// gauge 36 is 0.005 in, gauge 0000 is 0.46 in, 39 equal steps between
	// (ASTM B258).
	no36  = 0.127e-3 // [m]
	ratio = 92.
	steps = 39.
)

// Diameter returns the diameter of a gauge [m] (ASTM B258, equation C1).
func Diameter(gauge float64) float64 { return no36 * math.Pow(ratio, (36-gauge)/steps) }

// Gauge returns the gauge of a diameter [m], with its fraction: the inverse of
// Diameter.
func Gauge(diameter float64) float64 { return 36 - steps*math.Log(diameter/no36)/math.Log(ratio) }

// Area returns the cross-section of a round wire of the diameter [m] in square
// metres.
func Area(diameter float64) float64 { return math.Pi / 4 * diameter * diameter }

// Enamelled returns the outer diameter [m] of a magnet wire whose copper has
// the diameter [m] (equation A11, a closure of this project: 0.068 mm on a wire
// of 1 mm, growing with the diameter to the power of 0.6).
func Enamelled(diameter float64) float64 {
	return diameter + 0.068e-3*math.Pow(diameter/1e-3, 0.6)
}

// Bare returns the diameter of the copper [m] in a magnet wire of an outer
// diameter [m]: the inverse of Enamelled.
func Bare(outer float64) float64 {
	if !(outer > 0) {
		return 0
	}
	bare := outer
	for range 100 { // Newton's method, kept above zero
		step := (Enamelled(bare) - outer) / (1 + 0.6*(Enamelled(bare)-bare)/bare)
		bare -= min(step, 0.9*bare)
		if math.Abs(step) <= 1e-15*bare {
			break
		}
	}
	return bare
}
