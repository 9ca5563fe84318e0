package fit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

// priors picks what may move: the keys that the readings file frees, or else those of usuals
// that are in effect and whatever the build states with a ±; and the instruments.
func priors(d *buildfile.Document, r *buildfile.Readings, hold []string) ([]Unknown, error) {
	var faults []*quantity.Fault
	var all []Unknown
	held := map[string]bool{}
	for _, key := range hold {
		held[key] = false
	}
	keep := func(k Unknown) {
		if _, out := held[k.Key]; out {
			held[k.Key] = true
			return
		}
		all = append(all, k)
	}
	if len(r.Free) > 0 {
		for _, f := range r.Free {
			k, fault := freed(d, f)
			if fault != nil {
				faults = append(faults, fault)
				continue
			}
			keep(k)
		}
	} else {
		for _, u := range usuals() {
			if x, ok := inEffect(d, u.key); ok && x > 0 {
				sd := u.of(x) / 2
				if t, stated := d.Tolerances[u.key]; stated && t > 0 {
					sd = t / 2
				}
				keep(newKeyed(d, u.key, x, sd))
			}
		}
		for _, key := range stated(d) {
			if slices.ContainsFunc(usuals(), func(u usual) bool { return u.key == key }) {
				continue
			}
			if x, ok := d.Get(key); ok {
				keep(newKeyed(d, key, x, d.Tolerances[key]/2))
			}
		}
	}
	for _, i := range r.Instruments {
		keep(newUnknown("instruments."+i.Name, quantity.Share, 0, i.Tolerance/2, math.NaN(), math.NaN(), true))
	}
	for _, key := range hold {
		if !held[key] {
			text := "is no unknown of this fit"
			var known []string
			for _, k := range all {
				known = append(known, k.Key)
			}
			if near := quantity.Nearest(key, known); near != "" {
				text += "; did you mean " + near + "?"
			}
			faults = append(faults, &quantity.Fault{Place: quantity.Place{File: "--hold " + key}, Text: text})
		}
	}
	if len(faults) > 0 {
		return nil, quantity.Join(faults...)
	}
	return all, nil
}

// newKeyed is newUnknown of a key of the build.
func newKeyed(d *buildfile.Document, key string, prior, sd float64) Unknown {
	about, _ := buildfile.FindKey(key)
	k := newUnknown(key, about.Kind, prior, sd, about.Range[0], about.Range[1], false)
	if _, ok := d.Get(key); !ok && key == commutation {
		k.auto = true
	}
	return k
}

// inEffect returns the value of a key [SI], that which is derived included.
func inEffect(d *buildfile.Document, key string) (float64, bool) {
	if x, ok := d.Get(key); ok || key != commutation {
		return x, ok
	}
	t := d.Build.Ambient.Temperature
	constants := d.Build.Motor.At(t, t)
	return constants.Reversal, d.Build.Motor.Bench == nil
}

// stated lists the keys that the build itself states with a ±, counts and what a target
// asks for apart, in the order of the documentation.
func stated(d *buildfile.Document) (all []string) {
	for key, t := range d.Tolerances {
		about, known := buildfile.FindKey(key)
		if _, there := d.Position(key); there && known && about.Quantity && !about.Whole && t > 0 && !strings.HasPrefix(key, "target.") {
			all = append(all, key)
		}
	}
	order := map[string]int{}
	for i, k := range buildfile.Keys() {
		order[k.Path] = i
	}
	place := func(key string) int {
		about, _ := buildfile.FindKey(key)
		return order[about.Path]
	}
	slices.SortFunc(all, func(a, b string) int {
		if n := place(a) - place(b); n != 0 {
			return n
		}
		return strings.Compare(a, b)
	})
	return all
}

// freed is the unknown of a key that the readings file frees.
func freed(d *buildfile.Document, f buildfile.Free) (Unknown, *quantity.Fault) {
	fault := func(format string, args ...any) (Unknown, *quantity.Fault) {
		return Unknown{}, &quantity.Fault{Place: f.Place, Field: f.Key, Text: fmt.Sprintf(format, args...)}
	}
	x, ok := f.Mean, true
	if math.IsNaN(x) {
		if x, ok = inEffect(d, f.Key); !ok {
			return fault("has no value in this build; wanted a prior, such as {key: %s, prior: …}, or the key in the build", f.Key)
		}
	}
	t := f.Tolerance
	if t == 0 {
		t = d.Tolerances[f.Key]
	}
	if t == 0 {
		for _, u := range usuals() {
			if u.key == f.Key {
				t = u.of(x)
			}
		}
	}
	if !(t > 0) {
		about, _ := buildfile.FindKey(f.Key)
		example := about.Kind.Format(x)
		return fault("has no ±, neither here nor in the build; wanted {key: %s, prior: %s ± …}, or a ± in the build", f.Key, example)
	}
	return newKeyed(d, f.Key, x, t/2), nil
}
