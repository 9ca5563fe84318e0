package buildfile

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/quantity"
)

// value is what a key came to in a document.
type value struct {
	path, text string
	assumed    bool
	spec       *spec
	si         float64 // of a quantity
}

// keep remembers what a key came to.
func (d *Document) keep(s *spec, path, text string, si float64, assumed bool) {
	d.values = append(d.values, value{path, text, assumed, s, si})
}

// same tells whether two values of a key mean the same: 0.65 mm and 650 um do.
func (v *value) same(w *value) bool {
	if v == nil || w == nil {
		return v == w
	}
	if v.spec.put == nil || v.text == w.text {
		return v.spec.meaning(v.text) == w.spec.meaning(w.text)
	}
	a, errA := quantity.Parse(v.text, v.spec.kind)
	b, errB := quantity.Parse(w.text, w.spec.kind)
	return errA == nil && errB == nil && a == b
}

// Difference is a key that documents don't agree in.
type Difference struct {
	// Path is the key's, "motor.armature.turns".
	Path string
	// Entries are what the documents say, in their order.
	Entries []Entry
}

// Entry is what one document says of a key.
type Entry struct {
	// Text is the value as it is written, "" where the document has none.
	Text string
	// Assumed tells that the file leaves the key out, and Text stands in.
	Assumed bool
}

// Differences lists the keys that documents don't agree in, in the order of the
// schema, what is assumed included; the name and the target apart. Values that
// mean the same in other units are no difference.
func Differences(documents ...*Document) []Difference {
	found := make([]map[string]*value, len(documents))
	ranks := map[string][]int{}
	for i, d := range documents {
		found[i] = map[string]*value{}
		for j := range d.values {
			v := &d.values[j]
			found[i][v.path] = v
			ranks[v.path] = d.schema.rank(v.path)
		}
	}
	paths := slices.SortedFunc(maps.Keys(ranks), func(a, b string) int { return slices.Compare(ranks[a], ranks[b]) })
	var all []Difference
	for _, path := range paths {
		if path == "name" || strings.HasPrefix(path, "target.") {
			continue
		}
		d := Difference{Path: path}
		differs := false
		for _, f := range found {
			v := f[path]
			differs = differs || !v.same(found[0][path])
			var c Entry
			if v != nil {
				c = Entry{v.text, v.assumed}
			}
			d.Entries = append(d.Entries, c)
		}
		if differs {
			all = append(all, d)
		}
	}
	return all
}

// rank says where a path stands in the schema: which key of each level, or which
// member of a list.
func (s *spec) rank(path string) (all []int) {
	for key := range strings.SplitSeq(path, ".") {
		n, err := strconv.Atoi(key)
		if err != nil {
			n = slices.Index(s.keys(), key)
		}
		all = append(all, n)
		if s = s.find(key); s == nil {
			break
		}
	}
	return all
}
