package buildfile_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/motor"
)

// One mistake that people make, one fault.
func TestOneFaultAsPeopleWrite(t *testing.T) {
	const point = "write a number with a decimal point and without separators, such as "
	for _, c := range []struct {
		name, text, want string
	}{
		{"comma in braces", changed(t, "mass: 26 g", "mass: 0,20 g"), `b.yaml:49:16: piston.mass: "0,20 g": ` + point + "26 g"},
		{"comma at the end of braces", changed(t, "spacer: 0 mm}", "spacer: 0,5 mm}"), `b.yaml:49:56: piston.spacer: "0,5 mm": ` + point + "350 mm"},
		{"comma and tolerance in braces", changed(t, "mass: 26 g", "mass: 0,20 g ± 0,01 g"), `b.yaml:49:16: piston.mass: "0,20 g ± 0,01 g": ` + point + "26 g"},
		{"negative comma in braces", changed(t, "drift: -0.12 %/K", "drift: -0,12 %/K"), `b.yaml:9:40: motor.stator.magnet.drift: "-0,12 %/K": ` + point + "-0.12 %/K"},
		{"comma without unit in braces", changed(t, "ratio: 10.44", "ratio: 10,44"), `b.yaml:45:16: gears.ratio: "10,44": ` + point + "10.44 or 18:1"},
		{"comma of a count in braces", changed(t, "lobes: 1", "lobes: 1,0"), `b.yaml:46:72: sector.lobes: "1,0": ` + point + "28"},
		{"comma in a word", changed(t, "mode: automatic", "mode: 1,2"), `b.yaml:54:17: trigger.mode: found "1,2"; wanted one of automatic, single`},
		{"comma for a mapping", changed(t, "lead: {gauge: 16 AWG, length: 600 mm, insulation: silicone}", "lead: 1,5 mm2"), `b.yaml:39:9: harness.lead: found "1,5 mm2"; wanted a mapping with gauge, area, length, insulation, wall, emissivity, limit`},
		{"comma in a block", changed(t, "capacity: 1300 mAh", "capacity: 1,3 Ah"), `b.yaml:34:13: battery.capacity: "1,3 Ah": ` + point + "1300 mAh"},
		{"comma in brackets", changed(t, "[0.5 mm, 1.0 mm,", "[0,5 mm, 1.0 mm,"), `b.yaml:48:8: pads.0: "0,5 mm": ` + point + "350 mm"},
		{"comma in the last of brackets", changed(t, "3.0 mm]", "3,0 mm]"), `b.yaml:48:40: pads.4: "3,0 mm": ` + point + "350 mm"},
		{"comma in a pair", changed(t, "chemistry: lithium-polymer", "chemistry: custom\n  ocv: [[0 %, 3,0 V], [100 %, 4 V]]"), `b.yaml:32:15: battery.ocv.0: "3,0 V": ` + point + "0.30 V"},
		{"commas in a pair", changed(t, "chemistry: lithium-polymer", "chemistry: custom\n  ocv: [[0 %, 3 V], [99,9 %, 4,0 V]]"), `b.yaml:32:22: battery.ocv.1: "99,9 %": ` + point + "12 %"},

		{"point of a thousand", changed(t, "capacity: 1300 mAh", "capacity: 1.200 mAh"), `b.yaml:34:13: battery.capacity: 1.2 mAh is out of range; wanted 20 mAh to 1e+06 mAh (the point in "1.200 mAh" is a decimal point; a thousand takes none)`},
		{"out of range without it", changed(t, "capacity: 1300 mAh", "capacity: 1.2 mAh"), `b.yaml:34:13: battery.capacity: 1.2 mAh is out of range; wanted 20 mAh to 1e+06 mAh`},
		{"too many turns", changed(t, "turns: 28", "turns: 9999"), "b.yaml:16:12: motor.armature.turns: 9999 is out of range; wanted a whole number from 1 to 1000"},

		{"no blank", changed(t, "turns: 28", "turns:40"), "b.yaml:16:5: no blank behind the colon; wanted turns: 40"},
		{"no blank in a section's first line", changed(t, "slots: 3", "slots:3"), "b.yaml:15:5: no blank behind the colon; wanted slots: 3"},
		{"no blank in a section's last line", changed(t, "    inertia: 12 g cm2\n", "    inertia:12 g cm2\n"), "b.yaml:27:5: no blank behind the colon; wanted inertia: 12 g cm2"},
		{"no blank at the top", changed(t, "name: Woodland", "name:Woodland"), "b.yaml:3:1: no blank behind the colon; wanted name: Woodland club rifle"},
		{"no blank before braces", changed(t, "piston: {mass", "piston:{mass"), "b.yaml:49:1: no blank behind the colon; wanted piston: {mass: 26 g, drag: 5 N, clear: 2.5 mm, s…"},
		{"no blank behind a section's only key", changed(t, "piston: {mass: 26 g, drag: 5 N, clear: 2.5 mm, spacer: 0 mm}", "piston:\n  mass:26 g"), "b.yaml:50:3: piston: no blank behind the colon; wanted mass: 26 g"},
		{"no blank and CR LF", strings.ReplaceAll(changed(t, "turns: 28", "turns:40"), "\n", "\r\n"), "b.yaml:16:5: no blank behind the colon; wanted turns: 40"},

		{"area for a gauge", changed(t, "gauge: 16 AWG", "gauge: 1.5 mm2"), `b.yaml:39:17: harness.lead.gauge: "1.5 mm2": wanted a wire gauge, such as 16 AWG; an area goes to the key area`},
		{"diameter for a gauge", changed(t, "gauge: 16 AWG", "gauge: 1.5 mm"), `b.yaml:39:17: harness.lead.gauge: "1.5 mm": wanted a wire gauge, such as 16 AWG; of a diameter d, give the area π/4·d² with the key area`},
		{"gauge for an area", changed(t, "gauge: 16 AWG", "area: AWG 16"), `b.yaml:39:16: harness.lead.area: "AWG 16" is a wire gauge; wanted an area, such as 20 mm2; a gauge goes to the key gauge`},
		{"area for a wire", changed(t, "wire: 0.65 mm ", "wire: 0.33 mm2 "), `b.yaml:17:11: motor.armature.wire: "0.33 mm2" is an area; wanted a wire size, such as 0.65 mm or 22 AWG; wanted the bare diameter`},
		{"energy for a velocity", changed(t, "max: 400 ft/s", "max: 1.4 J"), `b.yaml:6:41: target.muzzle_velocity.max: "1.4 J" is an energy; wanted a velocity, such as 400 ft/s; an energy goes to target.muzzle_energy`},
		{"energy for a want", changed(t, "muzzle_velocity: {min: 385 ft/s, max: 400 ft/s}", "muzzle_velocity: 1.4 J"), `b.yaml:6:20: target.muzzle_velocity: found "1.4 J"; wanted a mapping with min, max; an energy goes to target.muzzle_energy`},
		{"velocity for a want", changed(t, "muzzle_velocity: {min: 385 ft/s, max: 400 ft/s}", "muzzle_velocity: 400 fps"), `b.yaml:6:20: target.muzzle_velocity: found "400 fps"; wanted a mapping with min, max`},
		{"velocity for an energy", changed(t, "muzzle_velocity: {min: 385 ft/s, max: 400 ft/s}", "muzzle_energy: {min: 385 fps}"), `b.yaml:6:24: target.muzzle_energy.min: "385 fps" is a velocity; wanted an energy, such as 0.9 J; a velocity goes to target.muzzle_velocity`},
		{"turns a minute for a rate", changed(t, "min: 20 /s", "min: 1200 rpm"), `b.yaml:5:23: target.rate_of_fire.min: "1200 rpm" is a speed of rotation; wanted a rate, such as 20 /s; rounds a minute are written 1200 1/min`},
		{"velocity for a spring", changed(t, "rate: 680 N/m", "rate: 120 m/s"), `b.yaml:50:16: spring.rate: "120 m/s" is a velocity; wanted a spring rate, such as 680 N/m; the velocity that a spring is sold by is no rate; press it on scales, or give wire, coil_diameter and coils`},
		{"current for a rating", changed(t, "discharge_rating: 25 ", "discharge_rating: 25 A "), `b.yaml:36:21: battery.discharge_rating: "25 A" has a unit; wanted a discharge rating, such as 25 or 25C; wanted the current as a multiple of the capacity`},
		{"label of a gear set", changed(t, "ratio: 10.44", "ratio: 100:300"), `b.yaml:45:16: gears.ratio: "100:300": wanted the turns of the motor for one of the sector, such as 18:1`},
		{"unknown grade", changed(t, "{remanence: 1.18 T,", "{grade: N41,"), `b.yaml:9:21: motor.stator.magnet.grade: found "N41"; wanted one of N35, N40, N42, N45, N48, N52, Y30, C8; behind an N grade may stand M, H, SH, UH or EH (of another, give remanence and coercivity)`},

		{"battery's voltage", changed(t, "  series: 2\n", "  series: 2\n  voltage: 7.4 V\n"), "b.yaml:33:3: battery.voltage: no such key; the voltage follows from chemistry and series, the cells in a row"},
		{"speed constant", changed(t, "  drag: {constant", "  kv: 2000 rpm\n  drag: {constant"), "b.yaml:28:3: motor.kv: no such key; it follows from magnets and turns; of a motor from the bench, give voltage and no_load_speed below motor.bench"},
		{"weight", changed(t, "mass: 18 g", "weight: 18 g"), "b.yaml:50:41: spring.weight: no such key; did you mean mass?"},
		{"turns of a spring", changed(t, "mass: 18 g", "turns: 30"), "b.yaml:50:41: spring.turns: no such key; did you mean coils?"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := buildfile.Parse("b.yaml", []byte(c.text))
			assert.EqualError(t, err, c.want)
		})
	}
}

