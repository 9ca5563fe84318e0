package buildfile

import (
	_ "embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/wholefile"
	"example.org/ampstroke/motor"
)

// Document is a build file that has been read. Once made it is only read, but
// for Set, so that many goroutines may share it.
type Document struct {
	// Build is what the file describes, complete and valid.
	Build *drivetrain.Build
	// Target is what the file asks of it, in the file's order; empty if nothing.
	Target figure.Target
	// Tolerances are those given with "±", and those of a magnet's grade where it stands
	// in for a key, by the path of the key, as two standard deviations in the SI unit of
	// the key.
	Tolerances map[string]float64

	source  *source
	root    *node
	schema  *spec
	assumed []Assumption
	values  []value // of all keys that have one, in the order of the schema
	edits   []edit
	notes   []string            // comments for the head of the file
	wants   map[int]*[2]float64 // bounds of figures while decoding, NaN: none [SI]
	grade   string              // of the magnets, "": none is given
	graded  motor.Grade         // what that grade says, once it was asked for
}

// Assumption is a key that the file leaves out, with what stands in for it.
type Assumption struct {
	// Path is the key's, "motor.stator.carter".
	Path string
	// Text is the value with its unit.
	Text string
	// Why says where the value comes from.
	Why string
}

//go:embed demo.yaml
var demo []byte

const demoName = "demo.yaml (embedded)"

// Demo returns the embedded demo build, a new one at each call. Its data are
// invented.
func Demo() *drivetrain.Build {
	d, err := DemoDocument()
	if err != nil {
		panic(err) // a test reads it
	}
	return d.Build
}

// DemoDocument returns the document of the embedded demo, with overrides as in
// Read.
func DemoDocument(overrides ...string) (*Document, error) {
	return Parse(demoName, demo, overrides...)
}

// DemoText returns the text of the embedded demo, for a file to start from.
func DemoText() string { return string(demo) }

// Load reads the build of a file. The error lists all that can't be used
// ([quantity.Faults]), with file, line and column; where there is no file, [errors.Is] finds
// [fs.ErrNotExist] in it.
func Load(path string) (*drivetrain.Build, error) {
	d, err := Read(path)
	if err != nil {
		return nil, err
	}
	return d.Build, nil
}

// ReadFrom reads the text of a build file to its end, from standard input for example;
// the name stands in errors. Overrides are those of Read.
func ReadFrom(r io.Reader, name string, overrides ...string) (*Document, error) {
	data, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, &quantity.Fault{Place: quantity.Place{File: name}, Text: fmt.Sprintf("can't be read: %v", err), Cause: err}
	}
	return Parse(name, data, overrides...)
}

// Read reads a build file. Each override "key.path=value" replaces one value of
// it; an empty value takes the key away. Errors are those of Load.
func Read(path string, overrides ...string) (*Document, error) {
	data, fault := readFile(path)
	if fault != nil {
		return nil, fault
	}
	return Parse(path, data, overrides...)
}

// readFile reads a file, of which no more than a little over mostBytes.
func readFile(path string) ([]byte, *quantity.Fault) { return readFileOf(path, mostBytes) }

// readFileOf is readFile for a file that may have so many bytes.
func readFileOf(path string, most int64) ([]byte, *quantity.Fault) {
	wrong := func(cause error, format string, args ...any) ([]byte, *quantity.Fault) {
		return nil, &quantity.Fault{Place: quantity.Place{File: path}, Text: fmt.Sprintf(format, args...), Cause: cause}
	}
	info, err := os.Stat(path)
	if err == nil {
		if info.IsDir() {
			return wrong(nil, "is a folder; wanted a build file")
		}
		if !info.Mode().IsRegular() {
			return wrong(nil, "is no regular file; wanted a build file")
		}
		var f *os.File
		if f, err = os.Open(path); err == nil {
			defer f.Close()
			var data []byte
			if data, err = io.ReadAll(io.LimitReader(f, most+1)); err == nil {
				return data, nil
			}
		}
	}
	if errors.Is(err, fs.ErrNotExist) {
		return wrong(err, "there is no such file")
	}
	short := err
	if p := new(fs.PathError); errors.As(err, &p) {
		short = p.Err
	}
	return wrong(err, "can't be read: %v", short)
}

// Parse reads the text of a build file; the name stands in errors. Overrides are
// those of Read.
func Parse(name string, data []byte, overrides ...string) (*Document, error) {
	s, fault := newSource(name, data)
	if fault != nil {
		return nil, fault
	}
	root, faults := s.parse()
	if len(faults) > 0 {
		return nil, joined(faults)
	}
	d := &Document{source: s, root: root, schema: schema()}
	return d.With(overrides...)
}

