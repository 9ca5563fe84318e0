package buildfile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/quantity"
)

// Get returns the SI value of the key at a path, whether the file gives it or a default
// stands in; NaN and false where no number is in force: the key is left out without a
// default (the release's keys, which close Assumed, go on following from others), another
// stands in its place, it is a word (auto included), or unknown.
// Members of lists are numbered from 0. That of harness.lead.gauge is the gauge's number.
func (d *Document) Get(path string) (value float64, ok bool) {
	if v := d.inForce(path); v != nil && v.spec.put != nil && !v.aliased() {
		return v.si, true
	}
	return math.NaN(), false
}

// Word returns what the key at a path says in words, as the schema spells it ("true" for
// yes, "lithium-polymer" for LiPo), whether the file gives it or a default stands in;
// false where no word is in force.
func (d *Document) Word(path string) (word string, ok bool) {
	v := d.inForce(path)
	switch {
	case v == nil, v.spec.put != nil && !v.aliased():
		return "", false
	case v.spec.put != nil:
		return v.text, true
	}
	return v.spec.meaning(v.text), true
}

func (d *Document) inForce(path string) *value {
	for i := range d.values {
		if d.values[i].path == path {
			return &d.values[i]
		}
	}
	return nil
}

// aliased tells that a word stands in a quantity's place.
func (v *value) aliased() bool { return v.spec.alias != "" && v.text == v.spec.alias }

// Variant is a build of which some keys are numbers to put, for whoever needs the same
// file with thousands of values: no text is made or read in between. It belongs to one
// goroutine; Clone gives another one.
type Variant struct {
	doc   *Document // its tree has a number at each of the paths
	paths []string
	steps []step
}

// step is something that is done at each Put, in the schema's order: a number goes to
// its key, or a default is reckoned anew.
type step struct {
	spec *spec
	c    ctx
	from int // which of the numbers
}

// byDefault, in place of the number of a number, has a default stand in.
const byDefault = -1

// plans notes what a Variant has to do at a key.
func (d *decoder) plans(s *spec, c ctx, from int) {
	if d.plan == nil || from == byDefault && (s.put == nil || s.settled && s.skip == nil) {
		return
	}
	*d.plan = append(*d.plan, step{s, c, from})
}

// Vary makes a Variant of the document, for the numbers of the keys at the paths. The
// document stays as it is, and later changes of it don't reach the Variant.
//
// Any key that holds a number may be varied, given or left out. As with [Document.Set],
// one that stands in place of another (spring.rate where the wire is given) takes the
// other away; keys that need others beside them (spring.wire wants coil_diameter and
// coils) are an error unless those are given or varied too, and so are keys that stand in
// each other's place. What follows from a key that is varied, and is left out of the
// file, follows it. Words can't be varied, nor can what the target asks.
//
// The error is one of faults ([quantity.Faults]).
func (d *Document) Vary(paths ...string) (*Variant, error) {
	n := d.fork()
	var faults []*quantity.Fault
	for i, path := range paths {
		if f := n.vary(path, i+1); f != nil {
			faults = append(faults, f)
		}
	}
	if len(faults) > 0 {
		return nil, unsorted(faults)
	}
	for i, path := range paths {
		switch at := n.root.at(strings.Split(path, ".")); {
		case slices.Contains(paths[:i], path):
			faults = append(faults, &quantity.Fault{Field: path, Text: "is named twice"})
		case at == nil || at.number == 0:
			faults = append(faults, &quantity.Fault{Field: path, Text: "another of the keys to vary stands in its place; wanted one of the two"})
		}
	}
	if len(faults) > 0 {
		return nil, unsorted(faults)
	}
	v := &Variant{doc: n, paths: slices.Clone(paths)}
	if faults = n.read(&v.steps).faults; len(faults) > 0 {
		return nil, joined(faults)
	}
	return v, nil
}