// With a blank behind it, a comma is none of a number.
func TestCommasOfYAML(t *testing.T) {
	for _, text := range []string{"mass: 0, 20 g", `mass: 0,"20 g"`, "mass: 0,\n 20 g"} {
		_, err := buildfile.Parse("b.yaml", []byte(changed(t, "mass: 26 g", text)))
		assert.ErrorContains(t, err, `piston.mass: "0" is a bare number`, text)
		assert.ErrorContains(t, err, "piston.20 g: no such key", text)
	}
	for _, text := range []string{"[0.5 mm,1.0 mm,", "[0.5 mm,\n1.0 mm,"} {
		d, err := buildfile.Parse("b.yaml", []byte(changed(t, "[0.5 mm, 1.0 mm,", text)))
		require.NoError(t, err)
		assert.Equal(t, rifleBuild(t).Pads, d.Build.Pads)
	}
	d := rifleWith(t, "battery.chemistry=custom", "battery.ocv=[[0,3.0 V],[1,4.0 V]]")
	assert.Equal(t, []battery.OCVPoint{{Charge: 0, Voltage: 3}, {Charge: 1, Voltage: 4}}, d.Build.Battery.OCVTable, "bare shares")
}

// What stands wrong in the file may be put right by an override, and is written anew.
func TestCommaPutRight(t *testing.T) {
	d, err := buildfile.Parse("b.yaml", []byte(changed(t, "mass: 26 g", "mass: 2,60 g")), "piston.mass=26 g")
	require.NoError(t, err)
	assert.Equal(t, rifleText, string(rereads(t, d)))
}

