package main

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// loose are tolerances of the demo, few enough for a test.
var loose = []string{"--set", "spring.rate=730 N/m ± 4 %", "--set", "piston.drag=3 N ± 30 %", "--set", "pellet.hop_force=1 N ± 20 %"}

func spreadArgs(more ...string) []string {
	return append(append([]string{"spread", "--draws", "128"}, loose...), more...)
}

// lightSpread asks it of a demo that costs less.
func lightSpread(t *testing.T, more ...string) []string {
	args := spreadArgs(more...)
	return append([]string{args[0], lightDemo(t)}, args[1:]...)
}

func TestSpreadText(t *testing.T) {
	o := command(t, spreadArgs("--draws", "256")...)
	require.Zero(t, o.code, o.stderr)
	assert.Empty(t, o.stderr)
	first, _, _ := strings.Cut(o.stdout, "\n\n")
	assert.Regexp(t, `^\d+ of 1000 such guns meet the wish, \d+ stay whole; spring\.rate decides most of it; the plan below brings it to \d+ of 100$`, unbroken(first))
	for _, part := range []string{
		"of 1000 such guns, by 95 %", "at least 20 /s", "figures: so many per cent lie below", "what decides whether a gun is sound",
		"what drives the muzzle velocity", "from shot to shot of one gun", "what brings it to 95 of 100", "plan: spring.rate", "fired: ",
		"spring.rate 730 N/m ± 29.2 N/m", "pellet.hop_force 1 N ± 0.2 N from shot to shot", "independently of each other", "cautions",
	} {
		tells(t, o.stdout, part)
	}
	assert.NotContains(t, o.stdout, "typical", "tolerances are stated")
	assert.NotContains(t, o.stdout, "NaN")
	fits(t, "spread", o.stdout)

	o = command(t, "spread", "--draws", "128", "--drivers", "0", "--reach", "0")
	require.Zero(t, o.code, o.stderr)
	tells(t, o.stdout, "typical tolerances are judged from memory, by no source")
	assert.NotContains(t, o.stdout, "what drives")
	assert.NotContains(t, o.stdout, "what brings it")
	fits(t, "spread", o.stdout)
	for _, args := range [][]string{
		lightSpread(t, "--set", "target="), lightSpread(t, "--set", "target.muzzle_velocity={min: 900 m/s}"),
		lightSpread(t, "--set", "trigger.mode=single", "--set", "target.rate_of_fire="), lightSpread(t, "--set", "pellet.diameter=6.03 mm ± 0.06 mm", "--reach", "99.5"),
		lightSpread(t, "--set", "harness.fuse.rating=15 A"), {"spread", "--help"},
	} {
		o := command(t, args...)
		require.Zero(t, o.code, o.stderr)
		assert.NotContains(t, o.stdout, "NaN")
		fits(t, strings.Join(args, " "), o.stdout)
	}
	o = command(t, lightSpread(t, "--set", "spring.rate=4000 N/m ± 10 %")...)
	require.Zero(t, o.code, o.stderr)
	assert.NotContains(t, o.stdout, "NaN")
	fits(t, "spread, stalled", o.stdout)
	assert.True(t, strings.HasPrefix(o.stdout, "As it stands in the file, the build stalls.\n"), "it is said first")
}

