package buildfile_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

const bench = `name: Bench evening   # quotes are not needed
instruments: {chronograph: 1.5 %, scales: ± 2 %}
readings:
- {figure: no_load_speed, value: 14810 rpm ± 150 rpm, supply: 7.4 V}
- figure: rate_of_fire
  value: 21.1 /s ± 0.2 /s
  times: 4
- {figure: muzzle_velocity, value: 96.4 m/s ± 1 %, times: 10, instrument: chronograph, with: {pellet.mass: 0.28 g, trigger.mode: single}}
- {figure: stall_current, value: 54 ± 2 A, supply: 4 V}
- {figure: overall_efficiency, value: 20 % ± 2 %, with: {harness.connectors.1.resistance: 1 mohm, pads: [1 mm, 2 mm]}}
free: [spring.rate, {key: gears.efficiency, prior: 78 % ± 6 %}, {key: piston.drag, prior: 4 N}]
candidates:
- {figure: inrush, value: ± 5 %}
- {figure: muzzle_velocity, value: +/- 0.5 m/s, instrument: chronograph, with: {pellet.mass: 0.3 g}}
`

func TestReadings(t *testing.T) {
	r, err := buildfile.ParseReadings("r.yaml", []byte(bench))
	require.NoError(t, err)
	assert.Equal(t, "Bench evening", r.Name)
	assert.Equal(t, []buildfile.Instrument{{Name: "chronograph", Tolerance: 0.015}, {Name: "scales", Tolerance: 0.02}}, r.Instruments)
	require.Len(t, r.Readings, 5)
	speed, rate, velocity, stall, share := r.Readings[0], r.Readings[1], r.Readings[2], r.Readings[3], r.Readings[4]
	assert.Equal(t, "no_load_speed", speed.Figure.Name)
	assert.InDelta(t, 14810*math.Pi/30, speed.Value, 1e-9)
	assert.InDelta(t, 150*math.Pi/30/2, speed.SD(0), 1e-9, "± is two standard deviations")
	assert.InDelta(t, 7.4, speed.Supply, 1e-12)
	assert.Equal(t, 1, speed.Times)
	assert.InDelta(t, 0.05, rate.SD(0), 1e-12, "of a mean of four: half of one taking's")
	assert.Zero(t, rate.Supply)
	assert.InDelta(t, 0.964/2/math.Sqrt(10), velocity.SD(0), 1e-12)
	assert.Equal(t, "chronograph", velocity.Instrument)
	require.Len(t, velocity.With, 2)
	assert.Equal(t, "pellet.mass=0.28 g", velocity.With[0].String())
	assert.Equal(t, "r.yaml:8:108", velocity.With[0].Place.String())
	assert.Equal(t, "trigger.mode=single", velocity.With[1].String())
	assert.InDelta(t, 1, stall.SD(0), 1e-12, "the unit may stand behind the ± alone")
	assert.InDelta(t, 0.01, share.SD(0), 1e-12, "of a share, the ± is points")
	assert.Equal(t, "pads=[1 mm, 2 mm]", share.With[1].String())

	require.Len(t, r.Free, 3)
	assert.Equal(t, "spring.rate", r.Free[0].Key)
	assert.True(t, math.IsNaN(r.Free[0].Mean), "what the build says")
	assert.InDelta(t, 0.78, r.Free[1].Mean, 1e-12)
	assert.InDelta(t, 0.06, r.Free[1].Tolerance, 1e-12)
	assert.InDelta(t, 4, r.Free[2].Mean, 1e-12)
	assert.Zero(t, r.Free[2].Tolerance)

	require.Len(t, r.Candidates, 2)
	assert.InDelta(t, 0.025*60, r.Candidates[0].SD(60), 1e-12, "of the computed figure")
	assert.InDelta(t, 0.25, r.Candidates[1].SD(100), 1e-12)

	place, found := r.Position("readings.1.times")
	assert.True(t, found)
	assert.Equal(t, "r.yaml:7:10", place.String())

	r, err = buildfile.ParseReadings("r.yaml", []byte("\ufeff{readings: [{figure: inrush, value: 60 A ± 1 A}]}\r\n"))
	require.NoError(t, err)
	assert.Equal(t, "Unnamed readings", r.Name)
	assert.Empty(t, r.Free)

	path := filepath.Join(t.TempDir(), "r.yaml")
	require.NoError(t, os.WriteFile(path, []byte(bench), 0o666))
	r, err = buildfile.ReadReadings(path)
	require.NoError(t, err)
	assert.Len(t, r.Readings, 5)
}

