package spread

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// Question is what is asked of guns that are built alike, from parts that aren't.
type Question struct {
	// Document is the build, with its target and the tolerances that it states.
	Document *buildfile.Document
	// Tolerances are those that replace or add, "spring.rate=± 5 %"; see [Keys].
	Tolerances []string
	// Typical says whether keys that state none get a typical one.
	Typical Typical
	// Figures are asked for beside those of the target and the headline ones, by name.
	Figures []string
	// EachShot are the keys that differ from shot to shot; nil: those of the pellet.
	EachShot []string
	// Reach is the share of guns that are to be sound, for which a way is looked for; 0: none
	// is looked for [1].
	Reach float64
	// Cycle is how each gun is fired.
	Cycle cycle.Settings
}

// ErrNothingVaries is an answer where no key carries a tolerance.
var ErrNothingVaries = errors.New("no key of the build varies: wanted a tolerance, such as spring.rate: 680 N/m ± 5 %, or the typical ones")

// ErrAllMisfit is an answer where no draw gives a build that can be.
var ErrAllMisfit = errors.New("none of the draws gives a build that can be")

// asks returns the figures to be looked at, those of the target first.
func (q *Question) asks() ([]figure.Info, error) {
	var c quantity.Check
	var all []figure.Info
	add := func(name string) {
		f, known := study.FindFigure(name)
		switch {
		case !known:
			near := ""
			if n := quantity.Nearest(name, names()); n != "" {
				near = fmt.Sprintf("; did you mean %s?", n)
			}
			c.Add(name, "is no figure%s", near)
		case !slices.ContainsFunc(all, func(o figure.Info) bool { return o.Name == f.Name }):
			all = append(all, f)
		}
	}
	for _, w := range q.Document.Target {
		f, _ := study.FindFigure(w.Figure)
		if f.Steady && q.Document.Build.Trigger.Mode == drivetrain.Single {
			c.Add("target."+w.Figure, "is wanted, but single fire has no %s: set trigger.mode to automatic, or leave the want out", strings.ReplaceAll(w.Figure, "_", " "))
			continue
		}
		add(w.Figure)
	}
	for _, name := range study.Headline(q.Document.Build.Trigger.Mode) {
		add(name)
	}
	for _, name := range q.Figures {
		add(strings.TrimSpace(name))
	}
	return all, c.Err()
}

// names lists those of all figures.
func names() (all []string) {
	for _, f := range study.Figures() {
		all = append(all, f.Name)
	}
	return all
}

// keys returns those that vary, with what differs from shot to shot marked.
func (q *Question) keys() ([]Key, error) {
	all, err := Keys(q.Document, q.Tolerances, q.Typical)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, ErrNothingVaries
	}
	var c quantity.Check
	if len(all) > mostInputs {
		c.Add("tolerances", "%d keys vary; wanted %d at most", len(all), mostInputs)
	}
	for _, path := range q.EachShot {
		i := slices.IndexFunc(all, func(k Key) bool { return k.Path == path })
		switch _, known := buildfile.FindKey(path); {
		case i >= 0:
			all[i].Shot = true
		case !known:
			c.Add(path, "is no key of the build file that holds a value%s", nearest(path))
		default:
			c.Add(path, "carries no tolerance, so that it doesn't vary from shot to shot")
		}
	}
	if q.EachShot == nil {
		for i := range all {
			all[i].Shot = strings.HasPrefix(all[i].Path, "pellet.")
		}
	}
	if !(q.Reach >= 0 && q.Reach < 1) || math.IsNaN(q.Reach) {
		c.Add("reach", "%g is out of range; wanted a share from 0 to less than 1", q.Reach)
	}
	return all, c.Err()
}
