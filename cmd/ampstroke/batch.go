package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync/atomic"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// batchLine is a line of overrides.
type batchLine struct {
	number int
	text   []byte
	err    error // why it can't be read
	turn   cycle.Turn
}

// batchAnswer is a line's own: its JSON, and why it has no figures.
type batchAnswer struct {
	text   []byte
	err    error
	unused bool // the line can't be used, whatever the build
}

// runBatch fires a build once for each line of overrides and writes a line of JSON
// for each, in order and as they come. A line that can't be used is said and passed
// over: its output line has the error.
func runBatch(c *cobra.Command, path string, base *buildfile.Document, settings cycle.Settings) error {
	in, done, err := batchFile(c.Context(), path, c.InOrStdin())
	if err != nil {
		return bad(fmt.Errorf("--batch: %w", err))
	}
	defer done()
	var taken atomic.Int64 // lines that were handed out
	var unread error       // why the input could not be read to its end
	guns := cycle.NewGuns(settings)
	given := func(yield func(batchLine) bool) {
		for all := newLines(in); ; {
			err := all.next()
			if err != nil && !errors.Is(err, errTooLong) {
				if !errors.Is(err, io.EOF) {
					unread = fmt.Errorf("--batch: line %d can't be read: %w", all.number, err)
				}
				return
			}
			l := batchLine{number: all.number, err: err, turn: guns.Next()}
			if err == nil {
				l.text = bytes.Clone(all.text)
			}
			taken.Add(1)
			if !yield(l) {
				return
			}
		}
	}
	out := bufio.NewWriter(c.OutOrStdout())
	bar := progress(c.ErrOrStderr(), c.OutOrStdout(), func() int { return countLines(path) }, "builds")
	defer bar.Finish()
	var count batchFaults
	written := int64(0)
	for m, err := range study.Map(c.Context(), given, func() func(context.Context, batchLine) (batchAnswer, error) {
		w := batchWorker{builds: base.Overrider(), settings: settings}
		return w.answer
	}) {
		if err != nil { // interrupted
			break
		}
		if a := &m.Result; a.err != nil {
			count.add(a.err, a.unused)
			_ = bar.Clear()
			fmt.Fprintf(c.ErrOrStderr(), "ampstroke: --batch: line %d: %v\n", m.Item.number, a.err)
		}
		if _, err := out.Write(m.Result.text); err != nil {
			return err
		}
		_ = bar.Add(1)
		if written++; written == taken.Load() { // let it be seen while the next one is waited for
			if err := out.Flush(); err != nil {
				return err
			}
		}
	}
	if err := out.Flush(); err != nil {
		return err
	}
	if err := c.Context().Err(); err != nil {
		return err
	}
	if unread != nil {
		return unread
	}
	return count.err()
}

// batchWorker is one core's.
type batchWorker struct {
	builds    *buildfile.Overrider
	settings  cycle.Settings
	evaluator cycle.Evaluator
}

// answer fires the build of a line. The error is the context's.
func (w *batchWorker) answer(ctx context.Context, l batchLine) (a batchAnswer, err error) {
	o := object{{"line", l.number}}
	set, overrides, err := object(nil), []buildfile.Override(nil), l.err
	if err == nil {
		set, overrides, err = readLine(l.text)
	}
	if set != nil {
		o = append(o, member{"set", set})
	}
	a.unused = err != nil
	var b *drivetrain.Build
	var target figure.Target
	if err == nil {
		b, target, err = w.builds.Override(overrides)
		a.unused = err != nil
	}
	w.settings.Flights = l.turn.Take(ctx, b)
	if err == nil {
		o, err = w.figures(ctx, o, b, target)
	}
	if ctx.Err() != nil {
		return a, ctx.Err()
	}
	if a.err = err; err != nil {
		o = append(o, member{"error", err.Error()})
	}
	if a.text, err = appendJSON(make([]byte, 0, 4096), o); err != nil {
		return a, err
	}
	a.text = append(a.text, '\n')
	return a, nil
}

