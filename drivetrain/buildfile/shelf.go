package buildfile

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/quantity"
)

// Shelf is what lies in a cupboard: for each of some keys of a base build the parts that
// may go there. It is read from a file ([ReadShelf]) or put together in code, and used
// through a [Composer].
type Shelf struct {
	Name string
	// Currency is a word that stands behind prices, "" for none.
	Currency string
	// Base is the build that the parts go into; what no slot touches stays.
	Base *Document
	// Wish is what the shelf asks of a build, as the mapping that would stand under
	// "target" of a build file; "": what Base asks.
	Wish  string
	Slots []Slot
	// Digest tells shelves apart whose files differ, base and parts included; "" of one
	// made in code.
	Digest string

	wish *node
}

// Slot is a key of the build file with the parts that may go there, exactly one in a
// build.
type Slot struct {
	// Key is the path of the key, "motor.armature".
	Key   string
	Parts []Part

	place quantity.Place
}

// Part is something that lies on a shelf.
type Part struct {
	// Name is unique in its slot.
	Name string
	// Price is in hundredths of the currency.
	Price int64
	// Remark is whatever there is to say, "" for nothing.
	Remark string
	// Value is what would stand behind the slot's key: a value, a list in brackets or a
	// mapping in braces, of which keys that it lacks stay as in the base; "base" leaves
	// the key as it is there, "none" takes it away.
	Value string
	// Also are further keys that come with the part, laid after all parts.
	Also []Setting
	// OnlyWith and NeverWith rule combinations out.
	OnlyWith, NeverWith []Mates

	place quantity.Place
	value *node // of a file: what Value says
}

// Setting is a key with what is laid there, or "none" to take it away.
type Setting struct {
	Key, Value string

	place quantity.Place
	value *node
}

// Mates are parts of another slot.
type Mates struct {
	Slot  string
	Names []string

	place quantity.Place
}

// How much a shelf may hold.
const (
	mostSlots        = 64
	mostParts        = 1000 // of a slot
	mostCombinations = 1_000_000_000
	mostShelfBytes   = 1 << 20
	mostShelfMarks   = 30_000
)

// What stands in place of a part's values.
const (
	AsInBase = "base" // the key stays as it is there
	TakeAway = "none" // the key is taken away
)

// ReadShelf reads a shelf file with its base and the files of its parts, which lie beside
// it. Overrides are those of [Read], and apply to the base. The error lists all that can't be used, with file, line and column.
func ReadShelf(path string, overrides ...string) (*Shelf, error) {
	data, err := readFileOf(path, mostShelfBytes)
	if err != nil {
		return nil, ofShelf(err)
	}
	return ParseShelf(path, data, overrides...)
}

// ParseShelf reads the text of a shelf file; the name stands in errors, and says where
// the base and the files of parts lie.
func ParseShelf(name string, data []byte, overrides ...string) (*Shelf, error) {
	s, fault := newSourceOf(name, data, limits{mostShelfBytes, mostShelfMarks})
	if fault != nil {
		return nil, ofShelf(fault)
	}
	root, faults := s.parse()
	if len(faults) > 0 {
		return nil, ofShelf(faults...)
	}
	r := shelfReader{shelf: &Shelf{Name: "Unnamed shelf"}, file: name, sum: sha256.New()}
	r.sum.Write(data)
	r.read(root, overrides)
	if len(r.faults) > 0 {
		return nil, ofShelf(r.faults...)
	}
	r.shelf.Digest = hex.EncodeToString(r.sum.Sum(nil))
	if _, err := r.shelf.Compose(); err != nil {
		return nil, err
	}
	return r.shelf, nil
}

// ofShelf sorts faults and puts those of any YAML file into the words of a shelf.
func ofShelf(all ...*quantity.Fault) error {
	words := strings.NewReplacer("a build file", "a shelf file", "one build a file", "one shelf a file", "keys such as motor: and battery:", "keys such as base: and slots:")
	for i := range all {
		all[i].Text = words.Replace(all[i].Text)
	}
	return joined(all)
}

// shelfReader turns the tree of a shelf file into a Shelf.
type shelfReader struct {
	shelf *Shelf
	file  string
	sum   interface {
		Write([]byte) (int, error)
		Sum([]byte) []byte
	}
	faults []*quantity.Fault
}

