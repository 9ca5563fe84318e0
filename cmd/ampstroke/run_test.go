package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/cycle"
)

type outcome struct {
	code           int
	stdout, stderr string
}

func command(t *testing.T, args ...string) outcome {
	t.Helper()
	return commandIn(t, context.Background(), args...)
}

func commandIn(t *testing.T, ctx context.Context, args ...string) outcome {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code := status(run(ctx, args, strings.NewReader(""), &stdout, &stderr), &stderr)
	return outcome{code, stdout.String(), stderr.String()}
}

// file writes a build file and returns its path.
func file(t *testing.T, text string) string {
	path := filepath.Join(t.TempDir(), "my rifle.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o666))
	return path
}

// sameAs holds figures against those that a second program computed from the same
// equations (testdata/reference), key by key, and returns how many numbers it compared.
func sameAs(t *testing.T, name string, got map[string]any, except ...string) (n int) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("../../testdata/reference", name))
	require.NoError(t, err)
	var want map[string]any
	require.NoError(t, json.Unmarshal(data, &want))
	for _, key := range except {
		require.Contains(t, want, key)
		delete(want, key)
	}
	var same func(path string, want, got any)
	same = func(path string, want, got any) {
		switch w := want.(type) {
		case map[string]any:
			for k, v := range w {
				same(path+"."+k, v, got.(map[string]any)[k])
			}
		case []any:
			require.Len(t, got, len(w), path)
			for i := range w {
				same(path, w[i], got.([]any)[i])
			}
		case float64:
			n++
			tol := 1e-6 * math.Abs(w)
			switch {
			case strings.HasSuffix(path, "_m_s"):
				tol *= 10
			case strings.HasPrefix(path, ".ledger_j."): // some rows are differences that all but vanish
				tol = max(tol, 1e-7)
			}
			assert.InDelta(t, w, got, tol, path)
		default:
			assert.Equal(t, want, got, path)
		}
	}
	same("", want, got)
	return n
}

// figuresOf decodes what a command prints as JSON.
func figuresOf(t *testing.T, args ...string) (all map[string]any) {
	t.Helper()
	o := command(t, append(args, "--json")...)
	require.Zero(t, o.code, o.stderr)
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &all))
	return all
}

// The text's figures are those of testdata/reference/full/demo.json.
func TestCycleText(t *testing.T) {
	o := command(t, "cycle")
	assert.Zero(t, o.code)
	for _, text := range []string{
		"Woodland club rifle: automatic fire, 22.0 rounds a second", "rate of fire      22.02 /s", "inrush               75.30 A",
		"pack voltage, least  6.479 V", "winding                     0.670 J  12.0 %", "heat to the walls           0.491 J   8.8 %", "left in the spring's coils  0.231 J   4.1 %", "at least 20 /s: met",
		"trigger delay     52.58 ms", "PME margin        1.12 ms", "muzzle velocity     119.7 m/s  392.9 ft/s", "muzzle energy       1.434 J", "pellet                      1.434 J  25.6 %",
		"what a full pack gives, 20 % left in it", "in automatic  5366  shots", "in single     3017  pulls, one pellet each",
		"117.3 m/s (385.0 ft/s) to 121.9 m/s (400.0 ft/s): met", "99 m/s (Marshall, Dahlstrom",
		"ASTM F2879", "local law and club rules", "Take the pack out before the shell is opened", "Lithium packs burn", "get hot",
	} {
		tells(t, o.stdout, text)
	}
	for _, word := range []string{"NaN", "Inf", "null"} {
		assert.NotContains(t, o.stdout, word)
	}
	assert.NotContains(t, o.stdout, "shots a charge", "what a full pack gives says it of both modes")
	assert.Contains(t, o.stdout, "\ncaution: the inrush of 75.3 A exceeds the 32.5 A")
	assert.Empty(t, o.stderr, "findings are part of the result")
	for _, line := range strings.Split(o.stdout+o.stderr, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 100, line)
	}
}

