package main

import (
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/spread"
)

func spreadCommand() *cobra.Command {
	var s shared
	var q spread.Question
	var settings spread.Settings
	var typical bool
	var reach float64
	c := &cobra.Command{
		Use:   "spread [BUILD]",
		Short: "will it still meet the wish with real parts, and what drives it",
		Long: `spread fires thousands of guns built from BUILD, whose parts differ as far as
their tolerances let them (45 mm ± 1 mm in the build file, two standard
deviations): how far the figures spread, how many guns meet the target and stay
whole, which tolerance decides it, how much one gun scatters from shot to shot,
and what to tighten or to shift so that nearly all meet it. BUILD is a build
file, or - for standard input; left out, the embedded demo is used.`,
		Example: `  ampstroke spread rifle.yaml --plot spread.png
  ampstroke spread rifle.yaml --tolerance "spring.rate=± 2 %" --reach 99
  ampstroke spread rifle.yaml --typical --draws 65536 --drivers 16384
  ampstroke spread rifle.yaml --figure time_to_home --trace draws.csv`,
		Args:              oneBuild,
		ValidArgsFunction: yamlFiles,
		RunE: func(c *cobra.Command, args []string) error {
			if err := s.check(); err != nil {
				return err
			}
			if err := settings.Validate(); err != nil {
				return bad(flagged(err))
			}
			if !(reach >= 0 && reach < 100) {
				return bad(fmt.Errorf("--reach: %g %% is out of range; wanted 0 to less than 100", reach))
			}
			d, err := s.document(args)
			if err != nil {
				return err
			}
			q.Document, q.Reach = d, reach/100
			if c.Flags().Changed("typical") {
				q.Typical = spread.Never
				if typical {
					q.Typical = spread.Always
				}
			}
			bar := progress(c.ErrOrStderr(), c.OutOrStdout(), func() int { return settings.Draws }, "guns")
			settings.Progress = func(done, all int) {
				bar.ChangeMax(all)
				_ = bar.Set(done)
			}
			if settings.Drivers == 0 && c.Flags().Changed("drivers") {
				settings.Drivers = -1
			}
			r, err := spread.Run(c.Context(), q, settings)
			_ = bar.Finish()
			if err != nil {
				return spreadFault(err)
			}
			var few error
			if r.Sound.Value < q.Reach {
				few = fmt.Errorf("%.1f of 100 such guns are sound; %.4g are wanted", 100*r.Sound.Value, reach)
			}
			return s.deliver(c, &report{
				picture: func() (*chart.Picture, error) { return chart.Spread(r) },
				trace:   r.WriteCSV,
				json:    func() object { return spreadJSON(r) },
				print:   func(w io.Writer) { printSpread(w, r) },
				failed:  few,
			})
		},
	}
	s.add(c)
	f := c.Flags()
	f.Lookup("trace").Usage = "write the guns that were fired, a row each, to `FILE.csv`"
	f.Lookup("strict").Usage = "exit with status 1 if fewer guns are sound than --reach"
	f.IntVar(&settings.Draws, "draws", 8192, "fire `N` guns, a power of two times 8")
	f.IntVar(&settings.Drivers, "drivers", 0, "find out what drives the figures from `M` of the guns, 0: don't (default a quarter of them)")
	f.Uint64Var(&settings.Seed, "seed", 1, "draw other guns by another `NUMBER`")
	f.StringArrayVar(&q.Tolerances, "tolerance", nil, "replace or add one tolerance, `key=± y`, in the key's unit or %; ± 0 takes it out; can be repeated")
	f.BoolVar(&typical, "typical", false, "give keys without a tolerance a typical one; implied where BUILD states none")
	f.StringArrayVar(&q.Figures, "figure", nil, "look at another figure by its `NAME` too; can be repeated")
	f.StringSliceVar(&q.EachShot, "each-shot", nil, "`KEYS` that differ from shot to shot (default those of the pellet)")
	f.Float64Var(&reach, "reach", 95, "look for what brings so many `PER_CENT` of the guns to be sound, 0: don't")
	return c
}

// flagged puts flags in place of the names of settings.
func flagged(err error) error {
	var all []error
	for _, f := range quantity.Faults(err) {
		all = append(all, fmt.Errorf("--%s: %s", f.Field, f.Text))
	}
	return errors.Join(all...)
}

// spreadFault gives an error of the question its exit status.
func spreadFault(err error) error {
	if errors.Is(err, spread.ErrNothingVaries) || errors.Is(err, spread.ErrAllMisfit) || errors.As(err, new(*quantity.Fault)) {
		return bad(err)
	}
	return err
}