func (r *shelfReader) fault(at quantity.Place, key, format string, args ...any) {
	r.faults = append(r.faults, &quantity.Fault{Place: at, Field: key, Text: fmt.Sprintf(format, args...)})
}

// known reports keys of a mapping that are none of those, and such without a value.
func (r *shelfReader) known(n *node, path, what string, keys ...string) {
	for _, e := range n.entries {
		at := join(path, quantity.Printable(e.key, 40))
		switch {
		case !slices.Contains(keys, e.key):
			if near := quantity.Nearest(e.key, keys); near != "" {
				r.fault(e.place, at, "no such key of %s; did you mean %s?", what, near)
			} else {
				r.fault(e.place, at, "no such key of %s; known here: %s", what, listed(keys))
			}
		case e.value == nil:
			r.fault(e.place, at, "has no value; wanted one, or the key left out")
		}
	}
}

// text reads a name of any letters; false where there is none.
func (r *shelfReader) text(n *node, path string, to *string) bool {
	d := &Document{}
	dec := decoder{doc: d}
	s := name("", func(ctx) *string { return to })
	s.example = "The club's cupboard"
	if n.shape != scalar {
		r.fault(n.place, path, "found %s; wanted %s", n.describe(), s.wanted())
		return false
	}
	dec.word(s, n, ctx{doc: d}, path)
	r.faults = append(r.faults, dec.faults...)
	return len(dec.faults) == 0
}

// entry returns the value of a key of the shape that is wanted, nil where there is none.
func (r *shelfReader) entry(n *node, key, path string, want shape, wanted string) *node {
	e := n.find(key)
	if e == nil || e.value == nil {
		return nil
	}
	if e.value.shape != want {
		r.fault(e.value.place, path, "found %s; wanted %s", e.value.describe(), wanted)
		return nil
	}
	return e.value
}

func (r *shelfReader) read(root *node, overrides []string) {
	s := r.shelf
	r.known(root, "", "a shelf", "name", "base", "currency", "target", "slots")
	if e := root.find("name"); e != nil && e.value != nil {
		r.text(e.value, "name", &s.Name)
	}
	if e := root.find("currency"); e != nil && e.value != nil && r.text(e.value, "currency", &s.Currency) && strings.ContainsAny(s.Currency, " \t") {
		r.fault(e.value.place, "currency", "found %s; wanted one word, such as EUR", e.value.describe())
	}
	if root.find("base") == nil {
		r.fault(root.place, "base", "missing; wanted the build file that the parts go into")
	} else if n := r.entry(root, "base", "base", scalar, "the name of a build file"); n != nil {
		r.base(n, overrides)
	}
	if n := r.entry(root, "target", "target", mapping, "a mapping such as {rate_of_fire: {min: 20 /s}}"); n != nil {
		s.wish, s.Wish = n, n.yaml()
	}
	if root.find("slots") == nil {
		r.fault(root.place, "slots", "missing; wanted a mapping of keys of the build file, each with a list of parts")
	} else if n := r.entry(root, "slots", "slots", mapping, "a mapping of keys of the build file, each with a list of parts"); n != nil {
		for _, e := range n.entries {
			r.slot(e)
		}
	}
}

// beside returns where a file lies that a shelf names.
func (r *shelfReader) beside(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(r.file), name)
}

func (r *shelfReader) base(n *node, overrides []string) {
	path := r.beside(n.text)
	if sameFile(path, r.file) {
		r.fault(n.place, "base", "found %s, which is the shelf itself; wanted a build file", n.describe())
		return
	}
	data, err := readFile(path)
	if err != nil {
		r.fault(n.place, "base", "%s: %s", quantity.Printable(n.text, 60), err.Text)
		return
	}
	r.sum.Write([]byte{0})
	r.sum.Write(data)
	d, wrong := Parse(path, data, overrides...)
	if wrong != nil {
		r.faults = append(r.faults, quantity.Faults(wrong)...)
		return
	}
	r.shelf.Base = d
}

