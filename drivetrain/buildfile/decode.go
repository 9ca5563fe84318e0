package buildfile

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
)

// decoder fills a document from its tree by the schema.
type decoder struct {
	doc    *Document
	faults []*quantity.Fault
	beside []string // keys that a fault of another one covers
	plan   *[]step  // what a Variant has to do anew, nil: nobody asks
	// What is missing is no matter, but in lists, unless those are gone into as well.
	partial, deep bool
}

func (d *decoder) fault(at quantity.Place, key, format string, args ...any) {
	d.faults = append(d.faults, &quantity.Fault{Place: at, Field: key, Text: fmt.Sprintf(format, args...)})
}

// value decodes what stands at a path: e is the key's entry, nil where it is
// missing; around is where the nearest present parent stands.
func (d *decoder) value(s *spec, e *entry, n *node, c ctx, path string, around quantity.Place) {
	if n == nil {
		d.missing(s, e, c, path, around)
		return
	}
	if s.read != nil {
		s.read(d, n, c, path)
		return
	}
	if text := s.glued(n); text != "" {
		d.fault(n.place, path, "%s", text)
		return
	}
	if n.shape != s.shape {
		d.fault(n.place, path, "found %s; wanted %s%s", n.describe(), s.wanted(), s.elsewhereFor(n))
		return
	}
	switch s.shape {
	case mapping:
		if s.start != nil && s.key != "" { // an item has its room already
			s.start(c)
		}
		d.keys(s, n, c, path)
	case list:
		if s.pair {
			d.pair(s, n, c, path)
			return
		}
		for i, item := range n.items {
			at := join(path, strconv.Itoa(i))
			inner := ctx{c.doc, i}
			one := s.parts[0]
			partial := d.partial
			d.partial = partial && d.deep
			one.start(inner) // even for an item that is refused: the next ones count on
			switch {
			case i > 0 && one.shape == scalar && n.comma(i-1): // said already
				d.beside = append(d.beside, at)
			case one.shape == scalar && n.comma(i):
				d.comma(one, n, i, at)
			default:
				d.value(one, nil, item, inner, at, n.place)
			}
			d.partial = partial
		}
	default:
		d.scalar(s, n, c, path)
	}
}

func (d *decoder) keys(s *spec, n *node, c ctx, path string) {
	for _, e := range n.entries {
		if s.find(e.key) == nil {
			d.unknown(s, e, path)
		}
	}
	for _, p := range s.parts {
		e := n.find(p.key)
		var v *node
		if e != nil {
			v = e.value
		}
		d.value(p, e, v, c, join(path, p.key), n.place)
	}
}

func (d *decoder) pair(s *spec, n *node, c ctx, path string) {
	if len(n.items) != len(s.parts) {
		for i := range n.items {
			if n.comma(i) {
				d.comma(s.parts[min(i, len(s.parts)-1)], n, i, path)
				return
			}
		}
		d.fault(n.place, path, "found %d items; wanted %d, such as [50 %%, 3.8 V]", len(n.items), len(s.parts))
		return
	}
	for i, p := range s.parts {
		d.value(p, nil, n.items[i], c, join(path, p.key), n.place)
	}
}

// comma reports a number that a decimal comma has made two items of a list of.
func (d *decoder) comma(s *spec, n *node, i int, path string) {
	_, err := quantity.Parse(n.items[i].text+","+n.items[i+1].text, s.kind)
	d.fault(n.items[i].place, path, "%v", err)
}

// missing reports a required key, or fills in what stands for it. An empty
// section is one that leaves all to defaults.
func (d *decoder) missing(s *spec, e *entry, c ctx, path string, around quantity.Place) {
	if e != nil {
		if s.shape != mapping || s.optional {
			d.fault(e.place, path, "has no value; wanted %s", s.wanted())
			return
		}
		around = e.place
	}
	switch {
	case d.partial:
	case s.shape == mapping && s.skip != nil && s.skip(c):
	case s.shape == mapping && !s.optional:
		var keys []string
		for _, p := range s.parts {
			if p.required {
				keys = append(keys, p.key)
			}
		}
		if s.required && len(keys) > 0 {
			d.fault(around, path, "missing; wanted a mapping with %s", strings.Join(keys, ", "))
			return
		}
		for _, p := range s.parts {
			d.missing(p, nil, c, join(path, p.key), around)
		}
	case s.required && (s.spared == nil || !s.spared(c)):
		d.fault(around, path, "missing; wanted %s", s.wanted())
	case s.fill != nil:
		d.plans(s, c, byDefault)
		if s.skip != nil && s.skip(c) {
			return
		}
		text, si := s.fill(c)
		a := Assumption{Path: path, Text: text, Why: s.why}
		if s.reason != nil {
			a.Why = s.reason(c)
		}
		if s.spread != nil && s.spread(c) > 0 {
			d.doc.Tolerances[path] = s.spread(c)
			a.Text += " ± " + s.kind.Format(s.spread(c))
		}
		d.doc.assumed = append(d.doc.assumed, a)
		d.doc.keep(s, path, a.Text, si, true)
	}
}

