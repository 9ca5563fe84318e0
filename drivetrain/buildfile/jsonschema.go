package buildfile

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// BuildSchema returns the build file's JSON Schema (draft 2020-12), for editors: what a
// file may hold, key by key, with meanings and defaults. Its "$comment" says what a
// schema can't tell.
func BuildSchema() []byte {
	keys := map[string]Key{}
	for _, k := range Keys() {
		keys[k.Path] = k
	}
	m := &schemaMaker{keys: keys, tolerances: true, used: map[quantity.Kind]bool{}}
	s := m.of(schema(), "")
	s.Title = "ampstroke build file"
	s.Comment = "What needs two keys is not said here: values out of range (the descriptions tell the range by itself) or at odds with others, " +
		"such as a pellet wider than the barrel, more teeth removed than there are, installed_length over free_length, min over max, " +
		"a table of ocv without chemistry custom, or that does not rise; the tooth of taken_down beyond the rack; slots that are even. " +
		"Units in which something cancels (J/N for a length) are read by ampstroke, but not here."
	return m.text(s)
}

// PlanSchema returns that of the plan file.
func PlanSchema() []byte {
	m := &schemaMaker{keys: planKeys(), used: map[quantity.Kind]bool{}}
	s := m.of(planSchema(new(heat.Plan)), "")
	s.Title = "ampstroke plan file"
	s.Comment = "What needs two keys is not said here: values out of range, a step with neither rounds nor a pause, " +
		"and plans of too many rounds or too long a time in all."
	return m.text(s)
}

// planKeys say of the plan's keys what Keys says of a build's.
func planKeys() map[string]Key {
	all := map[string]Key{}
	for _, k := range planSchema(new(heat.Plan)).list("", nil) {
		k.Range = [2]float64{math.NaN(), math.NaN()}
		k.Meaning = map[string]string{
			"name":               "what tables and pictures call the plan",
			"ambient":            "temperature of the surroundings; left out: the build's",
			"repeat":             "how often all steps are gone through",
			"steps.0.rounds":     "rounds of the burst; 0: a rest",
			"steps.0.pause":      "time from the last round to the next step",
			"steps.0.repeat":     "how often the step is gone through",
			"steps.0.fresh_pack": "whether the step begins with a fresh pack, each time",
		}[k.Path]
		all[k.Path] = k
	}
	return all
}

// jsonSchema is a schema; a field that is empty says nothing.
type jsonSchema struct {
	Dialect     string        `json:"$schema,omitempty"`
	Title       string        `json:"title,omitempty"`
	Comment     string        `json:"$comment,omitempty"`
	Description string        `json:"description,omitempty"`
	Ref         string        `json:"$ref,omitempty"`
	Type        any           `json:"type,omitempty"`
	Default     any           `json:"default,omitempty"`
	Examples    []any         `json:"examples,omitempty"`
	Enum        []any         `json:"enum,omitempty"`
	Pattern     string        `json:"pattern,omitempty"`
	MaxLength   int           `json:"maxLength,omitempty"`
	Minimum     *float64      `json:"minimum,omitempty"`
	Maximum     *float64      `json:"maximum,omitempty"`
	Properties  schemaMembers `json:"properties,omitempty"`
	Required    []string      `json:"required,omitempty"`
	Additional  *bool         `json:"additionalProperties,omitempty"`
	MinProps    int           `json:"minProperties,omitempty"`
	PrefixItems []*jsonSchema `json:"prefixItems,omitempty"`
	Items       any           `json:"items,omitempty"`
	MinItems    int           `json:"minItems,omitempty"`
	AnyOf       []*jsonSchema `json:"anyOf,omitempty"`
	OneOf       []*jsonSchema `json:"oneOf,omitempty"`
	AllOf       []*jsonSchema `json:"allOf,omitempty"`
	Not         *jsonSchema   `json:"not,omitempty"`
	Defs        schemaMembers `json:"$defs,omitempty"`
}

// schemaMembers are schemas by name, in an order; false stands for one that nothing fits.
type schemaMembers []schemaMember

type schemaMember struct {
	name   string
	schema any
}

