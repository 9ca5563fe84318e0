package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/search"
)

// searchFlags are what search is asked.
type searchFlags struct {
	json      bool
	plot      string
	overrides []string
	strict    bool

	by, front, show string
	top, near       int
	broken, quick   bool
	csv             string
	after           int64
	share           string
	merge           bool
	sure            int
	typical         bool

	part, of int // of share; 0: none
}

func searchCommand() *cobra.Command {
	var s searchFlags
	c := &cobra.Command{
		Use:   "search SHELF",
		Short: "which parts from the shelf meet the wish",
		Long: `search computes every combination of the parts on a shelf and says which meet
the wish: the best by price or by any figure, the front where nothing can be had
without giving something up, why the others fail, and what comes nearest. SHELF
is a YAML file with a base build, slots (keys of the build file) and the parts
that may go there.`,
		Example: `  ampstroke search shelf.yaml
  ampstroke search shelf.yaml --by current_rms --front price,muzzle_energy
  ampstroke search shelf.yaml --plot front.png --csv all.csv
  ampstroke search shelf.yaml --sure=20
  ampstroke search shelf.yaml --after 1201 rifle.yaml
  ampstroke search shelf.yaml --json --share 3/64 > part-3.json
  ampstroke search shelf.yaml --json --merge part-*.json`,
		Args:    s.args,
		PreRunE: s.files,
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"yaml", "yml", "json"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: s.run,
	}
	f := c.Flags()
	f.BoolVar(&s.json, "json", false, "print one JSON document, in SI units, and nothing else")
	f.StringVar(&s.plot, "plot", "", "draw the front to `FILE` (.png, .svg or .pdf)")
	f.StringArrayVar(&s.overrides, "set", nil, "override one value of the base, `key.path=value`; can be repeated")
	f.BoolVar(&s.strict, "strict", false, "exit with status 1 if no combination meets the wish and is free of faults")
	f.StringVar(&s.by, "by", search.Price, "rank the best by `NAME`: price, or any figure")
	f.StringVar(&s.front, "front", "", "two to five `NAMES` of which the front is made, with commas between them (default price,trigger_delay,current_rms, in single inrush)")
	f.StringVar(&s.show, "show", "", "further figures to list, `NAMES` with commas between them")
	f.IntVar(&s.top, "top", 10, "list the best `N`")
	f.IntVar(&s.near, "near", 5, "list the nearest `N` misses; always done where nothing meets the wish")
	f.BoolVar(&s.broken, "broken", false, "list combinations that meet the wish but have faults, too")
	f.BoolVar(&s.quick, "quick", false, "give a combination up at its first missed want: quicker, but why others fail is told less well")
	f.StringVar(&s.csv, "csv", "", "write a row for each combination that fires to `FILE.csv`")
	f.Int64Var(&s.after, "after", 0, "write combination `N` as a build file, whose name stands behind SHELF")
	f.StringVar(&s.share, "share", "", "compute the i-th of n equal parts alone, `i/n`, for a merge; with --json")
	f.BoolVar(&s.merge, "merge", false, "put the shares together whose files stand behind SHELF")
	f.IntVar(&s.sure, "sure", 0, "ask of the best `N`, 50 if none is said, how many such guns stay sound with the tolerances of their parts, and order them by that")
	f.Lookup("sure").NoOptDefVal = "50"
	f.BoolVar(&s.typical, "typical", false, "with --sure: parts that state no tolerance get a typical one (judgement, no source)")
	writes(c, "plot", "csv")
	_ = c.RegisterFlagCompletionFunc("set", completeSet)
	return c
}

// args checks what stands behind the command.
func (s *searchFlags) args(c *cobra.Command, args []string) error {
	if overrides, err := c.Flags().GetStringArray("set"); err == nil {
		if err := noForm(overrides); err != nil { // its value is one of the arguments
			return err
		}
	}
	after := c.Flags().Changed("after")
	switch {
	case len(args) == 0:
		return errors.New("no shelf is given; wanted a YAML file with a base and slots")
	case s.merge && after:
		return errors.New("--after needs the shelf alone; wanted it without --merge")
	case s.merge && len(args) == 1:
		return errors.New("--merge: wanted the files of all shares behind the shelf")
	case s.merge:
	case after && len(args) != 2:
		return errors.New("--after: wanted the name of one build file behind the shelf")
	case !after && len(args) > 1:
		return fmt.Errorf("%s stands behind the shelf; wanted one shelf", args[1])
	}
	return nil
}