func sameFile(a, b string) bool {
	if filepath.Clean(a) == filepath.Clean(b) {
		return true
	}
	x, err := os.Stat(a)
	if err != nil {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}

func (r *shelfReader) slot(e entry) {
	path := join("slots", quantity.Printable(e.key, 60))
	slot := Slot{Key: e.key, place: e.place}
	switch n := e.value; {
	case n == nil:
		r.fault(e.place, path, "has no parts; wanted a list of at least one")
	case n.shape != list:
		r.fault(n.place, path, "found %s; wanted a list of parts, such as [{name: as it stands, part: base}]", n.describe())
	default:
		for i, item := range n.items {
			at := join(path, strconv.Itoa(i))
			if item.shape != mapping {
				r.fault(item.place, at, "found %s; wanted a part, such as {name: as it stands, part: base}", item.describe())
				continue
			}
			slot.Parts = append(slot.Parts, r.part(item, at))
		}
	}
	r.shelf.Slots = append(r.shelf.Slots, slot)
}

// price is a price as it is written.
var price = regexp.MustCompile(`^([0-9]{1,9})(?:\.([0-9]{1,2}))?$`)

func (r *shelfReader) part(n *node, path string) Part {
	p := Part{place: n.place}
	if e := n.find("name"); e == nil {
		r.fault(n.place, join(path, "name"), "missing; wanted what the part is called")
	} else if e.value != nil {
		r.text(e.value, join(path, "name"), &p.Name)
	}
	what := fmt.Sprintf("the part %s", quantity.Printable(p.Name, 40))
	r.known(n, path, what, "name", "price", "remark", "part", "from", "also", "only_with", "never_with")
	if e := n.find("remark"); e != nil && e.value != nil {
		r.text(e.value, join(path, "remark"), &p.Remark)
	}
	const wanted = "a price of at most two decimals, such as 14.50"
	if v := r.entry(n, "price", join(path, "price"), scalar, wanted); v != nil {
		m := price.FindStringSubmatch(v.text)
		if m == nil || v.quoted {
			r.fault(v.place, join(path, "price"), "found %s of %s; wanted %s", v.describe(), what, wanted)
		} else {
			cents, _ := strconv.ParseInt(m[1]+(m[2] + "00")[:2], 10, 64)
			p.Price = cents
		}
	}
	part, from := n.find("part"), n.find("from")
	switch {
	case part != nil && from != nil:
		r.fault(from.place, join(path, "from"), "stands beside part of %s; wanted one of the two", what)
	case part == nil && from == nil:
		r.fault(n.place, join(path, "part"), "missing of %s; wanted part or from", what)
	case part != nil:
		p.value = part.value
	default:
		if v := r.entry(n, "from", join(path, "from"), scalar, "the name of a file with what would stand under part"); v != nil {
			p.value = r.from(v, join(path, "from"))
		}
	}
	p.Value = p.value.yaml()
	if v := r.entry(n, "also", join(path, "also"), mapping, "a mapping of keys of the build file"); v != nil {
		for _, e := range v.entries {
			if e.value == nil {
				r.fault(e.place, join(join(path, "also"), quantity.Printable(e.key, 60)), "has no value; wanted one, or none to take the key away")
				continue
			}
			p.Also = append(p.Also, Setting{Key: e.key, Value: e.value.yaml(), place: e.place, value: e.value})
		}
	}
	p.OnlyWith = r.mates(n, "only_with", path)
	p.NeverWith = r.mates(n, "never_with", path)
	return p
}

// from reads what a file has in place of a part.
func (r *shelfReader) from(n *node, path string) *node {
	file := r.beside(n.text)
	data, err := readFile(file)
	if err != nil {
		r.fault(n.place, path, "%s: %s", quantity.Printable(n.text, 60), err.Text)
		return nil
	}
	r.sum.Write([]byte{0})
	r.sum.Write(data)
	s, fault := newSource(file, data)
	if fault != nil {
		r.faults = append(r.faults, fault)
		return nil
	}
	root, faults := s.tree()
	r.faults = append(r.faults, faults...)
	return root
}

func (r *shelfReader) mates(n *node, key, path string) (all []Mates) {
	path = join(path, key)
	v := r.entry(n, key, path, mapping, "a mapping of slots, each with a list of names")
	if v == nil {
		return nil
	}
	for _, e := range v.entries {
		at := join(path, quantity.Printable(e.key, 60))
		if e.value == nil || e.value.shape != list || slices.ContainsFunc(e.value.items, func(i *node) bool { return i.shape != scalar }) {
			r.fault(e.place, at, "wanted a list of the names of parts, such as [as it stands]")
			continue
		}
		m := Mates{Slot: e.key, place: e.place}
		for _, item := range e.value.items {
			m.Names = append(m.Names, item.text)
		}
		all = append(all, m)
	}
	return all
}
