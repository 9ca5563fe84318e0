package cycle_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
)

// The same tolerances as in automatic fire.
func TestReferenceSingle(t *testing.T) {
	const figures, shot, share = 1e-6, 1e-5, 1e-5
	for _, c := range []struct {
		file, build string
		overrides   []string
	}{
		{"demo-single.json", "", []string{"trigger.mode=single"}},
		{"demo-braking.json", "", []string{"trigger.mode=single", "harness.switch.mosfet.active_braking=true"}},
		{"ferrite-single.json", "ferrite.yaml", []string{"trigger.mode=single"}},
		{"two-lobe-single.json", "two-lobe.yaml", []string{"trigger.mode=single"}},
		{"full/demo-single.json", "../reference/full/demo-single.yaml", nil},
		{"full/demo-braking.json", "../reference/full/demo-braking.yaml", nil},
	} {
		t.Run(c.file, func(t *testing.T) {
			want := readReference(t, c.file)
			r, err := cycle.Simulate(context.Background(), document(t, c.build, c.overrides...).Build, cycle.Settings{})
			require.NoError(t, err)
			require.Equal(t, want.Outcome, r.Status.String())
			s, p := &r.Summary, r.Pull
			for key, got := range map[string]float64{
				"rate_of_fire_hz": s.RateOfFire, "period_s": s.Period, "free_time_s": s.FreeTime,
				"pme_margin_s": s.PMEMargin, "pme_rate_of_fire_hz": s.PMERateOfFire,
				"swept_volume_m3": s.SweptVolume, "barrel_volume_m3": s.BarrelVolume, "stroke_m": s.Stroke,
				"spring_energy_j": s.SpringEnergy, "spring_peak_force_n": s.SpringPeakForce,
				"current_peak_a": s.CurrentPeak, "current_mean_a": s.CurrentMean, "current_rms_a": s.CurrentRMS,
				"inrush_a": s.Inrush, "pack_voltage_min_v": s.PackVoltageMin,
				"charge_per_shot_c": s.ChargePerShot, "shots_per_charge": s.ShotsPerCharge,
				"stall_angle_rad": s.StallAngle, "stall_current_a": s.StallCurrent,
				"overspin_rad": s.Overspin, "stop_angle_rad": s.StopAngle, "time_to_rest_s": s.TimeToRest,
			} {
				value, ok := want.Figures[key]
				require.True(t, ok, "the reference lacks %s", key)
				compare(t, key, value, got, figures)
			}
			for key, got := range map[string]float64{
				"trigger_delay_s": s.TriggerDelay, "time_to_home_s": s.TimeToHome, "muzzle_velocity_m_s": s.MuzzleVelocity,
				"muzzle_energy_j": s.MuzzleEnergy, "piston_impact_m_s": s.PistonImpact, "overall_efficiency": s.OverallEfficiency,
			} {
				value, ok := want.Figures[key]
				require.True(t, ok, "the reference lacks %s", key)
				compare(t, key, value, got, shot)
			}
			var rest struct {
				Phase  string `json:"stop_phase"`
				Second bool   `json:"second_shot"`
			}
			data, err := os.ReadFile(filepath.Join(testdata, "reference", c.file))
			require.NoError(t, err)
			require.NoError(t, json.Unmarshal(data, &rest))
			assert.Equal(t, rest.Phase == "pull", p.StopsInPull)
			assert.Equal(t, rest.Second, p.Extra() > 0)

			l := &r.Ledger
			for _, row := range l.Rows() {
				value, ok := want.Ledger[row.Name]
				if plain := row.Name == "walls" || row.Name == "surge"; plain && !ok {
					assert.Zero(t, row.Energy, "%s: plain physics has none", row.Name)
					continue
				}
				require.True(t, ok, "the reference lacks %s", row.Name)
				switch row.Name {
				case "piston_drag", "impact", "air", "barrel", "pellet", "stored":
					assert.InDelta(t, *value, row.Energy, share*l.Battery, row.Name)
				default:
					compare(t, "ledger."+row.Name, value, row.Energy, figures)
				}
			}
			compare(t, "ledger.battery", want.Ledger["battery"], l.Battery, figures)
			assert.Less(t, math.Abs(l.Residual), 1e-6*l.Battery)
		})
	}
}

