package battery

import (
	"errors"
	"slices"
)

// Chemistry names what a cell is made of.
type Chemistry string

// The chemistries a build file may name.
const (
	LithiumPolymer       Chemistry = "lithium-polymer"
	LithiumIronPhosphate Chemistry = "lithium-iron-phosphate"
	NickelMetalHydride   Chemistry = "nickel-metal-hydride"
	Custom               Chemistry = "custom" // by Pack.OCVTable
)

// ErrNoModel says that a chemistry is known by name only: no cell of it can be
// simulated yet.
var ErrNoModel = errors.New("no cell model for this chemistry yet")

// Chemistries lists the names, sorted as they are documented.
func Chemistries() []Chemistry {
	return []Chemistry{LithiumPolymer, LithiumIronPhosphate, NickelMetalHydride, Custom}
}

// Valid tells whether the chemistry is one of the names.
func (c Chemistry) Valid() bool { return slices.Contains(Chemistries(), c) }

// Cutoff returns the voltage of a cell [V] below which it must not be drawn:
// 3.0 lithium polymer, 2.5 lithium iron phosphate, 0.9 nickel-metal hydride;
// 3.0 for a custom cell. Common practice, no source.
func (c Chemistry) Cutoff() float64 {
	switch c {
	case LithiumIronPhosphate:
		return 2.5
	case NickelMetalHydride:
		return 0.9
	}
	return 3.0
}
