package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func batch(t *testing.T, input string, args ...string) (outcome, []map[string]any) {
	var stdout, stderr bytes.Buffer
	code := status(run(context.Background(), append([]string{"cycle", "--batch", "-"}, args...), strings.NewReader(input), &stdout, &stderr), &stderr)
	var lines []map[string]any
	for _, l := range strings.Split(strings.TrimSpace(stdout.String()), "\n") {
		if l == "" {
			continue
		}
		var o map[string]any
		require.NoError(t, json.Unmarshal([]byte(l), &o), l)
		lines = append(lines, o)
	}
	return outcome{code, stdout.String(), stderr.String()}, lines
}

func TestBatch(t *testing.T) {
	o, lines := batch(t, `{"motor.armature.turns": 22}
["battery.series=3", "trigger.mode=single"]

{}
{"spring.rate": "4000 N/m", "harness.switch.mosfet.active_braking": true, "harness.fuse": null}
`, "--set", "pellet.mass=0.25 g")
	require.Zero(t, o.code, o.stderr)
	require.Len(t, lines, 4)
	for i, sets := range [][]string{
		{"motor.armature.turns=22"}, {"battery.series=3", "trigger.mode=single"}, {}, {"spring.rate=4000 N/m", "harness.switch.mosfet.active_braking=true", "harness.fuse="},
	} {
		args := []string{"cycle", "--json", "--set", "pellet.mass=0.25 g"}
		for _, s := range sets {
			args = append(args, "--set", s)
		}
		var alone map[string]any
		require.NoError(t, json.Unmarshal([]byte(command(t, args...).stdout), &alone))
		for key, v := range alone {
			// A batch fires each build once, in its own mode: what an examination of all
			// sides adds is not there.
			if key != "cautions" && key != "next_shot" && key != "findings" && key != "charge" {
				assert.Equal(t, v, lines[i][key], "line %d, %s", i+1, key)
			}
		}
	}
	assert.Equal(t, []any{1., 2., 4., 5.}, []any{lines[0]["line"], lines[1]["line"], lines[2]["line"], lines[3]["line"]}, "numbered as in the file")
	for i, set := range []string{
		`{"motor.armature.turns": 22}`, `{"battery.series": "3", "trigger.mode": "single"}`, `{}`,
		`{"spring.rate": "4000 N/m", "harness.switch.mosfet.active_braking": true, "harness.fuse": null}`,
	} {
		given, err := json.Marshal(lines[i]["set"])
		require.NoError(t, err)
		assert.JSONEq(t, set, string(given), "what the line overrides stands beside its figures, as it is written")
	}
	first, _, _ := strings.Cut(o.stdout, "\n")
	assert.Equal(t, append([]string{"line", "set"}, cycleKeys...)[:6], keysOf(t, []byte(first))[:6])
}

func TestBatchPassesOverBadLines(t *testing.T) {
	var input strings.Builder
	cases := []struct{ line, want string }{
		{`{"motor.armature.turns": 20}`, ""},
		{`{"motor.armature.tunrs": 20}`, "did you mean turns?"},
		{`nonsense`, "is no JSON object"},
		{`{"a": {"b": 1}}`, "a holds no single value"},
		{`[1]`, "wanted an object"},
		{`{} {}`, "more than one value"},
		{`["battery.series=3"]["battery.series=2"]`, "more than one value"},
		{`["battery.series=3"] x`, "more than one value"},
		{`{"battery.series": 3, "motor.armature.turns": 20, "battery.series": 2}`, "battery.series is there twice"},
		{`{"battery.series": 3, "b\u0061ttery.series ": 3}`, "battery.series is there twice"},
		{`["battery.series=3", "battery.series=2"]`, "battery.series is there twice"},
		{`["battery.series"]`, `"battery.series" is no key.path=value`},
		{`{"name=x": "y"}`, `"name=x" is no key`},
		{`{"battery.series": 3`, "ends too soon"},
		{`["battery.series=3"`, "ends too soon"},
		{`{"pellet.mass": "0.3"}`, "is a bare number"},
		{`{"name": "` + strings.Repeat("x", longestLine) + `"}`, fmt.Sprintf("is longer than %d bytes", longestLine)},
		{`{"motor.armature.turns": 24}`, ""},
	}
	wrong := 0
	for _, c := range cases {
		input.WriteString(c.line + "\n")
		if c.want != "" {
			wrong++
		}
	}
	o, lines := batch(t, input.String())
	assert.Equal(t, badInput, o.code)
	require.Len(t, lines, len(cases))
	for i, c := range cases {
		assert.EqualValues(t, i+1, lines[i]["line"])
		if c.want == "" {
			assert.Nil(t, lines[i]["error"])
			assert.NotNil(t, lines[i]["rate_of_fire_hz"])
			continue
		}
		assert.Contains(t, lines[i]["error"], c.want)
		assert.Nil(t, lines[i]["rate_of_fire_hz"])
		assert.Contains(t, o.stderr, fmt.Sprintf("ampstroke: --batch: line %d: ", i+1))
	}
	assert.Equal(t, map[string]any{"motor.armature.tunrs": 20.}, lines[1]["set"], "what could be read is given back")
	assert.NotContains(t, lines[2], "set", "what could not isn't")
	assert.Contains(t, o.stderr, fmt.Sprintf("ampstroke: --batch: %d lines could not be used\n", wrong))
	o, lines = batch(t, "")
	assert.Zero(t, o.code)
	assert.Empty(t, lines)
	for _, path := range []string{"nowhere.jsonl", t.TempDir()} {
		o := command(t, "cycle", "--batch", path)
		assert.Equal(t, badInput, o.code)
		assert.Contains(t, o.stderr, "--batch: ")
		assert.Contains(t, o.stderr, path)
		assert.Empty(t, o.stdout)
	}
	assert.Equal(t, badInput, command(t, "cycle", "--batch", "-", "--plot", "a.png").code)
}