func single(t *testing.T, name string, overrides ...string) *cycle.Result {
	t.Helper()
	return simulate(t, document(t, name, append([]string{"trigger.mode=single"}, overrides...)...).Build)
}

// event returns the first event of a kind.
func event(t *testing.T, tr *cycle.Trace, kind cycle.EventKind) cycle.Event {
	t.Helper()
	for _, e := range tr.Events {
		if e.Kind == kind {
			return e
		}
	}
	require.Fail(t, "no event", kind.String())
	return cycle.Event{}
}

// Closed form: contacts end the current at once; in the free phase the shaft coasts
// down under constant and viscous drag, J·dω/dt = −Tc − kv·ω.
func TestCoastDown(t *testing.T) {
	for _, c := range []struct {
		name              string
		constant, viscous string
		churning          string
	}{
		{"constant drag", "100 mN m", "0 N m s", "0 N m s"},
		{"and viscous", "80 mN m", "2e-5 N m s", "0 N m s"},
		{"and churning", "80 mN m", "2e-5 N m s", "5e-4 N m s"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := single(t, "", "harness.switch.contacts={material: copper, force: 1.5 N}", "spring.rate=60 N/m",
				"motor.drag.constant="+c.constant, "motor.drag.viscous="+c.viscous, "gears.churning="+c.churning, "trigger.cutoff=241 deg")
			p := r.Pull
			require.False(t, p.StopsInPull)
			g := r.Build.Geometry()
			tc, kv := r.Motor.DragConstant, r.Motor.DragViscous+r.Build.Gears.Churning/(g.Ratio*g.Ratio)
			opened := event(t, p.Trace, cycle.Opening)
			w0 := p.Trace.At(opened.Time).Speed
			require.Greater(t, w0, 100.)
			assert.Zero(t, p.Trace.At(opened.Time).Current, "contacts")
			rest := g.FreeInertia / tc * w0
			turned := g.FreeInertia * w0 * w0 / (2 * tc)
			if kv > 0 {
				tau := g.FreeInertia / kv
				rest = tau * math.Log1p(kv*w0/tc)
				turned = tau*w0 - tc/kv*rest
			}
			assert.InEpsilon(t, rest, p.Rest-p.Opened, 1e-8)
			assert.InEpsilon(t, turned/g.Ratio, p.Overspin, 1e-8)
			assert.InDelta(t, r.Motor.Inductance*math.Pow(p.Trace.Before(opened.Time).Current, 2)/2+r.Wires.Switch*squared(p.Trace, opened.Time), r.Ledger.Switch, 1e-6*r.Ledger.Switch, "the arc takes what the inductance held")
		})
	}
}

// squared is ∫i² over the time of a trace [A2 s], by Simpson's rule.
func squared(tr *cycle.Trace, end float64) float64 {
	const n = 20000
	sum := 0.
	for i := range n + 1 {
		weight := []float64{2, 4}[i%2]
		if i == 0 || i == n {
			weight = 1
		}
		at := tr.Before(end * float64(i) / n)
		sum += weight * at.Current * at.Current
	}
	return sum * end / n / 3
}

