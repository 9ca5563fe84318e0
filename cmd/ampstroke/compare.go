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
			for i, x := range m.Looks {
				fault = fault || fails(m.Verdicts[i], x.Findings) || fails(x.Verdicts, x.Findings)
			}
			return s.deliver(c, &report{
				picture: func() (*chart.Picture, error) { return chart.Compare(m.Results, m.Faults()...) },
				trace:   func(w io.Writer) error { return cycle.WriteCSV(w, m.Results) },
				json:    m.json,
				print:   m.print,
				failed:  missing(fault),
			})
		},
	}
	s.add(c)
	return c
}

// comparison is builds side by side, each of a file.
type comparison struct {
	*study.Comparison
	paths []string
}

func compare(c *cobra.Command, s *shared, paths []string) (*comparison, error) {
	documents, err := s.documents(c.Context(), paths)
	if err != nil {
		return nil, err
	}
	m, err := study.Compare(c.Context(), documents, cycle.Settings{})
	if of := new(study.OfBuild); errors.As(err, &of) {
		err = fmt.Errorf("%s: %w", paths[of.Build], of.Err)
	}
	return &comparison{m, paths}, err
}

// head is how build i is called in tables, with ! where it has a fault.
func (m *comparison) head(i int) string {
	if m.Looks[i].Findings.Broken() {
		return strconv.Itoa(i+1) + "!"
	}
	return strconv.Itoa(i + 1)
}

// mark shows what the target makes of a figure of build i: "*" better than the
// first build's, "!" missed, both or "".
func (m *comparison) mark(name string, i int) (text string) {
	better, missed := m.Mark(name, i)
	if better {
		text = "*"
	}
	if missed {
		text += "!"
	}
	return text
}

// targets are the lines that say what build i makes of the target by which all are
// judged, and of its own where that is another.
func (m *comparison) targets(i int) [][2]string {
	lines := [][2]string{targetLine(m.Looks[i].Build, m.Verdicts[i])}
	if m.Own(i) {
		own := targetLine(m.Looks[i].Build, m.Looks[i].Verdicts)
		lines = append(lines, [2]string{"its own " + own[0], own[1]})
	}
	return lines
}

