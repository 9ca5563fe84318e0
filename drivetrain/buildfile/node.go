package buildfile

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/quantity"
	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// shape is what a node of the tree is.
type shape int

const (
	scalar shape = iota
	mapping
	list
)

func (s shape) String() string {
	return [...]string{"a value", "a mapping", "a list"}[s]
}

// node is a value of a document. Nodes are never changed once made, so that
// documents share them.
type node struct {
	shape   shape
	text    string  // of a scalar
	quoted  bool    // the scalar stood in quotes
	joined  bool    // a decimal comma in braces had made two of the scalar
	number  int     // the scalar is a number that a Variant puts, counted from 1; 0: it is a text
	entries []entry // of a mapping
	items   []*node // of a list
	flow    bool    // in braces or brackets
	place   quantity.Place
	from    int // offset of the first byte in the file
	to      int // offset behind the last byte
}

// entry is a key of a mapping with its value, nil for one that is left empty.
type entry struct {
	key   string
	value *node
	place quantity.Place // of the key
	from  int            // offset of the key
	to    int            // offset behind the value
}

// find returns the entry of a key, nil if there is none.
func (n *node) find(key string) *entry {
	if n == nil {
		return nil
	}
	for i := range n.entries {
		if n.entries[i].key == key {
			return &n.entries[i]
		}
	}
	return nil
}

// has tells whether the key at a path stands there, be it without a value.
func (n *node) has(path []string) bool {
	parent := n.at(path[:len(path)-1])
	if parent == nil {
		return false
	}
	return parent.at(path[len(path)-1:]) != nil || parent.find(path[len(path)-1]) != nil
}

// at follows a path, nil if it leads nowhere.
func (n *node) at(path []string) *node {
	for _, key := range path {
		if n == nil {
			return nil
		}
		switch n.shape {
		case mapping:
			e := n.find(key)
			if e == nil {
				return nil
			}
			n = e.value
		case list:
			i, err := strconv.Atoi(key)
			if err != nil || i < 0 || i >= len(n.items) {
				return nil
			}
			n = n.items[i]
		default:
			return nil
		}
	}
	return n
}

// with returns a tree with the value at a path replaced, nil to take the key
// away; what is not on the path is shared. Missing mappings on the way are made.
func (n *node) with(path []string, value *node, place quantity.Place) *node {
	if len(path) == 0 {
		return value
	}
	if n == nil || n.shape == scalar {
		if value == nil {
			return n
		}
		n = &node{shape: mapping, place: place}
		if path[0] == "0" {
			n.shape = list
		}
	}
	c := *n
	if c.shape == list {
		i, err := strconv.Atoi(path[0])
		if err != nil || i < 0 || i > len(c.items) {
			return n
		}
		c.items = slices.Clone(c.items)
		if i == len(c.items) {
			if value == nil {
				return n
			}
			c.items = append(c.items, nil)
		}
		if c.items[i] = c.items[i].with(path[1:], value, place); c.items[i] == nil {
			c.items = slices.Delete(c.items, i, i+1)
		}
		return &c
	}
	c.entries = slices.Clone(c.entries)
	i := slices.IndexFunc(c.entries, func(e entry) bool { return e.key == path[0] })
	if i < 0 {
		if value == nil {
			return n
		}
		c.entries = append(c.entries, entry{key: path[0], place: place})
		i = len(c.entries) - 1
	}
	e := &c.entries[i]
	e.value = e.value.with(path[1:], value, place)
	if e.value == nil || (value == nil && e.value.shape == mapping && len(e.value.entries) == 0) {
		c.entries = slices.Delete(c.entries, i, i+1)
	}
	return &c
}

// parse makes the tree of a file whose top is a mapping.
func (s *source) parse() (*node, []*quantity.Fault) {
	root, faults := s.tree()
	if len(faults) == 0 && root.shape != mapping {
		return nil, []*quantity.Fault{{Place: root.place, Text: fmt.Sprintf("%s stands at the top; wanted keys such as motor: and battery:", root.shape)}}
	}
	return root, faults
}

