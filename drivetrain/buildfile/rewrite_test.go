package buildfile_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
)

func TestBytesWithoutSettingsIsTheFile(t *testing.T) {
	for name, text := range map[string]string{
		"as it is":        rifleText,
		"mark":            "\ufeff" + rifleText,
		"CR LF":           strings.ReplaceAll(rifleText, "\n", "\r\n"),
		"mark and CR LF":  "\ufeff" + strings.ReplaceAll(rifleText, "\n", "\r\n"),
		"no end":          strings.TrimSpace(rifleText),
		"blanks and ends": "\n\n" + strings.ReplaceAll(rifleText, "\n", "  \n") + "\n\n\n",
	} {
		t.Run(name, func(t *testing.T) {
			d, err := buildfile.Parse("b.yaml", []byte(text))
			require.NoError(t, err)
			out, err := d.Bytes()
			require.NoError(t, err)
			assert.Equal(t, text, string(out))
		})
	}
}

// Each row changes one stretch of the rifle's text and leaves all else, comments
// included, byte for byte.
func TestBytes(t *testing.T) {
	for _, c := range []struct {
		name, override, old, new string
	}{
		{"value in a block", "motor.armature.turns=22", "turns: 28\n", "turns: 22\n"},
		{"value before a comment", "motor.armature.wire=22 AWG", "wire: 0.65 mm            # bare", "wire: 22 AWG            # bare"},
		{"value in braces", "piston.mass=24 g", "{mass: 26 g, drag", "{mass: 24 g, drag"},
		{"last value in braces", "spring.mass=20 g", "mass: 18 g}   # or", "mass: 20 g}   # or"},
		{"quotes where they are needed", `name=Rifle: "B", second`, "name: Woodland club rifle\n", "name: \"Rifle: \\\"B\\\", second\"\n"},
		{"no quotes where not", `name='Plain 2'`, "name: Woodland club rifle\n", "name: Plain 2\n"},
		{"key added in braces", "gears.churning=1e-5 N m s", "inertia: 30 g cm2}", "inertia: 30 g cm2, churning: 1e-5 N m s}"},
		{"key added to a block", "motor.commutation=30 %", "limit: 155 degC}\nbattery", "limit: 155 degC}\n  commutation: 30 %\nbattery"},
		{"key added to a deep block", "motor.stator.length=24 mm", "arc: 15 deg}\n  armature", "arc: 15 deg}\n    length: 24 mm\n  armature"},
		{"key added behind a comment", "harness.switch.contacts={material: copper, force: 1.5 N}",
			"  switch:\n    mosfet: {resistance: 2 mohm, drift: 0.5 %/K, to_ambient: 40 K/W, active_braking: false}\n",
			"  switch:\n    contacts: {material: copper, force: 1.5 N}\n"},
		{"part added", "tappet={from: 100 deg, to: 165 deg, work: 45 mJ}", "101.325 kPa}\n", "101.325 kPa}\ntappet: {from: 100 deg, to: 165 deg, work: 45 mJ}\n"},
		{"parent added", "battery.heat.limit=55 degC", "state_of_charge: 90 %\n", "state_of_charge: 90 %\n  heat: {limit: 55 degC}\n"},
		{"parents added in braces", "harness.connectors.1.heat.capacity=2 J/K", "{resistance: 0.8 mohm}]", "{resistance: 0.8 mohm, heat: {capacity: 2 J/K}}]"},
		{"line removed", "motor.armature.strands=", "    strands: 1\n", ""},
		{"line with a comment removed", "battery.discharge_rating=", "  discharge_rating: 25       # multiple of capacity, per hour\n", ""},
		{"first in braces removed", "ambient.temperature=", "{temperature: 20 degC, ", "{"},
		{"last in braces removed", "barrel.clearance_discharge=", ", clearance_discharge: 0.8}", "}"},
		{"middle in braces removed", "cylinder.port=", "port: 36 mm, ", ""},
		{"part removed", "harness.fuse=", "  fuse: {rating: 25 A, melting: 600 A2 s}\n", ""},
		{"last part removed", "ambient=", "ambient: {temperature: 20 degC, pressure: 101.325 kPa}\n", ""},
		{"only key of a mapping removed", "target.rate_of_fire.min=", "  rate_of_fire: {min: 20 /s}\n", ""},
		{"item replaced", "pads.2=1.6 mm", "1.5 mm,", "1.6 mm,"},
		{"item appended", "pads.5=4 mm", "3.0 mm]", "3.0 mm, 4 mm]"},
		{"item removed", "pads.0=", "[0.5 mm, 1.0", "[1.0"},
		{"last item removed", "pads.4=", ", 3.0 mm]", "]"},
		{"only item removed", "rack.taken_down.0=", "[{tooth: 2, depth: 2.25 mm}]", "[]"},
		{"list replaced", "pads=[1 mm]", "[0.5 mm, 1.0 mm, 1.5 mm, 2.0 mm, 3.0 mm]", "[1 mm]"},
		{"block replaced by braces", "target={muzzle_energy: {max: 1 J}}",
			"target:\n  rate_of_fire: {min: 20 /s}\n  muzzle_velocity: {min: 385 ft/s, max: 400 ft/s}\n", "target: {muzzle_energy: {max: 1 J}}\n"},
		{"alternative taken away in braces", "harness.lead.area=1 mm2", "{gauge: 16 AWG, length: 600 mm, insulation: silicone}", "{length: 600 mm, insulation: silicone, area: 1 mm2}"},
		{"tolerance", "spring.rate=680 ± 20 N/m", "{rate: 680 N/m,", "{rate: 680 ± 20 N/m,"},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := changed(t, c.old, c.new)
			d := rifleWith(t, c.override)
			assert.Equal(t, want, string(rereads(t, d)))

			// The same with other line ends.
			crlf := func(s string) string { return "\ufeff" + strings.ReplaceAll(s, "\n", "\r\n") }
			d, err := buildfile.Parse("b.yaml", []byte(crlf(rifleText)), c.override)
			require.NoError(t, err)
			assert.Equal(t, crlf(want), string(rereads(t, d)))
		})
	}
}

