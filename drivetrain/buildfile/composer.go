package buildfile

import (
	"fmt"
	"maps"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"
	"sync"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/quantity"
)

// Composer puts builds together from the parts of a shelf, without text and parsing for
// each: what [Composer.Document] makes of the same parts, to the last bit. It belongs to
// one goroutine; Clone gives another one.
//
// A build file falls into sections whose defaults look at nothing outside of them. What a
// section comes to is decoded once for each choice of the parts that lay keys in it, and
// copied from there.
type Composer struct {
	shelf    *Shelf
	base     *Document // with the shelf's wish
	lays     [][]laid  // by slot and part
	excludes [][][]At
	sections []section
	doc      *Document // whose Build is put together
}

// laid is what a part lays: where it belongs, and what comes with it.
type laid struct{ part, also []lay }

// lay is a key with what is put there, nil to take it away.
type lay struct {
	path  []string
	value *node
	place quantity.Place
}

// At is where a part lies, by its slot's place on the shelf and its own in the slot.
type At struct{ Slot, Part int }

// section is what is decoded together.
type section struct {
	keys    []string // at the top of the file
	copy    func(dst, src *drivetrain.Build)
	choices Choices
	made    map[int64]*made
	now     int64 // the choice that stands in the Build, -1: none
	is      *made
}

// made is what a section comes to with some parts.
type made struct {
	build  *drivetrain.Build
	faults []*quantity.Fault
	area   bool   // the lead's area is given, not its gauge
	late   []step // defaults that look at the whole build
}

// mostMade bounds how many choices a section remembers.
const mostMade = 4096

// sections lists what is decoded together, in the order of the file. Only the trigger's
// cut-off, left out, looks at other sections: it is reckoned once all are there.
func sections() []section {
	all := []section{
		{keys: []string{"name"}, copy: func(d, s *drivetrain.Build) { d.Name = s.Name }},
		{keys: []string{"motor"}, copy: func(d, s *drivetrain.Build) { d.Motor = s.Motor }},
		{keys: []string{"battery"}, copy: func(d, s *drivetrain.Build) { d.Battery = s.Battery }},
		{keys: []string{"harness"}, copy: func(d, s *drivetrain.Build) { d.Harness = s.Harness }},
		{keys: []string{"gears"}, copy: func(d, s *drivetrain.Build) { d.Gears = s.Gears }},
		{keys: []string{"sector", "rack"}, copy: func(d, s *drivetrain.Build) { d.Sector, d.Rack = s.Sector, s.Rack }},
		{keys: []string{"pads"}, copy: func(d, s *drivetrain.Build) { d.Pads = s.Pads }},
		{keys: []string{"piston"}, copy: func(d, s *drivetrain.Build) { d.Piston = s.Piston }},
		{keys: []string{"spring"}, copy: func(d, s *drivetrain.Build) { d.Spring = s.Spring }},
		{keys: []string{"cylinder"}, copy: func(d, s *drivetrain.Build) { d.Cylinder = s.Cylinder }},
		{keys: []string{"barrel"}, copy: func(d, s *drivetrain.Build) { d.Barrel = s.Barrel }},
		{keys: []string{"pellet"}, copy: func(d, s *drivetrain.Build) { d.Pellet = s.Pellet }},
		{keys: []string{"trigger"}, copy: func(d, s *drivetrain.Build) { d.Trigger = s.Trigger }},
		{keys: []string{"tappet"}, copy: func(d, s *drivetrain.Build) { d.Tappet = s.Tappet }},
		{keys: []string{"ambient"}, copy: func(d, s *drivetrain.Build) { d.Ambient = s.Ambient }},
	}
	for i := range all {
		all[i].now, all[i].made = -1, map[int64]*made{}
	}
	return all
}

// Choices numbers combinations of parts by what they lay at some keys: parts of a slot
// that lay the same there are one choice.
type Choices struct {
	// Count is how many there are.
	Count int64

	class [][]int32 // by slot and part; nil: the slot has one choice
	step  []int64   // by slot: what its classes count
}

// Of returns the number of a combination of parts, from 0.
func (c *Choices) Of(parts []int) (n int64) {
	for i, class := range c.class {
		if class != nil {
			n += int64(class[parts[i]]) * c.step[i]
		}
	}
	return n
}