// A required key by another name leaves its place empty: both are said.
func TestOtherNames(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"spring: {rate:", "spring: {stiffness:", "spring.stiffness: no such key; did you mean rate?"},
		{"bore: 6.05 mm", "diameter: 6.05 mm", "barrel.diameter: no such key; did you mean bore?"},
		{"chemistry:", "type:", "battery.type: no such key; did you mean chemistry?"},
	} {
		_, err := buildfile.Parse("b.yaml", []byte(changed(t, c.old, c.new)))
		assert.ErrorContains(t, err, c.want)
	}
	_, err := rifleDocument("battery.voltage=7.4 V")
	assert.EqualError(t, err, "--set battery.voltage=7.4 V: battery.voltage: no such key; the voltage follows from chemistry and series, the cells in a row", "in an override as well")
}

func TestOtherNamesLeadToKeys(t *testing.T) {
	parent := func(path string) string { return path[:strings.LastIndexByte("."+path, '.')] }
	for path, key := range buildfile.Synonyms {
		assert.False(t, buildfile.Known(path), "%s is a key", path)
		target := key
		if section := strings.TrimSuffix(parent(path), "."); section != "" {
			assert.True(t, buildfile.Known(section), path)
			target = section + "." + key
		}
		assert.True(t, buildfile.Known(target), "%s leads to %s, which is none", path, target)
	}
	for path := range buildfile.Hints {
		assert.False(t, buildfile.Known(path), "%s is a key", path)
		assert.True(t, buildfile.Known(strings.TrimSuffix(parent(path), ".")), path)
	}
}