// A line may be as long as it may be, and no longer; its end and a carriage return
// don't count.
func TestBatchLongLines(t *testing.T) {
	long := func(length int) string { return `{"motor.armature.turns": 22}` + strings.Repeat(" ", length-28) }
	o, lines := batch(t, long(100_000)+"\n"+long(longestLine)+"\n"+long(longestLine+1)+"\n"+long(longestLine))
	assert.Equal(t, badInput, o.code)
	require.Len(t, lines, 4)
	assert.Equal(t, []any{nil, nil, "is longer than 1048576 bytes", nil}, []any{lines[0]["error"], lines[1]["error"], lines[2]["error"], lines[3]["error"]})
	assert.Contains(t, o.stderr, "line 3: is longer than")
	assert.Contains(t, o.stderr, "1 line could not be used")
}

// Of a line that is far too long no more is kept than of the longest one.
func TestBatchKeepsNoLongLine(t *testing.T) {
	const length = 64 * longestLine
	all := newLines(io.MultiReader(io.LimitReader(endless('x'), length), strings.NewReader("\n{}\n")))
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	require.ErrorIs(t, all.next(), errTooLong)
	runtime.ReadMemStats(&after)
	assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(8*longestLine))
	require.NoError(t, all.next())
	assert.Equal(t, 2, all.number)
	assert.Equal(t, "{}", string(all.text))
	assert.Equal(t, io.EOF, all.next())
}

// endless is an input of one character.
type endless byte

func (e endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(e)
	}
	return len(p), nil
}

// Files from other systems begin with a mark, and end their lines otherwise.
func TestBatchFromOtherSystems(t *testing.T) {
	o, lines := batch(t, "\xef\xbb\xbf{\"motor.armature.turns\": 22}\r\n\r\n[\"motor.armature.turns=24\"]\r\n")
	require.Zero(t, o.code, o.stderr)
	require.Len(t, lines, 2)
	assert.EqualValues(t, 3, lines[1]["line"])
	o, lines = batch(t, "{}\n\xef\xbb\xbf{}\n")
	assert.Equal(t, badInput, o.code, "within a file it is no mark")
	assert.NotNil(t, lines[1]["error"])
}

// A line that can't be used is told beside what it overrides, and all others are gone
// through.
func TestBatchStatus(t *testing.T) {
	const good, wrong, refused = "{}\n", "nonsense\n", "{\"motor.armature.turns\": -1}\n"
	for _, c := range []struct {
		name, input string
		code        int
		want        string
	}{
		{"all good", good + good, 0, ""},
		{"wrong", good + wrong, badInput, "1 line could not be used\n"},
		{"refused", refused + good + refused, badInput, "2 lines could not be used\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			o, lines := batch(t, c.input)
			assert.Equal(t, c.code, o.code)
			assert.True(t, strings.HasSuffix(o.stderr, c.want), o.stderr)
			assert.Equal(t, c.want == "", o.stderr == "")
			require.Len(t, lines, strings.Count(c.input, "\n"), "all lines are gone through")
			for i, l := range strings.SplitAfter(strings.TrimSuffix(c.input, "\n"), "\n") {
				switch strings.TrimSpace(l) + "\n" {
				case good:
					assert.NotNil(t, lines[i]["outcome"])
				case refused:
					assert.Contains(t, lines[i]["error"], "is out of range")
					assert.Equal(t, map[string]any{"motor.armature.turns": -1.}, lines[i]["set"])
				}
			}
		})
	}
}

