package buildfile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
)

// Settings say what sort of file Start makes.
type Settings struct {
	// Bench gives the motor by bench readings, and switches stator and armature off. The
	// default is the other way round.
	Bench bool
	// Short leaves out all that may be left out. The default is every key that there is.
	Short bool
}

// widest is how many columns a line of a file to start from has at most.
const widest = 100

// Start returns the text of a build file to start from: the embedded demo with every key,
// each with a comment on its meaning, what it may be, and how a bench measures or
// estimates it. Keys that stand in place of others, or that are best left to what they
// follow from, stand behind a "#" with no blank behind it, and are switched off so.
//
// Of the bench motor, the readings are those that the demo's motor would give, rounded
// as instruments do.
func Start(s Settings) []byte {
	demo, err := DemoDocument()
	if err != nil {
		panic(err) // a test reads it
	}
	st := &starter{Settings: s, demo: demo, doc: demo, keys: map[string]Key{}, values: samples()}
	for _, k := range Keys() {
		st.keys[k.Path] = k
	}
	st.readings()
	if s.Bench {
		var bench []string
		for _, key := range []string{"voltage", "no_load_speed", "no_load_current", "stall_current", "inertia"} {
			bench = append(bench, key+": "+st.values["motor.bench."+key])
		}
		if st.doc, err = demo.With("motor.bench={" + strings.Join(bench, ", ") + "}"); err != nil {
			panic(err) // so does it this
		}
	}
	var lines []string
	for _, text := range st.head() {
		lines = append(lines, comment(text, widest)...)
	}
	for _, p := range st.doc.schema.parts {
		if block := st.part(p, p.key, st.doc, 0, widest); len(block) > 0 {
			lines = append(append(lines, ""), block...)
		}
	}
	return []byte(strings.Join(lines, "\n") + "\n")
}

// starter puts a file together.
type starter struct {
	Settings
	demo, doc *Document // the demo, and what the file describes
	keys      map[string]Key
	values    map[string]string // of keys that the demo leaves out
}

func (s *starter) head() []string {
	if s.Short {
		return []string{
			"A build for ampstroke, with the keys that a build must have; all others take their defaults.",
			"ALL VALUES ARE THOSE OF THE DEMO, WHICH ARE INVENTED. Replace each by your own. Above each stands what it is, what it may be and, behind \"Bench:\", how it is measured or estimated. What is required is so where its section is given.",
			"'ampstroke keys' tells of the other keys, 'ampstroke cycle --explain' what is assumed in their place.",
		}
	}
	return []string{
		"A build for ampstroke, with every key that there is; a target may ask for any other figure as well ('ampstroke keys').",
		"ALL VALUES ARE THOSE OF THE DEMO, WHICH ARE INVENTED. Replace each by your own. Above each stands what it is, what it may be and, behind \"Bench:\", how it is measured or estimated. What is required is so where its section is given.",
		"A key with a # right before it is switched off: it stands in place of another, follows from others, or is no part of every build. Take the # away to use it, and with a section those of all its lines; where it says \"one of two\", switch the other off.",
	}
}

// readings puts the demo's motor on a bench.
func (s *starter) readings() {
	const volts = 7.4
	b := s.demo.Build
	c := b.Motor.At(b.Ambient.Temperature, b.Ambient.Temperature)
	r, err := c.Readings(volts, b.Ambient.Temperature)
	if err != nil {
		panic(err)
	}
	for _, reading := range []struct {
		key    string
		kind   quantity.Kind
		v      float64
		digits int
	}{
		{"voltage", quantity.Voltage, r.Voltage, 3},
		{"no_load_speed", quantity.AngularSpeed, r.NoLoadSpeed, 4},
		{"no_load_current", quantity.Current, r.NoLoadCurrent, 3},
		{"stall_current", quantity.Current, r.StallCurrent, 3},
		{"resistance", quantity.Resistance, r.TerminalResistance(), 3},
		{"inertia", quantity.Inertia, r.Inertia, 3},
		{"inductance", quantity.Inductance, r.Inductance, 3},
	} {
		number, unit, _ := strings.Cut(reading.kind.Format(reading.v), " ")
		x, err := strconv.ParseFloat(number, 64)
		if err == nil {
			x, err = strconv.ParseFloat(strconv.FormatFloat(x, 'e', reading.digits-1, 64), 64)
		}
		if err != nil {
			panic(err)
		}
		s.values["motor.bench."+reading.key] = strconv.FormatFloat(x, 'f', -1, 64) + " " + unit
	}
}