// The same build in the spellings of the trade.
func TestSpellings(t *testing.T) {
	text := strings.NewReplacer(
		"385 ft/s", "385 fps", "400 ft/s", "400 fps", "min: 20 /s", "min: 20 rps",
		"chemistry: lithium-polymer", "chemistry: LiPo", "9 mohm ", "9 mOhm ", "discharge_rating: 25 ", "discharge_rating: 25C ",
		"16 AWG,", "AWG 16,", "ratio: 10.44", "ratio: 10.44:1", "inertia: 12 g cm2", "inertia: 12 gcm2", "inertia: 30 g cm2", "inertia: 30 g·cm²",
		"3.5 mN m", "3.5 Nmm", "active_braking: false", "active_braking: No", "600 A2 s", "600 A²s", "101.325 kPa", "1013.25 hPa", "2 mohm,", "2 milliohm,",
	).Replace(rifleText)
	require.NotContains(t, text, "ft/s")
	d, err := buildfile.Parse("b.yaml", []byte(text))
	require.NoError(t, err)
	assert.Equal(t, rifleBuild(t), d.Build)
	rifle := rifleWith(t)
	assert.Equal(t, fmt.Sprint(rifle.Target), fmt.Sprint(d.Target))
	assert.Empty(t, buildfile.Differences(rifle, d), "other spellings are no difference")
	assert.Equal(t, text, string(rereads(t, d)), "they stay as they are")
	require.NoError(t, d.Set("piston.mass", "27 g"))
	assert.Equal(t, strings.Replace(text, "mass: 26 g", "mass: 27 g", 1), string(rereads(t, d)))
}

func TestFlags(t *testing.T) {
	for text, want := range map[string]bool{"true": true, "True": true, "TRUE": true, "yes": true, "Yes": true, "on": true, "false": false, "False": false, "no": false, "off": false} {
		d, err := buildfile.Parse("b.yaml", []byte(changed(t, "active_braking: false", "active_braking: "+text)))
		require.NoError(t, err, text)
		assert.Equal(t, want, d.Build.Harness.Switch.MOSFET.ActiveBraking, text)
		rereads(t, d)
		assert.Len(t, buildfile.Differences(rifleWith(t), d), map[bool]int{true: 1, false: 0}[want], text)
	}
	for _, text := range []string{"1", "0", "y", "n", "t", "nein", `"yes"`} {
		_, err := rifleDocument("harness.switch.mosfet.active_braking=" + text)
		assert.ErrorContains(t, err, "wanted true or false", text)
	}
}

func TestChemistriesInShort(t *testing.T) {
	for text, want := range map[string]battery.Chemistry{"lipo": battery.LithiumPolymer, "LiFePO4": battery.LithiumIronPhosphate, "NiMH": battery.NickelMetalHydride} {
		d := rifleWith(t, "battery.chemistry="+text)
		assert.Equal(t, want, d.Build.Battery.Chemistry)
		assert.Equal(t, want.Cutoff(), d.Build.Battery.Cutoff, "what follows from it follows")
		assert.Contains(t, string(rereads(t, d)), "chemistry: "+text+"\n", "it is written back as it was given")
	}
}

// graded is the rifle with a grade in place of its magnets' figures.
func graded(t testing.TB, with string, overrides ...string) *buildfile.Document {
	t.Helper()
	text := changed(t, "{remanence: 1.18 T, drift: -0.12 %/K, permeability: 1.05, ", "{"+with+", ")
	text = strings.Replace(text, ", coercivity: 955 kA/m", "", 1)
	d, err := buildfile.Parse("b.yaml", []byte(text), overrides...)
	require.NoError(t, err)
	return d
}

