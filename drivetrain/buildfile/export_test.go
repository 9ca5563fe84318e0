package buildfile

import (
	"strings"

	"example.org/ampstroke/drivetrain/quantity"
)

// Leaf is a key of the schema that holds one value.
type Leaf struct {
	// Path is the key's; members of lists have a "0" in it.
	Path string
	// Quantity tells whether the value is a number; Kind is its kind then.
	Quantity bool
	Kind     quantity.Kind
	// Alias is the word that may stand in a number's place, "": none.
	Alias string
	// Words is what the value may be, where it is one of several words.
	Words []string
	// Required tells whether the key must stand in its mapping.
	Required bool
	// Assumed tells whether something stands in where the key is missing.
	Assumed bool
}

// Leaves lists the schema's keys that hold one value, in its order.
func Leaves() []Leaf { return leaves(schema(), "", nil) }

func leaves(s *spec, path string, all []Leaf) []Leaf {
	if s.shape == scalar {
		words := s.words
		if s.flag != nil {
			words = []string{"true", "false"}
		}
		return append(all, Leaf{
			Path: path, Quantity: s.put != nil, Kind: s.kind, Alias: s.alias, Words: words,
			Required: s.required, Assumed: s.fill != nil,
		})
	}
	for _, p := range s.parts {
		key := p.key
		if key == "" {
			key = "0"
		}
		all = leaves(p, join(path, key), all)
	}
	return all
}

// Text returns the text of a value.
func (d *Document) Text(path string) string { return d.root.at(strings.Split(path, ".")).text }

// Replaced returns the file's text with other text in place of a value.
func (d *Document) Replaced(path, with string) string {
	n := d.root.at(strings.Split(path, "."))
	return string(splice(d.source.text, n.from, n.to, with))
}

// Known tells whether a path leads to a key of the schema; "0" stands for a member.
func Known(path string) bool {
	s := schema()
	for key := range strings.SplitSeq(path, ".") {
		if s = s.find(key); s == nil {
			return false
		}
	}
	return true
}

// Synonyms are the other names of keys, and Hints what is said of keys that are none.
var (
	Synonyms = synonyms
	Hints    = hints
)
