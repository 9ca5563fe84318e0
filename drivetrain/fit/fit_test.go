package fit_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/fit"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
)

// demo is the demo with overrides.
func demo(t testing.TB, overrides ...string) *buildfile.Document {
	t.Helper()
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	return d
}

func readings(t testing.TB, text string) *buildfile.Readings {
	t.Helper()
	r, err := buildfile.ParseReadings("r.yaml", []byte(text))
	require.NoError(t, err, text)
	return r
}

func run(t testing.TB, d *buildfile.Document, text string, s fit.Settings) *fit.Result {
	t.Helper()
	r, err := fit.Run(t.Context(), d, readings(t, text), s)
	require.NoError(t, err)
	return r
}

// One linear unknown, an instrument whose scale is in doubt, and one reading of what is
// known exactly: u = g·(y − f)/(1 + g²) and C = 1/(1 + g²), y and f in standard deviations of
// the reading, and g what these move by for one of the prior's.
func TestOneLinearUnknown(t *testing.T) {
	d := demo(t)
	f := d.Build.Geometry().Stroke
	const scale, doubt, off = 0.02, 0.0005, 0.0011
	text := fmt.Sprintf("instruments: {rule: %g %%}\nreadings: [{figure: stroke, value: %.17g mm ± %g mm, instrument: rule}]\nfree: [spring.rate]\n", 200*scale, 1e3*(f+off), 2e3*doubt)
	r := run(t, d, text, fit.Settings{Hold: []string{"spring.rate"}})
	g := f * scale / doubt
	require.Len(t, r.Unknowns, 1)
	k := &r.Unknowns[0]
	assert.Equal(t, "instruments.rule", k.Key)
	assert.Equal(t, fit.Linear, k.Scale)
	const thousandth = 1e-3 // of a standard deviation: what a search stops at
	assert.InDelta(t, g*(off/doubt)/(1+g*g), k.Shift, thousandth*k.ToldRatio)
	assert.InDelta(t, scale*k.Shift, k.Value, 1e-12)
	assert.InDelta(t, 1/math.Sqrt(1+g*g), k.ToldRatio, 1e-9)
	assert.InDelta(t, (off/doubt)*(off/doubt)/(1+g*g), r.Fit.Chi2, 1e-6, "S at its least")
	assert.InDelta(t, g, r.Singular[0], 1e-9)
	x := &r.Readings[0]
	assert.InDelta(t, g*g/(1+g*g), x.Leverage, 1e-9)
	assert.InDelta(t, off/doubt/math.Sqrt(1+g*g), x.Standardised, thousandth, "the reading over what of it chance and prior leave")
	assert.InDelta(t, f, x.Before, 1e-12)
	assert.Empty(t, r.Unseen)
}

// A prior a hundred times narrower is not told, and does not move.
func TestNarrowPrior(t *testing.T) {
	d := demo(t)
	text := func(wide float64) string {
		return fmt.Sprintf("readings: [{figure: spring_peak_force, value: 74 N ± 0.5 N}]\nfree: [{key: spring.rate, prior: 720 N/m ± %g N/m}]\n", wide)
	}
	wide, narrow := run(t, d, text(40), fit.Settings{}), run(t, d, text(0.4), fit.Settings{})
	assert.True(t, wide.Unknowns[0].Told)
	assert.Less(t, wide.Unknowns[0].ToldRatio, 0.2)
	assert.Greater(t, wide.Unknowns[0].Value, 730.)
	assert.False(t, narrow.Unknowns[0].Told)
	assert.Greater(t, narrow.Unknowns[0].ToldRatio, 0.99)
	assert.InDelta(t, 720, narrow.Unknowns[0].Value, 0.5)
}

// Twice the same reading is one of times: 2; the order of readings is nothing.
func TestTimesAndOrder(t *testing.T) {
	d := demo(t)
	const other = "- {figure: muzzle_velocity, value: 117 m/s ± 1 m/s, with: {pellet.mass: 0.22 g}}\n"
	const once = "- {figure: rate_of_fire, value: 21.4 /s ± 0.3 /s}\n"
	const free = "free: [gears.efficiency, spring.rate, cylinder.seal_leak]\n"
	twice := run(t, d, "readings:\n"+other+once+once+free, fit.Settings{})
	mean := run(t, d, "readings:\n- {figure: rate_of_fire, value: 21.4 /s ± 0.3 /s, times: 2}\n"+other+free, fit.Settings{})
	turned := run(t, d, "readings:\n"+once+once+other+free, fit.Settings{})
	assert.InDelta(t, twice.Fit.Chi2, mean.Fit.Chi2, 1e-5)
	assert.InDelta(t, twice.Fit.Chi2, turned.Fit.Chi2, 1e-9)
	assert.Equal(t, 3, twice.Fit.DOF)
	assert.Equal(t, 2, mean.Fit.DOF)
	for i := range twice.Unknowns {
		a := &twice.Unknowns[i]
		for _, b := range []*fit.Estimate{&mean.Unknowns[i], &turned.Unknowns[i]} {
			assert.Equal(t, a.Key, b.Key)
			assert.InDelta(t, a.Shift, b.Shift, 1e-3*a.ToldRatio)
			assert.InEpsilon(t, a.SD, b.SD, 1e-4)
		}
		assert.InDelta(t, a.Shift, turned.Unknowns[i].Shift, 1e-9)
	}
}

