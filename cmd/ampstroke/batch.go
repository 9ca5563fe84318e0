package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// batchLine is one set of overrides: the build it makes, or why it makes none.
type batchLine struct {
	number   int
	set      object // what it overrides, as it is written; nil if it can't be read
	document *buildfile.Document
	err      error
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
	ctx, stop := context.WithCancel(c.Context())
	defer stop()
	read := make(chan batchLine, 8*runtime.GOMAXPROCS(0)) // more than are computed at once
	var unread error                                      // why the input could not be read to its end
	builds := func(yield func(*drivetrain.Build) bool) {
		defer close(read)
		for all := newLines(in); ; {
			err := all.next()
			if err != nil && !errors.Is(err, errTooLong) {
				if !errors.Is(err, io.EOF) {
					unread = fmt.Errorf("--batch: line %d can't be read: %w", all.number, err)
				}
				return
			}
			l := batchLine{number: all.number, err: err}
			if err == nil {
				l.use(all.text, base)
			}
			var b *drivetrain.Build
			if l.err == nil {
				b = l.document.Build
			}
			if !yield(b) {
				return
			}
			select {
			case read <- l:
			case <-ctx.Done():
				return
			}
		}
	}
	out := bufio.NewWriter(c.OutOrStdout())
	bar := progress(c.ErrOrStderr(), c.OutOrStdout(), func() int { return countLines(path) }, "builds")
	defer bar.Finish()
	var count batchFaults
	for r, err := range cycle.Batch(ctx, builds, settings) {
		if c.Context().Err() != nil {
			break
		}
		l, ok := <-read
		if !ok {
			break
		}
		if l.err != nil {
			err = l.err
		}
		o := object{{"line", l.number}}
		if l.set != nil {
			o = append(o, member{"set", l.set})
		}
		if err != nil {
			count.add(err, l.err != nil)
			_ = bar.Clear()
			fmt.Fprintf(c.ErrOrStderr(), "ampstroke: --batch: line %d: %v\n", l.number, err)
			o = append(o, member{"error", err.Error()})
		} else {
			o = append(o, cycleJSON(r, study.Judge(l.document.Target, r), nil, nil)...)
			o = slices.DeleteFunc(o, func(m member) bool { return m.key == "cautions" })
		}
		text, err := json.Marshal(o)
		if err != nil {
			return err
		}
		if _, err := out.Write(append(text, '\n')); err != nil {
			return err
		}
		_ = bar.Add(1)
		if len(read) == 0 { // let it be seen while the next one is computed
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

// use reads a line: an object of keys and values, or a list of "key=value".
func (l *batchLine) use(text []byte, base *buildfile.Document) {
	read := readObject
	if text[0] == '[' {
		read = readList
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	set, err := read(d)
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
		l.err = fmt.Errorf(`%w; wanted an object such as {"motor.armature.turns": "22"} or a list such as ["motor.armature.turns=22"]`, err)
		return
	}
	l.set = set
	var overrides []string
	for _, m := range set {
		value := m.value
		if value == nil {
			value = "" // takes the key away
		}
		overrides = append(overrides, fmt.Sprintf("%s=%v", m.key, value))
	}
	l.document, l.err = base.With(overrides...)
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