// Choices numbers combinations by what they lay at the keys that keep accepts.
func (c *Composer) Choices(keep func(path string) bool) Choices {
	n := Choices{Count: 1, class: make([][]int32, len(c.lays)), step: make([]int64, len(c.lays))}
	for i, parts := range c.lays {
		seen := map[string]int32{}
		class := make([]int32, len(parts))
		for k := range parts {
			var b strings.Builder
			for j, list := range [2][]lay{parts[k].part, parts[k].also} {
				for _, l := range list {
					if path := strings.Join(l.path, "."); keep(path) {
						fmt.Fprintf(&b, "%d %s %s\n", j, path, l.value.yaml())
					}
				}
			}
			id, ok := seen[b.String()]
			if !ok {
				id = int32(len(seen))
				seen[b.String()] = id
			}
			class[k] = id
		}
		if len(seen) > 1 {
			n.class[i], n.step[i] = class, n.Count
			n.Count *= int64(len(seen))
		}
	}
	return n
}

// Combinations returns how many there are, those that are ruled out included.
func (s *Shelf) Combinations() int64 {
	n := uint64(1)
	for i := range s.Slots {
		hi, lo := bits.Mul64(n, uint64(len(s.Slots[i].Parts)))
		if n = lo; hi != 0 || lo > mostCombinations {
			return mostCombinations + 1
		}
	}
	return int64(n)
}

// Compose checks a shelf and returns a Composer of it. What takes several parts to see is
// no fault of the shelf: such combinations are refused one by one. The error lists all faults.
func (s *Shelf) Compose() (*Composer, error) {
	if s.Base == nil {
		return nil, quantity.Join(&quantity.Fault{Field: "base", Text: "missing; wanted the build that the parts go into"})
	}
	var k shelfCheck
	c := &Composer{shelf: s, base: k.wish(s), sections: sections()}
	k.slots(s)
	if len(k.faults) > 0 {
		return nil, ofShelf(k.faults...)
	}
	for i := range s.Slots {
		var all []laid
		for j := range s.Slots[i].Parts {
			all = append(all, k.part(c.base, &s.Slots[i], &s.Slots[i].Parts[j]))
		}
		c.lays = append(c.lays, all)
	}
	c.excludes = k.rules(s)
	if len(k.faults) > 0 {
		return nil, ofShelf(k.faults...)
	}
	for i := range c.sections {
		sec := &c.sections[i]
		sec.choices = c.Choices(sec.has)
	}
	c.doc = c.base.fork()
	c.doc.Build = c.base.Build.Clone()
	return c, nil
}

func (s *section) has(path string) bool {
	top, _, _ := strings.Cut(path, ".")
	return slices.Contains(s.keys, top)
}

// Clone returns a Composer of the same shelf that shares nothing that either writes.
func (c *Composer) Clone() *Composer {
	n := *c
	n.sections = sections()
	for i := range n.sections {
		n.sections[i].choices = c.sections[i].choices
	}
	n.doc = c.base.fork()
	n.doc.Build = c.base.Build.Clone()
	return &n
}

// Base returns the base with the shelf's wish in place of its own target.
func (c *Composer) Base() *Document { return c.base }

// Excluded lists the parts of other slots that never go into one build with a part.
func (c *Composer) Excluded(slot, part int) []At {
	return c.excludes[slot][part]
}

// Build returns the build with parts, one of each slot by its place in the list: complete
// and valid, or the first that is wrong with it, by the order of the file's keys. It is
// the Composer's: it is to be read only, and the next call changes it.
func (c *Composer) Build(parts []int) (*drivetrain.Build, *quantity.Fault) {
	b := c.doc.Build
	var wrong *quantity.Fault
	for i := range c.sections {
		s := &c.sections[i]
		if n := s.choices.Of(parts); n != s.now {
			s.is = s.made[n]
			if s.is == nil {
				if len(s.made) >= mostMade {
					clear(s.made)
				}
				s.is = c.make(s, parts)
				s.made[n] = s.is
			}
			s.now = n
			s.copy(b, s.is.build)
		}
		if wrong == nil && len(s.is.faults) > 0 {
			wrong = s.is.faults[0]
		}
	}
	if wrong != nil {
		return nil, &quantity.Fault{Field: wrong.Field, Text: wrong.Text}
	}
	for i := range c.sections {
		for _, l := range c.sections[i].is.late {
			at := ctx{doc: c.doc, i: l.c.i}
			if l.spec.skip == nil || !l.spec.skip(at) {
				l.spec.put(at, l.spec.value(at))
			}
		}
	}
	if err := b.Validate(); err != nil {
		return nil, c.first(err)
	}
	return b, nil
}

