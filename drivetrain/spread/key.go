package spread

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

// Key is a key of the build file whose value isn't the same in every gun.
type Key struct {
	// Path is the key's: "spring.rate".
	Path string
	Kind quantity.Kind
	// Value is that of the build, the middle of the others [SI].
	Value float64
	// SD is the standard deviation before cuts, half of what stands behind ± [SI].
	SD float64
	// Low is the least value that a part may have to be used [SI].
	Low float64
	// High is the largest one [SI].
	High float64
	// Typical tells that the tolerance is a typical one and not stated.
	Typical bool
	// Whole tells that the values are whole numbers, the nearest ones.
	Whole bool
	// Shot tells that the value differs from shot to shot, not from gun to gun.
	Shot bool

	floor, ceiling float64 // what no value is beyond, whatever its tolerance
	least, most    float64 // what a middle may be put to
}

// input is the distribution of the key with its middle moved by so many of its standard
// deviations, and its standard deviation multiplied.
func (k *Key) input(shift, tighten float64) Input {
	n := Cut(k.Value+shift*k.SD, k.SD*tighten).Within(k.floor, k.ceiling)
	if k.Whole {
		return Whole{n}
	}
	return n
}

// Tolerance shows so much to both sides of the key's value in its unit: two standard
// deviations.
func (k *Key) Tolerance(sd float64) string {
	if k.Kind == quantity.Temperature {
		return fmt.Sprintf("%.4g K", 2*sd)
	}
	return brief(k.Kind, 2*sd)
}

// Middle shows a value of the key in its unit.
func (k *Key) Middle(v float64) string { return brief(k.Kind, v) }

// brief shows a value with at most four digits.
func brief(k quantity.Kind, v float64) string {
	if v != 0 && k != quantity.Temperature {
		unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-3)
		v = math.Round(v/unit) * unit
	}
	return k.Format(v)
}

// typical are tolerances that parts of this trade come with, judged from memory and by no
// source: of keys that state none, two standard deviations. An N stands for every member
// of a list.
var typical = [][2]string{
	{"motor.stator.magnet.remanence", "5 %"},
	{"motor.stator.air_gap", "0.05 mm"},
	{"motor.stator.brush.drop", "20 %"},
	{"motor.armature.mean_turn", "3 %"},
	{"motor.armature.inertia", "10 %"},
	{"motor.drag.constant", "30 %"},
	{"harness.connectors.N.resistance", "40 %"},
	{"battery.resistance", "20 %"},
	{"battery.state_of_charge", "5 %"},
	{"gears.efficiency", "4 %"},
	{"spring.rate", "5 %"},
	{"spring.preload", "1.5 mm"},
	{"piston.drag", "40 %"},
	{"piston.mass", "2 %"},
	{"barrel.bore", "0.02 mm"},
	{"pellet.mass", "0.002 g"},
	{"pellet.diameter", "0.01 mm"},
	{"pellet.hop_force", "30 %"},
	{"cylinder.seal_leak", "60 %"},
	{"cylinder.dead_volume", "10 %"},
	{"ambient.temperature", "10 K"},
}

// Typical says whether keys that state no tolerance get a typical one.
type Typical int

// Typical tolerances are put in where the build states none at all, always, or never.
const (
	Implied Typical = iota
	Always
	Never
)

// Keys lists the keys of a document that vary: those that state a tolerance, then changed by
// others "key.path=± y", of which each replaces or adds one and ± 0 takes one out, and
// typical ones. They come in the order of the file, those that aren't in it behind.
//
// Errors are faults of a key ([quantity.Fault]).
func Keys(d *buildfile.Document, tolerances []string, use Typical) ([]Key, error) {
	two := map[string]float64{} // standard deviations
	stated := false
	for path, t := range d.Tolerances {
		two[path] = t
		if _, given := d.Position(path); given {
			stated = true
		}
	}
	var c quantity.Check
	given := map[string]bool{}
	for _, text := range tolerances {
		path, y, found := strings.Cut(text, "=")
		path = strings.TrimSpace(path)
		if !found || path == "" {
			c.Add(text, "wanted key.path=± y, such as spring.rate=± 5 %%")
			continue
		}
		t, err := tolerance(d, path, y)
		if err != nil {
			c.Add(path, "%v", err)
			continue
		}
		two[path], given[path] = t, true
	}
	if err := c.Err(); err != nil {
		return nil, err
	}
	isTypical := map[string]bool{}
	if use == Always || use == Implied && !stated {
		for _, t := range typical {
			for i := range membersOf(d, t[0]) {
				path := strings.Replace(t[0], ".N.", fmt.Sprintf(".%d.", i), 1)
				if _, in := d.Get(path); !in || two[path] != 0 || given[path] {
					continue
				}
				y, err := tolerance(d, path, t[1])
				if err != nil {
					return nil, fmt.Errorf("%s: the typical tolerance: %w", path, err)
				}
				two[path], isTypical[path] = y, true
			}
		}
	}
	var all []Key
	for path, t := range two {
		if t == 0 {
			continue
		}
		k, err := newKey(d, path, t)
		if err != nil {
			c.Add(path, "%v", err)
			continue
		}
		k.Typical = isTypical[path]
		all = append(all, k)
	}
	if err := c.Err(); err != nil {
		return nil, err
	}
	order := map[string]int{}
	for i, k := range buildfile.Keys() {
		order[k.Path] = i
	}
	schema := func(path string) int {
		k, _ := buildfile.FindKey(path)
		return order[k.Path]
	}
	slices.SortFunc(all, func(a, b Key) int {
		p, pIn := d.Position(a.Path)
		q, qIn := d.Position(b.Path)
		pIn, qIn = pIn && p.Override == "", qIn && q.Override == ""
		switch {
		case pIn && qIn:
			return cmp.Or(cmp.Compare(p.Line, q.Line), cmp.Compare(p.Column, q.Column))
		case pIn != qIn && pIn:
			return -1
		case pIn != qIn:
			return 1
		}
		return cmp.Or(cmp.Compare(schema(a.Path), schema(b.Path)), cmp.Compare(a.Path, b.Path))
	})
	return all, nil
}