// Tables of χ²: a twentieth lies beyond 18.307 of ten degrees of freedom, 3.841 of one and
// 124.342 of a hundred.
func TestChance(t *testing.T) {
	for _, c := range []struct {
		chi2 float64
		dof  int
		want float64
	}{{18.307, 10, 0.05}, {3.841, 1, 0.05}, {124.342, 100, 0.05}, {23.209, 10, 0.01}, {2.558, 10, 0.99}, {0, 3, 1}} {
		assert.InDelta(t, c.want, fit.Chance(c.chi2, c.dof), 2e-5, "%g of %d", c.chi2, c.dof)
	}
	g := fit.Goodness{P: 0.009}
	assert.Equal(t, fit.Disagree, g.Agreement())
	g.P = 0.995
	assert.Equal(t, fit.TooWell, g.Agreement())
	g.P = math.NaN()
	assert.Equal(t, fit.Agree, g.Agreement())
}

// Halton's sequence to the bases 2 and 3, as any textbook has it.
func TestHalton(t *testing.T) {
	for base, want := range map[int][]float64{2: {1. / 2, 1. / 4, 3. / 4, 1. / 8}, 3: {1. / 3, 2. / 3, 1. / 9, 4. / 9}} {
		for i, w := range want {
			assert.InDelta(t, w, fit.Halton(i+1, base), 1e-15)
		}
	}
}

func TestScales(t *testing.T) {
	for _, c := range []struct {
		name         string
		key          string
		kind         quantity.Kind
		prior, sd    float64
		instrument   bool
		want         fit.Scale
		lower, upper float64
		reason       string
	}{
		{"length", "spring.preload", quantity.Length, 0.045, 0.001, false, fit.Log, -6, 6, "can't be negative"},
		{"share", "gears.efficiency", quantity.Share, 0.8, 0.04, false, fit.Share, -6, 6, "well inside 0 and 1"},
		{"share near one", "gears.efficiency", quantity.Share, 0.96, 0.04, false, fit.Linear, -6, 1, "1 is a standard deviation away"},
		{"share near zero", "motor.stator.leakage", quantity.Share, 0.02, 0.02, false, fit.Linear, -1, 6, "0 is a standard deviation away"},
		{"share at one", "battery.state_of_charge", quantity.Share, 1, 0.05, false, fit.Linear, -6, 0, "a full pack isn't fuller"},
		{"just inside", "gears.efficiency", quantity.Share, 0.9, 0.0799, false, fit.Share, -6, 6, "0.8 of the way to 1"},
		{"discharge", "cylinder.discharge", quantity.Number, 0.8, 0.05, false, fit.Share, -6, 6, "a number that is a share"},
		{"another number", "barrel.wall_heat", quantity.Number, 0.8, 0.05, false, fit.Log, -6, 6, "a factor"},
		{"temperature", "ambient.temperature", quantity.Temperature, 293, 2, false, fit.Linear, -6, 6, ""},
		{"angle", "trigger.cutoff", quantity.Angle, 4, 0.1, false, fit.Linear, -6, 6, ""},
		{"drift", "motor.stator.magnet.drift", quantity.Drift, -0.0012, 1e-4, false, fit.Linear, -6, 6, ""},
		{"nothing", "piston.seal_area", quantity.Area, 0, 5e-6, false, fit.Linear, 0, 6, "can't be negative"},
		{"instrument", "instruments.chronograph", quantity.Share, 0, 0.01, true, fit.Linear, -6, 6, "reads too little as well as too much"},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := fit.NewUnknown(c.key, c.kind, c.prior, c.sd, c.instrument)
			assert.Equal(t, c.want, k.Scale, c.reason)
			assert.InDelta(t, c.lower, k.Lower, 1e-12, c.reason)
			assert.InDelta(t, c.upper, k.Upper, 1e-12, c.reason)
			assert.Equal(t, c.prior, k.At(0), "to the last bit")
			assert.InEpsilon(t, c.sd, k.Slope(0), 1e-12, "the prior's standard deviation is that of u")
			for u := max(k.Lower, -3); u <= min(k.Upper, 3); u += 0.25 {
				x := k.At(u)
				if c.want != fit.Linear {
					assert.Positive(t, x)
				}
				if c.want == fit.Share {
					assert.Less(t, x, 1.)
				}
				h := 1e-6
				assert.InEpsilon(t, k.Slope(u), (k.At(min(u+h, k.Upper))-k.At(max(u-h, k.Lower)))/(min(u+h, k.Upper)-max(u-h, k.Lower)), 1e-5)
			}
			if k.Lower > -6 {
				assert.Zero(t, k.At(k.Lower), "on the bound, not a rounding away")
			}
			if k.Upper < 6 {
				assert.Equal(t, 1., k.At(k.Upper))
			}
		})
	}
}

