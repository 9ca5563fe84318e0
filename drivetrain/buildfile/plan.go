package buildfile

import (
	_ "embed"
	"strings"

	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
)

//go:embed demo.plan.yaml
var demoPlan []byte

const demoPlanName = "demo.plan.yaml (embedded)"

// DemoPlan returns the embedded demo plan, a new one at each call.
func DemoPlan() *heat.Plan {
	p, err := ParsePlan(demoPlanName, demoPlan)
	if err != nil {
		panic(err) // a test reads it
	}
	return p
}

// DemoPlanText returns the text of the embedded demo plan, for a file to start from.
func DemoPlanText() string { return string(demoPlan) }

// LoadPlan reads a firing plan, as strictly as a build. Errors are those of
// [Load].
func LoadPlan(path string) (*heat.Plan, error) {
	data, fault := readFile(path)
	if fault != nil {
		return nil, ofPlan(fault)
	}
	return ParsePlan(path, data)
}

// ParsePlan reads the text of a firing plan; the name stands in errors.
func ParsePlan(name string, data []byte) (*heat.Plan, error) {
	s, fault := newSource(name, data)
	if fault != nil {
		return nil, ofPlan(fault)
	}
	root, faults := s.parse()
	if len(faults) > 0 {
		return nil, ofPlan(faults...)
	}
	p := new(heat.Plan)
	d := &Document{source: s, root: root, schema: planSchema(p), Tolerances: map[string]float64{}}
	dec := &decoder{doc: d}
	dec.value(d.schema, nil, root, ctx{doc: d}, "", quantity.Place{File: name, Line: 1, Column: 1})
	for path := range d.Tolerances {
		place, _ := d.Position(path)
		dec.fault(place, path, "a plan carries no tolerances; wanted the value alone")
	}
	if len(dec.faults) == 0 {
		for _, f := range quantity.Faults(p.Validate()) {
			place, _ := d.Position(f.Field)
			dec.faults = append(dec.faults, f.At(place, f.Field))
		}
	}
	if len(dec.faults) > 0 {
		return nil, ofPlan(dec.faults...)
	}
	return p, nil
}

// planSchema is the plan file: every key, where it goes, and what stands in for it.
func planSchema(p *heat.Plan) *spec {
	at := func(c ctx) *heat.Step { return &p.Steps[c.i] }
	title := name("name", func(ctx) *string { return &p.Name }).or("Unnamed plan", "a name for tables and pictures")
	title.example = "Woodland morning"
	step := optional("", func(ctx) { p.Steps = append(p.Steps, heat.Step{}) },
		count("rounds", func(c ctx) *int { return &at(c).Rounds }).needed(),
		num("pause", quantity.Time, func(c ctx) *float64 { return &at(c).Pause }).def(0, none),
		count("repeat", func(c ctx) *int { return &at(c).Repeat }).def(1, "once"),
		flag("fresh_pack", func(c ctx) *bool { return &at(c).FreshPack }),
	)
	return object("",
		title,
		num("ambient", quantity.Temperature, func(ctx) *float64 { return &p.Ambient }).positive(),
		count("repeat", func(ctx) *int { return &p.Repeat }).def(1, "once"),
		(&spec{key: "steps", shape: list, parts: []*spec{step}, example: "[{rounds: 12, pause: 4 s, repeat: 20}]"}).needed(),
	)
}

// ofPlan makes one error of faults, and puts those of any YAML file into the words of a plan.
func ofPlan(all ...*quantity.Fault) error {
	words := strings.NewReplacer("a build file", "a plan file", "one build a file", "one plan a file", "keys such as motor: and battery:", "keys such as name: and steps:")
	for _, f := range all {
		f.Text = words.Replace(f.Text)
	}
	return joined(all)
}
