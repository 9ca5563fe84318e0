package spread_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/spread"
)

const references = "../../testdata/reference/spread/"

// plain switches the physics off that the references were computed without.
func plain(text []byte) []string {
	off := []string{"spring.waves=false", "barrel.air=still", "barrel.wall_heat=0", "cylinder.wall_heat=0"}
	if !bytes.Contains(text, []byte("commutation:")) {
		off = append(off, "motor.commutation=0 %")
	}
	return off
}

func reference(t testing.TB, name string) *buildfile.Document {
	path := references + name + ".yaml"
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	d, err := buildfile.Read(path, plain(text)...)
	require.NoError(t, err)
	return d
}

// simple is the demo in plain physics, which costs half as much, with overrides: for
// what has nothing to do with physics.
func simple(t testing.TB, overrides ...string) *buildfile.Document {
	return demo(t, append(plain(nil), overrides...)...)
}

func demo(t testing.TB, overrides ...string) *buildfile.Document {
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	return d
}

func run(t testing.TB, q spread.Question, s spread.Settings) *spread.Result {
	r, err := spread.Run(context.Background(), q, s)
	require.NoError(t, err)
	return r
}

// referenceShare and the like are what an independent program found with 131,072 draws.
type referenceShare struct{ Share, SE float64 }

type referenceDriver struct {
	Key     string
	First   float64
	FirstSE float64 `json:"first_se"`
	Total   float64
	TotalSE float64 `json:"total_se"`
}

type referenceFigure struct {
	Figure           string
	Exists, Mean, SD float64
	ExistsSE         float64 `json:"exists_se"`
	MeanSE           float64 `json:"mean_se"`
	SDSE             float64 `json:"sd_se"`
	Percentiles      map[string]float64
	PercentileSE     map[string]float64 `json:"percentile_se"`
	ShotSD           float64            `json:"shot_sd"`
	GunSD            float64            `json:"gun_sd"`
	ShotSDSE         float64            `json:"shot_sd_se"`
	GunSDSE          float64            `json:"gun_sd_se"`
	Drivers          []referenceDriver
}

type referenceResult struct {
	Tolerances []struct {
		Key                  string
		Value, SD, Low, High float64
		Whole                bool
	}
	Meets    referenceShare
	Wants    []referenceShare
	Failures []struct {
		Code string
		referenceShare
	}
	Figures []referenceFigure
	Drivers struct{ Meets []referenceDriver }
	// AtDefault is what 8192 draws show.
	AtDefault *referenceResult `json:"at_default"`
}