// blocks is a build whose lists and mappings are blocks.
var blocks = strings.NewReplacer(
	"  connectors: [{resistance: 0.8 mohm}]\n", "  connectors:\n    # battery\n    - resistance: 0.8 mohm # plug\n      limit: 100 degC\n    # motor\n    - resistance: 0.6 mohm\n",
	"rack: {}\n", "pads:\n- 0.5 mm # thin\n- 1.0 mm\n",
	"spring: {rate: 680 N/m, preload: 45 mm}\n", "spring:\n\n  rate: 680 N/m\n\n  preload: # rest\n    45 mm\n",
	"piston: {mass: 26 g}\n", "piston: { mass: 26 g ,\n          drag: 5 N } # light\n",
).Replace(bare)

func TestBytesOfBlocks(t *testing.T) {
	for _, c := range []struct {
		name, override, old, new string
	}{
		{"value of an item", "harness.connectors.0.resistance=1 mohm", "- resistance: 0.8 mohm # plug", "- resistance: 1 mohm # plug"},
		{"key added to an item", "harness.connectors.1.limit=90 degC", "    - resistance: 0.6 mohm\n", "    - resistance: 0.6 mohm\n      limit: 90 degC\n"},
		{"key of an item removed", "harness.connectors.0.limit=", "      limit: 100 degC\n", ""},
		{"item of keys appended", "harness.connectors.2.resistance=1 mohm", "    - resistance: 0.6 mohm\n", "    - resistance: 0.6 mohm\n    - {resistance: 1 mohm}\n"},
		{"item of keys replaced", "harness.connectors.0={resistance: 1 mohm}", "- resistance: 0.8 mohm # plug\n      limit: 100 degC\n", "- {resistance: 1 mohm}\n"},
		{"last item of keys removed", "harness.connectors.1=", "    - resistance: 0.6 mohm\n", ""},
		{"first item of keys removed", "harness.connectors.0=", "    - resistance: 0.8 mohm # plug\n      limit: 100 degC\n", ""},
		{"item appended", "pads.2=2 mm", "- 1.0 mm\n", "- 1.0 mm\n- 2 mm\n"},
		{"item removed", "pads.0=", "- 0.5 mm # thin\n", ""},
		{"list removed", "pads=", "pads:\n- 0.5 mm # thin\n- 1.0 mm\n", ""},
		{"list replaced", "pads=[1 mm]", "pads:\n- 0.5 mm # thin\n- 1.0 mm\n", "pads: [1 mm]\n"},
		{"value on a line of its own", "spring.preload=40 mm", "preload: # rest\n    45 mm\n", "preload: # rest\n    40 mm\n"},
		{"key added behind it", "spring.mass=18 g", "    45 mm\n", "    45 mm\n  mass: 18 g\n"},
		{"key added in braces over lines", "piston.clear=2 mm", "drag: 5 N } # light", "drag: 5 N, clear: 2 mm } # light"},
		{"last key in braces over lines removed", "piston.drag=", " ,\n          drag: 5 N } # light", " } # light"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(blocks, c.old))
			d, err := buildfile.Parse("b.yaml", []byte(blocks), c.override)
			require.NoError(t, err)
			assert.Equal(t, strings.Replace(blocks, c.old, c.new, 1), string(rereads(t, d)))
		})
	}
}

