package buildfile_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// requiredKeys are those of the demo without a default.
var requiredKeys = []string{
	"motor.stator.magnet.remanence", "motor.stator.magnet.thickness", "motor.stator.magnet.arc",
	"motor.armature.slots", "motor.armature.turns", "motor.armature.wire", "motor.armature.rotor_diameter", "motor.armature.stack_length",
	"motor.armature.slot_opening", "motor.armature.tooth_width", "motor.armature.mean_turn", "motor.armature.inertia",
	"battery.chemistry", "battery.series", "battery.capacity", "battery.resistance",
	"harness.lead.length", "harness.connectors.0.resistance", "harness.connectors.1.resistance", "harness.switch.mosfet.resistance", "harness.fuse.rating",
	"sector.module", "sector.teeth", "sector.full_teeth",
	"rack.taken_down.0.tooth", "rack.taken_down.0.depth",
	"piston.mass", "cylinder.bore", "barrel.bore", "barrel.length", "pellet.mass",
}

func TestRequiredKeys(t *testing.T) {
	for _, key := range requiredKeys {
		t.Run(key, func(t *testing.T) {
			_, err := buildfile.DemoDocument(key + "=")
			require.Error(t, err)
			screenful(t, err)
			parent := key[:strings.LastIndexByte(key, '.')]
			named := strings.Contains(err.Error(), ": "+key+": missing") ||
				strings.Contains(err.Error(), ": "+parent+": missing; wanted a mapping with "+key[len(parent)+1:])
			assert.True(t, named, "%v names neither the key nor the mapping left empty with it", err)
			assert.Contains(t, err.Error(), "demo.yaml (embedded):", "the place is the nearest there is")
		})
	}
	for _, section := range []string{"motor", "motor.stator", "motor.stator.magnet", "motor.armature", "battery", "harness", "harness.lead", "sector", "piston", "cylinder", "barrel", "pellet"} {
		t.Run(section, func(t *testing.T) {
			_, err := rifleDocument(section + "=")
			require.Error(t, err)
			screenful(t, err)
			assert.Contains(t, err.Error(), ": "+section)
			assert.Contains(t, err.Error(), "missing; wanted")
		})
	}
}

func TestOneOfTwoIsRequired(t *testing.T) {
	for _, c := range []struct{ key, other string }{
		{"motor.stator.air_gap", "motor.stator.bore"},
		{"harness.lead.gauge", "harness.lead.area"},
		{"harness.switch.mosfet", "harness.switch.contacts"},
		{"harness.switch", "harness.switch.contacts"},
		{"gears.ratio", "gears.teeth"},
		{"spring.rate", "spring.wire, spring.coil_diameter, spring.coils"},
		{"spring.preload", "spring.free_length, spring.installed_length"},
	} {
		t.Run(c.key, func(t *testing.T) {
			_, err := rifleDocument(c.key + "=")
			require.ErrorContains(t, err, ": "+c.key, "the key")
			require.ErrorContains(t, err, "missing; wanted it, or "+c.other, "what may stand for it")
			assert.Len(t, strings.Split(err.Error(), "\n"), 1)
		})
	}
}

func TestOptionalKeysMayGo(t *testing.T) {
	d := rifleWith(t)
	for _, leaf := range buildfile.Leaves() {
		if _, found := d.Position(leaf.Path); !found || leaf.Required || isAlternative(leaf.Path) {
			continue
		}
		t.Run(leaf.Path, func(t *testing.T) {
			n, err := d.With(leaf.Path + "=")
			if leaf.Path == "pads.0" {
				require.NoError(t, err)
				assert.Len(t, n.Build.Pads, 4)
				return
			}
			require.NoError(t, err)
			assert.NoError(t, n.Build.Validate())
		})
	}
}

func isAlternative(path string) bool {
	for _, k := range []string{"motor.stator.air_gap", "harness.lead.gauge", "harness.switch.mosfet", "gears.ratio", "spring.rate", "spring.preload"} {
		if path == k || strings.HasPrefix(path, k+".") {
			return true
		}
	}
	return false
}

