package quantity

import (
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The names that are suggested, and those of every class, are units of some kind.
func TestPatternsKnowEveryName(t *testing.T) {
	for _, c := range classes {
		for _, n := range append(slices.Clone(c.prefixed), c.alone...) {
			u, ok := lookup(n)
			assert.True(t, ok, "%s is none", n)
			assert.Equal(t, u.prefix, slices.Contains(c.prefixed, n), "%s may carry a prefix", n)
		}
	}
	for _, n := range unitNames() {
		if n == "mol" { // alone they are none
			continue
		}
		known := false
		for k := Number; k < kinds; k++ {
			known = known || regexp.MustCompile(k.Pattern(false)).MatchString("3 "+n)
		}
		assert.True(t, known, "%s passes for no kind", n)
	}
}
