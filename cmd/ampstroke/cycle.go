package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/study"
)

// cycleFlags are those of the cycle command.
type cycleFlags struct {
	shared
	explain  bool
	batch    string
	accuracy float64
	over     string
	shots    shotFlags
	sweep    sweepFlags
}

func cycleCommand() *cobra.Command {
	var s cycleFlags
	c := &cobra.Command{
		Use:   "cycle [BUILD]",
		Short: "first shot, steady cycle: rate of fire, velocity, current, energy",
		Long: `cycle fires a build. In automatic: the first shot from rest and the cycle that
repeats after it, with the flight of piston and pellet, and a burst where
trigger.rounds asks for one. In single: one pull, from closing the switch until
the train stands behind the cut-off, and what the next shot finds there. BUILD
is a build file, or - for standard input; left out, the embedded demo is used.`,
		Example: `  ampstroke cycle --plot cycle.png
  ampstroke cycle rifle.yaml --set motor.armature.turns=22
  ampstroke cycle rifle.yaml --flight flight.png --pellets "0.20 g, 0.25 g"
  ampstroke cycle rifle.yaml --match --plot match.png
  ampstroke cycle rifle.yaml --set trigger.mode=single --delays delays.png
  ampstroke cycle rifle.yaml --vary motor.armature.turns=20..32 --plot turns.png
  ampstroke cycle rifle.yaml --batch study.jsonl > results.jsonl
  ampstroke cycle rifle.yaml --json --strict > result.json`,
		Args:              oneBuild,
		ValidArgsFunction: yamlFiles,
		RunE:              func(c *cobra.Command, args []string) error { return s.run(c, args) },
	}
	s.add(c)
	c.Flags().StringVar(&s.batch, "batch", "", "fire once for each line of overrides in `FILE.jsonl`, or - for standard input, and write a line of JSON for each")
	reads(c, "batch")
	c.Flags().Float64Var(&s.accuracy, "accuracy", 0, "relative accuracy `NUMBER` of the flights of a batch, 1e-12 to 1e-3 (default 1e-6); they take most of the time")
	c.Flags().BoolVar(&s.explain, "explain", false, "list what the build file leaves out and is assumed")
	s.shots.add(c)
	s.sweep.add(c)
	c.Flags().StringVar(&s.over, "over", "time", "draw the picture over `AXIS`: time or angle")
	_ = c.RegisterFlagCompletionFunc("over", cobra.FixedCompletions([]string{"time", "angle"}, cobra.ShellCompDirectiveNoFileComp))
	return c
}

// axes are what --plot may draw over.
var axes = map[string]chart.Axis{"time": chart.OverTime, "angle": chart.OverAngle}

// check looks at the flags, before any work is done.
func (s *cycleFlags) check(c *cobra.Command, args []string) error {
	if err := s.shared.check(); err != nil {
		return err
	}
	if _, ok := axes[s.over]; !ok {
		return bad(fmt.Errorf("--over: %q; wanted time or angle", s.over))
	}
	if c.Flags().Changed("over") && s.plot == "" {
		return bad(errors.New("--over: says what --plot draws over; wanted --plot FILE beside it"))
	}
	if s.batch == fromStdin && slices.Contains(args, fromStdin) {
		return bad(errors.New("--batch: the build comes from standard input (-) already; wanted a file for one of the two"))
	}
	if err := s.shots.check(); err != nil {
		return err
	}
	if s.sweep.any() && (s.batch != "" || s.explain || s.shots.any() || c.Flags().Changed("over") || c.Flags().Changed("accuracy")) {
		return bad(errors.New("--vary: goes with --show, --set, --plot, --trace, --json and --strict alone"))
	}
	return bad(s.sweep.check())
}

func (s *cycleFlags) run(c *cobra.Command, args []string) error {
	if err := s.check(c, args); err != nil {
		return err
	}
	d, err := s.document(args)
	if err != nil {
		return err
	}
	if s.batch != "" {
		return s.runBatch(c, d)
	}
	if s.sweep.any() {
		return s.sweep.run(c, &s.shared, d)
	}
	if c.Flags().Changed("accuracy") {
		return bad(errors.New("--accuracy: goes with --batch alone"))
	}
	x, err := study.Examine(c.Context(), d.Build, d.Target, cycle.Settings{})
	if err != nil {
		return err
	}
	if err := c.Context().Err(); err != nil {
		return err
	}
	r := x.Cycle
	if err := s.shots.compute(c.Context(), r); err != nil {
		return err
	}
	return s.deliver(c, &report{
		picture: func() (*chart.Picture, error) {
			if s.shots.result != nil {
				return chart.Match(r.Build, s.shots.result)
			}
			return chart.CycleOver(r, axes[s.over])
		},
		also:  s.shots.pictures(r),
		trace: r.WriteCSV,
		json: func() object {
			var assumed []buildfile.Assumption
			if s.explain {
				assumed = append([]buildfile.Assumption{}, d.Assumed()...)
			}
			return append(cycleJSON(r, x.Verdicts, x.Findings, assumed), append(chargeJSON(x), s.shots.json()...)...)
		},
		print: func(w io.Writer) {
			printCycle(w, x)
			s.shots.print(w, r)
			if s.explain {
				printAssumed(w, d.Assumed())
			}
		},
		failed: missing(fails(x.Verdicts, x.Findings)),
	})
}

