package buildfile_test

import (
	"crypto/sha256"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
)

// Values lists what a file says and what stands in, each once, and nothing of the target.
func TestValues(t *testing.T) {
	d, err := buildfile.DemoDocument("spring.preload=45 mm ± 1 mm")
	require.NoError(t, err)
	seen := map[string]buildfile.Value{}
	for _, v := range d.Values() {
		assert.NotContains(t, seen, v.Path)
		assert.NotContains(t, v.Path, "target")
		assert.NotEmpty(t, v.Text, v.Path)
		assert.Equal(t, v.Assumed, v.Why != "", v.Path)
		seen[v.Path] = v
	}
	assert.Equal(t, buildfile.Value{Path: "spring.preload", Text: "45 mm ± 1 mm"}, seen["spring.preload"])
	for _, a := range d.Assumed() {
		assert.Equal(t, buildfile.Value{Path: a.Path, Text: a.Text, Assumed: true, Why: a.Why}, seen[a.Path])
	}
	assert.Greater(t, len(seen), 90)
}

// The sum is that of the bytes of the file, its mark included, whatever is set.
func TestSum(t *testing.T) {
	text := buildfile.DemoText()
	for name, text := range map[string]string{"plain": text, "with a mark": "\ufeff" + text, "with line ends": "# a\r\n" + text} {
		d, err := buildfile.Parse("a.yaml", []byte(text), "gears.ratio=12")
		require.NoError(t, err)
		assert.Equal(t, fmt.Sprintf("%x", sha256.Sum256([]byte(text))), d.Sum(), name)
		assert.Equal(t, "a.yaml", d.File())
	}
}
