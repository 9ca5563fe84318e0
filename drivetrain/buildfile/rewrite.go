package buildfile

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Bytes returns the text of the file with all that was set put in. Comments,
// order, line ends and the layout of everything else stay as they are.
func (d *Document) Bytes() ([]byte, error) {
	s := d.source
	text := s.text
	for _, e := range d.edits {
		now, fault := newSource(s.name, text)
		if fault != nil {
			return nil, Faults{*fault}
		}
		root, faults := now.parse()
		if len(faults) > 0 {
			return nil, faults
		}
		if e.value == "" {
			text = cut(text, root, e.path)
		} else {
			text = insert(text, root, e)
		}
		if !bytes.HasSuffix(text, []byte("\n")) && bytes.HasSuffix(s.text, []byte("\n")) {
			text = append(text, '\n')
		}
	}
	out := bytes.Clone(text)
	if s.crlf {
		out = bytes.ReplaceAll(out, []byte("\n"), []byte("\r\n"))
	}
	if s.mark {
		out = append([]byte("\ufeff"), out...)
	}
	return out, nil
}

// yaml shows an edit's value so that YAML reads it as one scalar.
func (e *edit) yaml() string {
	if e.raw {
		return e.value
	}
	special := strings.ContainsAny(e.value, ":#,[]{}\"'\\\n") || strings.ContainsAny(e.value[:1], "&*!|>%@`-?~")
	if special && !isNumber(e.value) {
		return strconv.Quote(e.value)
	}
	return e.value
}

// isNumber finds the values whose leading minus is none of YAML's.
func isNumber(s string) bool {
	return len(s) > 1 && s[0] == '-' && (s[1] == '.' || (s[1] >= '0' && s[1] <= '9')) && !strings.ContainsAny(s, ":#,[]{}\"'\\\n")
}

func splice(text []byte, from, to int, with string) []byte {
	return slices.Concat(text[:from], []byte(with), text[to:])
}

// insert writes a value at a path, with the mappings that are missing on the way.
func insert(text []byte, root *node, e edit) []byte {
	depth := 0
	n := root
	for depth < len(e.path) {
		next := n.at(e.path[depth : depth+1])
		if next == nil {
			break
		}
		n = next
		depth++
	}
	value := e.yaml()
	if depth == len(e.path) {
		if block := n.shape != scalar && !n.flow; block && bytes.IndexByte(text[n.from:n.to], '\n') >= 0 {
			return replaceBlock(text, n, value)
		}
		return splice(text, n.from, n.to, value)
	}
	rest := e.path[depth:]
	for i := len(rest) - 1; i > 0; i-- {
		if _, err := strconv.Atoi(rest[i]); err == nil {
			value = "[" + value + "]"
		} else {
			value = fmt.Sprintf("{%s: %s}", rest[i], value)
		}
	}
	if n.shape == list {
		return appendItem(text, n, value)
	}
	if empty := n.find(rest[0]); empty != nil { // the key stands there without a value
		at := empty.from + len(empty.key)
		at += bytes.IndexByte(text[at:], ':') + 1
		return splice(text, at, at, " "+value)
	}
	return appendKey(text, n, rest[0]+": "+value)
}

// replaceBlock puts a value on the line of its key in place of a block below it.
func replaceBlock(text []byte, n *node, value string) []byte {
	colon := bytes.LastIndexByte(text[:n.from], ':') + 1
	return splice(text, colon, n.to, " "+value)
}

func appendKey(text []byte, n *node, line string) []byte {
	if n.flow {
		if len(n.entries) == 0 {
			return splice(text, n.from+1, n.from+1, line)
		}
		at := n.entries[len(n.entries)-1].end()
		return splice(text, at, at, ", "+line)
	}
	return appendLine(text, n.to, column(text, n.from), line)
}

func appendItem(text []byte, n *node, value string) []byte {
	if n.flow {
		if len(n.items) == 0 {
			return splice(text, n.from+1, n.from+1, value)
		}
		at := n.items[len(n.items)-1].to
		return splice(text, at, at, ", "+value)
	}
	return appendLine(text, n.to, column(text, n.from), "- "+value)
}

// appendLine adds a line behind the one that an offset lies in.
func appendLine(text []byte, at, indent int, line string) []byte {
	end := bytes.IndexByte(text[at:], '\n')
	if end < 0 {
		return splice(text, len(text), len(text), "\n"+strings.Repeat(" ", indent)+line)
	}
	return splice(text, at+end, at+end, "\n"+strings.Repeat(" ", indent)+line)
}

// column counts the bytes from the start of the line.
func column(text []byte, at int) int {
	return at - (bytes.LastIndexByte(text[:at], '\n') + 1)
}

// cut takes the key at a path away, and its parents if they are left empty.
func cut(text []byte, root *node, path []string) []byte {
	parent := root.at(path[:len(path)-1])
	if parent == nil || parent.shape == scalar {
		return text
	}
	var spans [][2]int
	which := -1
	if parent.shape == mapping {
		for i := range parent.entries {
			spans = append(spans, [2]int{parent.entries[i].from, parent.entries[i].end()})
			if parent.entries[i].key == path[len(path)-1] {
				which = i
			}
		}
	} else {
		for i, item := range parent.items {
			spans = append(spans, [2]int{item.from, item.to})
			if strconv.Itoa(i) == path[len(path)-1] {
				which = i
			}
		}
	}
	if which < 0 {
		return text
	}
	if len(spans) == 1 && len(path) > 1 && parent.shape == mapping {
		return cut(text, root, path[:len(path)-1])
	}
	from, to := spans[which][0], spans[which][1]
	switch {
	case parent.flow && which+1 < len(spans):
		return splice(text, from, spans[which+1][0], "")
	case parent.flow && which > 0:
		return splice(text, spans[which-1][1], to, "")
	case parent.flow:
		return splice(text, from, to, "")
	case parent.shape == list && len(spans) == 1:
		return replaceBlock(text, parent, "[]")
	}
	start := bytes.LastIndexByte(text[:from], '\n') + 1
	if before := strings.TrimSpace(string(text[start:from])); before != "" && parent.shape == mapping {
		if which+1 < len(spans) { // "- key: value" in a list: the next key moves up
			return splice(text, from, spans[which+1][0], "")
		}
	}
	end := len(text)
	if n := bytes.IndexByte(text[to:], '\n'); n >= 0 {
		end = to + n + 1
	}
	return splice(text, start, end, "")
}
