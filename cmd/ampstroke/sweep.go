package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// sweepFlags are those of a sweep over some keys.
type sweepFlags struct {
	vary []string
	show string
	axes []study.Axis
}

// mostAxes is how many keys are varied at most.
const mostAxes = 3

func (f *sweepFlags) add(c *cobra.Command) {
	c.Flags().StringArrayVar(&f.vary, "vary", nil, "fire once for each of a key's values, `KEY=VALUES`: 10,12,14 or 20..32 or \"600..800 N/m:9\" (nine) or \"600..800 N/m by 25 N/m\"; up to three keys")
	c.Flags().StringVar(&f.show, "show", "", "show these `FIGURES` of --vary, with commas between (default the target's and those asked of first)")
	_ = c.RegisterFlagCompletionFunc("vary", func(*cobra.Command, []string, string) (all []string, _ cobra.ShellCompDirective) {
		for _, k := range buildfile.Keys() {
			if k.Quantity && !strings.HasPrefix(k.Path, "target.") {
				all = append(all, k.Path+"=\t"+k.Meaning)
			}
		}
		return all, cobra.ShellCompDirectiveNoSpace | cobra.ShellCompDirectiveNoFileComp
	})
}

func (f *sweepFlags) any() bool { return len(f.vary) > 0 }

// check reads the flags.
func (f *sweepFlags) check() error {
	if f.show != "" && !f.any() {
		return errors.New("--show: says what --vary shows; wanted --vary KEY=VALUES beside it")
	}
	if len(f.vary) > mostAxes {
		return fmt.Errorf("--vary: %d keys; wanted at most %d", len(f.vary), mostAxes)
	}
	for _, text := range f.vary {
		a, err := study.ParseAxis(text)
		if err != nil {
			return fmt.Errorf("--vary: %w", err)
		}
		f.axes = append(f.axes, a)
	}
	return nil
}

