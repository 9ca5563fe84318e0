package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// row is one line of a table: a name, a value with its unit, and what it means.
type row struct {
	name, value, note string
}

// printRows aligns rows below a heading; rows without a value are left out.
func printRows(w io.Writer, heading string, rows []row) {
	var names, values int
	kept := rows[:0:0]
	for _, r := range rows {
		if r.value == "" {
			continue
		}
		kept = append(kept, r)
		names = max(names, utf8.RuneCountInString(r.name))
		values = max(values, utf8.RuneCountInString(r.value))
	}
	if len(kept) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", heading)
	for _, r := range kept {
		line := "  " + pad(r.name, names) + "  " + pad(r.value, values) + "  " + r.note
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
}

// printTable aligns columns below a heading; lines of length 0 are left out, and
// the table with its heading where none is left. Columns wider than the screen are
// not broken.
func printTable(w io.Writer, heading string, heads []string, lines [][]string) {
	kept := [][]string{heads}
	for _, l := range lines {
		if len(l) > 0 {
			kept = append(kept, l)
		}
	}
	if len(kept) == 1 {
		return
	}
	widths := make([]int, len(heads))
	for _, l := range kept {
		for i, cell := range l {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	fmt.Fprintf(w, "\n%s\n", heading)
	for _, l := range kept {
		var b strings.Builder
		for i, cell := range l {
			b.WriteString("  " + pad(cell, widths[i]))
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
}

func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// sig shows a number with a count of significant digits and its unit, "" where
// it is NaN.
func sig(v float64, digits int, unit string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	if v == 0 {
		return "0 " + unit
	}
	decimals := max(0, digits-1-int(math.Floor(math.Log10(math.Abs(v)))))
	return strconv.FormatFloat(v, 'f', decimals, 64) + " " + unit
}

// bounds says what a target asks for: "at least 20 /s", "117 m/s to 122 m/s".
func bounds(k quantity.Kind, lo, hi float64) string {
	switch {
	case math.IsNaN(hi):
		return "at least " + study.Shown(k, lo)
	case math.IsNaN(lo):
		return "at most " + study.Shown(k, hi)
	}
	return study.Shown(k, lo) + " to " + study.Shown(k, hi)
}

// wrap breaks a text into lines of at most a width; the first begins with start,
// the later ones are indented.
func wrap(start, text string, width int, indent string) string {
	var b strings.Builder
	b.WriteString(start)
	column := utf8.RuneCountInString(start)
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		if i > 0 {
			if column+1+n > width {
				b.WriteString("\n" + indent)
				column = utf8.RuneCountInString(indent)
			} else {
				b.WriteByte(' ')
				column++
			}
		}
		b.WriteString(word)
		column += n
	}
	return b.String()
}