// Two builds against an independent program's 131,072 draws: shares, means, deviations,
// percentiles, drivers, what one gun scatters. A quarter of the usual draws, and an eighth of
// the drivers', at full effort, a sixteenth and a thirty-second else; each within four
// standard errors of both together, of which the run's is what eight replicates show or what
// 8192 draws of the reference's sampler do, times how many fewer there are (an error falls
// nearly with their number).
func TestReference(t *testing.T) {
	draws, drivers, fewer := 512, 64, 16.
	if effort.All() {
		draws, drivers, fewer = 2048, 256, 4
	}
	for _, name := range []string{"woodland", "winter"} {
		t.Run(name, func(t *testing.T) {
			text, err := os.ReadFile(references + name + ".json")
			require.NoError(t, err)
			var want referenceResult
			require.NoError(t, json.Unmarshal(text, &want))
			r := run(t, spread.Question{Document: reference(t, name)}, spread.Settings{Draws: draws, Drivers: drivers, Seed: 1})
			asked := 0
			times := fewer // than what is usual
			near := func(what string, have spread.Estimate, value, se, usual, floor float64) {
				t.Helper()
				asked++
				own := max(times*usual, have.SE)
				assert.InDelta(t, value, have.Value, 4*math.Hypot(own, se)+floor, what)
			}
			require.Len(t, r.Keys, len(want.Tolerances))
			for i, k := range want.Tolerances {
				assert.Equal(t, k.Key, r.Keys[i].Path)
				for _, v := range [][2]float64{{k.Value, r.Keys[i].Value}, {k.SD, r.Keys[i].SD}, {k.Low, r.Keys[i].Low}, {k.High, r.Keys[i].High}} {
					assert.InDelta(t, v[0], v[1], 1e-12*math.Abs(k.Value), k.Key)
				}
				assert.Equal(t, k.Whole, r.Keys[i].Whole)
			}
			const share = .002
			near("meets", r.Meets.Estimate, want.Meets.Share, want.Meets.SE, want.AtDefault.Meets.SE, share)
			for i, w := range want.Wants {
				near(r.Wants[i].Figure, r.Wants[i].Share.Estimate, w.Share, w.SE, want.AtDefault.Wants[i].SE, share)
			}
			for i, f := range want.Failures {
				k := slices.IndexFunc(r.Failures, func(c spread.CodeShare) bool { return c.Code == f.Code })
				require.GreaterOrEqual(t, k, 0, f.Code)
				near(f.Code, r.Failures[k].Share.Estimate, f.Share, f.SE, want.AtDefault.Failures[i].SE, share)
			}
			drivers := func(what string, have []spread.Driver, value, usual []referenceDriver) {
				times = 2 * fewer
				defer func() { times = fewer }()
				require.Len(t, have, len(value), what)
				for i, d := range value {
					near(what+", first of "+d.Key, have[i].First, d.First, d.FirstSE, usual[i].FirstSE, .01)
					near(what+", total of "+d.Key, have[i].Total, d.Total, d.TotalSE, usual[i].TotalSE, .01)
				}
			}
			drivers("meets", r.MeetsDrivers, want.Drivers.Meets, want.AtDefault.Drivers.Meets)
			for i, w := range want.Figures {
				k := slices.IndexFunc(r.Figures, func(f spread.Figure) bool { return f.Key() == w.Figure })
				require.GreaterOrEqual(t, k, 0, w.Figure)
				f, usual := &r.Figures[k], &want.AtDefault.Figures[i]
				floor := min(1e-4*math.Abs(w.Mean), .01*w.SD)
				near(w.Figure+" exists", f.Exists, w.Exists, w.ExistsSE, usual.ExistsSE, share)
				near(w.Figure+" mean", f.Mean, w.Mean, w.MeanSE, usual.MeanSE, floor)
				near(w.Figure+" sd", f.SD, w.SD, w.SDSE, usual.SDSE, 1e-3*w.SD)
				for p, percent := range spread.Percents() {
					at := fmt.Sprint(percent)
					near(w.Figure+" percentile "+at, f.Percentiles[p], w.Percentiles[at], w.PercentileSE[at], usual.PercentileSE[at], floor+.002*w.SD)
				}
				times = 2 * fewer
				near(w.Figure+" from shot to shot", f.WithinSD, w.ShotSD, w.ShotSDSE, usual.ShotSDSE, .01*w.SD)
				near(w.Figure+" from gun to gun", f.BetweenSD, w.GunSD, w.GunSDSE, usual.GunSDSE, .01*w.SD)
				times = fewer
				drivers(w.Figure, f.Drivers, w.Drivers, usual.Drivers)
			}
			assert.Greater(t, asked, 250)
		})
	}
}

// drawn is how many guns are drawn: so many, or a half where not all is looked at, and 128 at
// least, which is the fewest that can be.
func drawn(all int) int {
	if effort.All() {
		return all
	}
	return max(all/2, 128)
}