// What comes to no end is no bad input; a batch with both is a bad one. No build is
// known any more that comes to none.
func TestEndOfBatch(t *testing.T) {
	for _, c := range []struct {
		wrong, unfinished, code int
		want                    string
	}{
		{0, 0, 0, ""},
		{1, 0, badInput, "ampstroke: --batch: 1 line could not be used\n"},
		{0, 2, incomplete, "ampstroke: --batch: the simulation of 2 lines came to no end\n"},
		{1, 1, badInput, "ampstroke: --batch: 1 line could not be used, and the simulation of 1 line came to no end\n"},
	} {
		var stderr bytes.Buffer
		assert.Equal(t, c.code, status(endOfBatch(c.wrong, c.unfinished), &stderr))
		assert.Equal(t, c.want, stderr.String())
	}
}

// An input that breaks off is told, behind what came before.
func TestBatchInputBreaksOff(t *testing.T) {
	var stdout, stderr bytes.Buffer
	broken := io.MultiReader(strings.NewReader("{}\n{"), iotest.ErrReader(errors.New("the cable is out")))
	code := status(run(context.Background(), []string{"cycle", "--batch", "-"}, broken, &stdout, &stderr), &stderr)
	assert.Equal(t, incomplete, code)
	assert.Equal(t, 1, strings.Count(stdout.String(), "\n"))
	assert.Equal(t, "ampstroke: --batch: line 2 can't be read: the cable is out\n", stderr.String())
}

func TestLinesAreCountedAhead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "study.jsonl")
	require.NoError(t, os.WriteFile(path, []byte("\xef\xbb\xbf\n{}\n\n  \n"+strings.Repeat("x", 2*longestLine)+"\n[]"), 0o666))
	assert.Equal(t, 3, countLines(path))
	assert.Equal(t, -1, countLines(fromStdin))
	assert.Equal(t, -1, countLines("nowhere.jsonl"))
}

func TestBatchFromFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a study.jsonl")
	var text strings.Builder
	for turns := 18; turns < 58; turns++ {
		fmt.Fprintf(&text, "{\"motor.armature.turns\": %d, \"motor.armature.wire\": \"0.5 mm\"}\n", turns)
	}
	require.NoError(t, os.WriteFile(path, []byte(text.String()), 0o666))
	o := command(t, "cycle", "--batch", path)
	require.Zero(t, o.code, o.stderr)
	last := 1e9
	for _, l := range strings.Split(strings.TrimSpace(o.stdout), "\n") {
		var r struct {
			Rate *float64 `json:"rate_of_fire_hz"`
		}
		require.NoError(t, json.Unmarshal([]byte(l), &r))
		require.NotNil(t, r.Rate)
		assert.Less(t, *r.Rate, last, "in order: more turns, slower")
		last = *r.Rate
	}
}

func TestBatchAccuracy(t *testing.T) {
	const line = `{"motor.armature.turns": 22}` + "\n"
	_, usual := batch(t, line)
	for _, accuracy := range []float64{1e-3, 1e-5} {
		o, lines := batch(t, line, "--accuracy", fmt.Sprint(accuracy))
		require.Zero(t, o.code, o.stderr)
		a, b := usual[0]["muzzle_velocity_m_s"].(float64), lines[0]["muzzle_velocity_m_s"].(float64)
		assert.InEpsilon(t, a, b, accuracy)
		assert.NotEqual(t, a, b, "another computation")
		assert.Equal(t, usual[0]["rate_of_fire_hz"], lines[0]["rate_of_fire_hz"], "flights alone")
	}
	for _, wrong := range []string{"0", "-1", "NaN", "Inf", "0.01", "1e-13"} {
		o, _ := batch(t, line, "--accuracy", wrong)
		assert.Equal(t, 2, o.code, wrong)
		assert.Contains(t, o.stderr, "wanted 1e-12 to 1e-3", wrong)
		assert.Empty(t, o.stdout, wrong)
	}
	assert.Contains(t, command(t, "cycle", "--accuracy", "1e-4").stderr, "--batch")
}
