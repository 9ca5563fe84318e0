package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/fit"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// mostNext is how many readings to take next are shown; JSON has all.
const mostNext = 3

// leastGain is the share of a variance that a reading must take away to be worth it: a
// fortieth of the ±.
const leastGain = 0.05

func printFit(w io.Writer, d *buildfile.Document, file *buildfile.Readings, r *fit.Result) {
	say(w, fitVerdict(r), "  ")
	say(w, fmt.Sprintf("%s by %d readings: %s", d.Build.Name, len(r.Readings), file.Name), "  ")
	say(w, "fitted to this model, not proved of this gun; ± is two standard deviations", "  ")
	printUnknowns(w, r)
	printReadings(w, r)
	printDoubts(w, r)
	printTold(w, r)
	printChanges(w, d, r)
	printNext(w, r)
	printLeftOut(w, r)
}

// fitVerdict says in one line whether readings and build agree.
func fitVerdict(r *fit.Result) string {
	p := fmt.Sprintf(" (p = %.2g)", r.Fit.P)
	text := ""
	switch {
	case r.Robust:
		text = "Fitted robustly, so that there is no p"
	case r.Fit.Agreement() == fit.Disagree:
		text = "Readings and build don't agree within their ±" + p
	case r.Outcome == fit.Unchanged && r.Fit.Agreement() == fit.TooWell:
		text = "The readings confirm the build, better than their ± let one expect" + p
	case r.Outcome == fit.Unchanged:
		text = "The readings confirm the build" + p
	case r.Fit.Agreement() == fit.TooWell:
		text = "Readings and corrected build agree better than their ± let one expect" + p
	default:
		text = "Readings and corrected build agree" + p
	}
	if all := r.Outliers(); len(all) > 0 {
		text += fmt.Sprintf("; %s %s too far off", byNumber("reading", all), lies(all))
	}
	for _, c := range r.Contradictions {
		text += fmt.Sprintf("; readings %d and %d contradict each other", c.First, c.Second)
	}
	return text
}

func lies(all []int) string {
	if len(all) == 1 {
		return "lies"
	}
	return "lie"
}

// byNumber names things by their numbers: "readings 4 and 9".
func byNumber(what string, all []int) string {
	if len(all) == 1 {
		return fmt.Sprintf("%s %d", what, all[0])
	}
	text := what + "s "
	for i, n := range all {
		switch {
		case i == len(all)-1:
			text += " and "
		case i > 0:
			text += ", "
		}
		text += strconv.Itoa(n)
	}
	return text
}

// readUnit is the unit that people read values of a kind in, and how many of it one SI
// unit makes.
func readUnit(k quantity.Kind) (unit string, scale float64) {
	switch k {
	case quantity.ViscousDrag:
		return "uN m s", 1e6
	case quantity.Temperature:
		return "degC", 1
	}
	unit = k.Unit()
	if unit == "" {
		return "", 1
	}
	return unit, k.In(unit)
}

// plusMinus shows a value [SI] with a ± [SI], to the second digit of the latter.
func plusMinus(k quantity.Kind, v, tolerance float64) string {
	unit, scale := readUnit(k)
	if k == quantity.Temperature {
		v -= quantity.Celsius
	}
	return toSecond(v*scale, tolerance*scale, unit)
}

// toSecond shows a number and its ±, to the second digit of the latter.
func toSecond(v, tolerance float64, unit string) string {
	if math.IsNaN(v) || math.IsNaN(tolerance) {
		return ""
	}
	decimals := 6
	if tolerance > 0 {
		decimals = min(max(0, 1-int(math.Floor(math.Log10(tolerance*1.0000001)))), 9)
	}
	text := strconv.FormatFloat(v+0, 'f', decimals, 64) + " ± " + strconv.FormatFloat(tolerance, 'f', decimals, 64)
	if unit != "" {
		text += " " + unit
	}
	return text
}

// ofFigure shows a value of a figure [SI] with a ± [SI].
func ofFigure(f *figure.Info, v, tolerance float64) string {
	return toSecond(v*f.Scale(), tolerance*f.Scale(), f.Unit)
}