// The document has its keys whatever is asked, null where there is nothing.
func TestSpreadJSON(t *testing.T) {
	type document struct {
		Format, Draws, Replicates, Seed, Evaluations int
		Build                                        string
		Tolerances                                   []map[string]any
		Meets, Sound                                 map[string]float64
		Wants, Failures, Warnings, Misfits           []map[string]any
		Figures                                      []map[string]any
		Drivers                                      map[string][]map[string]any
		Correlation                                  struct {
			Figures []string
			Matrix  [][]*float64
		}
		Reach           map[string]any
		WarningsOfBuild []map[string]any `json:"warnings_of_build"`
	}
	read := func(args ...string) (d document) {
		t.Helper()
		o := command(t, append(args, "--json")...)
		require.Zero(t, o.code, o.stderr)
		assert.Empty(t, o.stderr)
		require.NoError(t, json.Unmarshal([]byte(o.stdout), &d))
		return d
	}
	d := read(spreadArgs("--figure", "time_to_home", "--seed", "4")...)
	assert.Equal(t, []int{1, 128, 8, 4}, []int{d.Format, d.Draws, d.Replicates, d.Seed})
	require.Len(t, d.Tolerances, 3)
	for _, key := range []string{"key", "value", "sd", "low", "high", "typical", "whole"} {
		assert.Contains(t, d.Tolerances[0], key)
	}
	assert.InDelta(t, .6, d.Tolerances[0]["sd"].(float64)+d.Tolerances[1]["sd"].(float64)-730*.02+.15, 1e-9, "half of what stands behind ±")
	for _, key := range []string{"share", "se", "low", "high"} {
		assert.Contains(t, d.Meets, key)
		assert.Contains(t, d.Wants[0], key)
	}
	require.Len(t, d.Figures, 11)
	for _, key := range []string{"figure", "exists", "mean", "mean_se", "sd", "sd_se", "percentiles", "percentile_se", "shot_sd", "gun_sd", "drivers"} {
		assert.Contains(t, d.Figures[0], key)
	}
	assert.Equal(t, "time_to_home_s", d.Figures[10]["figure"])
	require.Len(t, d.Drivers["sound"], 3)
	assert.Len(t, d.Correlation.Matrix, 11)
	for _, key := range []string{"goal", "surrogate", "alone", "all_alike", "plan"} {
		assert.Contains(t, d.Reach, key)
	}
	assert.NotEmpty(t, d.WarningsOfBuild)

	d = read(spreadArgs("--drivers", "0", "--reach", "0")...)
	assert.Equal(t, 128, d.Evaluations)
	assert.Nil(t, d.Reach)
	assert.Nil(t, d.Figures[0]["drivers"])
	assert.Nil(t, d.Figures[0]["shot_sd"])
	assert.Empty(t, d.Drivers["meets"])
	assert.NotNil(t, d.Drivers["meets"])
	d = read(spreadArgs("--set", "piston.drag=3 N ± 0 %", "--tolerance", "spring.rate=± 0", "--reach", "0")...)
	require.Len(t, d.Tolerances, 1)
	for i, row := range d.Correlation.Matrix { // hop acts on no current
		if d.Correlation.Figures[i] == "current_rms_a" {
			assert.Nil(t, row[i])
		}
	}
}

// What can't be asked is bad input, said with its word, and nothing is printed.
func TestSpreadRefuses(t *testing.T) {
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"--draws", "1000"}, "--draws: 1000 is no power of two times 8; wanted 512 or 1024"},
		{[]string{"--draws", "64"}, "wanted 128"},
		{[]string{"--drivers", "100"}, "--drivers: 100"},
		{[]string{"--reach", "100"}, "--reach: 100 %"},
		{[]string{"--reach", "-1"}, "--reach"},
		{[]string{"--typical=false"}, "no key of the build varies"},
		{[]string{"--tolerance", "nonsense=± 1 %"}, "nonsense"},
		{[]string{"--tolerance", "battery.chemistry=± 1 %"}, "battery.chemistry"},
		{[]string{"--tolerance", "spring.rate"}, "wanted key.path=± y"},
		{[]string{"--figure", "nonsense"}, "nonsense: is no figure"},
		{[]string{"--figure", "winding_peak"}, "firing plan"},
		{[]string{"--each-shot", "gears.ratio"}, "gears.ratio"},
		{[]string{"--set", "trigger.mode=single"}, "single fire has no rate of fire"},
		{[]string{"--draws", "128", "--typical=false", "--tolerance", "piston.mass=1e12 %"}, "none of the draws gives a build that can be: piston.mass"},
		{[]string{"--trace", "a.txt"}, "--trace"},
		{[]string{"--plot", "a.gif"}, "--plot"},
		{[]string{"no-such.yaml"}, "no-such.yaml"},
	} {
		o := command(t, append([]string{"spread", "--json"}, c.args...)...)
		assert.Equal(t, badInput, o.code, c.says)
		assert.Empty(t, o.stdout)
		tells(t, o.stderr, c.says)
	}
}

func TestSpreadStrict(t *testing.T) {
	o := command(t, lightSpread(t, "--strict")...)
	assert.Equal(t, missed, o.code)
	assert.NotEmpty(t, o.stdout, "the result is told all the same")
	assert.Regexp(t, `such guns are sound; 95 are wanted`, o.stderr)
	assert.Zero(t, command(t, lightSpread(t, "--strict", "--set", "target=", "--reach", "10")...).code)
}

// Files, and the same bytes of the same seed.
func TestSpreadFiles(t *testing.T) {
	dir := t.TempDir()
	trace, plot := filepath.Join(dir, "guns.csv"), filepath.Join(dir, "guns.svg")
	o := command(t, lightSpread(t, "--trace", trace, "--plot", plot, "--json")...)
	require.Zero(t, o.code, o.stderr)
	assert.Equal(t, "wrote "+plot+"\nwrote "+trace+"\n", o.stderr)
	f, err := os.Open(trace)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 129)
	assert.Equal(t, []string{"replicate", "point", "piston.drag_n", "spring.rate_n_m", "pellet.hop_force_n"}[:2], rows[0][:2])
	again := command(t, lightSpread(t, "--json")...)
	assert.Equal(t, o.stdout, again.stdout)
	assert.NotEqual(t, o.stdout, command(t, lightSpread(t, "--json", "--seed", "2")...).stdout)
}
