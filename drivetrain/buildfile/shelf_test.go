package buildfile_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
)

const cupboard = "../../testdata/reference/search/cupboard.shelf.yaml"

func TestReadShelf(t *testing.T) {
	s, err := buildfile.ReadShelf(cupboard)
	require.NoError(t, err)
	assert.Equal(t, "The club's cupboard", s.Name)
	assert.Equal(t, "EUR", s.Currency)
	assert.Equal(t, "Cupboard rifle", s.Base.Build.Name)
	assert.EqualValues(t, 5*2*3*4*2*3*4*2, s.Combinations())
	require.Len(t, s.Slots, 8)
	a := s.Slots[0]
	assert.Equal(t, "motor.armature", a.Key)
	assert.Equal(t, buildfile.AsInBase, a.Parts[0].Value)
	assert.EqualValues(t, 1450, a.Parts[1].Price)
	assert.EqualValues(t, 2110, a.Parts[3].Price)
	assert.Equal(t, "rewound in spring", a.Parts[1].Remark)
	assert.Equal(t, []string{"feather"}, s.Slots[3].Parts[2].NeverWith[0].Names)
	c, err := s.Compose()
	require.NoError(t, err)
	require.Len(t, c.Base().Target, 4, "the shelf's wish stands in place of the base's")
	assert.Equal(t, "current_rms", c.Base().Target[2].Figure)
}

// shelfOf makes a shelf file with a base beside it.
func shelfOf(t *testing.T, text string) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "base.yaml"), []byte(buildfile.DemoText()), 0o666))
	path := filepath.Join(dir, "a.shelf.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o666))
	return path
}