// With returns a document with overrides put in, as in Read. The old one stays
// as it is.
func (d *Document) With(overrides ...string) (*Document, error) {
	n := d.fork()
	var faults []*quantity.Fault
	for _, o := range overrides {
		if f := n.override(o); f != nil {
			faults = append(faults, f)
		}
	}
	return n.finish(faults)
}

// Set replaces the value of a key and makes the document anew. The value is given
// as it would stand in the file, in quotes or without; that of a mapping or a list
// in braces or brackets; an empty one takes the key away. If the result can't be
// used, the document stays as it is.
func (d *Document) Set(path, value string) error {
	n := d.fork()
	var faults []*quantity.Fault
	if f := n.set(path, strings.TrimSpace(value), quantity.Place{Override: path + "=" + value}); f != nil {
		faults = []*quantity.Fault{f}
	}
	n, err := n.finish(faults)
	if err == nil {
		*d = *n
	}
	return err
}

// fork returns a document of the same tree that is not decoded yet.
func (d *Document) fork() *Document {
	return &Document{source: d.source, root: d.root, schema: d.schema, edits: slices.Clone(d.edits), notes: slices.Clone(d.notes)}
}

// finish decodes a document unless there are faults already.
func (d *Document) finish(faults []*quantity.Fault) (*Document, error) {
	if len(faults) == 0 {
		faults = d.decode()
	}
	if len(faults) > 0 {
		return nil, joined(faults)
	}
	return d, nil
}

// Note puts a comment, in lines of at most 80 columns, at the head of the text that
// Bytes returns, above what stands there.
func (d *Document) Note(text string) {
	line := "#"
	for _, word := range strings.Fields(text) {
		if len([]rune(line))+1+len([]rune(word)) > 80 {
			d.notes = append(d.notes, line)
			line = "#"
		}
		line += " " + word
	}
	d.notes = append(d.notes, line)
}

// Unset takes a key away.
func (d *Document) Unset(path string) error { return d.Set(path, "") }

// Assumed lists the keys that the file leaves out and that take a default, in
// the order of the documentation; last, what the sector's release follows from where no
// stroke was measured.
func (d *Document) Assumed() []Assumption { return append(slices.Clone(d.assumed), d.release()...) }

// release says what the sector's release follows from where no stroke was measured. The
// build keeps these keys empty, since they go on following from the others.
func (d *Document) release() (all []Assumption) {
	b := d.Build
	if b.Rack == nil || b.Rack.PickupOffset == nil {
		all = append(all, Assumption{"rack.pickup_offset", quantity.Length.Print(b.Piston.Spacer), "not measured: the contact is taken to be flush, whatever the spacer"})
	}
	if b.Sector.EngagedAngle == 0 {
		all = append(all, Assumption{"sector.engaged_angle", fmt.Sprintf("%.5g deg", b.ReleaseAngle()*180/math.Pi), "by the teeth: where the last one that pulls lets the rack go (D2)"})
	}
	return all
}

// Position returns where the key of a path stands and true, or where its nearest
// present parent stands and false.
func (d *Document) Position(path string) (quantity.Place, bool) {
	place := quantity.Place{File: d.source.name}
	if len(d.root.entries) > 0 {
		place = d.root.place
	}
	n := d.root
	for _, key := range strings.Split(path, ".") {
		if n == nil {
			return place, false
		}
		if n.shape != mapping {
			if n = n.at([]string{key}); n == nil {
				return place, false
			}
			place = n.place
			continue
		}
		e := n.find(key)
		if e == nil {
			return place, false
		}
		if place, n = e.place, e.value; n != nil && n.shape == scalar {
			place = n.place
		}
	}
	return place, true
}

// Placed returns an error whose faults know where in the document the values stand, for
// what shows only after reading: what [example.org/ampstroke/drivetrain/pickup.Examine]
// says of the document's build. A fault without a field stays without a place.
func (d *Document) Placed(err error) error {
	faults := quantity.Faults(err)
	for i, f := range faults {
		if f.Field != "" {
			place, _ := d.Position(f.Field)
			faults[i] = f.At(place, f.Field)
		}
	}
	return unsorted(faults)
}

func (d *Document) decode() []*quantity.Fault {
	dec := d.read(nil)
	dec.validate()
	return dec.faults
}

// read decodes a document without a look at what Validate says; a plan, unless nil, is
// told what is to be done anew when numbers change.
func (d *Document) read(plan *[]step) *decoder {
	d.Build, d.Tolerances, d.wants = new(drivetrain.Build), map[string]float64{}, map[int]*[2]float64{}
	d.values = nil
	dec := &decoder{doc: d, plan: plan}
	dec.value(d.schema, nil, d.root, ctx{doc: d}, "", quantity.Place{File: d.source.name, Line: 1, Column: 1})
	dec.alternatives(nil)
	dec.order()
	return dec
}

