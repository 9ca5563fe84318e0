package buildfile

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
)

// Readings is what a bench has measured of a build, and what is to be learnt from it.
type Readings struct {
	Name string
	// Instruments are those whose scale is itself only known within a ±.
	Instruments []Instrument
	// Readings are in the order of the file, at least one.
	Readings []Reading
	// Free are the keys that may move; empty: whatever the readings tell of.
	Free []Free
	// Candidates are readings that one could take next; empty: the usual ones.
	Candidates []Reading

	source *source
	root   *node
}

// Instrument is a measuring instrument that several readings were taken with.
type Instrument struct {
	Name string
	// Tolerance is two standard deviations of its scale [1].
	Tolerance float64
}

// Reading is one figure that was measured, or might be.
type Reading struct {
	// Figure is the measured one.
	Figure figure.Info
	// Value is the reading, of several the mean; NaN of a candidate [SI].
	Value float64
	// Tolerance is two standard deviations of one taking; 0 of a candidate that states a
	// Share [SI].
	Tolerance float64
	// Share is the same of a candidate as a share of the computed figure; 0: Tolerance says
	// it [1].
	Share float64
	// Times counts the takings of which Value is the mean.
	Times int
	// Supply is the voltage at the terminals of the motor alone; 0: the figure is one of the
	// gun [V].
	Supply float64
	// Instrument is the name of the one it was taken with, "" for none.
	Instrument string
	// With are overrides of the build for this reading.
	With []Overlay

	value *node
}

// SD returns the standard deviation of the reading [SI]; a candidate's, of a computed
// figure [SI].
func (r *Reading) SD(computed float64) float64 {
	if r.Share > 0 {
		return r.Share * math.Abs(computed) / 2
	}
	return r.Tolerance / (2 * math.Sqrt(float64(r.Times)))
}

// Overlay is an override of the build for one reading.
type Overlay struct {
	Override
	// Place is where it stands in the readings file.
	Place quantity.Place
}

// Overlaid returns the document with the overrides of a reading. Faults have their places
// in the readings file.
func (d *Document) Overlaid(with []Overlay) (*Document, error) {
	texts := make([]string, len(with))
	for i, o := range with {
		texts[i] = o.String()
	}
	n, err := d.With(texts...)
	if err != nil {
		return nil, PlacedOverlays(err, with)
	}
	return n, nil
}

// PlacedOverlays puts the places of the readings file to faults of overrides.
func PlacedOverlays(err error, with []Overlay) error {
	faults := quantity.Faults(err)
	for i, f := range faults {
		place, field := f.Place, f.Field
		for _, o := range with {
			if place.Override == o.String() || place.Override == "" && (field == o.Path || strings.HasPrefix(field, o.Path+".")) {
				place, field = o.Place, "with."+o.Path
				break
			}
		}
		if place == (quantity.Place{}) && len(with) > 0 {
			place = with[0].Place
		}
		faults[i] = f.At(place, field)
	}
	return quantity.Join(faults...)
}

// Free is a key that may move, with what is known of it beforehand.
type Free struct {
	Key string
	// Mean is what it is believed to be; NaN: what the build says [SI].
	Mean float64
	// Tolerance is two standard deviations of that belief; 0: the build's, or the usual
	// one [SI].
	Tolerance float64
	// Place is where it stands in the readings file.
	Place quantity.Place
}

// Bounds of a readings file.
const (
	MostReadings = 200 // candidates as well
	MostUnknowns = 60
)

// mostTimes bounds how often a reading may have been taken.
const mostTimes = 1e6

// ReadReadings reads a readings file, as strictly as a build. Errors are those of [Load].
func ReadReadings(path string) (*Readings, error) {
	data, fault := readFile(path)
	if fault != nil {
		return nil, ofReadings(fault)
	}
	return ParseReadings(path, data)
}

