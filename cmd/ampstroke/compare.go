package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/study"
)

func compareCommand() *cobra.Command {
	var s shared
	c := &cobra.Command{
		Use:   "compare BUILD BUILD...",
		Short: "builds side by side: what differs, and what it does",
		Long: `compare fires several builds and puts their figures into columns, with the
difference from the first build. What differs between the files comes first.
Where the switches differ, what each goes through in a single shot is shown too.
Where the target of the first build that has one asks for a figure, the builds
that do better by it than the first are marked with *, those that miss it with
!. A build that has a target of its own is held against that too. A ! behind the
number of a build says that it has a fault. --set changes all the builds.`,
		Example: `  ampstroke compare stock.yaml rewound.yaml --plot compare.png
  ampstroke compare rifle-*.yaml --json`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) < 2 {
				return fmt.Errorf("%s given; wanted two or more", []string{"no build file is", "one build file is"}[len(args)])
			}
			return nil
		},
		ValidArgsFunction: anyYAMLFiles,
		RunE: func(c *cobra.Command, args []string) error {
			if err := s.check(); err != nil {
				return err
			}
			m, err := compare(c, &s, args)
			if err != nil {
				return err
			}
			fault := false
			for i, x := range m.looks {
				fault = fault || fails(m.verdicts[i], x.Findings) || fails(x.Verdicts, x.Findings)
			}
			return s.deliver(c, &report{
				picture: func() *chart.Picture { return chart.Compare(m.results, m.faults()...) },
				trace:   func(w io.Writer) error { return cycle.WriteCSV(w, m.results) },
				json:    m.json,
				print:   m.print,
				failed:  missing(fault),
			})
		},
	}
	s.add(c)
	return c
}

// comparison is builds side by side.
type comparison struct {
	paths       []string
	looks       []*study.Examination
	results     []*cycle.Result // of the looks
	differences []buildfile.Difference
	target      figure.Target // by which is judged
	judge       int           // whose target it is, −1: nobody's
	verdicts    [][]figure.Verdict
	switches    []heat.Switching // nil where the switches don't differ
}

func compare(c *cobra.Command, s *shared, paths []string) (*comparison, error) {
	m := &comparison{paths: paths, judge: -1}
	documents, err := s.documents(c.Context(), paths)
	if err != nil {
		return nil, err
	}
	for i, d := range documents {
		if m.judge < 0 && len(d.Target) > 0 {
			m.judge, m.target = i, d.Target
		}
	}
	for i, d := range documents {
		x, err := study.Examine(c.Context(), d.Build, d.Target, cycle.Settings{})
		if err != nil {
			return nil, fmt.Errorf("%s: %w", paths[i], err)
		}
		m.looks, m.results = append(m.looks, x), append(m.results, x.Cycle)
		m.verdicts = append(m.verdicts, m.target.Judge(x.Value))
	}
	m.differences = buildfile.Differences(documents...)
	m.switches, err = differentSwitches(c.Context(), m)
	return m, errors.Join(err, c.Context().Err())
}

// faults tells which builds have a fault.
func (m *comparison) faults() (all []bool) {
	for _, x := range m.looks {
		all = append(all, x.Findings.Broken())
	}
	return all
}

// head is how build i is called in tables, with ! where it has a fault.
func (m *comparison) head(i int) string {
	if m.looks[i].Findings.Broken() {
		return strconv.Itoa(i+1) + "!"
	}
	return strconv.Itoa(i + 1)
}

// mark says what the target makes of a figure of build i: "*" better than the
// first build's, "!" missed, both or "".
func (m *comparison) mark(name string, i int) (text string) {
	for k, v := range m.verdicts[i] {
		if v.Figure != name || name == "" {
			continue
		}
		if v.Better(m.verdicts[0][k]) {
			text += "*"
		}
		if v.Fate == figure.Missed {
			text += "!"
		}
	}
	return text
}

// own tells whether build i asks for something else than the target by which all are
// judged.
func (m *comparison) own(i int) bool {
	own := m.looks[i].Target
	return len(own) > 0 && !slices.Equal(own, m.target)
}

// targets are the lines that say what build i makes of the target by which all are
// judged, and of its own where that is another.
func (m *comparison) targets(i int) [][2]string {
	lines := [][2]string{targetLine(m.looks[i].Build, m.verdicts[i])}
	if m.own(i) {
		own := targetLine(m.looks[i].Build, m.looks[i].Verdicts)
		lines = append(lines, [2]string{"its own " + own[0], own[1]})
	}
	return lines
}