// The range of a key bounds its u, to the last bit.
func TestRanges(t *testing.T) {
	for _, k := range []fit.Unknown{
		fit.Ranged("cylinder.wall_heat", quantity.Number, 1, 0.9, 0, 6),
		fit.Ranged("gears.efficiency", quantity.Share, 0.6, 0.2, 0.05, 0.97),
		fit.Ranged("ambient.temperature", quantity.Temperature, 290, 20, 240, 333),
	} {
		assert.Greater(t, k.Upper, 0.)
		assert.Less(t, k.Upper, 6.)
		most := map[fit.Scale]float64{fit.Log: 6, fit.Share: 0.97, fit.Linear: 333}[k.Scale]
		assert.InEpsilon(t, most, k.At(k.Upper), 1e-12)
		assert.LessOrEqual(t, k.At(k.Upper), most)
		assert.LessOrEqual(t, k.At(k.Upper+0.01), most)
	}
}

// The typical ± are those of the documentation's table, by key.
func TestUsual(t *testing.T) {
	for key, want := range map[string]float64{
		"motor.stator.magnet.remanence": 0.06, "motor.stator.leakage": 0.05, "motor.stator.brush.drop": 0.4, "motor.armature.saturation": 0.06,
		"motor.armature.mean_turn": 0.08, "motor.armature.inertia": 0.2, "motor.drag.constant": 0.6, "motor.commutation": 0.5, "piston.seal_area": 0.8,
		"motor.drag.viscous": 1, "battery.resistance": 0.4, "battery.state_of_charge": 0.1, "harness.switch.mosfet.resistance": 0.3,
		"harness.switch.contacts.hardness": 0.6, "gears.efficiency": 0.08, "gears.inertia": 0.3, "spring.rate": 0.06, "spring.modulus": 0.05,
		"cylinder.wall_heat": 0.6, "spring.preload": 0.06, "piston.drag": 0.8, "cylinder.dead_volume": 0.4, "cylinder.discharge": 0.1,
		"cylinder.seal_leak": 1.2, "pellet.hop_force": 0.8, "pellet.barrel_drag": 1, "barrel.clearance_discharge": 0.1, "barrel.wall_heat": 0.4,
	} {
		assert.InDelta(t, want, fit.Usual(key, 1), 1e-12, key)
		k, ok := buildfile.FindKey(key)
		assert.True(t, ok && k.Quantity, key)
	}
	assert.Len(t, fit.UsualKeys(), 28)
}

// exact are readings without scatter of a build.
func exact(t testing.TB, d *buildfile.Document) string {
	t.Helper()
	text := "readings:\n"
	for _, r := range []struct{ figure, with string }{
		{"rate_of_fire", ""}, {"current_mean", ""}, {"inrush", ""}, {"trigger_delay", ""}, {"pack_voltage_min", ""}, {"muzzle_velocity", ""}, {"muzzle_velocity", "pellet.mass=0.3 g"},
		{"rate_of_fire", "battery.state_of_charge=40 %"}, {"time_to_home", "trigger.mode=single"},
	} {
		e := d
		with := ""
		if r.with != "" {
			var err error
			e, err = d.With(r.with)
			require.NoError(t, err)
			with = ", with: {" + strings.Replace(r.with, "=", ": ", 1) + "}"
		}
		res, err := cycle.Simulate(t.Context(), e.Build, cycle.Settings{})
		require.NoError(t, err)
		f, ok := buildfile.GunFigures().Find(r.figure)
		require.True(t, ok)
		v := f.Value(res)
		text += fmt.Sprintf("- {figure: %s, value: %s ± %s%s}\n", r.figure, f.Kind.Print(v), f.Kind.Print(0.005*math.Abs(v)), with)
	}
	at := d.Build.Ambient.Temperature
	alone := d.Build.Motor.On(7, at, at)
	text += fmt.Sprintf("- {figure: no_load_speed, value: %s ± 1 %%, supply: 7 V}\n", quantity.AngularSpeed.Print(alone.Characteristic.NoLoad.Speed))
	text += fmt.Sprintf("- {figure: stall_torque, value: %s ± 1 %%, supply: 7 V}\n", quantity.Torque.Print(alone.StallTorque()))
	return text
}