// files looks at the files of flags and arguments, before any work is done.
func (s *searchFlags) files(c *cobra.Command, args []string) error {
	if !c.Flags().Changed("after") {
		return checkFiles(c, args)
	}
	if err := checkAfter(args[1]); err != nil {
		return err
	}
	if err := checkFiles(c, args[:1]); err != nil {
		return err
	}
	out := named("--after", args[1])
	for _, other := range []place{named("the shelf", args[0]), named("--plot", s.plot), named("--csv", s.csv), stream("standard output", c.OutOrStdout())} {
		if (other.path != "" || other.info != nil) && out.same(&other) {
			return bad(fmt.Errorf("--after: %s: is %s as well; wanted another file", args[1], other.who))
		}
	}
	return nil
}

// check looks at flags that don't go together.
func (s *searchFlags) check(c *cobra.Command) error {
	if s.plot != "" {
		if _, err := chart.Format(s.plot); err != nil {
			return fmt.Errorf("--plot: %w", err)
		}
	}
	if s.csv != "" && filepath.Ext(s.csv) != ".csv" {
		return fmt.Errorf("--csv: %s: wanted a file name that ends in .csv", s.csv)
	}
	if c.Flags().Changed("sure") && (s.sure < 1 || s.sure > 100_000) {
		return errors.New("--sure: wanted a number from 1 to 100000, as in --sure=20")
	}
	if s.typical && s.sure == 0 {
		return errors.New("--typical: says what varies with --sure; wanted --sure beside it")
	}
	if s.top < 0 || s.near < 0 || s.top > 1_000_000 || s.near > 1_000_000 {
		return errors.New("--top, --near: wanted numbers from 0 to 1000000")
	}
	if !c.Flags().Changed("share") {
		return nil
	}
	i, n, ok := strings.Cut(s.share, "/")
	var errI, errN error
	s.part, errI = strconv.Atoi(i)
	s.of, errN = strconv.Atoi(n)
	const most = 1_000_000
	switch {
	case !ok || errI != nil || errN != nil || s.of < 1 || s.of > most || s.part < 1 || s.part > s.of:
		return fmt.Errorf("--share: %s; wanted i/n, such as 3/64, with i from 1 to n", s.share)
	case s.merge:
		return errors.New("--share: makes one share, --merge puts them together; wanted one of the two")
	case !s.json:
		return errors.New("--share: its result is for --merge; wanted --json beside it")
	case s.plot != "" || s.csv != "" || s.strict || s.sure != 0:
		return errors.New("--share: --plot, --csv, --sure and --strict follow the merged result; wanted them with --merge")
	case c.Flags().Changed("after"):
		return errors.New("--after needs the shelf alone; wanted it without --share")
	}
	return nil
}

// names splits what a flag lists.
func names(text string) (all []string) {
	for _, n := range strings.Split(text, ",") {
		if n = strings.TrimSpace(n); n != "" {
			all = append(all, n)
		}
	}
	return all
}

// settings is what has to be the same in all shares and the merge.
func (s *searchFlags) settings() string {
	text, err := json.Marshal([]any{s.by, names(s.front), names(s.show), s.top, s.near, s.broken, s.quick, s.overrides})
	if err != nil {
		panic(err) // strings and numbers
	}
	return string(text)
}

func (s *searchFlags) run(c *cobra.Command, args []string) error {
	if err := s.check(c); err != nil {
		return bad(err)
	}
	shelf, err := buildfile.ReadShelf(args[0], s.overrides...)
	if err != nil {
		return bad(err)
	}
	asked := search.Asked{
		By: s.by, Front: names(s.front), Show: names(s.show), Top: s.top, Near: s.near, Sure: s.sure, Broken: s.broken,
		Cloud: s.plot != "" || s.of > 0, Settings: search.Settings{Quick: s.quick},
	}
	if s.of > 0 {
		asked.Settings.First, asked.Settings.Last = search.Interval(s.part, s.of, shelf.Combinations())
	}
	r, err := search.NewReport(shelf, asked)
	if err != nil {
		return bad(err)
	}
	for _, key := range r.Overridden(s.overrides) {
		fmt.Fprintf(c.ErrOrStderr(), "--set %s: applies to the base; where a part or the shelf's target has the key, that stands over it\n", key)
	}
	if c.Flags().Changed("after") {
		if err := s.writeAfter(c, r, args[1]); err != nil {
			return err
		}
		if !s.json && s.plot == "" && s.csv == "" {
			return nil
		}
	}
	if s.merge {
		err = s.mergeShares(c, r, args[1:])
	} else {
		err = s.compute(c, r, r.Run)
	}
	if err != nil {
		return err
	}
	var share *search.Share
	if s.of > 0 {
		n := r.Share(s.part, s.of, s.settings())
		share = &n
	}
	if err := r.Finish(c.Context()); err != nil {
		return err
	}
	if s.sure > 0 {
		if err := s.beSure(c, r); err != nil {
			return err
		}
	}
	for _, note := range r.Notes {
		fmt.Fprintln(c.ErrOrStderr(), note)
	}
	if s.plot != "" {
		if err := draw(c, s.plot, func() (*chart.Picture, error) { return chart.Front(r) }); err != nil {
			return err
		}
	}
	if s.json {
		o := searchJSON(r)
		if s.sure > 0 {
			o = append(o, member{"sure", sureJSON(r)})
		}
		if share != nil {
			o = append(o, member{"share", share})
		}
		if err := printJSON(c.OutOrStdout(), o); err != nil {
			return err
		}
	} else {
		printSearch(c.OutOrStdout(), r, c.Flags().Changed("near"), s.typical)
	}
	if s.strict && r.Sound == 0 && !(s.broken && r.Met > 0) {
		return &failure{missed, errNoneSound}
	}
	return nil
}