// first returns the fault whose key comes first in the file.
func (c *Composer) first(err error) *quantity.Fault {
	var best *quantity.Fault
	var rank []int
	for _, f := range quantity.Faults(err) {
		key := f.Field
		if key == "harness.lead.area" && !c.sections[3].is.area {
			key = "harness.lead.gauge"
		}
		if r := c.base.schema.standing(key); best == nil || slices.Compare(r, rank) < 0 {
			best, rank = &quantity.Fault{Field: key, Text: f.Text}, r
		}
	}
	return best
}

// standing is where a key stands in the schema, by its place on each level.
func (s *spec) standing(path string) (r []int) {
	for _, key := range strings.Split(path, ".") {
		if n, err := strconv.Atoi(key); err == nil && s.shape == list {
			r = append(r, n)
		} else {
			r = append(r, slices.IndexFunc(s.parts, func(p *spec) bool { return p.key == key }))
		}
		if s = s.find(key); s == nil {
			return r
		}
	}
	return r
}

// make decodes a section with parts.
func (c *Composer) make(s *section, parts []int) *made {
	d := c.base.fork()
	m := &made{build: new(drivetrain.Build)}
	if f := c.lay(d, parts, s.has); f != nil {
		m.faults = []*quantity.Fault{f}
		return m
	}
	*m.build = *c.base.Build
	s.copy(m.build, new(drivetrain.Build))
	d.Build, d.Tolerances = m.build, map[string]float64{}
	dec := &decoder{doc: d}
	if s.keys[0] == "trigger" {
		dec.plan = &m.late
	}
	for _, key := range s.keys {
		dec.top(key)
	}
	dec.alternatives(s.has)
	m.faults = dec.faults
	slices.SortStableFunc(m.faults, func(a, b *quantity.Fault) int {
		return slices.Compare(d.schema.standing(a.Field), d.schema.standing(b.Field))
	})
	m.area = d.root.at([]string{"harness", "lead", "area"}) != nil
	return m
}

// top decodes what stands at a key at the top of the file.
func (d *decoder) top(key string) {
	e := d.doc.root.find(key)
	var v *node
	if e != nil {
		v = e.value
	}
	d.value(d.doc.schema.find(key), e, v, ctx{doc: d.doc}, key, d.doc.root.place)
}

// lay puts what parts lay at the keys that keep accepts into the tree of a document.
func (c *Composer) lay(d *Document, parts []int, keep func(string) bool) *quantity.Fault {
	for _, also := range [2]bool{false, true} {
		for i, k := range parts {
			list := c.lays[i][k].part
			if also {
				list = c.lays[i][k].also
			}
			for j := range list {
				if path := strings.Join(list[j].path, "."); keep(path) {
					if f := d.lay(&list[j]); f != nil {
						return f
					}
				}
			}
		}
	}
	return nil
}

// lay puts a value at a key, or takes the key away, as an override does.
func (d *Document) lay(l *lay) *quantity.Fault {
	if _, f := d.find(l.path, l.value == nil, l.place); f != nil {
		if f.Field == "" {
			f.Field = strings.Join(l.path, ".")
		}
		return f
	}
	if l.value == nil {
		if d.root.has(l.path) {
			d.put(l.path, nil, l.place)
		}
		return nil
	}
	d.put(l.path, l.value, l.place)
	d.displace(strings.Join(l.path, "."), l.place)
	return nil
}

// Document returns the build file with parts, with the shelf's wish and the base's
// comments. The error lists all faults.
func (c *Composer) Document(parts []int) (*Document, error) {
	d := c.base.fork()
	if f := c.lay(d, parts, func(string) bool { return true }); f != nil {
		return nil, quantity.Join(f)
	}
	return d.finish(nil)
}

