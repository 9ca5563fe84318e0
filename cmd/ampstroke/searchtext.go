package main

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/search"
	"example.org/ampstroke/drivetrain/study"
)

// glue stands between words that no line is to break.
const glue = "\ue000"

// printSearch says what a search has found; near lists the nearest misses also where some
// combination meets the wish, typical tells that tolerances are typical ones.
func printSearch(w io.Writer, r *search.Report, near, typical bool) {
	first := fmt.Sprintf("%d of %s meet the wish, %d stay whole; ", r.Met, counted(int(r.Combinations), "combination"), r.Sound)
	switch {
	case r.Cheapest != nil:
		first += fmt.Sprintf("the cheapest costs %s: %s", strings.ReplaceAll(r.Money(r.Cheapest.Price), " ", glue), changes(r, r.Cheapest))
	case r.Met > 0:
		first += "none of them without a fault: --broken lists them all the same"
	default:
		first += "below is what comes nearest"
	}
	fmt.Fprintln(w, strings.ReplaceAll(wrap("", first, columns(w), "  "), glue, " "))
	var rest []string
	for _, p := range []struct {
		n    int64
		what string
	}{{r.RuledOut, "ruled out"}, {misfits(r), "don't go together"}, {r.Unfinished, "came to no end"}, {r.Stalled, "stall"}, {r.Fired, "fire"}} {
		if p.n > 0 {
			rest = append(rest, fmt.Sprintf("%d %s", p.n, p.what))
		}
	}
	say(w, strings.Join(rest, ", "), "  ")
	by := r.By
	if by != search.Price {
		f, _ := study.FindFigure(by)
		by = f.Label
	}
	wanted := slices.Concat([]string{r.By}, r.Show)
	for i := range r.Wants {
		wanted = append(wanted, r.Wants[i].Figure)
	}
	printFound(w, r, "the best, by "+by, r.Best, wanted)
	printSure(w, r, typical)
	if len(r.OnFront) > 0 {
		printFound(w, r, "the front: nothing better in one of "+listOf(r.Asked.Front)+" without giving something up", r.OnFront, slices.Concat(r.Asked.Front, r.Show))
	}
	if r.LeftOut > 0 {
		say(w, fmt.Sprintf("  %d more lack one of these figures", r.LeftOut), "  ")
	}
	printWhyNot(w, r)
	printUnused(w, r)
	if r.Cheapest == nil || near {
		printNearest(w, r)
	}
	printRemarks(w, r)
	printCautions(w)
}

func misfits(r *search.Report) (n int64) {
	for _, m := range r.Misfits {
		n += m.Combinations
	}
	return n
}

// listOf joins the names of figures as people read them.
func listOf(names []string) string {
	var labels []string
	for _, n := range names {
		labels = append(labels, strings.ReplaceAll(n, "_", " "))
	}
	last := len(labels) - 1
	return strings.Join(labels[:last], ", ") + " and " + labels[last]
}

// changes says what a combination has in place of the base's parts.
func changes(r *search.Report, f *search.Found) string {
	var all []string
	for _, at := range r.Changes(f) {
		slot := &r.Shelf.Slots[at.Slot]
		all = append(all, slot.Key+" "+slot.Parts[at.Part].Name)
	}
	if len(all) == 0 {
		return "all as it stands"
	}
	return strings.Join(all, ", ")
}

// printFound lists combinations: price and figures, and below what differs from the base.
func printFound(w io.Writer, r *search.Report, heading string, all []search.Found, figures []string) {
	if len(all) == 0 {
		return
	}
	heads := []string{"no.", "price"}
	var shown []int // of the figures
	for i := range r.Figures {
		if slices.Contains(figures, r.Figures[i].Name) {
			shown = append(shown, i)
			heads = append(heads, r.Figures[i].Label)
		}
	}
	faulty := false
	for i := range all {
		faulty = faulty || len(all[i].Faults) > 0
	}
	if faulty {
		heads = append(heads, "faults")
	}
	lines := [][]string{heads}
	var parts []row
	for i := range all {
		f := &all[i]
		line := []string{strconv.FormatInt(f.Number, 10), string(money(f.Price).text())}
		for _, k := range shown {
			line = append(line, orDash(r.Figures[k].Text(f.Values[k])))
		}
		if faulty {
			line = append(line, orDash(strings.Join(f.Faults, " ")))
		}
		lines = append(lines, line)
		parts = append(parts, row{line[0], line[1], changes(r, f)})
	}
	widths := widthsOf(lines)
	for i := range widths {
		widths[i] = min(widths[i], leastCell)
	}
	if faulty {
		widths[len(widths)-1] = widthsOf(lines)[len(widths)-1]
	}
	if total(widths) > columns(w) {
		printTable(w, heading, heads, lines[1:])
		printRows(w, "their parts", parts)
		return
	}
	fmt.Fprintln(w)
	say(w, heading, "  ")
	printCells(w, heads, widths)
	const inset = "      "
	for i, line := range lines[1:] {
		printCells(w, line, widths)
		fmt.Fprintln(w, wrap(inset, parts[i].note, columns(w), inset))
	}
}