// A way to the goal holds for other guns: those of another seed, fired by the changed build
// file, are as many sound as was confirmed.
func TestReachHolds(t *testing.T) {
	d := demo(t, "spring.rate=740 N/m ± 2 %", "spring.preload=45 mm ± 1 mm", "cylinder.seal_leak=0.05 mm2 ± 60 %", "pellet.hop_force=1 N ± 20 %", "motor.armature.turns=28 ± 1")
	r := run(t, spread.Question{Document: d, Reach: .95}, spread.Settings{Draws: drawn(1024), Seed: 2})
	h := r.Reach
	require.Less(t, r.Sound.Value, .93, "it is worth a plan")
	require.NotEmpty(t, h.Plan.Steps)
	assert.True(t, slices.ContainsFunc(h.Plan.Steps, func(s spread.Step) bool { return s.Shift != 0 }), "the middle is off: it has to be shifted")
	assert.True(t, h.Plan.Reached)
	for _, f := range h.Surrogate {
		assert.Greater(t, f.R2, .98, f.Name)
	}
	var sets []string
	for _, s := range h.Plan.Steps {
		k := r.Keys[s.Key]
		assert.False(t, k.Whole && s.Tighten != 1, "a count keeps its tolerance")
		two := 2 * k.SD * s.Tighten
		text := k.Kind.Print(k.Value + s.Shift)
		if k.Whole {
			sets = append(sets, fmt.Sprintf("%s=%s ± %.12g %%", k.Path, text, 100*two/(k.Value+s.Shift)))
			continue
		}
		sets = append(sets, fmt.Sprintf("%s=%s ± %s", k.Path, text, k.Kind.Print(two)))
	}
	again, err := d.With(sets...)
	require.NoError(t, err)
	other := run(t, spread.Question{Document: again}, spread.Settings{Draws: drawn(1024), Drivers: -1, Seed: 77})
	assert.InDelta(t, h.Plan.Confirmed.Value, other.Sound.Value, 4*math.Hypot(h.Plan.Confirmed.SE, other.Sound.SE)+.004)
	assert.Greater(t, other.Sound.Value, .95-3*math.Hypot(h.Plan.Confirmed.SE, other.Sound.SE)-.002)
	if a := h.AllAlike; !math.IsNaN(a.Factor) {
		assert.Less(t, a.Factor, 1.)
		assert.Greater(t, a.Confirmed.Value, .95-4*a.Confirmed.SE-.005)
	}
	for _, a := range h.Alone {
		assert.False(t, strings.HasPrefix(r.Keys[a.Key].Path, "pellet.") && !math.IsNaN(a.Shift), "nobody shifts a pellet")
		assert.False(t, a.Tighten > 1 || a.Tighten < 0)
	}
}

// A build that is good enough needs nothing; one that nothing helps is told so; a fault that
// no tolerance cures is left out of what is to be reached.
func TestReachOfAllSorts(t *testing.T) {
	q := func(overrides ...string) spread.Question {
		return spread.Question{Document: demo(t, append([]string{"spring.rate=720 N/m ± 1 %", "piston.drag=3 N ± 5 %"}, overrides...)...), Reach: .95}
	}
	s := spread.Settings{Draws: drawn(256), Seed: 1}
	good := run(t, q(), s)
	assert.True(t, good.Reach.Plan.Reached)
	assert.Empty(t, good.Reach.Plan.Steps)
	assert.Equal(t, 1., good.Reach.AllAlike.Factor)
	assert.Contains(t, good.Verdict(), "that is enough")

	none := run(t, q("target.muzzle_velocity={min: 300 m/s}"), s)
	assert.Zero(t, none.Meets.Value)
	assert.False(t, none.Reach.Plan.Reached)
	assert.True(t, math.IsNaN(none.Reach.AllAlike.Factor), "the middles miss")
	assert.Contains(t, none.Verdict(), "none of 1000 such guns meets the wish")
	assert.Nil(t, none.MeetsDrivers, "nothing decides what never is")
	for _, a := range none.Reach.Alone {
		assert.True(t, math.IsNaN(a.Tighten) && math.IsNaN(a.Shift))
	}

	fuse := run(t, q("harness.fuse.rating=15 A", "target.muzzle_velocity={min: 119.5 m/s}"), s)
	assert.Zero(t, fuse.Sound.Value)
	assert.Equal(t, []string{"fuse-rating"}, fuse.Reach.Without)
	assert.Greater(t, fuse.Reach.Sound.Value, .1)

	// Guns of which some stall: the stalls have no velocity, and count as missed.
	stalls := run(t, spread.Question{Document: demo(t, "motor.stator.brush.drop=2 V", "spring.rate=1500 N/m ± 20 %"), Reach: .95}, s)
	assert.NotEmpty(t, stalls.Failures)
}