func (m *comparison) print(w io.Writer) {
	fmt.Fprintf(w, "%d builds side by side\n\n", len(m.Results))
	for i, r := range m.Results {
		text := fmt.Sprintf("%s (%s)", r.Build.Name, m.paths[i])
		if r.Status == cycle.Stall {
			text += ": the motor stalls"
		}
		fmt.Fprintln(w, wrap("  "+m.head(i)+"  ", text, columns(w), "     "))
	}
	for i, x := range m.Looks {
		printFindings(w, "  "+m.head(i)+"  ", x.Findings, m.targets(i)...)
	}
	heads := []string{""}
	for i := range m.Results {
		heads = append(heads, m.head(i))
	}
	var table [][]string
	follows := 0
	for _, d := range m.Differences {
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
				line = append(line, figure.Brief(c.Text)+" (assumed)")
			default:
				line = append(line, c.Text)
			}
		}
		table = append(table, line)
	}
	if len(m.Differences) == 0 {
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
			name, like := f.Label, m.Alike
			if !f.Whole {
				like = func(int) bool { return true }
			} else if m.Mixed() {
				name += " ~"
			}
			table = append(table, m.line(name, f.Scale(), f.Digits, f.Unit, like, func(i int) (float64, string) {
				text := f.Shown(m.Results[i])
				if text == "" {
					return math.NaN(), ""
				}
				if like(i) {
					text += " " + m.mark(f.Name, i)
				}
				return f.Value(m.Results[i]), text
			}))
		}
		printTable(w, group, heads, table)
	}
	m.printCharges(w, heads)
	m.printSwitches(w, heads)
	table = [][]string{m.line("battery", 1, 3, "J", m.Alike, func(i int) (float64, string) {
		v := m.Results[i].Ledger.Battery
		return v, sig(v, 3, "J")
	})}
	for k, e := range m.Results[0].Ledger.Rows() {
		row := func(i int) float64 {
			l := &m.Results[i].Ledger
			if v := l.Rows()[k].Energy; math.IsNaN(v) || math.Abs(v) >= figure.Dust*l.Battery {
				return v
			}
			return 0 // what the books leave of sums
		}
		shown := false
		for i, r := range m.Results {
			shown = shown || math.Abs(row(i)) >= 5e-5*r.Ledger.Battery
		}
		if shown {
			table = append(table, m.line("  "+e.Label(), 1, 3, "J", m.Alike, func(i int) (float64, string) { return row(i), sig(row(i), 3, "J") }))
		}
	}
	heading := "where a shot's energy goes"
	switch {
	case m.Mixed():
		heading += " ~"
	case m.Results[0].Status == cycle.Once:
		heading = "where the pull's energy goes"
	}
	printTable(w, heading, heads, table)
	if m.Mixed() {
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
	if m.Judge < 0 {
		return
	}
	var table [][]string
	for k, v := range m.Verdicts[0] {
		f, _ := study.FindFigure(v.Figure)
		line := []string{v.Figure + ", " + study.Asked(f.Kind, &v.Want)}
		for i := range m.Results {
			v := m.Verdicts[i][k]
			text := "missed, no figure"
			switch {
			case v.Fate == figure.Met:
				text = "met"
			case v.Fate == figure.Missed:
				text = "missed by " + study.Shown(f.Kind, v.Shortfall())
			case study.NotJudged(m.Looks[i].Build, &v):
				text = "not in single"
			}
			line = append(line, text)
		}
		table = append(table, line)
	}
	printTable(w, fmt.Sprintf("the target of build %d", m.Judge+1), heads, table)
}

// printLegend says what marks and brackets mean.
func (m *comparison) printLegend(w io.Writer) {
	text := "In brackets: against build 1. ! behind a build's number: it has a fault."
	if m.Judge >= 0 {
		text += " * behind a figure: better by that target than build 1's. ! misses it."
	}
	fmt.Fprintln(w)
	fmt.Fprintln(w, wrap("  ", text, screen, "  "))
}

// printCharges shows what a full pack gives in each mode of fire.
func (m *comparison) printCharges(w io.Writer, heads []string) {
	all := make([]charge, len(m.Looks))
	for i, x := range m.Looks {
		all[i] = chargeOf(x)
	}
	line := func(name, asked string, value func(*charge) float64) []string {
		return m.line(name, 1, 3, "", func(int) bool { return true }, func(i int) (float64, string) {
			v, text := value(&all[i]), whole(value(&all[i]))
			if m.Results[i].Status == cycle.Steady { // what a target asks for
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
	for i := range m.Results {
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

// change is what stands in brackets behind a value that differs from the first one.
func change(v, first float64, digits int, unit string) string {
	if text := figure.Change(v, first, digits, unit); text != "" {
		return " (" + text + ")"
	}
	return ""
}

func (m *comparison) json() object {
	var builds, differences, figures []object
	for i, r := range m.Results {
		builds = append(builds, append(append(object{{"file", m.paths[i]}}, cycleJSON(r, m.Verdicts[i], m.Looks[i].Findings, nil)...), chargeJSON(m.Looks[i])...))
	}
	for _, d := range m.Differences {
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
		for i, r := range m.Results {
			values = append(values, number(f.Value(r)))
			difference, mark := f.Value(r)-f.Value(m.Results[0]), m.mark(f.Name, i)
			if f.Whole && !m.Alike(i) {
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
	if m.Judge >= 0 {
		judge = m.paths[m.Judge]
	}
	return object{{"format", 1}, {"differences", differences}, {"target_of", judge}, {"faults", m.Faults()}, {"figures", figures}, {"builds", builds}}
}
