// Package buildfile reads build files into a [drivetrain.Build], and writes them
// back.
//
// # The file
//
// YAML, with one mapping for each part of the gun. A quantity is a number with
// its unit ("350 mm", "18 AWG"), "x ± y" carries a tolerance of two standard
// deviations. A key that is left out takes a default, which [Document.Assumed]
// lists; keys without a sensible default are required. The schema in this package
// is the one place that knows all keys.
//
// Names are read in other spellings too: true or false as yes, no, on, off, in any case; a
// chemistry in short, as LiPo; the magnets' material by its standard grade, N42SH. The
// grade stands in for remanence, drift, coercivity and its drift, each of which wins
// where it is given; [Document.Assumed] says which are the grade's, and its bands are
// in Document.Tolerances. What is written back stays as it was spelt.
//
// # Strictness
//
// Whatever can't be used is an error that names file, line, column and key, says
// what was found and what was wanted, and suggests the nearest key on a typo, or the
// right one for a name or a value that people expect elsewhere; all faults are reported at once, as one error ([quantity.Faults]). Anchors, aliases, tags, merge keys,
// blocks of text and second documents are refused. A file has at most 256 KiB,
// nested at most 32 deep, with at most 5000 characters that make structure; these
// are checked before the YAML parser runs. A section that is left empty is one whose
// keys are all left out.
//
// # Overrides
//
// "key.path=value" replaces one value, "key.path=" takes it away, list members
// are numbered from 0. Setting one of two alternatives (gears.ratio or tooth
// counts, mosfet or contacts) takes the other away. A document keeps its syntax
// tree, so that further overrides ([Document.With]) need no parsing, and puts what
// was set into the text only when it is asked for ([Document.Bytes]).
//
// # Keys as numbers
//
// [Keys] tells every key with its meaning, range and default, and how it is measured.
// [Document.Get] and [Document.Word] read one that is in force. Whoever tries many values
// takes a [Variant] ([Document.Vary]): numbers in, a valid build out, the same to the last
// bit as by overrides, in some microseconds.
//
// # References
//
// YAML 1.2 (yaml.org/spec/1.2.2), parsed by github.com/goccy/go-yaml. Numbers are
// read in decimal from the text: 010 is ten.
package buildfile