func TestNonsenseIsRefusedAtEveryKey(t *testing.T) {
	for _, file := range []string{"demo.yaml", builds + "/ferrite.yaml", builds + "/two-lobe.yaml"} {
		d, err := buildfile.Read(file)
		require.NoError(t, err)
		for _, leaf := range buildfile.Leaves() {
			if _, found := d.Position(leaf.Path); !found {
				continue
			}
			for _, value := range []string{"nan", ".nan", "-1e300", "abc", "1e300 m", "-inf", "1e400", "~", "&a 1", "[1 mm]"} {
				if leaf.Path == "name" {
					continue // whatever prints is a name
				}
				text := leaf.Path + "=" + value
				_, err := d.With(text)
				require.Error(t, err, "%s: %s", file, text)
				screenful(t, err)
				require.Contains(t, err.Error(), leaf.Path+": ", "%s names the key", text)
				require.Contains(t, err.Error(), "--set "+leaf.Path, "%s is the place", text)
			}
			if !leaf.Quantity {
				continue
			}
			// A unit of its own, but a number far out.
			_, unit, _ := strings.Cut(leaf.Kind.Format(1), " ")
			for _, number := range []string{"-1e300", "1e300", "-4000"} {
				n, err := d.With(leaf.Path + "=" + strings.TrimSpace(number+" "+unit))
				if err != nil {
					screenful(t, err)
					_, after, _ := strings.Cut(err.Error(), ": ")
					parent := leaf.Path[:strings.LastIndexByte(leaf.Path, '.')]
					require.True(t, strings.HasPrefix(after, parent+".") || strings.HasPrefix(after, parent+": min "), "%s: %v", leaf.Path, err)
					continue
				}
				require.NoError(t, n.Build.Validate(), leaf.Path)
				require.NoError(t, n.Target.Validate(buildfile.FindFigure), leaf.Path)
				require.True(t, strings.HasPrefix(leaf.Path, "target."), "%s takes %s %s", leaf.Path, number, unit)
			}
		}
	}
}

func TestNonsenseInTheFile(t *testing.T) {
	d, err := buildfile.Parse("b.yaml", []byte(rifleText))
	require.NoError(t, err)
	seen := 0
	for _, leaf := range buildfile.Leaves() {
		place, found := d.Position(leaf.Path)
		if !found {
			continue
		}
		seen++
		for _, value := range []string{"nan", "-1e300", "abc", `""`} {
			if leaf.Path == "name" && value != `""` {
				continue // whatever prints is a name
			}
			_, err := buildfile.Parse("b.yaml", []byte(d.Replaced(leaf.Path, value)))
			require.Error(t, err, "%s: %s", leaf.Path, value)
			screenful(t, err)
			require.True(t, strings.HasPrefix(err.Error(), place.String()+": "+leaf.Path+": "), "%s: %s: %v", leaf.Path, value, err)
			require.Contains(t, err.Error(), "wanted ")
			require.NotContains(t, err.Error(), "\n", "one mistake, one fault")
		}
	}
	assert.Greater(t, seen, 90, "the rifle has so many keys")
}

// pairs are the keys of which one is given: in the rifle's text, as
// overrides, and how a build shows that it has the other.
var pairs = []struct {
	key, other string   // of which one stands in the rifle, and the other
	text       string   // of the rifle beside which the other is put
	beside     string   // the other
	set        []string // overrides that give the other
	back       string   // override that gives the first again
	has        func(b *drivetrain.Build) (first, other bool)
}{
	{"motor.stator.air_gap", "motor.stator.bore", "    air_gap: 0.40 mm\n", "    bore: 16 mm\n", []string{"motor.stator.bore=16 mm"}, "motor.stator.air_gap=0.40 mm",
		func(b *drivetrain.Build) (bool, bool) { return b.Motor.Stator.AirGap != 0, b.Motor.Stator.Bore != 0 }},
	{"harness.lead.gauge", "harness.lead.area", "gauge: 16 AWG, ", "area: 1 mm2, ", []string{"harness.lead.area=1 mm2"}, "harness.lead.gauge=16 AWG",
		func(b *drivetrain.Build) (bool, bool) {
			return b.Harness.Lead.Area > 1.2e-6, b.Harness.Lead.Area == 1e-6
		}},
	{"harness.switch.mosfet", "harness.switch.contacts", "    mosfet: {resistance: 2 mohm, drift: 0.5 %/K, to_ambient: 40 K/W, active_braking: false}\n", "    contacts: {material: copper, force: 1.5 N}\n",
		[]string{"harness.switch.contacts={material: copper, force: 1.5 N}"}, "harness.switch.mosfet.resistance=2 mohm",
		func(b *drivetrain.Build) (bool, bool) {
			return b.Harness.Switch.MOSFET != nil, b.Harness.Switch.Contacts != nil
		}},
	{"gears.ratio", "gears.teeth", "ratio: 10.44, ", "teeth: {pinion: 10, bevel: 22, bevel_pinion: 11, spur: 29, spur_pinion: 10, sector: 18}, ",
		[]string{"gears.teeth={pinion: 10, bevel: 22, bevel_pinion: 11, spur: 29, spur_pinion: 10, sector: 18}"}, "gears.ratio=10.44",
		func(b *drivetrain.Build) (bool, bool) { return b.Gears.Ratio != 0, b.Gears.Teeth != nil }},
	{"spring.rate", "spring.wire", "rate: 680 N/m, ", "wire: 1.3 mm, coil_diameter: 11.8 mm, coils: 34, ",
		[]string{"spring.wire=1.3 mm", "spring.coil_diameter=11.8 mm", "spring.coils=34"}, "spring.rate=680 N/m",
		func(b *drivetrain.Build) (bool, bool) {
			return b.Spring.Rate != 0, b.Spring.Wire != 0 && b.Spring.Modulus == 79.3e9
		}},
	{"spring.preload", "spring.free_length", "preload: 45 mm, ", "free_length: 150 mm, installed_length: 105 mm, ",
		[]string{"spring.free_length=150 mm", "spring.installed_length=105 mm"}, "spring.preload=45 mm",
		func(b *drivetrain.Build) (bool, bool) { return b.Spring.Preload != 0, b.Spring.FreeLength != 0 }},
}