func TestBytesAfterManySettings(t *testing.T) {
	d := rifleWith(t)
	for _, s := range [][2]string{
		{"motor.armature.turns", "24"}, {"motor.armature.turns", "22"}, {"motor.armature.turns", "28"},
		{"cylinder.port", ""}, {"cylinder.port", "36 mm"}, {"tappet", "{from: 1 rad, to: 2 rad, work: 40 mJ}"}, {"tappet", ""},
		{"harness.connectors.2.resistance", "1 mohm"}, {"harness.connectors.0", ""}, {"harness.connectors.1", ""},
		{"rack", ""}, {"gears.churning", "1e-5 N m s"}, {"gears.churning", ""},
	} {
		require.NoError(t, d.Set(s[0], s[1]), s[0])
		rereads(t, d)
	}
	want := strings.Replace(changed(t, "port: 36 mm, port_area: 20 mm2, nozzle: 4.8 mm, discharge: 0.8, seal_leak: 1.0 mm2", "port_area: 20 mm2, nozzle: 4.8 mm, discharge: 0.8, seal_leak: 1.0 mm2, port: 36 mm"),
		"[{resistance: 0.8 mohm}, {resistance: 0.8 mohm}]", "[{resistance: 0.8 mohm}]", 1)
	from := strings.Index(want, "rack: ")
	want = want[:from] + want[strings.Index(want, "pads: "):]
	assert.Equal(t, want, string(rereads(t, d)))
}

// companions are overrides that a key needs beside it.
var companions = map[string][]string{
	"spring.wire":              {"spring.coil_diameter=11.8 mm", "spring.coils=34"},
	"spring.coil_diameter":     {"spring.wire=1.3 mm", "spring.coils=34"},
	"spring.coils":             {"spring.wire=1.3 mm", "spring.coil_diameter=11.8 mm"},
	"spring.modulus":           {"spring.wire=1.3 mm", "spring.coil_diameter=11.8 mm", "spring.coils=34"},
	"spring.free_length":       {"spring.installed_length=105 mm"},
	"spring.installed_length":  {"spring.free_length=150 mm"},
	"harness.switch.contacts.": {"harness.switch.contacts={material: silver, force: 2 N}"},
	"motor.bench.":             {"motor.bench={voltage: 7.4 V, no_load_speed: 15000 rpm, no_load_current: 3 A, stall_current: 90 A, inertia: 12 g cm2}"},
	"gears.teeth.":             {"gears.teeth={pinion: 10, bevel: 22, bevel_pinion: 11, spur: 29, spur_pinion: 10, sector: 18}"},
	"tappet.":                  {"tappet={from: 100 deg, to: 165 deg, work: 45 mJ}"},
	"battery.ocv.":             {"battery.chemistry=custom", "battery.ocv=[[0 %, 3 V], [50 %, 3.5 V], [100 %, 4.2 V]]"},
}