func (d *decoder) scalar(s *spec, n *node, c ctx, path string) {
	switch {
	case d.plan != nil && n.number > 0:
		d.plans(s, c, n.number-1)
	case s.flag != nil:
		if n.quoted || s.meaning(n.text) == "" {
			d.fault(n.place, path, "found %s; wanted true or false", n.describe())
			return
		}
		*s.flag(c) = s.meaning(n.text) == "true"
		d.doc.keep(s, path, n.text, 0, false)
	case s.text != nil:
		d.word(s, n, c, path)
	case s.alias != "" && n.text == s.alias:
		s.put(c, s.means)
		d.doc.keep(s, path, n.text, s.means, false)
	default:
		v, err := quantity.Parse(n.text, s.kind)
		if err != nil {
			d.fault(n.place, path, "%v%s", err, s.elsewhereFor(n))
			return
		}
		if v.Tolerance != 0 {
			if s.kind == quantity.Gauge {
				d.fault(n.place, path, "a gauge carries no tolerance; give the area with one")
				return
			}
			d.doc.Tolerances[path] = v.Tolerance
		}
		if !s.kind.Holds(v.SI) {
			d.fault(n.place, path, "%s is no count of anything in a gun; wanted %s", n.describe(), s.wanted())
			return
		}
		if s.some && v.SI == 0 {
			d.fault(n.place, path, "%s is nothing; wanted more, or the key left out", quantity.Printable(n.text, 40))
			return
		}
		if s.standsFor(v.SI) {
			d.fault(n.place, path, "%s is out of range; wanted %s", n.describe(), s.wanted())
			return
		}
		s.put(c, v.SI)
		d.doc.keep(s, path, n.text, v.SI, false)
	}
}

// standsFor tells whether a number is what a word stands for inside a build, which no file
// can mean by a number.
func (s *spec) standsFor(v float64) bool { return s.alias != "" && v == s.means }

// mostOfName bounds a name, in bytes.
const mostOfName = 120

func (d *decoder) word(s *spec, n *node, c ctx, path string) {
	if s.words == nil {
		switch {
		case n.joined:
			d.fault(n.place, path, "found %s, which is two values; wanted it in quotes", n.describe())
		case strings.TrimSpace(n.text) == "":
			d.fault(n.place, path, "is blank; wanted a name such as %s", s.example)
		case len(n.text) > mostOfName:
			d.fault(n.place, path, "has %d bytes; wanted a name of at most %d", len(n.text), mostOfName)
		case quantity.Printable(n.text, mostOfName) != n.text:
			d.fault(n.place, path, "%s holds characters that don't print", strconv.Quote(quantity.Printable(n.text, 40)))
		default:
			*s.text(c) = n.text
			d.doc.keep(s, path, n.text, 0, false)
		}
		return
	}
	if word := s.meaning(n.text); word != "" {
		*s.text(c) = word
		d.doc.keep(s, path, n.text, 0, false)
		return
	}
	if s.choice != "" {
		d.fault(n.place, path, "found %s; wanted %s", n.describe(), s.wanted())
		return
	}
	hint := ""
	if near := quantity.Nearest(strings.ToLower(n.text), s.words); near != "" {
		hint = fmt.Sprintf(" (did you mean %s?)", near)
	}
	d.fault(n.place, path, "found %s%s; wanted one of %s", n.describe(), hint, strings.Join(s.words, ", "))
}

func (d *decoder) unknown(s *spec, e entry, path string) {
	key := quantity.Printable(e.key, 40)
	if text := hintOf(join(path, e.key)); text != "" {
		d.fault(e.place, join(path, key), "no such key; %s", text)
		return
	}
	if near := quantity.Nearest(e.key, s.keys()); near != "" {
		d.fault(e.place, join(path, key), "no such key; did you mean %s?", near)
		return
	}
	if other := d.doc.schema.elsewhere(e.key, ""); len(other) > 0 {
		if len(other) > 3 {
			other = other[:3]
		}
		d.fault(e.place, join(path, key), "no such key here; it is known as %s", strings.Join(other, ", "))
		return
	}
	d.fault(e.place, join(path, key), "no such key; known here: %s", listed(s.keys()))
}

// listed joins keys until a line is full.
func listed(keys []string) string {
	const most = 130
	text := ""
	for i, k := range keys {
		if i > 0 {
			k = ", " + k
		}
		if len(text)+len(k) > most {
			return fmt.Sprintf("%s and %d more", text, len(keys)-i)
		}
		text += k
	}
	return text
}

