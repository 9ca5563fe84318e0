package main

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/listen"
	"example.org/ampstroke/drivetrain/quantity"
)

// errUnheard says that --strict was not met; what was heard has been printed.
var errUnheard = errors.New("no burst was heard (--strict)")

// errNoReading says why --readings wrote nothing; what was heard has been printed.
var errNoReading = errors.New("no burst of three was heard, so that there is no rate of fire")

// listening is a recording with the flags of how it is reported.
type listening struct {
	shared
	readings string // a file that the rate of fire is added to, "" for none
	path     string
	name     string // of the recording, as people call it
	*listen.Result
}

func listenCommand() *cobra.Command {
	var l listening
	c := &cobra.Command{
		Use:   "listen WAV",
		Short: "rate of fire heard in a recording of the gun on the bench",
		Long: `listen hears the shots in a sound recording, tells bursts from single shots, and
gives the rate of fire with its ± (two standard deviations) and, in the last
line, as a reading for 'ampstroke fit'. It needs no build. A telephone on the
bench will do, so far away that the sound isn't clipped; save the recording as
WAV (PCM). The rate is that of this pack, at this charge, over the whole burst:
keep bursts short and let the pack rest before each.`,
		Example: `  ampstroke listen shots.wav
  ampstroke listen shots.wav --plot shots.png
  ampstroke listen shots.wav --readings evening.yaml
  ampstroke listen shots.wav --trace shots.csv --json`,
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return errors.New("no recording is given; wanted a file such as shots.wav")
			case len(args) > 1:
				return errors.New("more than one recording is given; wanted one")
			}
			return nil
		},
		Annotations: map[string]string{argumentsAre: "the recording"},
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return []string{"wav", "WAV"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(c *cobra.Command, args []string) error { return l.run(c, args[0]) },
	}
	f := c.Flags()
	f.BoolVar(&l.json, "json", false, "print one JSON document, in SI units, and nothing else")
	f.StringVar(&l.plot, "plot", "", "draw waveform, onsets and intervals to `FILE` (.png, .svg or .pdf)")
	f.StringVar(&l.trace, "trace", "", "write a row for each shot to `FILE.csv`")
	f.BoolVar(&l.strict, "strict", false, "exit with status 1 if no burst is heard")
	f.StringVar(&l.readings, "readings", "", "add the rate of fire to the readings of `FILE.yaml`, made if it isn't there, for 'ampstroke fit'")
	writes(c, "plot", "trace", "readings")
	c.PreRunE = checkFiles
	completeEndings(c, "plot", "png", "svg", "pdf")
	completeEndings(c, "trace", "csv")
	completeEndings(c, "readings", "yaml", "yml")
	c.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		if strings.HasSuffix(err.Error(), "unknown flag: --set") {
			err = errors.New("--set: overrides a value of a build, and a recording has none")
		}
		return c.Root().FlagErrorFunc()(c, err)
	})
	return c
}

// completeEndings completes a flag by files of some endings.
func completeEndings(c *cobra.Command, flag string, endings ...string) {
	_ = c.RegisterFlagCompletionFunc(flag, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return endings, cobra.ShellCompDirectiveFilterFileExt
	})
}

func (l *listening) run(c *cobra.Command, path string) error {
	if err := l.check(); err != nil {
		return err
	}
	if err := l.checkReadings(); err != nil {
		return err
	}
	l.path, l.name = path, quantity.Printable(filepath.Base(path), 60)
	if path == fromStdin {
		l.name = "standard input"
	}
	if err := l.listen(c); err != nil {
		return err
	}
	for _, w := range l.Warnings {
		say(c.ErrOrStderr(), fmt.Sprintf("warning: %s [%s]", w.Text, w.Code), "  ")
	}
	if l.plot != "" {
		if err := draw(c, l.plot, func() (*chart.Picture, error) { return chart.Listen(l.name, l.Result) }); err != nil {
			return err
		}
	}
	if l.trace != "" {
		if err := write(c, l.trace, l.csv); err != nil {
			return err
		}
	}
	if l.readings != "" && l.Outcome == listen.Bursts {
		if err := l.addReading(c); err != nil {
			return err
		}
	}
	if l.json {
		if err := printJSON(c.OutOrStdout(), l.document()); err != nil {
			return err
		}
	} else {
		l.print(c.OutOrStdout())
	}
	switch {
	case l.Outcome == listen.Bursts:
		return nil
	case l.readings != "":
		return &failure{incomplete, fmt.Errorf("nothing is added to %s: %w", l.readings, errNoReading)}
	case l.strict:
		return &failure{missed, errUnheard}
	}
	return nil
}

// checkReadings looks at the file that a reading is to be added to, before any work is done.
func (l *listening) checkReadings() error {
	if l.readings == "" {
		return nil
	}
	if ending := filepath.Ext(l.readings); ending != ".yaml" && ending != ".yml" {
		return bad(fmt.Errorf("--readings: %s: wanted a file name that ends in .yaml", l.readings))
	}
	_, err := buildfile.ReadingsText(l.readings)
	return bad(err)
}

