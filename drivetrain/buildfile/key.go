package buildfile

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"example.org/ampstroke/drivetrain/quantity"
)

// Key is what there is to know of a key that holds one value.
type Key struct {
	// Path is the key's. In that of a list's member a 0 stands for any number:
	// harness.connectors.0.resistance.
	Path string
	// Meaning says in one line what the key is, and what it means to leave it out where
	// nothing stands in.
	Meaning string
	// HowMeasured says how a technician measures or estimates it on the bench.
	HowMeasured string
	// Quantity tells whether the value is a number, of the Kind; else it is a word.
	Quantity bool
	Kind     quantity.Kind
	// Whole tells that the number is a whole one.
	Whole bool
	// Words are what may be written where the value is one of several words; of a
	// quantity, the word that may stand in its place. None for free text.
	Words []string
	// Required tells whether the key must stand in its mapping. Of keys that stand in
	// each other's place, one side is required, as their Meaning says.
	Required bool
	// Default is what stands in where the key is left out, with its unit; "" where
	// nothing does, or where it follows from the rest of the build.
	Default string
	// Why says where the default comes from, or what it follows from.
	Why string
	// Range is what the number may lie between by itself, bounds included; NaN: there is
	// no such range. Zero may stand for "none" beside it, as Meaning says, and other keys
	// may leave less room [SI unit of the kind].
	Range [2]float64
}

// Keys lists every key of the build file that holds one value, in the order of the
// documentation.
func Keys() []Key {
	all := slices.Clone(keys())
	for i := range all {
		all[i].Words = slices.Clone(all[i].Words)
	}
	return all
}

// FindKey returns the key of a path, in which members of lists may have any number; false
// if there is none that holds one value.
func FindKey(path string) (Key, bool) {
	s, parts := schema(), strings.Split(path, ".")
	for i, part := range parts {
		next := s.find(part)
		if next == nil {
			return Key{}, false
		}
		if s.shape == list && !s.pair {
			parts[i] = "0"
		}
		s = next
	}
	path = strings.Join(parts, ".")
	for _, k := range Keys() {
		if k.Path == path {
			return k, true
		}
	}
	return Key{}, false
}

// keys finds what Keys tells, once: what Validate says of each key takes some
// milliseconds.
var keys = sync.OnceValue(func() []Key {
	demo, err := DemoDocument()
	if err != nil {
		panic(err) // a test reads it
	}
	texts := map[string]about{}
	for _, a := range abouts() {
		texts[a.path] = a
	}
	all := demo.schema.list("", nil)
	for i := range all {
		k := &all[i]
		k.Range = [2]float64{math.NaN(), math.NaN()}
		if k.Quantity {
			demo.bound(k)
		}
		a := texts[k.Path]
		k.Meaning, k.HowMeasured = a.meaning, a.measured
	}
	return all
})

// list appends the keys of a spec that hold one value.
func (s *spec) list(path string, all []Key) []Key {
	if s.shape == scalar {
		k := Key{
			Path: path, Quantity: s.put != nil, Kind: s.kind, Words: s.words,
			Whole:    s.put != nil && (s.kind == quantity.Count || s.kind == quantity.Gauge),
			Required: s.required, Default: s.always, Why: s.why,
		}
		switch {
		case s.flag != nil:
			k.Words = []string{"true", "false"}
		case s.alias != "":
			k.Words = []string{s.alias}
		}
		return append(all, k)
	}
	for _, p := range s.parts {
		key := p.key
		if key == "" {
			key = "0"
		}
		all = p.list(join(path, key), all)
	}
	return all
}

// besides are overrides that Validate wants to have before it looks at a key.
var besides = map[string]string{
	"battery.ocv.0.0":    "battery.ocv=[[0 %, 3.0 V], [100 %, 4.2 V]]",
	"battery.ocv.0.1":    "battery.ocv=[[0 %, 3.0 V], [100 %, 4.2 V]]",
	"cylinder.port_area": "cylinder.port=30 mm",
	"spring.modulus":     "spring.wire=1.4 mm",
}

// bound finds the range of a key by what Validate says of a value that is in none. The
// build around it needs not be sound: other faults are no matter.
func (d *Document) bound(k *Key) {
	n := d.fork()
	var steps []step
	if o := besides[k.Path]; o != "" {
		if f := n.override(o); f != nil {
			panic(f)
		}
	}
	if n.vary(k.Path, 1) != nil {
		return // asked of a build: any number will do
	}
	n.read(&steps)
	field := k.Path
	if k.Kind == quantity.Gauge {
		field = "harness.lead.area"
	}
	says := func(x float64) (lo, hi float64, out bool) {
		for _, s := range steps {
			if s.from == 0 {
				s.spec.put(s.c, x)
			}
		}
		for _, f := range quantity.Faults(n.Build.Validate()) {
			if lo, hi, ok := f.Range(); ok && f.Field == field {
				return lo, hi, true
			}
		}
		return 0, 0, false
	}
	switch k.Kind {
	case quantity.Gauge: // of those that there are, the ones with an area in range
		k.Range = [2]float64{math.Inf(1), math.Inf(-1)}
		for gauge := -10.; gauge <= 100; gauge++ {
			if _, _, out := says(gauge); !out && k.Kind.Holds(gauge) {
				k.Range = [2]float64{min(k.Range[0], gauge), max(k.Range[1], gauge)}
			}
		}
	case quantity.Count:
		if lo, hi, ok := says(-1e9); ok {
			k.Range = [2]float64{lo, hi}
		}
	default:
		if lo, hi, ok := says(math.NaN()); ok {
			k.Range = [2]float64{lo, hi}
		}
	}
}

// abouts are those of all keys, in their order.
func abouts() []about {
	all := []about{title}
	for _, f := range targetFigures() {
		path, label := "target."+f.Name+".", strings.TrimSpace(f.Label)
		measured := f.Measured
		if measured == "" {
			measured = "reckoned only"
		}
		all = append(all, about{path + "min", fmt.Sprintf("the least that is good of the %s (%s); left out: none", label, f.Meaning), measured},
			about{path + "max", fmt.Sprintf("the most that is good of the %s (%s); left out: none", label, f.Meaning), measured})
	}
	return append(all, meanings...)
}