func TestCycleTextOfAStall(t *testing.T) {
	// 4.128 rad in testdata/reference/demo-stall.json, with the plain physics
	o := command(t, "cycle", "../../testdata/builds/demo.yaml", "--set", "spring.rate=2400 N/m")
	assert.Zero(t, o.code, "a stall is a result")
	assert.Contains(t, o.stdout, "the motor stalls")
	assert.Contains(t, o.stdout, "stall angle  236.5 °")
	assert.Contains(t, o.stdout, "the gun does not fire")
	assert.NotContains(t, o.stdout, "NaN")
	assert.Regexp(t, `\nFAULT: the motor can't turn the sector past 237°(?s:.*)\s\[stall\]`, o.stdout)
}

// The keys of the interface, in its order.
var cycleKeys = []string{
	"format", "build", "mode", "outcome", "rate_of_fire_hz", "period_s", "release_time_s", "trigger_delay_s", "free_time_s", "time_to_home_s",
	"pme_margin_s", "pme_rate_of_fire_hz", "muzzle_velocity_m_s", "muzzle_energy_j", "swept_volume_m3", "barrel_volume_m3",
	"piston_impact_m_s", "stroke_m", "spring_energy_j", "spring_peak_force_n", "current_peak_a", "current_mean_a", "current_rms_a",
	"inrush_a", "pack_voltage_min_v", "charge_per_shot_c", "shots_per_charge", "overspin_rad", "stop_angle_rad", "stop_phase",
	"time_to_rest_s", "stall_angle_rad", "stall_current_a", "stall_time_s", "second_shot", "overall_efficiency",
	"release_speed_m_s", "engagement_speed_m_s", "engagement_travel_m", "engagement_share", "motor_heat_w", "demagnetisation_margin", "flight", "pull", "motor", "ledger_j",
	"verdict", "warnings", "findings", "cautions", "charge",
}

var ledgerKeys = []string{
	"battery", "winding", "brush", "motor_drag", "pack", "leads", "connectors", "switch", "mesh", "tappet", "pickup",
	"piston_drag", "impact", "air", "walls", "surge", "barrel", "pellet", "stored", "residual",
}

func keysOf(t *testing.T, text []byte) (keys []string) {
	d := json.NewDecoder(bytes.NewReader(text))
	_, err := d.Token()
	require.NoError(t, err)
	for d.More() {
		key, err := d.Token()
		require.NoError(t, err)
		keys = append(keys, key.(string))
		var skip json.RawMessage
		require.NoError(t, d.Decode(&skip))
	}
	return keys
}

func TestCycleJSON(t *testing.T) {
	o := command(t, "cycle", "--json")
	assert.Zero(t, o.code)
	assert.Subset(t, keysOf(t, []byte(o.stdout)), cycleKeys)
	var parts struct {
		Rate     float64         `json:"rate_of_fire_hz"`
		Velocity *float64        `json:"muzzle_velocity_m_s"`
		Ledger   json.RawMessage `json:"ledger_j"`
		Verdict  []struct {
			What  string
			Value *float64
			Min   *float64
			Max   *float64
			OK    *bool
		}
		Warnings []struct{ Code, Text string }
	}
	d := json.NewDecoder(strings.NewReader(o.stdout))
	require.NoError(t, d.Decode(&parts))
	assert.False(t, d.More(), "one document and nothing else")
	assert.Equal(t, ledgerKeys, keysOf(t, parts.Ledger))
	all := figuresOf(t, "cycle")
	assert.Greater(t, sameAs(t, "full/demo.json", all, "commutation"), 50)
	assert.InDelta(t, 0.3575033182499453, all["motor"].(map[string]any)["commutation"], 1e-9, "the reference has it outside of the motor")
	assert.Equal(t, parts.Rate, *parts.Verdict[0].Value)
	require.Len(t, parts.Verdict, 2)
	assert.Equal(t, "rate_of_fire", parts.Verdict[0].What)
	assert.True(t, *parts.Verdict[0].OK)
	assert.Nil(t, parts.Verdict[0].Max)
	assert.True(t, *parts.Verdict[1].OK)
	assert.Equal(t, *parts.Velocity, *parts.Verdict[1].Value)
	assert.InDelta(t, 121.92, *parts.Verdict[1].Max, 1e-9)
	require.Len(t, parts.Warnings, 1)
	assert.Equal(t, "pack-inrush", parts.Warnings[0].Code)
	assert.Equal(t, o.stdout, command(t, "cycle", "--json").stdout, "same input, same bytes")

	stall := command(t, "cycle", "--json", "--set", "spring.rate=4000 N/m")
	assert.Contains(t, stall.stdout, `"outcome": "stall"`)
	assert.Contains(t, stall.stdout, `"battery": null`)
}