// What is wrong with a shelf is said with its line and key, whatever else is wrong.
func TestShelfRefusals(t *testing.T) {
	const head = "base: base.yaml\nslots:\n" // two lines
	many := head + "  spring:\n"
	for i := range 1001 {
		many += fmt.Sprintf("    - {name: n%d, part: base}\n", i)
	}
	huge := head
	for _, key := range []string{"spring", "piston", "gears", "barrel", "pellet", "cylinder", "sector", "rack", "motor", "battery"} {
		huge += "  " + key + ":\n"
		for i := range 9 {
			huge += fmt.Sprintf("    - {name: n%d, part: base}\n", i)
		}
	}
	for _, c := range []struct {
		name, text string
		line       int
		words      []string
	}{
		{"text", "hello\n", 1, []string{"at the top", "slots"}},
		{"empty", "", 0, []string{"a shelf file"}},
		{"unknown key", head + "  spring: [{name: a, part: base}]\nslot: {}\n", 4, []string{"slot", "did you mean slots"}},
		{"no base", "slots:\n  spring: [{name: a, part: base}]\n", 1, []string{"base: missing"}},
		{"no such base", "base: nowhere.yaml\nslots:\n  spring: [{name: a, part: base}]\n", 1, []string{"nowhere.yaml", "no such file"}},
		{"itself as base", "base: a.shelf.yaml\nslots:\n  spring: [{name: a, part: base}]\n", 1, []string{"base", "the shelf itself"}},
		{"currency of two words", "base: base.yaml\ncurrency: old pence\nslots:\n  spring: [{name: a, part: base}]\n", 2, []string{"currency", "one word"}},
		{"a target that is none", "base: base.yaml\ntarget: {rate_of_fire: {min: 20 m}}\nslots:\n  spring: [{name: a, part: base}]\n", 2, []string{"target.rate_of_fire.min"}},
		{"no slots", "base: base.yaml\n", 1, []string{"slots: missing"}},
		{"slots of nothing", "base: base.yaml\nslots: {}\n", 0, []string{"no slots"}},
		{"unknown slot", head + "  sprig: [{name: a, part: base}]\n", 3, []string{"slots.sprig", "spring"}},
		{"target as a slot", head + "  target: [{name: a, part: base}]\n", 3, []string{"no part of it"}},
		{"a slot in another", head + "  spring: [{name: a, part: base}]\n  spring.rate: [{name: a, part: 700 N/m}]\n", 4, []string{"spring.rate lies within spring"}},
		{"a slot around another", head + "  spring.rate: [{name: a, part: 700 N/m}]\n  spring: [{name: a, part: base}]\n", 4, []string{"spring.rate lies within spring"}},
		{"a slot twice", head + "  spring: [{name: a, part: base}]\n  spring: [{name: b, part: base}]\n", 4, []string{"second time"}},
		{"no part", head + "  spring: []\n", 3, []string{"spring", "no parts"}},
		{"no list", head + "  spring: {name: a}\n", 3, []string{"list of parts"}},
		{"1001 parts", many, 1004, []string{"1001 parts", "1000"}},
		{"too many combinations", huge, 0, []string{"1000000000 combinations"}},
		{"a part that is none", head + "  spring: [red]\n", 3, []string{"wanted a part"}},
		{"no name", head + "  spring: [{part: base}]\n", 3, []string{"name: missing"}},
		{"a name twice", head + "  spring:\n    - {name: red, part: base}\n    - {name: red, part: {mass: 17 g}}\n", 5, []string{"red", "second time"}},
		{"three decimals", head + "  spring: [{name: a, price: 1.125, part: base}]\n", 3, []string{"price", "1.125", "two decimals"}},
		{"a negative price", head + "  spring: [{name: a, price: -1.50, part: base}]\n", 3, []string{"price", "-1.50"}},
		{"a price of 1e3", head + "  spring: [{name: a, price: 1e3, part: base}]\n", 3, []string{"price", "1e3"}},
		{"part and from", head + "  spring: [{name: a, part: base, from: b.yaml}]\n", 3, []string{"beside part"}},
		{"neither", head + "  spring: [{name: red}]\n", 3, []string{"red", "part or from"}},
		{"no such from", head + "  spring: [{name: a, from: nowhere.yaml}]\n", 3, []string{"nowhere.yaml"}},
		{"unknown key of a part", head + "  spring: [{name: a, part: base, prize: 2.00}]\n", 3, []string{"prize", "price"}},
		{"unknown key in a part", head + "  spring: [{name: a, part: {rite: 700 N/m}}]\n", 3, []string{"spring.rite", "rate"}},
		{"a wrong unit", head + "  spring: [{name: a, part: {rate: 700 V}}]\n", 3, []string{"spring.rate"}},
		{"out of range", head + "  spring: [{name: a, part: {rate: 700 MN/m}}]\n", 3, []string{"spring.rate", "out of range"}},
		{"out of range, zero", head + "  piston: [{name: a, part: {mass: 0 g}}]\n", 3, []string{"piston.mass", "out of range"}},
		{"out of range, in also", head + "  spring: [{name: a, part: base, also: {piston.mass: 40 kg}}]\n", 3, []string{"piston.mass", "out of range"}},
		{"both of two", head + "  spring: [{name: a, part: {rate: 700 N/m, wire: 1.4 mm}}]\n", 3, []string{"one of the two"}},
		{"half a member of a list", head + "  rack.taken_down: [{name: a, part: [{tooth: 2}]}]\n", 3, []string{"depth: missing"}},
		{"unknown key in also", head + "  spring: [{name: a, part: base, also: {piston.mess: 4 g}}]\n", 3, []string{"piston.mess", "mass"}},
		{"a target in also", head + "  spring: [{name: a, part: base, also: {target.rate_of_fire.min: 4 /s}}]\n", 3, []string{"no part of it"}},
		{"a rule of no slot", head + "  spring: [{name: a, part: base, only_with: {piston: [b]}}]\n", 3, []string{"only_with.piston", "another slot"}},
		{"a rule of its own slot", head + "  spring: [{name: a, part: base, only_with: {spring: [a]}}]\n", 3, []string{"another slot"}},
		{"a rule of no part", head + "  spring: [{name: a, part: base, never_with: {piston: [green]}}]\n  piston: [{name: b, part: base}]\n", 3, []string{"green"}},
		{"a rule of nothing", head + "  spring: [{name: a, part: base, never_with: {piston: []}}]\n  piston: [{name: b, part: base}]\n", 3, []string{"at least one"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := shelfOf(t, c.text)
			_, err := buildfile.ReadShelf(path)
			require.Error(t, err)
			all := quantity.Faults(err)
			assert.Equal(t, c.line, all[0].Place.Line, err)
			for _, w := range c.words {
				assert.ErrorContains(t, err, w)
			}
		})
	}
	_, err := buildfile.ReadShelf(shelfOf(t, head+"  spring: [{name: a, price: 0.5, part: {rate: 700 N/m, preload: 40 mm}}]\n"))
	assert.NoError(t, err, "nothing is wrong with this one")
	_, err = buildfile.ReadShelf(shelfOf(t, head+"  pellet: [{name: a, part: {diameter: 6.2 mm}}]\n"))
	assert.NoError(t, err, "what takes two keys to see is no error of the shelf")
	_, err = buildfile.ReadShelf(shelfOf(t, head+"  spring: [{name: a, part: {wire: 1.4 mm}}]\n"))
	assert.NoError(t, err, "nor is what another part may bring")
}