// values are what a key may be set to; some of them are out of its range.
func values(l buildfile.Leaf) []string {
	switch {
	case l.Path == "name":
		return []string{"Another build", `with "quotes": 1`, "true"}
	case l.Words != nil:
		return l.Words
	case !l.Quantity:
		return nil
	}
	var all []string
	for _, v := range []float64{0, 0.3, 1, 2, 3, 5, 15, 28, 300} {
		unit := 1.
		switch l.Kind {
		case quantity.Length, quantity.WireSize, quantity.Mass, quantity.Torque, quantity.Resistance:
			unit = 1e-3
		case quantity.Area, quantity.Volume, quantity.Inertia, quantity.Inductance, quantity.ViscousDrag:
			unit = 1e-6
		case quantity.Stress:
			unit = 1e9
		case quantity.FieldStrength, quantity.SpringRate, quantity.Pressure, quantity.MolarEnergy, quantity.Charge:
			unit = 1e3
		}
		all = append(all, l.Kind.Print(v*unit))
	}
	if l.Alias != "" {
		all = append([]string{l.Alias}, all...)
	}
	return append(all, l.Kind.Example())
}

// Every key of the schema can be set on the rifle, stands in the text then, and
// is read back from there; so is what stays when it is taken away again.
func TestEveryKeyCanBeSet(t *testing.T) {
	base := rifleWith(t)
	most := 1
	if effort.All() {
		most = 2
	}
	for i, leaf := range buildfile.Leaves() {
		t.Run(leaf.Path, func(t *testing.T) {
			var beside []string
			for key, overrides := range companions {
				if leaf.Path == key || strings.HasSuffix(key, ".") && strings.HasPrefix(leaf.Path, key) {
					beside = overrides
				}
			}
			accepted := 0
			for _, v := range values(leaf) {
				if leaf.Quantity && accepted == most {
					break
				}
				d, err := base.With(append(append([]string{}, beside...), leaf.Path+"="+v)...)
				if err != nil {
					require.ErrorAs(t, err, new(*quantity.Fault), "out of range, or no match for the rifle's other parts")
					screenful(t, err)
					continue
				}
				accepted++
				text, n := reread(t, d)
				_, found := n.Position(leaf.Path)
				require.True(t, found)
				for _, a := range n.Assumed() {
					require.NotEqual(t, leaf.Path, a.Path)
				}
				comments := strings.Count(rifleText, "#")
				if beside == nil {
					require.Equal(t, comments, bytes.Count(text, []byte("#")), "comments stay")
				}
				if !effort.All() && i%3 != 0 {
					continue
				}
				if away, err := d.With(leaf.Path + "="); err == nil {
					rereads(t, away)
				}
			}
			assert.NotZero(t, accepted, "no value was accepted")
		})
	}
}

// Every value of the files that is set to itself leaves the text as it is, and
// one that is set to another changes its own line alone.
func TestEveryValueInItsPlace(t *testing.T) {
	const folded = "motor.armature.saturation"
	files := []string{"demo.yaml", builds + "/ferrite.yaml", builds + "/two-lobe.yaml"}
	for at, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		lines := strings.Split(string(text), "\n")
		base, err := buildfile.Read(file)
		require.NoError(t, err)
		for i, leaf := range buildfile.Leaves() {
			if !effort.All() && i%len(files) != at { // each key in one of them
				continue
			}
			place, found := base.Position(leaf.Path)
			if !found || (leaf.Path == folded && file != "demo.yaml") { // there the two lines become one
				continue
			}
			d, err := base.With()
			require.NoError(t, err)
			require.NoError(t, d.Set(leaf.Path, base.Text(leaf.Path)))
			require.Equal(t, string(text), string(rereads(t, d)), "%s: %s", file, leaf.Path)
			if !leaf.Quantity || leaf.Kind == quantity.Gauge {
				continue
			}
			require.NoError(t, d.Set(leaf.Path, base.Text(leaf.Path)+" ± 1 %"))
			now := strings.Split(string(rereads(t, d)), "\n")
			require.Len(t, now, len(lines))
			for i := range lines {
				if i+1 == place.Line {
					require.Equal(t, lines[i], strings.Replace(now[i], " ± 1 %", "", 1))
					require.NotEqual(t, lines[i], now[i], "%s: %s", file, leaf.Path)
				} else {
					require.Equal(t, lines[i], now[i], "%s: %s", file, leaf.Path)
				}
			}
		}
	}
}

