package levers

import (
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

// Lever is a key of a build file that can be moved.
type Lever struct {
	// Key is its path; members of lists are numbered from 0.
	Key  string
	Kind quantity.Kind
	// Whole tells that its values are whole numbers.
	Whole bool
	// From is the value it has [SI].
	From float64
	// Least is the smallest value it is moved to [SI].
	Least float64
	// Most is the largest value it is moved to [SI].
	Most float64
}

// without are the keys, or what they begin with, that hold numbers and are no levers, and
// why.
var without = []struct{ key, why string }{
	{"target", "what is asked, and no part"},
	{"ambient", "the weather"},
	{"battery.ocv", "the chemistry's"},
	{"battery.activation_energy", "the chemistry's"},
	{"battery.reserve", "how shots are counted"},
	{"motor.commutation", "a factor of the model"},
	{"motor.stator.carter", "a factor of the model"},
	{"cylinder.wall_heat", "a factor of the model"},
	{"barrel.wall_heat", "a factor of the model"},
	{"motor.stator.magnet.permeability", "every magnet's"},
	{"motor.stator.magnet.drift", "every magnet's"},
	{"motor.stator.magnet.coercivity_drift", "every magnet's"},
	{"motor.bench.drift", "every magnet's"},
	{"motor.bench.voltage", "how the bench was run"},
	{"motor.bench.temperature", "how the bench was run"},
	{"motor.armature.saturation", "every sheet's"},
	{"motor.armature.stacking", "every sheet's"},
	{"harness.switch.mosfet.drift", "every transistor's"},
	{"spring.modulus", "every steel's"},
}

// NoLever tells of a key that holds a number why nobody can move it, "" of one that is a
// lever.
func NoLever(key string) (why string) {
	for _, w := range without {
		if key == w.key || strings.HasPrefix(key, w.key+".") {
			return w.why
		}
	}
	return ""
}

// Levers lists the keys of a document that hold a number and can be moved, in the order
// of the documentation, whether or not they move a figure.
func Levers(d *buildfile.Document) (all []Lever) {
	for _, k := range buildfile.Keys() {
		if !k.Quantity || NoLever(k.Path) != "" {
			continue
		}
		parts := strings.Split(k.Path, ".")
		member := -1
		for i, part := range parts {
			if part == "0" {
				member = i
				break
			}
		}
		for n := 0; ; n++ {
			if member >= 0 {
				parts[member] = strconv.Itoa(n)
			}
			path := strings.Join(parts, ".")
			v, ok := d.Get(path)
			if ok {
				all = append(all, newLever(&k, path, v))
			}
			if !ok || member < 0 {
				break
			}
		}
	}
	return all
}

// newLever bounds a key by its range, and by half and twice its value.
func newLever(k *buildfile.Key, path string, v float64) Lever {
	l := Lever{Key: path, Kind: k.Kind, Whole: k.Whole, From: v, Least: min(v/2, 2*v), Most: max(v/2, 2*v)}
	if lo := k.Range[0]; lo > l.Least { // NaN: no bound
		l.Least = min(lo, v)
	}
	if hi := k.Range[1]; hi < l.Most {
		l.Most = max(hi, v)
	}
	return l
}
