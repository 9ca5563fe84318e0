package main

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plan writes a plan file and returns its path.
func plan(t *testing.T, text string) string {
	path := filepath.Join(t.TempDir(), "my plan.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o666))
	return path
}

// thinLeads give out first.
var thinLeads = []string{"--set", "harness.lead.gauge=24 AWG", "--set", "harness.lead.insulation=PVC"}

const longPulls = "name: Long pulls\nsteps: [{rounds: 200, pause: 5 s, repeat: 3, fresh_pack: true}]\n"

// Inrush and rate of fire are those of testdata/reference/full/demo.json, but that the
// rate is one of a burst of ten; the drops follow by 7.90 and 1.95 mohm. The room of heat
// holds temperatures against a second program's.
func TestHeatText(t *testing.T) {
	o := command(t, "heat")
	assert.Zero(t, o.code)
	for _, text := range []string{
		"Woodland club rifle, Woodland morning: 400 rounds in 7.8 min, all of the plan", "part        start  peak      after", "winding     20 °C  34.1 °C   2.2 min  155 °C",
		"fuse        20 °C  128.6 °C", "no part reaches its limit in this plan; the fuse comes nearest, with 27 % of the way", "rate of fire, first  22.00 /s",
		"rate of fire, last   21.52 /s", "(-2.2 %)", "charge left          83.2 %", "if the motor stalls", "current  87.40 A", "winding  4.2 s    to 155 °C", "fuse     85 ms    to blow at that current; 85 ms as it falls",
		"junction, hottest  33.3 °C", "voltage drop  0.60 V", "voltage, closed    147 mV", "current, peak        75.30 A", "carries       39.7 A", "most in the plan   28 %", "from the rounds     984.8 J", "get hot", "Lithium packs burn", "ASTM F2879",
	} {
		tells(t, o.stdout, text)
	}
	tidy(t, o)
	assert.Zero(t, command(t, "heat", "--strict").code)
	assert.NotContains(t, command(t, "heat", "--set", "harness.fuse=").stdout, "fuse is left in")
	assert.Zero(t, command(t, "heat", "--plan", plan(t, "{ambient: -60 degC, steps: [{rounds: 1, pause: 1 s}]}")).code, "the bound itself")
}

// tidy holds a text of the command against what all keep to.
func tidy(t *testing.T, o outcome) {
	t.Helper()
	for _, word := range []string{"NaN", "Inf", "null", "safely", "is safe"} {
		assert.NotContains(t, o.stdout+o.stderr, word)
	}
	for _, line := range strings.Split(o.stdout+o.stderr, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 130, line)
	}
}

func TestHeatWhatGivesOut(t *testing.T) {
	args := append([]string{"heat", "--plan", plan(t, longPulls), "--strict"}, thinLeads...)
	o := command(t, args...)
	assert.Equal(t, missed, o.code)
	tells(t, o.stdout, "first to give out: the leads reach their limit of 70 °C after 7.5 s, in round 145. Cure:")
	assert.Regexp(t, `leads +20 °C .* 70 °C +\d+ % +7\.5 s +145 +<- first`, o.stdout)
	assert.Regexp(t, `\nFAULT: the leads reach(?s:.*?)\s\[leads-limit\]`, o.stdout)
	assert.Regexp(t, `\ncaution: if the motor stalls(?s:.*?)\s\[stall-fuse\]`, o.stdout)
	tidy(t, o)

	hot := command(t, "heat", "--plan", plan(t, "{ambient: 80 degC, steps: [{rounds: 1}]}"), "--strict")
	assert.Equal(t, missed, hot.code)
	tells(t, hot.stdout, "first to give out: the magnets reach their limit of 80 °C before the first round")
	assert.Regexp(t, `pack +80 °C +80.0 °C +82 ms +60 °C +- +at once +0\n`, hot.stdout, "no share of a way that lies behind")
	assert.Contains(t, hot.stdout, "\nFAULT: the pack reaches 60 °C before the first round")
	tidy(t, hot)

	contacts := command(t, "heat", "--set", "harness.switch.contacts={material: copper, force: 0.02 N, hardness: 0.9 GPa}")
	assert.Regexp(t, `switch .* 190 °C +\d+ % +at once +1 +<- first\n`, contacts.stdout)
	assert.NotRegexp(t, ` 0 ms`, contacts.stdout)

	stall := command(t, "heat", "--set", "spring.rate=4000 N/m", "--strict")
	assert.Contains(t, stall.stdout, "no round is fired, so that nothing warms")
	assert.Equal(t, missed, stall.code)
	assert.Contains(t, stall.stdout, "0 rounds in 0 ms, then the motor stalls")
	assert.Regexp(t, `\nFAULT: (?s:.*)\s\[stall\]`, stall.stdout)
	tidy(t, stall)

	fuse := command(t, "heat", "--set", "harness.fuse.rating=8 A", "--set", "harness.fuse.melting=64 A2 s", "--strict")
	assert.Equal(t, missed, fuse.code)
	assert.Contains(t, fuse.stdout, "then the fuse blows")
	assert.Contains(t, fuse.stdout, "first to give out: the fuse blows after")
	assert.Regexp(t, `\nFAULT: the fuse blows(?s:.*)\s\[fuse-nuisance\]`, fuse.stdout)
	tidy(t, fuse)

	empty := command(t, "heat", "--set", "battery.state_of_charge=5 %", "--strict")
	assert.Equal(t, missed, empty.code)
	tells(t, empty.stdout, "then the pack is at its cut-off")
	tidy(t, empty)

	bare := command(t, "heat", "--set", "harness.fuse=", "--set", "harness.connectors=", "--set", "harness.switch.contacts={material: copper, force: 1.5 N}")
	assert.Zero(t, bare.code)
	assert.Regexp(t, `fuse +none in this build`, bare.stdout)
	assert.Regexp(t, `connectors +none in this build`, bare.stdout)
	assert.Contains(t, bare.stdout, "switch: contacts of copper")
	assert.Contains(t, bare.stdout, "melting voltage")
	assert.Regexp(t, `(?s)there is\s+no fuse`, bare.stdout)
	assert.Empty(t, bare.stderr, "findings are part of the result")
	tidy(t, bare)

	melting := command(t, "heat", "--set", "harness.switch.contacts={material: copper, force: 0.005 N}", "--set", "battery.series=3")
	assert.Contains(t, melting.stdout, "[contact-melting]")
	arc := command(t, "heat", "--set", "harness.switch.contacts={material: silver, force: 2 N}", "--set", "battery.series=5", "--set", "trigger.cutoff=20 deg",
		"--plan", plan(t, "steps: [{rounds: 1, pause: 1 s}]"))
	assert.Contains(t, arc.stdout, "[standing-arc]")
	assert.Regexp(t, `arc +stands`, arc.stdout)
	tidy(t, arc)
}