func (m *comparison) print(w io.Writer) {
	fmt.Fprintf(w, "%d builds side by side\n\n", len(m.results))
	for i, r := range m.results {
		text := fmt.Sprintf("%s (%s)", r.Build.Name, m.paths[i])
		if r.Status == cycle.Stall {
			text += ": the motor stalls"
		}
		fmt.Fprintln(w, wrap("  "+m.head(i)+"  ", text, columns(w), "     "))
	}
	for i, x := range m.looks {
		printFindings(w, "  "+m.head(i)+"  ", x.Findings, m.targets(i)...)
	}
	heads := []string{""}
	for i := range m.results {
		heads = append(heads, m.head(i))
	}
	var table [][]string
	follows := 0
	for _, d := range m.differences {
		if consequence(d) {
			follows++
			continue
		}
		line := []string{d.Path}
		for _, c := range d.Entries {
			switch {
			case c.Text == "":
				line = append(line, "-")
			case c.Assumed:
				line = append(line, brief(c.Text)+" (assumed)")
			default:
				line = append(line, c.Text)
			}
		}
		table = append(table, line)
	}
	if len(m.differences) == 0 {
		fmt.Fprintln(w, "\nthe build files describe the same build")
	} else {
		printTable(w, "what differs", heads, table)
	}
	if follows > 0 {
		say(w, fmt.Sprintf("  and %d more that nobody has given and that follow (--json has them all)", follows), "  ")
	}
	figures := cycleFigures()
	for _, group := range figures.Groups() {
		table = nil
		for _, f := range figures.In(group) {
			if f.Quiet || f.Name == "shots_per_charge" { // printCharges has both modes
				continue
			}
			name, like := f.Label, m.alike
			if !f.Whole {
				like = func(int) bool { return true }
			} else if m.mixed() {
				name += " ~"
			}
			table = append(table, m.line(name, f.Scale(), f.Digits, f.Unit, like, func(i int) (float64, string) {
				text := f.Shown(m.results[i])
				if text == "" {
					return math.NaN(), ""
				}
				if like(i) {
					text += " " + m.mark(f.Name, i)
				}
				return f.Value(m.results[i]), text
			}))
		}
		printTable(w, group, heads, table)
	}
	m.printCharges(w, heads)
	m.printSwitches(w, heads)
	table = [][]string{m.line("battery", 1, 3, "J", m.alike, func(i int) (float64, string) {
		v := m.results[i].Ledger.Battery
		return v, sig(v, 3, "J")
	})}
	for k, e := range m.results[0].Ledger.Rows() {
		row := func(i int) float64 {
			l := &m.results[i].Ledger
			if v := l.Rows()[k].Energy; math.IsNaN(v) || math.Abs(v) >= dust*l.Battery {
				return v
			}
			return 0 // what the books leave of sums
		}
		shown := false
		for i, r := range m.results {
			shown = shown || math.Abs(row(i)) >= 5e-5*r.Ledger.Battery
		}
		if shown {
			table = append(table, m.line("  "+ledgerNames()[e.Name].name, 1, 3, "J", m.alike, func(i int) (float64, string) { return row(i), sig(row(i), 3, "J") }))
		}
	}
	heading := "where a shot's energy goes"
	switch {
	case m.mixed():
		heading += " ~"
	case m.results[0].Status == cycle.Once:
		heading = "where the pull's energy goes"
	}
	printTable(w, heading, heads, table)
	if m.mixed() {
		fmt.Fprintln(w)
		fmt.Fprintln(w, wrap("  ~ ", "of a single it is that of the whole pull, with start and run-down, in automatic that of one steady shot: not compared between the two", screen, "    "))
	}
	m.printTarget(w, heads)
	m.printLegend(w)
}

// consequence tells that a difference only follows from others: nobody has given
// a value.
func consequence(d buildfile.Difference) bool {
	return !slices.ContainsFunc(d.Entries, func(c buildfile.Entry) bool { return c.Text != "" && !c.Assumed })
}

func (m *comparison) printTarget(w io.Writer, heads []string) {
	if m.judge < 0 {
		return
	}
	var table [][]string
	for k, v := range m.verdicts[0] {
		f, _ := study.FindFigure(v.Figure)
		line := []string{v.Figure + ", " + bounds(f.Kind, &v.Want)}
		for i := range m.results {
			v := m.verdicts[i][k]
			text := "missed, no figure"
			switch {
			case v.Fate == figure.Met:
				text = "met"
			case v.Fate == figure.Missed:
				text = "missed by " + study.Shown(f.Kind, v.Shortfall())
			case study.NotJudged(m.looks[i].Build, &v):
				text = "not in single"
			}
			line = append(line, text)
		}
		table = append(table, line)
	}
	printTable(w, fmt.Sprintf("the target of build %d", m.judge+1), heads, table)
}

// printLegend says what marks and brackets mean.
func (m *comparison) printLegend(w io.Writer) {
	text := "In brackets: against build 1. ! behind a build's number: it has a fault."
	if m.judge >= 0 {
		text += " * behind a figure: better by that target than build 1's. ! misses it."
	}
	fmt.Fprintln(w)
	fmt.Fprintln(w, wrap("  ", text, screen, "  "))
}

