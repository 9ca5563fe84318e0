package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

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
{"spring.rate": "2400 N/m", "harness.switch.mosfet.active_braking": true, "harness.fuse": null}
`, "--set", "pellet.mass=0.25 g")
	require.Zero(t, o.code, o.stderr)
	require.Len(t, lines, 4)
	for i, sets := range [][]string{
		{"motor.armature.turns=22"}, {"battery.series=3", "trigger.mode=single"}, {}, {"spring.rate=2400 N/m", "harness.switch.mosfet.active_braking=true", "harness.fuse="},
	} {
		args := []string{"cycle", "--json", "--set", "pellet.mass=0.25 g"}
		for _, s := range sets {
			args = append(args, "--set", s)
		}
		var alone map[string]any
		require.NoError(t, json.Unmarshal([]byte(command(t, args...).stdout), &alone))
		for key, v := range alone {
			if key != "cautions" && key != "next_shot" {
				assert.Equal(t, v, lines[i][key], "line %d, %s", i+1, key)
			}
		}
	}
	assert.Equal(t, []any{1., 2., 4., 5.}, []any{lines[0]["line"], lines[1]["line"], lines[2]["line"], lines[3]["line"]}, "numbered as in the file")
}

func TestBatchPassesOverBadLines(t *testing.T) {
	o, lines := batch(t, "{\"motor.armature.turns\": 20}\n{\"motor.armature.tunrs\": 20}\nnonsense\n{\"a\": {\"b\": 1}}\n[1]\n{} {}\n{\"pellet.mass\": \"0.3\"}\n{\"motor.armature.turns\": 24}\n")
	assert.Equal(t, badInput, o.code)
	require.Len(t, lines, 8)
	for i, want := range []string{"", "did you mean turns?", "is no JSON object", "holds no single value", "wanted an object", "more than one value", "is a bare number", ""} {
		if want == "" {
			assert.Nil(t, lines[i]["error"])
			assert.NotNil(t, lines[i]["rate_of_fire_hz"])
			continue
		}
		assert.Contains(t, lines[i]["error"], want)
		assert.Contains(t, o.stderr, fmt.Sprintf("line %d:", i+1))
	}
	assert.Contains(t, o.stderr, "6 lines could not be used")
	o, _ = batch(t, strings.Repeat("x", longestLine+10))
	assert.Equal(t, badInput, o.code)
	assert.Contains(t, o.stderr, "longer than")
	o, lines = batch(t, "")
	assert.Zero(t, o.code)
	assert.Empty(t, lines)
	assert.Equal(t, badInput, command(t, "cycle", "--batch", "nowhere.jsonl").code)
	assert.Equal(t, badInput, command(t, "cycle", "--batch", "-", "--plot", "a.png").code)
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