// vary puts a number to come at a path into the tree.
func (d *Document) vary(path string, number int) *quantity.Fault {
	keys := strings.Split(path, ".")
	s, f := d.find(keys, false, quantity.Place{})
	if f != nil {
		if f.Field == "" {
			f.Field = path
		}
		return f
	}
	wrong := ""
	switch {
	case s.shape != scalar:
		wrong = "is " + s.shape.String() + "; wanted a key that holds a number"
	case s.put == nil:
		wrong = "is a word (" + s.wanted() + "); only numbers can be varied"
	case strings.HasPrefix(path, "target."):
		wrong = "is asked of the build and no part of it; wanted a key of the build"
	default:
		d.put(keys, &node{number: number}, quantity.Place{})
		d.displace(path, quantity.Place{})
		return nil
	}
	return &quantity.Fault{Field: path, Text: wrong}
}

// Paths returns those of the keys, in the order of the values of Put.
func (v *Variant) Paths() []string { return slices.Clone(v.paths) }

// Clone returns a Variant of the same keys that shares nothing that either writes.
func (v *Variant) Clone() *Variant {
	doc := *v.doc
	doc.Build = v.doc.Build.Clone()
	c := &Variant{doc: &doc, paths: v.paths, steps: slices.Clone(v.steps)}
	for i := range c.steps {
		c.steps[i].c.doc = &doc
	}
	return c
}

// Put returns the build with values [SI] at the Variant's keys, in the order of their
// paths, complete and valid: what [Document.With] makes of the same values as text, to
// the last bit. The value of a count, or a gauge, is a whole number.
//
// The build is the Variant's: it is to be read only, and the next Put changes it. Who
// wants to keep it takes its Clone.
//
// An error is one of faults and names the keys at fault; only those that stand in
// the file have a place. The Variant can be used further.
func (v *Variant) Put(values []float64) (*drivetrain.Build, error) {
	if len(values) != len(v.paths) {
		return nil, &quantity.Fault{Text: fmt.Sprintf("%d values for %d keys; wanted one for each", len(values), len(v.paths))}
	}
	for i := range v.steps {
		s := &v.steps[i]
		var x float64
		switch {
		case s.from != byDefault:
			if x = values[s.from]; !s.spec.takes(x) {
				return nil, v.faults(values, nil)
			}
		case s.spec.skip == nil || !s.spec.skip(s.c):
			x = s.spec.value(s.c)
		}
		s.spec.put(s.c, x)
	}
	if err := v.doc.Build.Validate(); err != nil {
		return nil, v.faults(values, err)
	}
	return v.doc.Build, nil
}

// takes tells whether a number can stand at a key; whether it is in range, Validate says.
func (s *spec) takes(x float64) bool {
	return s.kind.Holds(x) && !(s.some && x == 0) && !s.standsFor(x)
}

// faults says what is wrong with values, as if they stood in the file; err is what
// Validate says, nil where it wasn't asked.
func (v *Variant) faults(values []float64, err error) error {
	d := v.doc.fork()
	var faults []*quantity.Fault
	for i, path := range v.paths {
		keys := strings.Split(path, ".")
		s, x := d.schema.at(keys), values[i]
		if !quantity.Finite(x) {
			faults = append(faults, &quantity.Fault{Field: path, Text: fmt.Sprintf("%g is not a finite number; wanted %s", x, s.wanted())})
			continue
		}
		d.root = d.root.with(keys, &node{text: s.kind.Print(x), number: i + 1}, quantity.Place{})
	}
	if len(faults) > 0 {
		return unsorted(faults)
	}
	if faults = d.decode(); len(faults) == 0 {
		// A text is off by so little that the value is in range again.
		faults = quantity.Faults(err)
	}
	return joined(faults)
}

// at follows a path that is known.
func (s *spec) at(path []string) *spec {
	for _, key := range path {
		s = s.find(key)
	}
	return s
}
