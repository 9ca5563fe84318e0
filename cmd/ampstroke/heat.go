package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// warmth is what the heat command found.
type warmth struct {
	*heat.Result
	stalled *heat.Stalled
	gauges  []heat.GaugeRow // nil: not asked for

	verdicts []cycle.Verdict
	findings finding.List // of the build, and of the plan
}

func heatCommand() *cobra.Command {
	var s shared
	var planFile string
	var gauges, everyRound bool
	c := &cobra.Command{
		Use:   "heat [BUILD]",
		Short: "how hot the parts get over a firing plan, and what gives out first",
		Long: `heat fires a build by a plan of bursts, single shots and pauses, and follows the
temperatures of winding, magnets, brushes, leads, connectors, switch, pack and
fuse against their limits. BUILD is a build file, PLAN a plan file; left out,
the embedded demos are used. A plan is a YAML file such as

  name: A morning
  ambient: 30 degC          # the build's, if left out
  steps:
  - {rounds: 12, pause: 4 s, repeat: 20}
  - {rounds: 1, pause: 1 s, repeat: 40, fresh_pack: true}

where fresh_pack puts in another pack before each pull of that step, and a
repeat beside steps repeats them all.`,
		Example: `  ampstroke heat --plot heat.png
  ampstroke heat rifle.yaml --plan day.yaml --trace day.csv
  ampstroke heat rifle.yaml --plan day.yaml --gauges
  ampstroke heat rifle.yaml --plan day.yaml --json --strict > heat.json`,
		Args:              oneBuild,
		ValidArgsFunction: yamlFiles,
		RunE: func(c *cobra.Command, args []string) error {
			if err := s.check(); err != nil {
				return err
			}
			d, err := s.document(args)
			if err != nil {
				return err
			}
			p, err := readPlan(planFile)
			if err != nil {
				return err
			}
			x, err := study.Examine(c.Context(), d.Build, d.Target, cycle.Settings{})
			if err != nil {
				return err
			}
			w, err := warm(c.Context(), d, p, gauges, heat.Settings{RoundByRound: everyRound, Trace: s.trace != "" || s.plot != ""})
			if err != nil {
				return err
			}
			w.verdicts, w.findings = x.Verdicts, x.With(w.Result, w.stalled)
			if s.plot != "" {
				if err := s.picture(c, func() *chart.Picture { return chart.Heat(w.Result) }); err != nil {
					return err
				}
			}
			if s.trace != "" {
				if err := write(c, s.trace, w.WriteCSV); err != nil {
					return err
				}
			}
			if s.json {
				err = printJSON(c.OutOrStdout(), w.json())
			} else {
				w.print(c.OutOrStdout())
				printCautions(c.OutOrStdout())
			}
			if err != nil {
				return err
			}
			if s.strict && fails(w.verdicts, w.findings) {
				return &failure{missed, errMissed}
			}
			return nil
		},
	}
	s.add(c)
	c.Flags().StringVar(&planFile, "plan", "", "fire by the plan of `FILE`; left out, by the embedded demo plan")
	reads(c, "plan")
	c.Flags().BoolVar(&gauges, "gauges", false, "tabulate this load over the gauges of leads")
	c.Flags().BoolVar(&everyRound, "round-by-round", false, "compute every round anew instead of using one again that starts alike")
	_ = c.RegisterFlagCompletionFunc("plan", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return []string{"yaml", "yml"}, cobra.ShellCompDirectiveFilterFileExt
	})
	return c
}

func readPlan(path string) (*heat.Plan, error) {
	if path == "" {
		return buildfile.DemoPlan(), nil
	}
	p, err := buildfile.LoadPlan(path)
	return p, bad(err)
}

// warm goes through a plan. What heat finds wrong with a build is bad input, told with
// its place.
func warm(ctx context.Context, d *buildfile.Document, p *heat.Plan, gauges bool, settings heat.Settings) (*warmth, error) {
	b := d.Build
	err := heat.Check(b, p)
	if gauges && err == nil {
		err = heat.CheckGauges(b)
	}
	if err != nil {
		return nil, bad(placed(d, err))
	}
	r, err := heat.Simulate(ctx, b, p, settings)
	if err != nil {
		return nil, err
	}
	w := &warmth{Result: r}
	if w.stalled, err = heat.FindStalled(ctx, r.Build); err != nil {
		return nil, err
	}
	if gauges {
		settings.Trace = false
		if w.gauges, err = heat.Gauges(ctx, b, p, heat.CommonGauges(), settings); err != nil {
			return nil, err
		}
	}
	return w, ctx.Err()
}