func TestGrade(t *testing.T) {
	const magnet = "motor.stator.magnet."
	for _, c := range []struct {
		with       string
		magnet     motor.Magnet       // remanence, coercivity, drifts and limit, in the units of the file but for the limit [degC]
		tolerances map[string]float64 // by key
		assumed    map[string]string  // what is said of the keys, "value, why"
	}{
		{"grade: N42", motor.Magnet{Remanence: 1.30, Coercivity: 955e3, Drift: -0.0012, CoercivityDrift: -0.006, Limit: 80},
			map[string]float64{"remanence": 0.02},
			map[string]string{"remanence": "1.3 T ± 0.02 T, by grade N42", "drift": "-0.12 %/K, by grade N42", "coercivity": "955 kA/m, by grade N42", "coercivity_drift": "-0.6 %/K, by grade N42", "limit": "80 degC, by remanence and coercivity"}},
		{"grade: n42sh", motor.Magnet{Remanence: 1.30, Coercivity: 1592e3, Drift: -0.0012, CoercivityDrift: -0.006, Limit: 150},
			map[string]float64{"remanence": 0.02}, map[string]string{"coercivity": "1592 kA/m, by grade N42SH", "limit": "150 degC, by remanence and coercivity"}},
		{"grade: Y30", motor.Magnet{Remanence: 0.385, Coercivity: 195e3, Drift: -0.0020, CoercivityDrift: 0.003, Limit: 250},
			map[string]float64{"remanence": 0.015, "coercivity": 15e3}, map[string]string{"coercivity": "195 kA/m ± 15 kA/m, by grade Y30", "drift": "-0.2 %/K, by grade Y30"}},
		{"grade: C8", motor.Magnet{Remanence: 0.3875, Coercivity: 247.5e3, Drift: -0.0020, CoercivityDrift: 0.003, Limit: 250},
			map[string]float64{"remanence": 0.0025, "coercivity": 12.5e3}, nil},
		{"grade: N42, remanence: 1.2 T", motor.Magnet{Remanence: 1.2, Coercivity: 955e3, Drift: -0.0012, CoercivityDrift: -0.006, Limit: 80},
			nil, map[string]string{"remanence": "", "coercivity": "955 kA/m, by grade N42"}},
		{"remanence: 1.2 T ± 0.1 T, grade: N42", motor.Magnet{Remanence: 1.2, Coercivity: 955e3, Drift: -0.0012, CoercivityDrift: -0.006, Limit: 80},
			map[string]float64{"remanence": 0.1}, map[string]string{"remanence": ""}},
		{"grade: N42, coercivity: 1200 kA/m, drift: -0.11 %/K", motor.Magnet{Remanence: 1.30, Coercivity: 1200e3, Drift: -0.0011, CoercivityDrift: -0.006, Limit: 100},
			map[string]float64{"remanence": 0.02}, map[string]string{"coercivity": "", "drift": "", "remanence": "1.3 T ± 0.02 T, by grade N42"}},
		{"grade: Y30, remanence: 0.55 T", motor.Magnet{Remanence: 0.55, Coercivity: 195e3, Drift: -0.0020, CoercivityDrift: 0.003, Limit: 80},
			map[string]float64{"coercivity": 15e3}, map[string]string{"drift": "-0.2 %/K, by grade Y30"}},
	} {
		t.Run(c.with, func(t *testing.T) {
			d := graded(t, c.with)
			m, want := d.Build.Motor.Stator.Magnet, c.magnet
			for _, f := range [][2]float64{{want.Remanence, m.Remanence}, {want.Coercivity, m.Coercivity}, {want.Drift, m.Drift}, {want.CoercivityDrift, m.CoercivityDrift}, {want.Limit + 273.15, m.Limit}} {
				assert.InEpsilon(t, f[0], f[1], 1e-12)
			}
			assert.Len(t, d.Tolerances, len(c.tolerances))
			for key, want := range c.tolerances {
				assert.InEpsilon(t, want, d.Tolerances[magnet+key], 1e-9, key)
			}
			said := map[string]string{}
			for _, a := range d.Assumed() {
				said[a.Path] = a.Text + ", " + a.Why
			}
			for key, want := range c.assumed {
				assert.Equal(t, want, said[magnet+key], key)
			}
			rereads(t, d)
		})
	}
}

func TestGradeComesAndGoes(t *testing.T) {
	d := rifleWith(t, "motor.stator.magnet.grade=N52")
	assert.Equal(t, rifleBuild(t), d.Build, "given figures win")
	d = rifleWith(t, "motor.stator.magnet.grade=N52", "motor.stator.magnet.remanence=")
	assert.InDelta(t, 1.45, d.Build.Motor.Stator.Magnet.Remanence, 1e-12)
	rereads(t, d)
	n, err := d.With("motor.stator.magnet.remanence=1.18 T", "motor.stator.magnet.grade=")
	require.NoError(t, err)
	assert.Equal(t, rifleBuild(t), n.Build)
	_, err = d.With("motor.stator.magnet.grade=")
	assert.ErrorContains(t, err, "motor.stator.magnet.remanence: missing; wanted a flux density", "neither figure nor grade")
	a, b := graded(t, "grade: N42"), graded(t, "grade: n42, remanence: 1.3 ± 0.02 T")
	for _, d := range buildfile.Differences(a, b) {
		assert.NotEqual(t, "motor.stator.magnet.grade", d.Path, "case is no difference")
	}
	assert.True(t, math.IsNaN(rifleWith(t, "motor.stator.magnet.coercivity=").Build.Motor.Demagnetisation(1, 300).Coercivity), "without a grade it stays unknown")
}