func TestAlternatives(t *testing.T) {
	for _, c := range pairs {
		t.Run(c.key, func(t *testing.T) {
			_, err := buildfile.Parse("b.yaml", []byte(changed(t, c.text, c.text+c.beside)))
			require.ErrorContains(t, err, ": "+c.other+": stands beside "+c.key+" (b.yaml:", "the second is the fault")
			assert.Len(t, strings.Split(err.Error(), "\n"), 1)
			_, err = buildfile.Parse("b.yaml", []byte(changed(t, c.text, c.beside+c.text)))
			require.ErrorContains(t, err, ": "+c.key+": stands beside "+c.other+" (b.yaml:", "in whichever order")
			assert.Len(t, strings.Split(err.Error(), "\n"), 1)

			d := rifleWith(t, c.set...)
			first, other := c.has(d.Build)
			assert.False(t, first)
			assert.True(t, other)
			_, found := d.Position(c.key)
			assert.False(t, found)
			rereads(t, d)

			d, err = d.With(c.back)
			require.NoError(t, err)
			first, other = c.has(d.Build)
			assert.True(t, first)
			assert.False(t, other)
			rereads(t, d)
		})
	}
}

// rereads checks that the document's text says what its build is.
func rereads(t testing.TB, d *buildfile.Document) []byte {
	t.Helper()
	text, _ := reread(t, d)
	return text
}

// reread also returns the document that the text gives.
func reread(t testing.TB, d *buildfile.Document) ([]byte, *buildfile.Document) {
	t.Helper()
	text, err := d.Bytes()
	require.NoError(t, err)
	n, err := buildfile.Parse("again.yaml", text)
	require.NoError(t, err, "%s", text)
	require.Equal(t, d.Build, n.Build, "%s", text)
	require.Equal(t, d.Tolerances, n.Tolerances)
	require.Equal(t, fmt.Sprint(d.Target), fmt.Sprint(n.Target), "NaN is printed, since it equals nothing")
	require.Equal(t, d.Assumed(), n.Assumed())
	return text, n
}

