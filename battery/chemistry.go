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

// row is all that there is to know of a chemistry.
type row struct {
	name  Chemistry
	short []string // forms of the trade, in lower case, without hyphens
	// cutoff is the voltage of a cell below which it must not be drawn [V].
	cutoff float64
	cell   Cell // nil: by the pack's table
	remark string
}

// registry has the chemistries as they are documented. A new one is a name above, a row
// here and a file with its cell. Cut-offs are common practice, no source.
var registry = []row{
	{name: LithiumPolymer, short: []string{"lipo"}, cutoff: 3.0, cell: ChenRinconMora{}},
	{name: LithiumIronPhosphate, short: []string{"lifepo4", "lfp", "life"}, cutoff: 2.5, cell: IronPhosphate{},
		remark: "the published curve of lithium iron phosphate is that of the positive electrode against lithium, so that the voltage reads some 3 % above that of a cell with graphite (from memory): measure the cell at rest and give battery.ocv with chemistry custom"},
	{name: NickelMetalHydride, short: []string{"nimh"}, cutoff: 0.9, cell: MetalHydride{}},
	{name: Custom, cutoff: 3.0},
}

// row returns that of the registry; one without a name or a cell for a chemistry that
// isn't known.
func (c Chemistry) row() row {
	if i := slices.IndexFunc(registry, func(r row) bool { return r.name == c }); i >= 0 {
		return registry[i]
	}
	return row{cutoff: 3.0}
}

// Chemistries lists the names, sorted as they are documented.
func Chemistries() []Chemistry {
	all := make([]Chemistry, len(registry))
	for i := range registry {
		all[i] = registry[i].name
	}
	return all
}

// FindChemistry returns the chemistry of a name, in any case, or of one of its
// [Chemistry.ShortForms], with hyphens or without. False if it is not known.
func FindChemistry(name string) (Chemistry, bool) {
	name = strings.ToLower(name)
	short := strings.ReplaceAll(name, "-", "")
	for i := range registry {
		if r := &registry[i]; string(r.name) == name || slices.Contains(r.short, short) {
			return r.name, true
		}
	}
	return "", false
}

// ShortForms lists what the trade calls the chemistry, in lower case: LiPo, LiFePO4 (LFP,
// LiFe), NiMH.
func (c Chemistry) ShortForms() []string { return slices.Clone(c.row().short) }

// Valid tells whether the chemistry is one of the names.
func (c Chemistry) Valid() bool { return c.row().name != "" }

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
func (c Chemistry) Cutoff() float64 { return c.row().cutoff }

// Remark returns what a user of the chemistry should know of its figures, with
// cause and cure in one sentence, or "".
func (c Chemistry) Remark() string { return c.row().remark }
