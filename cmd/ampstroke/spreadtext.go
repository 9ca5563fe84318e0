package main

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/spread"
	"example.org/ampstroke/drivetrain/study"
)

// printSpread tells people how guns spread.
func printSpread(w io.Writer, r *spread.Result) {
	for _, line := range spreadHead(r) {
		say(w, line, "  ")
	}
	if len(r.Wants) == 0 {
		fmt.Fprintln(w)
		say(w, "no target: the build file asks for no figure, so that every gun that can be fired meets it", "  ")
	}
	printChances(w, r)
	printSpreadFigures(w, r)
	printDrivers(w, r)
	printShotToShot(w, r)
	printReach(w, r)
	printVaries(w, r)
}

// spreadHead is the result in words, with what has to be known before it.
func spreadHead(r *spread.Result) (lines []string) {
	if r.Nominal.Cycle.Status == cycle.Stall {
		lines = append(lines, "As it stands in the file, the build stalls.")
	}
	if r.Reach != nil && len(r.Reach.Without) > 0 {
		lines = append(lines, fmt.Sprintf("As it stands in the file, the build has faults that no tolerance cures, and that are left out of what is to be reached: %s.", strings.Join(r.Reach.Without, ", ")))
	}
	return append(lines, r.Verdict())
}

func interval(s spread.Share) string {
	low, high := 1000*s.Low, 1000*s.High
	if high < 10 {
		return fmt.Sprintf("%.1f to %.1f", low, high)
	}
	return fmt.Sprintf("%.0f to %.0f", low, high)
}

// printChances tells of wants, failures and cautions.
func printChances(w io.Writer, r *spread.Result) {
	heads := []string{"", "guns", "surely", ""}
	var lines [][]string
	line := func(name string, s spread.Share, note string) {
		lines = append(lines, []string{name, spread.PerMille(s.Value), interval(s), note})
	}
	for _, want := range r.Wants {
		f := figureOf(r, want.Figure)
		line(f.Label, want.Share, study.Asked(f.Kind, &want.Want))
	}
	if len(r.Wants) > 1 {
		line("all wants", r.Meets, "")
	}
	line("sound", r.Sound, "all wants, and none of the failures below")
	printNoted(w, "of 1000 such guns, by 95 %", heads, lines)
	for _, part := range []struct {
		heading string
		all     []spread.CodeShare
	}{{"failures, of 1000 such guns", r.Failures}, {"cautions, of 1000 such guns", r.Warnings}} {
		lines = nil
		for _, c := range part.all {
			line(c.Code, c.Share, remark(r, c.Code))
		}
		if len(lines) > 0 {
			printNoted(w, part.heading, heads, lines)
		}
	}
}

// remark says what a code of a failure means where nothing else does.
func remark(r *spread.Result, code string) string {
	switch code {
	case "misfit":
		var all []string
		for _, m := range r.Misfits {
			all = append(all, fmt.Sprintf("%s (%d draws): %s", m.Key, m.Draws, m.Text))
		}
		return strings.Join(all, "; ")
	case "unfinished":
		return "the simulation came to no end"
	case "stall":
		return "the motor can't turn the sector on"
	}
	for _, f := range r.Nominal.Findings {
		if f.Code == code {
			if f.Weight == finding.Fault {
				return "the build as it stands in the file has it"
			}
			return ""
		}
	}
	return ""
}

// figureOf returns a figure by its name.
func figureOf(r *spread.Result, name string) *spread.Figure {
	i := slices.IndexFunc(r.Figures, func(f spread.Figure) bool { return f.Name == name })
	return &r.Figures[i]
}

// withUnit is a figure's label with the unit of its numbers.
func withUnit(f *spread.Figure) string {
	if f.Unit == "" {
		return f.Label
	}
	return f.Label + ", " + f.Unit
}

// bare shows a value of a figure without its unit, with so many decimals that its spread is
// seen.
func bare(f *spread.Figure, v float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	return strings.TrimSuffix(strings.TrimSpace(figure.Text(f.In(v), max(f.Digits, 3), "")), " ")
}