func TestOverrides(t *testing.T) {
	const teeth = "{pinion: 10, bevel: 22, bevel_pinion: 11, spur: 29, spur_pinion: 10, sector: 18}"
	for _, c := range []struct {
		name      string
		overrides []string
		check     func(*testing.T, *drivetrain.Build)
	}{
		{"value", []string{"motor.armature.turns=22"}, func(t *testing.T, b *drivetrain.Build) { assert.Equal(t, 22, b.Motor.Armature.Turns) }},
		{"blanks around", []string{" spring.rate = 2400 N/m "}, func(t *testing.T, b *drivetrain.Build) { assert.Equal(t, 2400., b.Spring.Rate) }},
		{"last wins", []string{"spring.rate=2400 N/m", "spring.rate=900 N/m"}, func(t *testing.T, b *drivetrain.Build) { assert.Equal(t, 900., b.Spring.Rate) }},
		{"equals sign in a name", []string{"name=a=b"}, func(t *testing.T, b *drivetrain.Build) { assert.Equal(t, "a=b", b.Name) }},
		{"word", []string{"trigger.mode=single"}, func(t *testing.T, b *drivetrain.Build) { assert.Equal(t, drivetrain.Single, b.Trigger.Mode) }},
		{"word in a number's place", []string{"motor.commutation=20 %", "motor.commutation=auto"}, func(t *testing.T, b *drivetrain.Build) {
			assert.EqualValues(t, motor.DerivedCommutation, b.Motor.Commutation)
		}},
		{"flag", []string{"harness.switch.mosfet.active_braking=true"}, func(t *testing.T, b *drivetrain.Build) { assert.True(t, b.Harness.Switch.MOSFET.ActiveBraking) }},
		{"key taken away", []string{"cylinder.port="}, func(t *testing.T, b *drivetrain.Build) {
			assert.Zero(t, b.Cylinder.Port)
			assert.Equal(t, 20e-6, b.Cylinder.PortArea, "it stands there all the same")
		}},
		{"part taken away", []string{"harness.fuse=", "rack="}, func(t *testing.T, b *drivetrain.Build) {
			assert.Nil(t, b.Harness.Fuse)
			assert.Nil(t, b.Rack)
		}},
		{"key that is not there", []string{"tappet=", "gears.churning="}, func(t *testing.T, b *drivetrain.Build) { assert.Equal(t, rifleBuild(t), b) }},
		{"replaced member", []string{"harness.connectors.0.resistance=1 mohm"}, func(t *testing.T, b *drivetrain.Build) {
			require.Len(t, b.Harness.Connectors, 2)
			assert.Equal(t, 0.001, b.Harness.Connectors[0].Resistance)
			assert.Equal(t, 0.0008, b.Harness.Connectors[1].Resistance)
		}},
		{"appended member", []string{"harness.connectors.2.resistance=1 mohm"}, func(t *testing.T, b *drivetrain.Build) {
			require.Len(t, b.Harness.Connectors, 3)
			assert.Equal(t, 0.001, b.Harness.Connectors[2].Resistance)
			assert.Equal(t, 40., b.Harness.Connectors[2].Heat.ToLead)
		}},
		{"member in braces", []string{"harness.connectors.1={resistance: 1 mohm, limit: 90 degC}"}, func(t *testing.T, b *drivetrain.Build) {
			assert.InDelta(t, 363.15, b.Harness.Connectors[1].Limit, 1e-12)
		}},
		{"member taken away", []string{"harness.connectors.0="}, func(t *testing.T, b *drivetrain.Build) { assert.Len(t, b.Harness.Connectors, 1) }},
		{"all members taken away", []string{"harness.connectors.0=", "harness.connectors.0="}, func(t *testing.T, b *drivetrain.Build) { assert.Empty(t, b.Harness.Connectors) }},
		{"plain member", []string{"pads.1=4 mm", "pads.5=5 mm", "pads.0="}, func(t *testing.T, b *drivetrain.Build) {
			assert.Equal(t, []float64{0.004, 0.0015, 0.002, 0.003, 0.005}, b.Pads)
		}},
		{"list", []string{"pads=[0.5 mm]"}, func(t *testing.T, b *drivetrain.Build) { assert.Equal(t, []float64{0.0005}, b.Pads) }},
		{"list over lines", []string{"pads=[0.5 mm, # thin\n 1 mm]"}, func(t *testing.T, b *drivetrain.Build) { assert.Equal(t, []float64{0.0005, 0.001}, b.Pads) }},
		{"empty list", []string{"pads=[]"}, func(t *testing.T, b *drivetrain.Build) { assert.Empty(t, b.Pads) }},
		{"list made", []string{"pads=", "pads.0=1 mm"}, func(t *testing.T, b *drivetrain.Build) { assert.Equal(t, []float64{0.001}, b.Pads) }},
		{"member made", []string{"rack.taken_down=", "rack.taken_down.0.tooth=3", "rack.taken_down.0.depth=1 mm"}, func(t *testing.T, b *drivetrain.Build) {
			assert.Equal(t, []drivetrain.TakenDown{{Tooth: 3, Depth: 0.001}}, b.Rack.TakenDown)
		}},
		{"table", []string{"battery.chemistry=custom", "battery.ocv=[[0 %, 3 V], [100 %, 4 V]]", "battery.ocv.0.1=3.1 V"}, func(t *testing.T, b *drivetrain.Build) {
			require.Len(t, b.Battery.OCVTable, 2)
			assert.Equal(t, 3.1, b.Battery.OCVTable[0].Voltage)
		}},
		{"mapping", []string{"gears.teeth=" + teeth}, func(t *testing.T, b *drivetrain.Build) { assert.InEpsilon(t, 10.44, b.Gears.MotorTurns(), 1e-15) }},
		{"part made", []string{"tappet.from=100 deg", "tappet.to=165 deg", "tappet.work=45 mJ"}, func(t *testing.T, b *drivetrain.Build) {
			require.NotNil(t, b.Tappet)
			assert.Equal(t, 0.045, b.Tappet.Work)
		}},
		{"tolerance", []string{"spring.rate=680 ± 20 N/m"}, func(t *testing.T, b *drivetrain.Build) { assert.Equal(t, 680., b.Spring.Rate) }},
		{"brush limit", []string{"motor.stator.brush.limit=140 degC", "motor.heat.limit=", "motor.heat.class=H"}, func(t *testing.T, b *drivetrain.Build) {
			assert.InDelta(t, 453.15, b.Motor.Heat.Limit, 1e-12)
			assert.InDelta(t, 413.15, b.Motor.Stator.Brush.Limit, 1e-12)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := rifleWith(t, c.overrides...)
			c.check(t, d.Build)
			rereads(t, d)
		})
	}
}