// ParseReadings reads the text of a readings file; the name stands in errors. Whether a
// figure exists for a build, and an override fits it, is not looked at without one.
func ParseReadings(name string, data []byte) (*Readings, error) {
	s, fault := newSource(name, data)
	if fault != nil {
		return nil, ofReadings(fault)
	}
	root, faults := s.parse()
	if len(faults) > 0 {
		return nil, ofReadings(faults...)
	}
	r := &Readings{source: s, root: root}
	d := &Document{source: s, root: root, schema: readingsSchema(r), Tolerances: map[string]float64{}}
	dec := &decoder{doc: d}
	dec.value(d.schema, nil, root, ctx{doc: d}, "", quantity.Place{File: name, Line: 1, Column: 1})
	for path := range d.Tolerances {
		place, _ := d.Position(path)
		dec.fault(place, path, "carries no tolerance; wanted the value alone")
	}
	r.check(dec)
	for _, f := range dec.faults {
		if f.Field == "plan" || strings.HasSuffix(f.Field, ".plan") && !strings.Contains(f.Field, ".with.") {
			f.Text = "what a firing plan heats can't be fitted; wanted readings without one"
		}
	}
	if len(dec.faults) > 0 {
		return nil, ofReadings(dec.faults...)
	}
	return r, nil
}

// Position returns where the key of a path stands, "readings.3.figure", and true, or where
// its nearest present parent stands and false.
func (r *Readings) Position(path string) (quantity.Place, bool) {
	d := Document{source: r.source, root: r.root}
	return d.Position(path)
}

// findReadable returns a figure that may be read of the gun, or of the motor alone.
func findReadable(name string, motor bool) (figure.Info, bool) {
	all := gunFigures().Infos()
	if motor {
		all = motorFigures().Infos()
	}
	if i := slices.IndexFunc(all, func(f figure.Info) bool { return f.Name == name }); i >= 0 {
		return all[i], true
	}
	return figure.Info{}, false
}

// readingsSchema is the readings file: every key, where it goes, and what stands in for it.
func readingsSchema(r *Readings) *spec {
	title := name("name", func(ctx) *string { return &r.Name }).or("Unnamed readings", "a name for tables and pictures")
	title.example = "Bench evening"
	entry := func(key string, to *[]Reading, wanted, example string, parts ...*spec) *spec {
		at := func(c ctx) *Reading { return &(*to)[c.i] }
		fig := name("figure", func(c ctx) *string { return &at(c).Figure.Name }).needed()
		fig.example = "rate_of_fire"
		value := &spec{key: "value", choice: wanted, read: func(d *decoder, n *node, c ctx, path string) {
			if n.shape != scalar {
				d.fault(n.place, path, "found %s; wanted %s", n.describe(), wanted)
				return
			}
			at(c).value = n // what kind it is, the figure says
		}}
		instrument := name("instrument", func(c ctx) *string { return &at(c).Instrument })
		instrument.example = "chronograph"
		item := optional("", func(ctx) { *to = append(*to, Reading{Value: math.NaN(), Times: 1}) }, append([]*spec{
			fig, value.needed(), instrument,
			{key: "with", shape: mapping, optional: true, start: func(ctx) {}, read: func(d *decoder, n *node, c ctx, path string) { at(c).With = d.overrides(n, path) }},
			num("supply", quantity.Voltage, func(c ctx) *float64 { return &at(c).Supply }),
		}, parts...)...)
		return &spec{key: key, shape: list, parts: []*spec{item}, example: example}
	}
	return object("",
		title,
		&spec{key: "instruments", shape: mapping, optional: true, start: func(ctx) {}, read: r.instruments},
		entry("readings", &r.Readings, "a value with its ±, such as 21.1 /s ± 0.2 /s", "[{figure: rate_of_fire, value: 21.1 /s ± 0.2 /s}]",
			count("times", func(c ctx) *int { return &r.Readings[c.i].Times })).needed(),
		&spec{key: "free", shape: list, parts: []*spec{{read: r.free, start: func(ctx) {}}}, example: "[spring.rate, {key: gears.efficiency, prior: 78 % ± 6 %}]"},
		entry("candidates", &r.Candidates, "the ± alone, such as ± 5 %", "[{figure: inrush, value: ± 5 %}]"),
	)
}