// degrees shows a temperature in degrees Celsius, "-" where there is none.
func degrees(kelvin float64, digits int) string {
	switch {
	case math.IsNaN(kelvin):
		return "-"
	case math.IsInf(kelvin, 0):
		return "melts"
	}
	return fmt.Sprintf("%.*f °C", digits, kelvin-quantity.Celsius)
}

// clock shows a time of a plan, "-" where there is none.
func clock(seconds float64) string {
	if math.IsNaN(seconds) {
		return "-"
	}
	return heat.Span(seconds)
}

// when shows a time at which something comes to pass. What is held over a round, as spot
// and junction are, comes to pass with its beginning.
func when(seconds float64) string {
	if seconds < 1e-3 {
		return "at once"
	}
	return clock(seconds)
}

func (w *warmth) print(out io.Writer) {
	ended := map[heat.Status]string{
		heat.Done: "all of the plan", heat.CutOff: "then the pack is at its cut-off", heat.Empty: "then the pack is empty",
		heat.FuseBlown: "then the fuse blows", heat.Stall: "then the motor stalls",
	}
	say(out, fmt.Sprintf("%s, %s: %s in %s, %s", w.Build.Name, w.Plan.Name, counted(w.Rounds, "round"), clock(w.Duration), ended[w.Status]), "  ")
	printFindings(out, "", w.findings, targetLine(w.Build, w.verdicts))
	var table [][]string
	for _, p := range w.Parts {
		if math.IsNaN(p.Start) {
			table = append(table, []string{p.Name, "none in this build"})
			continue
		}
		round := "-"
		if !math.IsNaN(p.RoundsToLimit) {
			round = fmt.Sprintf("%.0f", p.RoundsToLimit)
		}
		if p.Name == w.FirstOut {
			round += " <- first"
		}
		table = append(table, []string{p.Name, degrees(p.Start, 0), degrees(p.Peak, 1), when(p.PeakAt), degrees(p.Limit, 0), share(&p), when(p.LimitAt), round})
	}
	printTable(out, "how hot", []string{"part", "start", "peak", "after", "limit", "of the way", "reached", "in round"}, table)
	fmt.Fprintln(out)
	fmt.Fprintln(out, wrap("", w.verdict(), screen, "  "))
	none := func(v float64, text string) string {
		if math.IsNaN(v) {
			return ""
		}
		return text
	}
	printRows(out, "firing", []row{
		{"rate of fire, first", sig(w.RateFirst, 4, "/s"), "of the first pull of two rounds or more"},
		{"rate of fire, last", sig(w.RateLast, 4, "/s"), "of the last one" + none(w.RateLast, change(w.RateLast, w.RateFirst, 4, "/s"))},
		{"release, first", sig(1e3*w.ReleaseFirst, 4, "ms"), "from closing the switch, first pull"},
		{"release, last", sig(1e3*w.ReleaseLast, 4, "ms"), "last pull" + none(w.ReleaseLast, change(w.ReleaseLast, w.ReleaseFirst, 4, "ms"))},
		{"rounds", fmt.Sprint(w.Rounds), fmt.Sprintf("for %d asked", w.Asked)},
		{"charge left", sig(100*w.Charge, 3, "%"), "of the pack's capacity, in the pack that is in at the end"},
		{"rounds a charge", sig(w.RoundsPerCharge, 4, ""), fmt.Sprintf("such rounds, from full, %.0f %% left in the pack", 100*w.Build.Battery.Reserve)},
		{"pull, mean current", sig(w.PackCurrent, 3, "A"), w.rating()},
		{"pull, RMS current", sig(w.PullRMS, 3, "A"), "what heats, over the pull that heats most"},
		{"current, peak", sig(w.PeakCurrent, 4, "A"), ""},
	})
	printRows(out, "magnets", []row{
		{"remanence lost", sig(100*w.Remanence, 2, "%"), "for as long as the can is as hot as at its peak"},
		{"demagnetisation margin", sig(100*w.DemagnetisationMargin, 3, "%"), "of coercivity left at the peak current, the magnets as warm as then"},
	})
	lead := w.LeadRow(w.stalled)
	endless := degrees(lead.Endless, 0)
	if math.IsNaN(lead.Endless) {
		endless = ""
	}
	printRows(out, "leads", []row{
		{"resistance", sig(1e3*lead.Resistance, 3, "mohm"), "of the loop, all cold"},
		{"voltage drop", sig(lead.Drop, 2, "V"), "at the peak current"},
		{"no end", endless, "the copper, if the pull that heats most went on for good"},
		{"carries", sig(lead.Carries, 3, "A"), "what brings the copper to its limit for good; --gauges compares"},
	})
	printRows(out, "fuse", []row{
		{"a start from rest", sig(100*w.InrushShare, 2, "%"), "of the melting integral, its inrush included"},
		{"most in the plan", sig(100*w.FuseShare, 2, "%"), "bursts and starts in a row, less what it forgets in between"},
	})
	printRows(out, w.switchHeading(), w.switchRows())
	var stall []row
	for _, p := range w.stalled.Parts {
		what := "to " + degrees(p.Limit, 0)
		if p.Name == heat.Fuse {
			what = "to blow at that current; " + clock(w.stalled.FuseFalling) + " as it falls"
		}
		if !math.IsNaN(p.LimitAt) {
			stall = append(stall, row{p.Name, when(p.LimitAt), what})
		}
	}
	note := "all cold, the pack rested"
	if w.Build.Harness.Fuse != nil {
		note += "; the fuse is left in below"
	}
	stall = append([]row{{"current", sig(w.stalled.Current, 4, "A"), note}}, stall...)
	printRows(out, "if the motor stalls and the switch stays closed", stall)
	h := &w.Balance
	printRows(out, "where the heat goes", []row{
		{"from the rounds", sig(h.In, 4, "J"), "winding, brushes, motor drag, pack, leads, connectors, switch"},
		{"given off", sig(h.Off, 4, "J"), ""},
		{"still in the parts", sig(h.Stored, 4, "J"), ""},
	})
	w.printGauges(out)
}

