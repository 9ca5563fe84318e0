package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/fit"
	"example.org/ampstroke/drivetrain/quantity"
)

// errDoubted says that --strict was not met by a fit; the verdict has been printed.
var errDoubted = errors.New("readings and build don't agree, a reading is in doubt, or the corrected build misses the target (--strict)")

func fitCommand() *cobra.Command {
	var s shared
	var settings fit.Settings
	var after string
	c := &cobra.Command{
		Use:   "fit BUILD READINGS",
		Short: "a build corrected by bench readings, and what they can't tell",
		Long: `fit moves what is unknown of a build (losses, magnets, resistances, and whatever
it states with a ±) by as little as needed to agree with readings of the bench:
rate of fire, chronograph, no-load and stall current. It says how well each is
known then, what the readings can't tell, whether they agree at all, and which
one to take next. READINGS is a YAML file such as

  name: Bench evening
  instruments: {chronograph: 1.5 %}    # ± of its scale
  readings:
  - {figure: no_load_speed, value: 14810 rpm ± 150 rpm, supply: 7.4 V}
  - {figure: rate_of_fire, value: 21.1 /s ± 0.2 /s, times: 3}
  - figure: muzzle_velocity
    value: 96.4 m/s ± 1.4 m/s
    times: 10
    instrument: chronograph
    with: {pellet.mass: 0.28 g}
  free: [spring.rate, {key: gears.efficiency, prior: 78 % ± 6 %}]  # optional
  candidates: [{figure: inrush, value: ± 5 %}]                     # optional

A figure is one of cycle --json by its name without the unit, or, with supply,
of the motor alone: no_load_speed, no_load_current, stall_current, stall_torque,
resistance, ke. Every ± is two standard deviations of one taking; times says of
how many value is the mean. Without free, all usual unknowns that the readings
see may move.`,
		Example: `  ampstroke fit rifle.yaml evening.yaml
  ampstroke fit rifle.yaml evening.yaml --plot fit.png --after corrected.yaml
  ampstroke spread corrected.yaml
  ampstroke fit rifle.yaml evening.yaml --target muzzle_velocity --leave-out
  ampstroke fit rifle.yaml evening.yaml --robust --hold motor.drag.viscous`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return fmt.Errorf("%d files are given; wanted a build file and a file of readings", len(args))
			}
			return nil
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 1 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return []string{"yaml", "yml"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(c *cobra.Command, args []string) error {
			if err := s.check(); err != nil {
				return err
			}
			if err := checkAfter(after); err != nil {
				return err
			}
			if settings.Starts < 1 || settings.Starts > mostStarts {
				return bad(fmt.Errorf("--starts: %d is out of range; wanted 1 to %d", settings.Starts, mostStarts))
			}
			d, err := s.document(args[:1])
			if err != nil {
				return err
			}
			r, err := within(c.Context(), func() (*buildfile.Readings, error) { return buildfile.ReadReadings(args[1]) })
			if err != nil {
				return bad(err)
			}
			var course fit.Course
			if s.trace != "" {
				course.Record(&settings)
			}
			bar := progress(c.ErrOrStderr(), c.OutOrStdout(), func() int { return -1 }, "simulations")
			settings.Progress = func() { _ = bar.Add(1) }
			res, err := fit.Run(c.Context(), d, r, settings)
			_ = bar.Finish()
			switch {
			case errors.As(err, new(*quantity.Fault)):
				return bad(err)
			case err != nil:
				return err
			}
			var corrected []byte
			if after != "" {
				if corrected, err = corrects(d, res, args[1]); err != nil {
					return err
				}
			}
			rep := &report{
				picture: func() (*chart.Picture, error) { return chart.Fit(d.Build.Name, r.Name, res) },
				also:    []also{{path: after, text: corrected}},
				trace:   course.WriteCSV,
				json:    func() object { return fitJSON(d, r, res) },
				print:   func(w io.Writer) { printFit(w, d, r, res) },
			}
			if res.Doubted() || len(res.Missed()) > 0 {
				rep.failed = errDoubted
			}
			return s.deliver(c, rep)
		},
	}
	s.add(c)
	f := c.Flags()
	f.Lookup("trace").Usage = "write the steps of the search to `FILE.csv`"
	f.Lookup("strict").Usage = "exit with status 1 if readings and build don't agree, a reading is in doubt, or the target is missed after"
	f.StringVar(&after, "after", "", "write the corrected build, each value with its ±, to `FILE.yaml`, ready for spread")
	writes(c, "after")
	f.BoolVar(&settings.LeaveOut, "leave-out", false, "also predict each reading from all others")
	f.BoolVar(&settings.Robust, "robust", false, "let readings that lie far off count less (Huber)")
	f.IntVar(&settings.Starts, "starts", 1, "search from so many places, and say whether they end in one")
	f.StringVar(&settings.Target, "target", "", "the figure or unknown that the next reading is to tell of (the build's first target)")
	f.StringArrayVar(&settings.Hold, "hold", nil, "keep the value of `KEY`; can be repeated")
	_ = c.RegisterFlagCompletionFunc("after", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return []string{"yaml", "yml"}, cobra.ShellCompDirectiveFilterFileExt
	})
	return c
}

// mostStarts bounds the searches of one fit.
const mostStarts = 1000

// corrects returns the text of the corrected build.
func corrects(d *buildfile.Document, r *fit.Result, readings string) ([]byte, error) {
	after, err := r.Corrected(d, filepath.Base(readings), time.Now())
	if err != nil {
		return nil, err
	}
	return after.Bytes()
}
