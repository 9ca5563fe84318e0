package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The text's figures are those of testdata/reference/full/demo-single.json, but the next
// shot's, which no second program has computed.
func TestSingleText(t *testing.T) {
	o := command(t, "cycle", "--set", "trigger.mode=single")
	assert.Zero(t, o.code)
	for _, text := range []string{
		"single fire, 1 shot, at rest after 82 ms", "trigger delay  52.58 ms", "stop angle    91.20 °   of the sector, in the pull phase", "overspin      189.2 °",
		"spring left   0.750 J", "the next shot", "trigger delay  41.32 ms", "quickest stop  253.7 °", "where the pull's energy goes", "single fire has no such figure",
	} {
		tells(t, o.stdout, text)
	}
	for _, text := range []string{"NaN", "PME", "rate of fire  ", "current, mean"} {
		assert.NotContains(t, o.stdout, text)
	}
}

func TestSingleJSON(t *testing.T) {
	var j struct {
		Mode, Outcome string
		Rate          *float64 `json:"rate_of_fire_hz"`
		Delay         float64  `json:"trigger_delay_s"`
		Overspin      float64  `json:"overspin_rad"`
		Angle         float64  `json:"stop_angle_rad"`
		Phase         string   `json:"stop_phase"`
		Rest          float64  `json:"time_to_rest_s"`
		Second        *bool    `json:"second_shot"`
		Pull          struct {
			Rounds int
			Shots  []map[string]*float64
		}
		Next map[string]any `json:"next_shot"`
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", "--json", "--set", "trigger.mode=single").stdout), &j))
	assert.Equal(t, "single", j.Mode)
	assert.Equal(t, "single", j.Outcome)
	assert.Nil(t, j.Rate)
	assert.Greater(t, sameAs(t, "full/demo-single.json", figuresOf(t, "cycle", "--set", "trigger.mode=single"), "build", "commutation"), 40)
	assert.Greater(t, sameAs(t, "full/demo-braking.json", figuresOf(t, "cycle", "--set", "trigger.mode=single", "--set", "harness.switch.mosfet.active_braking=true"), "build", "commutation"), 40)
	assert.Equal(t, "pull", j.Phase)
	assert.Positive(t, j.Delay)
	assert.Less(t, j.Delay, j.Rest, "the pull ends behind its shot")
	require.NotNil(t, j.Second)
	assert.False(t, *j.Second)
	assert.Len(t, j.Pull.Shots, 1)
	assert.Less(t, j.Next["trigger_delay_s"], j.Delay)

	var early struct {
		Delay  *float64 `json:"trigger_delay_s"`
		Second *bool    `json:"second_shot"`
		Flight any
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", "--json", "--set", "trigger.mode=single", "--set", "trigger.cutoff=60 deg").stdout), &early))
	assert.Nil(t, early.Delay)
	assert.False(t, *early.Second)
	assert.Nil(t, early.Flight)

	var auto struct {
		Phase  *string `json:"stop_phase"`
		Second *bool   `json:"second_shot"`
		Pull   any
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", "--json").stdout), &auto))
	assert.Nil(t, auto.Phase)
	assert.Nil(t, auto.Second)
	assert.Nil(t, auto.Pull)
	burst := command(t, "cycle", "--set", "trigger.rounds=3")
	assert.Contains(t, burst.stdout, "shots fired   3 ")
}

func TestSinglePictures(t *testing.T) {
	dir := t.TempDir()
	one, delays := filepath.Join(dir, "one.svg"), filepath.Join(dir, "delays.svg")
	o := command(t, "cycle", "--set", "trigger.mode=single", "--set", "harness.switch.mosfet.active_braking=true", "--plot", one, "--delays", delays, "--trace", filepath.Join(dir, "one.csv"))
	require.Zero(t, o.code)
	for path, texts := range map[string][]string{
		one:    {"single: 1 shot", "switch opens", "brake", "shaft stops", "muzzle", "from closing the switch to rest"},
		delays: {"1 cell in series", "3 cells in series", "state of charge, %", "stops here, 315°", "release 254°"},
	} {
		svg, err := os.ReadFile(path)
		require.NoError(t, err)
		for _, text := range texts {
			assert.Contains(t, string(svg), text)
		}
		assert.NotContains(t, string(svg), "NaN")
	}
	assert.FileExists(t, filepath.Join(dir, "one.csv"))
	held := command(t, "cycle", "--delays", delays)
	assert.Zero(t, held.code)
	assert.Contains(t, held.stderr, "replaced "+delays)
	burst := filepath.Join(dir, "burst.svg")
	assert.Zero(t, command(t, "cycle", "--set", "trigger.rounds=3", "--pull", burst).code)
	svg, err := os.ReadFile(burst)
	require.NoError(t, err)
	assert.Contains(t, string(svg), "burst of 3: 3 shots")
	none := command(t, "cycle", "--pull", burst)
	assert.Equal(t, badInput, none.code)
	assert.Contains(t, none.stderr, "there is no pull to draw")
	clash := command(t, "cycle", "--delays", delays, "--flight", filepath.Join(dir, ".", "x", "..", "delays.svg"))
	assert.Equal(t, badInput, clash.code)
}

func TestCompareSingles(t *testing.T) {
	paths := variants(t, []string{"trigger.mode=single"}, []string{"trigger.mode=single", "harness.switch.mosfet.active_braking=true"}, nil)
	o := command(t, "compare", paths[0], paths[1], paths[2], "--plot", filepath.Join(t.TempDir(), "c.png"))
	require.Zero(t, o.code)
	// Both columns are those of demo-single.json and demo-braking.json in testdata/reference/full.
	assert.Regexp(t, `time to rest +82\.13 ms +87\.43 ms \(\+6\.5 %\) +-\n`, o.stdout)
	assert.Regexp(t, `overspin +189\.2 ° +52\.80 ° \(-72\.1 %\) +-\n`, o.stdout)
	assert.Regexp(t, `brake current +- +\d+\.\d+ A +-\n`, o.stdout)
}
