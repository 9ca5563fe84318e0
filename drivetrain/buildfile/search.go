package buildfile

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"example.org/ampstroke/drivetrain/quantity"
)

// Allowed says what the value may be: "0.1 g to 10000 g", "one of automatic, single".
func (k *Key) Allowed() string {
	lo, hi := k.Range[0], k.Range[1]
	switch {
	case !k.Quantity && k.Words == nil:
		return "free text"
	case !k.Quantity && slices.Equal(k.Words, []string{"true", "false"}):
		return "true or false"
	case !k.Quantity:
		return "one of " + strings.Join(k.Words, ", ")
	case math.IsNaN(lo):
		return fmt.Sprintf("%s, such as %s", k.Kind, k.Kind.Example())
	}
	text := k.Kind.Format(lo) + " to " + k.Kind.Format(hi)
	switch {
	case k.Kind == quantity.Count:
		text = fmt.Sprintf("a whole number, %.0f to %.0f", lo, hi)
	case k.Kind == quantity.WireSize:
		text += ", or a gauge, such as 22 AWG"
	case k.Words != nil:
		text = strings.Join(k.Words, ", ") + ", or " + text
	}
	return text
}

// SearchKeys lists the keys whose path or meaning holds each of the words, case aside; all
// keys where there are no words. A path may number the members of a list.
func SearchKeys(words ...string) []Key {
	return slices.DeleteFunc(Keys(), func(k Key) bool {
		return slices.ContainsFunc(words, func(w string) bool { return !k.holds(w) })
	})
}

func (k *Key) holds(word string) bool {
	word = strings.ToLower(word)
	if strings.Contains(strings.ToLower(k.Path), word) || strings.Contains(strings.ToLower(k.Meaning), word) {
		return true
	}
	if !strings.ContainsAny(word, "0123456789") {
		return false
	}
	of, ok := FindKey(word)
	return ok && of.Path == k.Path
}

// NearKeys says which keys a word most likely means that none holds: those that it is
// another name of, or the nearest; "" where nothing is near.
func NearKeys(word string) string {
	word = strings.ToLower(strings.TrimSpace(word))
	var paths []string
	names := map[string]bool{}
	last := func(path string) string { return path[strings.LastIndexByte(path, '.')+1:] }
	for _, path := range slices.Sorted(maps.Keys(synonyms)) {
		if path == word || last(path) == word {
			paths = append(paths, strings.TrimSuffix(path, last(path))+synonyms[path])
		}
	}
	if len(paths) > 0 {
		return "did you mean " + strings.Join(paths, " or ") + "?"
	}
	for _, path := range slices.Sorted(maps.Keys(hints)) {
		if path == word || last(path) == word {
			return fmt.Sprintf("of %s: %s", path, hints[path])
		}
	}
	for _, k := range Keys() {
		names[k.Path] = true
		for part := range strings.SplitSeq(k.Path, ".") {
			names[part] = true
		}
		for part := range strings.FieldsSeq(k.Meaning) {
			names[strings.ToLower(strings.Trim(part, ",;:.()'"))] = true
		}
	}
	if near := quantity.Nearest(word, slices.Sorted(maps.Keys(names))); near != "" {
		return "did you mean " + near + "?"
	}
	return ""
}