func TestReadFrom(t *testing.T) {
	d, err := buildfile.ReadFrom(strings.NewReader(rifleText), "standard input", "motor.armature.turns=22")
	require.NoError(t, err)
	assert.Equal(t, 22, d.Build.Motor.Armature.Turns)
	_, err = buildfile.ReadFrom(strings.NewReader(changed(t, "turns: 28", "turns: 0")), "standard input")
	assert.ErrorContains(t, err, "standard input:16:12: motor.armature.turns: 0 is out")
	_, err = buildfile.ReadFrom(strings.NewReader(""), "standard input")
	assert.EqualError(t, err, "standard input: empty; wanted a build file (see the demo in the README)")
	_, err = buildfile.ReadFrom(endless{}, "standard input")
	assert.EqualError(t, err, "standard input: larger than 256 KiB; wanted a build file, which has a few")
}

// endless never ends.
type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = '#'
	}
	return len(p), nil
}

// A file at each bound is read, one beyond is refused.
func TestBounds(t *testing.T) {
	nested := func(depth int) string { // a want is two levels deep
		return rifleText + "pad: " + strings.Repeat("[", depth) + strings.Repeat("]", depth) + "\n"
	}
	marks := func(n int) string { return rifleText + "# " + strings.Repeat(",", n) + "\n" }
	have := 0
	for have = 0; ; have++ {
		if _, err := buildfile.Parse("b.yaml", []byte(marks(5000-have))); err == nil {
			break
		}
		require.Less(t, have, 1000)
	}
	count := 0
	for i, c := range rifleText {
		dash := c == '-' && (rifleText[i+1] == ' ' || rifleText[i+1] == '\n')
		if dash || strings.ContainsRune("[{,:?!&*|<>%\t", c) {
			count++
		}
	}
	assert.Equal(t, count, have, "what the rifle has of its own")
	for _, c := range []struct {
		name     string
		at, over string
		want     string // of the one beyond
		fault    string // of the one at the bound; "": it is right
	}{
		{"bytes", rifleText + strings.Repeat("#", 256<<10-len(rifleText)), rifleText + strings.Repeat("#", 256<<10-len(rifleText)+1), "larger than 256 KiB", ""},
		{"brackets", nested(32), nested(33), "nested deeper than 32", "pad: no such key"},
		{"indentation", indented(32), indented(33), "nested deeper than 32", "no such key"},
		{"marks", marks(5000 - count), marks(5001 - count), "more than 5000 colons", ""},
		{"blanks", rifleText + "#" + strings.Repeat(" ", 1000) + "x\n", rifleText + "#" + strings.Repeat(" ", 1001) + "x\n", "more than 1000 blanks in a row", ""},
		{"name", changed(t, "Woodland club rifle", strings.Repeat("n", 120)), changed(t, "Woodland club rifle", strings.Repeat("n", 121)), "has 121 bytes; wanted a name of at most 120", ""},
		{"quantity", changed(t, "turns: 28", "turns: "+strings.Repeat("0", 98)+"28"), changed(t, "turns: 28", "turns: "+strings.Repeat("0", 99)+"28"), "101 characters are no quantity", ""},
		{"count", changed(t, "turns: 28", "turns: 1000000000"), changed(t, "turns: 28", "turns: 1000000001"), "is no count of anything in a gun", "is out of range"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := buildfile.Parse("b.yaml", []byte(c.at))
			if c.fault == "" {
				assert.NoError(t, err)
			} else {
				assert.ErrorContains(t, err, c.fault)
				assert.NotContains(t, err.Error(), c.want)
			}
			_, err = buildfile.Parse("b.yaml", []byte(c.over))
			assert.ErrorContains(t, err, c.want)
		})
	}
}
