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

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/quantity"
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
// Lines that share a gun, or differ in the spring's rate alone, have their flights read off.
// Their figures are those of the line by itself, to the accuracy asked for; bad lines in
// between change nothing, nor do the cores.
func TestBatchSharesGuns(t *testing.T) {
	var input strings.Builder
	var sets []string
	for i := range 240 {
		set := fmt.Sprintf(`{"motor.armature.turns": %d, "gears.ratio": %.2f}`, 22+i%9, 10+0.01*float64(i))
		if i >= 60 {
			set = fmt.Sprintf(`{"motor.armature.turns": %d, "spring.rate": "%.1f N/m"}`, 22+i%9, 640+0.1*float64(i))
		}
		if i%17 == 5 {
			set = `{"motor.armature.turns": 0}`
		}
		sets = append(sets, set)
		fmt.Fprintln(&input, set)
	}
	o, lines := batch(t, input.String())
	require.Equal(t, 2, o.code, "some are bad")
	require.Len(t, lines, len(sets))
	read := 0
	for _, i := range []int{3, 30, 48, 59, 150, 203, 239} {
		_, alone := batch(t, sets[i])
		for key, v := range alone[0] {
			switch v := v.(type) {
			case float64:
				got := lines[i][key]
				if key == "pme_margin_s" {
					assert.InDelta(t, v, got, 1e-8, "line %d", i+1)
				} else if key != "line" {
					assert.InEpsilon(t, v, got, 2e-6, "line %d, %s", i+1, key)
					if got != v {
						read++
					}
				}
			case nil:
				assert.Nil(t, lines[i][key], "line %d, %s", i+1, key)
			}
		}
	}
	assert.Greater(t, read, 10, "figures that are read off differ in their last digits")
	cores := runtime.GOMAXPROCS(1)
	few, _ := batch(t, input.String())
	runtime.GOMAXPROCS(8)
	many, _ := batch(t, input.String())
	runtime.GOMAXPROCS(cores)
	assert.Equal(t, o.stdout, few.stdout)
	assert.Equal(t, o.stdout, many.stdout)
}

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

// What comes to no end is no bad input; a batch with both is a bad one. No build is
// known any more whose simulation comes to no end, so that its error is made here.
func TestBatchStatus(t *testing.T) {
	end, fault := fmt.Errorf("cycle of %q: %w within 1 steps", "x", cycle.ErrUnfinished), &quantity.Fault{Field: "gears.ratio", Text: "0 is out of range"}
	for _, c := range []struct {
		name string
		add  func(*batchFaults)
		code int
		want string
	}{
		{"all good", func(*batchFaults) {}, 0, ""},
		{"a line that can't be read", func(f *batchFaults) { f.add(errors.New("nonsense"), true) }, badInput, "ampstroke: --batch: 1 line could not be used\n"},
		{"a build that can't be", func(f *batchFaults) { f.add(errors.Join(fault), false) }, badInput, "ampstroke: --batch: 1 line could not be used\n"},
		{"unfinished", func(f *batchFaults) { f.add(end, false); f.add(end, false) }, incomplete, "ampstroke: --batch: the simulation of 2 lines came to no end\n"},
		{"both", func(f *batchFaults) { f.add(end, false); f.add(fault, true) }, badInput, "ampstroke: --batch: 1 line could not be used, and the simulation of 1 line came to no end\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var f batchFaults
			c.add(&f)
			var stderr bytes.Buffer
			assert.Equal(t, c.code, status(f.err(), &stderr))
			assert.Equal(t, c.want, stderr.String())
		})
	}
	o, lines := batch(t, "{}\nnonsense\n{}\n")
	assert.Equal(t, badInput, o.code)
	assert.True(t, strings.HasSuffix(o.stderr, "1 line could not be used\n"), o.stderr)
	require.Len(t, lines, 3, "all lines are gone through")
	assert.NotNil(t, lines[2]["outcome"])
	hunts, lines := batch(t, "{\"motor.armature.inductance\": \"60 mH\"}\n")
	assert.Zero(t, hunts.code, "a gun that hunts is a result")
	assert.NotNil(t, lines[0]["rate_of_fire_hz"])
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