// With full physics, commutation, seal area and wall factors are unknowns like the rest;
// readings of another build move the demo to where it computes them, all within their ±.
func TestFullPhysics(t *testing.T) {
	other := demo(t, "piston.seal_area=12 mm2", "gears.efficiency=76 %", "spring.rate=700 N/m", "battery.resistance=11 mohm", "motor.drag.constant=4.5 mN m", "cylinder.seal_leak=0.08 mm2", "cylinder.wall_heat=1.3")
	text := exact(t, other)
	d := demo(t, "piston.seal_area=10 mm2")
	r := run(t, d, text, fit.Settings{})
	assert.Equal(t, fit.Converged, r.Outcome)
	assert.Equal(t, 1, r.Fit.Minima)
	keys := r.Unseen
	for i := range r.Unknowns {
		keys = append(keys, r.Unknowns[i].Key)
	}
	for _, key := range []string{"motor.commutation", "piston.seal_area", "cylinder.wall_heat", "barrel.wall_heat"} {
		assert.Contains(t, keys, key)
	}
	assert.NotContains(t, keys, "spring.modulus", "the spring is given by its rate")
	assert.NotContains(t, keys, "harness.switch.contacts.hardness", "the switch is a transistor")
	for i := range r.Readings {
		assert.Less(t, math.Abs(r.Readings[i].Residual), 1., r.Readings[i].Figure.Name)
	}
	assert.Greater(t, r.Fit.P, 0.2)
	for i := range r.Figures {
		c := &r.Figures[i]
		assert.LessOrEqual(t, c.AfterSD, c.BeforeSD*1.05, c.Figure.Name)
	}

	// A leak that is far from what anybody believes is found as well, although on the way
	// there the walls' heat comes to the end of its range.
	far := demo(t, "piston.seal_area=12 mm2", "gears.efficiency=76 %", "spring.rate=700 N/m", "battery.resistance=11 mohm", "motor.drag.constant=4.5 mN m", "cylinder.seal_leak=1.6 mm2", "cylinder.wall_heat=1.3")
	leaks := run(t, d, exact(t, far), fit.Settings{})
	for i := range leaks.Readings {
		assert.Less(t, math.Abs(leaks.Readings[i].Residual), 1., leaks.Readings[i].Figure.Name)
	}
	i := slices.IndexFunc(leaks.Unknowns, func(k fit.Estimate) bool { return k.Key == "cylinder.seal_leak" })
	assert.Greater(t, leaks.Unknowns[i].Shift, 5.)

	// Readings of the build itself change nothing, and commutation stays derived.
	same := run(t, d, exact(t, d), fit.Settings{})
	assert.Equal(t, fit.Unchanged, same.Outcome)
	assert.InDelta(t, 0, same.Fit.Chi2, 1e-6)
	assert.Equal(t, fit.TooWell, same.Fit.Agreement())
}

// Without a prior that holds it, the readings alone say what the share of commutation is:
// one that moves is a number, one that doesn't is derived as before.
func TestCommutation(t *testing.T) {
	d := demo(t)
	at := d.Build.Ambient.Temperature
	derived := d.Build.Motor.At(at, at).Reversal
	text := func(share float64) string {
		e := demo(t, fmt.Sprintf("motor.commutation=%g %%", 100*share))
		alone := e.Build.Motor.On(8, at, at)
		return fmt.Sprintf("readings:\n- {figure: no_load_speed, value: %s ± 0.01 %%, supply: 8 V}\nfree: [motor.commutation]\n", quantity.AngularSpeed.Print(alone.Characteristic.NoLoad.Speed))
	}
	r := run(t, d, text(1.2*derived), fit.Settings{})
	k := &r.Unknowns[0]
	assert.InDelta(t, derived, k.Prior, 1e-12)
	assert.InDelta(t, derived/4, k.PriorSD, 1e-12, "half of the ± of 50 %")
	assert.InDelta(t, 1.2*derived, k.Value, 3*k.SD)
	after, err := r.Corrected(d, "r.yaml", time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC))
	require.NoError(t, err)
	share, ok := after.Get("motor.commutation")
	assert.True(t, ok)
	assert.InEpsilon(t, k.Value, share, 1e-6)

	still := run(t, d, strings.Replace(text(derived), "0.01 %", "50 %", 1), fit.Settings{})
	assert.Zero(t, still.Unknowns[0].Shift)
	after, err = still.Corrected(d, "r.yaml", time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC))
	require.NoError(t, err)
	word, ok := after.Word("motor.commutation")
	assert.True(t, ok)
	assert.Equal(t, "auto", word)
}