// addReading adds the rate of fire to the file of readings, as it is by now.
func (l *listening) addReading(c *cobra.Command) error {
	text, err := buildfile.ReadingsText(l.readings)
	if err != nil {
		return bad(err)
	}
	value, comment := l.reading()
	if text, err = buildfile.AppendReading(l.readings, text, value, comment); err != nil {
		return bad(err)
	}
	return write(c, l.readings, func(w io.Writer) error { _, err := w.Write(text); return err })
}

// longRecording is one that is worth a progress bar.
const longRecording = 60 // s

func (l *listening) listen(c *cobra.Command) (err error) {
	in := c.InOrStdin()
	if l.path != fromStdin {
		f, err := open(c.Context(), l.path)
		if err != nil {
			return l.unreadable(c, err)
		}
		defer f.Close()
		in = &reader{ctx: c.Context(), r: f}
	}
	var bar *progressbar.ProgressBar
	l.Result, err = listen.Listen(c.Context(), in, listen.Settings{Progress: func(done, claimed float64) {
		if bar == nil && (claimed > longRecording || math.IsNaN(claimed) && done > longRecording) {
			bar = progress(c.ErrOrStderr(), io.Discard, func() int { // the result comes behind it
				if math.IsNaN(claimed) {
					return -1
				}
				return int(claimed)
			}, "seconds of sound")
		}
		if bar != nil {
			_ = bar.Set(int(done))
		}
	}})
	if bar != nil {
		_ = bar.Finish()
	}
	return l.unreadable(c, err)
}

// unreadable makes bad input of what is wrong with the recording, or its reading; nil stays
// nil.
func (l *listening) unreadable(c *cobra.Command, err error) error {
	switch path := new(fs.PathError); {
	case err == nil:
		return nil
	case c.Context().Err() != nil || errors.Is(err, context.Canceled):
		return context.Canceled
	case errors.Is(err, fs.ErrNotExist):
		err = errors.New("there is no such file")
	case errors.As(err, &path):
		err = fmt.Errorf("can't be read: %w", path.Err)
	}
	return bad(fmt.Errorf("%s: %w", l.path, err))
}

// rateText shows a rate and its ±, two standard deviations, rounded up, which is a least
// share of the rate; "" of none. The unit stands behind both, as in a build file, or once.
func rateText(rate, sd, least float64, once bool) string {
	if math.IsNaN(rate) {
		return ""
	}
	const decimals, last = 2, 1e-2
	unit := " /s"
	if once {
		unit = ""
	}
	return fmt.Sprintf("%.*f%s ± %.*f /s", decimals, rate, unit, decimals, last*math.Ceil(max(2*sd, least*rate)/last-1e-9))
}

// reading is what 'ampstroke fit' reads, as a member of its list, and where it comes from;
// "" without a rate.
func (l *listening) reading() (value, comment string) {
	// Nothing that a burst is made of keeps to a better part than this from one to the
	// next, however well one of them is known.
	const least = 0.002
	text := rateText(l.RateOfFire, l.RateSD, least, false)
	if text == "" {
		return "", ""
	}
	return fmt.Sprintf("{figure: rate_of_fire, value: %s}", text), fmt.Sprintf("heard in %s: %s", l.name, l.Sum())
}

func (l *listening) print(w io.Writer) {
	rate := rateText(l.RateOfFire, l.RateSD, 0, false)
	switch l.Outcome {
	case listen.Nothing:
		say(w, fmt.Sprintf("%s: no shot was heard", l.name), "  ")
	case listen.SingleShots:
		say(w, fmt.Sprintf("%s: %s, but no burst of three, and so no rate of fire", l.name, l.Sum()), "  ")
	default:
		say(w, fmt.Sprintf("%s: %s, %s", l.name, rate, l.Sum()), "  ")
	}
	var rows []row
	switch _, where, _ := strings.Cut(l.Sum(), ", "); {
	case l.Outcome != listen.Nothing:
		rows = []row{
			{"rate of fire", rate, "± is two standard deviations"},
			{"rounds a minute", strings.TrimSpace(sig(60*l.RateOfFire, 4, "")), ""},
			{"shots", strconv.Itoa(l.Shots), where},
		}
	case l.Loudest == 0:
		rows = []row{{"loudest onset", "0", "silence, or too short a sound"}}
	default:
		rows = []row{
			{"loudest onset", strings.TrimSpace(sig(l.Loudest, 3, "")), "of what was heard"},
			{"threshold", strings.TrimSpace(sig(l.Threshold, 3, "")), "what a shot has to exceed: record nearer to the gun, or in a quieter room"},
		}
	}
	printRows(w, fmt.Sprintf("heard in %s of sound", sig(l.Duration, 3, "s")), rows)
	l.printBursts(w)
	l.printSingles(w)
	if value, comment := l.reading(); value != "" {
		fmt.Fprintln(w)
		say(w, cautions()[0], "  ")
		fmt.Fprintln(w, "\na reading for 'ampstroke fit', its ± at least 0.2 %:")
		fmt.Fprintf(w, "- %s   # %s\n", value, comment) // on one line, wide as it may be, since it is to be pasted
	}
}