// The keys of the interface, in its order, and behind them our own.
var heatKeys = []string{
	"format", "build", "plan", "outcome", "rounds", "rounds_asked", "duration_s", "rate_of_fire_first_hz", "rate_of_fire_last_hz",
	"release_first_s", "release_last_s", "state_of_charge_end", "first_to_give_out", "parts", "heat_j",
	"end_degc", "solves", "reused", "cure", "ambient_degc", "rounds_per_charge", "pull_mean_current_a", "pull_rms_current_a", "current_peak_a", "pack_rated_a",
	"fuse_share", "fuse_start_share", "leads", "remanence_lost", "demagnetisation_margin", "switch", "stalled", "warnings", "findings", "cautions",
}

type heatJSON struct {
	Outcome string
	Rounds  int
	Rate    *float64 `json:"rate_of_fire_first_hz"`
	First   *string  `json:"first_to_give_out"`
	Parts   []struct {
		Name   string
		Start  *float64 `json:"start_degc"`
		Peak   *float64 `json:"peak_degc"`
		PeakAt *float64 `json:"peak_at_s"`
		Limit  *float64 `json:"limit_degc"`
		At     *float64 `json:"limit_at_s"`
		Rounds *int     `json:"rounds_to_limit"`
	}
	Heat   map[string]float64 `json:"heat_j"`
	Switch map[string]any
	Leads  map[string]any
	Gauges []map[string]any
}

func heatOf(t *testing.T, args ...string) (h heatJSON) {
	t.Helper()
	o := command(t, append([]string{"heat", "--json"}, args...)...)
	require.Zero(t, o.code, o.stderr)
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &h))
	return h
}

func TestHeatJSON(t *testing.T) {
	o := command(t, "heat", "--json")
	assert.Zero(t, o.code)
	assert.ElementsMatch(t, heatKeys, keysOf(t, []byte(o.stdout)))
	h := heatOf(t)
	assert.Equal(t, "done", h.Outcome)
	assert.Nil(t, h.First)
	var names []string
	for _, p := range h.Parts {
		names = append(names, p.Name)
		assert.NotNil(t, p.Peak)
		assert.Nil(t, p.At)
		assert.Nil(t, p.Rounds)
	}
	assert.Equal(t, []string{"winding", "magnets", "brushes", "leads", "connectors", "switch", "pack", "fuse"}, names)
	assert.InDelta(t, 34.068, *h.Parts[0].Peak, 0.02)
	assert.InDelta(t, h.Heat["in"], h.Heat["stored"]+h.Heat["off"], 1e-6*h.Heat["in"])
	assert.Nil(t, h.Switch["arc_energy_j"])

	thin := heatOf(t, append([]string{"--plan", plan(t, longPulls)}, thinLeads...)...)
	require.NotNil(t, thin.First)
	assert.Equal(t, "leads", *thin.First)
	assert.Equal(t, 145, *thin.Parts[3].Rounds)
	assert.InDelta(t, 7.5, *thin.Parts[3].At, 0.1)

	lacking := heatOf(t, "--set", "harness.fuse=", "--plan", plan(t, "{ambient: 35 degC, steps: [{rounds: 1}]}"))
	assert.Nil(t, lacking.Rate)
	assert.Equal(t, "fuse", lacking.Parts[7].Name)
	assert.Nil(t, lacking.Parts[7].Start)
	assert.Nil(t, lacking.Parts[7].Limit)
	assert.InDelta(t, 35, *lacking.Parts[0].Start, 1e-9)

	bench := heatOf(t, "--set", benchMotor)
	assert.Nil(t, bench.Parts[1].Limit, "nothing is known of its magnets")
	assert.InDelta(t, 130, *bench.Parts[2].Limit, 1e-9)

	contacts := heatOf(t, "--set", "harness.switch.contacts={material: copper, force: 1.5 N}")
	assert.Equal(t, "contacts", contacts.Switch["kind"])
	assert.Equal(t, false, contacts.Switch["arc_stands"])
	assert.Greater(t, contacts.Switch["arc_energy_j"], 0.)
	both := heatOf(t, "--round-by-round")
	assert.InDelta(t, *h.Parts[0].Peak, *both.Parts[0].Peak, 0.02)
}