// instruments reads names with the ± of their scales.
func (r *Readings) instruments(d *decoder, n *node, _ ctx, path string) {
	if n.shape != mapping {
		d.fault(n.place, path, "found %s; wanted names with the ± of their scales, such as {chronograph: 1.5 %%}", n.describe())
		return
	}
	for _, e := range n.entries {
		at := join(path, quantity.Printable(e.key, 40))
		switch {
		case strings.TrimSpace(e.key) == "" || len(e.key) > mostOfName || quantity.Printable(e.key, mostOfName) != e.key:
			d.fault(e.place, at, "is no name for an instrument; wanted one such as chronograph")
			continue
		case e.value == nil:
			d.fault(e.place, at, "has no value; wanted the ± of its scale, such as 1.5 %%")
			continue
		case e.value.shape != scalar:
			d.fault(e.value.place, at, "found %s; wanted the ± of its scale, such as 1.5 %%", e.value.describe())
			continue
		}
		v, err := quantity.Parse(unsigned(e.value.text), quantity.Share)
		switch {
		case err != nil:
			d.fault(e.value.place, at, "%v", err)
		case v.Tolerance != 0:
			d.fault(e.value.place, at, "found %s; wanted the ± of its scale alone, such as 1.5 %%", e.value.describe())
		case !(v.SI > 0 && v.SI <= mostOfScale):
			d.fault(e.value.place, at, "%s is out of range; wanted above 0 and up to %s", e.value.describe(), quantity.Share.Format(mostOfScale))
		default:
			r.Instruments = append(r.Instruments, Instrument{e.key, v.SI})
		}
	}
}

// mostOfScale bounds the ± of an instrument: at three times this a scale could read the
// wrong way round.
const mostOfScale = 0.3

// unsigned takes the ± off the front of a text.
func unsigned(text string) string {
	text = strings.TrimSpace(text)
	for _, sign := range []string{"±", "+/-", "+-"} {
		if rest, found := strings.CutPrefix(text, sign); found {
			return strings.TrimSpace(rest)
		}
	}
	return text
}

// overrides reads keys of a build with values as --set takes them.
func (d *decoder) overrides(n *node, path string) (all []Overlay) {
	if n.shape != mapping {
		d.fault(n.place, path, "found %s; wanted keys of the build with values, such as {pellet.mass: 0.28 g}", n.describe())
		return nil
	}
	build := &Document{source: d.doc.source, schema: schema()}
	for _, e := range n.entries {
		at := join(path, quantity.Printable(e.key, 60))
		s, fault := build.find(strings.Split(e.key, "."), false, e.place)
		switch {
		case fault != nil && strings.Contains(fault.Text, "numbered from 0") && listMember(e.key):
			// how many members there are, only the build can tell
		case fault != nil:
			d.fault(e.place, at, "%s", fault.Text)
			continue
		case e.key == "name" || e.key == "target" || strings.HasPrefix(e.key, "target."):
			d.fault(e.place, at, "is no part of what is measured; wanted a key of the build, such as pellet.mass")
			continue
		}
		if e.value == nil {
			d.fault(e.place, at, "has no value; wanted what the key is for this reading")
			continue
		}
		value := string(d.doc.source.text[e.value.from:e.value.to])
		if e.value.shape == scalar && !e.value.quoted {
			value = e.value.text
		}
		if s != nil && s.shape == scalar && s.put != nil && e.value.shape == scalar && !(s.alias != "" && e.value.text == s.alias) {
			v, err := quantity.Parse(e.value.text, s.kind)
			switch {
			case err != nil:
				d.fault(e.value.place, at, "%v", err)
				continue
			case v.Tolerance != 0:
				d.fault(e.value.place, at, "carries no tolerance here; wanted the value alone")
				continue
			}
		}
		if e.value.shape != scalar && strings.ContainsAny(value, "\n#") {
			d.fault(e.value.place, at, "runs over several lines; wanted it on one, in brackets or braces")
			continue
		}
		all = append(all, Overlay{Override{e.key, value}, e.value.place})
	}
	return all
}

// listMember tells whether a part of a path is a number.
func listMember(path string) bool {
	return slices.ContainsFunc(strings.Split(path, "."), func(part string) bool {
		n, err := strconv.Atoi(part)
		return err == nil && n >= 0
	})
}