func TestOverridesRefused(t *testing.T) {
	for _, c := range []struct {
		name, override, want string
	}{
		{"typo", "motor.armature.turn=22", "--set motor.armature.turn=22: motor.armature.turn: no such key; did you mean turns?"},
		{"elsewhere", "motor.ratio=10", "--set motor.ratio=10: motor.ratio: no such key here; it is known as gears.ratio"},
		{"unknown", "zzzzzz=1", "--set zzzzzz=1: zzzzzz: no such key; known here: name, target"},
		{"below a value", "motor.armature.turns.x=1", "motor.armature.turns has no keys below it"},
		{"empty part", "motor..turns=1", "--set motor..turns=1: motor.: no such key"},
		{"no equals sign", "motor.armature.turns", "--set motor.armature.turns: wanted key.path=value, such as motor.armature.turns=22"},
		{"no key", "=22", "wanted key.path=value"},
		{"nothing", "", "wanted key.path=value"},
		{"number too far", "harness.connectors.3.resistance=1 mohm", "harness.connectors has 2 members, numbered from 0"},
		{"nothing to take away", "harness.connectors.2=", "harness.connectors has 2 members, numbered from 0"},
		{"negative number", "harness.connectors.-1.resistance=1 mohm", "harness.connectors is a list, whose members are numbered from 0"},
		{"other spelling of a number", "harness.connectors.01.resistance=1 mohm", "harness.connectors is a list, whose members are numbered from 0"},
		{"huge number", "harness.connectors.99999999999999999999.resistance=1 mohm", "numbered from 0"},
		{"word for a number", "harness.connectors.first.resistance=1 mohm", "harness.connectors is a list, whose members are numbered from 0"},
		{"third of a pair", "battery.ocv.0.2=1 V", "battery.ocv.0 is a list, whose members"},
		{"value for a list", "pads=1 mm", `--set pads=1 mm: pads: found "1 mm"; wanted a list, such as [0.5 mm, 1.0 mm]`},
		{"bad member", "pads=[1 mm, 1 g]", `--set pads=[1 mm, 1 g]: pads.1: "1 g" is a mass; wanted a length`},
		{"member of another shape", "harness.connectors.0=0", `harness.connectors.0: found "0"; wanted a mapping with resistance`},
		{"row of another shape", "battery.ocv=[1, [2, 3]]", `battery.ocv.0: found "1"; wanted a pair [charge, voltage]`},
		{"pad of another shape", "pads=[[1 mm], 1 mm]", "pads.0: found a list; wanted a length"},
		{"unbalanced", "pads=[1 mm", "--set pads=[1 mm: pads: not YAML here"},
		{"anchor", "pads=[&a 1 mm]", "--set pads=[&a 1 mm]: pads.0: an anchor or alias"},
		{"duplicate", "gears.teeth={pinion: 10, pinion: 11}", ": gears.teeth.pinion: stands here a second time"},
		{"two keys", "pads=[1 mm]\nname: x", "pads: can't be read as one value"},
		{"brackets", "pads=" + strings.Repeat("[", 5000), "pads: nested deeper than 32"},
		{"long", "pads=" + strings.Repeat("[1 mm],", 50000), "pads: larger than 256 KiB"},
		{"long value", "piston.mass=" + strings.Repeat("1", 1<<20), "piston.mass: \"1111"},
		{"control characters", "name=a\x1b[31m", "holds characters that don't print"},
		{"invalid UTF-8", "name=a\xff", "holds characters that don't print"},
		{"two lines", "name=a\nb", "holds characters that don't print"},
		{"bad tolerance", "spring.rate=680 N/m ± 2 g", "is a mass"},
		{"half of another spring", "spring.wire=1.3 mm", "spring.coil_diameter: missing; wanted it beside spring.wire"},
		{"half of other lengths", "spring.free_length=150 mm", "spring.installed_length: missing; wanted it beside spring.free_length"},
		{"out of range", "motor.armature.turns=0", "--set motor.armature.turns=0: motor.armature.turns: 0 is out of range"},
		{"too long to show", "name=" + strings.Repeat("ä", 200), "--set name=" + strings.Repeat("ä", 55) + "…: name: has 400 bytes"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := rifleDocument(c.override)
			require.ErrorContains(t, err, c.want)
			screenful(t, err)
		})
	}
	_, err := rifleDocument("motor.armature.turn=22", "pads=1", "x")
	assert.Len(t, quantity.Faults(err), 2, "all that can't be put in is reported; what could is not looked at yet")
}

