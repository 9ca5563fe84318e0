// Package finding holds what there is to say of a build beside its figures: what
// will go wrong, what a technician should mind, and what couldn't be looked at. The
// rooms that simulate and examine make findings; drivetrain/study collects them.
//
// How much weight a finding has follows from its code, by one table, so that no two
// rooms judge the same thing differently; a firing plan alone, which a build doesn't
// survive, makes more of one ([Finding.As]).
package finding

import (
	"fmt"
	"slices"
)

// Weight says how much a finding matters.
type Weight string

// The weights, from the heaviest.
const (
	// Fault is a build that will jam, stall, fire twice, not fire or overheat.
	Fault Weight = "fault"
	// Caution is something to be minded.
	Caution Weight = "caution"
	// Unchecked is something that couldn't be looked at, since a value is missing.
	Unchecked Weight = "unchecked"
)

// faults lists the codes of all faults; what is neither here nor in unchecked is a
// caution.
func faults() []string {
	return []string{
		"stall", "no-start", "no-release", "second-shot", "premature-engagement", "piston-not-home", "pellet-stuck",
		"spring-solid", "fuse-rating", "pack-empty", "blocked", "land", "missed", "drive-lost", "caught", "tips-strike",
		// What a firing plan shows: a part at its limit, or a fuse that ends it.
		"winding-limit", "magnets-limit", "brushes-limit", "leads-limit", "connectors-limit", "switch-limit", "pack-limit",
		"fuse-nuisance",
	}
}

// unchecked lists the codes of what couldn't be looked at.
func unchecked() []string {
	return []string{
		"fill-unchecked", "pack-unchecked", "magnets-unchecked", "contact-unchecked",
		"port-unchecked", "connectors-unchecked", "fuse-unchecked",
	}
}

// Finding is one thing to say of a build.
type Finding struct {
	// Code names it, for programs.
	Code string
	// Weight says how much it matters.
	Weight Weight
	// Text is cause and cure in one sentence.
	Text string
	// Keys are those of the build file that it is about, the likeliest cure first.
	Keys []string
}

// New returns a finding of a code, which settles its weight, about keys of the build
// file; format and args make its text.
func New(code string, keys []string, format string, args ...any) Finding {
	return Finding{Code: code, Weight: WeightOf(code), Text: fmt.Sprintf(format, args...), Keys: keys}
}

// As returns the finding with another weight than that of its code.
func (f Finding) As(w Weight) Finding {
	f.Weight = w
	return f
}

// WeightOf returns the weight of a code.
func WeightOf(code string) Weight {
	switch {
	case slices.Contains(faults(), code):
		return Fault
	case slices.Contains(unchecked(), code):
		return Unchecked
	}
	return Caution
}

// List is what there is to say of one build.
type List []Finding

// Join returns the findings of several rooms, faults first, then cautions, then what
// couldn't be looked at, each in the order of the rooms. Of a code that several rooms
// have, the first one's are kept, or those of a room that gives it more weight.
func Join(rooms ...[]Finding) List {
	var all List
	for i, room := range rooms {
		for _, f := range room {
			if !said(f, i, rooms) {
				all = append(all, f)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b Finding) int { return rank(a.Weight) - rank(b.Weight) })
	return all
}

// said tells whether another room than i speaks of a finding's code, with more weight
// or, if earlier, with as much.
func said(f Finding, i int, rooms [][]Finding) bool {
	for k, room := range rooms {
		for _, o := range room {
			if k == i || o.Code != f.Code {
				continue
			}
			if heavier := rank(f.Weight) - rank(o.Weight); heavier > 0 || heavier == 0 && k < i {
				return true
			}
		}
	}
	return false
}

func rank(w Weight) int { return slices.Index([]Weight{Fault, Caution, Unchecked}, w) }

// Of returns the findings of one weight.
func (l List) Of(w Weight) List {
	var all List
	for _, f := range l {
		if f.Weight == w {
			all = append(all, f)
		}
	}
	return all
}

// Has tells whether a code is among the findings.
func (l List) Has(code string) bool {
	return slices.ContainsFunc(l, func(f Finding) bool { return f.Code == code })
}

// Broken tells whether any finding is a fault.
func (l List) Broken() bool {
	return slices.ContainsFunc(l, func(f Finding) bool { return f.Weight == Fault })
}
