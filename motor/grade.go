package motor

import (
	"slices"
	"strings"
)

// Grade is what the standard name of a magnet's material promises at 20 °C. Where a
// band is promised, the figure is its middle, with half of its width as the tolerance
// (two standard deviations).
type Grade struct {
	// Name is the grade's, N42SH.
	Name string
	// Remanence is the middle of the grade's band of Br [T].
	Remanence float64
	// RemanenceTolerance is half the width of that band [T].
	RemanenceTolerance float64
	// Coercivity is the intrinsic coercivity: of neodymium the least that the suffix
	// promises, of ferrite the middle of its band [A/m].
	Coercivity float64
	// CoercivityTolerance is half the width of that band; 0: a least value [A/m].
	CoercivityTolerance float64
	// Drift is the relative change of remanence per kelvin [1/K].
	Drift float64
	// CoercivityDrift is the relative change of coercivity per kelvin [1/K].
	CoercivityDrift float64
}

// Magnet returns a magnet of the grade, of a thickness [m] and the angle that a pole covers
// [rad], with the middle of what the grade promises and a recoil permeability of 1.05.
func (g Grade) Magnet(thickness, arc float64) Magnet {
	return Magnet{
		Remanence: g.Remanence, Drift: g.Drift, Permeability: DefaultPermeability,
		Coercivity: g.Coercivity, CoercivityDrift: g.CoercivityDrift, Limit: MagnetLimit(g.Remanence, g.Coercivity),
		Thickness: thickness, Arc: arc,
	}
}

// band is what suppliers promise of a grade.
type band struct {
	name       string
	br         [2]float64 // remanence from and to [T]
	coercivity [2]float64 // from and to, equal where only the least is promised [A/m]
}

// ferrites are the grades of sintered ferrite: remanence by suppliers' tables (from
// a secondary source), coercivity from memory.
var ferrites = []band{
	{"Y30", [2]float64{0.37, 0.40}, [2]float64{180e3, 210e3}},
	{"C8", [2]float64{0.385, 0.390}, [2]float64{235e3, 260e3}},
}

// neodymiums are the grades of sintered neodymium by suppliers' tables (from a
// secondary source), with the least coercivity of one without a suffix (suppliers'
// tables, from memory).
var neodymiums = []band{
	{"N35", [2]float64{1.17, 1.22}, [2]float64{955e3, 955e3}},
	{"N40", [2]float64{1.25, 1.28}, [2]float64{955e3, 955e3}},
	{"N42", [2]float64{1.28, 1.32}, [2]float64{955e3, 955e3}},
	{"N45", [2]float64{1.32, 1.38}, [2]float64{955e3, 955e3}},
	{"N48", [2]float64{1.37, 1.42}, [2]float64{955e3, 955e3}},
	{"N52", [2]float64{1.42, 1.48}, [2]float64{876e3, 876e3}},
}

// suffixes are what stands behind a neodymium grade for a higher coercivity, with
// the least of it [A/m] (suppliers' tables, from memory).
var suffixes = []struct {
	name  string
	least float64
}{{"M", 1114e3}, {"H", 1353e3}, {"SH", 1592e3}, {"UH", 1989e3}, {"EH", 2387e3}}

// Grades lists the names that FindGrade knows. Not every suffix is made of every
// grade.
func Grades() (names []string) {
	for _, n := range neodymiums {
		names = append(names, n.name)
		for _, s := range suffixes {
			names = append(names, n.name+s.name)
		}
	}
	for _, f := range ferrites {
		names = append(names, f.name)
	}
	return names
}

// GradesInShort says which grades there are, for a reader.
func GradesInShort() string {
	var names, behind []string
	for _, n := range neodymiums {
		names = append(names, n.name)
	}
	for _, f := range ferrites {
		names = append(names, f.name)
	}
	for _, s := range suffixes {
		behind = append(behind, s.name)
	}
	last := len(behind) - 1
	return strings.Join(names, ", ") + "; behind an N grade may stand " + strings.Join(behind[:last], ", ") + " or " + behind[last]
}

// FindGrade returns the grade of a name, in any case, with blanks and hyphens or
// without; false if it is not known.
func FindGrade(name string) (Grade, bool) {
	name = strings.ToUpper(strings.NewReplacer(" ", "", "-", "").Replace(name))
	if i := slices.IndexFunc(ferrites, func(f band) bool { return f.name == name }); i >= 0 {
		return ferrites[i].grade(name, -0.0020, 0.003), true
	}
	for _, n := range neodymiums {
		suffix, found := strings.CutPrefix(name, n.name)
		if !found {
			continue
		}
		if suffix == "" {
			return n.grade(name, -0.0012, -0.006), true
		}
		for _, s := range suffixes {
			if s.name == suffix {
				n.coercivity = [2]float64{s.least, s.least}
				return n.grade(name, -0.0012, -0.006), true
			}
		}
	}
	return Grade{}, false
}

// grade turns bands into figures; the drifts [1/K] are those of RemanenceDrift and
// CoercivityDrift.
func (b *band) grade(name string, drift, coercivityDrift float64) Grade {
	return Grade{
		Name:      name,
		Remanence: (b.br[0] + b.br[1]) / 2, RemanenceTolerance: (b.br[1] - b.br[0]) / 2,
		Coercivity: (b.coercivity[0] + b.coercivity[1]) / 2, CoercivityTolerance: (b.coercivity[1] - b.coercivity[0]) / 2,
		Drift: drift, CoercivityDrift: coercivityDrift,
	}
}