func TestTolerances(t *testing.T) {
	d := rifleWith(t, "spring.rate=680 ± 20 N/m", "piston.mass=26 g +/- 2 %", "harness.connectors.1.resistance=0.8 mohm ± 0.1 mohm", "pads.0=0.5 mm ± 0.05 mm", "pellet.mass=0.2 g ± 0 g", "motor.armature.wire=22 AWG ± 1 %")
	require.Len(t, d.Tolerances, 5, "a tolerance of zero is none")
	for key, want := range map[string]float64{
		"spring.rate": 20, "piston.mass": 0.52e-3, "harness.connectors.1.resistance": 0.1e-3, "pads.0": 0.05e-3, "motor.armature.wire": 0.006438e-3,
	} {
		assert.InEpsilon(t, want, d.Tolerances[key], 1e-4, key)
	}
	rereads(t, d)
}

// absent are the keys that mean "none" or "not known" where they are missing, or
// that stand for others.
var absent = map[string]string{
	"motor.stator.magnet.grade": "the figures stand", "motor.stator.magnet.coercivity": "not known", "motor.stator.bore": "the air gap stands", "motor.stator.length": "not known",
	"motor.armature.slot_area": "not known", "motor.armature.inductance": "computed", "motor.heat.class": "the limit stands",
	"battery.discharge_rating": "not known", "harness.lead.area": "the gauge stands", "cylinder.port": "none", "cylinder.port_area": "no port",
	"sector.engaged_angle": "by tooth counts", "rack.pickup_offset": "not measured", "trigger.rounds": "as long as the trigger is held",
	"harness.switch.mosfet.brake_resistance": "the channel's own",
	"spring.wire":                            "the rate stands", "spring.coil_diameter": "the rate stands", "spring.coils": "the rate stands", "spring.modulus": "the rate stands",
	"spring.free_length": "the preload stands", "spring.installed_length": "the preload stands",
}

// bare is the least a build file holds, with a part of each kind.
const bare = `motor:
  stator: {magnet: {remanence: 1.18 T, thickness: 2.0 mm, arc: 120 deg}, air_gap: 0.40 mm}
  armature: {slots: 3, turns: 28, wire: 0.65 mm, rotor_diameter: 15.2 mm, stack_length: 22 mm, slot_opening: 2.0 mm, tooth_width: 4.4 mm, mean_turn: 76 mm, inertia: 12 g cm2}
battery: {chemistry: lithium-polymer, series: 2, capacity: 1300 mAh, resistance: 9 mohm}
harness:
  lead: {gauge: 16 AWG, length: 600 mm}
  connectors: [{resistance: 0.8 mohm}]
  switch: {mosfet: {resistance: 2 mohm}}
  fuse: {rating: 25 A}
gears: {ratio: 10.44}
sector: {module: 1.0 mm, teeth: 16, full_teeth: 24}
rack: {}
piston: {mass: 26 g}
spring: {rate: 680 N/m, preload: 45 mm}
cylinder: {bore: 23.8 mm}
barrel: {bore: 6.05 mm, length: 370 mm}
pellet: {mass: 0.20 g}
`