// share says how far from start to limit a part gets, "-" if it starts beyond.
func share(p *heat.Part) string {
	if !(p.Limit > p.Start) {
		return "-"
	}
	return fmt.Sprintf("%.0f %%", 100*(p.Peak-p.Start)/(p.Limit-p.Start))
}

// verdict says what gives out first, and the cure.
func (w *warmth) verdict() string {
	if w.FirstOut != "" {
		p := w.Part(w.FirstOut)
		verb := "reaches its limit of " + degrees(p.Limit, 0)
		switch {
		case p.Name == heat.Fuse:
			verb = "blows"
		case heat.Plural(p.Name):
			verb = "reach their limit of " + degrees(p.Limit, 0)
		}
		return fmt.Sprintf("first to give out: the %s %s %s. Cure: %s.", p.Name, verb, p.When(), w.Cure(p.Name))
	}
	if w.Rounds == 0 && w.Status == heat.Stall {
		return "no round is fired, so that nothing warms: what the parts stand in the stall is said below."
	}
	nearest, most := "", math.Inf(-1)
	for _, p := range w.Parts {
		if v := (p.Peak - p.Start) / (p.Limit - p.Start); v > most {
			nearest, most = p.Name, v
		}
	}
	if nearest == "" {
		return "no part has a limit that is known."
	}
	verb := "comes"
	if heat.Plural(nearest) {
		verb = "come"
	}
	return fmt.Sprintf("no part reaches its limit in this plan; the %s %s nearest, with %.0f %% of the way from start to limit.", nearest, verb, 100*most)
}

func (w *warmth) rating() string {
	rated := w.Build.Battery.ContinuousCurrent()
	if math.IsNaN(rated) {
		return "of the pull that asks most of the pack"
	}
	return fmt.Sprintf("of the pull that asks most of the pack, which is rated for %.1f A", rated)
}

func (w *warmth) switchHeading() string {
	if w.Switching.Contacts {
		return "switch: contacts of " + w.Build.Harness.Switch.Contacts.Material
	}
	return "switch: MOSFET"
}