func TestExplain(t *testing.T) {
	o := command(t, "cycle", "--explain")
	assert.Contains(t, o.stdout, "assumed, because the build file leaves it out")
	assert.Regexp(t, `battery\.reserve +20 % `, o.stdout)
	j := command(t, "cycle", "--explain", "--json")
	var v struct {
		Assumed []struct{ Key, Value, Why string }
	}
	require.NoError(t, json.Unmarshal([]byte(j.stdout), &v))
	assert.NotEmpty(t, v.Assumed)
	assert.NotEmpty(t, v.Assumed[0].Why)
}

func TestStrict(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		code int
	}{
		{"met", nil, 0},
		{"missed", []string{"--set", "target.rate_of_fire.min=30 /s"}, 1},
		{"stall", []string{"--set", "target=", "--set", "spring.rate=4000 N/m"}, 1},
		{"limit", []string{"--set", "harness.fuse.rating=10 A"}, 1},
		{"cautions alone", []string{"--set", "target=", "--set", "battery.discharge_rating=5"}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := command(t, append([]string{"cycle", "--strict"}, c.args...)...)
			assert.Equal(t, c.code, o.code)
			assert.Contains(t, o.stdout, "firing", "the figures are shown all the same")
			assert.Zero(t, command(t, append([]string{"cycle"}, c.args...)...).code, "without --strict it is no failure")
		})
	}
}

func TestFiles(t *testing.T) {
	dir := t.TempDir()
	picture, course := filepath.Join(dir, "the cycle.png"), filepath.Join(dir, "course.csv")
	o := command(t, "cycle", "--json", "--plot", picture, "--trace", course)
	assert.Zero(t, o.code)
	assert.Contains(t, o.stderr, "wrote "+picture)
	assert.Contains(t, o.stderr, "wrote "+course)
	assert.True(t, json.Valid([]byte(o.stdout)))
	data, err := os.ReadFile(course)
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(data), "course,time_s,"))
	o = command(t, "cycle", "--plot", picture, "--over", "angle")
	assert.Contains(t, o.stderr, "replaced "+picture)
}