func TestAssumed(t *testing.T) {
	d, err := buildfile.Parse("bare.yaml", []byte(bare))
	require.NoError(t, err)
	assumed := map[string]buildfile.Assumption{}
	var order []string
	all := d.Assumed()
	// What the release follows from stands last; these two keys stay empty in the build.
	last := all[len(all)-2:]
	assert.Equal(t, buildfile.Assumption{Path: "rack.pickup_offset", Text: "0 mm", Why: "not measured: the contact is taken to be flush, whatever the spacer"}, last[0])
	assert.Equal(t, buildfile.Assumption{Path: "sector.engaged_angle", Text: "256.34 deg", Why: "by the teeth: where the last one that pulls lets the rack go (D2)"}, last[1]) // the cut-off's, 10° before
	assert.Nil(t, d.Build.Rack.PickupOffset)
	assert.Zero(t, d.Build.Sector.EngagedAngle)
	for _, a := range all[:len(all)-2] {
		assert.NotContains(t, assumed, a.Path, "once each")
		assert.NotEmpty(t, a.Why, a.Path)
		assumed[a.Path] = a
		order = append(order, a.Path)
	}
	var want []string // in the order of the schema
	for _, leaf := range buildfile.Leaves() {
		_, given := d.Position(leaf.Path)
		a, is := assumed[leaf.Path]
		switch {
		case given:
			assert.False(t, is, "%s is given", leaf.Path)
			continue
		case absent[leaf.Path] != "":
			assert.False(t, is, "%s: %s", leaf.Path, absent[leaf.Path])
			continue
		}
		part, _, _ := strings.Cut(leaf.Path, ".")
		if part == "target" || part == "tappet" || part == "pads" || strings.HasPrefix(leaf.Path, "battery.ocv") ||
			strings.HasPrefix(leaf.Path, "rack.taken_down") || strings.HasPrefix(leaf.Path, "harness.switch.contacts") || strings.HasPrefix(leaf.Path, "motor.bench") || strings.HasPrefix(leaf.Path, "gears.teeth") {
			assert.False(t, is, "%s lies in what is not there", leaf.Path)
			continue
		}
		require.True(t, is, "%s is neither given, nor assumed, nor known to be absent", leaf.Path)
		want = append(want, leaf.Path)
		if leaf.Quantity && (leaf.Alias == "" || a.Text != leaf.Alias) {
			_, err := quantity.Parse(a.Text, leaf.Kind)
			assert.NoError(t, err, "%s: the text has its unit", leaf.Path)
		}
	}
	assert.Equal(t, want, order)

	left := maps.Clone(assumed)
	for path, text := range map[string]string{
		"name": "Unnamed build", "motor.stator.magnet.drift": "-0.12 %/K", "motor.stator.magnet.coercivity_drift": "-0.6 %/K", "motor.stator.magnet.limit": "80 degC",
		"motor.stator.brush.limit": "130 degC", "motor.heat.limit": "155 degC", "motor.commutation": "auto", "battery.activation_energy": "20 kJ/mol", "battery.reserve": "20 %", "battery.cutoff": "3 V",
		"battery.heat.cell": "32.5 J/K", "battery.heat.to_ambient": "15 K/W", "battery.heat.limit": "60 degC", "harness.lead.insulation": "PVC", "harness.lead.wall": "0.6 mm",
		"harness.lead.emissivity": "90 %", "harness.lead.limit": "70 degC", "harness.connectors.0.heat.capacity": "1 J/K", "harness.connectors.0.heat.to_lead": "40 K/W",
		"harness.connectors.0.heat.to_ambient": "100 K/W", "harness.connectors.0.limit": "105 degC", "harness.switch.mosfet.flyback_drop": "0.7 V", "harness.switch.mosfet.active_braking": "false",
		"harness.switch.mosfet.brake_delay": "0.001 s", "harness.switch.mosfet.junction_to_case": "1 K/W", "harness.switch.mosfet.heat": "1.5 J/K",
		"harness.switch.mosfet.to_ambient": "40 K/W", "harness.switch.mosfet.limit": "150 degC", "harness.fuse.melting": "625 A2 s", "gears.churning": "0 N m s", "sector.removed": "0",
		"sector.pressure_angle": "20 deg", "sector.addendum": "1", "sector.face_width": "5.5 mm", "rack.teeth": "16", "rack.material": "polymer", "rack.modulus": "2.8 GPa", "rack.strength": "0.065 GPa",
		"rack.face_width": "5.5 mm", "rack.addendum": "1 mm", "rack.tip_clearance": "0.25 mm", "rack.backlash": "0.1 mm", "rack.lift": "0 mm", "rack.body_stiffness": "2e+06 N/m",
		"trigger.mode": "automatic", "trigger.start": "0 deg", "trigger.cutoff": "266.342 deg", "ambient.temperature": "20 degC", "ambient.pressure": "101.325 kPa",
		"motor.stator.magnet.permeability": "1.05", "motor.stator.carter": "1.1", "motor.stator.leakage": "10 %", "motor.stator.brush.drop": "0.3 V", "motor.stator.brush.arc": "15 deg",
		"motor.armature.strands": "1", "motor.armature.saturation": "1.8 T", "motor.armature.stacking": "95 %", "motor.drag.constant": "3.5 mN m", "motor.drag.viscous": "2e-06 N m s",
		"motor.heat.winding": "12 J/K", "motor.heat.can": "55 J/K", "motor.heat.winding_to_can": "3.5 K/W", "motor.heat.can_to_ambient": "15 K/W",
		"battery.parallel": "1", "battery.state_of_charge": "100 %", "harness.switch.mosfet.drift": "0.5 %/K", "gears.efficiency": "80 %", "gears.inertia": "30 g cm2", "sector.lobes": "1",
		"piston.drag": "5 N", "piston.clear": "2.5 mm", "piston.spacer": "0 mm", "spring.mass": "18 g", "cylinder.dead_volume": "1 cm3", "cylinder.nozzle": "4.8 mm", "cylinder.discharge": "0.8",
		"cylinder.seal_leak": "0.05 mm2", "cylinder.wall_heat": "1", "barrel.breech_volume": "0.25 cm3", "barrel.clearance_discharge": "0.8", "barrel.air": "moving", "barrel.wall_heat": "1",
		"piston.drag_pull": "5 N", "piston.seal_area": "0 mm2", "spring.waves": "true",
		"pellet.diameter": "5.95 mm", "pellet.hop_force": "1 N", "pellet.hop_length": "10 mm", "pellet.barrel_drag": "0.02 N",
	} {
		assert.Equal(t, text, assumed[path].Text, path)
		delete(left, path)
	}
	assert.Empty(t, left, "every default is held against its text")
	assert.Empty(t, slices.DeleteFunc(rifleWith(t).Assumed(), func(a buildfile.Assumption) bool {
		return assumed[a.Path] == a || a.Path == "harness.connectors.1.limit" || strings.HasPrefix(a.Path, "harness.connectors.1.heat") || strings.HasPrefix(a.Path, "rack.") || a.Path == "harness.lead.limit" || a.Path == "sector.engaged_angle"
	}))
}