func TestFoldedValueBecomesOneLine(t *testing.T) {
	path := filepath.Join(builds, "two-lobe.yaml")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	const folded = "saturation: 1.8\n      T, stacking"
	require.Equal(t, 1, strings.Count(string(text), folded))
	d, err := buildfile.Read(path, "motor.armature.saturation=1.7 T")
	require.NoError(t, err)
	assert.Equal(t, strings.Replace(string(text), folded, "saturation: 1.7 T, stacking", 1), string(rereads(t, d)))
}

func TestSetAndUnset(t *testing.T) {
	d := rifleWith(t)
	require.NoError(t, d.Set("spring.rate", " 700 N/m "))
	assert.Equal(t, 700., d.Build.Spring.Rate)
	require.NoError(t, d.Set("name", `"Quoted"`))
	assert.Equal(t, "Quoted", d.Build.Name)
	require.NoError(t, d.Unset("cylinder.port"))
	assert.Zero(t, d.Build.Cylinder.Port)
	require.NoError(t, d.Unset("cylinder.port"), "it is gone already")

	before := rereads(t, d)
	build := *d.Build
	for _, s := range [][2]string{{"spring.rate", "700"}, {"spring.rate", "-1 N/m"}, {"spring.rat", "1 N/m"}, {"spring.rate", ""}, {"pads", "[1 mm"}, {"name", `"a`}} {
		require.ErrorAs(t, d.Set(s[0], s[1]), new(*quantity.Fault), s[0])
	}
	assert.Equal(t, build, *d.Build, "a refused value changes nothing")
	assert.Equal(t, string(before), string(rereads(t, d)))
}

func TestWithLeavesTheOriginalAlone(t *testing.T) {
	d, err := buildfile.Read(filepath.Join(builds, "ferrite.yaml"))
	require.NoError(t, err)
	fresh := func() *buildfile.Document {
		d, err := buildfile.Read(filepath.Join(builds, "ferrite.yaml"))
		require.NoError(t, err)
		return d
	}
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			for j := range effort.Of(20) {
				turns := 20 + i + 8*j
				n, err := d.With(fmt.Sprintf("motor.armature.turns=%d", turns), "harness.connectors.1.resistance=1 mohm", "spring.rate=700 N/m", "harness.switch.mosfet.resistance=2 mohm", "pads=[1 mm]")
				if !assert.NoError(t, err) {
					return
				}
				assert.Equal(t, turns, n.Build.Motor.Armature.Turns)
				assert.Len(t, n.Build.Harness.Connectors, 2)
				_, err = n.Bytes()
				assert.NoError(t, err)
				_, found := d.Position("motor.armature.turns")
				assert.True(t, found)
			}
		})
	}
	all.Wait()
	want := fresh()
	assert.Equal(t, want.Build, d.Build)
	assert.Equal(t, want.Assumed(), d.Assumed())
	a, err := d.Bytes()
	require.NoError(t, err)
	b, err := want.Bytes()
	require.NoError(t, err)
	assert.Equal(t, string(b), string(a))
}

func TestDocumentsOfOneOriginDontShareSettings(t *testing.T) {
	d := rifleWith(t)
	for range 6 { // however many there are before
		var err error
		d, err = d.With("spring.rate=700 N/m")
		require.NoError(t, err)
		a, err := d.With("piston.mass=30 g")
		require.NoError(t, err)
		b, err := d.With("piston.mass=31 g")
		require.NoError(t, err)
		rereads(t, a)
		rereads(t, b)
	}
}

