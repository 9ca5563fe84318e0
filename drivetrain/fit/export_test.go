package fit

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Chance is that of a χ² as large by chance alone.
var Chance = chance

// NewUnknown is an unknown of a key, with the scale that its prior asks for and no range of
// its own.
func NewUnknown(key string, kind quantity.Kind, prior, sd float64, instrument bool) Unknown {
	return newUnknown(key, kind, prior, sd, math.NaN(), math.NaN(), instrument)
}

// Ranged is one with a range.
func Ranged(key string, kind quantity.Kind, prior, sd, least, most float64) Unknown {
	return newUnknown(key, kind, prior, sd, least, most, false)
}

// Usual is the ± that a key has where nobody says one [SI].
func Usual(key string, value float64) float64 {
	for _, u := range usuals() {
		if u.key == key {
			return u.of(value)
		}
	}
	return 0
}

// UsualKeys are the keys that are fitted where nobody says which.
func UsualKeys() (all []string) {
	for _, u := range usuals() {
		all = append(all, u.key)
	}
	return all
}

// Halton is a member of Halton's sequence to a base.
var Halton = halton
