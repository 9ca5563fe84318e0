package buildfile

import (
	"fmt"
	"slices"
	"sync"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// Figures lists what a target can ask for: the figures of the cycle, of the motor alone
// on the rested pack, and of how sector and rack meet. The list is the caller's.
func Figures() []figure.Info { return slices.Clone(targetFigures()) }

// FindFigure returns the figure of a name, false if a target can't ask for it.
func FindFigure(name string) (figure.Info, bool) {
	all := targetFigures()
	i := slices.IndexFunc(all, func(f figure.Info) bool { return f.Name == name })
	if i < 0 {
		return figure.Info{}, false
	}
	return all[i], true
}

// NoFigure returns the error that says that Figures has none of a name, and which is near.
func NoFigure(name string) error {
	var names []string
	for _, f := range targetFigures() {
		names = append(names, f.Name)
	}
	hint := "; 'ampstroke keys' lists them"
	if near := quantity.Nearest(name, names); near != "" {
		hint = "; did you mean " + near + "?"
	}
	return fmt.Errorf("%q is no figure%s", quantity.Printable(name, 60), hint)
}

var targetFigures = sync.OnceValue(func() []figure.Info {
	return slices.Concat(cycle.Figures().Infos(), motor.Figures().Infos(), pickup.Figures().Infos())
})