// Settings in any order leave a text that says what the document says.
func TestSettingsInAnyOrder(t *testing.T) {
	settings := []string{
		"name=", "name=A", `name="b: c"`, "target=", "target.rate_of_fire.min=", "target.rate_of_fire.max=30 /s", "target.muzzle_energy={max: 1 J}",
		"motor.stator.bore=16 mm", "motor.stator.air_gap=0.4 mm", "motor.heat=", "motor.heat={}", "motor.heat.class=H", "motor.armature.turns=20", "motor.stator.brush=", "motor.stator.brush.arc=10 deg",
		"battery.heat.cell=30 J/K", "battery.heat=", "battery.chemistry=custom", "battery.ocv=[[0 %, 3 V], [100 %, 4 V]]", "battery.ocv=", "battery.ocv.1.1=4.1 V",
		"harness.lead.area=1 mm2", "harness.lead.gauge=14 AWG", "harness.connectors=", "harness.connectors=[]", "harness.connectors.0=", "harness.connectors.1=", "harness.connectors.0.resistance=", "harness.connectors.0.resistance=1 mohm",
		"harness.connectors.1={resistance: 2 mohm, limit: 90 degC}", "harness.connectors.0.limit=", "harness.connectors.0.limit=95 degC", "harness.connectors.0.heat.capacity=2 J/K", "harness.connectors.0.heat=",
		"harness.switch.mosfet.resistance=3 mohm", "harness.switch.contacts={material: silver, force: 1 N}", "harness.switch.contacts.material=copper", "harness.switch.contacts.force=2 N", "harness.fuse=", "harness.fuse.rating=20 A",
		"gears.ratio=11", "gears.teeth={pinion: 10, bevel: 22, bevel_pinion: 11, spur: 29, spur_pinion: 10, sector: 18}", "gears.teeth.sector=19", "gears.inertia=",
		"rack=", "rack={}", "rack.lift=0.1 mm", "rack.taken_down=", "rack.taken_down.0={tooth: 2, depth: 1 mm}", "rack.taken_down.0=", "rack.taken_down.1.tooth=3", "rack.taken_down.1.depth=1 mm",
		"pads=", "pads=[]", "pads=[1 mm, 2 mm]", "pads.0=", "pads.0=1.2 mm", "pads.1=", "pads.1=0.7 mm", "piston.mass=30 g", "piston.drag=", "piston.spacer=1 mm",
		"spring.rate=700 N/m", "spring.preload=40 mm", "spring.wire=1.3 mm", "spring.coil_diameter=11.8 mm", "spring.coils=34", "spring.modulus=80 GPa", "spring.modulus=", "spring.free_length=150 mm", "spring.installed_length=105 mm", "spring.mass=",
		"cylinder.port=", "cylinder.port=36 mm", "cylinder.port_area=", "trigger=", "trigger.mode=single", "trigger.cutoff=", "tappet=", "tappet={from: 1 rad, to: 2 rad, work: 40 mJ}", "tappet.work=30 mJ", "ambient=", "ambient.pressure=90 kPa",
	}
	texts := []string{rifleText, strings.ReplaceAll(blocks, "\n", "\r\n"), strings.TrimSpace(blocks), "\ufeff" + strings.TrimSpace(bare)}
	for _, name := range []string{"ferrite.yaml", "two-lobe.yaml"} {
		text, err := os.ReadFile(filepath.Join(builds, name))
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	random := rand.New(rand.NewPCG(1, 2))
	accepted := 0
	for range effort.Of(400) {
		d, err := buildfile.Parse("b.yaml", []byte(texts[random.IntN(len(texts))]))
		require.NoError(t, err)
		for range 1 + random.IntN(12) {
			var some []string
			for range 1 + random.IntN(4) {
				some = append(some, settings[random.IntN(len(settings))])
			}
			n, err := d.With(some...)
			if err != nil {
				require.ErrorAs(t, err, new(*quantity.Fault))
				screenful(t, err)
				continue
			}
			d = n
			accepted++
		}
		rereads(t, d)
	}
	assert.Greater(t, accepted, effort.Seen(800), "most are accepted")
}
