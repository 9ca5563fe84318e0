package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/levers"
	"example.org/ampstroke/drivetrain/study"
)

func leversCommand() *cobra.Command {
	var s shared
	var wants []string
	var apply, after string
	var all bool
	c := &cobra.Command{
		Use:   "levers [BUILD]",
		Short: "which part, and by how much: what meets a missed target",
		Long: `levers says of each key of the build file what a small change of it does to each
figure: one per cent of its value, or one of a count. For each want of the
target that is missed, it looks for the value of each key that alone would just
meet it, between half and twice what it is, and says what else that changes;
where no value alone meets all wants, for the pairs of keys that do with the
least change. --want asks for more than the target, of any figure; = brings the
figure to a value from wherever it is. Keys that nobody can move (weather,
constants of materials, factors of the model) are left out.`,
		Example: `  ampstroke levers rifle.yaml
  ampstroke levers rifle.yaml --want "rate_of_fire=24 /s" --plot levers.png
  ampstroke levers --want "muzzle_velocity<=110 m/s" --json
  ampstroke levers rifle.yaml --apply spring.rate --after stiffer.yaml`,
		Args:              oneBuild,
		ValidArgsFunction: yamlFiles,
		RunE: func(c *cobra.Command, args []string) error {
			if err := s.check(); err != nil {
				return err
			}
			if s.trace != "" {
				return bad(errors.New("--trace: levers has no course in time; 'ampstroke cycle --vary' writes figures over values"))
			}
			if (apply == "") != (after == "") {
				return bad(errors.New("--apply: names the key, and --after the file to write; wanted both"))
			}
			if err := checkAfter(after); err != nil {
				return err
			}
			q, err := readWants(wants)
			if err != nil {
				return bad(err)
			}
			d, err := s.document(args)
			if err != nil {
				return err
			}
			r, err := levers.Find(c.Context(), d, q)
			if err != nil {
				return err
			}
			var changed []byte
			if apply != "" {
				now, err := r.Apply(apply)
				if err != nil {
					return bad(fmt.Errorf("--apply: %w", err))
				}
				if changed, err = now.Bytes(); err != nil {
					return err
				}
			}
			return s.deliver(c, &report{
				picture: func() (*chart.Picture, error) { return chart.Levers(r) },
				also:    []also{{path: after, text: changed}},
				json:    func() object { return leversJSON(r) },
				print:   func(w io.Writer) { printLevers(w, r, all) },
				failed:  missing(fails(r.Verdicts, r.Findings)),
			})
		},
	}
	s.add(c)
	c.Flags().StringArrayVar(&wants, "want", nil, "ask for more than the target, `FIGURE=VALUE`, such as \"rate_of_fire=24 /s\", or >= or <=; can be repeated")
	c.Flags().StringVar(&apply, "apply", "", "put `KEY` at the value that meets the first want that is missed, for --after")
	c.Flags().StringVar(&after, "after", "", "write the build with --apply's value to `FILE.yaml`")
	c.Flags().BoolVar(&all, "all", false, "print all keys, not only those that do most")
	writes(c, "after")
	_ = c.RegisterFlagCompletionFunc("want", func(*cobra.Command, []string, string) (names []string, _ cobra.ShellCompDirective) {
		for _, f := range study.Figures() {
			names = append(names, f.Name+"=\t"+f.Meaning)
		}
		return names, cobra.ShellCompDirectiveNoSpace | cobra.ShellCompDirectiveNoFileComp
	})
	_ = c.RegisterFlagCompletionFunc("after", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return []string{"yaml", "yml"}, cobra.ShellCompDirectiveFilterFileExt
	})
	return c
}

// readWants reads what --want asks.
func readWants(texts []string) (q levers.Question, err error) {
	for _, text := range texts {
		w, err := levers.ParseWant(text)
		if err != nil {
			return q, fmt.Errorf("--want: %w", err)
		}
		if slices.ContainsFunc(q.Wants, func(o figure.Want) bool { return o.Figure == w.Figure }) {
			return q, fmt.Errorf("--want: %s is asked for twice", w.Figure)
		}
		q.Wants = append(q.Wants, w)
	}
	return q, nil
}

// Without --all, so many rows are printed.
const (
	mostSingles = 10
	mostEffects = 15
	mostNamed   = 3 // in the first line
)

func printLevers(w io.Writer, r *levers.Result, all bool) {
	b := r.Document.Build
	for i, text := range leversTitle(r) {
		if i > 0 {
			fmt.Fprintln(w)
		}
		say(w, b.Name+": "+text, "  ")
	}
	printFindings(w, "", r.Findings, targetLine(b, r.Verdicts))
	for _, i := range r.Missed() {
		printSingles(w, r, i, all)
	}
	printPairs(w, r)
	printEffects(w, r, all)
}