// What varies, from a file and beside it.
func TestKeys(t *testing.T) {
	for _, c := range []struct {
		name      string
		overrides []string
		tolerance []string
		use       spread.Typical
		want      string // keys with value, deviation and cuts
	}{
		{"stated, in the order of the file", []string{"spring.rate=700 N/m ± 14 N/m", "battery.resistance=9 mohm ± 10 %"}, nil, spread.Implied,
			"battery.resistance 0.009 0.00045 0.00765 0.01035, spring.rate 700 7 679 721"},
		{"one replaced, one added", []string{"spring.rate=700 N/m ± 14 N/m"}, []string{"spring.rate=± 2 %", "gears.ratio = +/- 0.2"}, spread.Implied,
			"gears.ratio 11.3 0.1 11 11.6, spring.rate 700 7 679 721"},
		{"one taken out", []string{"spring.rate=700 N/m ± 14 N/m", "piston.mass=26 g ± 1 g"}, []string{"spring.rate=± 0"}, spread.Implied, "piston.mass 0.026 0.0005 0.0245 0.0275"},
		{"shares are points and end at 0 and 100 %", []string{"battery.state_of_charge=97 % ± 4 %", "gears.efficiency=80 % ± 4 %"}, nil, spread.Implied,
			"battery.state_of_charge 0.97 0.02 0.91 1, gears.efficiency 0.8 0.02 0.74 0.86"},
		{"cut at nothing", []string{"cylinder.seal_leak=1 mm2 ± 70 %"}, nil, spread.Implied, "cylinder.seal_leak 1e-06 3.5e-07 0 2.05e-06"},
		{"whole", []string{"motor.armature.turns=28 ± 1"}, nil, spread.Implied, "motor.armature.turns 28 0.5 26.5 29.5"},
		{"temperatures differ by kelvin", []string{"ambient.temperature=20 degC ± 8 K"}, nil, spread.Implied, "ambient.temperature 293.15 4 281.15 305.15"},
		{"typical beside one stated", []string{"spring.rate=700 N/m ± 14 N/m", "harness.connectors=", "motor={bench: {voltage: 7.4 V, no_load_speed: 30000 rpm, no_load_current: 3 A, resistance: 80 mohm, inertia: 12 g cm2}}"}, []string{"spring.preload=0", "barrel.bore=0", "pellet.mass=0", "pellet.diameter=0", "ambient.temperature=0", "piston.mass=0", "battery.state_of_charge=0"}, spread.Always,
			"battery.resistance 0.009 0.0009 0.0063 0.0117 typical, gears.efficiency 0.8 0.02 0.74 0.86 typical, piston.drag 3 0.6 1.2 4.8 typical, cylinder.dead_volume 1e-06 5e-08 8.5e-07 1.15e-06 typical, cylinder.seal_leak 5e-08 1.5e-08 5e-09 9.5e-08 typical, pellet.hop_force 1 0.15 0.55 1.45 typical, spring.rate 700 7 679 721"},
		{"none", nil, nil, spread.Never, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			keys, err := spread.Keys(demo(t, c.overrides...), c.tolerance, c.use)
			require.NoError(t, err)
			var all []string
			for _, k := range keys {
				text := fmt.Sprintf("%s %.6g %.6g %.6g %.6g", k.Path, k.Value, k.SD, k.Low, k.High)
				if k.Typical {
					text += " typical"
				}
				all = append(all, text)
			}
			if c.name == "stated, in the order of the file" || c.name == "one replaced, one added" || strings.HasPrefix(c.name, "shares") {
				slices.Sort(all) // overrides stand in no file
			}
			assert.Equal(t, c.want, strings.Join(all, ", "))
		})
	}
}

// Keys of a file come in its order, whatever the schema's.
func TestKeysInTheOrderOfTheFile(t *testing.T) {
	text, err := demo(t, "spring.rate=700 N/m ± 14 N/m", "battery.resistance=9 mohm ± 10 %", "gears.efficiency=80 % ± 4 %").Bytes()
	require.NoError(t, err)
	lines := strings.Split(string(text), "\n")
	i := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, "spring:") })
	j := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, "battery:") })
	require.Greater(t, i, j)
	spring := lines[i]
	lines = slices.Insert(slices.Delete(lines, i, i+1), j, spring)
	d, err := buildfile.Parse("turned.yaml", []byte(strings.Join(lines, "\n")))
	require.NoError(t, err)
	keys, err := spread.Keys(d, nil, spread.Implied)
	require.NoError(t, err)
	require.Len(t, keys, 3)
	assert.Equal(t, []string{"spring.rate", "battery.resistance", "gears.efficiency"}, []string{keys[0].Path, keys[1].Path, keys[2].Path})
}

// The tolerance of a magnet's grade varies, but doesn't end the typical ones.
func TestGradeIsNotStated(t *testing.T) {
	d := demo(t, "motor.stator.magnet={grade: N42, thickness: 2 mm, arc: 120 deg}")
	require.NotZero(t, d.Tolerances["motor.stator.magnet.remanence"])
	keys, err := spread.Keys(d, nil, spread.Implied)
	require.NoError(t, err)
	assert.Greater(t, len(keys), 15)
	for _, k := range keys {
		if strings.HasPrefix(k.Path, "motor.stator.magnet.") {
			assert.False(t, k.Typical, k.Path)
		}
	}
	one, err := spread.Keys(d, nil, spread.Never)
	require.NoError(t, err)
	assert.NotEmpty(t, one)
}

