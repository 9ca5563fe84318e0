package main

import (
	"fmt"
	"io"
	"os"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/term"

	"example.org/ampstroke/drivetrain/figure"
)

// row is one line of a table: a name, a value with its unit, and what it means.
type row struct {
	name, value, note string
}

// screen is how many columns a text may take where nothing else is known.
const screen = 80

// columns is how many a text on w may take: more than a screen's only where it goes to a
// terminal that is wider. The environment isn't asked, since it outlives what it tells of.
func columns(w io.Writer) int {
	if out, ok := w.(*writer); ok {
		w = out.w
	}
	if f, ok := w.(*os.File); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil {
			return max(screen, width)
		}
	}
	return screen
}

// say prints a text as it is where it fits, else broken at its blanks, later lines
// indented.
func say(w io.Writer, text, indent string) {
	width := columns(w)
	if utf8.RuneCountInString(text) > width {
		text = wrap("", text, width, indent)
	}
	fmt.Fprintln(w, text)
}

// Columns of tables are bounded where the table as a whole doesn't fit.
const (
	leastNote = 20 // columns that a note is worth beginning beside its value
	mostName  = 40
	leastCell = 12
)

// printRows aligns rows below a heading; rows without a value are left out. What
// doesn't fit beside the rest goes on below, under its own column.
func printRows(w io.Writer, heading string, rows []row) {
	var lines [][]string
	for _, r := range rows {
		if r.value != "" {
			lines = append(lines, []string{r.name, r.value, r.note})
		}
	}
	if len(lines) == 0 {
		return
	}
	fmt.Fprintln(w)
	say(w, heading, "  ")
	printColumns(w, lines)
}

// printNoted aligns columns below a heading; the last one is a note.
func printNoted(w io.Writer, heading string, heads []string, lines [][]string) {
	fmt.Fprintln(w)
	say(w, heading, "  ")
	printColumns(w, append([][]string{heads}, lines...))
}

// printColumns aligns lines of cells. The first cells are names and the last ones notes;
// these are broken so that all fit.
func printColumns(w io.Writer, lines [][]string) {
	width, last := columns(w), len(lines[0])-1
	widths := widthsOf(lines)
	widths[0] = min(widths[0], mostName)
	for i := 1; i < last; i++ {
		widths[i] = min(widths[i], max(leastCell, (width-2-widths[0]-2*last-leastNote)/(last-1)))
	}
	start := 2 // where notes begin
	for _, n := range widths[:last] {
		start += n + 2
	}
	widths[last] = min(widths[last], max(leastCell, width-start))
	for _, l := range lines {
		printCells(w, l, widths)
	}
}

// printCells prints one line of a table, broken within its columns.
func printCells(w io.Writer, cells []string, widths []int) {
	parts, most := make([][]string, len(cells)), 1
	for i, cell := range cells {
		parts[i] = []string{cell}
		if utf8.RuneCountInString(cell) > widths[i] {
			indent := cell[:len(cell)-len(strings.TrimLeft(cell, " "))]
			parts[i] = strings.Split(wrap(indent, strings.TrimSpace(cell), widths[i], indent), "\n")
		}
		most = max(most, len(parts[i]))
	}
	for k := range most {
		var b strings.Builder
		for i := range cells {
			part := ""
			if k < len(parts[i]) {
				part = parts[i][k]
			}
			b.WriteString("  " + pad(part, widths[i]))
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
}

func widthsOf(lines [][]string) []int {
	widths := make([]int, len(lines[0]))
	for _, l := range lines {
		for i, cell := range l {
			if i == len(l)-1 && len(l) < len(widths) { // a remark across columns
				continue
			}
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	return widths
}

// printTable aligns columns below a heading; lines of length 0 are left out, and
// the table with its heading where none is left. A line of a name and one cell is a remark. A table that is wider than the screen is
// broken into blocks of columns, with the first column repeated.
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
	width := columns(w)
	fmt.Fprintln(w)
	say(w, heading, "  ")
	widths := widthsOf(kept)
	if total(widths) > width { // then no cell is to be so long that it stands alone
		widths[0] = min(widths[0], mostName)
		for i := range widths[1:] {
			widths[i+1] = min(widths[i+1], max(leastCell, (width-2-widths[0])/2-2))
		}
	}
	for from := 1; from < len(heads) || from == 1; {
		to := from
		block := []int{widths[0]}
		for to < len(heads) && (to == from || total(block)+2+widths[to] <= width) {
			block = append(block, widths[to])
			to++
		}
		if from > 1 {
			fmt.Fprintln(w)
		}
		for _, l := range kept {
			switch {
			case len(l) == len(heads):
				printCells(w, append(l[:1:1], l[from:to]...), block)
			case from == 1:
				fmt.Fprintln(w, "  "+pad(l[0], block[0])+"  "+l[1])
			}
		}
		from = max(to, from+1)
	}
}

// total is what columns take with the gaps before them.
func total(widths []int) (n int) {
	for _, v := range widths {
		n += 2 + v
	}
	return n
}

func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// sig shows a number with a count of significant digits and its unit, "" where it is NaN.
func sig(v float64, digits int, unit string) string { return figure.Text(v, digits, unit) }

// words are what a text may be broken between: a number stays with its unit.
func words(text string) (all []string) {
	for _, word := range strings.Fields(text) {
		if last := len(all) - 1; last >= 0 && units.MatchString(word) && unicode.IsDigit(rune(all[last][len(all[last])-1])) {
			all[last] += " " + word
			continue
		}
		all = append(all, word)
	}
	return all
}

var units = regexp.MustCompile(`^\(?(/s|%|°C?|A|V|W|J|N|g|mm|cm3|s|ms|min|h|m/s|ft/s|mJ|mAh|MPa|kPa|rpm|points)[.,;:)]*$`)

// wrap breaks a text into lines of at most a width; the first begins with start,
// the later ones are indented. A word that is longer than a line is broken too.
func wrap(start, text string, width int, indent string) string {
	var b strings.Builder
	b.WriteString(start)
	column, inset := utf8.RuneCountInString(start), utf8.RuneCountInString(indent)
	room := max(1, width-inset)
	for i, word := range words(text) {
		letters := []rune(word)
		if i > 0 {
			if column+1+len(letters) > width {
				b.WriteString("\n" + indent)
				column = inset
			} else {
				b.WriteByte(' ')
				column++
			}
		} else if column+len(letters) > width && len(letters) <= room {
			b.WriteString("\n" + indent)
			column = inset
		}
		for column+len(letters) > width && width > inset {
			n := max(0, width-column)
			b.WriteString(string(letters[:n]) + "\n" + indent)
			letters, column = letters[n:], inset
		}
		b.WriteString(string(letters))
		column += len(letters)
	}
	return b.String()
}
