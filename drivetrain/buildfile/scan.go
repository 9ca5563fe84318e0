package buildfile

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

const (
	mostBytes = 256 << 10 // of a file
	mostDepth = 32        // of nesting
)

// source is a file made ready for the YAML parser: no byte-order mark, line ends
// of one kind, plain values that run over a line's end inside braces joined.
// Offsets in text and parsed are the same.
type source struct {
	name        string
	text        []byte // as it was, but for mark and carriage returns
	parsed      []byte
	lines       []int // offset of each line of text
	parsedLines []int
	mark        bool // there was a byte-order mark
	crlf        bool // lines ended in CR LF
}

// newSource looks at the bytes of a file before any parser does. All it refuses
// it refuses in one pass over at most mostBytes.
func newSource(name string, data []byte) (*source, *Fault) {
	whole := func(format string, args ...any) *Fault {
		return &Fault{Place: Place{File: name}, Text: fmt.Sprintf(format, args...)}
	}
	if len(data) > mostBytes {
		return nil, whole("larger than %d KiB; wanted a build file, which has a few", mostBytes>>10)
	}
	s := &source{name: name}
	if rest, found := bytes.CutPrefix(data, []byte("\ufeff")); found {
		s.mark, data = true, rest
	}
	if bytes.Contains(data, []byte("\r\n")) {
		s.crlf = true
		data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	}
	s.text = data
	s.lines = lineStarts(data)
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		if (r == utf8.RuneError && size == 1) || (r < ' ' && r != '\n' && r != '\t') || r == 0x7f || r == '\u2028' || r == '\u2029' || r == '\u0085' {
			f := s.fault(i, "", "a byte or character that no text has (0x%02x); wanted YAML in UTF-8", data[i])
			return nil, &f
		}
		i += size
	}
	if f := s.fold(); f != nil {
		return nil, f
	}
	s.parsedLines = lineStarts(s.parsed)
	if strings.TrimSpace(string(data)) == "" {
		return nil, whole("empty; wanted a build file (see the demo in the README)")
	}
	return s, nil
}

func lineStarts(data []byte) []int {
	starts := []int{0}
	for i, c := range data {
		if c == '\n' {
			starts = append(starts, i+1)
		}
	}
	return starts
}

// place turns an offset into a place of the file.
func (s *source) place(offset int) Place {
	offset = min(max(offset, 0), len(s.text))
	line := 0
	for lo, hi := 0, len(s.lines); lo < hi; {
		middle := (lo + hi) / 2
		if s.lines[middle] <= offset {
			line, lo = middle, middle+1
		} else {
			hi = middle
		}
	}
	return Place{File: s.name, Line: line + 1, Column: utf8.RuneCount(s.text[s.lines[line]:offset]) + 1}
}

// offset turns a line and column of the parsed text, in runes from 1, into an
// offset.
func (s *source) offset(line, column int) int {
	if line < 1 || line > len(s.parsedLines) {
		return len(s.parsed)
	}
	at := s.parsedLines[line-1]
	for n := 1; n < column && at < len(s.parsed); n++ {
		_, size := utf8.DecodeRune(s.parsed[at:])
		at += size
	}
	return at
}

func (s *source) fault(offset int, key, format string, args ...any) Fault {
	return Fault{Place: s.place(offset), Key: key, Text: fmt.Sprintf(format, args...)}
}

// fold fills parsed and refuses deep nesting. The parser is quadratic in nesting
// and does not join a plain value over two lines inside braces, which YAML allows;
// here the line's end becomes a blank.
func (s *source) fold() *Fault {
	text := s.text
	s.parsed = bytes.Clone(text)
	depth := 0
	var quote byte
	last := byte('\n') // the last character that is no blank, '\n' at the start of a block line
	var indents []int  // of the block lines around this one
	lineStart := true
	for i := 0; i < len(text); i++ {
		c := text[i]
		if lineStart && quote == 0 && depth == 0 {
			lineStart = false
			if f := s.nesting(i, &indents); f != nil {
				return f
			}
		}
		switch {
		case quote != 0:
			if c == '\\' && quote == '"' {
				i++
			} else if c == quote {
				if quote == '\'' && i+1 < len(text) && text[i+1] == '\'' {
					i++
				} else {
					quote, last = 0, c
				}
			}
		case c == '\n':
			lineStart = true
			if depth == 0 {
				last = '\n'
				break
			}
			next := i + 1
			for next < len(text) && (text[next] == ' ' || text[next] == '\n' || text[next] == '\t') {
				next++
			}
			if next < len(text) && !strings.ContainsRune(",[{:", rune(last)) && last != '#' && !strings.ContainsRune(",]}#", rune(text[next])) {
				s.parsed[i] = ' '
			}
		case c == ' ' || c == '\t':
		case c == '#' && (i == 0 || text[i-1] == ' ' || text[i-1] == '\t' || text[i-1] == '\n'):
			for i+1 < len(text) && text[i+1] != '\n' {
				i++
			}
			last = '#'
		case (c == '"' || c == '\'') && strings.ContainsRune("\n,[{:-#", rune(last)):
			quote = c
		default:
			switch c {
			case '[', '{':
				if depth++; depth > mostDepth {
					f := s.fault(i, "", "nested deeper than %d; a build file has at most six levels", mostDepth)
					return &f
				}
			case ']', '}':
				depth = max(0, depth-1)
			}
			last = c
		}
	}
	return nil
}

// nesting follows the indentation of block lines.
func (s *source) nesting(i int, indents *[]int) *Fault {
	at := i
	for at < len(s.text) && s.text[at] == ' ' {
		at++
	}
	if at == len(s.text) || s.text[at] == '\n' || s.text[at] == '#' {
		return nil
	}
	if s.text[at] == '\t' {
		f := s.fault(at, "", "a tab indents this line; wanted blanks")
		return &f
	}
	dashes := 0
	for at+1 < len(s.text) && (s.text[at] == '-' || s.text[at] == '?') && s.text[at+1] == ' ' {
		dashes++
		at++
		for at < len(s.text) && s.text[at] == ' ' {
			at++
		}
	}
	indent := at - i
	stack := *indents
	for len(stack) > 0 && stack[len(stack)-1] >= indent {
		stack = stack[:len(stack)-1]
	}
	stack = append(stack, indent)
	*indents = stack
	if len(stack)+dashes > mostDepth {
		f := s.fault(at, "", "nested deeper than %d; a build file has at most six levels", mostDepth)
		return &f
	}
	return nil
}

// printable shows a text from outside on one line.
func printable(s string, most int) string {
	r := []rune(s)
	if len(r) > most {
		r = append(r[:most], '…')
	}
	for i, c := range r {
		if !unicode.IsPrint(c) {
			r[i] = '?'
		}
	}
	return string(r)
}