// MarshalJSON implements [json.Marshaler].
func (m schemaMembers) MarshalJSON() ([]byte, error) {
	b := bytes.NewBufferString("{")
	for i, one := range m {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(one.name)
		if err != nil {
			return nil, err
		}
		value, err := plainJSON(one.schema)
		if err != nil {
			return nil, err
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// plainJSON leaves < and & as they are.
func plainJSON(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return bytes.TrimSpace(b.Bytes()), err
}

// schemaMaker turns specs into schemas.
type schemaMaker struct {
	keys       map[string]Key
	tolerances bool // whether quantities may carry one
	used       map[quantity.Kind]bool
}

func (m *schemaMaker) text(s *jsonSchema) []byte {
	s.Dialect = "https://json-schema.org/draft/2020-12/schema"
	for _, k := range slices.Sorted(maps.Keys(m.used)) {
		s.Defs = append(s.Defs, schemaMember{defName(k), &jsonSchema{
			Description: k.String() + ", such as " + k.Example(), Type: "string", MaxLength: quantity.LongestText, Pattern: k.Pattern(m.tolerances),
		}})
	}
	line, err := plainJSON(s)
	if err != nil {
		panic(err) // a test makes both
	}
	var b bytes.Buffer
	if err := json.Indent(&b, line, "", "  "); err != nil {
		panic(err)
	}
	b.WriteByte('\n')
	return b.Bytes()
}

// defName is what a kind is called among the definitions: moment-of-inertia.
func defName(k quantity.Kind) string {
	_, name, _ := strings.Cut(k.String(), " ")
	return strings.ReplaceAll(name, " ", "-")
}

func (m *schemaMaker) of(s *spec, path string) *jsonSchema {
	switch s.shape {
	case scalar:
		return m.scalar(s, path)
	case list:
		if s.pair {
			j := &jsonSchema{Type: "array", Items: false, MinItems: len(s.parts)}
			for _, p := range s.parts {
				j.PrefixItems = append(j.PrefixItems, m.of(p, join(path, p.key)))
			}
			return j
		}
		j := &jsonSchema{Type: "array", Items: m.of(s.parts[0], join(path, "0"))}
		if s.required {
			j.MinItems = 1
		}
		return j
	}
	no := false
	j := &jsonSchema{Type: "object", Additional: &no}
	for _, p := range s.parts {
		at := join(path, p.key)
		j.Properties = append(j.Properties, schemaMember{p.key, m.of(p, at)})
		switch {
		case !demands(p, at) || sided(at):
		case p.spared != nil: // by a grade
			j.AnyOf = []*jsonSchema{{Required: []string{gradePath[len(gradePath)-1]}}, {Required: []string{p.key}}}
		default:
			j.Required = append(j.Required, p.key)
		}
	}
	if m.tolerances {
		j.AllOf = alternativesAt(path)
	}
	switch {
	case strings.HasPrefix(path, "target."):
		j.MinProps = 1
	case !s.optional && !demands(s, path):
		j.Type = []string{"object", "null"} // all of it may be left to defaults
	}
	return j
}

// demands tells whether a key must stand in its mapping, since it or something below it is
// required.
func demands(s *spec, path string) bool {
	if s.shape != mapping {
		return s.required
	}
	if s.optional {
		return false
	}
	return len(alternativesAt(path)) > 0 ||
		slices.ContainsFunc(s.parts, func(p *spec) bool { return demands(p, join(path, p.key)) })
}

// sided tells whether a key is one side of an alternative, and not required by itself.
func sided(path string) bool {
	return slices.ContainsFunc(alternatives(), func(alt alternative) bool {
		return slices.Contains(alt.a, path) || slices.Contains(alt.b, path)
	})
}

// alternativesAt says of a mapping that one side of each of its alternatives is given.
func alternativesAt(path string) (all []*jsonSchema) {
	for _, alt := range alternatives() {
		parent := alt.a[0][:strings.LastIndexByte(alt.a[0], '.')]
		if alt.stays { // b's mapping holds what is below a
			common := alt.b[0][:strings.LastIndexByte(alt.b[0], '.')]
			if path == common {
				all = append(all, &jsonSchema{Not: together(strings.TrimPrefix(alt.a[0], common+"."), strings.TrimPrefix(alt.b[0], common+"."))})
			}
			continue
		}
		if path != parent {
			continue
		}
		all = append(all, &jsonSchema{OneOf: []*jsonSchema{side(alt.a, alt.b), side(alt.b, alt.a)}})
	}
	return all
}

// side says that the keys of one side are given, and none of the other.
func side(these, others []string) *jsonSchema {
	j := &jsonSchema{}
	for _, k := range these {
		if k != "spring.modulus" { // which has a default
			j.Required = append(j.Required, k[strings.LastIndexByte(k, '.')+1:])
		}
	}
	for _, k := range others {
		j.Properties = append(j.Properties, schemaMember{k[strings.LastIndexByte(k, '.')+1:], false})
	}
	return j
}

// together fits where both keys are given, the first of which may lie deeper.
func together(a, b string) *jsonSchema {
	section, key, deeper := strings.Cut(a, ".")
	j := &jsonSchema{Required: []string{section, b}}
	if deeper {
		j.Properties = schemaMembers{{section, &jsonSchema{Type: "object", Required: []string{key}}}}
	}
	return j
}

// scalar is the schema of one value.
func (m *schemaMaker) scalar(s *spec, path string) *jsonSchema {
	k := m.keys[path]
	j := &jsonSchema{Description: describe(&k)}
	switch {
	case s.flag != nil:
		j.AnyOf = []*jsonSchema{{Type: "boolean"}, {Type: "string", Pattern: "^(?:[Yy][Ee][Ss]|[Nn][Oo]|[Oo][Nn]|[Oo][Ff][Ff])$"}}
		j.Default = s.always == "true"
	case s.text != nil && s.words == nil:
		// Any plain text is a name, and to YAML some are numbers.
		j.AnyOf = []*jsonSchema{{Type: "string", MaxLength: mostOfName, Pattern: `^[^\x00-\x1f\x7f-\x9f]*[^\x00-\x20\x7f-\xa0][^\x00-\x1f\x7f-\x9f]*$`}, {Type: []string{"number", "boolean"}}}
	case s.text != nil:
		words := &jsonSchema{}
		for _, w := range s.words {
			words.Enum = append(words.Enum, w)
		}
		if pattern := spellingPattern(path); s.spell != nil {
			j.AnyOf = []*jsonSchema{words, {Type: "string", Pattern: pattern}}
		} else {
			j.Enum = words.Enum
		}
	default:
		m.quantity(s, &k, j)
	}
	if s.flag == nil && k.Default != "" {
		j.Default = k.Default
		if v, err := quantity.Parse(k.Default, s.kind); s.put != nil && s.kind.Bare() && err == nil && !strings.Contains(k.Default, "%") {
			j.Default = v.SI
		}
	}
	return j
}

// quantity says how a number with its unit is written.
func (m *schemaMaker) quantity(s *spec, k *Key, j *jsonSchema) {
	m.used[s.kind] = true
	ref := &jsonSchema{Ref: "#/$defs/" + defName(s.kind)}
	j.AnyOf = []*jsonSchema{ref}
	if s.kind.Bare() {
		bare := &jsonSchema{Type: "number"}
		if s.kind == quantity.Count {
			bare.Type = "integer"
		}
		if lo, hi := k.Range[0], k.Range[1]; !math.IsNaN(lo) {
			bare.Minimum, bare.Maximum = &lo, &hi
		}
		j.AnyOf = append(j.AnyOf, bare)
	}
	if s.alias != "" {
		j.AnyOf = append(j.AnyOf, &jsonSchema{Enum: []any{s.alias}})
	}
	if len(j.AnyOf) == 1 {
		j.Ref, j.AnyOf = ref.Ref, nil
	}
	example, _, _ := strings.Cut(s.example, " or ")
	j.Examples = []any{example}
}

// spellingPattern matches the spellings of a word that the schema's words are not all of.
func spellingPattern(path string) string {
	var all []string
	switch path {
	case "battery.chemistry": // as battery.FindChemistry has it
		var short []string
		for _, c := range battery.Chemistries() {
			all = append(all, anyCase(string(c), ""))
			for _, w := range c.ShortForms() {
				short = append(short, anyCase(w, "-*"))
			}
		}
		all = append(all, short...)
	case strings.Join(gradePath, "."): // as motor.FindGrade has it
		for _, w := range motor.Grades() {
			all = append(all, anyCase(w, "[ -]*"))
		}
	}
	return "^(?:" + strings.Join(all, "|") + ")$"
}

// anyCase matches a word in small and capital letters, with something between them.
func anyCase(word, between string) string {
	var all []string
	for _, r := range word {
		letter := string(r)
		if lower, upper := strings.ToLower(letter), strings.ToUpper(letter); lower != upper {
			letter = "[" + upper + lower + "]"
		}
		all = append(all, letter)
	}
	return strings.Join(all, between)
}

// describe is what is said of a key.
func describe(k *Key) string {
	text := k.Meaning
	if !math.IsNaN(k.Range[0]) {
		text += "\n" + "Range: " + k.Allowed()
	}
	switch {
	case k.Default != "" && k.Why != "":
		text += fmt.Sprintf("\nLeft out: %s, %s", k.Default, k.Why)
	case k.Why != "":
		text += "\nLeft out, it follows: " + k.Why
	}
	if k.HowMeasured != "" {
		text += "\nMeasured: " + k.HowMeasured
	}
	return text
}