// alternatives checks that one side of each is given, and no more, of keys that of
// accepts; nil: of all.
func (d *decoder) alternatives(of func(path string) bool) {
	given := func(key string) bool { return d.doc.root.at(strings.Split(key, ".")) != nil }
	first := func(keys []string) string {
		if i := slices.IndexFunc(keys, given); i >= 0 {
			return keys[i]
		}
		return ""
	}
	for _, alt := range alternatives() {
		if alt.within != "" && !given(alt.within) || of != nil && !of(alt.a[0]) {
			continue
		}
		a, b := first(alt.a), first(alt.b)
		parent := alt.a[0][:strings.LastIndexByte(alt.a[0], '.')]
		around, _ := d.doc.Position(parent)
		switch {
		case a != "" && b != "":
			at, _ := d.doc.Position(a)
			bt, _ := d.doc.Position(b)
			if bt.Compare(at) < 0 {
				a, b, at, bt = b, a, bt, at
			}
			d.fault(bt, b, "stands beside %s (%s); wanted one of the two", a, at)
			d.beside = append(d.beside, a)
		case a == "" && b == "" && !d.known(parent, false):
			d.fault(around, alt.a[0], "missing; wanted it, or %s", strings.Join(alt.b, ", "))
		case b != "":
			for _, k := range alt.b {
				if k != "spring.modulus" && !given(k) {
					d.fault(around, k, "missing; wanted it beside %s", b)
				}
			}
		}
	}
}

// known tells whether a fault of a key or of what it lies in, or also of what lies
// below it, is noted already.
func (d *decoder) known(key string, below bool) bool {
	return slices.Contains(d.beside, key) || slices.ContainsFunc(d.faults, func(f *quantity.Fault) bool {
		return f.Field == key || strings.HasPrefix(key, f.Field+".") || below && strings.HasPrefix(f.Field, key+".")
	})
}

// validate puts places to the faults that the parts find. Those of assumed values
// count only where there are no others, from which they may follow; those of values
// that are not there, or could not be read, only where all could be read; so do those
// of parts that don't go together, since what is missing may be what holds them.
func (d *decoder) validate() {
	var assumed []*quantity.Fault
	unread := len(d.faults) > 0
	report := func(prefix string, err error) {
		for _, f := range quantity.Faults(err) {
			path := join(prefix, f.Field)
			if path == "harness.lead.area" && d.doc.root.at(strings.Split(path, ".")) == nil {
				path = "harness.lead.gauge"
			}
			place, found := d.doc.Position(path)
			if unread && (!found || d.known(path, true)) {
				continue
			}
			if !found && slices.ContainsFunc(d.doc.assumed, func(a Assumption) bool { return a.Path == path }) {
				a := f.At(place, path)
				a.Text += " (assumed, since the file leaves it out)"
				assumed = append(assumed, a)
				continue
			}
			a := f.At(place, path)
			a.Text += d.thousands(path, f.Text)
			d.faults = append(d.faults, a)
		}
	}
	if unread {
		report("", d.doc.Build.ValidateParts())
	} else {
		report("", d.doc.Build.Validate())
	}
	report("target", d.doc.Target.Validate(FindFigure))
	if len(d.faults) == 0 {
		d.faults = assumed
	}
}

// thousands tells what may be wrong with a value out of range that is written like a
// thousand with a point in it.
func (d *decoder) thousands(path, fault string) string {
	n := d.doc.root.at(strings.Split(path, "."))
	if n == nil || n.shape != scalar || n.number > 0 || !strings.Contains(fault, "is out of range") || !apart.MatchString(n.text) {
		return ""
	}
	return fmt.Sprintf(" (the point in %s is a decimal point; a thousand takes none)", n.describe())
}

// apart finds a number with a point that may stand for a thousand.
var apart = regexp.MustCompile(`^[-+]?[1-9][0-9]{0,2}\.[0-9]{3}([^0-9.eE]|$)`)

// order puts the target's wants in the order of the file.
func (d *decoder) order() {
	figures := targetFigures()
	if t := d.doc.root.find("target"); t != nil && t.value != nil {
		for _, e := range t.value.entries {
			for i, f := range figures {
				if bounds := d.doc.wants[i]; f.Name == e.key && bounds != nil {
					d.doc.Target = append(d.doc.Target, figure.Want{Figure: f.Name, Min: bound(bounds[0]), Max: bound(bounds[1])})
				}
			}
		}
	}
	d.doc.wants = nil
}

// bound is a bound that may not be given, NaN [SI].
func bound(v float64) figure.Bound {
	if math.IsNaN(v) {
		return figure.Bound{}
	}
	return figure.At(v)
}

func (n *node) describe() string {
	if n.shape == scalar {
		return strconv.Quote(quantity.Printable(n.text, 40))
	}
	return n.shape.String()
}

func (s *spec) wanted() string {
	switch {
	case s.shape == list && s.pair:
		return "a pair [charge, voltage], such as [50 %, 3.8 V]"
	case s.shape == list:
		return "a list, such as " + s.example
	case s.shape == mapping:
		return "a mapping with " + listed(s.keys())
	case s.flag != nil:
		return "true or false"
	case s.choice != "":
		return s.choice
	case s.words != nil:
		return "one of " + strings.Join(s.words, ", ")
	case s.text != nil:
		return "a name, such as " + s.example
	}
	if s.alias != "" {
		return s.alias + ", or " + s.kind.String() + ", such as " + s.example
	}
	return s.kind.String() + ", such as " + s.example
}
