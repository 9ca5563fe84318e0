package buildfile

import (
	"bytes"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// edit is a change of the file's text: a value written, or a key taken away.
type edit struct {
	path  []string
	value *node // nil takes the key away
}

// Bytes returns the text of the file with all that was set put in. Comments,
// order, line ends and the layout of everything else stay as they are.
func (d *Document) Bytes() ([]byte, error) {
	s := d.source
	text := bytes.Clone(s.text)
	for _, e := range d.edits {
		now, fault := newSource(s.name, text)
		if fault != nil {
			return nil, fault
		}
		root, faults := now.parse()
		if len(faults) > 0 {
			return nil, joined(faults)
		}
		if e.value == nil {
			text = cut(text, root, e.path)
		} else {
			text = insert(text, root, e.path, e.value.yaml())
		}
	}
	if len(d.notes) > 0 {
		text = append([]byte(strings.Join(d.notes, lineEnd(text))+lineEnd(text)), text...)
	}
	if s.mark {
		text = append([]byte("\ufeff"), text...)
	}
	return text, nil
}

// yaml shows a value as YAML on one line.
func (n *node) yaml() string {
	var parts []string
	switch {
	case n == nil:
		return "null"
	case n.shape == mapping:
		for _, e := range n.entries {
			parts = append(parts, e.key+": "+e.value.yaml())
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case n.shape == list:
		for _, item := range n.items {
			parts = append(parts, item.yaml())
		}
		return "[" + strings.Join(parts, ", ") + "]"
	case plain(n.text):
		return n.text
	}
	return strconv.Quote(n.text)
}

// plain tells whether a text needs no quotes. Some that would need none get them.
func plain(s string) bool {
	if s == "" || s != strings.TrimSpace(s) || strings.EqualFold(s, "null") {
		return false
	}
	for i, r := range s {
		switch {
		case unicode.IsLetter(r) || r >= '0' && r <= '9':
		case i == 0 && strings.ContainsRune("+-.", r) && len(s) > 1 && (s[1] == '.' || s[1] >= '0' && s[1] <= '9'):
		case i > 0 && strings.ContainsRune(" +-./%±²³°·^()_", r):
		default:
			return false
		}
	}
	return true
}

func splice(text []byte, from, to int, with string) []byte {
	return slices.Concat(text[:from], []byte(with), text[to:])
}

// insert writes a value at a path, with the mappings that are missing on the way.
func insert(text []byte, root *node, path []string, value string) []byte {
	depth := 0
	n := root
	for depth < len(path) {
		next := n.at(path[depth : depth+1])
		if next == nil {
			break
		}
		n = next
		depth++
	}
	if depth == len(path) {
		return replace(text, root, path, n, value)
	}
	rest := path[depth:]
	for i := len(rest) - 1; i > 0; i-- {
		value = wrap(rest[i], value)
	}
	switch {
	case n.shape == scalar:
		return splice(text, n.from, n.to, wrap(rest[0], value))
	case n.shape == list && n.flow:
		return appendFlow(text, n, value)
	case n.shape == list:
		return appendLine(text, n, "- "+value)
	}
	if e := n.find(rest[0]); e != nil { // the key stands there without a value
		return splice(text, e.colon(text), e.to, " "+value)
	}
	if n.flow {
		return appendFlow(text, n, rest[0]+": "+value)
	}
	return appendLine(text, n, rest[0]+": "+value)
}

// wrap puts a value into a mapping or, for a number, a list of its own.
func wrap(key, value string) string {
	if _, err := strconv.Atoi(key); err == nil {
		return "[" + value + "]"
	}
	return "{" + key + ": " + value + "}"
}

// replace puts a value in place of another; that of a key goes to the key's line.
func replace(text []byte, root *node, path []string, n *node, value string) []byte {
	parent := root.at(path[:len(path)-1])
	if n.shape == scalar || n.flow || parent.shape == list {
		return splice(text, n.from, n.to, value)
	}
	at := parent.find(path[len(path)-1]).colon(text)
	end := at + bytes.IndexByte(text[at:], '\n')
	end -= len(text[at:end]) - len(bytes.TrimRight(text[at:end], "\r"))
	return slices.Concat(text[:at], []byte(" "+value), text[at:end], text[n.to:])
}

// colon is the offset behind the colon of an entry.
func (e *entry) colon(text []byte) int {
	at := e.from + len(e.key)
	return at + bytes.IndexByte(text[at:], ':') + 1
}

func appendFlow(text []byte, n *node, what string) []byte {
	if spans := n.spans(); len(spans) > 0 {
		at := spans[len(spans)-1].to
		return splice(text, at, at, ", "+what)
	}
	return splice(text, n.from+1, n.from+1, what)
}

// lineEnd returns how the lines of a text end.
func lineEnd(text []byte) string {
	if i := bytes.IndexByte(text, '\n'); i > 0 && text[i-1] == '\r' {
		return "\r\n"
	}
	return "\n"
}

// appendLine adds a line behind a block.
func appendLine(text []byte, n *node, line string) []byte {
	start := bytes.LastIndexByte(text[:n.from], '\n') + 1
	end := lineEnd(text)
	line = strings.Repeat(" ", n.from-start) + line
	if i := bytes.IndexByte(text[n.to:], '\n'); i >= 0 {
		return splice(text, n.to+i+1, n.to+i+1, line+end)
	}
	return splice(text, len(text), len(text), end+line)
}

// span is a stretch of the text.
type span struct{ from, to int }

// spans are those of the entries or items.
func (n *node) spans() (all []span) {
	for _, e := range n.entries {
		all = append(all, span{e.from, e.to})
	}
	for _, item := range n.items {
		all = append(all, span{item.from, item.to})
	}
	return all
}

// cut takes the key at a path away, and its parents if they are left empty.
func cut(text []byte, root *node, path []string) []byte {
	up, key := path[:len(path)-1], path[len(path)-1]
	parent := root.at(up)
	if parent == nil {
		return text
	}
	which := slices.IndexFunc(parent.entries, func(e entry) bool { return e.key == key })
	if parent.shape == list {
		which, _ = strconv.Atoi(key)
	}
	spans := parent.spans()
	if which < 0 || which >= len(spans) {
		return text
	}
	from, to := spans[which].from, spans[which].to
	start := bytes.LastIndexByte(text[:from], '\n') + 1
	switch {
	case len(spans) == 1 && len(up) > 0 && parent.shape == mapping:
		if root.at(up[:len(up)-1]).shape == list {
			return replace(text, root, up, parent, "{}") // the other items keep their numbers
		}
		return cut(text, root, up)
	case len(spans) == 1 && parent.shape == list:
		return replace(text, root, up, parent, "[]")
	case parent.flow && which+1 < len(spans):
		return splice(text, from, spans[which+1].from, "")
	case parent.flow && which > 0:
		return splice(text, spans[which-1].to, to, "")
	case parent.flow:
		return splice(text, from, to, "")
	case which == 0 && len(bytes.TrimSpace(text[start:from])) > 0 && parent.shape == mapping:
		return splice(text, from, spans[1].from, "") // "- key: value" in a list: the next key moves up
	}
	end := len(text)
	if i := bytes.IndexByte(text[to:], '\n'); i >= 0 {
		end = to + i + 1
	}
	return splice(text, start, end, "")
}