// As long as the share has not moved it follows the saturation, in the derivatives too: those
// by the saturation are the same whether the share may move or not.
func TestCommutationFollows(t *testing.T) {
	d := demo(t)
	at := d.Build.Ambient.Temperature
	alone := d.Build.Motor.On(8, at, at)
	text := fmt.Sprintf("readings: [{figure: no_load_speed, value: %s ± 0.1 %%, supply: 8 V}]\nfree: [motor.armature.saturation, motor.commutation]\n", quantity.AngularSpeed.Print(alone.Characteristic.NoLoad.Speed))
	both := run(t, d, text, fit.Settings{})
	saturation := run(t, d, text, fit.Settings{Hold: []string{"motor.commutation"}})
	share := run(t, d, text, fit.Settings{Hold: []string{"motor.armature.saturation"}})
	assert.Equal(t, fit.Unchanged, both.Outcome)
	assert.InEpsilon(t, math.Hypot(saturation.Singular[0], share.Singular[0]), both.Singular[0], 1e-9)
}

// The corrected build computes what the fit says, keeps its comments, carries its ±, and says
// on top what it is.
func TestCorrected(t *testing.T) {
	d, file := referenceCase(t, "rifle")
	r, err := fit.Run(t.Context(), d, file, fit.Settings{})
	require.NoError(t, err)
	when := time.Date(2026, 11, 26, 20, 0, 0, 0, time.UTC)
	after, err := r.Corrected(d, "evening.yaml", when)
	require.NoError(t, err)
	text, err := after.Bytes()
	require.NoError(t, err)
	again, err := buildfile.Parse("after.yaml", text)
	require.NoError(t, err)
	head, _, _ := strings.Cut(string(text), "\nname:")
	head = strings.Join(strings.Fields(strings.ReplaceAll(head, "#", "")), " ")
	for _, part := range []string{"2026-11-26", "11 readings of evening.yaml", "p = 0.39", "not proved of this gun", "takes them as independent", "motor.drag.constant with motor.drag.viscous (correlation -0.99)", "would count them twice"} {
		assert.Contains(t, head, part)
	}
	for i := range r.Unknowns {
		k := &r.Unknowns[i]
		v, ok := again.Get(k.Key)
		assert.True(t, ok, k.Key)
		assert.InEpsilon(t, k.Value, v, 1e-6, k.Key)
		assert.InEpsilon(t, 2*k.SD, again.Tolerances[k.Key], 1e-6, k.Key)
	}
	res, err := cycle.Simulate(t.Context(), again.Build, cycle.Settings{})
	require.NoError(t, err)
	for i := range r.Figures {
		c := &r.Figures[i]
		f, _ := buildfile.GunFigures().Find(c.Figure.Name)
		assert.InEpsilon(t, c.After, f.Value(res), 1e-5, c.Figure.Name)
	}
	assert.InEpsilon(t, 680, d.Build.Spring.Rate, 1e-12, "the build that was given stays")

	grown := run(t, demo(t), "instruments: {rule: 4 %}\nreadings: [{figure: stroke, value: 50 mm ± 1 mm, instrument: rule}]\nfree: [{key: ambient.temperature, prior: 21 degC ± 3 degC}, {key: motor.stator.magnet.drift, prior: -0.11 %/K ± 0.01 %/K}]", fit.Settings{})
	after, err = grown.Corrected(demo(t), "r.yaml", when)
	require.NoError(t, err)
	assert.InDelta(t, 3, after.Tolerances["ambient.temperature"], 1e-6)
	assert.InDelta(t, 294.15, after.Build.Ambient.Temperature, 1e-6)
	assert.NotContains(t, after.Tolerances, "instruments.rule")
}