// What can't be asked, with what to do.
func TestQuestionsRefused(t *testing.T) {
	for _, c := range []struct {
		q    spread.Question
		says string
	}{
		{spread.Question{Document: demo(t), Typical: spread.Never}, "no key of the build varies"},
		{spread.Question{Document: demo(t), Tolerances: []string{"nonsense=± 1 %"}}, "nonsense: is no key"},
		{spread.Question{Document: demo(t), Tolerances: []string{"spring.rat=± 1 %"}}, "did you mean spring.rate?"},
		{spread.Question{Document: demo(t), Tolerances: []string{"battery.chemistry=± 1 %"}}, "battery.chemistry: is a word"},
		{spread.Question{Document: demo(t), Tolerances: []string{"motor.commutation=± 1 %"}}, "is auto, a word"},
		{spread.Question{Document: demo(t), Tolerances: []string{"spring.wire=± 1 %"}}, "isn't in effect"},
		{spread.Question{Document: demo(t), Tolerances: []string{"harness.lead.gauge=± 1"}}, "gauge"},
		{spread.Question{Document: demo(t), Tolerances: []string{"spring.rate"}}, "wanted key.path=± y"},
		{spread.Question{Document: demo(t), Tolerances: []string{"spring.rate=± 5"}}, "bare number"},
		{spread.Question{Document: demo(t), Tolerances: []string{"spring.rate=± -5 %"}}, "zero or more"},
		{spread.Question{Document: demo(t), Tolerances: []string{"spring.rate=± NaN %"}}, "not a finite number"},
		{spread.Question{Document: demo(t), Figures: []string{"nonsense"}}, "nonsense: is no figure"},
		{spread.Question{Document: demo(t), Figures: []string{"rate_of_fir"}}, "did you mean rate_of_fire?"},
		{spread.Question{Document: demo(t), EachShot: []string{"gears.ratio"}}, "gears.ratio: carries no tolerance"},
		{spread.Question{Document: demo(t), EachShot: []string{"gears.rato"}}, "gears.rato: is no key"},
		{spread.Question{Document: demo(t), Reach: 1}, "reach"},
		{spread.Question{Document: demo(t), Reach: math.NaN()}, "reach"},
		{spread.Question{Document: demo(t, "trigger.mode=single")}, "target.rate_of_fire: is wanted, but single fire has no rate of fire"},
	} {
		_, err := spread.Run(context.Background(), c.q, spread.Settings{Draws: 128, Drivers: -1})
		require.Error(t, err, c.says)
		assert.Contains(t, err.Error(), c.says)
		if !errors.Is(err, spread.ErrNothingVaries) {
			assert.ErrorAs(t, err, new(*quantity.Fault))
		}
	}
}

// Draws that can't be are counted by the key at fault, told by the first one, and meet
// nothing; where all are, that is an error.
func TestMisfits(t *testing.T) {
	draws := drawn(1024)
	d := demo(t, "pellet.diameter=6.03 mm ± 0.06 mm", "barrel.bore=6.05 mm ± 0.02 mm")
	r := run(t, spread.Question{Document: d}, spread.Settings{Draws: draws, Drivers: draws / 4, Seed: 5})
	require.Len(t, r.Misfits, 1)
	m := r.Misfits[0]
	assert.Equal(t, "pellet.diameter", m.Key)
	assert.Regexp(t, `^6\.\d+ mm does not pass a barrel bored 6\.\d+ mm$`, m.Text)
	require.Equal(t, "misfit", r.Failures[0].Code)
	assert.Equal(t, float64(m.Draws)/float64(draws), r.Failures[0].Share.Value)
	// The gap is normal with a mean of 0.02 mm and a deviation of √(0.03² + 0.01²) mm: it is
	// negative in Φ(−0.6325) = 0.2635 of the draws, cuts aside.
	assert.InDelta(t, .2635, r.Failures[0].Share.Value, .01)
	for draw := range r.Draws {
		if draw.Outcome == "misfit" {
			assert.True(t, math.IsNaN(draw.Figures[0]) && !draw.Meets && !draw.Sound)
			assert.Equal(t, []string{"misfit"}, draw.Failures)
			assert.Greater(t, draw.Keys[1], draw.Keys[0], "wider than the bore")
		}
	}
	assert.Nil(t, r.Figures[0].Drivers, "fewer than nine of ten pairs have it")
	assert.NotNil(t, r.MeetsDrivers)

	_, err := spread.Run(context.Background(), spread.Question{Document: d, Tolerances: []string{"pellet.diameter=± 0", "barrel.bore=± 0"}, Typical: spread.Never}, spread.Settings{Draws: 128})
	require.ErrorIs(t, err, spread.ErrNothingVaries)
	_, err = spread.Run(context.Background(), spread.Question{Document: demo(t), Tolerances: []string{"piston.mass=± 1e12 %"}, Typical: spread.Never}, spread.Settings{Draws: 128})
	require.ErrorIs(t, err, spread.ErrAllMisfit)
	assert.Contains(t, err.Error(), "piston.mass: ")
	assert.Contains(t, err.Error(), "is out of range; wanted 0.1 g to 10000 g")
}