// free reads a key that may move, alone or with its prior.
func (r *Readings) free(d *decoder, n *node, _ ctx, path string) {
	f := Free{Mean: math.NaN(), Place: n.place}
	var prior *node
	switch n.shape {
	case scalar:
		f.Key = n.text
	case mapping:
		for _, e := range n.entries {
			at := join(path, quantity.Printable(e.key, 40))
			switch {
			case e.key != "key" && e.key != "prior":
				d.fault(e.place, at, "no such key; known here: key, prior")
			case e.value == nil:
				d.fault(e.place, at, "has no value; wanted {key: gears.efficiency, prior: 78 %% ± 6 %%}")
			case e.value.shape != scalar:
				d.fault(e.value.place, at, "found %s; wanted a value", e.value.describe())
			case e.key == "key":
				f.Key, f.Place = e.value.text, e.value.place
			default:
				prior = e.value
			}
		}
		if n.find("key") == nil {
			d.fault(n.place, join(path, "key"), "missing; wanted a key of the build, such as spring.rate")
		}
	default:
		d.fault(n.place, path, "found %s; wanted a key of the build, or {key: gears.efficiency, prior: 78 %% ± 6 %%}", n.describe())
	}
	if f.Key == "" {
		return
	}
	key, found := FindKey(f.Key)
	build := &Document{source: d.doc.source, schema: schema()}
	switch {
	case !found:
		s, fault := build.find(strings.Split(f.Key, "."), false, f.Place)
		switch {
		case fault == nil:
			d.fault(f.Place, path, "%s is %s; wanted a key that holds a number", quantity.Printable(f.Key, 60), s.shape)
		case fault.Field != "":
			d.fault(f.Place, path, "%s: %s", quantity.Printable(fault.Field, 60), fault.Text)
		default:
			d.fault(f.Place, path, "%s", fault.Text)
		}
		return
	case !key.Quantity:
		d.fault(f.Place, path, "%s is a word; wanted a key that holds a number", f.Key)
		return
	case key.Whole:
		d.fault(f.Place, path, "%s is a count, which doesn't move by little; wanted a key that holds a quantity", f.Key)
		return
	case strings.HasPrefix(f.Key, "target."):
		d.fault(f.Place, path, "%s is asked of the build and no part of it; wanted a key of the build", f.Key)
		return
	case slices.ContainsFunc(r.Free, func(g Free) bool { return g.Key == f.Key }):
		d.fault(f.Place, path, "%s stands here a second time", f.Key)
		return
	}
	if prior != nil {
		at := join(path, "prior")
		v, err := quantity.Parse(prior.text, key.Kind)
		lo, hi := key.Range[0], key.Range[1]
		switch {
		case err != nil:
			d.fault(prior.place, at, "%v", err)
			return
		case strings.ContainsAny(prior.text, "±") && v.Tolerance == 0, strings.Contains(prior.text, "+-") && v.Tolerance == 0, strings.Contains(prior.text, "+/-") && v.Tolerance == 0:
			d.fault(prior.place, at, "%s is known exactly and can't move; wanted a ± above 0", prior.describe())
			return
		case v.SI < lo || v.SI > hi:
			d.fault(prior.place, at, "%s is out of range; wanted %s from %s to %s", prior.describe(), key.Kind, key.Kind.Format(lo), key.Kind.Format(hi))
			return
		}
		f.Mean, f.Tolerance = v.SI, v.Tolerance
	}
	r.Free = append(r.Free, f)
}

// check looks at what keys say beside each other.
func (r *Readings) check(d *decoder) {
	r.checkEach(d, "readings", r.Readings, false)
	r.checkEach(d, "candidates", r.Candidates, true)
	if n := r.root.at([]string{"readings"}); n != nil && n.shape == list && len(n.items) == 0 {
		d.fault(n.place, "readings", "is empty; wanted at least one reading")
	}
	for _, l := range []struct {
		key  string
		have int
		most int
	}{{"readings", len(r.Readings), MostReadings}, {"candidates", len(r.Candidates), MostReadings}, {"free", len(r.Free), MostUnknowns}} {
		if l.have > l.most {
			place, _ := r.Position(l.key)
			d.fault(place, l.key, "has %d members; wanted at most %d", l.have, l.most)
		}
	}
}

