package buildfile

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/ampstroke/drivetrain/quantity"
)

const (
	mostBytes  = 256 << 10 // of a file
	mostDepth  = 32        // of nesting
	mostMarks  = 5000      // colons, commas and the like in a file
	mostBlanks = 1000      // blanks in a row
)

// source is a file made ready for the YAML parser: no byte-order mark, tabs
// made blanks, blanks at the ends of lines made line ends, plain values that run
// over a line's end inside braces joined. Offsets in text and parsed are the same.
type source struct {
	name   string
	most   limits
	text   []byte // as it was, but for the mark
	parsed []byte
	mark   bool // there was a byte-order mark
	// The characters of text: the offset of each, and which of them begin a line
	// of text and of parsed.
	runes       []int
	lines       []int
	parsedLines []int
}

// newSource looks at the bytes of a file before any parser does. All it refuses
// it refuses in one pass over at most mostBytes.
func newSource(name string, data []byte) (*source, *quantity.Fault) {
	return newSourceOf(name, data, limits{mostBytes, mostMarks})
}

// limits bound a file by its bytes, and by its colons, commas and the like.
type limits struct{ bytes, marks int }

// newSourceOf is newSource for a file with limits of its own.
func newSourceOf(name string, data []byte, most limits) (*source, *quantity.Fault) {
	whole := func(format string, args ...any) *quantity.Fault {
		return &quantity.Fault{Place: quantity.Place{File: name}, Text: fmt.Sprintf(format, args...)}
	}
	if len(data) > most.bytes {
		return nil, whole("larger than %d KiB; wanted a build file, which has a few", most.bytes>>10)
	}
	s := &source{name: name, most: most}
	s.text, s.mark = bytes.CutPrefix(data, []byte("\ufeff"))
	s.parsed = bytes.ReplaceAll(s.text, []byte("\r\n"), []byte(" \n"))
	s.parsed = bytes.ReplaceAll(s.parsed, []byte("\t"), []byte(" "))
	var alien *quantity.Fault
	at := 0
	for i := 0; i < len(s.parsed); {
		r, size := utf8.DecodeRune(s.parsed[i:])
		s.runes = append(s.runes, i)
		if alien == nil && !textual(r, size) {
			at, alien = i, &quantity.Fault{Text: fmt.Sprintf("a byte or character that no text has (0x%x); wanted YAML in UTF-8", s.parsed[i:i+size])}
		}
		i += size
	}
	s.lines = s.lineStarts(s.parsed)
	if alien != nil {
		alien.Place = s.place(at)
		return nil, alien
	}
	if len(bytes.TrimSpace(s.parsed)) == 0 {
		return nil, whole("empty; wanted a build file (see the demo in the README)")
	}
	if f := s.fold(); f != nil {
		return nil, f
	}
	s.parsedLines = s.lineStarts(s.parsed)
	return s, nil
}

// textual tells whether a decoded character may stand in a file.
func textual(r rune, size int) bool {
	switch r {
	case utf8.RuneError:
		return size > 1
	case '\n', '\t':
		return true
	case 0x7f, '\u0085', '\u2028', '\u2029', '\ufeff':
		return false
	}
	return r >= ' '
}

// lineStarts lists the characters that begin a line.
func (s *source) lineStarts(data []byte) []int {
	starts := []int{0}
	for n, i := range s.runes {
		if data[i] == '\n' {
			starts = append(starts, n+1)
		}
	}
	return starts
}

// place turns an offset into a place of the file.
func (s *source) place(offset int) quantity.Place {
	n, _ := slices.BinarySearch(s.runes, offset)
	line, found := slices.BinarySearch(s.lines, n)
	if !found {
		line--
	}
	return quantity.Place{File: s.name, Line: line + 1, Column: n - s.lines[line] + 1}
}

// offset turns a line and column of the parsed text, in characters from 1, into
// an offset.
func (s *source) offset(line, column int) int {
	if line < 1 || line > len(s.parsedLines) {
		return len(s.parsed)
	}
	if n := s.parsedLines[line-1] + max(column, 1) - 1; n < len(s.runes) {
		return s.runes[n]
	}
	return len(s.parsed)
}

func (s *source) fault(offset int, key, format string, args ...any) *quantity.Fault {
	return &quantity.Fault{Place: s.place(offset), Field: key, Text: fmt.Sprintf(format, args...)}
}

// fold makes parsed easy on the parser, which is quadratic in nesting, blanks and
// the number of keys, loses tabs, counts columns wrongly behind them and before blanks
// at a line's end, and does not join a plain value over two lines inside braces, which
// YAML allows. What is quoted is guessed; so that a wrong guess hides nothing from
// the parser, the characters that make structure and the nesting of lines are limited
// whatever the guess.
func (s *source) fold() *quantity.Fault {
	f := folder{source: s, text: bytes.Clone(s.parsed), last: '\n'}
	for ; f.at < len(f.text); f.at++ {
		if fault := f.character(); fault != nil {
			return fault
		}
	}
	return s.marked(f.text)
}