func (w *warmth) switchRows() []row {
	s := &w.Switching
	rows := []row{{"voltage, closed", sig(1e3*s.Voltage, 3, "mV"), "at the peak current"}}
	if s.Contacts {
		rows = append(rows,
			row{"melting voltage", sig(1e3*s.Melting, 3, "mV"), "at which the metal melts in the spot"},
			row{"spot, hottest", degrees(s.Hottest, 0), "where the current goes through"})
	} else {
		rows = append(rows, row{"junction, hottest", degrees(s.Hottest, 1), "at the peak current, held for the round"})
	}
	rows = append(rows, row{"breaks", fmt.Sprint(s.Breaks), "of a current that still flowed"})
	if s.Breaks > 0 {
		rows = append(rows,
			row{"current, broken", sig(s.BreakCurrent, 3, "A"), "at most"},
			row{"break energy", sig(1e3*s.BreakEnergy, 3, "mJ"), "in the motor's inductance then, at most"})
	}
	if s.Contacts && s.Breaks > 0 {
		arc := sig(1e3*s.Arc, 3, "mJ")
		if math.IsInf(s.Arc, 1) {
			arc = "stands"
		}
		rows = append(rows, row{"arc", arc, fmt.Sprintf("at most; %.1f V drive it, one stands from %.1f V on", s.Drive, s.ArcVoltage)})
	}
	if s.Brake > 0 {
		rows = append(rows, row{"brake current", sig(s.Brake, 4, "A"), "largest, through the short"})
	}
	return rows
}

func (w *warmth) printGauges(out io.Writer) {
	var table [][]string
	for _, g := range w.gauges {
		name := quantity.Gauge.Format(g.Gauge)
		reached := "-"
		if !math.IsNaN(g.Leads.LimitAt) {
			reached = fmt.Sprintf("%s, round %.0f", clock(g.Leads.LimitAt), g.Leads.RoundsToLimit)
		}
		first := g.FirstOut
		if first == "" {
			first = "-"
		}
		table = append(table, []string{
			name, fmt.Sprintf("%.2f mm2", 1e6*g.Area), fmt.Sprintf("%.1f mm", 1e3*g.Outer), strings.TrimSpace(sig(1e3*g.Resistance, 3, "mohm")), sig(g.Drop, 2, "V"), sig(g.RateFirst, 4, "/s"),
			degrees(g.Leads.Peak, 0), reached, degrees(g.Endless, 0), sig(g.Carries, 3, "A"), melts(g.Melts), first,
		})
	}
	if len(table) == 0 {
		return
	}
	l := &w.Build.Harness.Lead
	insulation := l.Insulation
	if insulation == "" {
		insulation = "PVC"
	}
	printTable(out, fmt.Sprintf("leads of %s in %s, limit %s, under this plan", quantity.Length.Format(l.Length), insulation, degrees(w.Part(heat.Leads).Limit, 0)),
		[]string{"gauge", "copper", "outside", "loop", "drop", "rate", "peak", "limit reached", "no end", "carries", "melts", "first out"}, table)
	fmt.Fprintln(out, wrap("  ", "drop: at the peak current. no end: the copper, if the pull that heats most went on for good. carries: what brings the copper to its limit for good. melts: how long a stalled motor's current takes, by Onderdonk.", screen, "  "))
}

// melts shows the time that Onderdonk's formula gives, within its range.
func melts(seconds float64) string {
	if seconds > 10 {
		return "> 10 s"
	}
	return clock(seconds)
}

