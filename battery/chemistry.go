package battery

import (
	"slices"
	"strings"

	"example.org/ampstroke/drivetrain/quantity"
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

// Chemistries lists the names, sorted as they are documented.
func Chemistries() []Chemistry {
	return []Chemistry{LithiumPolymer, LithiumIronPhosphate, NickelMetalHydride, Custom}
}

// FindChemistry returns the chemistry of a name, in any case, or of a short form of
// the trade: LiPo, LiFePO4 (LFP, LiFe), NiMH. False if it is not known.
func FindChemistry(name string) (Chemistry, bool) {
	name = strings.ToLower(name)
	if c := Chemistry(name); c.Valid() {
		return c, true
	}
	switch strings.ReplaceAll(name, "-", "") {
	case "lipo":
		return LithiumPolymer, true
	case "lifepo4", "lfp", "life":
		return LithiumIronPhosphate, true
	case "nimh":
		return NickelMetalHydride, true
	}
	return "", false
}

// Valid tells whether the chemistry is one of the names.
func (c Chemistry) Valid() bool { return slices.Contains(Chemistries(), c) }

func (c Chemistry) validate() error {
	var k quantity.Check
	if !c.Valid() {
		k.Add("", "%q is not known; wanted one of %v", string(c), Chemistries())
	}
	return k.Err()
}

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

// Remark returns what a user of the chemistry should know of its figures, with
// cause and cure in one sentence, or "".
func (c Chemistry) Remark() string {
	if c == LithiumIronPhosphate {
		return "the published curve of lithium iron phosphate is that of the positive electrode against lithium, so that the voltage reads some 3 % above that of a cell with graphite (from memory): measure the cell at rest and give battery.ocv with chemistry custom"
	}
	return ""
}