// runBatch fires a build once for each line of overrides.
func (s *cycleFlags) runBatch(c *cobra.Command, d *buildfile.Document) error {
	if s.plot != "" || s.trace != "" || s.strict || s.explain || s.shots.any() {
		return bad(errors.New("--batch: goes with --set and --accuracy alone; it writes a line of JSON for each build"))
	}
	settings := cycle.Settings{Flight: s.accuracy}
	if err := settings.Validate(); err != nil || c.Flags().Changed("accuracy") && s.accuracy == 0 {
		return bad(fmt.Errorf("--accuracy: %v; wanted 1e-12 to 1e-3", s.accuracy))
	}
	return runBatch(c, s.batch, d, settings)
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func printCycle(w io.Writer, x *study.Examination) {
	r := x.Cycle
	what := fmt.Sprintf("%.1f rounds a second", r.Summary.RateOfFire)
	switch r.Status {
	case cycle.Stall:
		what = "the motor stalls"
	case cycle.Once:
		what = fmt.Sprintf("%s, at rest after %.0f ms", counted(len(r.Pull.Releases), "shot"), 1e3*r.Pull.Rest)
	}
	say(w, fmt.Sprintf("%s: %s fire, %s", r.Build.Name, r.Build.Trigger.Mode, what), "  ")
	printFindings(w, "", x.Findings, targetLine(x.Build, x.Verdicts))
	figures := slices.DeleteFunc(cycleFigures(), func(f figure.Of[*cycle.Result]) bool { return f.Name == "shots_per_charge" }) // printCharge has both modes
	printFigures(func(heading string, rows []row) { printRows(w, heading, rows) }, figures, r)
	printCharge(w, x)
	printLedger(w, r)
	printVerdict(w, r, x.Verdicts)
}

func printLedger(w io.Writer, r *cycle.Result) {
	if r.Status == cycle.Stall {
		return
	}
	l := &r.Ledger
	what, heading := "chemical energy of one steady shot", "where a shot's energy goes"
	if r.Status == cycle.Once {
		what, heading = "chemical energy from closing the switch to rest", "where the pull's energy goes"
	}
	rows := []row{{"battery", joule(l.Battery, l.Battery), what}}
	for _, e := range l.Rows() {
		if !math.IsNaN(e.Energy) && math.Abs(e.Energy) >= 5e-5*l.Battery {
			rows = append(rows, row{"  " + e.Label(), joule(e.Energy, l.Battery), e.Note()})
		}
	}
	printRows(w, heading, rows)
}

func joule(v, of float64) string { return fmt.Sprintf("%.3f J %5.1f %%", v, 100*v/of) }

func printVerdict(w io.Writer, r *cycle.Result, verdict []figure.Verdict) {
	var rows []row
	for _, v := range verdict {
		f, _ := study.FindFigure(v.Figure)
		value, note := study.Shown(f.Kind, v.Value), "met"
		switch v.Fate {
		case figure.Missed:
			note = "MISSED by " + study.Shown(f.Kind, v.Shortfall())
		case figure.NoFigure:
			value, note = "none", "MISSED, the build doesn't come to it"
			switch {
			case study.NotJudged(r.Build, &v):
				note = "single fire has no such figure"
			case r.Status == cycle.Stall:
				note = "MISSED, the gun does not fire"
			}
		}
		rows = append(rows, row{v.Figure, value, study.Asked(f.Kind, &v.Want) + ": " + note})
	}
	printRows(w, "target", rows)
}

func printAssumed(w io.Writer, assumed []buildfile.Assumption) {
	var rows []row
	for _, a := range assumed {
		rows = append(rows, row{a.Path, figure.Brief(a.Text), a.Why})
	}
	if len(rows) == 0 {
		fmt.Fprintln(w, "\nnothing is assumed: the build file says all")
		return
	}
	printRows(w, "assumed, because the build file leaves it out", rows)
}

func printCautions(w io.Writer) {
	fmt.Fprintln(w, "\ncautions")
	for _, c := range cautions() {
		fmt.Fprintln(w, wrap("  - ", c, screen, "    "))
	}
}
