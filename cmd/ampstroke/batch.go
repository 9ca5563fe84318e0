package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
)

// longestLine bounds a line of a batch, in bytes.
const longestLine = 64 << 10

// batchLine is one set of overrides: the build it makes, or why it makes none.
type batchLine struct {
	number   int
	document *buildfile.Document
	err      error
}

// runBatch fires a build once for each line of overrides and writes a line of JSON
// for each, in order and as they come. A line that can't be used is said and passed
// over: its output line has the error.
func runBatch(c *cobra.Command, path string, base *buildfile.Document, settings cycle.Settings) error {
	in := c.InOrStdin()
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return bad(fmt.Errorf("--batch: %w", err))
		}
		defer f.Close()
		in = f
	}
	ctx, stop := context.WithCancel(c.Context())
	defer stop()
	lines := make(chan batchLine, 8*runtime.GOMAXPROCS(0)) // more than are computed at once
	builds := func(yield func(*drivetrain.Build) bool) {
		defer close(lines)
		reader := bufio.NewScanner(in)
		reader.Buffer(make([]byte, 0, 4096), longestLine)
		for number := 1; reader.Scan(); number++ {
			if strings.TrimSpace(reader.Text()) == "" {
				continue
			}
			l := readBatchLine(number, reader.Text(), base)
			var b *drivetrain.Build
			if l.err == nil {
				b = l.document.Build
			}
			if !yield(b) {
				return
			}
			select {
			case lines <- l:
			case <-ctx.Done():
				return
			}
		}
		if err := reader.Err(); err != nil {
			if errors.Is(err, bufio.ErrTooLong) {
				err = fmt.Errorf("a line is longer than %d bytes", longestLine)
			}
			if yield(nil) {
				select {
				case lines <- batchLine{err: err}:
				case <-ctx.Done():
				}
			}
		}
	}
	out := bufio.NewWriter(c.OutOrStdout())
	bar := progress(c.ErrOrStderr(), c.OutOrStdout(), lineCount(path), "builds")
	defer bar.Finish()
	faults := 0
	for r, err := range cycle.Batch(ctx, builds, settings) {
		if c.Context().Err() != nil {
			break
		}
		l, ok := <-lines
		if !ok {
			break
		}
		if l.err != nil {
			err = l.err
		}
		o := object{{"line", l.number}}
		if err != nil {
			faults++
			_ = bar.Clear()
			fmt.Fprintf(c.ErrOrStderr(), "ampstroke: --batch: line %d: %v\n", l.number, err)
			o = append(o, member{"error", err.Error()})
		} else {
			o = append(o, cycleJSON(r, l.document.Target.Judge(&r.Summary), nil, nil)...)
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
		if len(lines) == 0 { // let it be seen while the next one is computed
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
	if faults > 0 {
		return bad(fmt.Errorf("--batch: %s could not be used", counted(faults, "line")))
	}
	return nil
}

// readBatchLine reads a line: an object of keys and values, or a list of
// "key=value".
func readBatchLine(number int, text string, base *buildfile.Document) batchLine {
	l := batchLine{number: number}
	var overrides []string
	if d := json.NewDecoder(strings.NewReader(text)); strings.HasPrefix(strings.TrimSpace(text), "[") {
		l.err = d.Decode(&overrides)
	} else {
		overrides, l.err = readOverrides(d)
	}
	if l.err != nil {
		l.err = fmt.Errorf(`%w; wanted an object such as {"motor.armature.turns": "22"} or a list such as ["motor.armature.turns=22"]`, l.err)
		return l
	}
	l.document, l.err = base.With(overrides...)
	return l
}

// readOverrides reads an object of overrides in the order it is written; numbers and
// true or false stand for themselves.
func readOverrides(d *json.Decoder) (all []string, err error) {
	d.UseNumber()
	if open, err := d.Token(); err != nil || open != json.Delim('{') {
		return nil, errors.New("is no JSON object")
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return nil, err
		}
		value, err := d.Token()
		if err != nil {
			return nil, err
		}
		if _, nested := value.(json.Delim); nested {
			return nil, fmt.Errorf("%v holds no single value", key)
		}
		if value == nil {
			value = ""
		}
		all = append(all, fmt.Sprintf("%v=%v", key, value))
	}
	if _, err := d.Token(); err != nil {
		return nil, err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("more than one value")
	}
	return all, nil
}

// lineCount returns how many lines a file has that are not blank, or -1 where that
// can't be known before it is read.
func lineCount(path string) int {
	if path == "-" {
		return -1
	}
	f, err := os.Open(path)
	if err != nil {
		return -1
	}
	defer f.Close()
	if i, err := f.Stat(); err != nil || !i.Mode().IsRegular() {
		return -1
	}
	n := 0
	reader := bufio.NewScanner(f)
	reader.Buffer(make([]byte, 0, 4096), longestLine)
	for reader.Scan() {
		if strings.TrimSpace(reader.Text()) != "" {
			n++
		}
	}
	return n
}