// tree makes the tree of a file.
func (s *source) tree() (root *node, faults []*quantity.Fault) {
	defer func() {
		if r := recover(); r != nil {
			root, faults = nil, []*quantity.Fault{{Place: quantity.Place{File: s.name}, Text: "is no YAML that can be read; look for unbalanced quotes and braces"}}
		}
	}()
	file, err := parser.ParseBytes(s.parsed, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		return nil, []*quantity.Fault{s.syntax(err)}
	}
	var docs []*ast.DocumentNode
	for _, d := range file.Docs {
		if _, comment := d.Body.(*ast.CommentGroupNode); d.Body != nil && !comment {
			docs = append(docs, d)
		}
	}
	if len(docs) == 0 {
		return nil, []*quantity.Fault{{Place: quantity.Place{File: s.name}, Text: "holds nothing but comments; wanted a build file"}}
	}
	b := builder{s: s}
	if _, directive := docs[0].Body.(*ast.DirectiveNode); directive {
		b.fault(docs[0].Body.GetToken(), "", "a YAML directive; wanted a file without one")
		return nil, b.faults
	}
	if len(docs) > 1 {
		b.fault(docs[1].Start, "", "a second document begins; wanted one build a file")
		return nil, b.faults
	}
	root = b.value(docs[0].Body, "")
	if len(b.faults) == 0 && root == nil {
		b.fault(docs[0].Body.GetToken(), "", "nothing stands at the top; wanted keys such as motor: and battery:")
	}
	return root, b.faults
}

// syntax puts the parser's complaint on one line.
func (s *source) syntax(err error) *quantity.Fault {
	var syntax *yaml.SyntaxError
	if errors.As(err, &syntax) && syntax.Token != nil && syntax.Token.Position != nil {
		p := syntax.Token.Position
		start := s.offset(p.Line, 1)
		line, _, _ := bytes.Cut(s.text[start:], []byte("\n"))
		if m := noBlank.FindSubmatchIndex(line); m != nil {
			key, value := string(line[m[2]:m[3]]), string(bytes.TrimSpace(line[m[4]:m[5]]))
			return s.fault(start+m[2], "", "no blank behind the colon; wanted %s: %s", quantity.Printable(key, 40), quantity.Printable(value, 40))
		}
		return s.fault(s.offset(p.Line, p.Column), "", "not YAML here: %s", quantity.Printable(syntax.Message, 120))
	}
	first, _, _ := strings.Cut(err.Error(), "\n")
	return &quantity.Fault{Place: quantity.Place{File: s.name}, Text: "not YAML: " + quantity.Printable(first, 120)}
}

// noBlank finds a key whose colon has a value right behind it.
var noBlank = regexp.MustCompile(`^ *(?:- +)?([a-z][a-z0-9_]*):([^ \t\r/:].*)$`)

type builder struct {
	s      *source
	faults []*quantity.Fault
}

func (b *builder) fault(t *token.Token, key, format string, args ...any) {
	at := 0
	if t != nil && t.Position != nil {
		at = b.s.offset(t.Position.Line, t.Position.Column)
	}
	b.faults = append(b.faults, b.s.fault(at, key, format, args...))
}

// value makes the node of a syntax node; nil for an empty value.
func (b *builder) value(n ast.Node, path string) *node {
	if n == nil {
		return nil
	}
	t := n.GetToken()
	r := &node{from: b.s.offset(t.Position.Line, t.Position.Column)}
	switch n := n.(type) {
	case *ast.MappingNode:
		r.shape, r.flow = mapping, n.IsFlowStyle
		for _, v := range n.Values {
			if !r.flow || !b.comma(r, v) {
				b.entry(r, v, path)
			}
		}
		b.close(r, n.End)
	case *ast.MappingValueNode:
		r.shape = mapping
		b.entry(r, n, path)
		b.close(r, nil)
	case *ast.SequenceNode:
		r.shape, r.flow = list, n.IsFlowStyle
		for i, v := range n.Values {
			before := len(b.faults)
			item := b.value(v, join(path, strconv.Itoa(i)))
			if item != nil {
				r.items = append(r.items, item)
			} else if len(b.faults) == before {
				b.fault(t, join(path, strconv.Itoa(i)), "an empty item; wanted a value")
			}
		}
		b.close(r, n.End)
	case *ast.NullNode:
		return nil
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.NanNode, *ast.InfinityNode:
		r.text = t.Value
		r.quoted = t.Type == token.SingleQuoteType || t.Type == token.DoubleQuoteType
		r.to = b.scalarEnd(r)
		if !r.quoted && bytes.IndexByte(b.s.text[r.from:r.to], '\n') >= 0 {
			r.text = strings.Join(strings.Fields(r.text), " ")
		}
	case *ast.AnchorNode, *ast.AliasNode:
		b.fault(t, path, "an anchor or alias (& or *); wanted the value itself")
		return nil
	case *ast.TagNode:
		b.fault(t, path, "a tag (!); wanted the value itself")
		return nil
	case *ast.LiteralNode:
		b.fault(t, path, "a block of text (| or >); wanted the value on one line")
		return nil
	default:
		b.fault(t, path, "can't be read; wanted a plain value, a mapping or a list")
		return nil
	}
	r.place = b.s.place(r.from)
	return r
}

