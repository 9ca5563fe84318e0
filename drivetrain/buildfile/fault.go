package buildfile

import (
	"fmt"
	"slices"
	"strings"

	"example.org/ampstroke/drivetrain/quantity"
)

// faulty is all that is wrong with a file as one error, which fits a screen.
type faulty struct{ faults []*quantity.Fault }

// joined makes one error of faults, in the order of their places, each once.
func joined(f []*quantity.Fault) error {
	slices.SortStableFunc(f, func(a, b *quantity.Fault) int { return a.Place.Compare(b.Place) })
	return unsorted(slices.CompactFunc(f, func(a, b *quantity.Fault) bool {
		return a.Place == b.Place && a.Field == b.Field && a.Text == b.Text
	}))
}

// unsorted makes one error of faults; nil of none.
func unsorted(f []*quantity.Fault) error {
	if len(f) == 0 {
		return nil
	}
	return &faulty{f}
}

// mostShown is how many faults Error lists.
const mostShown = 20

// Error lists the faults, one a line, at most a screenful.
func (e *faulty) Error() string {
	var lines []string
	for i, f := range e.faults {
		if i == mostShown {
			lines = append(lines, fmt.Sprintf("and %d more", len(e.faults)-i))
			break
		}
		lines = append(lines, f.Error())
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the faults one by one, those that Error leaves out as well.
func (e *faulty) Unwrap() []error {
	all := make([]error, len(e.faults))
	for i, f := range e.faults {
		all[i] = f
	}
	return all
}
