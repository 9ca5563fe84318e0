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

const fewReadings = `name: Bench evening
instruments: {chronograph: 1.5 %}
readings:
- {figure: no_load_speed, value: 16980 rpm ± 170 rpm, supply: 7.4 V}
- {figure: rate_of_fire, value: 21.6 /s ± 0.2 /s, times: 3}
- {figure: muzzle_velocity, value: 118 m/s ± 1.4 m/s, times: 10, instrument: chronograph}
- {figure: muzzle_velocity, value: 98.9 m/s ± 1.4 m/s, times: 10, instrument: chronograph, with: {pellet.mass: 0.28 g}}
free: [spring.rate, {key: gears.efficiency, prior: 78 % ± 6 %}, pellet.barrel_drag, motor.armature.saturation]
`

// readingsFile writes a file of readings.
func readingsFile(t *testing.T, text string) string {
	path := filepath.Join(t.TempDir(), "evening.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o666))
	return path
}

func TestFitText(t *testing.T) {
	o := command(t, "fit", file(t, demoText()), readingsFile(t, fewReadings))
	require.Zero(t, o.code, o.stderr)
	first, _, _ := strings.Cut(o.stdout, "\n")
	assert.Regexp(t, `^Readings and corrected build agree( better than their ± let one expect)? \(p = [0-9.]+\)$`, first)
	for _, part := range []string{
		"Woodland club rifle by 4 readings: Bench evening", "fitted to this model, not proved of this gun",
		"what is unknown", "gears.efficiency", "instruments.chronograph", "N/m", "1 no-load speed at 7.4 V", "not told by these readings: pellet.barrel_drag",
		"combinations of 5 unknowns.", "what the build does", "wanted at least 20 /s", "best to read next, for rate of fire", "cautions",
	} {
		tells(t, o.stdout, part)
	}
	fits(t, "fit", o.stdout)
	assert.Empty(t, o.stderr)

	o = command(t, "fit", file(t, demoText()), readingsFile(t, fewReadings), "--target", "muzzle_velocity", "--leave-out", "--robust", "--starts", "2", "--hold", "pellet.barrel_drag")
	require.Zero(t, o.code, o.stderr)
	assert.True(t, strings.HasPrefix(o.stdout, "Fitted robustly, so that there is no p"), o.stdout)
	tells(t, o.stdout, "best to read next, for muzzle velocity")
	tells(t, o.stdout, "each reading as the others predict it")
	assert.NotContains(t, o.stdout, "pellet.barrel_drag")
	fits(t, "fit, more", o.stdout)
}

// The first line says what is wrong, the exit status with --strict as well.
func TestFitInDoubt(t *testing.T) {
	build := file(t, demoText())
	twice := readingsFile(t, strings.Replace(fewReadings, "free:", "- {figure: rate_of_fire, value: 23.6 /s ± 0.2 /s, times: 3}\nfree:", 1))
	o := command(t, "fit", build, twice, "--strict")
	assert.Equal(t, missed, o.code)
	first, _, _ := strings.Cut(o.stdout, "\n\n")
	tells(t, first, "Readings and build don't agree within their ± (p = ")
	tells(t, first, "readings 2 and 5 contradict each other")
	assert.Contains(t, o.stderr, "(--strict)")
	fits(t, "fit, in doubt", o.stdout)
	assert.Zero(t, command(t, "fit", build, twice).code)
	assert.Equal(t, missed, command(t, "fit", build, readingsFile(t, fewReadings), "--strict", "--set", "target.rate_of_fire.min=30 /s").code, "the corrected build misses the target")
	assert.Zero(t, command(t, "fit", build, readingsFile(t, fewReadings), "--strict", "--set", "target={rate_of_fire: {min: 15 /s}}").code)
}

func TestFitJSON(t *testing.T) {
	o := command(t, "fit", file(t, demoText()), readingsFile(t, fewReadings), "--json", "--leave-out")
	require.Zero(t, o.code, o.stderr)
	var r struct {
		Format   int
		Build    string
		Name     string `json:"readings_name"`
		Outcome  string
		Robust   bool
		Unknowns []map[string]any
		Unseen   []string
		Fit      map[string]any
		Readings []struct {
			Figure string
			Supply *float64 `json:"supply_v"`
			With   map[string]string
		}
		Correlation [][]float64
		Singular    []float64 `json:"singular_values"`
		Together    []any
		Figures     []map[string]any
		Next        []map[string]any
		LeftOut     []any `json:"left_out"`
		Warnings    []any
		Cautions    []string
	}
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &r))
	assert.Equal(t, 1, r.Format)
	assert.Equal(t, "Woodland club rifle", r.Build)
	assert.Equal(t, "Bench evening", r.Name)
	assert.Equal(t, "converged", r.Outcome)
	require.Len(t, r.Unknowns, 5)
	for _, key := range []string{"key", "scale", "prior", "prior_sd", "value", "sd", "shift", "told_ratio", "told", "at_bound"} {
		assert.Contains(t, r.Unknowns[0], key)
	}
	for _, key := range []string{"chi2", "chi2_readings", "chi2_priors", "dof", "p", "iterations", "evaluations", "starts", "minima"} {
		assert.Contains(t, r.Fit, key)
	}
	assert.Equal(t, "instruments.chronograph", r.Unknowns[4]["key"])
	assert.NotNil(t, r.Unseen)
	require.Len(t, r.Readings, 4)
	assert.InDelta(t, 7.4, *r.Readings[0].Supply, 1e-12)
	assert.Nil(t, r.Readings[1].Supply)
	assert.Equal(t, map[string]string{"pellet.mass": "0.28 g"}, r.Readings[3].With)
	assert.Len(t, r.Correlation, 5)
	assert.Len(t, r.Singular, 4)
	assert.Len(t, r.LeftOut, 4)
	assert.Equal(t, "rate_of_fire", r.Next[0]["target"])
	assert.Equal(t, "rate_of_fire_hz", r.Figures[0]["figure"])
	assert.NotEmpty(t, r.Cautions)

	o = command(t, "fit", file(t, demoText()), readingsFile(t, fewReadings), "--json", "--robust")
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &r))
	assert.True(t, r.Robust)
	assert.Nil(t, r.Fit["p"])
}