// membersOf counts the members of the list that a typical key is in, 1 where it is in none.
func membersOf(d *buildfile.Document, path string) int {
	if strings.Contains(path, ".N.") {
		return len(d.Build.Harness.Connectors)
	}
	return 1
}

// tolerance reads what stands behind a ±, with the sign or without, as two standard
// deviations of a key.
func tolerance(d *buildfile.Document, path, y string) (float64, error) {
	k, known := buildfile.FindKey(path)
	if !known {
		return 0, fmt.Errorf("is no key of the build file that holds a value%s", nearest(path))
	}
	v, in := d.Get(path)
	switch {
	case !k.Quantity:
		return 0, fmt.Errorf("is a word, which can't vary; wanted a key that holds a number")
	case !in:
		if w, is := d.Word(path); is {
			return 0, fmt.Errorf("is %s, a word, which can't vary; give the key a number first", w)
		}
		return 0, fmt.Errorf("isn't in effect in this build, so that it can't vary")
	case k.Kind == quantity.Gauge:
		return 0, fmt.Errorf("is a gauge, which carries no tolerance; give the area with one")
	}
	y = strings.TrimSpace(y)
	for _, sign := range []string{"±", "+/-", "+-"} {
		if rest, found := strings.CutPrefix(y, sign); found {
			y = strings.TrimSpace(rest)
			break
		}
	}
	if zero, err := strconv.ParseFloat(y, 64); err == nil && zero == 0 { // of whatever unit
		return 0, nil
	}
	if !k.Kind.Bare() && !strings.HasSuffix(y, "%") {
		if _, err := quantity.Parse(y, k.Kind); err != nil {
			return 0, err
		}
	}
	kind := k.Kind
	if kind == quantity.Count && v == math.Trunc(v) {
		kind = quantity.Number // half a turn is no number of turns, but a tolerance of them
	}
	x, err := quantity.Parse(kind.Print(v)+" ± "+y, kind)
	return x.Tolerance, err
}

// nearest says which key a mistyped one most likely means.
func nearest(path string) string {
	var all []string
	for _, k := range buildfile.Keys() {
		all = append(all, k.Path)
	}
	if near := quantity.Nearest(path, all); near != "" {
		return fmt.Sprintf("; did you mean %s?", near)
	}
	return ""
}

// newKey returns a key of a tolerance of two standard deviations.
func newKey(d *buildfile.Document, path string, two float64) (Key, error) {
	of, known := buildfile.FindKey(path)
	v, in := d.Get(path)
	if !known || !in {
		return Key{}, fmt.Errorf("isn't in effect in this build, so that it can't vary")
	}
	k := Key{
		Path: path, Kind: of.Kind, Value: v, SD: two / 2, Whole: of.Whole,
		floor: math.Inf(-1), ceiling: math.Inf(1), least: math.Inf(-1), most: math.Inf(1),
	}
	if !math.IsNaN(of.Range[0]) {
		k.least, k.most = of.Range[0], of.Range[1]
	}
	if k.least >= 0 || k.Kind == quantity.Share {
		k.floor = 0
	}
	if k.Kind == quantity.Share {
		k.ceiling = 1
	}
	n := Cut(k.Value, k.SD).Within(k.floor, k.ceiling)
	k.Low, k.High = n.Low, n.High
	return k, nil
}

// fixed tells that nobody can put the middle of a key elsewhere.
func (k *Key) fixed() bool {
	return strings.HasPrefix(k.Path, "ambient.") || strings.HasPrefix(k.Path, "pellet.") || k.Path == "battery.state_of_charge"
}