func spreadJSON(r *spread.Result) object {
	tolerances := []object{}
	for _, k := range r.Keys {
		tolerances = append(tolerances, object{
			{"key", k.Path}, {"value", number(k.Value)}, {"sd", number(k.SD)}, {"low", number(k.Low)}, {"high", number(k.High)},
			{"typical", k.Typical}, {"whole", k.Whole}, {"each_shot", k.Shot},
		})
	}
	wants := []object{}
	for _, w := range r.Wants {
		o := object{{"what", w.Figure}, {"min", boundJSON(w.Min.At, w.Min.Given)}, {"max", boundJSON(w.Max.At, w.Max.Given)}}
		wants = append(wants, append(o, shareJSON(w.Share)...))
	}
	misfits := []object{}
	for _, m := range r.Misfits {
		misfits = append(misfits, object{{"key", m.Key}, {"draws", m.Draws}, {"text", m.Text}})
	}
	figures, names := []object{}, []string{}
	for i := range r.Figures {
		f := &r.Figures[i]
		names = append(names, f.Key())
		percentiles, errs := object{}, object{}
		for p, percent := range spread.Percents() {
			percentiles = append(percentiles, member{fmt.Sprint(percent), number(f.Percentiles[p].Value)})
			errs = append(errs, member{fmt.Sprint(percent), number(f.Percentiles[p].SE)})
		}
		var drivers any
		if f.Drivers != nil {
			drivers = driversJSON(r, f.Drivers)
		}
		figures = append(figures, object{
			{"figure", f.Key()}, {"exists", number(f.Exists.Value)},
			{"mean", number(f.Mean.Value)}, {"mean_se", number(f.Mean.SE)}, {"sd", number(f.SD.Value)}, {"sd_se", number(f.SD.SE)},
			{"percentiles", percentiles}, {"percentile_se", errs},
			{"shot_sd", number(f.WithinSD.Value)}, {"gun_sd", number(f.BetweenSD.Value)}, {"drivers", drivers},
		})
	}
	matrix := [][]number{}
	for _, row := range r.Correlation {
		line := []number{}
		for _, v := range row {
			line = append(line, number(v))
		}
		matrix = append(matrix, line)
	}
	return object{
		{"format", 1}, {"build", r.Build.Name}, {"draws", r.Settings.Draws}, {"replicates", r.Settings.Replicates},
		{"seed", r.Settings.Seed}, {"evaluations", r.Evaluations}, {"tolerances", tolerances},
		{"meets", shareJSON(r.Meets)}, {"sound", shareJSON(r.Sound)}, {"wants", wants},
		{"failures", codesJSON(r.Failures)}, {"warnings", codesJSON(r.Warnings)}, {"misfits", misfits},
		{"figures", figures},
		{"drivers", object{{"meets", driversJSON(r, r.MeetsDrivers)}, {"sound", driversJSON(r, r.SoundDrivers)}}},
		{"correlation", object{{"figures", names}, {"matrix", matrix}}},
		{"reach", reachJSON(r)},
		{"warnings_of_build", findingsJSON(r.Nominal.Findings)},
		{"cautions", cautions()},
	}
}

// boundJSON is the edge of what is good, null for none.
func boundJSON(at float64, given bool) any {
	if !given {
		return nil
	}
	return number(at)
}

func shareJSON(s spread.Share) object {
	return object{{"share", number(s.Value)}, {"se", number(s.SE)}, {"low", number(s.Low)}, {"high", number(s.High)}}
}

func codesJSON(all []spread.CodeShare) []object {
	list := []object{}
	for _, c := range all {
		list = append(list, append(object{{"code", c.Code}}, shareJSON(c.Share)...))
	}
	return list
}

func driversJSON(r *spread.Result, all []spread.Driver) []object {
	list := []object{}
	for i, d := range all {
		list = append(list, object{
			{"key", r.Keys[i].Path}, {"first", number(d.First.Value)}, {"first_se", number(d.First.SE)},
			{"total", number(d.Total.Value)}, {"total_se", number(d.Total.SE)},
		})
	}
	return list
}

func reachJSON(r *spread.Result) any {
	if r.Reach == nil {
		return nil
	}
	h := r.Reach
	fits, alone, steps := []object{}, []object{}, []object{}
	for i := range h.Surrogate {
		fits = append(fits, object{{"figure", h.Surrogate[i].Key()}, {"r2", number(h.Surrogate[i].R2)}})
	}
	for _, a := range h.Alone {
		alone = append(alone, object{
			{"key", r.Keys[a.Key].Path}, {"tighten", number(a.Tighten)}, {"shift", number(a.Shift)}, {"confirmed", confirmedJSON(a.Confirmed)},
		})
	}
	for _, s := range h.Plan.Steps {
		var tighten, shift any
		if s.Tighten != 1 {
			tighten = number(s.Tighten)
		}
		if s.Shift != 0 {
			shift = number(s.Shift)
		}
		steps = append(steps, object{{"key", r.Keys[s.Key].Path}, {"tighten", tighten}, {"shift", shift}})
	}
	return object{
		{"goal", number(h.Goal)}, {"left_out", append([]string{}, h.Without...)}, {"now", shareJSON(h.Sound)}, {"surrogate", fits}, {"alone", alone},
		{"all_alike", object{{"factor", number(h.AllAlike.Factor)}, {"confirmed", confirmedJSON(h.AllAlike.Confirmed)}}},
		{"plan", object{{"steps", steps}, {"confirmed", confirmedJSON(h.Plan.Confirmed)}, {"reached", h.Plan.Reached}, {"refitted", h.Plan.Refitted}}},
	}
}

// confirmedJSON is what guns that were fired show, null where none were.
func confirmedJSON(e spread.Estimate) any {
	if math.IsNaN(e.Value) {
		return nil
	}
	return object{{"share", number(e.Value)}, {"se", number(e.SE)}}
}