// leversTitle says in words what is missed and what meets it: a line a want.
func leversTitle(r *levers.Result) (lines []string) {
	for _, i := range r.Missed() {
		v := &r.Verdicts[i]
		f, _ := study.FindFigure(v.Figure)
		text := "misses " + v.Figure + " by " + study.Shown(f.Kind, v.Shortfall()) + ": "
		if v.Fate == figure.NoFigure {
			text = "doesn't come to " + v.Figure + ": "
		}
		var clean, others []string
		for k := range r.Singles {
			s := &r.Singles[k]
			switch {
			case s.Want != i || !s.Meets():
			case s.Clean && !faulty(s.Brings):
				clean = append(clean, s.Key+" "+moved(&s.Lever, s.Value))
			default:
				others = append(others, s.Key+" "+moved(&s.Lever, s.Value))
			}
		}
		switch {
		case len(clean) > 0:
			text += alone(clean)
		case len(others) > 0 && len(r.Missed()) > 1:
			text += alone(others) + ", but not all that is wanted"
		case len(others) > 0:
			text += alone(others) + ", but at the price of what else is wanted, or of a fault"
		default:
			text += "no key alone meets it"
		}
		lines = append(lines, text)
	}
	switch {
	case len(lines) > 0:
	case len(r.Verdicts) == 0:
		lines = []string{"the build file asks for no figure; --want does"}
	default:
		lines = []string{"misses nothing of what is wanted; --want asks for more"}
	}
	return lines
}

// alone joins keys with their values that each meet a want.
func alone(all []string) string {
	text := strings.Join(all[:min(mostNamed, len(all))], "; ")
	if len(all) == 1 {
		return text + " alone meets it"
	}
	return text + ": each alone meets it"
}

// faulty tells whether there is a fault's code among some.
func faulty(codes []string) bool {
	return slices.ContainsFunc(codes, func(code string) bool { return finding.New(code, nil, "").Weight == finding.Fault })
}

// moved shows the way of a lever to a value: "680 -> 712 N/m".
func moved(l *levers.Lever, to float64) string {
	a, b := l.Text(l.From), l.Text(to)
	if number, unit, ok := strings.Cut(a, " "); ok && strings.HasSuffix(b, " "+unit) {
		a = number
	}
	return a + " -> " + b
}

func printSingles(w io.Writer, r *levers.Result, want int, all bool) {
	v := &r.Verdicts[want]
	f, _ := study.FindFigure(v.Figure)
	var lines [][]string
	var none []string
	more := 0
	for i := range r.Singles {
		s := &r.Singles[i]
		switch {
		case s.Want != want:
		case !s.Meets():
			none = append(none, s.Key)
		case len(lines) >= mostSingles && !all:
			more++
		default:
			lines = append(lines, []string{s.Key, s.Text(s.Value), fmt.Sprintf("%+.1f %%", 100*s.Change()), besideText(r, s)})
		}
	}
	if len(lines) > 0 {
		printNoted(w, fmt.Sprintf("what alone meets %s %s, the nearest first", v.Figure, study.Asked(f.Kind, &v.Want)), []string{"", "at", "change", "and then"}, lines)
	} else {
		fmt.Fprintln(w)
		say(w, fmt.Sprintf("no value alone meets %s %s, between half and twice what it is", v.Figure, study.Asked(f.Kind, &v.Want)), "  ")
	}
	switch {
	case more > 0:
		say(w, fmt.Sprintf("  and %d more, farther off (--all)", more), "  ")
	case all && len(none) > 0 && len(lines) > 0:
		fmt.Fprintln(w, wrap("  no value does: ", strings.Join(none, ", "), screen, "    "))
	}
}

// besideText says what else a value does.
func besideText(r *levers.Result, s *levers.Single) string {
	var parts []string
	part := func(what string, all []string) {
		if len(all) > 0 {
			parts = append(parts, what+strings.Join(all, ", "))
		}
	}
	var misses, mends []string
	for i := range s.Verdicts {
		now, then := &r.Verdicts[i], &s.Verdicts[i]
		if i == s.Want || study.NotJudged(r.Document.Build, now) {
			continue
		}
		if then.Fate != figure.Met {
			misses = append(misses, now.Figure)
		} else if now.Fate != figure.Met {
			mends = append(mends, now.Figure)
		}
	}
	part("also meets ", mends)
	part("MISSES ", misses)
	told := func(codes []string) (all []string) {
		for _, code := range codes {
			if code == "target" { // said by what it meets and misses
				continue
			}
			if faulty([]string{code}) {
				code = "FAULT " + code
			}
			all = append(all, code)
		}
		return all
	}
	part("brings ", told(s.Brings))
	part("takes ", told(s.Takes))
	if len(parts) == 0 {
		return "nothing else"
	}
	return strings.Join(parts, "; ")
}

