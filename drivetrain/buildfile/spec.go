package buildfile

import (
	"slices"
	"strconv"
	"strings"

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
	// of a word with other spellings: what a text stands for
	spell func(string) (string, bool)
	// what the words are, in short; "": all of them
	choice string
	flag   func(ctx) *bool

	// what stands in for a missing scalar, as text and, of a quantity, as SI value; and why
	fill func(ctx) (string, float64)
	why  string
	// of a quantity that value alone
	value func(ctx) float64
	// that value follows from words and from which parts there are, not from numbers
	settled bool
	// the text of what stands in, where it is the same for every build
	always string
	skip   func(ctx) bool // no default then
	// a required key may be missing then
	spared func(ctx) bool
	// why, where it depends on the rest
	reason func(ctx) string
	// half the width of a band that stands in, 0: none
	spread func(ctx) float64

	// what to do with values that belong to other keys
	others []other

	// a word in a quantity's place, and the value that it stands for
	alias string
	means float64

	some bool // zero is not a value: it stands for a missing key inside

	// reads what stands at a key that has no shape of its own: whoever has it walks the node
	read func(d *decoder, n *node, c ctx, path string)
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
	s.why, s.always = why, strconv.FormatBool(on)
	s.fill = func(c ctx) (string, float64) { *s.flag(c) = on; return s.always, 0 }
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
	s.why, s.always = why, word
	s.fill = func(c ctx) (string, float64) { *s.text(c) = word; return word, 0 }
	return s
}

// def gives the SI value that stands in.
func (s *spec) def(v float64, why string) *spec {
	s.byWords(func(ctx) float64 { return v }, why)
	s.always = s.written(v)
	return s
}

// byWords is from for what follows from words and from which parts there are, and from
// no number: a Variant needs it once only.
func (s *spec) byWords(value func(ctx) float64, why string) *spec {
	s.settled = true
	return s.from(value, why)
}

// from computes the SI value that stands in from what is decoded already.
func (s *spec) from(value func(ctx) float64, why string) *spec {
	s.why, s.value = why, value
	s.fill = func(c ctx) (string, float64) {
		v := value(c)
		s.put(c, v)
		return s.written(v), v
	}
	return s
}

// written shows a value as a file would have it.
func (s *spec) written(v float64) string {
	if s.alias != "" && v == s.means {
		return s.alias
	}
	return s.kind.Format(v)
}

// positive refuses zero.
func (s *spec) positive() *spec {
	s.some = true
	return s
}

// lest takes away that a key is required on a condition.
func (s *spec) lest(spared func(ctx) bool) *spec {
	s.spared = spared
	return s
}

// because says why a value stands in, where that depends on the rest.
func (s *spec) because(reason func(ctx) string) *spec {
	s.reason = reason
	return s
}

// within gives the tolerance of the value that stands in.
func (s *spec) within(spread func(ctx) float64) *spec {
	s.spread = spread
	return s
}

// other is a kind of value that people give to a key, and where it goes.
type other struct {
	kind quantity.Kind
	text string
}

// not says where a value of another kind goes.
func (s *spec) not(k quantity.Kind, text string) *spec {
	s.others = append(s.others, other{k, text})
	return s
}

// spelt gives a word other spellings, and what may be written in short.
func (s *spec) spelt(choice string, spell func(string) (string, bool)) *spec {
	s.choice, s.spell = choice, spell
	return s
}

// meaning returns what the text of a word or flag stands for, "" for nothing.
func (s *spec) meaning(text string) string {
	switch {
	case s.flag != nil:
		switch strings.ToLower(text) {
		case "true", "yes", "on":
			return "true"
		case "false", "no", "off":
			return "false"
		}
		return ""
	case s.spell != nil:
		word, _ := s.spell(text)
		return word
	case s.words != nil && !slices.Contains(s.words, text):
		return ""
	}
	return text
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