// steps shows a distance of a figure's values without its unit.
func steps(f *spread.Figure, v float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	return strings.TrimSpace(figure.Text(f.Scale()*v, 2, ""))
}

func printSpreadFigures(w io.Writer, r *spread.Result) {
	heads := []string{"", "mean", "±"}
	for _, p := range spread.Percents() {
		heads = append(heads, fmt.Sprintf("%.0f %%", p))
	}
	heads = append(heads, "guns")
	var lines [][]string
	for i := range r.Figures {
		f := &r.Figures[i]
		line := []string{withUnit(f), bare(f, f.Mean.Value), steps(f, 2*f.SD.Value)}
		for p := range f.Percentiles {
			line = append(line, bare(f, f.Percentiles[p].Value))
		}
		lines = append(lines, append(line, spread.PerMille(f.Exists.Value)))
	}
	printTable(w, "figures: so many per cent lie below; guns: of 1000, that have it", heads, lines)
}

// leastShown is the total from which a driver is worth a line.
const leastShown = 0.01

func printDrivers(w io.Writer, r *spread.Result) {
	untold := false
	table := func(heading string, drivers []spread.Driver) {
		if drivers == nil {
			return
		}
		order := make([]int, len(drivers))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(drivers[j].Total.Value, drivers[i].Total.Value) })
		percent := func(e spread.Estimate) string {
			if !spread.Told(e) && !(math.Abs(e.Value)+e.SE <= leastShown) { // no error is no small one
				untold = true
				return "not told"
			}
			return fmt.Sprintf("%.0f %%", math.Abs(100*max(e.Value, 0)))
		}
		var lines [][]string
		for _, i := range order {
			d := drivers[i]
			if d.Total.Value < leastShown {
				continue
			}
			note := ""
			if with := d.Total.Value - d.First.Value; with > 0.05 && spread.Told(d.Total) && with > 2*d.First.SE {
				note = "acts with others"
			}
			lines = append(lines, []string{r.Keys[i].Path, percent(d.Total), percent(d.First), note})
		}
		if len(lines) > 0 {
			printNoted(w, heading, []string{"", "in all", "by itself", ""}, lines)
		}
	}
	table("what decides whether a gun is sound: shares of the variance", r.SoundDrivers)
	for _, want := range r.Wants {
		f := figureOf(r, want.Figure)
		table("what drives the "+f.Label, f.Drivers)
	}
	if untold {
		fmt.Fprintln(w)
		say(w, fmt.Sprintf("not told: not with so many draws; --drivers %d asks more", min(4*r.Settings.Drivers, r.Settings.Draws)), "  ")
	}
}

func printShotToShot(w io.Writer, r *spread.Result) {
	var lines [][]string
	for i := range r.Figures {
		f := &r.Figures[i]
		if !math.IsNaN(f.WithinSD.Value) && f.WithinSD.Value > 0 {
			lines = append(lines, []string{withUnit(f), "± " + steps(f, 2*f.WithinSD.Value), "± " + steps(f, 2*f.BetweenSD.Value)})
		}
	}
	printTable(w, "from shot to shot of one gun, which a chronograph's string shows, and from gun to gun", []string{"", "shot to shot", "gun to gun"}, lines)
}

