package figure

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/quantity"
)

// Better says which of two values of a figure people like better, where nothing else is
// wanted.
type Better int8

// More of a figure is better, less of it, or neither.
const (
	Neither Better = iota
	Higher
	Lower
)

// Info is what there is to know of a figure, whatever it is a figure of.
type Info struct {
	// Name is that in targets and flags: "rate_of_fire".
	Name string
	// Label is what people call it: "rate of fire".
	Label string
	// Meaning says in one line what it is.
	Meaning string
	// Measured says how a bench measures it, "" where it is reckoned only.
	Measured string
	// Group is the heading that it stands below: "firing".
	Group string
	Kind  quantity.Kind
	// Unit is that in which people read it: "ms"; "" where there is none.
	Unit string
	// Digits is how many of them people read.
	Digits int
	Better Better
	// Steady tells that it is one of the steady cycle, which single fire hasn't.
	Steady bool
	// Whole tells that in single fire it is that of the whole pull, and in automatic that
	// of one steady shot: the two say different things.
	Whole bool
	// Quiet tells that tables of a single build leave it out.
	Quiet bool
	// JSON is the key of JSON and CSV where another than that of name and unit is fixed.
	JSON string
}

// Key is the figure's in JSON and in heads of CSV files: the name and the SI unit,
// "rate_of_fire_hz".
func (i *Info) Key() string {
	if i.JSON != "" {
		return i.JSON
	}
	unit := i.Kind.SIUnit()
	switch i.Kind {
	case quantity.Rate:
		unit = "hz"
	case quantity.Gauge:
		unit = "1"
	}
	if unit == "1" {
		return i.Name
	}
	return i.Name + "_" + strings.NewReplacer("/", "_", " ", "_").Replace(strings.ToLower(unit))
}

// Scale is how many of the figure's Unit one SI unit makes, steps of a temperature's
// scale included.
func (i *Info) Scale() float64 {
	if i.Unit == "" || i.Kind == quantity.Temperature {
		return 1
	}
	return i.Kind.In(i.Unit)
}

// In returns a value of the figure [SI] in its Unit.
func (i *Info) In(v float64) float64 {
	if i.Kind == quantity.Temperature {
		return v - quantity.Celsius
	}
	return i.Scale() * v
}

// Text shows a value of the figure [SI] in its unit, with its digits; "" for NaN and
// infinities.
func (i *Info) Text(v float64) string {
	if i.Kind == quantity.Count && quantity.Finite(v) {
		return strconv.FormatFloat(v, 'f', 0, 64) + " "
	}
	return Text(i.In(v), i.Digits, i.Unit)
}

// Dust is what sums of figures leave where nothing is; no figure's unit is so large that
// less than this is seen.
const Dust = 1e-9

// Text shows a number with a count of significant digits and its unit, "" where it is
// NaN or infinite; revolutions a minute to the nearest ten.
func Text(v float64, digits int, unit string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	if math.Abs(v) < Dust {
		v = 0
	}
	if unit == "rpm" { // no motor keeps to a turn
		return strconv.FormatFloat(10*math.Round(v/10)+0, 'f', 0, 64) + " rpm"
	}
	if v == 0 {
		return "0 " + unit
	}
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(math.Abs(v), 'e', digits-1, 64), 64) // 0.09999 is 0.100
	decimals := max(0, digits-1-int(math.Floor(math.Log10(rounded)+1e-12)))
	return strconv.FormatFloat(v, 'f', decimals, 64) + " " + unit
}

// mostTimes is from where on a difference says more than how many times as much it is.
const mostTimes = 1000

// Change says how a value differs from the first one, both in the unit that is
// shown: in per cent, but in the unit itself where that says little, of shares, degrees and
// of figures that can lie below zero; "" where it differs by nothing that is seen.
func Change(v, first float64, digits int, unit string) string {
	if math.Abs(first) < Dust {
		first = 0
	}
	switch {
	case math.IsNaN(first) || math.Abs(v-first) <= max(Dust, 1e-9*math.Abs(v)):
		return ""
	case unit == "%" || unit == "°C" || v < 0 || first <= 0 || v > mostTimes*first:
		text, sign := Text(math.Abs(v-first), min(digits, 3), unit), "+"
		if v < first {
			sign = "-"
		}
		if unit == "%" {
			text = strings.TrimSuffix(text, "%") + "points"
		}
		return sign + text
	}
	share := 100 * (v - first) / first
	switch {
	case math.Abs(share) < 0.05:
		return ""
	case share >= 1000:
		return fmt.Sprintf("×%.3g", v/first)
	}
	return fmt.Sprintf("%+.1f %%", share)
}

