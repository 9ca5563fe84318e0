package spread

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/quantity"
)

// WriteCSV writes a row for each gun that was fired for shares and figures: where it stands
// among the draws, its keys, its figures, and what became of it. A figure that it hasn't is
// empty; several failures stand behind each other, with blanks between.
func (r *Result) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	head := []string{"replicate", "point"}
	for i := range r.Keys {
		head = append(head, r.Keys[i].Path+unitOf(r.Keys[i].Kind))
	}
	for i := range r.Figures {
		head = append(head, r.Figures[i].Key())
	}
	_ = out.Write(append(head, "outcome", "failures", "meets", "sound"))
	var row []string
	for d := range r.Draws {
		row = append(row[:0], strconv.Itoa(d.Replicate), strconv.Itoa(d.Point))
		for _, v := range d.Keys {
			row = append(row, quantity.TableText(v))
		}
		for _, v := range d.Figures {
			row = append(row, quantity.TableText(v))
		}
		row = append(row, d.Outcome, strings.Join(d.Failures, " "), yes(d.Meets), yes(d.Sound))
		if out.Write(row) != nil { // the disk is full
			break
		}
	}
	out.Flush()
	return out.Error()
}

// unitOf is the SI unit of a kind at the end of a column's name: "_n_m".
func unitOf(k quantity.Kind) string {
	unit := k.SIUnit()
	if unit == "1" {
		return ""
	}
	return "_" + strings.NewReplacer("/", "_", " ", "_").Replace(strings.ToLower(unit))
}

func yes(is bool) string {
	if is {
		return "1"
	}
	return "0"
}