func (l *listening) printBursts(w io.Writer) {
	var table [][]string
	var notes []string
	note := func(short, long string) string {
		if !slices.Contains(notes, long) {
			notes = append(notes, long)
		}
		return short
	}
	for i := range l.Bursts {
		b := &l.Bursts[i]
		if b.Shots == 1 {
			continue
		}
		drift, counts := "", "counts"
		if !math.IsNaN(b.Drift) {
			drift = fmt.Sprintf("%+.3f /s", b.Drift)
		}
		switch {
		case b.Faint:
			counts = note("faint", "faint: weaker than a quarter of the loudest, another gun or noise far off; not counted")
		case b.Odd:
			counts = note("odd", "odd: its rate is over 20 % from that of the loudest, another gun; not counted")
		}
		table = append(table, []string{
			fmt.Sprintf("%.3f s", b.First()), strconv.Itoa(b.Shots), strconv.Itoa(b.Missed), rateText(b.Rate, b.RateSD, 0, true),
			drift, sig(1e3*b.Jitter, 2, "ms"), counts,
		})
	}
	printTable(w, "bursts, with the rate's drift from shot to shot, and the shots' jitter", []string{"start", "shots", "missed", "rate", "drift", "jitter", ""}, table)
	for _, n := range notes {
		say(w, "  "+n, "    ")
	}
}

func (l *listening) printSingles(w io.Writer) {
	var counted, faint []string
	for i := range l.Bursts {
		b := &l.Bursts[i]
		if b.Shots != 1 {
			continue
		}
		at := fmt.Sprintf("%.3f s", b.First())
		if b.Faint {
			faint = append(faint, at)
		} else {
			counted = append(counted, at)
		}
	}
	for _, list := range []struct {
		heading string
		times   []string
	}{{"single shots, or other loud sounds, at ", counted}, {"faint sounds, not counted, at ", faint}} {
		if n := len(list.times); n > 0 {
			const most = 40
			text := strings.Join(list.times[:min(n, most)], ", ")
			if n > most {
				text += fmt.Sprintf(" and %d more", n-most)
			}
			fmt.Fprintln(w)
			say(w, list.heading+text, "  ")
		}
	}
}

func (l *listening) document() object {
	bursts, onsets, words := []object{}, []number{}, []string{}
	for i := range l.Bursts {
		b := &l.Bursts[i]
		times := []number{}
		for _, t := range b.Times() {
			times = append(times, number(t))
			if !b.Faint && !b.Odd {
				onsets = append(onsets, number(t))
			}
		}
		bursts = append(bursts, object{
			{"first_s", number(b.First())}, {"last_s", number(b.Last())}, {"shots", b.Shots}, {"missed", b.Missed},
			{"rate_hz", number(b.Rate)}, {"rate_sd_hz", number(b.RateSD)}, {"rate_ends_hz", number(b.RateEnds)},
			{"drift_per_s", number(b.Drift)}, {"jitter_s", number(b.Jitter)}, {"salience", number(b.Salience)},
			{"faint", b.Faint}, {"odd", b.Odd}, {"times_s", times},
		})
	}
	for _, w := range l.Warnings {
		words = append(words, w.Text)
	}
	return object{
		{"format", 1},
		{"file", l.path},
		{"sample_rate_hz", l.SampleRate},
		{"channels", l.Channels},
		{"duration_s", number(l.Duration)},
		{"outcome", l.Outcome.String()},
		{"rate_of_fire_hz", number(l.RateOfFire)},
		{"rate_sd_hz", number(l.RateSD)},
		{"shots", l.Shots},
		{"single_shots", l.Singles},
		{"onsets_s", onsets},
		{"bursts", bursts},
		{"threshold", number(l.Threshold)},
		{"loudest", number(l.Loudest)},
		{"warnings", words},
	}
}

// csv writes a row for each place, those of what doesn't count too.
func (l *listening) csv(w io.Writer) error {
	out := csv.NewWriter(w)
	_ = out.Write([]string{"burst", "number", "time_s", "interval_s", "strength", "heard"})
	text := func(v float64) string { return strconv.FormatFloat(v, 'g', 12, 64) }
	for i, b := range l.Bursts {
		for k, p := range b.Places {
			interval := ""
			if k > 0 {
				interval = text(p.Time - b.Places[k-1].Time)
			}
			_ = out.Write([]string{strconv.Itoa(i + 1), strconv.Itoa(p.Number), text(p.Time), interval, text(p.Strength), strconv.FormatBool(p.Heard)})
		}
	}
	out.Flush()
	return out.Error()
}