// In single fire the figures are those that single fire has.
func TestSingle(t *testing.T) {
	d := demo(t, "trigger.mode=single", "target.rate_of_fire=", "spring.rate=720 N/m ± 5 %", "pellet.mass=0.2 g ± 0.01 g")
	r := run(t, spread.Question{Document: d, Reach: .95}, spread.Settings{Draws: 256, Seed: 1})
	for _, f := range r.Figures {
		assert.False(t, f.Steady, f.Name)
		assert.Equal(t, 1., f.Exists.Value, f.Name)
	}
	for draw := range r.Draws {
		assert.Equal(t, "single", draw.Outcome)
	}
}

// A draw is the build of its values: what is told of it is what the build does.
func TestDrawsAreBuilds(t *testing.T) {
	d := demo(t, "spring.rate=720 N/m ± 5 %", "motor.armature.turns=28 ± 2", "pellet.mass=0.2 g ± 0.01 g")
	r := run(t, spread.Question{Document: d, Figures: []string{"time_to_home"}}, spread.Settings{Draws: 128, Drivers: -1, Seed: 3})
	var paths []string
	for _, k := range r.Keys {
		paths = append(paths, k.Path)
	}
	v, err := d.Vary(paths...)
	require.NoError(t, err)
	n := 0
	for draw := range r.Draws {
		assert.Equal(t, n, 16*draw.Replicate+draw.Point)
		n++
		for i, k := range r.Keys {
			assert.True(t, k.Low <= draw.Keys[i] && draw.Keys[i] <= k.High || k.Whole, k.Path)
			assert.Equal(t, k.Whole, k.Path == "motor.armature.turns")
			assert.True(t, !k.Whole || draw.Keys[i] == math.Trunc(draw.Keys[i]))
		}
		b, err := v.Put(draw.Keys)
		require.NoError(t, err)
		c, err := cycle.Simulate(context.Background(), b, cycle.Settings{})
		require.NoError(t, err)
		for i, f := range r.Figures {
			of, _ := cycle.Figures().Find(f.Name)
			assert.InDelta(t, of.Value(c), draw.Figures[i], 1e-6*math.Abs(draw.Figures[i]), f.Name)
		}
		met := true
		for _, w := range d.Target {
			of, _ := cycle.Figures().Find(w.Figure)
			met = met && w.Judge(of.Value(c)).Fate == figure.Met
		}
		assert.Equal(t, met, draw.Meets)
		if n == 40 {
			break
		}
	}
	var b bytes.Buffer
	require.NoError(t, r.WriteCSV(&b))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 129)
	head := strings.Join(rows[0], ",")
	assert.True(t, strings.HasPrefix(head, "replicate,point,"), head)
	assert.Contains(t, head, "spring.rate_n_m")
	assert.Contains(t, head, "rate_of_fire_hz")
	assert.Contains(t, head, "time_to_home_s,outcome,failures,meets,sound")
}

