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
	"example.org/ampstroke/drivetrain/figure"
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

	verdicts []figure.Verdict
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
			return s.deliver(c, &report{
				picture: func() (*chart.Picture, error) { return chart.Heat(w.Result) },
				trace:   w.WriteCSV,
				json:    w.json,
				print:   w.print,
				failed:  missing(fails(w.verdicts, w.findings)),
			})
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
	verdict := w.Verdict()
	if w.Rounds == 0 && w.Status == heat.Stall {
		verdict += " What the parts stand in the stall is said below."
	}
	fmt.Fprintln(out, wrap("", verdict, screen, "  "))
	figures := heat.Figures()
	// rows of a heading, with what is said beside them of this plan
	rows := func(heading string) (all []row) {
		for _, f := range figures.In(heading) {
			r := rowOf(&f, w.Result)
			switch f.Name {
			case "rate_of_fire_last":
				r.note += than(w.RateLast, w.RateFirst, "/s")
			case "release_last":
				r.note += than(w.ReleaseLast, w.ReleaseFirst, "ms")
			}
			all = append(all, r)
		}
		return all
	}
	printRows(out, "firing", rows("firing"))
	printRows(out, "magnets", rows("magnets"))
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
	printRows(out, "fuse", rows("fuse"))
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
	printRows(out, "where the heat goes", rows("where the heat goes"))
	w.printGauges(out)
}

// share says how far from start to limit a part gets, "-" if it starts beyond.
func share(p *heat.Part) string {
	if !(p.Limit > p.Start) {
		return "-"
	}
	return fmt.Sprintf("%.0f %%", 100*(p.Peak-p.Start)/(p.Limit-p.Start))
}

// than says how a last value differs from the first one of the same plan.
func than(last, first float64, unit string) string {
	if math.IsNaN(last) {
		return ""
	}
	return change(last, first, 4, unit)
}

func (w *warmth) switchHeading() string {
	if w.Switching.Contacts {
		return "switch: contacts of " + w.Build.Harness.Switch.Contacts.Material
	}
	return "switch: MOSFET"
}

// switchRows are the figures of the switch that the build has, with what is said of them.
func (w *warmth) switchRows() (rows []row) {
	s := &w.Switching
	for _, f := range heat.Figures().In("switch") {
		r := rowOf(&f, w.Result)
		switch f.Name {
		case "switch_hottest":
			digits := 1
			r.name, r.note = "junction, hottest", "at the peak current, held for the round"
			if s.Contacts {
				r.name, r.note, digits = "spot, hottest", "where the current goes through", 0
			}
			r.value = degrees(s.Hottest, digits)
		case "break_current", "break_energy":
			if s.Breaks == 0 {
				continue
			}
		case "arc_energy":
			if !s.Contacts || s.Breaks == 0 {
				continue
			}
			if math.IsInf(s.Arc, 1) {
				r.value = "stands"
			}
			r.note = fmt.Sprintf("at most; %.1f V drive it, one stands from %.1f V on", s.Drive, s.ArcVoltage)
		case "arc_drive", "arc_voltage": // beside the arc
			continue
		case "plan_brake_current":
			if s.Brake == 0 {
				continue
			}
		}
		rows = append(rows, r)
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
	f := func(v float64) number { return number(v) }
	celsius := func(v float64) number { return number(v - quantity.Celsius) }
	o := object{
		{"format", 1}, {"build", w.Build.Name}, {"plan", w.Plan.Name}, {"outcome", w.Status.String()},
		{"rounds_asked", w.Asked}, {"first_to_give_out", orNull(w.FirstOut)},
	}
	for _, g := range heat.Figures() {
		switch {
		case g.Group == "switch" || g.Group == "how hot" || g.Group == "where the heat goes": // in objects of their own
		case g.Kind == quantity.Count:
			o = append(o, member{g.Key(), int(g.Value(w.Result))})
		default:
			o = append(o, member{g.Key(), f(g.Value(w.Result))})
		}
	}
	o = append(o,
		member{"parts", partsJSON(w.Parts)},
		member{"heat_j", object{{"in", f(w.Balance.In)}, {"stored", f(w.Balance.Stored)}, {"off", f(w.Balance.Off)}, {"residual", f(w.Balance.Residual)}}},
	)
	var end object
	var connectors []number
	for _, n := range w.End {
		if strings.HasPrefix(n.Name, "connector") {
			connectors = append(connectors, celsius(n.Temperature))
			continue
		}
		end = append(end, member{n.Name, celsius(n.Temperature)})
	}
	if connectors == nil {
		connectors = []number{}
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
		member{"pack_rated_a", f(w.Build.Battery.ContinuousCurrent())},
		member{"leads", w.leadsJSON()},
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
		{"resistance_ohm", number(g.Resistance)}, {"drop_v", number(g.Drop)}, {"endless_degc", number(g.Endless - quantity.Celsius)},
		{"carries_a", number(g.Carries)}, {"stall_melts_s", number(g.Melts)},
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
			{"name", p.Name}, {"start_degc", number(p.Start - quantity.Celsius)}, {"peak_degc", number(p.Peak - quantity.Celsius)}, {"peak_at_s", number(p.PeakAt)},
			{"limit_degc", number(p.Limit - quantity.Celsius)}, {"limit_at_s", number(p.LimitAt)}, {"rounds_to_limit", number(p.RoundsToLimit)},
		})
	}
	return all
}