func TestAssumedElsewhere(t *testing.T) {
	find := func(d *buildfile.Document, path string) string {
		for _, a := range d.Assumed() {
			if a.Path == path {
				return a.Text
			}
		}
		return ""
	}
	d, err := buildfile.Parse("bare.yaml", []byte(bare), "harness.switch.contacts={material: silver, force: 1 N}", "battery.chemistry=nickel-metal-hydride", "motor.stator.magnet.remanence=0.39 T", "cylinder.port=30 mm",
		"spring.wire=1.3 mm", "spring.coil_diameter=11.8 mm", "spring.coils=34")
	require.NoError(t, err)
	for path, want := range map[string]string{
		"harness.switch.contacts.hardness": "0.6 GPa", "harness.switch.contacts.heat": "2 J/K", "harness.switch.contacts.to_ambient": "25 K/W", "harness.switch.contacts.limit": "180 degC",
		"battery.cutoff": "0.9 V", "motor.stator.magnet.drift": "-0.2 %/K", "motor.stator.magnet.coercivity_drift": "0.3 %/K", "motor.stator.magnet.limit": "250 degC",
		"cylinder.port_area": "20 mm2", "spring.modulus": "79.3 GPa",
	} {
		assert.Equal(t, want, find(d, path), path)
	}
	all := d.Assumed()
	all[0].Path = "changed"
	assert.NotEqual(t, all[0], d.Assumed()[0], "a copy")
}

func TestPosition(t *testing.T) {
	d, err := buildfile.Read("testdata/rifle.yaml")
	require.NoError(t, err)
	for _, c := range []struct {
		path   string
		line   int
		column int
		found  bool
		reason string
	}{
		{"name", 3, 7, true, "a value"},
		{"motor", 7, 1, true, "a mapping: its key"},
		{"motor.stator.magnet", 9, 5, true, ""},
		{"motor.armature.wire", 17, 11, true, "before a comment"},
		{"harness.connectors", 40, 3, true, "a list: its key"},
		{"harness.connectors.0", 40, 16, true, "a member"},
		{"harness.connectors.1.resistance", 40, 53, true, "in a member"},
		{"harness.connectors.2", 40, 3, false, "no such member: the list"},
		{"harness.connectors.x", 40, 3, false, ""},
		{"pads.2", 48, 24, true, ""},
		{"motor.heat.class", 29, 3, false, "missing: the parent"},
		{"motor.stator.brush.limit", 13, 5, false, ""},
		{"tappet.work", 3, 1, false, "missing part: where the keys begin"},
		{"motor.armature.turns.x", 16, 12, false, "nothing lies below a value"},
	} {
		t.Run(c.path, func(t *testing.T) {
			place, found := d.Position(c.path)
			assert.Equal(t, quantity.Place{File: "testdata/rifle.yaml", Line: c.line, Column: c.column}, place, c.reason)
			assert.Equal(t, c.found, found)
		})
	}
	d, err = d.With("motor.armature.turns=22")
	require.NoError(t, err)
	place, found := d.Position("motor.armature.turns")
	assert.True(t, found)
	assert.Equal(t, "--set motor.armature.turns=22", place.String())
}