func TestFitFiles(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	build, read := file(t, demoText()), readingsFile(t, fewReadings)
	o := command(t, "fit", build, read, "--after", at("after.yaml"), "--trace", at("steps.csv"), "--plot", at("fit.png"), "--json")
	require.Zero(t, o.code, o.stderr)
	assert.Contains(t, o.stderr, "wrote "+at("after.yaml"))
	rows, err := csv.NewReader(strings.NewReader(reading(t, at("steps.csv")))).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 2)
	assert.Equal(t, []string{"start", "step", "chi2", "damping", "spring.rate_n_m", "gears.efficiency", "pellet.barrel_drag_n", "motor.armature.saturation_t", "instruments.chronograph"}, rows[0])

	// The corrected build computes what the fit says of it.
	after := reading(t, at("after.yaml"))
	assert.Contains(t, after, "readings of evening.yaml")
	assert.GreaterOrEqual(t, strings.Count(after, "±"), 4)
	var fitted struct {
		Figures []struct {
			Figure string
			After  float64
		}
	}
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &fitted))
	var cycled map[string]any
	require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", "--json", at("after.yaml")).stdout), &cycled))
	require.NotEmpty(t, fitted.Figures)
	for _, f := range fitted.Figures {
		assert.InEpsilon(t, f.After, cycled[f.Figure], 1e-5, f.Figure)
	}

	// What is read is never written.
	for _, path := range []string{build, read} {
		before := reading(t, path)
		o := command(t, "fit", build, read, "--after", path)
		assert.Equal(t, badInput, o.code)
		assert.Equal(t, before, reading(t, path))
	}
	assert.Contains(t, command(t, "fit", build, read, "--after", read).stderr, "the file of readings is read from the same file")
	assert.Contains(t, command(t, "fit", build, read, "--after", at("after.txt")).stderr, "ends in .yaml")
	assert.Contains(t, command(t, "fit", build, read, "--after", at("after.yaml")).stderr, "replaced "+at("after.yaml"))
}

func reading(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(text)
}

func TestFitRefuses(t *testing.T) {
	build := file(t, demoText())
	for _, c := range []struct {
		name, text string
		args       []string
		want       []string
	}{
		{"typo", strings.Replace(fewReadings, "rate_of_fire", "rate_of_fun", 1), nil, []string{"evening.yaml:5:12: readings.1.figure: no figure is called", "did you mean rate_of_fire?"}},
		{"no such figure here", strings.Replace(fewReadings, "rate_of_fire, value: 21.6 /s ± 0.2 /s", "overspin, value: 90 deg ± 9 deg", 1), nil, []string{"evening.yaml:5:12: readings.1.figure: overspin doesn't exist"}},
		{"hold", fewReadings, []string{"--hold", "spring.rat"}, []string{"--hold spring.rat: is no unknown of this fit; did you mean spring.rate?"}},
		{"target", fewReadings, []string{"--target", "loudness"}, []string{"--target loudness: neither a figure nor an unknown"}},
		{"starts", fewReadings, []string{"--starts", "0"}, []string{"--starts: 0 is out of range"}},
		{"trace", fewReadings, []string{"--trace", "x.txt"}, []string{"ends in .csv"}},
		{"empty target", fewReadings, []string{"--target", ""}, []string{"--target: is empty"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := command(t, append([]string{"fit", build, readingsFile(t, c.text), "--json"}, c.args...)...)
			assert.Equal(t, badInput, o.code)
			assert.Empty(t, o.stdout)
			for _, w := range c.want {
				assert.Contains(t, o.stderr, w)
			}
		})
	}
	assert.Equal(t, badInput, command(t, "fit", build).code)
	assert.Contains(t, command(t, "fit", build).stderr, "1 files are given; wanted a build file and a file of readings")
	assert.Contains(t, command(t, "fit", build, "nowhere.yaml").stderr, "nowhere.yaml: there is no such file")
	assert.Contains(t, command(t, "fit", build, build).stderr, "motor: no such key; known here: name, instruments, readings")
}

// A build from standard input is as good.
func TestFitFromStdin(t *testing.T) {
	o := commandOn(t, demoText(), "fit", "-", readingsFile(t, fewReadings), "--json")
	assert.Zero(t, o.code, o.stderr)
}