// The linear equations F3 by gonum's matrix exponential: the current's decay
// through the diode, then braking into the short, in the free phase.
func TestFreewheelAndBrake(t *testing.T) {
	r := single(t, "", "harness.switch.mosfet.active_braking=true", "harness.switch.mosfet.brake_delay=0.1 ms", "harness.switch.mosfet.brake_resistance=5 mohm",
		"trigger.cutoff=242 deg", "motor.armature.inductance=200 uH")
	m, p := &r.Motor, r.Pull
	g := r.Build.Geometry()
	opened, braked := event(t, p.Trace, cycle.Opening).Time, event(t, p.Trace, cycle.Braking).Time
	assert.InEpsilon(t, 1e-4, braked-opened, 1e-9, "the delay")
	start := p.Trace.At(opened)
	require.Greater(t, p.Trace.At(braked).Current, 1., "the diode still carries current when the brake begins")

	// State (i, ω, 1).
	through := func(resistance, drop float64) *mat.Dense {
		return mat.NewDense(3, 3, []float64{
			-(m.Resistance + resistance) / m.Inductance, -m.Ke / m.Inductance, -drop / m.Inductance,
			m.Ke / g.FreeInertia, -m.DragViscous / g.FreeInertia, -m.DragConstant / g.FreeInertia,
			0, 0, 0,
		})
	}
	after := func(a *mat.Dense, time float64, from [2]float64) [2]float64 {
		var scaled, e mat.Dense
		scaled.Scale(time, a)
		e.Exp(&scaled)
		var y mat.VecDense
		y.MulVec(&e, mat.NewVecDense(3, []float64{from[0], from[1], 1}))
		return [2]float64{y.AtVec(0), y.AtVec(1)}
	}
	close := func(time float64, want [2]float64, what string) {
		at := p.Trace.At(time)
		assert.InDelta(t, want[0], at.Current, 1e-7*start.Current, what)
		assert.InEpsilon(t, want[1], at.Speed, 1e-7, what)
	}
	diode := through(0, m.BrushDrop+0.7)
	close(opened+5e-5, after(diode, 5e-5, [2]float64{start.Current, start.Speed}), "freewheel")
	y := after(diode, braked-opened, [2]float64{start.Current, start.Speed})
	close(braked, y, "at the brake")

	// Through zero the brushes' drop changes sides: the time by bisection.
	down, up := through(5e-3, m.BrushDrop), through(5e-3, -m.BrushDrop)
	lo, hi := 0., 1e-3
	for range 80 {
		if mid := (lo + hi) / 2; after(down, mid, y)[0] > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	zero := after(down, lo, y)
	for _, later := range []float64{1e-4, 1e-3, 3e-3} {
		close(braked+lo+later, after(up, later, [2]float64{0, zero[1]}), "braking")
	}
	assert.InEpsilon(t, -least(p.Trace, braked), p.BrakeCurrent, 1e-5, "no sample lies beyond the peak")
}

// least is the least current after a time [A].
func least(tr *cycle.Trace, from float64) (least float64) {
	for i := range 20000 {
		least = min(least, tr.At(from+(tr.Duration()-from)*float64(i)/20000).Current)
	}
	return least
}

// Every joule of a single shot is booked, what stays in the pulled spring included.
func TestLedgerOfASingleShot(t *testing.T) {
	for name, b := range builds(t) {
		for _, change := range []func(*drivetrain.Build){
			func(*drivetrain.Build) {},
			func(b *drivetrain.Build) { b.Trigger.Cutoff = 100 * math.Pi / 180 },
			func(b *drivetrain.Build) {
				if b.Harness.Switch.MOSFET != nil {
					m := *b.Harness.Switch.MOSFET
					m.ActiveBraking = true
					b.Harness.Switch.MOSFET = &m
				}
			},
		} {
			c := *b
			c.Trigger.Mode = drivetrain.Single
			change(&c)
			r := simulate(t, &c)
			require.Equal(t, cycle.Once, r.Status, name)
			l, p := &r.Ledger, r.Pull
			assert.Less(t, math.Abs(l.Residual), 1e-6*l.Battery, name)
			g := c.Geometry()
			given := g.SpringEnergy(g.PitchRadius*c.Trigger.Start) - g.SpringEnergy(0) // at the start
			assert.GreaterOrEqual(t, l.Stored, p.SpringLeft-given-1e-9, "%s: the spring is the most of it, the pack's pairs the rest", name)
			assert.InDelta(t, p.SpringLeft-given, l.Stored, 2e-3, name)
			if p.StopsInPull {
				end := p.Trace.At(p.Trace.Duration())
				assert.InDelta(t, g.SpringEnergy(end.Travel)-g.SpringEnergy(0), p.SpringLeft, 1e-9, name)
				assert.Positive(t, p.SpringLeft)
			}
		}
	}
}

// F6, D9 and section I.
func TestCutoff(t *testing.T) {
	early := single(t, "", "trigger.cutoff=60 deg")
	assert.Empty(t, early.Pull.Releases, "the switch opens long before the release")
	for _, v := range []float64{early.Summary.TriggerDelay, early.Summary.MuzzleVelocity, early.Summary.TimeToHome, early.Summary.OverallEfficiency} {
		assert.True(t, math.IsNaN(v))
	}
	assert.Nil(t, early.Flight)
	opened := event(t, early.Pull.Trace, cycle.Opening)
	assert.InEpsilon(t, 60*math.Pi/180, opened.Angle, 1e-12)

	behind := single(t, "", "trigger.start=70 deg", "trigger.cutoff=60 deg")
	assert.Equal(t, 1, len(behind.Pull.Releases), "a cut-off behind the start opens in the next turn")
	assert.Greater(t, behind.Pull.Opened, behind.Pull.Releases[0].Release)
	same := single(t, "", "trigger.start=60 deg", "trigger.cutoff=60 deg")
	assert.Greater(t, same.Pull.Opened, same.Pull.Releases[0].Release, "and so does one at the start")
	spaced := single(t, "", "piston.spacer=3 mm", "trigger.cutoff=5 deg")
	assert.InEpsilon(t, 365*math.Pi/180, event(t, spaced.Pull.Trace, cycle.Opening).Angle, 1e-12, "one below the pickup is met a lobe later")
	end := single(t, "", "trigger.cutoff=360 deg")
	opens, picks := event(t, end.Pull.Trace, cycle.Opening), event(t, end.Pull.Trace, cycle.Pickup)
	assert.Equal(t, picks.Time, opens.Time, "at the lobe's very end")
	assert.InEpsilon(t, end.Summary.Overspin, 2*math.Pi*float64(len(end.Pull.Releases)-1)+end.Summary.StopAngle, 1e-12)
	atRelease := single(t, "", fmt.Sprintf("trigger.cutoff=%.17g rad", document(t, "").Build.ReleaseAngle()))
	assert.Len(t, atRelease.Pull.Releases, 1, "at the very release")
	assert.Equal(t, atRelease.Pull.Releases[0].Release, atRelease.Pull.Opened)

	late := single(t, "", "tappet={from: 245 deg, to: 350 deg, work: 12 J}", "trigger.cutoff=300 deg")
	assert.Equal(t, cycle.Stall, late.Status, "behind the shot, which was fired all the same")
	assert.InEpsilon(t, single(t, "").Summary.MuzzleVelocity, late.Summary.MuzzleVelocity, 1e-6)
	assert.InEpsilon(t, single(t, "").Summary.TriggerDelay, late.Summary.TriggerDelay, 1e-6)
	assert.True(t, math.IsNaN(late.Ledger.Battery) && math.IsNaN(late.Summary.OverallEfficiency))

	stall := single(t, "", "spring.rate=2400 N/m")
	assert.Equal(t, cycle.Stall, stall.Status)
	assert.Nil(t, stall.Pull)
	auto := simulate(t, document(t, "", "spring.rate=2400 N/m").Build)
	assert.Equal(t, auto.Summary.StallAngle, stall.Summary.StallAngle)
	assert.Equal(t, auto.Summary.Inrush, stall.Summary.Inrush)
}

// Common practice, no source: a stronger motor on a weak spring fires twice, and
// active braking cures it.
func TestSecondShot(t *testing.T) {
	strong := []string{"motor.armature.turns=20", "motor.armature.wire=0.75 mm", "spring.rate=380 N/m"}
	twice := single(t, "", strong...)
	assert.Len(t, twice.Pull.Releases, 2)
	assert.Equal(t, 1, twice.Pull.Extra())
	assert.Greater(t, twice.Summary.Overspin, 2*math.Pi)
	assert.Contains(t, codes(twice), "second-shot")
	braked := single(t, "", append(strong, "harness.switch.mosfet.active_braking=true")...)
	assert.Len(t, braked.Pull.Releases, 1)
	assert.Less(t, braked.Summary.TimeToRest, twice.Summary.TimeToRest)
	assert.NotContains(t, codes(braked), "second-shot")
	assert.Equal(t, twice.Summary.TriggerDelay, braked.Summary.TriggerDelay, "the brake comes after the shot")
	assert.Less(t, braked.Summary.DemagnetisationMargin, twice.Summary.DemagnetisationMargin, "and drives more current than the inrush")
	assert.Contains(t, codes(single(t, "", "trigger.cutoff=60 deg")), "no-release")
}

func codes(r *cycle.Result) (all []string) {
	for _, w := range r.Warnings {
		all = append(all, w.Code)
	}
	return all
}

// The next shot starts where the last one stopped, in the pull or in the free phase.
func TestNextShot(t *testing.T) {
	for _, overrides := range [][]string{
		{}, {"harness.switch.mosfet.active_braking=true"}, {"piston.spacer=2 mm", "trigger.start=25 deg"},
		{"harness.switch.mosfet.active_braking=true", "piston.spacer=2 mm", "trigger.start=25 deg"},
	} {
		first := single(t, "", overrides...)
		p := first.Pull
		next, err := cycle.Simulate(context.Background(), first.Build, cycle.Settings{Conditions: p.After})
		require.NoError(t, err)
		require.Equal(t, cycle.Once, next.Status)
		assert.Len(t, next.Pull.Releases, 1)
		start := next.Pull.Trace.At(0)
		assert.InEpsilon(t, p.StopAngle, start.Angle, 1e-12)
		assert.InDelta(t, p.Trace.At(p.Trace.Duration()).PackVoltage, start.PackVoltage, 1e-9, "and with the pack as it was left")
		assert.Greater(t, p.After.V1, 2*p.After.V2, "the fast pair holds more after so short a pull")
		if p.StopsInPull {
			assert.Less(t, next.Summary.TriggerDelay, first.Summary.TriggerDelay, "a spring half pulled is let go sooner")
		}
		again, err := cycle.Respond(context.Background(), first.Build, cycle.Settings{Conditions: p.After})
		require.NoError(t, err)
		assert.InEpsilon(t, next.Summary.TriggerDelay, again.Delay, 1e-6, "each as exact as flights are")
	}
}

func TestResponses(t *testing.T) {
	ctx := context.Background()
	b := document(t, "").Build
	base := simulate(t, b)
	r, err := cycle.Respond(ctx, b, cycle.Settings{})
	require.NoError(t, err)
	assert.InEpsilon(t, base.Summary.TriggerDelay, r.Delay, 1e-6, "each as exact as flights are")
	assert.InEpsilon(t, base.Summary.ReleaseTime, r.Release, 1e-9)

	charges := []float64{0.1, 0.5, 0.9}
	two, err := cycle.OverCharge(ctx, b, cycle.Settings{}, 2, charges)
	require.NoError(t, err)
	three, err := cycle.OverCharge(ctx, b, cycle.Settings{}, 3, charges)
	require.NoError(t, err)
	assert.InEpsilon(t, base.Summary.TriggerDelay, two[2].Delay, 1e-6)
	for i := range charges {
		assert.Equal(t, charges[i], two[i].At)
		assert.Less(t, three[i].Delay, two[i].Delay, "more cells, a quicker shot")
		if i > 0 {
			assert.Less(t, two[i].Delay, two[i-1].Delay, "more charge, a quicker shot")
		}
	}

	angles := cycle.StopAngles(b, 24)
	stops, err := cycle.OverStop(ctx, b, cycle.Settings{}, angles)
	require.NoError(t, err)
	g := b.Geometry()
	best := cycle.Quickest(stops)
	assert.InDelta(t, g.Release, best.At, 2e-3, "the nearer to the release, the quicker")
	for i := 1; i < len(stops); i++ {
		if stops[i].At < g.Release {
			assert.Less(t, stops[i].Delay, stops[i-1].Delay)
		}
	}
	assert.InEpsilon(t, base.Summary.TriggerDelay, stops[0].Delay, 1e-6, "from the pickup, as ever")

	spaced := document(t, "", "piston.spacer=2 mm", "trigger.start=25 deg").Build
	stops, err = cycle.OverStop(ctx, spaced, cycle.Settings{}, []float64{spaced.Geometry().Pickup + 25*math.Pi/180})
	require.NoError(t, err)
	assert.InEpsilon(t, simulate(t, spaced).Summary.TriggerDelay, stops[0].Delay, 1e-6, "angles are the sector's, whatever spacer and start")

	stall := document(t, "", "spring.rate=2400 N/m").Build
	r, err = cycle.Respond(ctx, stall, cycle.Settings{})
	require.NoError(t, err)
	assert.True(t, math.IsNaN(r.Delay))
	assert.True(t, math.IsNaN(cycle.Quickest([]cycle.Response{r}).Delay))
}

// With the switch open the battery gives nothing, whatever the motor's current.
func TestBatteryWithTheSwitchOpen(t *testing.T) {
	r := single(t, "", "harness.switch.mosfet.active_braking=true")
	tr := r.Pull.Trace
	opened := event(t, tr, cycle.Opening).Time
	before, after := tr.Before(opened), tr.At(opened)
	assert.Equal(t, before.Current, before.Battery)
	assert.InEpsilon(t, before.Current, after.Current, 1e-12, "the motor's goes on through the diode")
	braked := 0
	for _, p := range tr.Sample(500) {
		if p.Time <= opened {
			continue
		}
		assert.Zero(t, p.Battery)
		assert.InDelta(t, after.PackVoltage, p.PackVoltage, 2e-3, "the pack stands still but for its pairs")
		if p.Current < -1 {
			braked++
		}
	}
	assert.Greater(t, braked, 10)
}

// A piston that is not home when the sector comes round is told in a pull too.
func TestPrematureEngagementInAPull(t *testing.T) {
	r := single(t, "", "motor.armature.turns=20", "motor.armature.wire=0.75 mm", "spring.rate=380 N/m")
	first := r.Pull.Releases[0]
	picked := event(t, r.Pull.Trace, cycle.Pickup)
	assert.InDelta(t, picked.Time-first.Release-first.Flight.Summary.TimeToHome, first.Margin, 1e-12)
	require.Less(t, first.Margin, 0.)
	at := first.Flight.Trace.At(picked.Time - first.Release)
	assert.InEpsilon(t, at.Travel, first.Engagement.Travel, 1e-9)
	g := r.Build.Geometry()
	assert.InEpsilon(t, g.PitchRadius*r.Pull.Trace.Before(picked.Time).Speed/g.Ratio-at.Speed, first.Engagement.Speed, 1e-9)
	assert.Contains(t, codes(r), "premature-engagement")
	last := r.Pull.Releases[len(r.Pull.Releases)-1]
	assert.True(t, math.IsNaN(last.Margin) && math.IsNaN(last.Engagement.Travel), "nothing comes after the last one")
	assert.NotContains(t, codes(single(t, "")), "premature-engagement")
}

// A shaft without constant drag is stopped by its creep, in the free phase.
func TestRestWithoutConstantDrag(t *testing.T) {
	r := single(t, "", "motor.drag.constant=0 N m", "motor.drag.viscous=4e-4 N m s", "spring.rate=60 N/m", "trigger.cutoff=241 deg", "harness.switch.contacts={material: copper, force: 1.5 N}")
	require.Equal(t, cycle.Once, r.Status)
	assert.False(t, r.Pull.StopsInPull)
	assert.Less(t, math.Abs(r.Ledger.Residual), 1e-6*r.Ledger.Battery)
}

func TestPullWarnings(t *testing.T) {
	burst := document(t, "", "battery.capacity=20 mAh").Build
	burst.Trigger.Rounds = 120
	r := simulate(t, burst)
	assert.Contains(t, codes(r), "pack-empty")
	assert.Len(t, r.Pull.Releases, 120)
	assert.Nil(t, r.Pull.Trace, "the course of a long burst is not kept")
	assert.Contains(t, codes(single(t, "", "trigger.rounds=3")), "rounds-ignored")
	hot := single(t, "", "motor.armature.turns=20", "motor.armature.wire=0.75 mm", "spring.rate=380 N/m", "harness.switch.mosfet.active_braking=true", "motor.stator.magnet.coercivity=650 kA/m")
	for _, w := range hot.Warnings {
		if w.Code == "demagnetisation" {
			assert.Contains(t, w.Text, "the braking current of")
		}
	}
	assert.Contains(t, codes(hot), "demagnetisation")
}

// A burst of n rounds: the switch opens in the turn of the last one.
func TestBurst(t *testing.T) {
	for _, n := range []int{1, 2, 5} {
		d := document(t, "", "harness.switch.mosfet.active_braking=true")
		d.Build.Trigger.Rounds = n
		r := simulate(t, d.Build)
		require.Equal(t, cycle.Steady, r.Status, "the steady cycle is told as well")
		p := r.Pull
		require.NotNil(t, p)
		assert.Equal(t, n, p.Rounds)
		assert.Len(t, p.Releases, n)
		assert.Less(t, math.Abs(p.Ledger.Residual), 1e-6*p.Ledger.Battery)
		for i := 1; i < n; i++ {
			assert.InEpsilon(t, r.Summary.Period, p.Releases[i].Release-p.Releases[i-1].Release, 0.02, "near the steady rate from the start")
		}
		if n == 1 {
			one := single(t, "", "harness.switch.mosfet.active_braking=true")
			assert.Equal(t, one.Pull.Rest, p.Rest, "one round is a single shot")
		}
	}
	assert.Nil(t, simulate(t, document(t, "").Build).Pull, "a held trigger has no end")
}
