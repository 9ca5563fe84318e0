package study

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
)

// Comparison is builds side by side.
type Comparison struct {
	Looks []*Examination
	// Results are the cycles of the looks.
	Results []*cycle.Result
	// Differences are what the files don't agree in.
	Differences []buildfile.Difference
	// Target is by which all are judged: that of the first build that has one.
	Target figure.Target
	// Judge is which build it is of, −1: of none.
	Judge int
	// Verdicts hold each build against it.
	Verdicts [][]figure.Verdict
	// Switches are what each build's switch goes through in a single shot; nil where the
	// switches don't differ.
	Switches []heat.Switching
}

// Compare puts builds side by side. Errors are those of [Examine], with the number of the
// build.
func Compare(ctx context.Context, documents []*buildfile.Document, settings cycle.Settings) (*Comparison, error) {
	m := &Comparison{Judge: -1, Differences: buildfile.Differences(documents...)}
	m.Judge = slices.IndexFunc(documents, func(d *buildfile.Document) bool { return len(d.Target) > 0 })
	if m.Judge >= 0 {
		m.Target = documents[m.Judge].Target
	}
	for i, d := range documents {
		x, err := Examine(ctx, d.Build, d.Target, settings)
		if err != nil {
			return nil, &OfBuild{i, err}
		}
		m.Looks, m.Results = append(m.Looks, x), append(m.Results, x.Cycle)
		m.Verdicts = append(m.Verdicts, m.Target.Judge(x.Value))
	}
	if !slices.ContainsFunc(m.Differences, func(d buildfile.Difference) bool { return strings.HasPrefix(d.Path, "harness.switch.") }) {
		return m, ctx.Err()
	}
	for i, r := range m.Results {
		s, err := heat.FindSwitching(ctx, r.Build)
		if fault := new(quantity.Fault); err != nil && !errors.As(err, &fault) { // a cut-off that no shot meets leaves no figures
			return nil, &OfBuild{i, err}
		}
		m.Switches = append(m.Switches, s)
	}
	return m, ctx.Err()
}

// OfBuild is an error of one of several builds.
type OfBuild struct {
	// Build is which, from 0.
	Build int
	Err   error
}

// Error returns the error with the number of the build, from 1.
func (e *OfBuild) Error() string { return fmt.Sprintf("build %d: %v", e.Build+1, e.Err) }

// Unwrap returns the error without the build.
func (e *OfBuild) Unwrap() error { return e.Err }

// Faults tells which builds have a fault.
func (m *Comparison) Faults() (all []bool) {
	for _, x := range m.Looks {
		all = append(all, x.Findings.Broken())
	}
	return all
}

// Mark says what the target makes of a figure of build i: whether it is better than the
// first build's, and whether it misses the want.
func (m *Comparison) Mark(name string, i int) (better, missed bool) {
	for k, v := range m.Verdicts[i] {
		if v.Figure == name {
			better = better || v.Better(m.Verdicts[0][k])
			missed = missed || v.Fate == figure.Missed
		}
	}
	return better, missed
}

// Own tells whether build i asks for something else than the target by which all are
// judged.
func (m *Comparison) Own(i int) bool {
	own := m.Looks[i].Target
	return len(own) > 0 && !slices.Equal(own, m.Target)
}

// Alike tells whether build i was fired in the mode of the first, so that a figure of the
// whole pull in one of them can be held against the other's.
func (m *Comparison) Alike(i int) bool {
	return (m.Results[i].Status == cycle.Once) == (m.Results[0].Status == cycle.Once)
}

// Mixed tells that some builds fire single and others automatic.
func (m *Comparison) Mixed() bool {
	for i := range m.Results {
		if !m.Alike(i) {
			return true
		}
	}
	return false
}