// folder is how far fold has come in a text, and what it takes to surround that place.
type folder struct {
	*source
	text    []byte // as it was before folding
	at      int
	depth   int   // of braces and brackets
	quote   byte  // that is open, 0 for none
	last    byte  // the last character that is no blank, '\n' at the start of a block line
	indents []int // of the lines around this one
}

// character folds what begins at f.at, and leaves f.at at its last character.
func (f *folder) character() *quantity.Fault {
	c := f.text[f.at]
	begins := f.at == 0 || f.text[f.at-1] == '\n'
	if begins {
		if fault := f.nesting(f.text, f.at, f.quote == 0 && f.depth == 0, &f.indents); fault != nil {
			return fault
		}
	}
	switch {
	case f.quote != 0:
		f.quoted(c)
	case c == '\n' || c == ' ':
		f.gap()
	case c == '#' && (begins || f.text[f.at-1] == ' '):
		f.comment()
	case (c == '"' || c == '\'') && strings.ContainsRune("\n,[{:-#", rune(f.last)):
		f.quote = c
	default:
		return f.plain(c)
	}
	return nil
}

// quoted goes over a character within quotes, an escaped one with what escapes it.
func (f *folder) quoted(c byte) {
	switch {
	case c == '\\' && f.quote == '"':
		f.at++
	case c != f.quote:
	case f.quote == '\'' && f.at+1 < len(f.text) && f.text[f.at+1] == '\'':
		f.at++
	default:
		f.quote, f.last = 0, c
	}
}

// gap goes over blanks and ends of lines. Those up to the last end of a line become one
// kind: blanks where a plain value goes on behind them, else ends of lines.
func (f *folder) gap() {
	next := f.at + 1
	for next < len(f.text) && (f.text[next] == ' ' || f.text[next] == '\n') {
		next++
	}
	end := bytes.LastIndexByte(f.text[f.at:next], '\n')
	if end < 0 {
		f.at = next - 1
		return
	}
	fill := byte('\n')
	if f.depth == 0 {
		f.last = '\n'
	} else if next < len(f.text) && !strings.ContainsRune(",[{:#", rune(f.last)) && !strings.ContainsRune(",]}#", rune(f.text[next])) {
		fill = ' '
	}
	for stop := f.at + end; ; f.at++ {
		f.parsed[f.at] = fill
		if f.at == stop {
			return
		}
	}
}

// comment goes to the end of a comment.
func (f *folder) comment() {
	for f.at+1 < len(f.text) && f.text[f.at+1] != '\n' {
		f.at++
	}
	f.last = '#'
}

// plain goes over a character that is neither quoted nor a blank.
func (f *folder) plain(c byte) *quantity.Fault {
	switch c {
	case '[', '{':
		if f.depth++; f.depth > mostDepth {
			return f.deep(f.at)
		}
	case ']', '}':
		f.depth = max(0, f.depth-1)
	}
	f.last = c
	return nil
}

// marked bounds the characters that make structure, and the blanks in a row.
func (s *source) marked(text []byte) *quantity.Fault {
	marks, blanks := 0, 0
	for i, c := range text {
		if c != ' ' {
			blanks = 0
		} else if blanks++; blanks > mostBlanks {
			return s.fault(i, "", "more than %d blanks in a row; a build file has a dozen", mostBlanks)
		}
		dash := c == '-' && (i+1 == len(text) || strings.IndexByte(" \n", text[i+1]) >= 0)
		if !dash && strings.IndexByte("[{,:?!&*|<>%\t", s.text[i]) < 0 {
			continue
		}
		if marks++; marks > s.most.marks {
			return s.fault(i, "", "more than %d colons, commas, brackets and the like; a build file has a few hundred", s.most.marks)
		}
	}
	return nil
}

func (s *source) deep(at int) *quantity.Fault {
	return s.fault(at, "", "nested deeper than %d; a build file has at most six levels", mostDepth)
}

// nesting follows the indentation of lines; block tells that the line seems to
// stand outside quotes and braces.
func (s *source) nesting(text []byte, i int, block bool, indents *[]int) *quantity.Fault {
	at := i
	for at < len(text) && text[at] == ' ' {
		at++
	}
	if at == len(text) || text[at] == '\n' || text[at] == '#' {
		return nil
	}
	if tab := bytes.IndexByte(s.text[i:at], '\t'); block && tab >= 0 {
		return s.fault(i+tab, "", "a tab indents this line; wanted blanks")
	}
	dashes := 0
	for at+1 < len(text) && strings.IndexByte("-?:", text[at]) >= 0 && strings.IndexByte(" \n", text[at+1]) >= 0 {
		if block && text[at] == '?' {
			return s.fault(at, "", `a key behind "?"; wanted key: value`)
		}
		dashes++
		at++
		for at < len(text) && text[at] == ' ' {
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
		return s.deep(at)
	}
	return nil
}