// Searches from elsewhere end in the same place, and say so; two that differ are told.
func TestStarts(t *testing.T) {
	d := demo(t)
	const text = "readings:\n- {figure: rate_of_fire, value: 21.4 /s ± 0.3 /s}\n- {figure: muzzle_velocity, value: 117 m/s ± 1 m/s}\nfree: [gears.efficiency, spring.rate, cylinder.seal_leak, piston.drag]\n"
	one := run(t, d, text, fit.Settings{})
	var course fit.Course
	s := fit.Settings{Starts: 5}
	course.Record(&s)
	many := run(t, d, text, s)
	assert.Equal(t, 5, many.Fit.Starts)
	assert.Equal(t, 1, many.Fit.Minima)
	assert.InDelta(t, one.Fit.Chi2, many.Fit.Chi2, 2e-6)
	require.NotEmpty(t, course.Steps)
	assert.Equal(t, 5, course.Steps[len(course.Steps)-1].Start)
	begins := map[int]float64{}
	for _, step := range course.Steps {
		if step.Number == 0 {
			begins[step.Start] = step.Values[1]
		}
	}
	require.Len(t, begins, 5)
	assert.InDelta(t, 720, begins[1], 1e-9, "the first at the build")
	k := fit.NewUnknown("spring.rate", quantity.SpringRate, 720, 0.03*720, false)
	assert.InDelta(t, k.At(0.430727299), begins[2], 1e-4, "the second where the normal distribution has Halton's 2/3 of base 3")

	var b bytes.Buffer
	require.NoError(t, course.WriteCSV(&b))
	lines := strings.Split(strings.TrimSpace(b.String()), "\n")
	assert.Equal(t, "start,step,chi2,damping,gears.efficiency,spring.rate_n_m,cylinder.seal_leak_m2,piston.drag_n", lines[0])
	assert.Len(t, lines, 1+len(course.Steps))
}

// What an override of a reading sets, or takes away, doesn't move under it.
func TestWith(t *testing.T) {
	d := demo(t)
	// The spring is given by its rate; under the second condition by its wire.
	r := run(t, d, "readings:\n- {figure: spring_peak_force, value: 70 N ± 0.5 N}\n- {figure: spring_peak_force, value: 71 N ± 0.5 N, with: {spring.rate: 700 N/m}}\n"+
		"- {figure: spring_peak_force, value: 72 N ± 0.5 N, with: {spring.wire: 1.42 mm, spring.coil_diameter: 12 mm, spring.coils: 33}}\nfree: [spring.rate]\n", fit.Settings{})
	assert.InDelta(t, 1/math.Sqrt(1+sq(r.Singular[0])), r.Unknowns[0].ToldRatio, 1e-9)
	assert.Greater(t, r.Readings[0].Leverage, 0.5)
	assert.Zero(t, r.Readings[1].Leverage)
	assert.Zero(t, r.Readings[2].Leverage)
	assert.Equal(t, r.Readings[1].Before, r.Readings[1].After)

	// Two readings of one figure contradict each other under one condition only.
	const two = "readings:\n- {figure: rate_of_fire, value: 22 /s ± 0.1 /s, with: {pellet.mass: 0.3 g, battery.state_of_charge: 50 %%}}\n- {figure: rate_of_fire, value: 23 /s ± 0.1 /s, with: {%s}}\nfree: [gears.efficiency]\n"
	same := run(t, d, fmt.Sprintf(two, "battery.state_of_charge: 50 %, pellet.mass: 0.3 g"), fit.Settings{})
	require.Len(t, same.Contradictions, 1)
	assert.InDelta(t, 1/math.Hypot(0.05, 0.05), same.Contradictions[0].Apart, 1e-6)
	assert.Empty(t, run(t, d, fmt.Sprintf(two, "battery.state_of_charge: 60 %"), fit.Settings{}).Contradictions)
}

func sq(x float64) float64 { return x * x }