func TestBadInput(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"unknown command", []string{"fire"}, "unknown command"},
		{"unknown flag", []string{"cycle", "--quick"}, "unknown flag"},
		{"two builds", []string{"cycle", "a.yaml", "b.yaml"}, "more than one build file"},
		{"missing file", []string{"cycle", "nowhere.yaml"}, "nowhere.yaml: there is no such file"},
		{"folder", []string{"cycle", "."}, "is a folder"},
		{"picture", []string{"cycle", "--plot", "x.bmp"}, "wanted one of .png, .svg, .pdf"},
		{"picture without a folder", []string{"cycle", "--plot", "no/such/folder/x.png"}, "can't write no/such/folder/x.png"},
		{"trace", []string{"cycle", "--trace", "x.txt"}, "ends in .csv"},
		{"axis", []string{"cycle", "--over", "moon"}, "wanted time or angle"},
		{"override", []string{"cycle", "--set", "motor.armature.turns"}, "wanted key.path=value"},
		{"override of no key", []string{"cycle", "--set", "motor.armature.tunrs=22"}, "did you mean turns?"},
		{"override out of range", []string{"cycle", "--set", "motor.armature.turns=0"}, "--set motor.armature.turns=0: motor.armature.turns: 0 is out of range"},
		{"unknown key", []string{"cycle", file(t, "motor:\n  armature:\n    turn: 28\n")}, "my rifle.yaml:3:5: motor.armature.turn: no such key; did you mean turns?"},
		{"missing unit", []string{"cycle", file(t, broken(t, "piston: {mass: ", "26"))}, "bare number"},
		{"empty", []string{"cycle", file(t, "")}, "empty"},
		{"binary", []string{"cycle", file(t, "\x7fELF\x00\x01")}, "a byte or character that no text has"},
		{"brackets", []string{"cycle", file(t, "a: "+strings.Repeat("[", 20000))}, "nested deeper than 32"},
		{"large", []string{"cycle", file(t, strings.Repeat("# a comment\n", 1<<20))}, "larger than 256 KiB"},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := command(t, c.args...)
			assert.Equal(t, badInput, o.code)
			assert.Empty(t, o.stdout)
			assert.Contains(t, o.stderr, c.want)
			assert.LessOrEqual(t, strings.Count(o.stderr, "\n"), 25, "at most a screenful")
		})
	}
}

// Nothing is written when the input is bad.
func TestBadInputWritesNothing(t *testing.T) {
	dir := t.TempDir()
	o := command(t, "cycle", "--set", "piston.mass=-1 g", "--plot", filepath.Join(dir, "x.png"), "--trace", filepath.Join(dir, "x.csv"))
	assert.Equal(t, badInput, o.code)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, entries)
}

// A gun whose shots never come to be alike is a result, of which the text says what the
// figures are.
func TestCycleOfAGunThatHunts(t *testing.T) {
	o := command(t, "cycle", "--set", "motor.armature.inductance=100 mH", "--set", "motor.commutation=0 %")
	assert.Zero(t, o.code)
	assert.Regexp(t, `\ncaution: the gun hunts: from shot to shot it takes \d+\.\d to \d+\.\d ms(?s:.*?)\s\[hunts\]`, o.stdout)
	assert.NotContains(t, command(t, "cycle").stdout, "[hunts]")
}

// No build is known any more that comes to no end, so that this is what the command
// makes of the error.
func TestWhatCannotBeSimulated(t *testing.T) {
	var stderr bytes.Buffer
	assert.Equal(t, incomplete, status(fmt.Errorf("cycle of %q: %w within 10 steps", "X", cycle.ErrUnfinished), &stderr))
	assert.Equal(t, "ampstroke: cycle of \"X\": the simulation came to no end within 10 steps\n", stderr.String())
}

func TestInterrupt(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	o := commandIn(t, ctx, "cycle")
	assert.Equal(t, interrupted, o.code)
	assert.Empty(t, o.stdout)
}

func TestHelpVersionCompletion(t *testing.T) {
	for _, args := range [][]string{{}, {"--help"}, {"cycle", "--help"}} {
		o := command(t, args...)
		assert.Zero(t, o.code)
		assert.Contains(t, o.stdout, "ampstroke cycle", "an example")
	}
	assert.Contains(t, command(t, "--version").stdout, "ampstroke version")
	assert.Contains(t, command(t, "completion", "bash").stdout, "ampstroke")
	assert.Contains(t, command(t, "__complete", "cycle", "--over", "").stdout, "angle")
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }

func TestFullDiskBehindStdout(t *testing.T) {
	for _, args := range [][]string{{"cycle"}, {"cycle", "--json"}} {
		var stderr bytes.Buffer
		code := status(run(context.Background(), args, strings.NewReader(""), full{}, &stderr), &stderr)
		assert.Equal(t, incomplete, code)
		assert.Contains(t, stderr.String(), "no space left")
	}
}
