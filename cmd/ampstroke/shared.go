package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/wholefile"
)

// shared are the flags of every command that looks at a build.
type shared struct {
	json      bool
	plot      string
	trace     string
	overrides []string
	strict    bool

	stdin func() io.Reader // of the command
}

func (s *shared) add(c *cobra.Command) {
	s.stdin = c.InOrStdin
	f := c.Flags()
	f.BoolVar(&s.json, "json", false, "print one JSON document, in SI units, and nothing else")
	f.StringVar(&s.plot, "plot", "", "draw the result to `FILE` (.png, .svg or .pdf)")
	f.StringVar(&s.trace, "trace", "", "write the course in time, of a motor over its load, to `FILE.csv`")
	f.StringArrayVar(&s.overrides, "set", nil, "override one value of the build, `key.path=value`; can be repeated")
	f.BoolVar(&s.strict, "strict", false, "exit with status 1 if the target is missed or the build has a fault")
	writes(c, "plot", "trace")
	c.PreRunE = checkFiles
	_ = c.RegisterFlagCompletionFunc("set", completeSet)
	for _, name := range []string{"plot", "trace"} {
		endings := map[string][]string{"plot": {"png", "svg", "pdf"}, "trace": {"csv"}}[name]
		_ = c.RegisterFlagCompletionFunc(name, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return endings, cobra.ShellCompDirectiveFilterFileExt
		})
	}
}

// check looks at the names of the files to be written, before any work is done.
func (s *shared) check() error {
	if err := noForm(s.overrides); err != nil {
		return bad(err)
	}
	if s.plot != "" {
		if _, err := chart.Format(s.plot); err != nil {
			return bad(fmt.Errorf("--plot: %w", err))
		}
	}
	if s.trace != "" && filepath.Ext(s.trace) != ".csv" {
		return bad(fmt.Errorf("--trace: %s: wanted a file name that ends in .csv", s.trace))
	}
	return nil
}

// fromStdin stands for the build on standard input.
const fromStdin = "-"

// document reads the build file of the arguments, or the demo.
func (s *shared) document(args []string) (*buildfile.Document, error) {
	var d *buildfile.Document
	var err error
	if len(args) == 0 {
		d, err = buildfile.DemoDocument(s.overrides...)
	} else if args[0] == fromStdin {
		in := s.stdin()
		d, err = buildfile.ReadFrom(in, "standard input", s.overrides...)
		if r, ok := in.(*reader); ok && err != nil && r.ctx.Err() != nil { // no fault of the build
			return nil, r.ctx.Err()
		}
	} else {
		d, err = buildfile.Read(args[0], s.overrides...)
	}
	return d, bad(err)
}

// documents reads the build files of the arguments, or the demo.
func (s *shared) documents(ctx context.Context, args []string) ([]*buildfile.Document, error) {
	if len(args) == 0 {
		d, err := s.document(nil)
		return []*buildfile.Document{d}, err
	}
	var all []*buildfile.Document
	var faults []error
	if i := slices.Index(args, fromStdin); i >= 0 && slices.Contains(args[i+1:], fromStdin) {
		return nil, bad(errors.New("standard input (-) is given twice; it holds one build"))
	}
	for i := range args {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		d, err := s.document(args[i : i+1])
		// What is wrong with an override is so for every build, and said once.
		if err != nil && !slices.ContainsFunc(faults, func(f error) bool { return f.Error() == err.Error() }) {
			faults = append(faults, err)
		}
		all = append(all, d)
	}
	return all, bad(errors.Join(faults...))
}

// placed puts places to what is wrong with a build that could be read; any other
// error stays as it is.
func placed(d *buildfile.Document, err error) error {
	if slices.ContainsFunc(quantity.Faults(err), func(f *quantity.Fault) bool { return f.Field == "" }) {
		return err
	}
	return bad(d.Placed(err))
}

// write puts out a file that a flag asks for and says so. A file that can't be begun
// is bad input, one that can't be completed is what output is that can't.
func write(c *cobra.Command, path string, fill func(io.Writer) error) error {
	replaced, err := wholefile.WriteContext(c.Context(), path, fill)
	switch {
	case err == nil:
	case errors.Is(err, wholefile.ErrIncomplete), errors.Is(err, context.Canceled):
		return err
	default:
		return bad(err)
	}
	if replaced {
		fmt.Fprintf(c.ErrOrStderr(), "replaced %s\n", path)
	} else {
		fmt.Fprintf(c.ErrOrStderr(), "wrote %s\n", path)
	}
	return nil
}

// draw writes a picture that a flag asks for. One of hundreds of builds takes long, and
// is drawn in one piece.
func draw(c *cobra.Command, path string, p func() (*chart.Picture, error)) error {
	format, err := chart.Format(path)
	if err != nil {
		return bad(err)
	}
	type drawn struct {
		text    []byte
		lacking []rune
	}
	d, err := within(c.Context(), func() (drawn, error) {
		var b bytes.Buffer
		picture, err := p()
		if err != nil {
			return drawn{}, err
		}
		err = picture.Encode(&b, format)
		return drawn{b.Bytes(), picture.Lacks(format)}, err
	})
	if err != nil {
		return err
	}
	if err := write(c, path, func(w io.Writer) error { _, err := w.Write(d.text); return err }); err != nil {
		return err
	}
	if len(d.lacking) > 0 {
		const most = 12
		letters := string(d.lacking[:min(most, len(d.lacking))])
		if len(d.lacking) > most {
			letters += "…"
		}
		fmt.Fprintf(c.ErrOrStderr(), "%s: the picture's font lacks %s, for which boxes stand; an .svg shows them by the fonts of who looks at it\n", path, letters)
	}
	return nil
}

// oneBuild takes at most one build file.
func oneBuild(c *cobra.Command, args []string) error {
	if len(args) < 2 {
		return nil
	}
	if overrides, err := c.Flags().GetStringArray("set"); err == nil {
		if err := noForm(overrides); err != nil { // its value is one of the arguments
			return err
		}
	}
	instead := "'ampstroke compare' takes several"
	if c.Flags().Lookup("plan") != nil {
		instead = fmt.Sprintf("a plan stands behind its flag: --plan %s", args[1])
	}
	return fmt.Errorf("more than one build file is given; %s", instead)
}

// noForm refuses overrides that are no key and value in one word.
func noForm(overrides []string) error {
	for _, o := range overrides {
		if !strings.Contains(o, "=") {
			return fmt.Errorf("--set %s: wanted key.path=value, such as motor.armature.turns=22, in quotes where blanks are in it", o)
		}
	}
	return nil
}

// anyYAMLFiles completes any number of build files.
func anyYAMLFiles(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return []string{"yaml", "yml"}, cobra.ShellCompDirectiveFilterFileExt
}

// yamlFiles completes one build file.
func yamlFiles(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return []string{"yaml", "yml"}, cobra.ShellCompDirectiveFilterFileExt
}