func (r *Readings) checkEach(d *decoder, key string, all []Reading, candidate bool) {
	for i := range all {
		one := &all[i]
		path := join(key, strconv.Itoa(i))
		n := r.root.at(strings.Split(path, "."))
		fault := func(sub, format string, args ...any) {
			at := join(path, sub)
			place := n.place
			if p, found := r.Position(at); found {
				place = p
			}
			d.fault(place, at, format, args...)
		}
		name := one.Figure.Name
		if name == "" || n == nil || n.shape != mapping {
			continue // said already
		}
		supplied := n.find("supply") != nil
		gun, ofGun := findReadable(name, false)
		motor, ofMotor := findReadable(name, true)
		switch {
		case !ofGun && !ofMotor:
			fault("figure", "no figure is called %s%s", strconv.Quote(quantity.Printable(name, 40)), nearFigure(name))
			continue
		case supplied && !ofMotor:
			fault("supply", "%s is a figure of the whole gun, which its pack drives; wanted none, or a figure of the motor alone: %s", name, listed(names(motorFigures().Infos())))
		case !supplied && ofMotor:
			fault("supply", "missing; wanted the voltage at the terminals of the motor alone, such as 7.4 V, for %s", name)
		}
		if one.Figure = gun; ofMotor {
			one.Figure = motor
		}
		if v := n.find("supply"); v != nil && v.value != nil && v.value.shape == scalar && !d.known(join(path, "supply"), false) && !(one.Supply > 0 && one.Supply <= mostSupply) {
			fault("supply", "%s is out of range; wanted a voltage above 0 and up to %s", v.value.describe(), quantity.Voltage.Format(mostSupply))
		}
		if v := n.find("times"); v != nil && v.value != nil && !d.known(join(path, "times"), false) && (one.Times < 1 || one.Times > mostTimes) {
			fault("times", "%d is out of range; wanted a whole number from 1 to %.0f", one.Times, float64(mostTimes))
		}
		if name := one.Instrument; name != "" && !slices.ContainsFunc(r.Instruments, func(i Instrument) bool { return i.Name == name }) && !d.known(join("instruments", name), false) {
			var known []string
			for _, i := range r.Instruments {
				known = append(known, i.Name)
			}
			if len(known) == 0 {
				fault("instrument", "%s is declared nowhere; wanted it above, such as instruments: {%s: 1.5 %%}", strconv.Quote(quantity.Printable(name, 40)), quantity.Printable(name, 40))
			} else {
				fault("instrument", "%s is declared nowhere; instruments has %s", strconv.Quote(quantity.Printable(name, 40)), listed(known))
			}
		}
		if one.value == nil {
			continue // said already
		}
		text, kind := one.value.text, one.Figure.Kind
		if candidate {
			r.candidate(one, fault)
			continue
		}
		v, err := quantity.Parse(text, kind)
		switch {
		case err != nil:
			fault("value", "%v", err)
		case v.Tolerance == 0:
			fault("value", "%s has no ±, and no reading is exact; wanted one above 0, such as %s ± 1 %%", one.value.describe(), quantity.Printable(text, 40))
		default:
			one.Value, one.Tolerance = v.SI, v.Tolerance
		}
	}
}

// mostSupply bounds the voltage on a bench [V].
const mostSupply = 1000

// candidate reads the ± of a reading that is still to be taken.
func (r *Readings) candidate(one *Reading, fault func(sub, format string, args ...any)) {
	text, kind := one.value.text, one.Figure.Kind
	rest := unsigned(text)
	if rest == strings.TrimSpace(text) {
		fault("value", "found %s; wanted the ± alone, such as ± 3 %%", one.value.describe())
		return
	}
	if strings.HasSuffix(rest, "%") {
		v, err := quantity.Parse(rest, quantity.Share)
		switch {
		case err != nil:
			fault("value", "%v", err)
		case !(v.SI > 0 && v.SI <= 10):
			fault("value", "%s is out of range; wanted a ± above 0 %% and up to 1000 %%", one.value.describe())
		default:
			one.Share = v.SI
		}
		return
	}
	v, err := quantity.Parse(rest, kind)
	switch {
	case err != nil:
		fault("value", "%v", err)
	case v.Tolerance != 0 || !(v.SI > 0):
		fault("value", "found %s; wanted the ± alone and above 0, such as ± 3 %%", one.value.describe())
	default:
		one.Tolerance = v.SI
	}
}

func names(all []figure.Info) (names []string) {
	for _, f := range all {
		names = append(names, f.Name)
	}
	return names
}

// nearFigure says which figure a mistyped name may mean.
func nearFigure(name string) string {
	all := append(names(gunFigures().Infos()), names(motorFigures().Infos())...)
	if near := quantity.Nearest(name, all); near != "" {
		return fmt.Sprintf("; did you mean %s?", near)
	}
	return "; wanted one such as rate_of_fire, muzzle_velocity, inrush, or no_load_speed with a supply"
}

// ofReadings makes one error of faults, and puts those of any YAML file into the words of a
// readings file.
func ofReadings(all ...*quantity.Fault) error {
	words := strings.NewReplacer("a build file", "a readings file", "one build a file", "one list of readings a file", "keys such as motor: and battery:", "keys such as name: and readings:",
		" (see the demo in the README)", " with readings: at its top")
	for _, f := range all {
		f.Text = words.Replace(f.Text)
	}
	return joined(all)
}