// samples are values for keys that the demo leaves out and nothing stands in for, to show
// how they are written. Invented, as the demo is.
func samples() map[string]string {
	return map[string]string{
		"target.rate_of_fire.max": "25 /s", "target.muzzle_energy.min": "1.0 J", "target.muzzle_energy.max": "1.5 J",
		"target.trigger_delay.min": "10 ms", "target.trigger_delay.max": "60 ms", "target.pme_margin.min": "1 ms", "target.pme_margin.max": "20 ms",
		"target.pme_rate_of_fire.min": "22 /s", "target.pme_rate_of_fire.max": "60 /s", "target.time_to_home.min": "5 ms", "target.time_to_home.max": "20 ms",
		"target.overall_efficiency.min": "20 %", "target.overall_efficiency.max": "60 %", "target.current_rms.min": "5 A", "target.current_rms.max": "35 A",
		"target.inrush.min": "20 A", "target.inrush.max": "90 A", "target.shots_per_charge.min": "2000", "target.shots_per_charge.max": "9000",
		"motor.stator.magnet.grade": "N35", "motor.stator.bore": "16 mm", "motor.stator.length": "24 mm",
		"motor.armature.inductance": "60 uH", "motor.heat.class": "F",
		"harness.lead.area": "1.31 mm2", "harness.switch.mosfet.brake_resistance": "2 mohm",
		"harness.switch.contacts.material": "copper", "harness.switch.contacts.force": "1.5 N", "harness.switch.contacts.hardness": "0.9 GPa", "harness.switch.contacts.limit": "190 degC",
		"gears.teeth.pinion": "10", "gears.teeth.bevel": "22", "gears.teeth.bevel_pinion": "11", "gears.teeth.spur": "29", "gears.teeth.spur_pinion": "10", "gears.teeth.sector": "18",
		"spring.wire": "1.4 mm", "spring.coil_diameter": "12 mm", "spring.coils": "30.6", "spring.free_length": "150 mm", "spring.installed_length": "105 mm",
		"trigger.rounds": "3", "tappet.from": "100 deg", "tappet.to": "165 deg", "tappet.work": "45 mJ",
	}
}

// value finds the text of a key's value.
func (s *starter) value(p *spec, path string) string {
	at := strings.Split(path, ".")
	for _, d := range []*Document{s.doc, s.demo} {
		if n := d.root.at(at); n != nil {
			return n.text
		}
	}
	if p.always != "" {
		return p.always
	}
	for _, d := range []*Document{s.doc, s.demo} {
		for _, a := range d.Assumed() {
			if a.Path == path {
				return a.Text
			}
		}
	}
	text, ok := s.values[path]
	if !ok {
		panic("no value for " + path) // a test makes all files
	}
	return text
}

// part writes a key and all below it. What stands there is judged by a document, nil
// within a section that none has; off is how often the section around it is switched off.
func (s *starter) part(p *spec, path string, by *Document, off, width int) (lines []string) {
	if s.Short && !s.kept(p, path) {
		return nil
	}
	given := func(d *Document) bool { return d != nil && d.root.at(strings.Split(path, ".")) != nil }
	used := given(by)
	switch {
	case p.shape == scalar && by == nil:
		used = p.required || p.always != "" || path == "motor.bench.stall_current" || strings.HasPrefix(path, "target.")
	case p.shape == scalar:
		used = used || p.always != "" && by.inForce(path) != nil
	case p.shape == mapping && by != nil && !p.optional && either(path) == "":
		used = true // all of it may be left to defaults
	}
	if !used {
		off++
		if by = nil; given(s.demo) {
			by = s.demo
		}
	}
	mark := strings.Repeat("#", off)
	switch p.shape {
	case scalar:
		return append(s.about(path, width), mark+p.key+": "+s.value(p, path))
	case list:
		return s.list(p, path, by, off, width)
	}
	if text := either(path); text != "" && !s.Short {
		lines = comment(text, width)
	}
	return append(append(lines, mark+p.key+":"), s.parts(p, path, by, off, width-2)...)
}