// close sets where a mapping or list begins and ends.
func (b *builder) close(r *node, end *token.Token) {
	if r.flow && end != nil && end.Position != nil {
		r.to = b.s.offset(end.Position.Line, end.Position.Column) + 1
		return
	}
	if len(r.entries) > 0 {
		r.from = r.entries[0].from
	}
	r.to = r.from
	for _, s := range r.spans() {
		r.to = max(r.to, s.to)
	}
}

func (b *builder) entry(r *node, v *ast.MappingValueNode, path string) {
	t := v.Key.GetToken()
	switch v.Key.(type) {
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.NullNode, *ast.NanNode, *ast.InfinityNode:
	case *ast.MergeKeyNode:
		b.fault(t, path, "a merge key (<<); wanted the keys themselves")
		return
	default:
		b.fault(t, path, "a key that is no word")
		return
	}
	e := entry{key: t.Value, from: b.s.offset(t.Position.Line, t.Position.Column)}
	e.place = b.s.place(e.from)
	key := join(path, quantity.Printable(e.key, 40))
	if old := r.find(e.key); old != nil {
		b.fault(t, key, "stands here a second time; the first is in line %d", old.place.Line)
		return
	}
	e.to = b.s.offset(v.Start.Position.Line, v.Start.Position.Column) + 1
	if e.value = b.value(v.Value, key); e.value != nil {
		e.to = e.value.to
	} else if null := v.Value.GetToken(); null.Type == token.NullType {
		e.to = b.s.offset(null.Position.Line, null.Position.Column) + len(null.Value)
	}
	r.entries = append(r.entries, e)
}

// comma joins what a decimal comma cuts apart inside braces: to YAML, {mass: 0,20 g}
// is a key mass and a key "20 g" without a value. No key begins with a digit.
func (b *builder) comma(r *node, v *ast.MappingValueNode) bool {
	if len(r.entries) == 0 {
		return false
	}
	e, t := &r.entries[len(r.entries)-1], v.Key.GetToken()
	if _, empty := v.Value.(*ast.NullNode); !empty || e.value == nil || !e.value.numeric() || t.Value == "" || !digit(t.Value[0]) {
		return false
	}
	rest, found := bytes.CutPrefix(b.s.text[e.value.to:], []byte(","+t.Value)) // no blank behind the comma
	if !found {
		return false
	}
	to := len(b.s.text) - len(rest)
	e.value.text += "," + t.Value
	e.value.joined, e.value.to, e.to = true, to, to
	return true
}

// comma tells whether item i of a list and the next one were a number with a decimal
// comma, as in [0,5 mm].
func (n *node) comma(i int) bool {
	if !n.flow || i+1 >= len(n.items) {
		return false
	}
	a, b := n.items[i], n.items[i+1]
	return a.numeric() && b.shape == scalar && !b.quoted && b.text != "" && digit(b.text[0]) && b.from == a.to+1
}

// numeric tells whether a scalar begins like a number and ends with a digit.
func (n *node) numeric() bool {
	if n.shape != scalar || n.quoted || n.text == "" || !digit(n.text[len(n.text)-1]) {
		return false
	}
	return digit(n.text[0]) || (len(n.text) > 1 && strings.IndexByte("+-", n.text[0]) >= 0 && digit(n.text[1]))
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

// scalarEnd finds the end of a scalar in the file: behind its closing quote, or
// behind the last of its characters, blanks and line ends passed over.
func (b *builder) scalarEnd(r *node) int {
	text := b.s.parsed
	at := r.from
	if r.quoted && at < len(text) {
		quote := text[at]
		for at++; at < len(text); at++ {
			if text[at] == '\\' && quote == '"' {
				at++
			} else if text[at] == quote {
				if quote == '\'' && at+1 < len(text) && text[at+1] == quote {
					at++
					continue
				}
				return at + 1
			}
		}
		return len(text)
	}
	for _, c := range []byte(r.text) {
		if c == ' ' || c == '\n' || c == '\t' {
			continue
		}
		for at < len(text) && text[at] != c {
			at++
		}
		at++
	}
	return min(at, len(text))
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}