// shelfCheck finds what is wrong with a shelf.
type shelfCheck struct{ faults []*quantity.Fault }

func (k *shelfCheck) fault(at quantity.Place, key, format string, args ...any) {
	k.faults = append(k.faults, &quantity.Fault{Place: at, Field: key, Text: fmt.Sprintf(format, args...)})
}

// wish returns the base with what the shelf asks in place of its target.
func (k *shelfCheck) wish(s *Shelf) *Document {
	n, wish := s.Base, s.wish
	if wish == nil && s.Wish != "" {
		var f *quantity.Fault
		if wish, f = fragment("target", s.Wish, quantity.Place{}); f != nil {
			k.faults = append(k.faults, f)
			return n
		}
	}
	if wish == nil {
		return n
	}
	d := n.fork()
	if d.root.has([]string{"target"}) {
		d.put([]string{"target"}, nil, wish.place)
	}
	d.put([]string{"target"}, wish, wish.place)
	d, err := d.finish(nil)
	if err != nil {
		k.faults = append(k.faults, quantity.Faults(err)...)
		return n
	}
	return d
}

// slots checks slots and the names of their parts.
func (k *shelfCheck) slots(s *Shelf) {
	if len(s.Slots) == 0 {
		k.fault(quantity.Place{}, "slots", "has no slots; wanted at least one key of the build file with a list of parts")
	}
	if len(s.Slots) > mostSlots {
		k.fault(s.Slots[mostSlots].place, "slots", "%d slots; wanted at most %d", len(s.Slots), mostSlots)
	}
	for i := range s.Slots {
		slot := &s.Slots[i]
		path := join("slots", quantity.Printable(slot.Key, 60))
		keys := strings.Split(slot.Key, ".")
		if _, f := s.Base.find(keys, false, slot.place); f != nil {
			k.fault(slot.place, path, "no slot: %s", slotless(f, slot.Key))
		} else if keys[0] == "target" {
			k.fault(slot.place, path, "is asked of the build and no part of it; wanted a key of the build")
		}
		for j := range s.Slots[:i] {
			other := &s.Slots[j]
			a, b := slot, other
			if len(b.Key) > len(a.Key) {
				a, b = b, a
			}
			if a.Key == b.Key {
				k.fault(slot.place, path, "is a slot already")
			} else if strings.HasPrefix(a.Key, b.Key+".") {
				k.fault(slot.place, path, "the slot %s lies within %s; wanted one of the two", a.Key, b.Key)
			}
		}
		if len(slot.Parts) == 0 {
			k.fault(slot.place, path, "has no parts; wanted a list of at least one")
		}
		if len(slot.Parts) > mostParts {
			k.fault(slot.Parts[mostParts].place, path, "%d parts; wanted at most %d", len(slot.Parts), mostParts)
		}
		seen := map[string]bool{}
		for j := range slot.Parts {
			p := &slot.Parts[j]
			at := join(path, strconv.Itoa(j))
			switch {
			case strings.TrimSpace(p.Name) == "":
				k.fault(p.place, join(at, "name"), "missing; wanted what the part is called")
			case seen[p.Name]:
				k.fault(p.place, join(at, "name"), "%s is there a second time; wanted each name once in its slot", quantity.Printable(p.Name, 40))
			case p.Price < 0:
				k.fault(p.place, join(at, "price"), "%d hundredths of %s are less than nothing", p.Price, quantity.Printable(p.Name, 40))
			}
			seen[p.Name] = true
		}
	}
	if len(k.faults) == 0 && s.Combinations() > mostCombinations {
		k.fault(quantity.Place{File: s.Slots[0].place.File}, "slots", "more than %d combinations; wanted fewer parts, or several shelves", mostCombinations)
	}
}

// slotless says why a key is none.
func slotless(f *quantity.Fault, key string) string {
	if f.Field != "" && f.Field != key {
		return f.Field + ": " + f.Text
	}
	return f.Text
}