// beSure asks how sure the best are.
func (s *searchFlags) beSure(c *cobra.Command, r *search.Report) error {
	bar := progress(c.ErrOrStderr(), c.OutOrStdout(), func() int { return s.sure }, "chances")
	defer bar.Finish()
	return r.BeSure(c.Context(), search.Draws(s.typical, r.Settings.Cycle), func() { _ = bar.Add(1) })
}

func sureJSON(r *search.Report) []object {
	l := []object{}
	for i := range r.Surest {
		f := &r.Surest[i]
		l = append(l, append(foundJSON(r, &f.Found), member{"sound_share", number(f.Share)}, member{"sound_se", number(f.SE)}))
	}
	return l
}

// errNoneSound says that --strict was not met.
var errNoneSound = errors.New("no combination meets the wish and is free of faults (--strict)")

// compute looks at all combinations, and writes them to a file where that is asked.
func (s *searchFlags) compute(c *cobra.Command, r *search.Report, run func(context.Context, func(*search.Found) error) error) error {
	first, last := r.Interval()
	bar := progress(c.ErrOrStderr(), c.OutOrStdout(), func() int { return int(last - first + 1) }, "combinations")
	defer bar.Finish()
	done := func(f *search.Found) error {
		if f.Number%64 == 0 {
			_ = bar.Set64(f.Number - first + 1)
		}
		return nil
	}
	if s.csv == "" {
		return run(c.Context(), done)
	}
	return write(c, s.csv, func(w io.Writer) error {
		room := bufio.NewWriter(w)
		out := csv.NewWriter(room)
		if err := out.Write(headOf(r)); err != nil {
			return err
		}
		err := run(c.Context(), func(f *search.Found) error {
			_ = done(f)
			if f.Fate != search.Fired {
				return nil
			}
			return out.Write(rowOfFound(r, f))
		})
		if err != nil {
			return err
		}
		if out.Flush(); out.Error() != nil {
			return out.Error()
		}
		return room.Flush()
	})
}

func headOf(r *search.Report) []string {
	head := []string{"number", "price"}
	for i := range r.Shelf.Slots {
		head = append(head, r.Shelf.Slots[i].Key)
	}
	for i := range r.Figures {
		head = append(head, r.Figures[i].Key())
	}
	return append(head, "met", "faults")
}

func rowOfFound(r *search.Report, f *search.Found) []string {
	row := []string{strconv.FormatInt(f.Number, 10), string(money(f.Price).text())}
	for i, k := range f.Parts {
		row = append(row, r.Shelf.Slots[i].Parts[k].Name)
	}
	for _, v := range f.Values {
		text := ""
		if v == v {
			text = strconv.FormatFloat(v, 'g', -1, 64)
		}
		row = append(row, text)
	}
	return append(row, strconv.FormatBool(f.Met), strings.Join(f.Faults, " "))
}

// mergeShares puts the shares of files together.
func (s *searchFlags) mergeShares(c *cobra.Command, r *search.Report, paths []string) error {
	var shares []search.Share
	for _, path := range paths {
		share, err := within(c.Context(), func() (*search.Share, error) { return readShare(path) })
		if err != nil {
			if c.Context().Err() != nil {
				return err
			}
			return bad(fmt.Errorf("--merge: %s: %w", path, err))
		}
		shares = append(shares, *share)
	}
	if err := r.Merge(c.Context(), shares, s.settings()); err != nil {
		if c.Context().Err() != nil {
			return err
		}
		return bad(fmt.Errorf("--merge: %w", err))
	}
	if s.csv != "" { // no share holds what every combination does
		return s.compute(c, r, r.Again)
	}
	return nil
}