func TestHeatGauges(t *testing.T) {
	o := command(t, append([]string{"heat", "--gauges", "--plan", plan(t, longPulls)}, thinLeads...)...)
	assert.Zero(t, o.code)
	assert.Contains(t, o.stdout, "leads of 600 mm in PVC, limit 70 °C, under this plan")
	assert.Regexp(t, `16 AWG +1\.31 mm2 +2\.5 mm +7\.90 mohm +0\.60 V`, o.stdout)
	tidy(t, o)
	h := heatOf(t, "--gauges", "--plan", plan(t, longPulls))
	require.Len(t, h.Gauges, 8)
	for i := 1; i < len(h.Gauges); i++ {
		for _, key := range []string{"resistance_ohm", "drop_v", "peak_degc", "endless_degc"} {
			assert.Greater(t, h.Gauges[i][key], h.Gauges[i-1][key], "thinner: %s", key)
		}
		for _, key := range []string{"carries_a", "stall_melts_s", "rate_of_fire_first_hz"} {
			assert.Less(t, h.Gauges[i][key], h.Gauges[i-1][key], "thinner: %s", key)
		}
	}
	assert.Equal(t, badInput, command(t, "heat", "--gauges", "--set", "harness.lead.length=0 mm").code)
}

func TestHeatFiles(t *testing.T) {
	dir := t.TempDir()
	picture, trace := filepath.Join(dir, "h.svg"), filepath.Join(dir, "h.csv")
	o := command(t, append([]string{"heat", "--plan", plan(t, longPulls), "--plot", picture, "--trace", trace}, thinLeads...)...)
	require.Zero(t, o.code)
	assert.Contains(t, o.stderr, "wrote "+picture)
	text, err := os.ReadFile(trace)
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"time_s", "rounds", "state_of_charge", "rate_of_fire_hz", "winding_degc", "magnets_degc", "brushes_degc", "leads_degc", "connectors_degc", "switch_degc", "pack_degc", "fuse_degc"}, rows[0])
	assert.Greater(t, len(rows), 1200, "two points a round")
	assert.Equal(t, "600", rows[len(rows)-1][1])
	assert.Equal(t, []string{"0", "0"}, []string{rows[1][1], rows[2][1]}, "nothing is fired yet when the switch closes")
	assert.Equal(t, missed, command(t, append([]string{"heat", "--strict", "--plan", plan(t, longPulls)}, thinLeads...)...).code)
}

func TestHeatRefuses(t *testing.T) {
	for _, c := range []struct {
		text string
		args []string
	}{
		{"there is no such file", []string{"--plan", "nowhere.yaml"}},
		{"--plan: is empty", []string{"--plan", ""}},
		{"my plan.yaml:1:22: steps.0.round: no such key; did you mean rounds?", []string{"--plan", plan(t, "steps: [{pause: 1 s, round: 3}]")}},
		{"steps.0.pause: \"4\" is a bare number", []string{"--plan", plan(t, "steps: [{rounds: 1, pause: 4}]")}},
		{"repeat: the plan comes to 1000000000 rounds", []string{"--plan", plan(t, "{repeat: 1000, steps: [{rounds: 1000, repeat: 1000}]}")}},
		{"more than one build file", []string{"a.yaml", "b.yaml"}},
		{"no picture format", []string{"--plot", "x.bmp"}},
		{"--set motor.heat.can=0 J/K: motor.heat.can: 0 J/K; temperatures need more than nothing", []string{"--set", "motor.heat.can=0 J/K"}},
		{"trigger.cutoff: 300 deg is behind the end of the lobe", []string{"--set", "sector.lobes=2", "--set", "sector.teeth=10", "--set", "rack=", "--set", "trigger.cutoff=300 deg"}},
	} {
		o := command(t, append([]string{"heat"}, c.args...)...)
		assert.Equal(t, badInput, o.code, c.text)
		assert.Contains(t, o.stderr, c.text)
		assert.Empty(t, o.stdout)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	assert.Equal(t, interrupted, commandIn(t, ctx, "heat").code)
}