// figures appends what a build does to an object.
func (w *batchWorker) figures(ctx context.Context, o object, b *drivetrain.Build, target figure.Target) (object, error) {
	r, err := w.evaluator.Evaluate(ctx, b, w.settings)
	if err != nil {
		return o, err
	}
	r.Warnings = w.evaluator.Warnings()
	for _, m := range cycleJSON(r, study.Judge(target, r), nil, nil) {
		if m.key != "cautions" { // said once, elsewhere
			o = append(o, m)
		}
	}
	return o, nil
}

// batchFaults counts the lines of a batch that gave no figures.
type batchFaults struct{ wrong, unfinished int }

// add counts a line by its error: one that can't be used, or a build that can't be, is
// bad input; one whose simulation came to no end is not.
func (f *batchFaults) add(err error, unused bool) {
	if unused || errors.As(err, new(*quantity.Fault)) {
		f.wrong++
	} else {
		f.unfinished++
	}
}

// err says what lines gave no figures, with the exit status that asks for.
func (f *batchFaults) err() error {
	wrong, unfinished := counted(f.wrong, "line"), counted(f.unfinished, "line")
	switch {
	case f.wrong > 0 && f.unfinished > 0:
		return bad(fmt.Errorf("--batch: %s could not be used, and the simulation of %s came to no end", wrong, unfinished))
	case f.wrong > 0:
		return bad(fmt.Errorf("--batch: %s could not be used", wrong))
	case f.unfinished > 0:
		return fmt.Errorf("--batch: the simulation of %s came to no end", unfinished)
	}
	return nil
}

// readLine reads a line: an object of keys and values, or a list of "key=value". What it
// overrides is nil where it can't be read.
func readLine(text []byte) (set object, overrides []buildfile.Override, err error) {
	read := readObject
	if text[0] == '[' {
		read = readList
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	set, err = read(d)
	if err == nil {
		if _, e := d.Token(); !errors.Is(e, io.EOF) {
			err = errors.New("more than one value")
		}
	}
	if err == nil {
		err = twice(set)
	}
	if err != nil {
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			err = errors.New("ends too soon")
		}
		return nil, nil, fmt.Errorf(`%w; wanted an object such as {"motor.armature.turns": "22"} or a list such as ["motor.armature.turns=22"]`, err)
	}
	for _, m := range set {
		value := "" // takes the key away
		if m.value != nil {
			value = fmt.Sprint(m.value)
		}
		overrides = append(overrides, buildfile.Override{Path: m.key, Value: value})
	}
	return set, overrides, nil
}

// twice refuses keys that come again, of which the last would count unseen.
func twice(set object) error {
	seen := map[string]bool{}
	for _, m := range set {
		key := strings.TrimSpace(m.key)
		if seen[key] {
			return fmt.Errorf("%s is there twice", key)
		}
		seen[key] = true
	}
	return nil
}

// readList reads a list of overrides.
func readList(d *json.Decoder) (object, error) {
	var overrides []string
	if err := d.Decode(&overrides); err != nil {
		return nil, err
	}
	set := object{}
	for _, o := range overrides {
		key, value, ok := strings.Cut(o, "=")
		if !ok {
			return nil, fmt.Errorf("%q is no key.path=value", o)
		}
		set = append(set, member{key, value})
	}
	return set, nil
}

// readObject reads an object of overrides in the order it is written; numbers and
// true or false stand for themselves.
func readObject(d *json.Decoder) (object, error) {
	if open, err := d.Token(); err != nil || open != json.Delim('{') {
		return nil, errors.New("is no JSON object")
	}
	set := object{}
	for d.More() {
		token, err := d.Token()
		if err != nil {
			return nil, err
		}
		key := token.(string)
		if strings.Contains(key, "=") {
			return nil, fmt.Errorf("%q is no key", key)
		}
		value, err := d.Token()
		if err != nil {
			return nil, err
		}
		if _, nested := value.(json.Delim); nested {
			return nil, fmt.Errorf("%s holds no single value", key)
		}
		set = append(set, member{key, value})
	}
	_, err := d.Token()
	return set, err
}