// learnt says how much readings tell of an unknown.
func learnt(k *fit.Estimate) string {
	switch {
	case k.AtBound:
		return "bound"
	case !k.Told:
		return "no"
	case k.ToldRatio <= 0.3:
		return "well"
	case k.ToldRatio <= 0.6:
		return "fairly"
	}
	return "little"
}

// printNarrow aligns columns below a heading, of which only the first may be broken.
func printNarrow(w io.Writer, heading string, heads []string, lines [][]string) {
	lines = append([][]string{heads}, lines...)
	widths := widthsOf(lines)
	widths[0] = min(widths[0], max(leastNote, columns(w)-2-total(widths[1:])))
	if total(widths) > columns(w) {
		printNoted(w, heading, heads, lines[1:])
		return
	}
	fmt.Fprintln(w)
	say(w, heading, "  ")
	for _, l := range lines {
		printCells(w, l, widths)
	}
}

func printUnknowns(w io.Writer, r *fit.Result) {
	var lines [][]string
	for i := range r.Unknowns {
		k := &r.Unknowns[i]
		unit, _ := readUnit(k.Kind)
		before := strings.TrimSuffix(plusMinus(k.Kind, k.Prior, 2*k.PriorSD), " "+unit)
		lines = append(lines, []string{k.Key, before, plusMinus(k.Kind, k.Value, 2*k.SD), learnt(k)})
	}
	printNarrow(w, "what is unknown", []string{"", "before", "after", "told"}, lines)
}

// readingName says what was read, and how.
func readingName(r *buildfile.Reading) string {
	text := r.Figure.Label
	if r.Supply > 0 {
		text += " at " + quantity.Voltage.Format(math.Round(1e3*r.Supply)/1e3)
	}
	for _, o := range r.With {
		text += ", " + o.Path + " " + o.Value
	}
	return text
}

func printReadings(w io.Writer, r *fit.Result) {
	var lines [][]string
	for i := range r.Readings {
		x := &r.Readings[i]
		apart := fmt.Sprintf("%+.1f sd", x.Residual+0)
		switch {
		case x.Outlier:
			apart += " !"
		case r.Robust && x.Weight < 1:
			apart += fmt.Sprintf(", %.0f %%", 100*x.Weight)
		}
		lines = append(lines, []string{
			strconv.Itoa(i+1) + " " + readingName(&x.Reading), ofFigure(&x.Figure, x.Measured, 2*x.SD),
			shortly(&x.Figure, x.Before), shortly(&x.Figure, x.After), apart,
		})
	}
	printNarrow(w, "readings", []string{"", "measured", "before", "after", "apart"}, lines)
}

// shortly shows a value of a figure [SI] without its unit, which stands beside it.
func shortly(f *figure.Info, v float64) string {
	return strings.TrimSpace(strings.TrimSuffix(figure.Text(f.Scale()*v, max(f.Digits, 4), f.Unit), f.Unit))
}

// printDoubts says what there is to look at beyond the verdict.
func printDoubts(w io.Writer, r *fit.Result) {
	said := false
	for _, x := range r.Warnings {
		switch x.Code {
		case "minima", "starts", "left-out", "at-bound", "outlier":
			if !said {
				fmt.Fprintln(w)
			}
			said = true
			say(w, x.Text, "  ")
		}
	}
}

// printTold says what the readings tell only as one, and what not at all.
func printTold(w io.Writer, r *fit.Result) {
	if len(r.Together) > 0 {
		fmt.Fprintln(w, "\ntold only as one")
		for _, p := range r.Together {
			way := "both higher or both lower would fit as well"
			if p.Correlation < 0 {
				way = "one higher and the other lower would fit as well"
			}
			fmt.Fprintln(w, wrap("  ", fmt.Sprintf("%s with %s: %s (%.2f)", r.Unknowns[p.First].Key, r.Unknowns[p.Second].Key, way, p.Correlation), columns(w), "    "))
		}
	}
	var not []string
	for i := range r.Unknowns {
		if !r.Unknowns[i].Told {
			not = append(not, r.Unknowns[i].Key)
		}
	}
	fmt.Fprintln(w)
	if len(not) > 0 {
		say(w, "not told by these readings: "+strings.Join(not, ", "), "  ")
	}
	if len(r.Unseen) > 0 {
		say(w, "not seen by them at all, left as it is: "+strings.Join(r.Unseen, ", "), "  ")
	}
	say(w, fmt.Sprintf("The readings tell %d combinations of %d unknowns.", r.Combinations(), len(r.Unknowns)), "  ")
}

