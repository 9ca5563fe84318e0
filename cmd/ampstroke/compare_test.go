package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
)

func demoText() string { return buildfile.DemoText() }

// variants writes the demo with overrides put in, one file each.
func variants(t *testing.T, changes ...[]string) (paths []string) {
	for _, overrides := range changes {
		paths = append(paths, file(t, demoWith(t, overrides...)))
	}
	return paths
}

// demoWith is the demo's text with overrides put in.
func demoWith(t *testing.T, overrides ...string) string {
	t.Helper()
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	text, err := d.Bytes()
	require.NoError(t, err)
	return string(text)
}

// broken is the demo's text with a value in it that no build can have: what is between
// the end of before and the end of its line, or the next comma or brace, gives way.
func broken(t *testing.T, before, value string) string {
	t.Helper()
	head, rest, found := strings.Cut(demoText(), before)
	require.True(t, found, before)
	return head + before + value + rest[strings.IndexAny(rest, ",}\n"):]
}

// at is where errors place what stands in the demo's text behind before.
func at(t *testing.T, before string) string {
	t.Helper()
	head, _, found := strings.Cut(demoText(), before)
	require.True(t, found, before)
	head += before
	return fmt.Sprintf("%d:%d: ", 1+strings.Count(head, "\n"), len(head)-strings.LastIndexByte(head, '\n'))
}

func TestCompareText(t *testing.T) {
	paths := variants(t, nil,
		[]string{"motor.armature.turns=23", "name=Rewound"},
		[]string{"motor.armature.turns=34"},
		[]string{"spring.rate=4000 N/m"})
	o := command(t, append([]string{"compare"}, paths...)...)
	assert.Zero(t, o.code)
	for _, text := range []string{
		"4 builds side by side", "  2  Rewound (", "  4!  Woodland club rifle (", ": the motor stalls",
		"motor.armature.turns  25       23       34       25", "spring.rate           720 N/m", "ASTM F2879",
		"the target of build 1", "missed by", "no figure", "\n  1  target met: ", "\n  3  target MISSED: rate of fire", "\n  4!  FAULT: the motor can't turn the sector",
	} {
		tells(t, o.stdout, text)
	}
	// The first rate is that of testdata/reference/full/demo.json.
	assert.Regexp(t, `rate of fire +22\.02 /s +23\.\d+ /s \* \(\+\d\.\d %\) +16\.\d+ /s ! \(-2\d\.\d %\)\n(?s:.*)\n +4!\n  rate of fire +-\n`, o.stdout)
	assert.NotContains(t, o.stdout, "NaN")
	assert.Less(t, strings.Index(o.stdout, "what differs"), strings.Index(o.stdout, "\nfiring\n"), "first")
	assert.Empty(t, o.stderr, "findings are part of the result")

	o = command(t, "compare", paths[0], paths[0])
	assert.Contains(t, o.stdout, "the build files describe the same build")
	assert.NotRegexp(t, `[*!] `, strings.Split(o.stdout, "the target of")[0])

	o = command(t, "compare", paths[0], paths[2], "--strict")
	assert.Equal(t, missed, o.code)
}

// What is missing in one of three files is a difference, not a consequence.
func TestCompareHidesNothing(t *testing.T) {
	for what, change := range map[string][]string{
		"harness.fuse.rating":              {"harness.fuse="},
		"harness.connectors.1.resistance":  {"harness.connectors=[{resistance: 0.8 mohm}]"},
		"cylinder.port ":                   {"cylinder.port=", "cylinder.port_area="},
		"harness.switch.contacts.material": {"harness.switch.contacts={material: copper, force: 1 N}"},
	} {
		paths := variants(t, nil, nil, change)
		o := command(t, append([]string{"compare"}, paths...)...)
		require.Zero(t, o.code)
		assert.Contains(t, o.stdout, what)
		assert.NotContains(t, o.stdout, "describe the same build")
	}
	paths := variants(t, nil, nil, nil)
	o := command(t, append([]string{"compare"}, paths...)...)
	assert.Contains(t, o.stdout, "describe the same build")
}

func TestChange(t *testing.T) {
	for _, c := range []struct {
		v, first float64
		unit     string
		want     string
	}{
		{11, 10, "A", " (+10.0 %)"}, {9, 10, "A", " (-10.0 %)"}, {10, 10, "A", ""}, {10.0001, 10, "A", ""},
		{2000, 10, "A", " (×200)"}, {-2.9, 2.5, "ms", " (-5.40 ms)"}, {43.2, 50, "%", " (-6.80 points)"}, {-18, 29, "%", " (-47.0 points)"},
		{3, 0, "A", " (+3.00 A)"}, {3, math.NaN(), "A", ""},
	} {
		assert.Equal(t, c.want, change(c.v, c.first, 4, c.unit), "%g against %g %s", c.v, c.first, c.unit)
	}
}

