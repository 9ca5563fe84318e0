package buildfile_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
)

// least is a build file that leaves all to defaults that it can.
const least = `motor:
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

// others are overrides of that file which give the other one of every two alternatives,
// and what is optional.
var others = map[string][]string{
	"least":    nil,
	"bench":    {"motor.bench={voltage: 7.4 V, no_load_speed: 32000 rpm, no_load_current: 1.5 A, stall_current: 90 A, inertia: 12 g cm2}"},
	"measured": {"motor.bench={voltage: 7.4 V, no_load_speed: 32000 rpm, no_load_current: 1.5 A, resistance: 80 mohm, inertia: 12 g cm2}", "harness.lead.area=1.2 mm2"},
	"contacts": {"harness.switch.contacts={material: silver, force: 1.2 N}", "motor.stator.bore=16 mm", "motor.stator.length=30 mm", "motor.armature.slot_area=45 mm2", "motor.armature.inductance=60 uH"},
	"spring":   {"spring.wire=1.4 mm", "spring.coil_diameter=12 mm", "spring.coils=34", "spring.free_length=160 mm", "spring.installed_length=110 mm", "cylinder.port=30 mm"},
	"teeth":    {"gears.teeth={pinion: 10, bevel: 22, bevel_pinion: 11, spur: 29, spur_pinion: 10, sector: 18}", "sector.engaged_angle=200 deg", "trigger={mode: single, rounds: 3}"},
	"grade":    {"motor.stator.magnet.remanence=", "motor.stator.magnet.grade=N42SH", "motor.heat.class=H", "harness.lead.insulation=PTFE"},
	"parts": {"tappet={from: 100 deg, to: 165 deg, work: 45 mJ}", "pads=[0.5 mm, 1 mm, 2 mm]", "rack={pickup_offset: 2 mm, material: steel, taken_down: [{tooth: 2, depth: 1 mm}, {tooth: 3, depth: 0.5 mm}]}",
		"battery.chemistry=custom", "battery.ocv=[[0 %, 3.0 V], [40 %, 3.7 V], [100 %, 4.2 V]]", "harness.switch.mosfet.brake_resistance=3 mohm", "harness.switch.mosfet.active_braking=yes", "battery.discharge_rating=25", "gears.churning=2e-5 N m s"},
}

// bases are sound documents of every sort.
func bases(t testing.TB) map[string]*buildfile.Document {
	t.Helper()
	all := map[string]*buildfile.Document{}
	for name, o := range others {
		d, err := buildfile.Parse(name+".yaml", []byte(least), o...)
		require.NoError(t, err, name)
		all[name] = d
	}
	for _, pattern := range []string{"../../testdata/builds/*.yaml", "../../examples/builds/*.yaml"} {
		files, err := filepath.Glob(pattern)
		require.NoError(t, err)
		require.NotEmpty(t, files)
		for _, f := range files {
			d, err := buildfile.Read(f)
			require.NoError(t, err)
			all[f] = d
		}
	}
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	all["demo"] = d
	return all
}

func sortedNames(all map[string]*buildfile.Document) (names []string) {
	for name := range all {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// number is a key of a document that may be varied.
type number struct {
	buildfile.Key
	path string // with the member's number
}

// numbers are those of a document: of each member of its lists, and of one more.
func numbers(d *buildfile.Document) (all []number) {
	members := map[string]int{
		"harness.connectors.": len(d.Build.Harness.Connectors), "pads.": len(d.Build.Pads), "battery.ocv.": len(d.Build.Battery.OCVTable) - 1, "rack.taken_down.": 0,
	}
	if r := d.Build.Rack; r != nil {
		members["rack.taken_down."] = len(r.TakenDown)
	}
	for _, k := range buildfile.Keys() {
		if !k.Quantity || strings.HasPrefix(k.Path, "target.") {
			continue
		}
		most := 0
		prefix := ""
		for p, n := range members {
			if strings.HasPrefix(k.Path, p+"0") {
				prefix, most = p, n
			}
		}
		for i := range most + 1 {
			path := k.Path
			if prefix != "" {
				path = prefix + strconv.Itoa(i) + strings.TrimPrefix(k.Path, prefix+"0")
			}
			all = append(all, number{k, path})
		}
	}
	return all
}

// value is one for the key: near the one in force as a rule, and at times anywhere.
func (n *number) value(d *buildfile.Document, r *rand.Rand, wild float64) float64 {
	v, ok := d.Get(n.path)
	lo, hi := n.Range[0], n.Range[1]
	switch {
	case r.Float64() < wild:
		v = []float64{lo, hi, 0, -v, lo - 1e-3*(hi-lo), hi * 1.01, v + 0.5, 1e3 * v, lo + (hi-lo)*r.Float64(), 1e12, math.NaN(), math.Inf(1)}[r.IntN(12)]
		if n.Whole && r.IntN(3) > 0 {
			v = math.Round(v)
		}
		return v
	case !ok:
		example, err := quantity.Parse(strings.Split(n.Kind.Example(), " or ")[0], n.Kind)
		if err == nil && example.SI >= lo && example.SI <= hi {
			v = example.SI
		} else {
			v = math.Sqrt(max(lo, 1e-9) * hi)
		}
	}
	if n.Whole {
		return math.Round(v) + float64(r.IntN(3)-1)
	}
	return v * (0.95 + 0.1*r.Float64())
}

// overrides are values as text.
func overrides(t testing.TB, keys []number, values []float64) (all []string) {
	for i, k := range keys {
		text := k.Kind.Print(values[i])
		if back, err := quantity.Parse(text, k.Kind); err == nil {
			require.Equal(t, values[i], back.SI, "%s: the text means the value", k.path)
		}
		all = append(all, k.path+"="+text)
	}
	return all
}

// said is what an error says of which keys, places apart.
func said(err error) (all []string) {
	for _, f := range quantity.Faults(err) {
		text, _, _ := strings.Cut(f.Text, " (the point in")
		all = append(all, f.Field+": "+text)
	}
	slices.Sort(all)
	return all
}

// same holds what a Variant makes of values against what their text makes, and tells
// whether that is a build.
func same(t testing.TB, d *buildfile.Document, v *buildfile.Variant, keys []number, values []float64) bool {
	t.Helper()
	got, gotErr := v.Put(values)
	for i, x := range values {
		if !quantity.Finite(x) {
			require.ErrorContains(t, gotErr, keys[i].path+": ", "%g", x)
			require.ErrorContains(t, gotErr, "is not a finite number; wanted ")
			return false
		}
	}
	texts := overrides(t, keys, values)
	want, wantErr := d.With(texts...)
	if wantErr != nil {
		require.Error(t, gotErr, "%v: %v", texts, wantErr)
		require.Nil(t, got)
		require.Equal(t, said(wantErr), said(gotErr), "%v", texts)
		return false
	}
	require.NoError(t, gotErr, "%v", texts)
	require.Equal(t, want.Build, got, "%v", texts)
	return true
}

// Each key by itself, in every document.
func TestVariantIsWhatTextMakesOfOneKey(t *testing.T) {
	all := bases(t)
	seen := map[string]bool{}
	r := rand.New(rand.NewPCG(1, 2))
	sound, refused := 0, 0
	tries := 1
	if effort.All() {
		tries = 6
	}
	for _, name := range sortedNames(all) {
		d := all[name]
		before := fmt.Sprintf("%+v", d.Build)
		for _, n := range numbers(d) {
			v, err := d.Vary(n.path)
			if err != nil {
				_, textErr := d.With(n.path + "=" + n.Kind.Print(n.value(d, r, 0)))
				require.Error(t, textErr, "%s: %v", name, err)
				continue
			}
			for i := range tries {
				far := []float64{0, 1}[i%2]
				if !effort.All() && seen[n.Path] {
					far = 1
				}
				x := n.value(d, r, far)
				if same(t, d, v, []number{n}, []float64{x}) {
					seen[n.Path] = true
					sound++
				} else {
					refused++
				}
			}
		}
		require.Equal(t, before, fmt.Sprintf("%+v", d.Build), "the document stays as it is")
	}
	for _, k := range buildfile.Keys() {
		alone := []string{"gears.teeth.", "motor.bench.", "tappet.", "battery.ocv."} // beside their like only
		if k.Quantity && !strings.HasPrefix(k.Path, "target.") && !slices.ContainsFunc(alone, func(p string) bool { return strings.HasPrefix(k.Path, p) }) {
			assert.True(t, seen[k.Path], "%s is nowhere varied to a sound build", k.Path)
		}
	}
	for _, path := range []string{"gears.teeth.spur", "motor.bench.voltage", "tappet.work", "battery.ocv.0.1"} {
		assert.True(t, seen[path], path)
	}
	t.Logf("%d sound builds, %d refused", sound, refused)
	assert.Greater(t, sound, effort.Seen(5000))
	assert.Greater(t, refused, effort.Seen(3000))
}

// Many keys at once, one Variant after another and each several times.
func TestVariantIsWhatTextMakesOfManyKeys(t *testing.T) {
	all := bases(t)
	r := rand.New(rand.NewPCG(3, 4))
	sound, refused := 0, 0
	for _, name := range sortedNames(all) {
		d := all[name]
		free := numbers(d)
		// Most subsets hold a key that has no room in the document: those that may be varied at all.
		free = slices.DeleteFunc(free, func(n number) bool {
			_, ok := d.Get(n.path)
			return !ok && r.IntN(8) > 0
		})
		for range effort.Of(60) {
			r.Shuffle(len(free), func(i, j int) { free[i], free[j] = free[j], free[i] })
			keys := free[:1+r.IntN(14)]
			var paths []string
			for _, k := range keys {
				paths = append(paths, k.path)
			}
			v, err := d.Vary(paths...)
			if err != nil {
				require.NotEmpty(t, said(err), "%v", paths)
				continue
			}
			for i := range 5 {
				values := make([]float64, len(keys))
				for j := range keys {
					values[j] = keys[j].value(d, r, []float64{0, 0, 0.05}[i%3])
				}
				if i == 3 {
					v = v.Clone()
				}
				if same(t, d, v, keys, values) {
					sound++
				} else {
					refused++
				}
			}
		}
	}
	t.Logf("%d sound builds, %d refused", sound, refused)
	assert.Greater(t, sound, effort.Seen(1500))
	assert.Greater(t, refused, effort.Seen(500))
}

// Keys that stand in each other's place, and those that make what isn't there.
func TestVariantTakesPlaces(t *testing.T) {
	all := bases(t)
	for _, c := range []struct {
		name   string
		base   string
		paths  []string
		values []float64
	}{
		{"rate in place of wire", "spring", []string{"spring.rate"}, []float64{700}},
		{"wire in place of rate", "least", []string{"spring.wire", "spring.coil_diameter", "spring.coils"}, []float64{1.4e-3, 12e-3, 33.5}},
		{"wire without a modulus of its own", "spring", []string{"spring.wire"}, []float64{1.35e-3}},
		{"lengths in place of preload", "least", []string{"spring.installed_length", "spring.free_length"}, []float64{0.1, 0.15}},
		{"bore in place of gap", "least", []string{"motor.stator.bore"}, []float64{16e-3}},
		{"gauge in place of area", "measured", []string{"harness.lead.gauge"}, []float64{18}},
		{"area in place of gauge", "least", []string{"harness.lead.area"}, []float64{1e-6}},
		{"bench in place of parts", "least", []string{"motor.bench.voltage", "motor.bench.no_load_speed", "motor.bench.no_load_current", "motor.bench.stall_current", "motor.bench.inertia"}, []float64{7.4, 3300, 1.5, 80, 12e-7}},
		{"resistance in place of stall current", "bench", []string{"motor.bench.resistance"}, []float64{0.08}},
		{"teeth in place of ratio", "least", []string{"gears.teeth.pinion", "gears.teeth.bevel", "gears.teeth.bevel_pinion", "gears.teeth.spur", "gears.teeth.spur_pinion", "gears.teeth.sector"}, []float64{10, 22, 11, 29, 10, 18}},
		{"ratio in place of teeth", "teeth", []string{"gears.ratio"}, []float64{11}},
		{"remanence beside a grade", "grade", []string{"motor.stator.magnet.remanence", "motor.armature.turns"}, []float64{1.2, 25}},
		{"a tappet made", "least", []string{"tappet.work", "tappet.to", "tappet.from"}, []float64{0.05, 2, 1}},
		{"a fuse's rating", "least", []string{"harness.fuse.rating"}, []float64{30}},
		{"a port made", "least", []string{"cylinder.port"}, []float64{0.03}},
		{"a port taken away", "spring", []string{"cylinder.port"}, []float64{0}},
		{"connector made", "least", []string{"harness.connectors.1.resistance"}, []float64{1e-3}},
		{"pads made", "least", []string{"pads.0", "pads.1"}, []float64{1e-3, 2e-3}},
		{"a tooth taken down", "least", []string{"rack.taken_down.0.tooth", "rack.taken_down.0.depth"}, []float64{2, 1e-3}},
		{"cut-off from sector and spacer", "least", []string{"sector.teeth", "sector.module", "piston.spacer", "rack.lift"}, []float64{15, 1.02e-3, 1e-3, 1e-4}},
		{"brake's resistance", "least", []string{"harness.switch.mosfet.brake_resistance", "rack.pickup_offset"}, []float64{1e-3, 1e-3}},
		{"nothing", "least", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := all[c.base]
			v, err := d.Vary(c.paths...)
			require.NoError(t, err)
			assert.Equal(t, c.paths, v.Paths())
			var keys []number
			for _, p := range c.paths {
				k, ok := buildfile.FindKey(p)
				require.True(t, ok)
				keys = append(keys, number{k, p})
			}
			for range 2 {
				assert.True(t, same(t, d, v, keys, c.values))
			}
		})
	}
}

func TestVaryRefused(t *testing.T) {
	all := bases(t)
	for _, c := range []struct {
		name, base string
		paths      []string
		want       []string
	}{
		{"typo", "least", []string{"spring.rat"}, []string{"spring.rat: no such key; did you mean rate?"}},
		{"two typos", "least", []string{"sprng.rate", "piston.masss"}, []string{"piston.masss: no such key; did you mean mass?", "sprng: no such key; did you mean spring?"}},
		{"elsewhere", "least", []string{"motor.ratio"}, []string{"motor.ratio: no such key here; it is known as gears.ratio"}},
		{"word", "least", []string{"barrel.air"}, []string{"barrel.air: is a word (one of moving, still); only numbers can be varied"}},
		{"flag", "least", []string{"spring.waves"}, []string{"spring.waves: is a word (true or false); only numbers can be varied"}},
		{"name", "least", []string{"name"}, []string{"name: is a word (a name, such as Woodland club rifle); only numbers can be varied"}},
		{"section", "least", []string{"spring"}, []string{"spring: is a mapping; wanted a key that holds a number"}},
		{"list", "parts", []string{"pads"}, []string{"pads: is a list; wanted a key that holds a number"}},
		{"too far", "parts", []string{"pads.4"}, []string{"pads.4: pads has 3 members, numbered from 0"}},
		{"below a number", "least", []string{"spring.rate.x"}, []string{"spring.rate.x: spring.rate has no keys below it"}},
		{"target", "demo", []string{"target.rate_of_fire.min"}, []string{"target.rate_of_fire.min: is asked of the build and no part of it; wanted a key of the build"}},
		{"twice", "least", []string{"spring.rate", "spring.rate"}, []string{"spring.rate: is named twice"}},
		{"both of two", "least", []string{"spring.rate", "spring.wire", "spring.coil_diameter", "spring.coils"}, []string{"spring.rate: another of the keys to vary stands in its place; wanted one of the two"}},
		{"both of two sections", "least", []string{"motor.armature.turns", "motor.bench.voltage"}, []string{"motor.armature.turns: another of the keys to vary stands in its place; wanted one of the two"}},
		{"half of another", "least", []string{"spring.wire"}, []string{"spring.coil_diameter: missing; wanted it beside spring.wire", "spring.coils: missing; wanted it beside spring.wire"}},
		{"both of a motor", "least", []string{"motor.bench.voltage", "motor.bench.no_load_speed", "motor.bench.no_load_current", "motor.bench.stall_current", "motor.bench.inertia", "motor.drag.constant"}, []string{"motor.bench: stands beside motor.drag.constant (a number put); wanted one of the two"}},
		{"half of a part", "least", []string{"tappet.work"}, []string{"tappet.from: missing; wanted an angle, such as 120 deg", "tappet.to: missing; wanted an angle, such as 120 deg"}},
		{"beside bench readings", "bench", []string{"motor.drag.constant"}, []string{"motor.drag.constant: stands beside motor.bench (--set motor.bench={voltage: 7.4 V, no_load_speed: 32000 rpm, no_lo…); wanted one of the two"}},
		{"empty", "least", []string{""}, []string{": no such key; known here: name, target, motor, battery, harness, gears, sector, rack, pads, piston, spring, cylinder, barrel, pellet, trigger, tappet and 1 more"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, err := all[c.base].Vary(c.paths...)
			require.Error(t, err)
			assert.Nil(t, v)
			assert.Equal(t, c.want, said(err))
			screenful(t, err)
		})
	}
}

func TestPutRefused(t *testing.T) {
	d, err := buildfile.Parse("rifle.yaml", []byte(least))
	require.NoError(t, err)
	v, err := d.Vary("spring.rate", "motor.armature.turns", "harness.lead.gauge", "barrel.bore", "motor.armature.inductance")
	require.NoError(t, err)
	good := []float64{700, 25, 16, 6.05e-3, 60e-6}
	for _, c := range []struct {
		name   string
		values []float64
		want   string
	}{
		{"out of range", []float64{-5, 25, 16, 6.05e-3, 60e-6}, "spring.rate: -5 N/m is out of range; wanted 1e-06 N/m to 1e+07 N/m"},
		{"two", []float64{-5, 0, 16, 6.05e-3, 60e-6}, "motor.armature.turns: 0 is out of range; wanted a whole number from 1 to 1000\nspring.rate: -5 N/m is out of range; wanted 1e-06 N/m to 1e+07 N/m"},
		{"not whole", []float64{700, 25.5, 16, 6.05e-3, 60e-6}, `motor.armature.turns: "25.5" is not whole; wanted a whole number, such as 28`},
		{"too many", []float64{700, 1e10, 16, 6.05e-3, 60e-6}, `motor.armature.turns: "1e+10" is no count of anything in a gun; wanted a whole number, such as 28`},
		{"no gauge", []float64{700, 25, 80, 6.05e-3, 60e-6}, `harness.lead.gauge: "80 AWG": wanted a whole gauge from 4/0 to 56 AWG`},
		{"gauge too thin", []float64{700, 25, 50, 6.05e-3, 60e-6}, "harness.lead.gauge: 0.000492945 mm2 is out of range; wanted 0.001 mm2 to 1000 mm2"},
		{"nothing", []float64{700, 25, 16, 6.05e-3, 0}, "motor.armature.inductance: 0 uH is nothing; wanted more, or the key left out"},
		{"no number", []float64{math.NaN(), 25, 16, 6.05e-3, 60e-6}, "spring.rate: NaN is not a finite number; wanted a spring rate, such as 680 N/m"},
		{"no end", []float64{700, math.Inf(-1), 16, 6.05e-3, 60e-6}, "motor.armature.turns: -Inf is not a finite number; wanted a whole number, such as 28"},
		{"a thousand", []float64{700, 25, 16, 0.100123, 60e-6}, "barrel.bore: 100.123 mm is out of range; wanted 1 mm to 100 mm"},
		{"the fault of another", []float64{700, 25, 16, 5.95e-3, 60e-6}, "rifle.yaml:17:1: pellet.diameter: 5.95 mm does not pass a barrel bored 5.95 mm (assumed, since the file leaves it out)"},
		{"too few", []float64{700}, "1 values for 5 keys; wanted one for each"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, err := v.Put(c.values)
			assert.Nil(t, b)
			assert.EqualError(t, err, c.want)
			b, err = v.Put(good)
			require.NoError(t, err, "the next one is as good as ever")
			n, err := d.With("spring.rate=700 N/m", "motor.armature.turns=25", "barrel.bore=6.05 mm", "motor.armature.inductance=60 uH")
			require.NoError(t, err)
			assert.Equal(t, n.Build, b)
		})
	}
}

// Variants share nothing that either writes.
func TestVariantsAreApart(t *testing.T) {
	d := bases(t)["parts"]
	free := slices.DeleteFunc(numbers(d), func(n number) bool { _, ok := d.Get(n.path); return !ok })
	var paths []string
	var values []float64
	for _, n := range free {
		v, _ := d.Get(n.path)
		paths, values = append(paths, n.path), append(values, v)
	}
	require.Greater(t, len(paths), 100)
	one, err := d.Vary(paths...)
	require.NoError(t, err)
	two := one.Clone()
	a, err := one.Put(values)
	require.NoError(t, err)
	require.Equal(t, d.Build, a, "the values in force make the same build")
	kept := a.Clone()
	r := rand.New(rand.NewPCG(5, 6))
	moved := slices.Clone(values)
	var b *drivetrain.Build
	for {
		for i := range moved {
			if free[i].Kind != quantity.Count && free[i].Kind != quantity.Gauge && !strings.HasPrefix(paths[i], "battery.ocv") {
				moved[i] = values[i] * (1 - 1e-3*r.Float64())
			}
		}
		if b, err = two.Put(moved); err == nil {
			break
		}
	}
	assert.NotEqual(t, kept, b)
	assert.Equal(t, kept, a)
	assert.Equal(t, kept, d.Build)

	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			own, err := d.Vary(paths...)
			if !assert.NoError(t, err) {
				return
			}
			for range 50 {
				for _, v := range []*buildfile.Variant{own, own.Clone()} {
					b, err := v.Put(values)
					assert.NoError(t, err)
					assert.Equal(t, kept, b)
				}
			}
		})
	}
	wait.Wait()
}

// dozen are keys that other keys follow, and values for them.
var dozen = []string{
	"spring.rate", "piston.mass", "piston.drag", "motor.armature.turns", "motor.armature.wire", "motor.stator.magnet.remanence", "battery.capacity",
	"sector.module", "gears.ratio", "barrel.length", "cylinder.seal_leak", "harness.fuse.rating",
}

var dozenValues = []float64{700, 25e-3, 4, 26, 0.66e-3, 1.2, 4700, 1.01e-3, 11, 0.36, 0.06e-6, 26}

func TestPutAllocatesNothing(t *testing.T) {
	for _, name := range []string{"least", "demo", "parts", "bench", "grade"} {
		d := bases(t)[name]
		paths := slices.DeleteFunc(slices.Clone(dozen), func(p string) bool { return name == "bench" && strings.Contains(p, "motor.") })
		if name == "parts" {
			paths = append(paths, "rack.pickup_offset", "harness.switch.mosfet.brake_resistance")
		}
		v, err := d.Vary(paths...)
		require.NoError(t, err)
		var values []float64
		for _, p := range paths {
			if i := slices.Index(dozen, p); i >= 0 {
				values = append(values, dozenValues[i])
			} else {
				values = append(values, 1e-3)
			}
		}
		_, err = v.Put(values)
		require.NoError(t, err, name)
		n := testing.AllocsPerRun(100, func() {
			if _, err := v.Put(values); err != nil {
				t.Error(err)
			}
		})
		assert.Zero(t, n, name)
	}
}

func TestGet(t *testing.T) {
	d, err := buildfile.Parse("rifle.yaml", []byte(least), "pads=[0.5 mm, 1 mm]", "trigger.mode=single", "harness.switch.mosfet.active_braking=YES", "battery.chemistry=LiPo", "target.rate_of_fire.min=20 /s", "spring.rate=680 ± 20 N/m", "motor.commutation=30 %")
	require.NoError(t, err)
	for path, want := range map[string]float64{
		"spring.rate": 680, "motor.armature.turns": 28, "motor.armature.wire": 0.65e-3, "harness.lead.gauge": 16, "harness.connectors.0.resistance": 0.8e-3,
		"harness.connectors.0.heat.capacity": 1, "harness.fuse.melting": 625, "pads.1": 1e-3, "target.rate_of_fire.min": 20, "motor.stator.magnet.drift": -0.0012,
		"ambient.temperature": 293.15, "piston.drag_pull": 5, "trigger.cutoff": d.Build.Trigger.Cutoff, "motor.commutation": 0.3, "rack.teeth": 16, "spring.mass": 18e-3,
	} {
		got, ok := d.Get(path)
		assert.True(t, ok, path)
		assert.InDelta(t, want, got, 1e-12*math.Abs(want), path)
	}
	for _, path := range []string{"spring.wire", "spring.modulus", "harness.lead.area", "cylinder.port", "cylinder.port_area", "tappet.work", "motor.bench.voltage", "harness.connectors.1.resistance", "pads", "spring", "spring.rat", "", "trigger.mode", "name"} {
		got, ok := d.Get(path)
		assert.False(t, ok, path)
		assert.True(t, math.IsNaN(got), path)
	}
	for path, want := range map[string]string{
		"trigger.mode": "single", "harness.switch.mosfet.active_braking": "true", "spring.waves": "true", "battery.chemistry": "lithium-polymer", "name": "Unnamed build", "rack.material": "polymer",
	} {
		got, ok := d.Word(path)
		assert.True(t, ok, path)
		assert.Equal(t, want, got, path)
	}
	for _, path := range []string{"motor.heat.class", "spring.rate", "motor.commutation", "motor.stator.magnet.grade", "trigger", "x"} {
		_, ok := d.Word(path)
		assert.False(t, ok, path)
	}
	d, err = d.With("motor.commutation=")
	require.NoError(t, err)
	_, ok := d.Get("motor.commutation")
	assert.False(t, ok, "a word stands in its place")
	word, ok := d.Word("motor.commutation")
	assert.True(t, ok)
	assert.Equal(t, "auto", word)
}

func BenchmarkPut(b *testing.B) {
	for _, name := range []string{"least", "demo"} {
		b.Run(name, func(b *testing.B) {
			v, err := bases(b)[name].Vary(dozen...)
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := v.Put(dozenValues); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkPutAsText is the same by overrides.
func BenchmarkPutAsText(b *testing.B) {
	d := bases(b)["demo"]
	var keys []number
	for _, p := range dozen {
		k, _ := buildfile.FindKey(p)
		keys = append(keys, number{k, p})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := d.With(overrides(b, keys, dozenValues)...); err != nil {
			b.Fatal(err)
		}
	}
}