// part checks what a part lays on the base, by itself.
func (k *shelfCheck) part(base *Document, slot *Slot, p *Part) laid {
	var l laid
	value := p.value
	if value == nil {
		var f *quantity.Fault
		if value, f = fragment(slot.Key, p.Value, quantity.Place{}); f != nil {
			k.faults = append(k.faults, f)
			return l
		}
	}
	before := len(k.faults)
	l.part = k.leaves(nil, strings.Split(slot.Key, "."), value, p.place, true)
	k.laid(base, p, l.part, true)
	for i := range p.Also {
		a := &p.Also[i]
		v := a.value
		if v == nil {
			var f *quantity.Fault
			if v, f = fragment(a.Key, a.Value, quantity.Place{}); f != nil {
				k.faults = append(k.faults, f)
				continue
			}
		}
		l.also = k.leaves(l.also, strings.Split(a.Key, "."), v, a.place, false)
	}
	if len(l.also) > 0 && len(k.faults) == before {
		k.laid(base, p, slices.Concat(l.part, l.also), false)
	}
	return l
}

// leaves appends the keys of a value, mappings one by one.
func (k *shelfCheck) leaves(to []lay, path []string, n *node, place quantity.Place, slot bool) []lay {
	if path[0] == "target" {
		k.fault(place, strings.Join(path, "."), "is asked of the build and no part of it; wanted a key of the build")
		return to
	}
	if n.shape == scalar && !n.quoted {
		switch {
		case n.text == TakeAway:
			return append(to, lay{path, nil, n.place})
		case n.text == AsInBase && slot:
			return to
		}
	}
	return k.below(to, path, n)
}

func (k *shelfCheck) below(to []lay, path []string, n *node) []lay {
	if n.shape != mapping {
		return append(to, lay{path, n, n.place})
	}
	for _, e := range n.entries {
		at := append(slices.Clone(path), e.key)
		if e.value == nil {
			k.fault(e.place, strings.Join(at, "."), "has no value; wanted one, or the key left out")
			continue
		}
		if e.value.shape == mapping {
			to = k.below(to, at, e.value)
		} else {
			to = append(to, lay{at, e.value, e.place})
		}
	}
	return to
}

// laid holds what is laid against the schema and each key's own range; what only several
// keys can have wrong is no matter here.
func (k *shelfCheck) laid(base *Document, p *Part, all []lay, whole bool) {
	d := base.fork()
	var faults []*quantity.Fault
	var tops []string
	deep := false
	for i := range all {
		l := &all[i]
		if f := d.lay(l); f != nil {
			faults = append(faults, f)
			continue
		}
		if !slices.Contains(tops, l.path[0]) {
			tops = append(tops, l.path[0])
		}
		deep = deep || slices.ContainsFunc(l.path, func(key string) bool { return key[0] >= '0' && key[0] <= '9' })
	}
	for i := range all {
		if l := &all[i]; whole && len(faults) == 0 && l.value != nil && d.root.at(l.path) == nil {
			faults = append(faults, &quantity.Fault{Place: l.place, Field: strings.Join(l.path, "."), Text: "another key of the part stands in its place; wanted one of the two"})
		}
	}
	if len(faults) > 0 {
		k.faults = append(k.faults, faults...)
		return
	}
	d.Build, d.Tolerances = base.Build.Clone(), map[string]float64{}
	for _, s := range sections() {
		if slices.ContainsFunc(tops, s.has) {
			s.copy(d.Build, new(drivetrain.Build))
		}
	}
	dec := &decoder{doc: d, partial: true, deep: deep}
	order := base.schema.keys()
	slices.SortFunc(tops, func(a, b string) int { return slices.Index(order, a) - slices.Index(order, b) })
	for _, s := range sections() {
		if slices.ContainsFunc(tops, s.has) {
			for _, key := range s.keys {
				dec.top(key)
			}
		}
	}
	k.faults = append(k.faults, dec.faults...)
	if len(dec.faults) > 0 {
		return
	}
	complaints := quantity.Faults(d.Build.ValidateParts())
	for i := range d.values {
		v := &d.values[i]
		if v.assumed || v.spec.put == nil || v.aliased() || !slices.ContainsFunc(all, func(l lay) bool { return within(v.path, l.path) }) {
			continue
		}
		lo, hi := rangeOf(v.path)
		const slack = 1e-12 // between a bound and the same in another unit
		if v.si >= lo-slack*abs(lo) && v.si <= hi+slack*abs(hi) || lo != lo {
			continue
		}
		if v.si == 0 && !slices.ContainsFunc(complaints, func(f *quantity.Fault) bool { _, _, ok := f.Range(); return ok && f.Field == v.path }) {
			continue // it stands for none
		}
		place, _ := d.Position(v.path)
		k.fault(place, v.path, "%s of %s is out of range; wanted %s to %s", v.spec.kind.Format(v.si), quantity.Printable(p.Name, 40), v.spec.kind.Format(lo), v.spec.kind.Format(hi))
	}
}

