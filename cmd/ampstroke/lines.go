package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
)

// longestLine bounds a line of a batch, in bytes.
const longestLine = 1 << 20

// mark may stand at the beginning of a text from other systems.
const mark = "\xef\xbb\xbf"

// errTooLong says that a line is passed over.
var errTooLong = fmt.Errorf("is longer than %d bytes", longestLine)

// lines takes an input apart. Of a line that is too long no more is kept than fits.
type lines struct {
	r      *bufio.Reader
	number int    // of the line that next has come to
	text   []byte // of it, until next goes on
}

func newLines(r io.Reader) *lines { return &lines{r: bufio.NewReaderSize(r, 1<<16)} }

// next goes to the next line that is not blank. At the end of the input its error is
// io.EOF; after errTooLong there may be more.
func (l *lines) next() error {
	for {
		l.number++
		if err := l.read(); err != nil {
			return err
		}
		if l.number == 1 {
			l.text = bytes.TrimPrefix(l.text, []byte(mark))
		}
		if l.text = bytes.TrimSpace(l.text); len(l.text) > 0 {
			return nil
		}
	}
}

// read goes to the end of a line.
func (l *lines) read() error {
	l.text = l.text[:0]
	begun, long := false, false
	for {
		part, err := l.r.ReadSlice('\n')
		begun = begun || len(part) > 0
		if long = long || len(l.text)+len(bytes.TrimSuffix(part, []byte("\n"))) > longestLine; !long {
			l.text = append(l.text, part...)
		}
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			continue
		case errors.Is(err, io.EOF) && begun: // the last line has no end
		case err != nil:
			return err
		}
		if long {
			return errTooLong
		}
		return nil
	}
}

// batchFile opens the input of a batch.
func batchFile(ctx context.Context, path string, stdin io.Reader) (in io.Reader, done func(), err error) {
	if path == fromStdin {
		return stdin, func() {}, nil
	}
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return nil, nil, fmt.Errorf("%s is a folder; wanted a file", path)
	}
	f, err := open(ctx, path)
	if err != nil {
		return nil, nil, err
	}
	return f, func() { f.Close() }, nil
}

// countLines returns how many lines a file has that are not blank, or -1 where that
// can't be known before it is read.
func countLines(path string) int {
	if info, err := os.Stat(path); path == fromStdin || err != nil || !info.Mode().IsRegular() {
		return -1
	}
	f, err := os.Open(path)
	if err != nil {
		return -1
	}
	defer f.Close()
	n := 0
	for l := newLines(f); ; n++ {
		if err := l.next(); err != nil && !errors.Is(err, errTooLong) {
			return n
		}
	}
}
