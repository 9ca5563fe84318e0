package main

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestVaryText(t *testing.T) {
	o := command(t, "cycle", "--vary", "motor.armature.turns=20..32", "--show", "rate_of_fire,muzzle_velocity,pme_margin")
	require.Zero(t, o.code, o.stderr)
	fits(t, "--vary", o.stdout)
	tells(t, o.stdout, "Woodland club rifle: 13 values of motor.armature.turns; 5 meet the target without a fault")
	assert.Regexp(t, `(?m)^  turns  rate of fire  muzzle velocity  PME margin$`, o.stdout)
	assert.Regexp(t, `(?m)^  22 !   24\.73 /s      120\.1 m/s        -0\.132 ms$`, o.stdout)
	assert.Regexp(t, `(?m)^  25     22\.02 /s      119\.7 m/s        1\.12 ms$`, o.stdout)
	assert.Regexp(t, `(?m)^  28     19\.84 /s !    119\.5 m/s        2\.32 ms$`, o.stdout)

	three := command(t, "cycle", "--vary", "motor.armature.turns=24..25", "--vary", "gears.ratio=10,12", "--vary", "spring.rate=700..750 N/m:3")
	require.Zero(t, three.code, three.stderr)
	fits(t, "--vary, three keys", three.stdout)
	tells(t, three.stdout, "2 values of motor.armature.turns and 2 values of gears.ratio and 3 values of spring.rate, 12 builds")
	assert.Equal(t, 12*4, strings.Count(three.stdout, " N/m "), "each block of columns has the values")

	single := command(t, "cycle", "--set", "trigger.mode=single", "--vary", "battery.series=2,3")
	require.Zero(t, single.code, single.stderr)
	assert.NotContains(t, single.stdout, "PME margin")
}

// JSON and CSV have what cycle says of each build.
func TestVaryJSONAndCSV(t *testing.T) {
	dir := t.TempDir()
	table := filepath.Join(dir, "sweep.csv")
	r := figuresOf(t, "cycle", "--vary", "battery.series=2,3", "--vary", "gears.ratio=12..14 by 2", "--trace", table)
	assert.Equal(t, []any{"rate_of_fire_hz", "muzzle_velocity_m_s"}, r["figures"].([]any)[:2], "the target's first")
	points := r["points"].([]any)
	require.Len(t, points, 4)
	data, err := os.ReadFile(table)
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(string(data))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	assert.Equal(t, []string{"battery.series", "gears.ratio", "rate_of_fire_hz", "muzzle_velocity_m_s"}, rows[0][:4])
	assert.Equal(t, []string{"target_met", "faults"}, rows[0][len(rows[0])-2:])
	for i, p := range points {
		p := p.(map[string]any)
		v := p["values"].([]any)
		one := figuresOf(t, "cycle", "--set", fmt.Sprintf("battery.series=%v", v[0]), "--set", fmt.Sprintf("gears.ratio=%v", v[1]))
		for k, name := range rows[0][2 : len(rows[0])-2] {
			got := p["figures"].(map[string]any)[name].(float64)
			assert.InEpsilon(t, one[name], got, 1e-12, name)
			cell, err := strconv.ParseFloat(rows[i+1][2+k], 64)
			require.NoError(t, err)
			assert.InEpsilon(t, got, cell, 1e-11)
		}
		for k, verdict := range one["verdict"].([]any) {
			assert.Equal(t, verdict.(map[string]any)["ok"], p["verdict"].([]any)[k].(map[string]any)["ok"])
		}
		var faults []any
		for _, f := range one["findings"].([]any) {
			if f := f.(map[string]any); f["weight"] == "fault" {
				faults = append(faults, f["code"])
			}
		}
		assert.ElementsMatch(t, faults, p["faults"])
	}
}

func TestVaryPictures(t *testing.T) {
	dir := t.TempDir()
	for name, args := range map[string][]string{
		"lines": {"--vary", "battery.series=2..4"}, "map": {"--vary", "battery.series=2..4", "--vary", "gears.ratio=10,12,14"},
	} {
		path := filepath.Join(dir, name+".svg")
		o := command(t, append([]string{"cycle", "--plot", path, "--show", "rate_of_fire"}, args...)...)
		require.Zero(t, o.code, o.stderr)
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Contains(t, string(data), "battery.series")
		assert.Contains(t, string(data), "rate of fire, /s")
	}
	path := filepath.Join(dir, "three.svg")
	o := command(t, "cycle", "--plot", path, "--vary", "battery.series=2,3", "--vary", "gears.ratio=10,12", "--vary", "spring.rate=600,700 N/m")
	assert.Equal(t, badInput, o.code)
	assert.Contains(t, o.stderr, "3 keys are more than a picture has sides")
	assert.NoFileExists(t, path)
}

func TestVaryRefuses(t *testing.T) {
	for _, c := range []struct {
		says string
		args []string
	}{
		{"did you mean", []string{"--vary", "gears.rato=10,12"}},
		{"is a word", []string{"--vary", "trigger.mode=single"}},
		{"bare number", []string{"--vary", "spring.rate=600..800:9"}},
		{"is named twice", []string{"--vary", "gears.ratio=10,12", "--vary", "gears.ratio=11,13"}},
		{"more than 10000 combinations", []string{"--vary", "gears.ratio=10..12:200", "--vary", "spring.rate=600..700 N/m:200"}},
		{"wanted at most 3", []string{"--vary", "gears.ratio=10,12", "--vary", "spring.rate=600 N/m", "--vary", "battery.series=2,3", "--vary", "motor.armature.turns=20,21"}},
		{"did you mean rate_of_fire?", []string{"--vary", "gears.ratio=10,12", "--show", "rate_of_fir"}},
		{"is there twice", []string{"--vary", "gears.ratio=10,12", "--show", "rate_of_fire,rate_of_fire"}},
		{"wanted --vary", []string{"--show", "rate_of_fire"}},
		{"goes with", []string{"--vary", "gears.ratio=10,12", "--explain"}},
		{"goes with", []string{"--vary", "gears.ratio=10,12", "--batch", "x.jsonl"}},
		{"figure of a firing plan", []string{"--vary", "gears.ratio=10,12", "--show", "winding_peak"}},
		{"ask", []string{"--vary", "target.rate_of_fire.min=20 /s"}},
	} {
		o := command(t, append([]string{"cycle"}, c.args...)...)
		assert.Equal(t, badInput, o.code, c.args)
		assert.Contains(t, o.stderr, c.says)
		assert.Empty(t, o.stdout)
	}
}

// What can't be used together has its line and the exit status of bad input; --strict asks
// for one that is good.
func TestVaryStatus(t *testing.T) {
	o := command(t, "cycle", "--vary", "barrel.bore=5.9,6.05 mm", "--show", "muzzle_velocity")
	assert.Equal(t, badInput, o.code)
	assert.Contains(t, o.stderr, "1 combination of values could not be used together")
	assert.Regexp(t, `(?m)^  5\.9 mm   -$`, o.stdout)
	assert.Contains(t, o.stdout, "5.9 mm: ")
	assert.Zero(t, command(t, "cycle", "--strict", "--vary", "motor.armature.turns=20,25").code)
	assert.Equal(t, missed, command(t, "cycle", "--strict", "--vary", "motor.armature.turns=20,30").code)
}