// The same bytes on any number of cores.
func TestCores(t *testing.T) {
	name := "as-built"
	if effort.All() {
		name = "trainer" // which takes longer
	}
	d, file := referenceCase(t, name)
	var texts []string
	for _, cores := range []int{1, 2, 5} {
		before := runtime.GOMAXPROCS(cores)
		r, err := fit.Run(t.Context(), d, file, fit.Settings{})
		runtime.GOMAXPROCS(before)
		require.NoError(t, err)
		text, err := json.Marshal([]any{r.Unknowns[0].Value, r.Fit, r.Correlation, r.Singular, r.Figures[0].AfterSD})
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	assert.Equal(t, texts[0], texts[1])
	assert.Equal(t, texts[0], texts[2])
}

func TestInterrupted(t *testing.T) {
	d, file := referenceCase(t, "rifle")
	for _, after := range []int{0, 1, 60, 700} {
		ctx, cancel := context.WithCancel(t.Context())
		n := 0
		if after == 0 {
			cancel()
		}
		_, err := fit.Run(ctx, d, file, fit.Settings{Progress: func() {
			if n++; n == after {
				cancel()
			}
		}})
		assert.ErrorIs(t, err, context.Canceled, "after %d", after)
		cancel()
	}
}

// What doesn't go together is told with line and key.
func TestRefused(t *testing.T) {
	const good = "readings:\n- {figure: rate_of_fire, value: 22 /s ± 0.2 /s}\n"
	for _, c := range []struct {
		name, text string
		settings   fit.Settings
		want       []string
	}{
		{"figure of the other mode", "readings:\n- {figure: overspin, value: 90 deg ± 5 deg}\n", fit.Settings{}, []string{"r.yaml:2:12: readings.0.figure: overspin doesn't exist: the build has no such figure there"}},
		{"stalls", "readings:\n- {figure: rate_of_fire, value: 22 /s ± 1 /s, with: {spring.rate: 5000 N/m}}\n", fit.Settings{}, []string{"r.yaml:2:12: readings.0.figure: rate_of_fire doesn't exist: the build stalls there"}},
		{"refused under with", "readings:\n- {figure: rate_of_fire, value: 22 /s ± 1 /s, with: {pellet.diameter: 7 mm}}\n", fit.Settings{}, []string{"r.yaml:2:71: readings.0.with.pellet.diameter", "7 mm"}},
		{"no such member", "readings:\n- {figure: rate_of_fire, value: 22 /s ± 1 /s, with: {harness.connectors.7.resistance: 1 mohm}}\n", fit.Settings{}, []string{"r.yaml:2:", "readings.0.with.harness.connectors.7.resistance", "has 2 members"}},
		{"refused under with of a candidate", good + "candidates: [{figure: inrush, value: ± 5 %, with: {pellet.diameter: 7 mm}}]\n", fit.Settings{}, []string{"candidates.0.with.pellet.diameter"}},
		{"free without ±", good + "free: [pellet.diameter]\n", fit.Settings{}, []string{"r.yaml:3:8: pellet.diameter: has no ±, neither here nor in the build"}},
		{"free of nothing", good + "free: [gears.churning]\n", fit.Settings{}, []string{"gears.churning: has no ±"}},
		{"free, not in this build", good + "free: [spring.modulus]\n", fit.Settings{}, []string{"spring.modulus: has no value in this build"}},
		{"target", good, fit.Settings{Target: "rate_of_fir"}, []string{"--target rate_of_fir: neither a figure nor an unknown of this fit; did you mean rate_of_fire?"}},
		{"target that doesn't exist", good, fit.Settings{Target: "overspin"}, []string{"--target overspin: doesn't exist"}},
		{"hold", good, fit.Settings{Hold: []string{"spring.rat"}}, []string{"--hold spring.rat: is no unknown of this fit; did you mean spring.rate?"}},
		{"nothing to move", good + "free: [spring.rate]\n", fit.Settings{Hold: []string{"spring.rate"}}, []string{"r.yaml:1:1: readings: they tell of nothing that is free to move"}},
		{"nothing seen", "readings:\n- {figure: barrel_volume, value: 10 cm3 ± 5 cm3}\n", fit.Settings{}, []string{"they tell of nothing"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := fit.Run(t.Context(), demo(t), readings(t, c.text), c.settings)
			require.Error(t, err)
			assert.ErrorAs(t, err, new(*quantity.Fault))
			for _, w := range c.want {
				assert.ErrorContains(t, err, w)
			}
		})
	}
}

// A full pack can't be fuller: it stands at its bound, and says so.
func TestAtBound(t *testing.T) {
	d := demo(t, "battery.state_of_charge=100 %")
	r := run(t, d, "readings:\n- {figure: rate_of_fire, value: 23.5 /s ± 0.2 /s}\n- {figure: muzzle_velocity, value: 128 m/s ± 2 m/s}\nfree: [battery.state_of_charge, {key: piston.seal_area, prior: 0 mm2 ± 5 mm2}, gears.efficiency]\n", fit.Settings{})
	for _, k := range r.Unknowns[:2] {
		assert.True(t, k.AtBound, k.Key)
		assert.Equal(t, k.Prior, k.Value, k.Key)
	}
	assert.False(t, r.Unknowns[2].AtBound)
	assert.Greater(t, r.Unknowns[2].Shift, 1.)
	assert.True(t, slices.ContainsFunc(r.Warnings, func(w fit.Warning) bool {
		return w.Code == "at-bound" && strings.Contains(w.Text, "battery.state_of_charge")
	}))
	less := run(t, d, "readings:\n- {figure: rate_of_fire, value: 22.2 /s ± 0.1 /s}\nfree: [battery.state_of_charge]\n", fit.Settings{})
	assert.False(t, less.Unknowns[0].AtBound)
	assert.Less(t, less.Unknowns[0].Value, 0.95)
}

// The next reading of an unknown itself tells as much of it as two readings of one know.
func TestNextOfAnUnknown(t *testing.T) {
	d := demo(t)
	r := run(t, d, "readings:\n- {figure: spring_peak_force, value: 67 N ± 2 N}\nfree: [spring.rate]\ncandidates: [{figure: spring_peak_force, value: ± 2 N}, {figure: inrush, value: ± 1 %}]\n", fit.Settings{Target: "spring.rate"})
	// C = 1/(1 + g²); with another such reading 1/(1 + 2g²): the share g²/(1 + 2g²) less.
	g2 := sq(r.Singular[0])
	require.Len(t, r.Next, 2)
	assert.Equal(t, "spring_peak_force", r.Next[0].Figure.Name)
	assert.InDelta(t, g2/(1+2*g2), r.Next[0].Reduction, 1e-6)
	assert.InDelta(t, 1, r.Next[0].SD, 1e-12)
	assert.Equal(t, "spring.rate", r.Target)
	// An unknown that wasn't fitted can be aimed at as well.
	unseen := run(t, d, "readings:\n- {figure: spring_peak_force, value: 67 N ± 2 N}\n", fit.Settings{Target: "cylinder.seal_leak"})
	assert.Contains(t, unseen.Unseen, "cylinder.seal_leak")
	assert.Equal(t, "muzzle_velocity", unseen.Next[0].Figure.Name)
}

// A target may ask for figures of the rack or of the motor alone as well.
func TestOtherFigures(t *testing.T) {
	d := demo(t, "target.release_tooth_safety.min=1", "target.motor_stall_current.max=1 A")
	r := run(t, d, "readings:\n- {figure: spring_peak_force, value: 74 N ± 1 N}\n- {figure: no_load_speed, value: 17200 rpm ± 100 rpm, supply: 7.4 V}\nfree: [spring.rate, motor.armature.mean_turn, motor.armature.saturation]\n", fit.Settings{Target: "release_tooth_safety"})
	find := func(name string) *fit.Change {
		i := slices.IndexFunc(r.Figures, func(c fit.Change) bool { return c.Figure.Name == name })
		require.GreaterOrEqual(t, i, 0, name)
		return &r.Figures[i]
	}
	safety, stall := find("release_tooth_safety"), find("motor_stall_current")
	assert.Less(t, safety.After, safety.Before, "a harder spring")
	assert.Less(t, safety.AfterSD, safety.BeforeSD)
	assert.Positive(t, stall.AfterSD)
	assert.Contains(t, r.Missed(), "motor_stall_current")
	assert.NotContains(t, r.Missed(), "release_tooth_safety")
	assert.Equal(t, "release_tooth_safety", r.Target)
	assert.Greater(t, r.Next[0].Reduction, 0.05)
}

// Without any other reading, one is predicted by the build as it is.
func TestLeftOutAlone(t *testing.T) {
	r := run(t, demo(t), "readings:\n- {figure: spring_peak_force, value: 67 N ± 2 N}\nfree: [spring.rate]\n", fit.Settings{LeaveOut: true})
	require.Len(t, r.LeftOut, 1)
	l := &r.LeftOut[0]
	assert.InDelta(t, r.Readings[0].Before, l.Predicted, 1e-9)
	i := slices.IndexFunc(r.Figures, func(c fit.Change) bool { return c.Figure.Name == "spring_peak_force" })
	assert.InEpsilon(t, r.Figures[i].BeforeSD, l.PredictedSD, 1e-9)
	assert.InDelta(t, (67-l.Predicted)/math.Hypot(1, l.PredictedSD), l.Apart, 1e-9)
}

func ExampleRun() {
	d, err := buildfile.DemoDocument()
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := buildfile.ParseReadings("evening.yaml", []byte(`
readings:
- {figure: rate_of_fire, value: 21.4 /s ± 0.2 /s, times: 3}
- {figure: current_mean, value: 15.7 A ± 0.5 A}
free: [gears.efficiency, battery.resistance]
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	res, err := fit.Run(context.Background(), d, r, fit.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i := range res.Unknowns {
		k := &res.Unknowns[i]
		fmt.Printf("%s: %.3g ± %.1g\n", k.Key, k.Value, 2*k.SD)
	}
	// Output:
	// gears.efficiency: 0.776 ± 0.02
	// battery.resistance: 0.0127 ± 0.002
}