// Brief shortens the number that a text begins with to four digits: what is worked out
// has more than anybody reads.
func Brief(text string) string {
	number := leading.FindString(text)
	v, err := strconv.ParseFloat(number, 64)
	if err != nil || v == 0 || len(strings.TrimLeft(strings.Replace(number, ".", "", 1), "-0")) <= 4 || strings.Contains(number, "e") {
		return text
	}
	return strings.TrimRight(Text(v, 4, ""), " ") + text[len(number):]
}

var leading = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?(e[-+]?[0-9]+)?`)

// Of is a figure of a result R.
type Of[R any] struct {
	Info
	// Value gets it out of a result [SI]; NaN where the result has none.
	Value func(R) float64
	// Note says what stands beside a result's value in a table; nil: the Meaning.
	Note func(R) string
	// Hidden tells that a table leaves the figure of a result out, since another one says
	// the same; nil: never.
	Hidden func(R) bool
}

// Remark is what stands beside the figure of a result in a table.
func (f *Of[R]) Remark(r R) string {
	if f.Note == nil {
		return f.Meaning
	}
	return f.Note(r)
}

// Shown shows the figure of a result as a table does, "" where it has none.
func (f *Of[R]) Shown(r R) string {
	if f.Hidden != nil && f.Hidden(r) {
		return ""
	}
	return f.Text(f.Value(r))
}

// List is the figures of a room, in the order in which tables show them.
type List[R any] []Of[R]

// Find returns the figure of a name, false if there is none.
func (l List[R]) Find(name string) (Of[R], bool) {
	i := slices.IndexFunc(l, func(f Of[R]) bool { return f.Name == name })
	if i < 0 {
		return Of[R]{}, false
	}
	return l[i], true
}

// Holds tells whether there is a figure of a name.
func (l List[R]) Holds(name string) bool {
	return slices.ContainsFunc(l, func(f Of[R]) bool { return f.Name == name })
}

// Has tells whether there is a figure below a heading.
func (l List[R]) Has(group string) bool {
	return slices.ContainsFunc(l, func(f Of[R]) bool { return f.Group == group })
}

// Keyed returns the list with each key put together once.
func (l List[R]) Keyed() List[R] {
	for i := range l {
		l[i].JSON = l[i].Key()
	}
	return l
}

// Groups lists the headings, each once, in the order of the list.
func (l List[R]) Groups() (all []string) {
	for i := range l {
		if !slices.Contains(all, l[i].Group) {
			all = append(all, l[i].Group)
		}
	}
	return all
}

// In returns the figures below a heading.
func (l List[R]) In(group string) (all List[R]) {
	for i := range l {
		if l[i].Group == group {
			all = append(all, l[i])
		}
	}
	return all
}

// Infos is what there is to know of the figures, without the results they are figures of.
func (l List[R]) Infos() []Info {
	all := make([]Info, len(l))
	for i := range l {
		all[i] = l[i].Info
	}
	return all
}

// From returns the list as that of another result, which get finds a room's in; the
// zero R stands for none, whose figures are NaN.
func From[R comparable, S any](l List[R], get func(S) R) List[S] {
	all := make(List[S], len(l))
	var none R
	for i := range l {
		f := l[i]
		all[i] = Of[S]{Info: f.Info, Value: func(s S) float64 {
			if r := get(s); r != none {
				return f.Value(r)
			}
			return math.NaN()
		}}
		if f.Note != nil {
			all[i].Note = func(s S) string {
				if r := get(s); r != none {
					return f.Note(r)
				}
				return ""
			}
		}
		if f.Hidden != nil {
			all[i].Hidden = func(s S) bool {
				r := get(s)
				return r == none || f.Hidden(r)
			}
		}
	}
	return all
}