// with reads a shelf in code: the demo with some slots.
func with(t testing.TB, slots ...buildfile.Slot) *buildfile.Composer {
	t.Helper()
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	c, err := (&buildfile.Shelf{Base: d, Slots: slots}).Compose()
	require.NoError(t, err)
	return c
}

func slot(key string, values ...string) buildfile.Slot {
	s := buildfile.Slot{Key: key}
	for i, v := range values {
		s.Parts = append(s.Parts, buildfile.Part{Name: fmt.Sprint(i), Value: v})
	}
	return s
}

// Parts are laid over the base as overrides are, and what comes with them behind all.
func TestLaying(t *testing.T) {
	spring := slot("spring", "{wire: 1.3 mm, coil_diameter: 11.8 mm, coils: 36, free_length: 150 mm, installed_length: 105 mm}", "{rate: 700 N/m}", "base")
	down := slot("rack.taken_down", "none", "[{tooth: 3, depth: 1 mm}]", "base")
	lead := slot("harness.lead.length", "500 mm", "550 mm")
	lead.Parts[0].Also = []buildfile.Setting{{Key: "piston.mass", Value: "30 g"}, {Key: "harness.fuse", Value: "none"}}
	lead.Parts[1].Also = []buildfile.Setting{{Key: "gears", Value: "{teeth: {pinion: 10, bevel: 18, bevel_pinion: 11, spur: 38, spur_pinion: 13, sector: 21}}"}}
	piston := slot("piston", "{mass: 20 g}", "base")
	piston.Parts[1].Also = []buildfile.Setting{{Key: "harness.lead.length", Value: "600 mm"}}
	c := with(t, spring, down, lead, piston)
	build := func(parts ...int) drivetrain.Build {
		b, f := c.Build(parts)
		require.Nil(t, f)
		return *b.Clone()
	}
	a := build(0, 0, 0, 0)
	assert.Zero(t, a.Spring.Rate, "wire takes the rate away")
	assert.Equal(t, 36., a.Spring.Coils)
	assert.Empty(t, a.Rack.TakenDown)
	assert.Equal(t, 0.030, a.Piston.Mass, "what comes with a part is laid behind all parts")
	assert.Nil(t, a.Harness.Fuse)
	b := build(1, 1, 1, 1)
	assert.Zero(t, b.Spring.Wire)
	assert.Equal(t, 700., b.Spring.Rate)
	assert.Equal(t, buildfile.Demo().Spring.Preload, b.Spring.Preload, "a key that the part lacks stays")
	assert.Equal(t, []drivetrain.TakenDown{{Tooth: 3, Depth: 1e-3}}, b.Rack.TakenDown, "a list replaces the list")
	assert.Zero(t, b.Gears.Ratio, "tooth counts take the ratio away")
	require.NotNil(t, b.Gears.Teeth)
	assert.Equal(t, 0.6, b.Harness.Lead.Length, "the later slot's wins")
	base := build(2, 2, 0, 1)
	assert.Equal(t, buildfile.Demo().Spring.Rate, base.Spring.Rate)
	assert.Len(t, base.Rack.TakenDown, 1)
	again := build(0, 0, 0, 0)
	assert.Equal(t, a, again, "whatever was put together before")
	_, f := c.Build([]int{0, 2, 0, 0})
	assert.Nil(t, f)
}