// The same bits on one core and on all, and of the same seed; others of another.
func TestRunIsTheSameOnAllCores(t *testing.T) {
	d := simple(t, "spring.rate=740 N/m ± 5 %", "piston.drag=3 N ± 20 %", "pellet.mass=0.2 g ± 0.01 g")
	tell := func(cores int, seed uint64) string {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		r := run(t, spread.Question{Document: d, Reach: .95}, spread.Settings{Draws: 128, Seed: seed})
		return fmt.Sprint(r.Figures, r.Failures, r.Warnings, r.Sound, r.SoundDrivers, r.Correlation, *r.Reach, r.Evaluations)
	}
	want := tell(1, 1)
	assert.Equal(t, want, tell(2, 1))
	assert.Equal(t, want, tell(5, 1))
	assert.NotEqual(t, want, tell(2, 2))
}

// An interrupt ends a run wherever it is.
func TestRunInterrupted(t *testing.T) {
	d := simple(t, "spring.rate=740 N/m ± 5 %", "pellet.mass=0.2 g ± 0.01 g")
	all := 0
	_, err := spread.Run(context.Background(), spread.Question{Document: d, Reach: .95}, spread.Settings{Draws: drawn(256), Progress: func(done, of int) { all = max(all, done) }})
	require.NoError(t, err)
	for _, at := range []int{1, all / 3, 2 * all / 3, 9 * all / 10} {
		ctx, stop := context.WithCancel(context.Background())
		_, err := spread.Run(ctx, spread.Question{Document: d, Reach: .95}, spread.Settings{Draws: drawn(256), Progress: func(done, of int) {
			if done >= at {
				stop()
			}
		}})
		stop()
		assert.ErrorIs(t, err, context.Canceled, "after %d of %d", at, all)
	}
}

// Of each draw only its outputs are kept.
func TestMemory(t *testing.T) {
	took := func(draws int) float64 {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		a, err := spread.Analyse(context.Background(), times(20, spread.Uniform{Low: 0, High: 1}), func(x, y []float64) error {
			for j := range y {
				y[j] = x[j] * x[j+1]
			}
			return nil
		}, spread.Settings{Draws: draws, Outputs: 10})
		require.NoError(t, err)
		runtime.ReadMemStats(&after)
		runtime.KeepAlive(a)
		return float64(after.TotalAlloc - before.TotalAlloc)
	}
	const outputs, small, large = 10, 1 << 12, 1 << 14
	each := (took(large) - took(small)) / (large - small) / 8
	// The outputs, a quarter of them twice for the drivers, and one sorted column.
	assert.Less(t, each, 1.5*outputs+2, "numbers a draw")
}

// Any text is a tolerance or an error.
func FuzzTolerance(f *testing.F) {
	for _, s := range []string{"spring.rate=± 5 %", "spring.preload=+/- 1.5 mm", "battery.state_of_charge=5 %", "ambient.temperature=± 10 K", "motor.armature.turns=± 1", "gears.ratio=0.2", "=", "a=b", "spring.rate=± 1e400 N/m", "battery.chemistry=± 1 %"} {
		f.Add(s)
	}
	d := demo(f)
	f.Fuzz(func(t *testing.T, text string) {
		keys, err := spread.Keys(d, []string{text}, spread.Never)
		if err != nil {
			return
		}
		for _, k := range keys {
			if !(k.SD > 0) || !(k.Low <= k.Value && k.Value <= k.High) || math.IsInf(k.SD, 0) {
				t.Fatalf("%q: %+v", text, k)
			}
		}
	})
}

// A spring that is bought to 5 % and a pellet that is weighed: which of them decides.
func ExampleRun() {
	d, err := buildfile.DemoDocument("spring.rate=735 N/m ± 5 %", "pellet.mass=0.2 g ± 0.001 g")
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := spread.Run(context.Background(), spread.Question{Document: d, Reach: .95}, spread.Settings{Draws: 512, Seed: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("decides:", r.Keys[spread.Leading(r.SoundDrivers)].Path)
	for _, s := range r.Reach.Plan.Steps {
		fmt.Println("plan:", r.Keys[s.Key].Path)
	}
	fmt.Println("reached:", r.Reach.Plan.Reached)
	// Output:
	// decides: spring.rate
	// plan: spring.rate
	// reached: true
}

// BenchmarkRun draws guns without drivers and reach: what a draw costs.
func BenchmarkRun(b *testing.B) {
	d := demo(b)
	for b.Loop() {
		run(b, spread.Question{Document: d}, spread.Settings{Draws: 1024, Drivers: -1})
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/1024, "µs/draw")
}