// parts writes all that stands in a section.
func (s *starter) parts(p *spec, path string, by *Document, off, width int) (lines []string) {
	for _, q := range p.parts {
		if path == "target" && !s.shows(q) {
			continue
		}
		for _, line := range s.part(q, join(path, q.key), by, off, width) {
			lines = append(lines, "  "+line)
		}
	}
	return lines
}

// shows tells whether a file to start from shows how a figure is asked for: one that has
// samples; 'keys' lists the others.
func (s *starter) shows(want *spec) bool {
	_, sample := s.values["target."+want.key+".max"]
	return sample || slices.ContainsFunc(s.demo.Target, func(w figure.Want) bool { return w.Figure == want.key })
}

// list writes a list, the first member of which has comments.
func (s *starter) list(p *spec, path string, by *Document, off, width int) (lines []string) {
	mark, one := strings.Repeat("#", off), p.parts[0]
	switch {
	case one.pair:
		for _, q := range one.parts {
			lines = append(lines, s.about(join(path, "0."+q.key), width)...)
		}
		return append(lines, mark+p.key+": "+p.example)
	case one.shape == scalar:
		var texts []string
		for _, item := range by.root.find(p.key).value.items {
			texts = append(texts, item.text)
		}
		return append(s.about(join(path, "0"), width), mark+p.key+": ["+strings.Join(texts, ", ")+"]")
	}
	inner := s.parts(one, join(path, "0"), by, off, width-4)
	first := slices.IndexFunc(inner, func(line string) bool { return !strings.HasPrefix(strings.TrimSpace(line), "#") })
	inner[first] = "- " + inner[first][2:]
	lines = []string{mark + p.key + ":"}
	for _, line := range inner {
		lines = append(lines, "  "+line)
	}
	for _, item := range by.root.at(strings.Split(path, ".")).items[1:] {
		var texts []string
		for _, e := range item.entries {
			texts = append(texts, e.key+": "+e.value.text)
		}
		lines = append(lines, "  - {"+strings.Join(texts, ", ")+"}")
	}
	return lines
}

// kept tells whether a short file has a key.
func (s *starter) kept(p *spec, path string) bool {
	given := s.doc.root.at(strings.Split(path, ".")) != nil
	for _, alt := range alternatives() {
		if !alt.stays && (slices.Contains(alt.a, path) || slices.Contains(alt.b, path)) {
			return given
		}
	}
	switch {
	case p.shape == scalar:
		return p.required && given
	case p.optional || p.shape == list || !given:
		return false
	}
	return slices.ContainsFunc(p.parts, func(q *spec) bool { return s.kept(q, join(path, q.key)) })
}

// about is the comment on a key.
func (s *starter) about(path string, width int) []string {
	k := s.keys[path]
	text := k.Meaning + " (" + k.Allowed() + ")."
	if other := either(path); other != "" {
		text += " " + other
	}
	switch {
	case k.Required:
		text += " Required."
	case k.Default != "":
		text += fmt.Sprintf(" Left out: %s, %s.", k.Default, k.Why)
	case k.Why != "":
		text += fmt.Sprintf(" Left out, it follows: %s.", k.Why)
	case either(path) == "" && !strings.Contains(k.Meaning, "left out"):
		text += " May be left out."
	}
	return append(comment(text, width), comment("Bench: "+k.HowMeasured, width)...)
}

// either says what a key stands in place of, "" where it is no alternative.
func either(path string) string {
	for _, alt := range alternatives() {
		for _, sides := range [][2][]string{{alt.a, alt.b}, {alt.b, alt.a}} {
			if !slices.Contains(sides[0], path) {
				continue
			}
			free := func(k string) bool { return k == path || k == "spring.modulus" } // which has a default
			own, other := slices.DeleteFunc(slices.Clone(sides[0]), free), slices.DeleteFunc(slices.Clone(sides[1]), free)
			beside := ""
			if len(own) > 0 {
				beside = " with " + strings.Join(own, ", ")
			}
			switch {
			case !alt.stays:
				return "One of two: this" + beside + ", or " + strings.Join(other, ", ") + "."
			case slices.Contains(alt.a, path):
				return "Not beside " + strings.Join(alt.b, ", ") + "."
			}
		}
	}
	return ""
}

// comment breaks a text into lines of a comment.
func comment(text string, width int) (lines []string) {
	line := "#"
	for word := range strings.FieldsSeq(text) {
		if utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			lines, line = append(lines, line), "#"
		}
		line += " " + word
	}
	return append(lines, line)
}