// figures are the names of what is shown: what is asked for, or the target's and those
// that people ask of first.
func (f *sweepFlags) figures(d *buildfile.Document) (names []string, err error) {
	if f.show == "" {
		for _, w := range d.Target {
			names = append(names, w.Figure)
		}
		for _, name := range study.Headline(d.Build.Trigger.Mode) {
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
		return names, nil
	}
	for name := range strings.SplitSeq(f.show, ",") {
		name = strings.TrimSpace(name)
		if _, ok := buildfile.FindFigure(name); !ok {
			return nil, fmt.Errorf("--show: %w", noSuchFigure(name))
		}
		if slices.Contains(names, name) {
			return nil, fmt.Errorf("--show: %s is there twice", name)
		}
		names = append(names, name)
	}
	return names, nil
}

// noSuchFigure says that a figure is unknown, or one of a firing plan.
func noSuchFigure(name string) error {
	if _, ok := study.FindFigure(name); ok {
		return fmt.Errorf("%s is a figure of a firing plan, and none is fired here", name)
	}
	return buildfile.NoFigure(name)
}

// swept is a sweep with what came of it.
type swept struct {
	*study.Sweep
	figures []figure.Info
	shown   int // of the figures
	points  []study.Point
	errs    []error // of the points, nil where there is an answer
}

func (f *sweepFlags) run(c *cobra.Command, s *shared, d *buildfile.Document) error {
	if s.plot != "" && len(f.axes) > 2 {
		return bad(fmt.Errorf("--plot: %d keys are more than a picture has sides; wanted one or two with --vary, the others with --set", len(f.axes)))
	}
	names, err := f.figures(d)
	if err != nil {
		return bad(err)
	}
	sweep, err := study.NewSweep(d, study.Question{Figures: names, Target: d.Target, Findings: true}, f.axes...)
	if err != nil {
		return bad(fmt.Errorf("--vary: %w", err))
	}
	r := &swept{Sweep: sweep, figures: sweep.Figures(), shown: len(names)}
	bar := progress(c.ErrOrStderr(), c.OutOrStdout(), sweep.Count, "builds")
	defer bar.Finish()
	var count batchFaults
	for p, err := range sweep.Points(c.Context()) {
		if c.Context().Err() != nil {
			break
		}
		if err != nil {
			count.add(err, false)
		}
		r.points, r.errs = append(r.points, p), append(r.errs, err)
		_ = bar.Add(1)
	}
	var failed error
	if r.good() == 0 {
		failed = errors.New("no combination meets the target without a fault (--strict)")
	}
	if err := s.deliver(c, &report{
		picture: func() (*chart.Picture, error) { return chart.Sweep(sweep, r.points, names) },
		trace:   r.writeCSV,
		json:    r.json,
		print:   r.print,
		failed:  failed,
	}); err != nil && (failed == nil || !errors.Is(err, failed)) {
		return err
	}
	switch {
	case count.wrong > 0:
		return bad(fmt.Errorf("--vary: %s of values could not be used together", counted(count.wrong, "combination")))
	case count.unfinished > 0:
		return fmt.Errorf("--vary: the simulation of %s came to no end", counted(count.unfinished, "combination"))
	case s.strict && failed != nil:
		return &failure{missed, failed}
	}
	return nil
}

// good counts the combinations that meet the target and have no fault.
func (r *swept) good() (n int) {
	for _, p := range r.points {
		if r.Good(p.Answer) {
			n++
		}
	}
	return n
}

// faults are the codes of a combination's faults.
func faults(a *study.Answer) []string {
	codes := []string{}
	for _, f := range a.Findings {
		if f.Weight == finding.Fault && !slices.Contains(codes, f.Code) {
			codes = append(codes, f.Code)
		}
	}
	return codes
}

func (r *swept) print(w io.Writer) {
	var sides []string
	for _, a := range r.Axes {
		sides = append(sides, fmt.Sprintf("%s of %s", counted(len(a.Values), "value"), a.Key))
	}
	text := fmt.Sprintf("%s: %s", r.Document.Build.Name, strings.Join(sides, " and "))
	if len(r.Axes) > 1 {
		text += fmt.Sprintf(", %d builds", r.Count())
	}
	without := "%d without a fault"
	if len(r.Document.Target) > 0 {
		without = "%d meet the target without a fault"
	}
	say(w, text+"; "+fmt.Sprintf(without, r.good()), "  ")
	heads := []string{""}
	widths := make([]int, len(r.Axes))
	cells := make([][]string, len(r.points))
	for i, a := range r.Axes {
		name := a.Key[strings.LastIndexByte(a.Key, '.')+1:]
		widths[i] = len(name)
		for k, p := range r.points {
			cells[k] = append(cells[k], figure.Brief(a.Kind.Format(p.Values[i])))
			widths[i] = max(widths[i], len([]rune(cells[k][i])))
		}
		heads[0] += pad(name, widths[i]) + "  "
	}
	heads[0] = strings.TrimSpace(heads[0])
	for _, f := range r.figures[:r.shown] {
		heads = append(heads, strings.TrimSpace(f.Label))
	}
	var lines [][]string
	marked, failed := false, 0
	for k, p := range r.points {
		name := ""
		for i, cell := range cells[k] {
			name += pad(cell, widths[i]) + "  "
		}
		name = strings.TrimRight(name, " ")
		if r.errs[k] != nil {
			failed++
			line := []string{name}
			for range r.shown {
				line = append(line, "-")
			}
			lines = append(lines, line)
			continue
		}
		if len(faults(p.Answer)) > 0 {
			name += " !"
			marked = true
		}
		line := []string{name}
		for i := range r.figures[:r.shown] {
			f := &r.figures[i]
			text := strings.TrimSpace(f.Text(p.Answer.Values[i]))
			if text == "" {
				text = "-"
			}
			for _, v := range p.Answer.Verdicts {
				if v.Figure == f.Name && v.Fate != figure.Met && !study.NotJudged(r.Document.Build, &v) {
					text += " !"
					marked = true
				}
			}
			line = append(line, text)
		}
		lines = append(lines, line)
	}
	printTable(w, "what comes of "+axesText(r.Axes), heads, lines)
	if marked {
		say(w, "  ! misses the target; behind values: the build has a fault (--json says which)", "  ")
	}
	if failed > 0 {
		for k, err := range r.errs {
			if err != nil {
				say(w, fmt.Sprintf("  %s: %s", strings.Join(cells[k], ", "), strings.ReplaceAll(err.Error(), "\n", "; ")), "    ")
				if failed > 1 {
					say(w, fmt.Sprintf("  and %d more that can't be used (--json says why)", failed-1), "    ")
				}
				break
			}
		}
	}
}

func axesText(axes []study.Axis) string {
	var all []string
	for _, a := range axes {
		all = append(all, a.Key)
	}
	return strings.Join(all, ", ")
}

func (r *swept) json() object {
	keys, figures, points := []object{}, []string{}, []object{}
	for _, a := range r.Axes {
		var values []number
		for _, v := range a.Values {
			values = append(values, number(v))
		}
		keys = append(keys, object{{"key", a.Key}, {"unit", a.Kind.SIUnit()}, {"values", values}})
	}
	for i := range r.figures[:r.shown] {
		figures = append(figures, r.figures[i].Key())
	}
	for k, p := range r.points {
		values, of := []number{}, object{}
		for _, v := range p.Values {
			values = append(values, number(v))
		}
		o := object{{"values", values}}
		if r.errs[k] != nil {
			points = append(points, append(o, member{"error", r.errs[k].Error()}))
			continue
		}
		for i := range r.figures[:r.shown] {
			of = append(of, member{figures[i], number(p.Answer.Values[i])})
		}
		verdicts := []object{}
		for i := range p.Answer.Verdicts {
			v := &p.Answer.Verdicts[i]
			verdicts = append(verdicts, object{{"what", v.Figure}, {"ok", okJSON(v)}})
		}
		points = append(points, append(o, member{"outcome", p.Answer.Status.String()}, member{"figures", of}, member{"verdict", verdicts}, member{"faults", faults(p.Answer)}))
	}
	return object{{"format", 1}, {"build", r.Document.Build.Name}, {"keys", keys}, {"figures", figures}, {"points", points}, {"cautions", cautions()}}
}

// writeCSV writes a line a combination, in SI units, with a head that names them; what
// doesn't exist is empty.
func (r *swept) writeCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	var head []string
	for _, a := range r.Axes {
		head = append(head, (&figure.Info{Name: a.Key, Kind: a.Kind}).Key())
	}
	for i := range r.figures[:r.shown] {
		head = append(head, r.figures[i].Key())
	}
	_ = out.Write(append(head, "target_met", "faults"))
	for k, p := range r.points {
		var line []string
		for _, v := range p.Values {
			line = append(line, quantity.TableText(v))
		}
		if r.errs[k] != nil {
			_ = out.Write(append(line, make([]string, r.shown+2)...))
			continue
		}
		for i := range r.figures[:r.shown] {
			line = append(line, quantity.TableText(p.Answer.Values[i]))
		}
		missed := slices.ContainsFunc(p.Answer.Verdicts, func(v figure.Verdict) bool { return v.Fate != figure.Met && !study.NotJudged(r.Document.Build, &v) })
		_ = out.Write(append(line, fmt.Sprint(!missed), strings.Join(faults(p.Answer), " ")))
	}
	out.Flush()
	return out.Error()
}
