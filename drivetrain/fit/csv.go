package fit

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"
)

// Course is the steps of the searches, for whoever wants to see how they went.
type Course struct {
	// Unknowns are those that moved.
	Unknowns []Unknown
	Steps    []Step
}

// Record has the settings fill the course.
func (c *Course) Record(s *Settings) {
	s.Unknowns = func(k []Unknown) { c.Unknowns = k }
	s.Watch = func(step Step) { c.Steps = append(c.Steps, step) }
}

// WriteCSV writes a row a step, in SI units.
func (c *Course) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	head := []string{"start", "step", "chi2", "damping"}
	for i := range c.Unknowns {
		k := &c.Unknowns[i]
		name := k.Key
		if unit := k.Kind.SIUnit(); unit != "1" {
			name += "_" + strings.NewReplacer("/", "_", " ", "_").Replace(strings.ToLower(unit))
		}
		head = append(head, name)
	}
	_ = out.Write(head)
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', 12, 64) }
	for _, s := range c.Steps {
		line := []string{strconv.Itoa(s.Start), strconv.Itoa(s.Number), number(s.Chi2), number(s.Damping)}
		for _, v := range s.Values {
			line = append(line, number(v))
		}
		_ = out.Write(line)
	}
	out.Flush()
	return out.Error()
}