func TestCompareJSON(t *testing.T) {
	paths := variants(t, nil, []string{"motor.armature.turns=22"}, []string{"spring.rate=4000 N/m"})
	o := command(t, append([]string{"compare", "--json"}, paths...)...)
	require.Zero(t, o.code)
	var j struct {
		Differences []struct {
			Key     string
			Values  []*string
			Assumed []bool
		}
		Target  *string `json:"target_of"`
		Figures []struct {
			What   string
			Values []*float64
			From   []*float64 `json:"from_first"`
			Better []bool
			Missed []bool
		}
		Builds []map[string]any
	}
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &j))
	require.Len(t, j.Differences, 2)
	assert.Equal(t, "motor.armature.turns", j.Differences[0].Key)
	assert.Equal(t, "22", *j.Differences[0].Values[1])
	assert.Equal(t, paths[0], *j.Target)
	require.Len(t, j.Builds, 3)
	var single map[string]any
	require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", paths[1], "--json").stdout), &single))
	for key, value := range single {
		assert.Equal(t, value, j.Builds[1][key], "as cycle says: %s", key)
	}
	rate := j.Figures[0]
	assert.Equal(t, "rate_of_fire_hz", rate.What)
	assert.InDelta(t, *rate.Values[1]-*rate.Values[0], *rate.From[1], 1e-12)
	assert.Zero(t, *rate.From[0])
	assert.Equal(t, []bool{false, true, false}, rate.Better)
	assert.Equal(t, []bool{false, false, false}, rate.Missed)
	assert.Nil(t, rate.Values[2], "a stall")
	assert.Nil(t, rate.From[2])
}

func TestCompareFiles(t *testing.T) {
	paths := variants(t, nil, []string{"motor.armature.turns=22"})
	dir := t.TempDir()
	o := command(t, "compare", paths[0], paths[1], "--plot", filepath.Join(dir, "c.svg"), "--trace", filepath.Join(dir, "c.csv"))
	require.Zero(t, o.code)
	csv, err := os.ReadFile(filepath.Join(dir, "c.csv"))
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(csv), "build,course,time_s,"))
	assert.Contains(t, string(csv), "\n2,steady cycle,")
	assert.FileExists(t, filepath.Join(dir, "c.svg"))
}

func TestCompareRefuses(t *testing.T) {
	paths := []string{file(t, demoText()), file(t, broken(t, "piston: {mass: ", "-1 g")), file(t, broken(t, "turns: ", "many"))}
	for _, c := range []struct {
		code int
		text []string
		args []string
	}{
		{badInput, []string{"no build file is given; wanted two or more"}, nil},
		{badInput, []string{"one build file is given"}, paths[:1]},
		{badInput, []string{"piston.mass", "motor.armature.turns"}, paths},
		{badInput, []string{"no such key"}, []string{paths[0], paths[0], "--set", "motor.armature.turn=3"}},
	} {
		o := command(t, append([]string{"compare"}, c.args...)...)
		assert.Equal(t, c.code, o.code)
		assert.Empty(t, o.stdout)
		for _, text := range c.text {
			assert.Contains(t, o.stderr, text)
		}
	}
}

// MOSFET and contacts side by side, where builds differ in the switch.
func TestCompareSwitches(t *testing.T) {
	const contacts = "harness.switch.contacts={material: copper, force: 1.5 N}"
	paths := variants(t, nil, []string{contacts}, []string{"harness.switch.mosfet.active_braking=true"}, []string{"motor.armature.turns=22"},
		[]string{contacts, "spring.rate=4000 N/m"}, []string{contacts, "trigger.cutoff=20 deg", "battery.series=8"})
	o := command(t, append([]string{"compare"}, paths[:3]...)...)
	require.Zero(t, o.code)
	assert.Regexp(t, `kind +MOSFET +contacts, copper +MOSFET\n`, o.stdout)
	assert.Regexp(t, `melting voltage +- +414 mV +-\n`, o.stdout)
	assert.Regexp(t, `spot or junction then +31\.1 °C +\d+`, o.stdout, "20 °C and 1 K/W times 1.95 mohm times 75.3 A squared")
	assert.Regexp(t, `arc +- +\d+\.\d+ mJ +-\n`, o.stdout)
	assert.Regexp(t, `brake current +- +- +\d+\.\d A\n`, o.stdout)
	assert.NotContains(t, command(t, "compare", paths[0], paths[3]).stdout, "switch, in a single shot")
	odd := command(t, "compare", paths[0], paths[4], paths[5])
	require.Zero(t, odd.code, odd.stderr)
	assert.Regexp(t, `conduction loss +\d+\.\d mJ +- +`, odd.stdout, "a motor that stalls has none")
	assert.Regexp(t, `arc +- +- +stands\n`, odd.stdout)
	var j struct {
		Figures []struct {
			What   string
			Values []*float64
		}
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, "compare", paths[0], paths[1], "--json").stdout), &j))
	seen := map[string][]*float64{}
	for _, f := range j.Figures {
		seen[f.What] = f.Values
	}
	require.Contains(t, seen, "switch_arc_j")
	assert.Nil(t, seen["switch_arc_j"][0])
	assert.Positive(t, *seen["switch_arc_j"][1])
	assert.InDelta(t, 31.06, *seen["switch_hottest_degc"][0], 0.01)
}