func readShare(path string) (*search.Share, error) {
	const most = 64 << 20
	f, err := os.Open(path)
	if err != nil {
		return nil, errors.Unwrap(err)
	}
	defer f.Close()
	var d struct {
		Share *search.Share `json:"share"`
	}
	if err := json.NewDecoder(io.LimitReader(f, most)).Decode(&d); err != nil {
		return nil, fmt.Errorf("is no share that can be read: %v", err)
	}
	if d.Share == nil {
		return nil, errors.New("is no share; wanted what 'ampstroke search SHELF --json --share i/n' prints")
	}
	return d.Share, nil
}

// writeAfter writes a combination as a build file.
func (s *searchFlags) writeAfter(c *cobra.Command, r *search.Report, path string) error {
	d, err := r.Document(s.after)
	if err != nil {
		return bad(fmt.Errorf("--after: %w", err))
	}
	text, err := d.Bytes()
	if err != nil {
		return err
	}
	return write(c, path, func(w io.Writer) error { _, err := w.Write(text); return err })
}

// money is an amount in hundredths.
type money int64

func (m money) text() []byte { return fmt.Appendf(nil, "%d.%02d", m/100, m%100) }

// MarshalJSON implements [json.Marshaler].
func (m money) MarshalJSON() ([]byte, error) { return m.text(), nil }

func searchJSON(r *search.Report) object {
	none := math.NaN()
	misfits, wants, parts := []object{}, []object{}, []object{}
	for _, m := range r.Misfits {
		misfits = append(misfits, object{{"key", m.Key}, {"combinations", m.Combinations}, {"text", m.Text}})
	}
	for i, t := range r.Tally.Wants {
		w := &r.Wants[i]
		wants = append(wants, object{
			{"what", w.Figure}, {"min", number(w.Min.Or(none))}, {"max", number(w.Max.Or(none))},
			{"below", t.Below}, {"above", t.Above}, {"alone_below", t.AloneBelow}, {"alone_above", t.AloneAbove},
		})
	}
	for i := range r.Shelf.Slots {
		slot := &r.Shelf.Slots[i]
		for k := range slot.Parts {
			t := &r.Parts[i][k]
			var cheapest any
			if t.Cheapest >= 0 {
				cheapest = money(t.Cheapest)
			}
			parts = append(parts, object{
				{"slot", slot.Key}, {"name", slot.Parts[k].Name}, {"price", money(slot.Parts[k].Price)},
				{"fired", t.Fired}, {"met", t.Met}, {"sound", t.Sound}, {"cheapest", cheapest},
			})
		}
	}
	list := func(all []search.Found) []object {
		l := []object{}
		for i := range all {
			l = append(l, foundJSON(r, &all[i]))
		}
		return l
	}
	return object{
		{"format", 1}, {"shelf", r.Shelf.Name}, {"base", r.Shelf.Base.Build.Name}, {"currency", r.Shelf.Currency},
		{"combinations", r.Combinations}, {"ruled_out", r.RuledOut}, {"misfits", misfits}, {"unfinished", r.Unfinished}, {"stalled", r.Stalled},
		{"fired", r.Fired}, {"met", r.Met}, {"sound", r.Sound}, {"quick", r.Settings.Quick}, {"wants", wants}, {"parts", parts},
		{"best", object{{"by", r.By}, {"list", list(r.Best)}}},
		{"front", object{{"by", r.Asked.Front}, {"left_out", r.LeftOut}, {"list", list(r.OnFront)}}},
		{"nearest", list(r.Nearest)},
	}
}

func foundJSON(r *search.Report, f *search.Found) object {
	parts, figures, misses, remarks := object{}, object{}, []object{}, []object{}
	for i, k := range f.Parts {
		slot := &r.Shelf.Slots[i]
		p := &slot.Parts[k]
		parts = append(parts, member{slot.Key, p.Name})
		if p.Remark != "" {
			remarks = append(remarks, object{{"slot", slot.Key}, {"remark", p.Remark}})
		}
	}
	for i, v := range f.Values {
		figures = append(figures, member{r.Figures[i].Key(), number(v)})
	}
	for _, m := range r.Misses(f) {
		var side any
		if m.Side != "" {
			side = m.Side
		}
		misses = append(misses, object{{"what", m.Want.Figure}, {"side", side}, {"by", number(m.By)}, {"relative", number(m.Relative)}})
	}
	return object{
		{"number", f.Number}, {"price", money(f.Price)}, {"parts", parts}, {"figures", figures},
		{"faults", slices.Concat([]string{}, f.Faults)}, {"misses", misses}, {"remarks", remarks},
	}
}