func orDash(text string) string {
	if text == "" {
		return "-"
	}
	return text
}

// printSure lists the best by their chance to stay sound.
func printSure(w io.Writer, r *search.Report, typical bool) {
	var lines [][]string
	for i := range r.Surest {
		f := &r.Surest[i]
		chance := fmt.Sprintf("%.1f %%", 100*f.Share)
		if f.SE > 0 {
			chance += fmt.Sprintf(" ± %.1f", 200*f.SE)
		}
		lines = append(lines, []string{strconv.FormatInt(f.Number, 10), string(money(f.Price).text()), chance, changes(r, &f.Found)})
	}
	if len(lines) > 0 {
		printNoted(w, fmt.Sprintf("of the best %d, how many such guns meet the wish and stay whole with their parts' tolerances (512 drawn of each; ± as two standard errors)", len(lines)),
			[]string{"no.", "price", "sound", "parts"}, lines)
		if typical {
			say(w, "  Typical tolerances are judgement, from memory, with no source.", "  ")
		}
	}
}

// printWhyNot says what keeps others from the wish.
func printWhyNot(w io.Writer, r *search.Report) {
	var lines [][]string
	for i, t := range r.Tally.Wants {
		want := &r.Wants[i]
		f, _ := study.FindFigure(want.Figure)
		lines = append(lines, []string{
			want.Figure, study.Asked(f.Kind, want), missedBy(t.Below, t.AloneBelow), missedBy(t.Above, t.AloneAbove),
		})
	}
	heading := "why not: of those that fire, how many miss it (and miss nothing else)"
	if r.Settings.Quick {
		heading = "why not: of those that fire, at least so many miss it (--quick stops at the first miss)"
	}
	printTable(w, heading, []string{"want", "wanted", "below", "above"}, lines)
	var rows []row
	for _, m := range r.Misfits {
		rows = append(rows, row{m.Key, strconv.FormatInt(m.Combinations, 10), m.Text})
	}
	printRows(w, "parts that don't go together, by the key at fault", rows)
}

func missedBy(n, alone int64) string {
	switch {
	case n == 0:
		return "-"
	case alone == 0:
		return strconv.FormatInt(n, 10)
	}
	return fmt.Sprintf("%d (%d)", n, alone)
}

// printUnused lists the parts that are in no build that is listed.
func printUnused(w io.Writer, r *search.Report) {
	if r.Cheapest == nil {
		return
	}
	var rows []row
	for i := range r.Shelf.Slots {
		slot := &r.Shelf.Slots[i]
		var names []string
		for k := range slot.Parts {
			if r.Parts[i][k].Cheapest < 0 {
				names = append(names, slot.Parts[k].Name)
			}
		}
		if len(names) > 0 {
			rows = append(rows, row{slot.Key, fmt.Sprintf("%d of %d", len(names), len(slot.Parts)), strings.Join(names, ", ")})
		}
	}
	what := "parts that are in none that stays whole"
	if r.Broken {
		what = "parts that are in none that meets the wish"
	}
	printRows(w, what, rows)
}

// printNearest lists what comes nearest to the wish.
func printNearest(w io.Writer, r *search.Report) {
	var lines [][]string
	for i := range r.Nearest {
		f := &r.Nearest[i]
		var misses []string
		for _, m := range r.Misses(f) {
			info, _ := study.FindFigure(m.Want.Figure)
			name := strings.ReplaceAll(m.Want.Figure, "_", " ")
			if m.Side == "" {
				misses = append(misses, name+": it has none")
				continue
			}
			misses = append(misses, fmt.Sprintf("%s %s %s", name, shownBy(info.Kind, m.By), m.Side))
		}
		lines = append(lines, []string{strconv.FormatInt(f.Number, 10), string(money(f.Price).text()), strings.Join(misses, ", "), changes(r, f)})
	}
	if len(lines) > 0 {
		printNoted(w, "nearest misses", []string{"no.", "price", "misses", "parts"}, lines)
	}
}

// shownBy shows a distance between figures.
func shownBy(k quantity.Kind, v float64) string { return study.Shown(k, v) }

// printRemarks gives the remarks of the parts that are listed, each once.
func printRemarks(w io.Writer, r *search.Report) {
	seen := map[buildfile.At]bool{}
	var rows []row
	for _, l := range [][]search.Found{r.Best, r.OnFront, r.Nearest} {
		for i := range l {
			for slot, part := range l[i].Parts {
				at := buildfile.At{Slot: slot, Part: part}
				if p := &r.Shelf.Slots[slot].Parts[part]; p.Remark != "" && !seen[at] {
					seen[at] = true
					rows = append(rows, row{r.Shelf.Slots[slot].Key, p.Name, p.Remark})
				}
			}
		}
	}
	printRows(w, "remarks", rows)
}