// texts are values for keys of all sorts, and for mappings and lists.
func texts() map[string][]string {
	return map[string][]string{
		"name":                       {"Other", "base"},
		"motor.stator.magnet":        {"base", "{remanence: 1.3 T, coercivity: 1100 kA/m}", "{grade: N42}", "{remanence: 0.4 T, coercivity: 250 kA/m}"},
		"motor.stator.air_gap":       {"base", "0.5 mm", "0.3 mm"},
		"motor.armature":             {"base", "{turns: 20, wire: 0.75 mm}", "{slots: 5, turns: 16, wire: 22 AWG, slot_opening: 1.6 mm, tooth_width: 3.4 mm, slot_area: 26 mm2}", "{slot_area: 44 mm2}"},
		"motor.bench":                {"{voltage: 7.40 V, no_load_speed: 15300 rpm, no_load_current: 1.9 A, stall_current: 88 A, inertia: 12 g cm2}", "base", "none"},
		"motor.heat.class":           {"H", "B", "base"},
		"motor.drag":                 {"base", "{constant: 4 mN m}", "none"},
		"battery":                    {"base", "{series: 3, capacity: 900 mAh}", "{chemistry: NiMH, series: 7, resistance: 6 mohm}", "{state_of_charge: 40 % ± 5 %}"},
		"harness.connectors":         {"base", "none", "[{resistance: 1 mohm}]", "[{resistance: 1 mohm, limit: 90 degC}, {resistance: 2 mohm}, {resistance: 3 mohm}]"},
		"harness.switch":             {"base", "{contacts: {material: copper, force: 1.5 N}}", "{mosfet: {resistance: 5 mohm, active_braking: true}}"},
		"harness.lead":               {"base", "{gauge: 18 AWG}", "{area: 1.3 mm2, length: 400 mm}", "{insulation: pvc}"},
		"harness.fuse":               {"base", "none", "{rating: 15 A}"},
		"gears":                      {"base", "{teeth: {pinion: 10, bevel: 18, bevel_pinion: 11, spur: 38, spur_pinion: 13, sector: 21}}", "{ratio: 12.5, efficiency: 84 %}"},
		"sector.removed":             {"base", "1", "3"},
		"sector.engaged_angle":       {"base", "238 deg", "none"},
		"rack":                       {"base", "none", "{material: steel}", "{pickup_offset: 1.5 mm, taken_down: [{tooth: 2, depth: 2 mm}, {tooth: 4, depth: 1 mm}]}"},
		"pads":                       {"base", "[1 mm, 2 mm]", "none"},
		"piston":                     {"base", "{mass: 19 g, drag: 4 N}", "{spacer: 1.5 mm}", "{seal_area: 3 mm2}"},
		"spring":                     {"base", "{rate: 700 N/m ± 3 %, preload: 40 mm}", "{wire: 1.3 mm, coil_diameter: 11.8 mm, coils: 36, free_length: 150 mm, installed_length: 105 mm}", "{waves: false}", "{wire: 1.4 mm, coil_diameter: 13.6 mm, coils: 22, free_length: 118 mm, installed_length: 128 mm}", "{wire: 1.4 mm}"},
		"cylinder":                   {"base", "{port: 48 mm}", "{port: 42 mm, seal_leak: 0 mm2}"},
		"cylinder.port":              {"none", "30 mm", "base"},
		"barrel":                     {"base", "{length: 285 mm, bore: 6.03 mm}", "{bore: 5.93 mm}", "{air: still, wall_heat: 0}"},
		"pellet":                     {"base", "{mass: 0.28 g}", "{diameter: 6.1 mm}"},
		"trigger":                    {"base", "{mode: single}", "{cutoff: 120 deg}", "{rounds: 3}", "none"},
		"tappet":                     {"none", "{from: 30 deg, to: 120 deg, work: 0.1 J}"},
		"ambient.temperature":        {"base", "-10 degC"},
		"harness.connectors.0":       {"{resistance: 4 mohm}", "base"},
		"harness.lead.limit":         {"120 degC", "none"},
		"motor.armature.turns":       {"24", "30"},
		"spring.rate":                {"650 N/m", "base"},
		"piston.spacer":              {"1 mm", "0.5 mm"},
		"harness.connectors.1.limit": {"100 degC"},
		"battery.ocv":                {"none", "base"},
		"motor.stator.brush.drop":    {"0.5 V", "base"},
		"harness.switch.mosfet":      {"{resistance: 3 mohm}", "base"},
		"motor.stator.magnet.grade":  {"N35", "none"},
		"gears.inertia":              {"28 g cm2"},
	}
}

