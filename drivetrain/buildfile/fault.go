package buildfile

import (
	"fmt"
	"strings"
)

// Place is where a value stands: in a file, or in an override. The zero Place is that of
// a number that a program put (Variant), which stands nowhere.
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
		return "--set " + printable(p.Override, 60)
	case p.Line == 0:
		return p.File
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
}

// before tells which of two places of a file comes first; those of overrides come
// behind it, and what was put by a program last.
func (p Place) before(q Place) bool {
	none := Place{}
	switch {
	case (p == none) != (q == none):
		return q == none
	case (p.Override == "") != (q.Override == ""):
		return p.Override == ""
	case p.Line != q.Line:
		return p.Line < q.Line
	}
	return p.Column < q.Column
}

// Fault is one thing in a file or an override that can't be used.
type Fault struct {
	Place
	// Key is the path of the value, "spring.preload", "" for the whole file.
	Key string
	// Text says what was found, what was wanted and what to do next.
	Text string
}

// longestKey bounds the part of a path that is shown; no key has so long a one.
const longestKey = 100

// Error returns place, key and text, of which the first two may be missing.
func (f Fault) Error() string {
	text := f.Text
	if f.Key != "" {
		text = printable(f.Key, longestKey) + ": " + text
	}
	if f.Place == (Place{}) {
		return text
	}
	return f.Place.String() + ": " + text
}

// Faults is all that is wrong with a document, in the order of the lines.
type Faults []Fault

// mostShown is how many faults Error lists.
const mostShown = 20

// Error lists the faults, one a line, at most a screenful.
func (f Faults) Error() string {
	var lines []string
	for i, fault := range f {
		if i == mostShown {
			lines = append(lines, fmt.Sprintf("and %d more", len(f)-i))
			break
		}
		lines = append(lines, fault.Error())
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the faults one by one.
func (f Faults) Unwrap() []error {
	all := make([]error, len(f))
	for i := range f {
		all[i] = f[i]
	}
	return all
}