func printPairs(w io.Writer, r *levers.Result) {
	if len(r.Missed()) == 0 || slices.ContainsFunc(r.Singles, func(s levers.Single) bool { return s.Clean }) {
		return
	}
	if len(r.Pairs) == 0 {
		fmt.Fprintln(w)
		say(w, "no value alone meets all that is wanted, and no pair of keys was found that does", "  ")
		return
	}
	var lines [][]string
	for i := range r.Pairs {
		p := &r.Pairs[i]
		note := ""
		for k := range p.Levers {
			l := &p.Levers[k]
			if k == 1 {
				note = besideText(r, &levers.Single{Want: -1, Brings: p.Brings, Takes: p.Takes})
			}
			lines = append(lines, []string{l.Key, l.Text(p.Values[k]), fmt.Sprintf("%+.1f %%", 100*(p.Values[k]/l.From-1)), note})
		}
		if i < len(r.Pairs)-1 {
			lines = append(lines, []string{"", "", "", ""})
		}
	}
	printNoted(w, "no value alone meets all that is wanted; pairs that do, by the least change", []string{"", "at", "change", "and then"}, lines)
}

// effectText shows what a step does to a figure, signed, in its unit.
func effectText(f *figure.Info, change float64) string {
	unit := f.Unit
	if unit == "%" {
		unit = "points"
	}
	if unit == "°C" {
		unit = "K"
	}
	text := sig(f.Scale()*change, 2, unit)
	switch {
	case text == "":
		return "-"
	case change == 0 || strings.HasPrefix(text, "0 "):
		return "0"
	case change > 0:
		text = "+" + text
	}
	return strings.TrimRight(text, " ")
}

func printEffects(w io.Writer, r *levers.Result, all bool) {
	heads := []string{"", "now", "step"}
	for i := range r.Figures {
		heads = append(heads, strings.TrimSpace(r.Figures[i].Label))
	}
	var lines [][]string
	bent := false
	for k := range r.Effects {
		e := &r.Effects[k]
		if k >= mostEffects && !all {
			break
		}
		line := []string{e.Key, e.Text(e.From), e.StepText()}
		for i, c := range e.Changes {
			text := effectText(&r.Figures[i], c)
			if e.Bent[i] {
				text, bent = text+" ~", true
			}
			line = append(line, text)
		}
		lines = append(lines, line)
	}
	if len(lines) == 0 {
		fmt.Fprintln(w, "\nno key moves a figure by a small change")
		return
	}
	what := "what is wanted"
	if len(r.Missed()) > 0 {
		what = "what is missed"
	} else if len(r.Verdicts) == 0 {
		what = "the figures"
	}
	printTable(w, "what a step does, first what does most to "+what, heads, lines)
	if n := len(r.Effects) - len(lines); n > 0 {
		say(w, fmt.Sprintf("  and %s more that move a figure less (--all)", counted(n, "key")), "  ")
	}
	if bent {
		say(w, "  ~ it bends nearby: half a step does not half as much", "  ")
	}
}

func leversJSON(r *levers.Result) object {
	wants, effects, single, pairs := []object{}, []object{}, []object{}, []object{}
	none := math.NaN()
	for i := range r.Verdicts {
		v := &r.Verdicts[i]
		by := v.Shortfall()
		if v.Fate == figure.NoFigure {
			by = none
		}
		wants = append(wants, object{{"what", v.Figure}, {"min", number(v.Min.Or(none))}, {"max", number(v.Max.Or(none))}, {"value", number(v.Value)}, {"missed_by", number(by)}})
	}
	for i := range r.Effects {
		e := &r.Effects[i]
		figures, bent := object{}, []string{}
		for k, c := range e.Changes {
			figures = append(figures, member{r.Figures[k].Key(), number(c)})
			if e.Bent[k] {
				bent = append(bent, r.Figures[k].Key())
			}
		}
		effects = append(effects, object{{"key", e.Key}, {"value", number(e.From)}, {"step", number(e.Step)}, {"figures", figures}, {"bent", bent}})
	}
	list := func(all []string) []string { return append([]string{}, all...) }
	for i := range r.Singles {
		s := &r.Singles[i]
		others := []object{}
		for k := range s.Verdicts {
			if k != s.Want {
				others = append(others, object{{"what", s.Verdicts[k].Figure}, {"ok", okJSON(&s.Verdicts[k])}})
			}
		}
		single = append(single, object{
			{"what", r.Verdicts[s.Want].Figure}, {"key", s.Key}, {"value", number(s.Value)}, {"from", number(s.From)},
			{"others", others}, {"brings", list(s.Brings)}, {"takes", list(s.Takes)},
		})
	}
	for i := range r.Pairs {
		p := &r.Pairs[i]
		pairs = append(pairs, object{
			{"keys", []string{p.Levers[0].Key, p.Levers[1].Key}}, {"values", []number{number(p.Values[0]), number(p.Values[1])}},
			{"from", []number{number(p.Levers[0].From), number(p.Levers[1].From)}}, {"largest_change", number(p.Largest)},
			{"brings", list(p.Brings)}, {"takes", list(p.Takes)},
		})
	}
	return object{
		{"format", 1}, {"build", r.Document.Build.Name}, {"wants", wants}, {"effects", effects}, {"single", single}, {"pairs", pairs},
		{"findings", findingsJSON(r.Findings)}, {"cautions", cautions()},
	}
}

// okJSON is whether a want is met, null where there is no such figure.
func okJSON(v *figure.Verdict) any {
	if v.Fate == figure.NoFigure {
		return nil
	}
	return v.Fate == figure.Met
}