func printChanges(w io.Writer, d *buildfile.Document, r *fit.Result) {
	var lines [][]string
	for i := range r.Figures {
		x := &r.Figures[i]
		shown := x.Verdict != nil
		if len(d.Target) == 0 {
			shown = i < 6
		}
		if !shown && x.Figure.Name != r.Target {
			continue
		}
		note := ""
		if v := x.Verdict; v != nil {
			note = map[figure.Fate]string{figure.Met: "met", figure.Missed: "missed", figure.NoFigure: "no such figure"}[v.Fate] + ": wanted " + study.Asked(x.Figure.Kind, &v.Want)
		}
		lines = append(lines, []string{x.Figure.Label, ofFigure(&x.Figure, x.Before, 2*x.BeforeSD), ofFigure(&x.Figure, x.After, 2*x.AfterSD), note})
	}
	if len(lines) > 0 {
		printNoted(w, "what the build does", []string{"", "before", "after", ""}, lines)
	}
}

// printNext says which reading would tell most of the target.
func printNext(w io.Writer, r *fit.Result) {
	fmt.Fprintln(w)
	target, at := r.Target, ""
	sd := math.NaN()
	for i := range r.Figures {
		if x := &r.Figures[i]; x.Figure.Name == r.Target {
			target, sd = x.Figure.Label, x.AfterSD
			at = x.Figure.Unit
			sd *= 2 * x.Figure.Scale()
		}
	}
	for i := range r.Unknowns {
		if k := &r.Unknowns[i]; k.Key == r.Target {
			unit, scale := readUnit(k.Kind)
			at, sd = unit, 2*scale*k.SD
		}
	}
	if best, ok := r.NextAfter(); !ok || best.Reduction < leastGain {
		say(w, "None of the readings that could be taken next would tell more of "+target+".", "  ")
		return
	}
	say(w, "best to read next, for "+target, "  ")
	for i := range r.Next {
		x := &r.Next[i]
		if i == mostNext || x.Reduction < leastGain {
			break
		}
		text := fmt.Sprintf("%s within ± %s", readingName(&x.Reading), strings.TrimSpace(figure.Text(2*x.SD*x.Figure.Scale(), 2, x.Figure.Unit)))
		if !math.IsNaN(sd) {
			text += fmt.Sprintf(": ± %s would become ± %s", strings.TrimSpace(figure.Text(sd, 2, at)), strings.TrimSpace(figure.Text(sd*math.Sqrt(1-x.Reduction), 2, at)))
		} else {
			text += fmt.Sprintf(": its ± would shrink by %.0f %%", 100*(1-math.Sqrt(1-x.Reduction)))
		}
		fmt.Fprintln(w, wrap("  ", text, columns(w), "    "))
	}
}

func printLeftOut(w io.Writer, r *fit.Result) {
	var lines [][]string
	for _, l := range r.LeftOut {
		x := &r.Readings[l.Reading-1]
		lines = append(lines, []string{
			strconv.Itoa(l.Reading) + " " + readingName(&x.Reading), ofFigure(&x.Figure, x.Measured, 2*x.SD), ofFigure(&x.Figure, l.Predicted, 2*l.PredictedSD),
			fmt.Sprintf("%+.1f sd", l.Apart+0),
		})
	}
	if len(lines) > 0 {
		printNarrow(w, "each reading as the others predict it", []string{"", "measured", "predicted", "apart"}, lines)
	}
}
