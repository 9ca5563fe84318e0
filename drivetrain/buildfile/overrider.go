package buildfile

import (
	"strings"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
)

// Override is a value for the key of a path, as it would stand in the file; an empty one
// takes the key away.
type Override struct{ Path, Value string }

// String is the override as [Document.With] reads it: "key.path=value".
func (o Override) String() string { return o.Path + "=" + o.Value }

// Overrider makes builds of one document with overrides, for whoever has thousands of
// sets of them: sets of the same keys, all quantities, need neither tree nor schema. It
// belongs to one goroutine.
type Overrider struct {
	document *Document
	known    map[string]*overridden
	values   []float64
	name     []byte
}

// overridden is what is known of sets of the same keys.
type overridden struct {
	variant *Variant // nil: they are put in as text
	kinds   []quantity.Kind
}

// mostKnown bounds how many sets of keys are remembered.
const mostKnown = 64

// Overrider makes one of the document, which stays as it is.
func (d *Document) Overrider() *Overrider {
	return &Overrider{document: d, known: map[string]*overridden{}}
}

// Override returns the build with overrides put in, and what is asked of it: those of
// [Document.With], to the last bit, and its errors. The build is to be read only, and the
// next call may change it; who wants to keep it takes its Clone.
func (o *Overrider) Override(set []Override) (*drivetrain.Build, figure.Target, error) {
	k := o.keys(set)
	if k.variant != nil && o.read(set, k.kinds) {
		if b, err := k.variant.Put(o.values); err == nil {
			return b, o.document.Target, nil
		}
	}
	texts := make([]string, len(set))
	for i := range set {
		texts[i] = set[i].String()
	}
	d, err := o.document.With(texts...)
	if err != nil {
		return nil, nil, err
	}
	return d.Build, d.Target, nil
}

// keys returns what is known of a set's keys.
func (o *Overrider) keys(set []Override) *overridden {
	o.name = o.name[:0]
	for i := range set {
		o.name = append(append(o.name, set[i].Path...), '\n')
	}
	if k, ok := o.known[string(o.name)]; ok {
		return k
	}
	k := new(overridden)
	paths := make([]string, len(set))
	for i := range set {
		paths[i] = set[i].Path
		key, ok := FindKey(paths[i])
		if !ok || !key.Quantity {
			paths = nil
			break
		}
		k.kinds = append(k.kinds, key.Kind)
	}
	if len(paths) > 0 {
		if v, err := o.document.Vary(paths...); err == nil {
			k.variant = v
		}
	}
	if len(o.known) < mostKnown {
		o.known[string(o.name)] = k
	}
	return k
}

// read reads the values of a set; false where one is no plain quantity.
func (o *Overrider) read(set []Override, kinds []quantity.Kind) bool {
	o.values = o.values[:0]
	for i := range set {
		text := set[i].Value
		if strings.ContainsAny(text, `"'#{}[],&*!|>%@`+"`") && !strings.HasSuffix(text, "%") {
			return false // what a file reads otherwise
		}
		v, err := quantity.Parse(text, kinds[i])
		if err != nil || v.Tolerance != 0 {
			return false
		}
		o.values = append(o.values, v.SI)
	}
	return true
}