func printReach(w io.Writer, r *spread.Result) {
	h := r.Reach
	if h == nil || h.Sound.Value >= h.Goal {
		return
	}
	confirmed := func(e spread.Estimate) string {
		if math.IsNaN(e.Value) {
			return ""
		}
		return fmt.Sprintf("fired: %.1f ± %.1f of 100", 100*e.Value, 200*e.SE)
	}
	fmt.Fprintln(w)
	say(w, fmt.Sprintf("what brings it to %.4g of 100", 100*h.Goal), "  ")
	var lines [][]string
	for _, a := range h.Alone {
		k := &r.Keys[a.Key]
		var ways []string
		if !math.IsNaN(a.Tighten) {
			ways = append(ways, tighter(k, a.Tighten))
		}
		if !math.IsNaN(a.Shift) {
			ways = append(ways, shifted(k, a.Shift))
		}
		if len(ways) > 0 {
			lines = append(lines, []string{k.Path + " alone", strings.Join(ways, ", or "), confirmed(a.Confirmed)})
		}
	}
	if !math.IsNaN(h.AllAlike.Factor) {
		lines = append(lines, []string{"all tolerances alike", fmt.Sprintf("to %.0f %% of what they are", 100*h.AllAlike.Factor), confirmed(h.AllAlike.Confirmed)})
	}
	for i, s := range h.Plan.Steps {
		k := &r.Keys[s.Key]
		var ways []string
		if s.Tighten != 1 {
			ways = append(ways, tighter(k, s.Tighten))
		}
		if s.Shift != 0 {
			ways = append(ways, shifted(k, s.Shift))
		}
		note := ""
		if i == 0 {
			note = confirmed(h.Plan.Confirmed)
		}
		lines = append(lines, []string{"plan: " + k.Path, strings.Join(ways, ", "), note})
	}
	if len(lines) > 0 {
		printColumns(w, lines)
	} else {
		fmt.Fprintln(w, "  nothing that was found")
	}
	if !slices.ContainsFunc(h.Alone, func(a spread.Alone) bool { return !math.IsNaN(a.Tighten) || !math.IsNaN(a.Shift) }) {
		say(w, "  no key alone does it", "  ")
	}
	if len(h.Plan.Steps) > 0 && !h.Plan.Reached {
		say(w, "  the plan doesn't reach it", "  ")
	}
	if n := h.Plan.Refitted; n > 0 {
		say(w, fmt.Sprintf("  guns that were fired showed less than the surrogate had promised; it was fitted anew to them (%s)", counted(n, "time")), "  ")
	}
	for i := range h.Surrogate {
		if f := &h.Surrogate[i]; f.R2 < 0.98 {
			say(w, fmt.Sprintf("  the surrogate explains only %.0f %% of the %s's variance, so that what it finds may not be the best", 100*math.Max(f.R2, 0), f.Label), "  ")
		}
	}
}

// tighter says how a tolerance is tightened, shifted how a middle is moved.
func tighter(k *spread.Key, factor float64) string {
	return fmt.Sprintf("± %s → ± %s", k.Tolerance(k.SD), k.Tolerance(factor*k.SD))
}

func shifted(k *spread.Key, by float64) string {
	return fmt.Sprintf("middle %s → %s", k.Middle(k.Value), k.Middle(k.Value+by))
}

func printVaries(w io.Writer, r *spread.Result) {
	typical := false
	var lines [][]string
	for i := range r.Keys {
		k := &r.Keys[i]
		var notes []string
		if k.Typical {
			typical = true
			notes = append(notes, "typical")
		}
		if k.Shot {
			notes = append(notes, "from shot to shot")
		}
		if k.Whole {
			notes = append(notes, "whole numbers")
		}
		if n := spread.Cut(k.Value, k.SD); n.Low != k.Low || n.High != k.High {
			notes = append(notes, fmt.Sprintf("cut at %s and %s", k.Middle(k.Low), k.Middle(k.High)))
		}
		lines = append(lines, []string{k.Path, k.Middle(k.Value) + " ± " + k.Tolerance(k.SD), strings.Join(notes, ", ")})
	}
	fmt.Fprintln(w)
	say(w, "what varies: ± is two standard deviations, and none is off by more than three", "  ")
	printColumns(w, lines)
	fmt.Fprintln(w)
	say(w, fmt.Sprintf("%d guns for the shares, %d fired in all; parts are taken to vary independently of each other", r.Settings.Draws, r.Evaluations), "  ")
	if typical {
		say(w, "typical tolerances are judged from memory, by no source: state your own in the build file", "  ")
	}
}