func TestReferenceReadings(t *testing.T) {
	paths, err := filepath.Glob("../../testdata/reference/fit/*.readings.yaml")
	require.NoError(t, err)
	require.Len(t, paths, 6)
	for _, path := range paths {
		_, err := buildfile.ReadReadings(path)
		assert.NoError(t, err)
	}
}

type wrongReadings struct {
	name, text string
	want       []string // all must be in the error
	reason     string
}

func wrongReadingsList() []wrongReadings {
	const good = "readings:\n- {figure: rate_of_fire, value: 22 /s ± 0.2 /s}\n"
	one := func(inside string) string { return "readings:\n- {" + inside + "}\n" }
	return []wrongReadings{
		{"no readings", "name: x\n", []string{"r.yaml:1:1: readings: missing; wanted a list, such as [{figure: rate_of_fire"}, ""},
		{"empty list", "readings: []\n", []string{"r.yaml:1:11: readings: is empty; wanted at least one reading"}, ""},
		{"empty file", "", []string{"empty; wanted a readings file"}, ""},
		{"text", "hello\n", []string{"a value stands at the top; wanted keys such as name: and readings:"}, ""},
		{"a build", "motor: {}\n" + good, []string{"motor: no such key; known here: name, instruments, readings, free, candidates"}, "a build is no readings file"},
		{"near miss", good + "reeding: 1\n", []string{"r.yaml:3:1: reeding: no such key; did you mean readings?"}, ""},
		{"near miss inside", one("figur: rate_of_fire, value: 22 /s ± 1 /s"), []string{"readings.0.figur: no such key; did you mean figure?", "readings.0.figure: missing"}, ""},
		{"unknown figure", one("figure: rate_of_fun, value: 22 /s ± 1 /s"), []string{`r.yaml:2:12: readings.0.figure: no figure is called "rate_of_fun"; did you mean rate_of_fire?`}, ""},
		{"far figure", one("figure: loudness, value: 22 /s ± 1 /s"), []string{"wanted one such as rate_of_fire"}, ""},
		{"key of JSON", one("figure: rate_of_fire_hz, value: 22 /s ± 1 /s"), []string{"did you mean rate_of_fire?"}, "the unit is no part of the name"},
		{"no value", one("figure: rate_of_fire"), []string{"r.yaml:2:3: readings.0.value: missing; wanted a value with its ±"}, ""},
		{"empty value", one("figure: rate_of_fire, value: "), []string{"readings.0.value: has no value; wanted a value with its ±"}, ""},
		{"no ±", one("figure: rate_of_fire, value: 22 /s"), []string{`r.yaml:2:33: readings.0.value: "22 /s" has no ±`, "wanted one above 0, such as 22 /s ± 1 %"}, ""},
		{"zero ±", one("figure: rate_of_fire, value: 22 /s ± 0 /s"), []string{"has no ±"}, ""},
		{"negative ±", one("figure: rate_of_fire, value: 22 /s ± -1 /s"), []string{"readings.0.value", "a tolerance of zero or more"}, ""},
		{"wrong unit", one("figure: rate_of_fire, value: 22 V ± 1 V"), []string{`readings.0.value: "22 V ± 1 V" is a voltage; wanted a rate, such as 20 /s`}, ""},
		{"no unit", one("figure: rate_of_fire, value: 22 ± 1"), []string{"is a bare number; wanted a rate with its unit"}, ""},
		{"not a number", one("figure: rate_of_fire, value: .nan /s ± 1 /s"), []string{"not a finite number"}, ""},
		{"list of values", one("figure: rate_of_fire, value: [22 /s, 23 /s]"), []string{"readings.0.value: found a list; wanted a value with its ±"}, ""},
		{"times 0", one("figure: rate_of_fire, value: 22 /s ± 1 /s, times: 0"), []string{"readings.0.times: 0 is out of range; wanted a whole number from 1 to 1000000"}, ""},
		{"times 2.5", one("figure: rate_of_fire, value: 22 /s ± 1 /s, times: 2.5"), []string{`readings.0.times: "2.5" is not whole`}, ""},
		{"times with ±", one("figure: rate_of_fire, value: 22 /s ± 1 /s, times: 3 ± 1"), []string{"readings.0.times: carries no tolerance"}, ""},
		{"times of a candidate", good + "candidates: [{figure: inrush, value: ± 5 %, times: 3}]\n", []string{"candidates.0.times: no such key"}, ""},
		{"unknown override", one("figure: rate_of_fire, value: 22 /s ± 1 /s, with: {pellet.mess: 0.2 g}"), []string{"readings.0.with.pellet.mess: no such key; did you mean mass?"}, ""},
		{"bad override", one("figure: rate_of_fire, value: 22 /s ± 1 /s, with: {pellet.mass: 0.2 V}"), []string{`r.yaml:2:67: readings.0.with.pellet.mass: "0.2 V" is a voltage; wanted a mass`}, ""},
		{"override with ±", one("figure: rate_of_fire, value: 22 /s ± 1 /s, with: {pellet.mass: 0.2 g ± 1 %}"), []string{"carries no tolerance here"}, ""},
		{"override of nothing", one("figure: rate_of_fire, value: 22 /s ± 1 /s, with: {pellet.mass: }"), []string{"has no value; wanted what the key is for this reading"}, ""},
		{"override of the target", one("figure: rate_of_fire, value: 22 /s ± 1 /s, with: {target.rate_of_fire.min: 20 /s}"), []string{"is no part of what is measured"}, ""},
		{"override of the name", one("figure: rate_of_fire, value: 22 /s ± 1 /s, with: {name: x}"), []string{"is no part of what is measured"}, ""},
		{"with a list", one("figure: rate_of_fire, value: 22 /s ± 1 /s, with: [pellet.mass]"), []string{"readings.0.with: found a list; wanted keys of the build"}, ""},
		{"supply to the gun", one("figure: rate_of_fire, value: 22 /s ± 1 /s, supply: 7.4 V"), []string{"readings.0.supply: rate_of_fire is a figure of the whole gun", "no_load_speed, no_load_current"}, ""},
		{"motor without supply", one("figure: no_load_speed, value: 15000 rpm ± 100 rpm"), []string{"r.yaml:2:3: readings.0.supply: missing; wanted the voltage at the terminals"}, ""},
		{"negative supply", one("figure: no_load_speed, value: 15000 rpm ± 100 rpm, supply: -7.4 V"), []string{`readings.0.supply: "-7.4 V" is out of range; wanted a voltage above 0`}, ""},
		{"supply of nothing", one("figure: no_load_speed, value: 15000 rpm ± 100 rpm, supply: 0 V"), []string{"readings.0.supply", "above 0"}, ""},
		{"supply of 9 MV", one("figure: no_load_speed, value: 15000 rpm ± 100 rpm, supply: 9 MV"), []string{"readings.0.supply", "out of range"}, ""},
		{"instrument not declared", one("figure: rate_of_fire, value: 22 /s ± 1 /s, instrument: ear"), []string{`readings.0.instrument: "ear" is declared nowhere`}, ""},
		{"another instrument", "instruments: {ears: 1 %}\n" + one("figure: rate_of_fire, value: 22 /s ± 1 /s, instrument: ear"), []string{`"ear" is declared nowhere; instruments has ears`}, ""},
		{"instrument of nothing", "instruments: {ear: 0 %}\n" + good, []string{"instruments.ear", "out of range; wanted above 0 and up to 30 %"}, ""},
		{"instrument in metres", "instruments: {ear: 1 m}\n" + good, []string{"instruments.ear", "is a length; wanted a share"}, ""},
		{"instrument without value", "instruments: {ear: }\n" + good, []string{"instruments.ear: has no value"}, ""},
		{"instruments by list", "instruments: [ear]\n" + good, []string{"instruments: found a list; wanted names"}, ""},
		{"blank instrument", "instruments: {\" \": 1 %}\n" + good, []string{"is no name for an instrument"}, ""},
		{"free key unknown", good + "free: [spring.rite]\n", []string{"r.yaml:3:8: free.0: spring.rite: no such key; did you mean rate?"}, ""},
		{"free key twice", good + "free: [spring.rate, spring.rate]\n", []string{"r.yaml:3:21: free.1: spring.rate stands here a second time"}, ""},
		{"free count", good + "free: [motor.armature.turns]\n", []string{"motor.armature.turns is a count"}, ""},
		{"free gauge", good + "free: [harness.lead.gauge]\n", []string{"harness.lead.gauge is a count"}, ""},
		{"free word", good + "free: [battery.chemistry]\n", []string{"battery.chemistry is a word"}, ""},
		{"free section", good + "free: [spring]\n", []string{"spring is a mapping; wanted a key that holds a number"}, ""},
		{"free target", good + "free: [target.rate_of_fire.min]\n", []string{"is asked of the build"}, ""},
		{"free without key", good + "free: [{prior: 1 N ± 1 N}]\n", []string{"free.0.key: missing"}, ""},
		{"free with more", good + "free: [{key: spring.rate, prio: 1 N}]\n", []string{"free.0.prio: no such key; known here: key, prior"}, ""},
		{"prior of the wrong unit", good + "free: [{key: spring.rate, prior: 680 N ± 5 N}]\n", []string{`free.0.prior: "680 N ± 5 N" is a force; wanted a spring rate`}, ""},
		{"prior outside its range", good + "free: [{key: gears.efficiency, prior: 130 % ± 5 %}]\n", []string{"free.0.prior", "out of range; wanted a share from"}, ""},
		{"prior without doubt", good + "free: [{key: gears.efficiency, prior: 80 % ± 0 %}]\n", []string{"is known exactly and can't move"}, ""},
		{"candidate with a value", good + "candidates: [{figure: inrush, value: 60 A ± 5 %}]\n", []string{"candidates.0.value", "wanted the ± alone"}, ""},
		{"candidate of another kind", good + "candidates: [{figure: inrush, value: ± 5 m}]\n", []string{"candidates.0.value", "is a length; wanted a current"}, ""},
		{"candidate of nothing", good + "candidates: [{figure: inrush, value: ± 0 %}]\n", []string{"candidates.0.value", "out of range"}, ""},
		{"plan", one("figure: rate_of_fire, value: 22 /s ± 1 /s, plan: day.yaml"), []string{"readings.0.plan: what a firing plan heats can't be fitted"}, "kept free"},
		{"plan on top", good + "plan: day.yaml\n", []string{"plan: what a firing plan heats can't be fitted"}, ""},
		{"too many", "readings:\n" + strings.Repeat("- {figure: inrush, value: 60 A ± 1 A}\n", 201), []string{"readings: has 201 members; wanted at most 200"}, ""},
		{"twice", good + "readings: []\n", []string{"readings: stands here a second time"}, ""},
		{"anchor", "readings: [&a {figure: inrush, value: 60 A ± 1 A}]", []string{"an anchor or alias"}, ""},
		{"second document", good + "---\nname: b\n", []string{"a second document begins; wanted one list of readings a file"}, ""},
		{"deep", strings.Repeat("[", 40), []string{"nested deeper than 32"}, ""},
		{"large", "name: " + strings.Repeat("x", 300<<10), []string{"larger than 256 KiB; wanted a readings file"}, ""},
		{"bytes", "name: \x00", []string{"a byte or character that no text has"}, ""},
		{"an item that is a word", "readings: [inrush]", []string{"readings.0: found \"inrush\"; wanted a mapping with figure, value"}, ""},
	}
}