func abs(v float64) float64 { return max(v, -v) }

// within tells whether a key is that of a path, or lies below it.
func within(key string, path []string) bool {
	p := strings.Join(path, ".")
	return key == p || strings.HasPrefix(key, p+".")
}

// rangeOf returns the range of a key by itself, NaN where it has none.
func rangeOf(path string) (lo, hi float64) {
	parts := strings.Split(path, ".")
	for i, part := range parts {
		if part[0] >= '0' && part[0] <= '9' {
			parts[i] = "0" // of any member of a list
		}
	}
	if r, ok := ranges()[strings.Join(parts, ".")]; ok {
		return r[0], r[1]
	}
	return math.NaN(), math.NaN()
}

var ranges = sync.OnceValue(func() map[string][2]float64 {
	all := map[string][2]float64{}
	for _, k := range keys() {
		all[k.Path] = k.Range
	}
	return all
})

// rules lists for each part those of other slots that never go with it.
func (k *shelfCheck) rules(s *Shelf) [][][]At {
	all := make([][][]At, len(s.Slots))
	for i := range s.Slots {
		all[i] = make([][]At, len(s.Slots[i].Parts))
	}
	seen := map[[2]At]bool{}
	exclude := func(a, b At) {
		for _, p := range [2][2]At{{a, b}, {b, a}} {
			if !seen[p] {
				seen[p] = true
				all[p[0].Slot][p[0].Part] = append(all[p[0].Slot][p[0].Part], p[1])
			}
		}
	}
	for i := range s.Slots {
		for j := range s.Slots[i].Parts {
			p := &s.Slots[i].Parts[j]
			for _, rule := range []struct {
				name string
				only bool
				all  []Mates
			}{{"only_with", true, p.OnlyWith}, {"never_with", false, p.NeverWith}} {
				for _, m := range rule.all {
					path := fmt.Sprintf("slots.%s.%d.%s.%s", s.Slots[i].Key, j, rule.name, quantity.Printable(m.Slot, 60))
					other := slices.IndexFunc(s.Slots, func(o Slot) bool { return o.Key == m.Slot })
					if other < 0 || other == i {
						keys := make([]string, 0, len(s.Slots))
						for n := range s.Slots {
							if n != i {
								keys = append(keys, s.Slots[n].Key)
							}
						}
						k.fault(m.place, path, "found %s; wanted another slot of the shelf: %s", quantity.Printable(m.Slot, 60), listed(keys))
						continue
					}
					named := map[int]bool{}
					for _, name := range m.Names {
						n := slices.IndexFunc(s.Slots[other].Parts, func(o Part) bool { return o.Name == name })
						if n < 0 {
							k.fault(m.place, path, "no part of %s is called %s; wanted one that is", m.Slot, quantity.Printable(name, 40))
							continue
						}
						named[n] = true
					}
					if len(m.Names) == 0 {
						k.fault(m.place, path, "names no part; wanted at least one")
					}
					for n := range s.Slots[other].Parts {
						if named[n] != rule.only {
							exclude(At{i, j}, At{other, n})
						}
					}
				}
			}
		}
	}
	return all
}

// Laid lists the keys that parts of the shelf lay, each once, in order.
func (c *Composer) Laid() []string {
	all := map[string]bool{}
	for _, slot := range c.lays {
		for _, l := range slot {
			for _, k := range slices.Concat(l.part, l.also) {
				all[strings.Join(k.path, ".")] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(all))
}
