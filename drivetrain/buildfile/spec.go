package buildfile

import (
	"strconv"

	"example.org/ampstroke/drivetrain/quantity"
)

// ctx is what a key's functions work on: a document that is being decoded, and
// which item of the list around the key.
type ctx struct {
	doc *Document
	i   int
}

// spec is what is known of one key.
type spec struct {
	key      string
	shape    shape
	required bool
	example  string

	// of a mapping the keys; of a list the one kind of item; of a pair its items
	parts []*spec
	// makes room for an optional mapping or a list's item
	start func(ctx)
	// an optional mapping is left alone where it is missing
	optional bool
	// a list of a fixed length, such as [charge, voltage]
	pair bool

	// of a scalar
	kind  quantity.Kind
	put   func(ctx, float64) // a quantity
	text  func(ctx) *string  // a word
	words []string           // what the word may be, nil: anything
	flag  func(ctx) *bool

	// what stands in for a missing scalar, and why
	fill func(ctx) string
	why  string
	skip func(ctx) bool // no default then

	// a word in a quantity's place, and the value that it stands for
	alias string
	means float64

	some bool // zero is not a value: it stands for a missing key inside
}

func object(key string, parts ...*spec) *spec {
	return &spec{key: key, shape: mapping, parts: parts}
}

func optional(key string, start func(ctx), parts ...*spec) *spec {
	return &spec{key: key, shape: mapping, parts: parts, start: start, optional: true}
}

// num is a quantity that goes to a field.
func num(key string, k quantity.Kind, at func(ctx) *float64) *spec {
	return special(key, k, func(c ctx, v float64) { *at(c) = v })
}

// special is a quantity with a place of its own.
func special(key string, k quantity.Kind, put func(ctx, float64)) *spec {
	return &spec{key: key, kind: k, put: put, example: k.Example()}
}

// count is a whole number.
func count(key string, at func(ctx) *int) *spec {
	return special(key, quantity.Count, func(c ctx, v float64) { *at(c) = int(v) })
}

// name is free text, word one of several.
func name(key string, at func(ctx) *string) *spec {
	return &spec{key: key, text: at, example: "Woodland club rifle"}
}

func word(key string, at func(ctx) *string, words ...string) *spec {
	return &spec{key: key, text: at, words: words, example: words[0]}
}

// flag is true or false; missing, it is false.
func flag(key string, at func(ctx) *bool) *spec {
	s := &spec{key: key, flag: at, example: "true"}
	return s.stands(false, none)
}

// stands gives what a missing flag stands for.
func (s *spec) stands(on bool, why string) *spec {
	s.why = why
	s.fill = func(c ctx) string { *s.flag(c) = on; return strconv.FormatBool(on) }
	return s
}

// also takes a word in a quantity's place.
func (s *spec) also(word string, value float64) *spec {
	s.alias, s.means = word, value
	return s
}

// needed makes a key required.
func (s *spec) needed() *spec {
	s.required = true
	return s
}

// or gives the word that stands in.
func (s *spec) or(word, why string) *spec {
	s.why = why
	s.fill = func(c ctx) string { *s.text(c) = word; return word }
	return s
}

// def gives the SI value that stands in.
func (s *spec) def(v float64, why string) *spec {
	return s.from(func(ctx) float64 { return v }, why)
}

// from computes the SI value that stands in from what is decoded already.
func (s *spec) from(value func(ctx) float64, why string) *spec {
	s.why = why
	s.fill = func(c ctx) string {
		v := value(c)
		s.put(c, v)
		if s.alias != "" && v == s.means {
			return s.alias
		}
		return s.kind.Format(v)
	}
	return s
}

// positive refuses zero.
func (s *spec) positive() *spec {
	s.some = true
	return s
}

// unless leaves a missing key alone on a condition.
func (s *spec) unless(skip func(ctx) bool) *spec {
	s.skip = skip
	return s
}

// find returns the part with a key, nil if there is none.
func (s *spec) find(key string) *spec {
	if s.shape == list && len(s.parts) > 0 && !s.pair {
		if n, err := strconv.Atoi(key); err == nil && n >= 0 && strconv.Itoa(n) == key {
			return s.parts[0]
		}
		return nil
	}
	for _, p := range s.parts {
		if p.key == key {
			return p
		}
	}
	return nil
}

func (s *spec) keys() (all []string) {
	for _, p := range s.parts {
		all = append(all, p.key)
	}
	return all
}

// elsewhere finds the paths at which a key is known.
func (s *spec) elsewhere(key, path string) (all []string) {
	for _, p := range s.parts {
		if p.key == "" {
			continue
		}
		at := join(path, p.key)
		if p.key == key {
			all = append(all, at)
		}
		if p.shape == mapping {
			all = append(all, p.elsewhere(key, at)...)
		}
	}
	return all
}