func TestWrongReadings(t *testing.T) {
	for _, c := range wrongReadingsList() {
		t.Run(c.name, func(t *testing.T) {
			start := time.Now()
			_, err := buildfile.ParseReadings("r.yaml", []byte(c.text))
			require.Error(t, err, c.reason)
			assert.Less(t, time.Since(start), soon)
			for _, text := range c.want {
				assert.ErrorContains(t, err, text, c.reason)
			}
			assert.ErrorAs(t, err, new(*quantity.Fault))
			assert.NotContains(t, err.Error(), "build file")
			screenful(t, err)
		})
	}
	_, err := buildfile.ReadReadings("nowhere.yaml")
	assert.EqualError(t, err, "nowhere.yaml: there is no such file")
	_, err = buildfile.ReadReadings(t.TempDir())
	assert.ErrorContains(t, err, "is a folder; wanted a readings file")
}

// Whatever the bytes: an answer soon, an error of a screenful or readings of bounded number,
// each with a standard deviation above zero.
func FuzzReadings(f *testing.F) {
	f.Add([]byte(bench))
	paths, err := filepath.Glob("../../testdata/reference/fit/*.readings.yaml")
	require.NoError(f, err)
	require.NotEmpty(f, paths)
	for _, path := range paths {
		text, err := os.ReadFile(path)
		require.NoError(f, err)
		f.Add(text)
		f.Add([]byte("\ufeff" + strings.ReplaceAll(string(text), "\n", "\r\n")))
	}
	for _, c := range wrongReadingsList() {
		if len(c.text) < 10000 {
			f.Add([]byte(c.text))
		}
	}
	demo, err := buildfile.DemoDocument()
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, data []byte) {
		start := time.Now()
		r, err := buildfile.ParseReadings("r.yaml", data)
		require.Less(t, time.Since(start), soon)
		if err != nil {
			require.ErrorAs(t, err, new(*quantity.Fault))
			screenful(t, err)
			return
		}
		require.NotEmpty(t, r.Readings)
		require.LessOrEqual(t, len(r.Readings), buildfile.MostReadings)
		require.LessOrEqual(t, len(r.Free), buildfile.MostUnknowns)
		for i := range r.Readings {
			one := &r.Readings[i]
			require.Greater(t, one.SD(0), 0.)
			require.False(t, math.IsNaN(one.Value) || math.IsInf(one.Value, 0) || math.IsInf(one.SD(0), 0))
			var overrides []string
			for _, o := range one.With {
				overrides = append(overrides, o.String())
			}
			if _, err := demo.With(overrides...); err != nil {
				require.ErrorAs(t, err, new(*quantity.Fault))
			}
		}
		for i := range r.Candidates {
			require.Greater(t, r.Candidates[i].SD(1), 0.)
		}
	})
}

func ExampleReadReadings() {
	r, err := buildfile.ReadReadings("../../testdata/reference/fit/trainer.readings.yaml")
	if err != nil {
		fmt.Println(err)
		return
	}
	first := &r.Readings[0]
	fmt.Printf("%s: %d readings, the first %s, %.0f rad/s, standard deviation %.1f\n", r.Name, len(r.Readings), first.Figure.Name, first.Value, first.SD(first.Value))
	// Output: Bench evening, trainer: 8 readings, the first no_load_speed, 3999 rad/s, standard deviation 16.0
}
