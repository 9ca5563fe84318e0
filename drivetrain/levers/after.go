package levers

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// Apply returns the build's document with a key at the value that meets the first want
// that is missed, and a note of it on top. What carried a tolerance still does. The error
// says why there is none.
func (r *Result) Apply(key string) (*buildfile.Document, error) {
	all := r.Missed()
	if len(all) == 0 {
		return nil, fmt.Errorf("%s: nothing is missed, so that there is nothing to apply; wanted something more, such as rate_of_fire=24 /s", key)
	}
	what := &r.Verdicts[all[0]].Want
	var names []string
	for i := range r.Singles {
		s := &r.Singles[i]
		if s.Want != all[0] || !s.Meets() {
			continue
		}
		if s.Key == key {
			return r.with(s, what)
		}
		names = append(names, s.Key)
	}
	hint := "none does alone"
	if len(names) > 0 {
		hint = "the nearest that does is " + names[0]
		if near := quantity.Nearest(key, names); near != "" {
			hint = "did you mean " + near + "?"
		}
	}
	return nil, fmt.Errorf("%s: no value of it that was found meets %s alone; %s", quantity.Printable(key, 60), what.Figure, hint)
}

// with sets a single's value in the document.
func (r *Result) with(s *Single, what *figure.Want) (*buildfile.Document, error) {
	d, err := r.Document.With()
	if err != nil {
		return nil, err
	}
	text := s.Kind.Print(s.Value)
	if tolerance := d.Tolerances[s.Key]; tolerance > 0 && s.Kind != quantity.Gauge && s.Kind != quantity.Temperature {
		_, unit, _ := strings.Cut(text, " ")
		text += strings.TrimRight(" ± "+strconv.FormatFloat(s.Kind.In(unit)*tolerance, 'g', 6, 64)+" "+unit, " ")
	}
	if err := d.Set(s.Key, text); err != nil {
		return nil, fmt.Errorf("the value that was found can't be written down: %w", err)
	}
	f, _ := study.FindFigure(what.Figure)
	d.Note(fmt.Sprintf("%s at %s in place of %s, so that %s is %s.", s.Key, s.Text(s.Value), s.Text(s.From), what.Figure, bounds(f.Kind, what)))
	return d, nil
}

// bounds says in words what is wanted of a figure: "at least 24 /s".
func bounds(k quantity.Kind, w *figure.Want) string {
	switch {
	case !w.Max.Given:
		return "at least " + study.Shown(k, w.Min.At)
	case !w.Min.Given:
		return "at most " + study.Shown(k, w.Max.At)
	}
	return study.Shown(k, w.Min.At) + " to " + study.Shown(k, w.Max.At)
}

// Text shows a value of the lever as a build file has it, with no more digits than
// anybody writes.
func (l *Lever) Text(v float64) string {
	if math.IsNaN(v) {
		return ""
	}
	const most = 14
	if text := l.Kind.Print(v); len(text) <= most {
		return text
	}
	return l.Kind.Format(v)
}

// StepText says how far Effect's changes go: "1 %" of a value, "1" of a count.
func (e *Effect) StepText() string {
	if e.Whole {
		return "1"
	}
	return "1 %"
}