func (w *warmth) json() object {
	f := func(v float64) figure { return figure(v) }
	celsius := func(v float64) figure { return figure(v - quantity.Celsius) }
	o := object{
		{"format", 1}, {"build", w.Build.Name}, {"plan", w.Plan.Name}, {"outcome", w.Status.String()},
		{"rounds", w.Rounds}, {"rounds_asked", w.Asked}, {"duration_s", f(w.Duration)},
		{"rate_of_fire_first_hz", f(w.RateFirst)}, {"rate_of_fire_last_hz", f(w.RateLast)},
		{"release_first_s", f(w.ReleaseFirst)}, {"release_last_s", f(w.ReleaseLast)},
		{"state_of_charge_end", f(w.Charge)}, {"first_to_give_out", orNull(w.FirstOut)},
		{"parts", partsJSON(w.Parts)},
		{"heat_j", object{{"in", f(w.Balance.In)}, {"stored", f(w.Balance.Stored)}, {"off", f(w.Balance.Off)}, {"residual", f(w.Balance.Residual)}}},
	}
	var end object
	var connectors []figure
	for _, n := range w.End {
		if strings.HasPrefix(n.Name, "connector") {
			connectors = append(connectors, celsius(n.Temperature))
			continue
		}
		end = append(end, member{n.Name, celsius(n.Temperature)})
	}
	if connectors == nil {
		connectors = []figure{}
	}
	end = append(end, member{"connectors", connectors})
	var cure any
	if w.FirstOut != "" {
		cure = w.Cure(w.FirstOut)
	}
	kind, arcStands := "mosfet", any(nil)
	s := &w.Switching
	if s.Contacts {
		kind, arcStands = "contacts", math.IsInf(s.Arc, 1)
	}
	o = append(o,
		member{"end_degc", end}, member{"solves", w.Stats.Solves}, member{"reused", w.Stats.Reused}, member{"cure", cure},
		member{"ambient_degc", celsius(w.Build.Ambient.Temperature)},
		member{"rounds_per_charge", f(w.RoundsPerCharge)}, member{"pull_mean_current_a", f(w.PackCurrent)}, member{"pull_rms_current_a", f(w.PullRMS)},
		member{"current_peak_a", f(w.PeakCurrent)}, member{"pack_rated_a", f(w.Build.Battery.ContinuousCurrent())}, member{"fuse_share", f(w.FuseShare)}, member{"fuse_start_share", f(w.InrushShare)},
		member{"leads", w.leadsJSON()},
		member{"remanence_lost", f(w.Remanence)}, member{"demagnetisation_margin", f(w.DemagnetisationMargin)},
		member{"switch", object{
			{"kind", kind}, {"hottest_degc", celsius(s.Hottest)}, {"voltage_v", f(s.Voltage)}, {"melting_voltage_v", f(s.Melting)},
			{"breaks", s.Breaks}, {"break_current_a", f(s.BreakCurrent)}, {"break_energy_j", f(s.BreakEnergy)},
			{"arc_energy_j", f(s.Arc)}, {"arc_stands", arcStands}, {"arc_drive_v", f(s.Drive)}, {"arc_voltage_v", f(s.ArcVoltage)}, {"brake_current_a", f(s.Brake)},
		}},
		member{"stalled", object{{"current_a", f(w.stalled.Current)}, {"duration_s", f(w.stalled.Duration)}, {"fuse_falling_s", f(w.stalled.FuseFalling)}, {"parts", partsJSON(w.stalled.Parts)}}},
	)
	if w.gauges != nil {
		var rows []object
		for _, g := range w.gauges {
			rows = append(rows, object{
				{"gauge_awg", f(g.Gauge)}, {"area_m2", f(g.Area)}, {"outer_diameter_m", f(g.Outer)}, {"resistance_ohm", f(g.Resistance)}, {"drop_v", f(g.Drop)},
				{"peak_degc", celsius(g.Leads.Peak)}, {"limit_degc", celsius(g.Leads.Limit)}, {"limit_at_s", f(g.Leads.LimitAt)}, {"rounds_to_limit", f(g.Leads.RoundsToLimit)},
				{"endless_degc", celsius(g.Endless)}, {"carries_a", f(g.Carries)}, {"stall_melts_s", f(g.Melts)},
				{"rate_of_fire_first_hz", f(g.RateFirst)}, {"outcome", g.Status.String()}, {"first_to_give_out", orNull(g.FirstOut)},
			})
		}
		o = append(o, member{"gauges", rows})
	}
	warned := append(slices.Clone(w.Warnings), w.stalled.Warnings()...)
	return append(o, member{"warnings", warningsJSON(warned)}, member{"findings", findingsJSON(w.findings)}, member{"cautions", cautions()})
}

func (w *warmth) leadsJSON() object {
	g := w.LeadRow(w.stalled)
	return object{
		{"resistance_ohm", figure(g.Resistance)}, {"drop_v", figure(g.Drop)}, {"endless_degc", figure(g.Endless - quantity.Celsius)},
		{"carries_a", figure(g.Carries)}, {"stall_melts_s", figure(g.Melts)},
	}
}

// orNull is a name, or null for none.
func orNull(name string) any {
	if name == "" {
		return nil
	}
	return name
}

func partsJSON(parts []heat.Part) []object {
	all := []object{}
	for _, p := range parts {
		all = append(all, object{
			{"name", p.Name}, {"start_degc", figure(p.Start - quantity.Celsius)}, {"peak_degc", figure(p.Peak - quantity.Celsius)}, {"peak_at_s", figure(p.PeakAt)},
			{"limit_degc", figure(p.Limit - quantity.Celsius)}, {"limit_at_s", figure(p.LimitAt)}, {"rounds_to_limit", figure(p.RoundsToLimit)},
		})
	}
	return all
}