// alike tells whether build i was fired in the mode of the first, so that a figure of the
// whole pull in one of them can be held against the other's.
func (m *comparison) alike(i int) bool {
	return (m.results[i].Status == cycle.Once) == (m.results[0].Status == cycle.Once)
}

// mixed tells that some builds fire single and others automatic.
func (m *comparison) mixed() bool {
	for i := range m.results {
		if !m.alike(i) {
			return true
		}
	}
	return false
}

// printCharges shows what a full pack gives in each mode of fire.
func (m *comparison) printCharges(w io.Writer, heads []string) {
	all := make([]charge, len(m.looks))
	for i, x := range m.looks {
		all[i] = chargeOf(x)
	}
	line := func(name, asked string, value func(*charge) float64) []string {
		return m.line(name, 1, 3, "", func(int) bool { return true }, func(i int) (float64, string) {
			v, text := value(&all[i]), whole(value(&all[i]))
			if m.results[i].Status == cycle.Steady { // what a target asks for
				text += " " + m.mark(asked, i)
			}
			return v, text
		})
	}
	printTable(w, "what a full pack gives, its reserve left in it", heads, [][]string{
		line("shots in automatic", "shots_per_charge", func(c *charge) float64 { return c.automatic }),
		line("pulls in single", "", func(c *charge) float64 { return c.pulls }),
		line("pellets by these", "", (*charge).pellets),
	})
}

// line puts a figure of all builds into a row, with the differences from the
// first of those that are like it; nil where no build has it.
func (m *comparison) line(name string, scale float64, digits int, unit string, like func(i int) bool, cell func(i int) (float64, string)) []string {
	first, _ := cell(0)
	line, empty := []string{name}, true
	for i := range m.results {
		v, text := cell(i)
		if math.IsNaN(v) {
			line = append(line, "-")
			continue
		}
		empty = false
		text = strings.TrimRight(text, " ")
		if i > 0 && like(i) {
			text += change(scale*v, scale*first, digits, unit)
		}
		line = append(line, text)
	}
	if empty {
		return nil
	}
	return line
}

// mostTimes is from where on a difference says more than how many times as much it is.
const mostTimes = 1000

// change says how a value differs from the first one, both in the unit that is
// shown: in per cent, but in the unit itself where that says little, of shares, degrees and
// of figures that can lie below zero.
func change(v, first float64, digits int, unit string) string {
	if math.Abs(first) < dust {
		first = 0
	}
	switch {
	case math.IsNaN(first) || math.Abs(v-first) <= max(dust, 1e-9*math.Abs(v)):
		return ""
	case unit == "%" || unit == "°C" || v < 0 || first <= 0 || v > mostTimes*first:
		text, sign := sig(math.Abs(v-first), min(digits, 3), unit), "+"
		if v < first {
			sign = "-"
		}
		if unit == "%" {
			text = strings.TrimSuffix(text, "%") + "points"
		}
		return " (" + sign + text + ")"
	}
	share := 100 * (v - first) / first
	switch {
	case math.Abs(share) < 0.05:
		return ""
	case share >= 1000:
		return fmt.Sprintf(" (×%.3g)", v/first)
	}
	return fmt.Sprintf(" (%+.1f %%)", share)
}

func (m *comparison) json() object {
	var builds, differences, figures []object
	for i, r := range m.results {
		builds = append(builds, append(append(object{{"file", m.paths[i]}}, cycleJSON(r, m.verdicts[i], m.looks[i].Findings, nil)...), chargeJSON(m.looks[i])...))
	}
	for _, d := range m.differences {
		var values, assumed []any
		for _, c := range d.Entries {
			assumed = append(assumed, c.Assumed)
			if c.Text == "" {
				values = append(values, nil)
			} else {
				values = append(values, c.Text)
			}
		}
		differences = append(differences, object{{"key", d.Path}, {"values", values}, {"assumed", assumed}})
	}
	for _, f := range cycleFigures() {
		var values, diffs []number
		var better, missed []bool
		for i, r := range m.results {
			values = append(values, number(f.Value(r)))
			difference, mark := f.Value(r)-f.Value(m.results[0]), m.mark(f.Name, i)
			if f.Whole && !m.alike(i) {
				difference, mark = math.NaN(), strings.ReplaceAll(mark, "*", "")
			}
			diffs = append(diffs, number(difference))
			better = append(better, strings.Contains(mark, "*"))
			missed = append(missed, strings.Contains(mark, "!"))
		}
		figures = append(figures, object{{"what", f.Key()}, {"values", values}, {"from_first", diffs}, {"better", better}, {"missed", missed}})
	}
	figures = append(figures, m.switchesJSON()...)
	if differences == nil {
		differences = []object{}
	}
	var judge any
	if m.judge >= 0 {
		judge = m.paths[m.judge]
	}
	return object{{"format", 1}, {"differences", differences}, {"target_of", judge}, {"faults", m.faults()}, {"figures", figures}, {"builds", builds}}
}
