package quantity

import (
	"errors"
	"fmt"
	"math"
	"unicode"
)

// Place is where a value stands: in a file, or in an override. The zero Place is that of
// a number that a program put, which stands nowhere.
type Place struct {
	// File is the name of the file, Line and Column count from 1; Line 0 is the
	// file as a whole.
	File         string
	Line, Column int
	// Override is the text "key.path=value" that the value comes from instead, ""
	// for a value of the file.
	Override string
}

// String shows the place as errors do: "rifle.yaml:14:3" or "--set a.b=1".
func (p Place) String() string {
	switch {
	case p == (Place{}):
		return "a number put"
	case p.Override != "":
		return "--set " + Printable(p.Override, 60)
	case p.Line == 0:
		return p.File
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
}

// Compare is negative where p comes before q: places of a file in the order of its
// lines, those of overrides behind them, and what was put by a program last.
func (p Place) Compare(q Place) int {
	none := Place{}
	switch {
	case p == q:
		return 0
	case q == none:
		return -1
	case p == none:
		return 1
	case (p.Override == "") != (q.Override == ""):
		if p.Override == "" {
			return -1
		}
		return 1
	case p.Line != q.Line:
		return p.Line - q.Line
	}
	return p.Column - q.Column
}

// Fault is one value that can't be used, or one thing in a file. Every error of a
// Validate, and of reading a file, is made of these: [Faults] lists them, [errors.As]
// finds the first.
type Fault struct {
	// Place is where the value stands, the zero Place where nobody knows of any.
	Place Place
	// Field is the path of the value in the build file's names, "spring.preload"; "" for
	// the whole of what was looked at.
	Field string
	// Text says what was found, what was wanted and what to do next, with units.
	Text string
	// Cause is the error that the fault comes from, [io/fs.ErrNotExist] where there is no
	// file; nil for most. [errors.Is] finds it.
	Cause error

	bounds *[2]float64 // of a value out of its range
}

// Range returns what a value that is out of its range should lie between, in SI
// units; false for a fault of any other sort.
func (f *Fault) Range() (lo, hi float64, ok bool) {
	if f.bounds == nil {
		return math.NaN(), math.NaN(), false
	}
	return f.bounds[0], f.bounds[1], true
}

// longestField bounds the part of a path that is shown; no key has so long a one.
const longestField = 100

// Error returns place, field and text, of which the first two may be missing.
func (f *Fault) Error() string {
	text := f.Text
	if f.Field != "" {
		text = Printable(f.Field, longestField) + ": " + text
	}
	if f.Place != (Place{}) {
		text = f.Place.String() + ": " + text
	}
	return text
}

// Unwrap returns the cause.
func (f *Fault) Unwrap() error { return f.Cause }

// At returns the same fault with another place and field, as whoever knows of them
// reports it further.
func (f *Fault) At(place Place, field string) *Fault {
	g := *f
	g.Place, g.Field = place, field
	return &g
}

// Printable shows a text from outside on one line of at most so many characters.
func Printable(s string, most int) string {
	r := []rune(s)
	if len(r) > most {
		r = append(r[:most], '…')
	}
	for i, c := range r {
		if !unicode.IsPrint(c) {
			r[i] = '?'
		}
	}
	return string(r)
}

// Join makes one error of faults, each a line; nil of none.
func Join(faults ...*Fault) error {
	all := make([]error, len(faults))
	for i, f := range faults {
		all[i] = f
	}
	return errors.Join(all...)
}

// Faults lists the faults in an error, in order, however it is wrapped; an error that
// holds none becomes one fault without a field.
func Faults(err error) []*Fault {
	if err == nil {
		return nil
	}
	if f, ok := err.(*Fault); ok {
		return []*Fault{f}
	}
	if !errors.As(err, new(*Fault)) {
		return []*Fault{{Text: err.Error(), Cause: err}}
	}
	switch e := err.(type) {
	case interface{ Unwrap() []error }:
		var all []*Fault
		for _, e := range e.Unwrap() {
			all = append(all, Faults(e)...)
		}
		return all
	case interface{ Unwrap() error }:
		return Faults(e.Unwrap())
	}
	var f *Fault
	errors.As(err, &f) // by a method As of its own
	return []*Fault{f}
}
