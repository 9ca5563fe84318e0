package main

import (
	"io"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/chart"
)

// report is what a command found, in all the forms that its flags may ask for. What a
// command hasn't got is nil.
type report struct {
	picture func() (*chart.Picture, error) // for --plot
	also    []also                         // what flags of the command's own ask for
	trace   func(io.Writer) error          // for --trace
	json    func() object
	print   func(io.Writer) // for people, cautions apart
	failed  error           // what --strict fails on
}

// also is a picture or a text that a flag asks for a file of; none where path is "".
type also struct {
	path    string
	picture func() (*chart.Picture, error)
	text    []byte
}

// deliver puts out a report as the flags ask for: files first, so that whoever reads the
// text finds them there.
func (s *shared) deliver(c *cobra.Command, r *report) error {
	if err := c.Context().Err(); err != nil {
		return err
	}
	if s.plot != "" {
		if err := draw(c, s.plot, r.picture); err != nil {
			return err
		}
	}
	for _, a := range r.also {
		if a.path == "" || a.picture == nil {
			continue
		}
		if err := draw(c, a.path, a.picture); err != nil {
			return err
		}
	}
	if s.trace != "" {
		if err := write(c, s.trace, r.trace); err != nil {
			return err
		}
	}
	for _, a := range r.also {
		if a.path == "" || a.text == nil {
			continue
		}
		if err := write(c, a.path, func(w io.Writer) error { _, err := w.Write(a.text); return err }); err != nil {
			return err
		}
	}
	if s.json {
		if err := printJSON(c.OutOrStdout(), r.json()); err != nil {
			return err
		}
	} else {
		r.print(c.OutOrStdout())
		printCautions(c.OutOrStdout())
	}
	if s.strict && r.failed != nil {
		return &failure{missed, r.failed}
	}
	return nil
}

// missing is errMissed where a build fails, for a report.
func missing(fails bool) error {
	if fails {
		return errMissed
	}
	return nil
}
