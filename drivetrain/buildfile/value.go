package buildfile

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
)

// Value is what a key came to in a document.
type Value struct {
	// Path is the key's, with the numbers of members of lists: "harness.connectors.1.resistance".
	Path string
	// Text is the value as it is written, with its ± if it has one.
	Text string
	// Assumed tells that the file leaves the key out, and Text stands in; Why says where
	// that comes from.
	Assumed bool
	Why     string
}

// Values lists all that a document says of its build or that stands in for it, in the
// order of the documentation, but for the target; last, what the sector's release follows
// from where it is not given.
func (d *Document) Values() (all []Value) {
	why := map[string]string{}
	assumed := d.Assumed()
	for _, a := range assumed {
		why[a.Path] = a.Why
	}
	listed := map[string]bool{}
	for i := range d.values {
		v := &d.values[i]
		if strings.HasPrefix(v.path, "target.") {
			continue
		}
		listed[v.path] = true
		w := Value{Path: v.path, Text: v.text, Assumed: v.assumed}
		if v.assumed {
			w.Why = why[v.path]
		}
		all = append(all, w)
	}
	for _, a := range assumed {
		if !listed[a.Path] {
			all = append(all, Value{a.Path, a.Text, true, a.Why})
		}
	}
	return all
}

// Sum is the SHA-256 of the file's text as it was read, in hexadecimal digits: what
// sha256sum prints of the file. Overrides are no part of it.
func (d *Document) Sum() string {
	h := sha256.New()
	if d.source.mark {
		h.Write([]byte("\ufeff"))
	}
	h.Write(d.source.text)
	return hex.EncodeToString(h.Sum(nil))
}

// File is the name that the document was read under.
func (d *Document) File() string { return d.source.name }
