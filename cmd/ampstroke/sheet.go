package main

import (
	"bytes"
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
	"example.org/ampstroke/drivetrain/sheet"
)

func sheetCommand() *cobra.Command {
	var s shared
	var o sheet.Order
	var out, planFile, againstFile, readingsFile string
	c := &cobra.Command{
		Use:   "sheet [BUILD] --out FILE.html",
		Short: "one page for the customer: verdict, figures, pictures, work",
		Long: `sheet writes one page that a technician signs and a customer takes home: the
verdict and what is to be minded, the figures with what each means, the build
part by part with what was assumed, pictures; with --against what the work has
changed, with --readings what the bench has measured of it. The page is a single
file that loads nothing and prints on A4 and Letter. With a name that ends in
.pdf it is printed by the browser that is found; the page itself prints from
any. BUILD is a build file; left out, the embedded demo is used, with the demo
plan unless another is given.`,
		Example: `  ampstroke sheet --out demo.html
  ampstroke sheet rifle.yaml --for "Ada Example" --by Bob --out rifle.html
  ampstroke sheet new.yaml --against old.yaml --plan day.yaml --out new.html
  ampstroke sheet rifle.yaml --readings evening.yaml --out rifle.pdf`,
		Args:              oneBuild,
		ValidArgsFunction: yamlFiles,
		RunE: func(c *cobra.Command, args []string) error {
			if err := s.check(); err != nil {
				return err
			}
			format, err := sheetFormat(out)
			if err != nil {
				return bad(err)
			}
			if againstFile == fromStdin && slices.Contains(args, fromStdin) {
				return bad(errors.New("--against: the build comes from standard input (-) already; wanted a file for one of the two"))
			}
			browser := ""
			if format == ".pdf" { // before any work is done
				if browser, err = findBrowser(); err != nil {
					return bad(fmt.Errorf("--out: %s: %w", out, err))
				}
			}
			if o.Document, err = s.document(args); err != nil {
				return err
			}
			if againstFile != "" {
				before := shared{stdin: s.stdin} // as it was, without what --set changes
				if o.Against, err = before.document([]string{againstFile}); err != nil {
					return err
				}
			}
			switch {
			case planFile != "":
				if o.Plan, err = readPlan(planFile); err != nil {
					return err
				}
			case len(args) == 0:
				o.Plan = buildfile.DemoPlan()
			}
			if readingsFile != "" {
				if o.Readings, err = within(c.Context(), func() (*buildfile.Readings, error) { return buildfile.ReadReadings(readingsFile) }); err != nil {
					return bad(err)
				}
			}
			o.Command, o.Version = sheetCommandLine(c, args), version()
			made, err := sheet.Make(c.Context(), o)
			if faults := quantity.Faults(err); len(faults) > 0 && faults[0].Place != (quantity.Place{}) { // in the readings
				return bad(err)
			}
			if err != nil {
				return placed(o.Document, err)
			}
			text, err := within(c.Context(), func() ([]byte, error) {
				var b bytes.Buffer
				err := sheet.Write(&b, made)
				return b.Bytes(), err
			})
			if err != nil {
				return err
			}
			if browser != "" {
				if text, err = toPDF(c.Context(), browser, text); err != nil {
					return fmt.Errorf("--out: %s: %w", out, err)
				}
			}
			x := made.Look
			return s.deliver(c, &report{
				picture: func() (*chart.Picture, error) { return chart.Cycle(x.Cycle) },
				also:    []also{{path: out, text: text}},
				trace:   x.Cycle.WriteCSV,
				json: func() object {
					return append(cycleJSON(x.Cycle, x.Verdicts, made.Findings, nil), member{"out", out}, member{"bytes", len(text)}, member{"sha256", o.Document.Sum()})
				},
				print: func(w io.Writer) {
					say(w, fmt.Sprintf("%s: the sheet is in %s, %.0f kB", x.Build.Name, out, float64(len(text))/1e3), "  ")
					printFindings(w, "", made.Findings, targetLine(x.Build, x.Verdicts))
				},
				failed: missing(fails(x.Verdicts, made.Findings)),
			})
		},
	}
	s.add(c)
	f := c.Flags()
	f.StringVar(&out, "out", "", "write the page to `FILE`, which ends in .html, or in .pdf where there is a browser")
	f.StringVar(&planFile, "plan", "", "fire by the plan of `FILE`, and say what gets hot")
	f.StringVar(&againstFile, "against", "", "put the build of `FILE`, as it was before, beside this one")
	f.StringVar(&o.For, "for", "", "the customer's name, `TEXT`")
	f.StringVar(&o.By, "by", "", "the technician's name, `TEXT`")
	f.StringVar(&o.Date, "date", "", "the day, as `TEXT`; left out, none stands on the page")
	writes(c, "out")
	f.StringVar(&readingsFile, "readings", "", "put the bench readings of `FILE` beside what is computed")
	reads(c, "plan", "against", "readings")
	for flag, endings := range map[string][]string{"out": {"html", "pdf"}, "plan": {"yaml", "yml"}, "against": {"yaml", "yml"}, "readings": {"yaml", "yml"}} {
		_ = c.RegisterFlagCompletionFunc(flag, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return endings, cobra.ShellCompDirectiveFilterFileExt
		})
	}
	return c
}

// sheetFormat returns the ending of a sheet's file, or says what is wanted.
func sheetFormat(path string) (string, error) {
	switch ending := strings.ToLower(filepath.Ext(path)); {
	case path == "":
		return "", errors.New("--out: is missing; wanted the name of the page, such as --out rifle.html")
	case ending == ".html" || ending == ".htm" || ending == ".pdf":
		return ending, nil
	}
	return "", fmt.Errorf("--out: %s: wanted a file name that ends in .html or .pdf", path)
}

// sheetCommandLine is the command as a shell takes it, but for where the page goes, which
// changes nothing on it.
func sheetCommandLine(c *cobra.Command, args []string) string {
	words := []string{c.CommandPath()}
	for _, a := range args {
		words = append(words, quoted(a))
	}
	overrides, _ := c.Flags().GetStringArray("set")
	for _, v := range overrides {
		words = append(words, "--set", quoted(v))
	}
	for _, name := range []string{"plan", "against", "readings", "for", "by", "date"} {
		if v, err := c.Flags().GetString(name); err == nil && v != "" {
			words = append(words, "--"+name, quoted(v))
		}
	}
	return strings.Join(append(words, "--out", "FILE"), " ")
}

// quoted is a word as shells take it; what is longer than anybody types is cut.
func quoted(word string) string {
	const most = 200
	if letters := []rune(word); len(letters) > most {
		word = string(letters[:most]) + "…"
	}
	plain := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_./=,:+@%", r)
	}
	if word != "" && strings.IndexFunc(word, func(r rune) bool { return !plain(r) }) < 0 {
		return word
	}
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}