// want returns the bounds that are wanted of a figure, made if need be.
func (d *Document) want(i int) *[2]float64 {
	if d.wants[i] == nil {
		d.wants[i] = &[2]float64{math.NaN(), math.NaN()}
	}
	return d.wants[i]
}

// override puts one "key.path=value" into the tree.
func (d *Document) override(text string) *quantity.Fault {
	key, value, found := strings.Cut(text, "=")
	if key = strings.TrimSpace(key); !found || key == "" {
		return &quantity.Fault{Place: quantity.Place{Override: text}, Text: "wanted key.path=value, such as motor.armature.turns=22"}
	}
	return d.set(key, strings.TrimSpace(value), quantity.Place{Override: text})
}

// set puts a value at a key into the tree, or takes the key away.
func (d *Document) set(key, value string, place quantity.Place) *quantity.Fault {
	path := strings.Split(key, ".")
	s, f := d.find(path, value == "", place)
	if f != nil {
		return f
	}
	if value == "" {
		if d.root.has(path) {
			d.put(path, nil, place)
		}
		return nil
	}
	n := &node{text: value, place: place}
	if s.shape != scalar || strings.ContainsRune(`"'`, rune(value[0])) {
		if n, f = fragment(key, value, place); f != nil {
			return f
		}
	}
	d.put(path, n, place)
	d.displace(key, place)
	return nil
}

// find returns what the schema knows of a path, and why nothing can be set there. A
// member behind the last one of a list is made, unless the key is to be taken away.
func (d *Document) find(path []string, away bool, place quantity.Place) (*spec, *quantity.Fault) {
	fault := func(format string, args ...any) (*spec, *quantity.Fault) {
		return nil, &quantity.Fault{Place: place, Text: fmt.Sprintf(format, args...)}
	}
	s := d.schema
	for i, part := range path {
		next := s.find(part)
		if next == nil || (next.key == "" && s.shape != list) {
			at := strings.Join(path[:i], ".")
			switch {
			case s.shape == list:
				return fault("%s is a list, whose members are numbered from 0", quantity.Printable(at, 60))
			case s.shape == scalar:
				return fault("%s has no keys below it", quantity.Printable(at, 60))
			}
			dec := decoder{doc: d}
			dec.unknown(s, entry{key: part, place: place}, at)
			return nil, dec.faults[0]
		}
		if s.shape == list && !s.pair {
			have := 0
			if n := d.root.at(path[:i]); n != nil {
				have = len(n.items)
			}
			if n, _ := strconv.Atoi(part); n < 0 || n > have || (n == have && away) {
				return fault("%s has %d members, numbered from 0", strings.Join(path[:i], "."), have)
			}
		}
		s = next
	}
	return s, nil
}

// displace takes away what a key that was set stands in place of.
func (d *Document) displace(key string, place quantity.Place) {
	for _, alt := range alternatives() {
		for i, sides := range [][2][]string{{alt.b, alt.a}, {alt.a, alt.b}} {
			if i == 1 && alt.stays {
				break
			}
			if !slices.ContainsFunc(sides[0], func(k string) bool { return key == k || strings.HasPrefix(key, k+".") }) {
				continue
			}
			for _, other := range sides[1] {
				if p := strings.Split(other, "."); d.root.has(p) {
					d.put(p, nil, place)
				}
			}
		}
	}
}

func (d *Document) put(path []string, n *node, place quantity.Place) {
	d.root = d.root.with(path, n, place)
	d.edits = append(d.edits, edit{path, n})
}

// fragment reads a value that is a mapping, a list or in quotes.
func fragment(key, value string, place quantity.Place) (*node, *quantity.Fault) {
	s, fault := newSource("", []byte("value: "+value))
	if fault == nil {
		root, faults := s.parse()
		if len(faults) > 0 {
			fault = faults[0]
		} else if e := root.find("value"); e != nil && e.value != nil && len(root.entries) == 1 {
			return e.value.moved(place), nil
		} else {
			fault = &quantity.Fault{Text: "can't be read as one value"}
		}
	}
	return nil, fault.At(place, key+strings.TrimPrefix(fault.Field, "value"))
}

// moved returns a copy of a tree that stands at one place.
func (n *node) moved(place quantity.Place) *node {
	c := *n
	c.place = place
	c.entries = slices.Clone(n.entries)
	for i := range c.entries {
		c.entries[i].place = place
		if v := c.entries[i].value; v != nil {
			c.entries[i].value = v.moved(place)
		}
	}
	c.items = slices.Clone(n.items)
	for i := range c.items {
		c.items[i] = c.items[i].moved(place)
	}
	return &c
}

// Save writes the document to a file, whole or not at all, and tells whether an
// older file was replaced.
func (d *Document) Save(path string) (replaced bool, err error) {
	text, err := d.Bytes()
	if err != nil {
		return false, err
	}
	return wholefile.Write(path, func(w io.Writer) error { _, err := w.Write(text); return err })
}
