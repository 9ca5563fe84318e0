package levers

import (
	"fmt"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// ParseWant reads what is wanted of a figure: "rate_of_fire=24 /s" wants it to come to 24
// rounds a second from wherever it is, "rate_of_fire>=24 /s" at least that, and
// "muzzle_velocity<=400 ft/s" at most. The error says what was found and what was wanted.
func ParseWant(text string) (figure.Want, error) {
	const wanted = "wanted a figure and its value, such as rate_of_fire=24 /s, or >= or <= between the two"
	name, value, ok := strings.Cut(text, "=")
	if !ok {
		return figure.Want{}, fmt.Errorf("%q: %s", quantity.Printable(text, 60), wanted)
	}
	name = strings.TrimSpace(name)
	least, most := strings.HasSuffix(name, ">"), strings.HasSuffix(name, "<")
	name = strings.TrimSpace(strings.TrimRight(name, "<>"))
	f, ok := study.FindFigure(name)
	if !ok {
		return figure.Want{}, buildfile.NoFigure(name)
	}
	if _, ok := buildfile.FindFigure(name); !ok {
		return figure.Want{}, fmt.Errorf("%s is a figure of a firing plan, and none is fired here", name)
	}
	v, err := quantity.Parse(value, f.Kind)
	if err != nil {
		return figure.Want{}, fmt.Errorf("%s: %w", name, err)
	}
	if v.Tolerance != 0 {
		return figure.Want{}, fmt.Errorf("%s: %s has a tolerance; wanted a value without", name, strings.TrimSpace(value))
	}
	w := figure.Want{Figure: name, Min: figure.At(v.SI), Max: figure.At(v.SI)}
	switch {
	case least:
		w.Max = figure.Bound{}
	case most:
		w.Min = figure.Bound{}
	}
	return w, nil
}