// randomShelf has slots of random keys, none within another, with parts that bring keys of
// other slots along.
func randomShelf(rng *rand.Rand) []buildfile.Slot {
	all := texts()
	var keys []string
	for key := range all {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	rng.Shuffle(len(keys), func(i, j int) { keys[i], keys[j] = keys[j], keys[i] })
	var slots []buildfile.Slot
	for _, key := range keys {
		if slices.ContainsFunc(slots, func(s buildfile.Slot) bool {
			return strings.HasPrefix(s.Key+".", key+".") || strings.HasPrefix(key+".", s.Key+".")
		}) {
			continue
		}
		s := slot(key, all[key]...)
		for i := range s.Parts {
			if rng.IntN(4) == 0 {
				other := keys[rng.IntN(len(keys))]
				v := all[other][rng.IntN(len(all[other]))]
				if v != "base" {
					s.Parts[i].Also = append(s.Parts[i].Also, buildfile.Setting{Key: other, Value: v})
				}
			}
		}
		if slots = append(slots, s); len(slots) == 9 {
			break
		}
	}
	return slots
}

// What a Composer puts together is what the file with these keys gives, to the last bit,
// and so is what it refuses: over random shelves and combinations.
func TestComposerIsTheFile(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	good, refused := 0, 0
	for range effort.Of(60) {
		d, err := buildfile.DemoDocument()
		require.NoError(t, err)
		slots := randomShelf(rng)
		c, err := (&buildfile.Shelf{Base: d, Slots: slots}).Compose()
		if err != nil {
			continue // a key of a list that isn't there, and the like
		}
		c = c.Clone()
		for range 60 {
			parts := make([]int, len(slots))
			for i := range parts {
				parts[i] = rng.IntN(len(slots[i].Parts))
			}
			b, fault := c.Build(parts)
			d, err := c.Document(parts)
			if fault != nil {
				refused++
				if assert.Error(t, err, "%v: %v", fault, parts) && !strings.Contains(err.Error(), "numbered from 0") { // of which there may be several
					assert.ErrorContains(t, err, fault.Field+": "+fault.Text)
				}
				continue
			}
			good++
			require.NoError(t, err)
			require.Equal(t, d.Build, b.Clone(), "%v", parts)
			// The document is that of the overrides, where parts alone lay keys.
			var overrides []string
			for i, k := range parts {
				if p := &slots[i].Parts[k]; len(p.Also) == 0 && !strings.HasPrefix(p.Value, "{") && p.Value != buildfile.AsInBase {
					overrides = append(overrides, slots[i].Key+"="+strings.TrimPrefix(p.Value, buildfile.TakeAway))
				} else if p.Value != buildfile.AsInBase || len(p.Also) > 0 {
					overrides = nil
					break
				}
			}
			if overrides != nil {
				o, err := buildfile.DemoDocument(overrides...)
				require.NoError(t, err)
				require.Equal(t, o.Build, d.Build)
			}
		}
	}
	assert.Greater(t, good, effort.Seen(500))
	assert.Greater(t, refused, effort.Seen(200))
}

// No default of a section looks at another section, but for the cut-off, which a Composer
// reckons last: the keys of one section change nothing in the others.
func TestSectionsStandAlone(t *testing.T) {
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	n := 0
	for _, k := range buildfile.Keys() {
		top, _, _ := strings.Cut(k.Path, ".")
		at, ok := d.Get(k.Path)
		if !k.Quantity || top == "target" || !ok || strings.Contains(k.Path, ".0") {
			continue
		}
		for _, v := range []float64{at * 1.01, at * 0.99, at + 1, at - 1} {
			if k.Whole && v != float64(int(v)) || !k.Whole && (v == at+1 || v == at-1) {
				continue
			}
			e, err := d.With(k.Path + "=" + k.Kind.Print(v))
			if err != nil {
				continue
			}
			n++
			got, want := *e.Build, *d.Build
			for _, b := range []*drivetrain.Build{&got, &want} {
				switch top {
				case "motor":
					b.Motor = drivetrain.Build{}.Motor
				case "battery":
					b.Battery = drivetrain.Build{}.Battery
				case "harness":
					b.Harness = drivetrain.Build{}.Harness
				case "gears":
					b.Gears = drivetrain.Gears{}
				case "sector", "rack":
					b.Sector, b.Rack = drivetrain.Sector{}, nil
				case "piston":
					b.Piston = drivetrain.Piston{}
				case "spring":
					b.Spring = drivetrain.Spring{}
				case "cylinder":
					b.Cylinder = drivetrain.Cylinder{}
				case "barrel":
					b.Barrel = drivetrain.Barrel{}
				case "pellet":
					b.Pellet = drivetrain.Pellet{}
				case "trigger":
					b.Trigger = drivetrain.Trigger{}
				case "ambient":
					b.Ambient = drivetrain.Ambient{}
				}
				b.Trigger.Cutoff = 0
			}
			assert.Equal(t, want, got, k.Path)
		}
	}
	assert.Greater(t, n, 80)
}

// The file of a combination keeps the base's comments, has the shelf's wish, and reads as
// what was put together.
func TestDocumentOfACombination(t *testing.T) {
	s, err := buildfile.ReadShelf(cupboard)
	require.NoError(t, err)
	c, err := s.Compose()
	require.NoError(t, err)
	parts := []int{1, 1, 1, 2, 0, 2, 2, 1}
	d, err := c.Document(parts)
	require.NoError(t, err)
	text, err := d.Bytes()
	require.NoError(t, err)
	assert.Contains(t, string(text), "# so that a rotor may be too thick for it")
	back, err := buildfile.Parse("back.yaml", text)
	require.NoError(t, err, string(text))
	b, f := c.Build(parts)
	require.Nil(t, f)
	assert.Equal(t, b.Clone(), back.Build)
	assert.Equal(t, c.Base().Target, back.Target)
}

func BenchmarkCompose(b *testing.B) {
	s, err := buildfile.ReadShelf(cupboard)
	require.NoError(b, err)
	c, err := s.Compose()
	require.NoError(b, err)
	all := [][]int{{0, 0, 0, 0, 0, 0, 0, 0}, {1, 1, 1, 1, 1, 1, 1, 1}, {2, 0, 0, 0, 1, 2, 0, 0}}
	b.ReportAllocs()
	for b.Loop() {
		for _, parts := range all {
			if _, f := c.Build(parts); f != nil {
				b.Fatal(f)
			}
		}
	}
}
