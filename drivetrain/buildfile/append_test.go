package buildfile_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
)

const (
	heardReading = "{figure: rate_of_fire, value: 22.07 /s ± 0.05 /s}"
	heardLine    = "- " + heardReading + "   # heard in shots.wav\n"
)

// A reading goes behind the others, however they are written, and nothing else moves: no
// comment, no line end, no mark.
func TestAppendReading(t *testing.T) {
	const first = "{figure: inrush, value: 70 A ± 5 %}"
	for _, c := range []struct{ name, text, want string }{
		{"no file", "", "readings:\n" + heardLine},
		{"comments alone", "# evening", "# evening\nreadings:\n" + heardLine},
		{"no list", "name: Evening\n", "name: Evening\nreadings:\n" + heardLine},
		{"no line's end", "name: Evening", "name: Evening\nreadings:\n" + heardLine},
		{"a list of nothing", "readings:   # to come\nname: Evening\n", "readings:\n" + heardLine[:len(heardLine)-1] + "   # to come\nname: Evening\n"},
		{"an empty list", "readings: []\nname: Evening\n", "# heard in shots.wav\nreadings: [" + heardReading + "]\nname: Evening\n"},
		{"a list", "readings: # of today\n- " + first + " # warm\n# the end\n", "readings: # of today\n- " + first + " # warm\n" + heardLine + "# the end\n"},
		{"indented, with more behind", "readings:\n  - " + first + "\n\nfree: [spring.rate]\n", "readings:\n  - " + first + "\n  " + heardLine + "\nfree: [spring.rate]\n"},
		{"over several lines", "readings:\n- figure: inrush\n  value: 70 A ± 5 %\n  times: 3\nname: x\n", "readings:\n- figure: inrush\n  value: 70 A ± 5 %\n  times: 3\n" + heardLine + "name: x\n"},
		{"in brackets", "name: x\nreadings: [" + first + "] # all\n", "name: x\n# heard in shots.wav\nreadings: [" + first + ", " + heardReading + "] # all\n"},
		{"of another system", "\ufeffreadings:\r\n- " + first + "\r\n", "\ufeffreadings:\r\n- " + first + "\r\n" + heardLine[:len(heardLine)-1] + "\r\n"},
		{"no list, of another system", "name: Evening\r\n", "name: Evening\r\nreadings:\r\n" + heardLine[:len(heardLine)-1] + "\r\n"},
		{"without an end", "readings:\n- " + first, "readings:\n- " + first + "\n" + heardLine[:len(heardLine)-1]},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := buildfile.AppendReading("evening.yaml", []byte(c.text), heardReading, "heard in shots.wav")
			require.NoError(t, err)
			assert.Equal(t, c.want, string(got))
			r, err := buildfile.ParseReadings("evening.yaml", got)
			require.NoError(t, err)
			last := r.Readings[len(r.Readings)-1]
			assert.Equal(t, "rate_of_fire", last.Figure.Name)
			assert.InDelta(t, 22.07, last.Value, 1e-12)
			assert.InDelta(t, 0.05, last.Tolerance, 1e-12)
			again, err := buildfile.AppendReading("evening.yaml", got, heardReading, "")
			require.NoError(t, err)
			r, err = buildfile.ParseReadings("evening.yaml", again)
			require.NoError(t, err)
			assert.Equal(t, 1+strings.Count(string(got), "figure:"), len(r.Readings))
		})
	}
}

// What is no readings file is told with its place, and so is a reading that is none.
func TestAppendReadingRefuses(t *testing.T) {
	full := "readings:\n" + strings.Repeat("- {figure: inrush, value: 70 A ± 5 %}\n", buildfile.MostReadings)
	for _, c := range []struct{ text, reading, want string }{
		{"readings:\n- {figure: inrush, value: 70 A}\n", heardReading, "evening.yaml:2"},
		{"readings:\n- {figure: inrsh, value: 70 A ± 5 %}\n", heardReading, `no figure is called "inrsh"`},
		{"motor: {}\n", heardReading, "evening.yaml:1:1: motor"},
		{"- a\n- b\n", heardReading, "evening.yaml:1:1"},
		{"readings: {a: 1}\n", heardReading, "evening.yaml:1:"},
		{"readings: none\n", heardReading, "evening.yaml:1:"},
		{"{name: x}\n", heardReading, "wanted readings: with a list below it"},
		{"a: [\n", heardReading, "evening.yaml:"},
		{"readings: &a\n", heardReading, "evening.yaml:"},
		{"name: \"\x00\"\n", heardReading, "evening.yaml:1:"},
		{full, heardReading, "has 201 members; wanted at most 200"},
		{"", "{figure: rate_of_fire, value: 22 /s}", "has no ±"},
		{"", "{figure: rate_of_fir, value: 22 /s ± 1 /s}", "no figure is called"},
	} {
		got, err := buildfile.AppendReading("evening.yaml", []byte(c.text), c.reading, "")
		require.Error(t, err, c.text)
		assert.Contains(t, err.Error(), c.want)
		assert.True(t, got == nil, "nothing to write")
	}
}

// What a comment holds stays one.
func TestAppendReadingComment(t *testing.T) {
	got, err := buildfile.AppendReading("a.yaml", nil, heardReading, "heard in a\nname: b\u2028.wav # 3")
	require.NoError(t, err)
	assert.Equal(t, 2, strings.Count(string(got), "\n"))
	r, err := buildfile.ParseReadings("a.yaml", got)
	require.NoError(t, err)
	assert.Len(t, r.Readings, 1)
}

func TestReadingsText(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "evening.yaml")
	text, err := buildfile.ReadingsText(path)
	require.NoError(t, err)
	assert.Empty(t, text)
	for content, want := range map[string]string{"": "", "name: x\n": "", "readings:\n- " + heardReading + "\n": "", "nmae: x\n": "evening.yaml:1:1: nmae: no such key"} {
		require.NoError(t, os.WriteFile(path, []byte(content), 0o666))
		text, err := buildfile.ReadingsText(path)
		if want == "" {
			require.NoError(t, err)
			assert.Equal(t, content, string(text))
		} else {
			assert.ErrorContains(t, err, want)
		}
	}
	_, err = buildfile.ReadingsText(dir)
	assert.ErrorContains(t, err, "is a folder")
}

func ExampleAppendReading() {
	text := []byte("name: Bench evening   # after the rebuild\nreadings:\n- {figure: inrush, value: 71 A ± 5 %}\n")
	text, err := buildfile.AppendReading("evening.yaml", text, "{figure: rate_of_fire, value: 22.1 /s ± 0.1 /s}", "heard in shots.wav")
	fmt.Print(string(text), err)
	// Output:
	// name: Bench evening   # after the rebuild
	// readings:
	// - {figure: inrush, value: 71 A ± 5 %}
	// - {figure: rate_of_fire, value: 22.1 /s ± 0.1 /s}   # heard in shots.wav
	// <nil>
}
