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

func cycleCommand() *cobra.Command {
	var s shared
	var explain bool
	var batch string
	var accuracy float64
	var over string
	var shots shotFlags
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
  ampstroke cycle rifle.yaml --batch study.jsonl > results.jsonl
  ampstroke cycle rifle.yaml --json --strict > result.json`,
		Args:              oneBuild,
		ValidArgsFunction: yamlFiles,
		RunE: func(c *cobra.Command, args []string) error {
			if err := s.check(); err != nil {
				return err
			}
			axis, ok := map[string]chart.Axis{"time": chart.OverTime, "angle": chart.OverAngle}[over]
			if !ok {
				return bad(fmt.Errorf("--over: %q; wanted time or angle", over))
			}
			if c.Flags().Changed("over") && s.plot == "" {
				return bad(errors.New("--over: says what --plot draws over; wanted --plot FILE beside it"))
			}
			if batch == fromStdin && slices.Contains(args, fromStdin) {
				return bad(errors.New("--batch: the build comes from standard input (-) already; wanted a file for one of the two"))
			}
			if err := shots.check(); err != nil {
				return err
			}
			d, err := s.document(args)
			if err != nil {
				return err
			}
			if batch != "" {
				if s.plot != "" || s.trace != "" || s.strict || explain || shots.any() {
					return bad(errors.New("--batch: goes with --set and --accuracy alone; it writes a line of JSON for each build"))
				}
				settings := cycle.Settings{Flight: accuracy}
				if err := settings.Validate(); err != nil || c.Flags().Changed("accuracy") && accuracy == 0 {
					return bad(fmt.Errorf("--accuracy: %v; wanted 1e-12 to 1e-3", accuracy))
				}
				return runBatch(c, batch, d, settings)
			}
			if c.Flags().Changed("accuracy") {
				return bad(errors.New("--accuracy: goes with --batch alone"))
			}
			x, err := study.Examine(c.Context(), d.Build, d.Target, cycle.Settings{})
			if err != nil {
				return err
			}
			r, verdict := x.Cycle, x.Verdicts
			if err := c.Context().Err(); err != nil {
				return err
			}
			if err := shots.compute(c.Context(), r); err != nil {
				return err
			}
			if s.plot != "" {
				p := func() *chart.Picture { return chart.CycleOver(r, axis) }
				if shots.result != nil {
					p = func() *chart.Picture { return chart.Match(r.Build, shots.result) }
				}
				if err := s.picture(c, p); err != nil {
					return err
				}
			}
			if err := shots.pictures(c, r); err != nil {
				return err
			}
			if s.trace != "" {
				if err := write(c, s.trace, r.WriteCSV); err != nil {
					return err
				}
			}
			if s.json {
				var assumed []buildfile.Assumption
				if explain {
					assumed = append([]buildfile.Assumption{}, d.Assumed()...)
				}
				err = printJSON(c.OutOrStdout(), append(cycleJSON(r, verdict, x.Findings, assumed), append(chargeJSON(x), shots.json()...)...))
			} else {
				printCycle(c.OutOrStdout(), x)
				shots.print(c.OutOrStdout(), r)
				if explain {
					printAssumed(c.OutOrStdout(), d.Assumed())
				}
				printCautions(c.OutOrStdout())
			}
			if err != nil {
				return err
			}
			if s.strict && fails(verdict, x.Findings) {
				return &failure{missed, errMissed}
			}
			return nil
		},
	}
	s.add(c)
	c.Flags().StringVar(&batch, "batch", "", "fire once for each line of overrides in `FILE.jsonl`, or - for standard input, and write a line of JSON for each")
	reads(c, "batch")
	c.Flags().Float64Var(&accuracy, "accuracy", 0, "relative accuracy `NUMBER` of the flights of a batch, 1e-12 to 1e-3 (default 1e-6); they take most of the time")
	c.Flags().BoolVar(&explain, "explain", false, "list what the build file leaves out and is assumed")
	shots.add(c)
	c.Flags().StringVar(&over, "over", "time", "draw the picture over `AXIS`: time or angle")
	_ = c.RegisterFlagCompletionFunc("over", cobra.FixedCompletions([]string{"time", "angle"}, cobra.ShellCompDirectiveNoFileComp))
	return c
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
	names := ledgerNames()
	what, heading := "chemical energy of one steady shot", "where a shot's energy goes"
	if r.Status == cycle.Once {
		what, heading = "chemical energy from closing the switch to rest", "where the pull's energy goes"
	}
	rows := []row{{"battery", joule(l.Battery, l.Battery), what}}
	for _, e := range l.Rows() {
		n := names[e.Name]
		if !math.IsNaN(e.Energy) && math.Abs(e.Energy) >= 5e-5*l.Battery {
			rows = append(rows, row{"  " + n.name, joule(e.Energy, l.Battery), n.note})
		}
	}
	printRows(w, heading, rows)
}

// ledgerNames are what people call the rows of a ledger.
func ledgerNames() map[string]row {
	return map[string]row{
		"winding": {name: "winding"}, "brush": {name: "brushes"}, "motor_drag": {name: "motor drag"}, "pack": {name: "pack"},
		"leads": {name: "leads"}, "connectors": {name: "connectors"}, "switch": {name: "switch"},
		"mesh": {name: "gear meshes"}, "tappet": {name: "tappet"}, "pickup": {name: "pickup", note: "lost when the sector meets the rack"},
		"piston_drag": {name: "piston drag"}, "impact": {name: "piston impact"},
		"air": {name: "air", note: "warmed, pushed out and past the seals"}, "walls": {name: "heat to the walls", note: "of cylinder and barrel"}, "surge": {name: "left in the spring's coils", note: "and lost in its guide"}, "barrel": {name: "hop and barrel drag"}, "pellet": {name: "pellet", note: "at the muzzle"},
		"stored": {name: "stored", note: "in what still turns, the pack and a pulled spring"},
	}
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
		rows = append(rows, row{v.Figure, value, bounds(f.Kind, &v.Want) + ": " + note})
	}
	printRows(w, "target", rows)
}

func printAssumed(w io.Writer, assumed []buildfile.Assumption) {
	var rows []row
	for _, a := range assumed {
		rows = append(rows, row{a.Path, brief(a.Text), a.Why})
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
