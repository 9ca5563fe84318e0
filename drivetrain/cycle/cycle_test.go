package cycle_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/motor"
	"example.org/ampstroke/motor/wire"
)

// builds are the ones that every invariant is tried on.
func builds(t testing.TB) map[string]*drivetrain.Build {
	all := map[string]*drivetrain.Build{}
	for name, d := range map[string]*buildfile.Document{
		"demo":            document(t, ""),
		"three cells":     document(t, "", "battery.series=3"),
		"low ratio":       document(t, "", "gears.ratio=6"),
		"high ratio":      document(t, "", "gears.ratio=18.7"),
		"spacer":          document(t, "", "piston.spacer=2 mm"),
		"part-way":        document(t, "", "trigger.start=100 deg"),
		"nearly empty":    document(t, "", "battery.state_of_charge=3 %"),
		"cold":            document(t, "", "ambient.temperature=-15 degC"),
		"contacts":        document(t, "", "harness.switch.contacts={material: silver, force: 1 N}"),
		"by teeth":        document(t, "", "gears.teeth={pinion: 8, bevel: 20, bevel_pinion: 12, spur: 30, spur_pinion: 14, sector: 24}"),
		"commutation":     document(t, "", "motor.commutation=40 %"),
		"churning":        document(t, "", "gears.churning=1e-4 N m s"),
		"tappet":          document(t, "", "tappet={from: 200 deg, to: 300 deg, work: 60 mJ}"),
		"tappet at start": document(t, "", "piston.spacer=2 mm", "tappet={from: 2 deg, to: 30 deg, work: 30 mJ}"),
		"fast winding":    document(t, "", "motor.armature.turns=14", "motor.armature.wire=0.9 mm"),
		"ferrite":         document(t, "ferrite.yaml"),
		"two lobes":       document(t, "two-lobe.yaml"),
	} {
		all[name] = d.Build
	}
	return all
}

func TestLedgerCloses(t *testing.T) {
	for name, b := range builds(t) {
		t.Run(name, func(t *testing.T) {
			r := simulate(t, b)
			require.Equal(t, cycle.Steady, r.Status)
			for _, l := range []cycle.Ledger{r.Ledger, r.FirstLedger} {
				assert.Greater(t, l.Battery, 0.)
				assert.Less(t, math.Abs(l.Residual), 1e-6*l.Battery)
				sum := l.Residual
				for _, row := range l.Rows() {
					if !math.IsNaN(row.Energy) {
						sum += row.Energy
						if row.Name != "stored" {
							assert.GreaterOrEqual(t, row.Energy, 0., row.Name)
						}
					}
				}
				assert.InEpsilon(t, l.Battery, sum, 1e-12, "the residual is what the rows leave")
			}
			assert.InDelta(t, 0, r.Ledger.Stored, 1e-7*r.Ledger.Battery, "a periodic cycle stores nothing")
		})
	}
}

// figures flattens a summary and the ledgers.
func figures(r *cycle.Result) map[string]float64 {
	all := map[string]float64{}
	v := reflect.ValueOf(r.Summary)
	for i := range v.NumField() {
		all[v.Type().Field(i).Name] = v.Field(i).Float()
	}
	for _, row := range r.Ledger.Rows() {
		if row.Name != "stored" {
			all["ledger "+row.Name] = row.Energy
		}
	}
	return all
}

// ofFlight tells the figures that contain the flight.
func ofFlight(key string) bool {
	return slices.Contains([]string{
		"TriggerDelay", "TimeToHome", "PMEMargin", "PMERateOfFire", "MuzzleVelocity", "MuzzleEnergy", "PistonImpact", "OverallEfficiency",
		"EngagementSpeed", "EngagementTravel", "EngagementShare",
		"ledger piston_drag", "ledger impact", "ledger air", "ledger barrel", "ledger pellet",
	}, key)
}

// When the tolerance is halved, figures move by no more than what the settings
// promise.
func TestFiguresMoveNoMoreThanPromised(t *testing.T) {
	for name, b := range builds(t) {
		t.Run(name, func(t *testing.T) {
			for _, tolerance := range []float64{1e-5, 1e-7, 1e-9} {
				coarse, err := cycle.Simulate(context.Background(), b, cycle.Settings{Tolerance: tolerance})
				require.NoError(t, err)
				fine, err := cycle.Simulate(context.Background(), b, cycle.Settings{Tolerance: tolerance / 2})
				require.NoError(t, err)
				want := figures(fine)
				for key, got := range figures(coarse) {
					if math.IsNaN(got) && math.IsNaN(want[key]) {
						continue
					}
					promise := tolerance*math.Abs(want[key]) + 1e-12
					if ofFlight(key) {
						promise = max(tolerance, 1e-6)*math.Abs(want[key]) + 1e-12
					}
					if key == "PMEMargin" { // a difference
						promise = max(tolerance, 1e-6) * want["TimeToHome"]
					}
					assert.LessOrEqual(t, math.Abs(got-want[key]), promise, "%s at %g", key, tolerance)
				}
			}
		})
	}
}

func TestResultsRepeat(t *testing.T) {
	for name, b := range builds(t) {
		one, two := simulate(t, b), simulate(t, b)
		first, second := figures(one), figures(two)
		for key, v := range first {
			assert.Equal(t, math.Float64bits(v), math.Float64bits(second[key]), "%s of %s", key, name)
		}
		// Reading the course at more points changes nothing.
		one.Steady.Sample(37)
		assert.Equal(t, fmt.Sprint(one.Steady.At(0.01)), fmt.Sprint(two.Steady.At(0.01)), "as text, since a NaN equals nothing")
	}
}

// Common practice, no source.
func TestTrendsOfTheTrade(t *testing.T) {
	fire := func(overrides ...string) *cycle.Summary {
		return &simulate(t, document(t, "", overrides...).Build).Summary
	}
	base := fire()
	assert.GreaterOrEqual(t, base.RateOfFire, 20., "28 turns, about 10:1: 20 to 24 rounds a second (22 to 23 is said)")
	assert.LessOrEqual(t, base.RateOfFire, 24.)

	slow := fire("gears.ratio=18.7")
	assert.GreaterOrEqual(t, slow.RateOfFire, 12.)
	assert.LessOrEqual(t, slow.RateOfFire, 14.)

	for name, s := range map[string]*cycle.Summary{
		"fewer turns": fire("motor.armature.turns=22"),
		"lower ratio": fire("gears.ratio=8.5"),
	} {
		assert.Greater(t, s.RateOfFire, base.RateOfFire, name)
		assert.Greater(t, s.CurrentMean, base.CurrentMean, name)
		assert.Greater(t, s.CurrentPeak, base.CurrentPeak, name)
	}
	assert.GreaterOrEqual(t, fire("battery.series=3").RateOfFire, 1.5*base.RateOfFire, "a third cell")
	assert.Less(t, fire("motor.armature.turns=22").ReleaseTime, base.ReleaseTime, "fewer turns, a quicker first shot")
	assert.Less(t, fire("motor.armature.turns=22").TriggerDelay, base.TriggerDelay, "and at the muzzle")

	assert.Greater(t, base.PMEMargin, 0., "the demo at full stroke has no premature engagement")
	assert.True(t, math.IsNaN(base.EngagementSpeed))
	three := fire("battery.series=3")
	assert.Less(t, three.PMEMargin, 0., "on three cells it has")
	short := fire("sector.removed=3")
	assert.Greater(t, short.PMERateOfFire, base.PMERateOfFire, "a short stroke moves the limit up")
	assert.Less(t, short.MuzzleVelocity, base.MuzzleVelocity, "and the velocity down")
	heavy := fire("pellet.mass=0.28 g")
	assert.InEpsilon(t, base.MuzzleEnergy, heavy.MuzzleEnergy, 0.1, "0.28 g keeps the muzzle energy of 0.20 g within a tenth")
	assert.Less(t, fire("pellet.diameter=5.90 mm").MuzzleVelocity, base.MuzzleVelocity, "clearance costs velocity")
	assert.Equal(t, base.RateOfFire, heavy.RateOfFire, "the motor does not feel the pellet")
}

// Section I: what the figures of the shot mean.
func TestShotFigures(t *testing.T) {
	for name, b := range builds(t) {
		r := simulate(t, b)
		s, f := &r.Summary, &r.Flight.Summary
		assert.InDelta(t, s.FreeTime-s.TimeToHome, s.PMEMargin, 1e-15, name)
		assert.InEpsilon(t, s.RateOfFire*s.FreeTime/s.TimeToHome, s.PMERateOfFire, 1e-12, name)
		assert.Equal(t, s.PMEMargin < 0, s.PMERateOfFire < s.RateOfFire, name)
		assert.InEpsilon(t, b.Pellet.Mass*s.MuzzleVelocity*s.MuzzleVelocity/2, s.MuzzleEnergy, 1e-12, name)
		assert.InEpsilon(t, s.MuzzleEnergy/r.Ledger.Battery, s.OverallEfficiency, 1e-12, name)
		assert.Equal(t, s.MuzzleEnergy, r.Ledger.Pellet, name)
		assert.InEpsilon(t, s.ReleaseTime+r.FirstFlight.Summary.TimeToMuzzle, s.TriggerDelay, 1e-6, "%s: each as exact as flights are", name)
		assert.Equal(t, f.PistonImpact, s.PistonImpact, name)
		g := b.Geometry()
		release := r.Steady.Before(s.Period - s.FreeTime)
		assert.InEpsilon(t, g.PitchRadius*release.Speed/g.Ratio, s.ReleaseSpeed, 1e-9, name)
		if s.PMEMargin >= 0 {
			assert.True(t, math.IsNaN(s.EngagementTravel) && math.IsNaN(s.EngagementShare) && math.IsNaN(s.EngagementSpeed), name)
			continue
		}
		// F8: the piston where it flies at the next pickup, the tooth with the sector.
		at := r.Flight.Trace.At(s.FreeTime)
		end := r.Steady.Before(s.Period)
		assert.InEpsilon(t, at.Travel, s.EngagementTravel, 1e-12, name)
		assert.InEpsilon(t, at.Travel/g.Stroke, s.EngagementShare, 1e-12, name)
		assert.InEpsilon(t, g.PitchRadius*end.Speed/g.Ratio-at.Speed, s.EngagementSpeed, 1e-9, name)
		assert.InDelta(t, at.Travel, end.Travel, 1e-9, "the cycle's course shows the same")
	}
}

func TestPeaksAreLocated(t *testing.T) {
	for name, b := range builds(t) {
		t.Run(name, func(t *testing.T) {
			r := simulate(t, b)
			inrush, peak, dip := math.Inf(-1), math.Inf(-1), math.Inf(1)
			for _, p := range r.First.Sample(20000) {
				inrush, dip = max(inrush, p.Current), min(dip, p.PackVoltage)
			}
			for _, p := range r.Steady.Sample(20000) {
				peak, dip = max(peak, p.Current), min(dip, p.PackVoltage)
			}
			s := &r.Summary
			// A sample misses a peak by up to i''·h²/8, here some 1e-6 of it.
			const near = 1e-5
			for _, c := range []struct{ located, sampled float64 }{{s.Inrush, inrush}, {s.CurrentPeak, peak}, {-s.PackVoltageMin, -dip}} {
				assert.GreaterOrEqual(t, c.located, c.sampled-1e-7*math.Abs(c.sampled), "no sample lies beyond; the interpolant's error is below 1e-7")
				assert.InEpsilon(t, c.sampled, c.located, near)
			}
		})
	}
}

func TestCourse(t *testing.T) {
	r := simulate(t, document(t, "").Build)
	g := r.Build.Geometry()
	start, end := r.Steady.At(0), r.Steady.Before(r.Steady.Duration())
	assert.InDelta(t, 0, start.Travel, 1e-12)
	assert.InDelta(t, g.SpringForce(0), start.SpringForce, 1e-9)
	assert.InEpsilon(t, g.Lobe, end.Angle, 1e-12)
	assert.InEpsilon(t, start.Speed, end.Speed*g.FreeInertia/g.PullInertia, 1e-9, "D7")
	assert.InEpsilon(t, r.Summary.Period, r.Steady.Duration(), 1e-12)
	release := r.Summary.Period - r.Summary.FreeTime
	assert.InEpsilon(t, g.Stroke, r.Steady.Before(release).Travel, 1e-9)
	after := r.Steady.At(release + 1e-6)
	assert.InDelta(t, g.Stroke, after.Travel, 1e-5, "the piston's course goes on in its flight")
	assert.InDelta(t, r.Build.Ambient.Pressure, after.Pressure, 1e3)
	home := r.Steady.At(release + r.Summary.TimeToHome)
	assert.InDelta(t, r.Build.Piston.Clear, home.Travel, 1e-9, "E7")
	assert.InDelta(t, 0, end.Travel, 1e-9, "and is home before the next pickup")
	muzzle := r.Steady.Before(release + r.Flight.Summary.TimeToMuzzle)
	assert.InEpsilon(t, r.Build.Barrel.Length, muzzle.PelletTravel, 1e-9)
	assert.InEpsilon(t, r.Summary.MuzzleVelocity, muzzle.PelletSpeed, 1e-9)
	assert.True(t, math.IsNaN(start.Pressure) && math.IsNaN(start.PelletSpeed), "no flight yet")
	kinds := func(tr *cycle.Trace) (all []string) {
		for _, e := range tr.Events {
			all = append(all, e.Kind.String())
		}
		return all
	}
	assert.Equal(t, []string{"switch closes", "release", "muzzle", "home", "pickup"}, kinds(r.First))
	assert.Equal(t, []string{"release", "muzzle", "home", "pickup"}, kinds(r.Steady))
	points := r.First.Sample(50)
	for i := 1; i < len(points); i++ {
		assert.GreaterOrEqual(t, points[i].Time, points[i-1].Time)
	}
}

func TestWriteCSV(t *testing.T) {
	r := simulate(t, document(t, "").Build)
	var b bytes.Buffer
	require.NoError(t, r.WriteCSV(&b))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"course", "time_s", "sector_angle_rad", "current_a", "battery_current_a", "pack_voltage_v", "motor_speed_rad_s", "piston_travel_m", "spring_force_n",
		"cylinder_pressure_pa", "barrel_pressure_pa", "pellet_travel_m", "pellet_speed_m_s"}, rows[0])
	courses := map[string]int{}
	for _, row := range rows[1:] {
		courses[row[0]]++
	}
	assert.GreaterOrEqual(t, courses["first shot"], 1001)
	assert.GreaterOrEqual(t, courses["steady cycle"], 1001)
	assert.Len(t, courses, 2)
}

func TestConditions(t *testing.T) {
	b := document(t, "").Build
	base := simulate(t, b)
	with := func(k cycle.Conditions) *cycle.Result {
		r, err := cycle.Simulate(context.Background(), b, cycle.Settings{Conditions: k})
		require.NoError(t, err)
		return r
	}
	assert.Equal(t, figures(base)["Period"], with(cycle.Conditions{Winding: b.Ambient.Temperature}).Summary.Period, "zero is ambient")
	hot := with(cycle.Conditions{Winding: 393.15})
	assert.InEpsilon(t, 1.393, hot.Motor.Resistance/base.Motor.Resistance, 1e-12)
	assert.Less(t, hot.Summary.RateOfFire, base.Summary.RateOfFire)
	assert.Less(t, with(cycle.Conditions{Spent: 0.5}).Summary.RateOfFire, base.Summary.RateOfFire)
	assert.Less(t, with(cycle.Conditions{V1: 0.2}).Summary.RateOfFire, base.Summary.RateOfFire, "a pack that is not rested")
	assert.Less(t, with(cycle.Conditions{Advance: 2}).Summary.ReleaseTime, base.Summary.ReleaseTime)
}

func TestSimulateRefuses(t *testing.T) {
	ctx := context.Background()
	_, err := cycle.Simulate(ctx, &drivetrain.Build{}, cycle.Settings{})
	assert.ErrorContains(t, err, "motor.armature.turns")
	assert.ErrorContains(t, err, "gears.ratio")
	for _, s := range []cycle.Settings{
		{Tolerance: math.NaN()}, {Tolerance: -1}, {Tolerance: 1},
		{Conditions: cycle.Conditions{Winding: math.Inf(1)}}, {Conditions: cycle.Conditions{Spent: 2}},
	} {
		_, err = cycle.Simulate(ctx, document(t, "").Build, s)
		assert.ErrorContains(t, err, "is out of range")
	}
	_, err = cycle.Simulate(ctx, document(t, "").Build, cycle.Settings{Conditions: cycle.Conditions{Advance: -0.1}})
	assert.ErrorContains(t, err, "wanted a start within the lobe, from 0.0° to 360.0°")
	stopped, stop := context.WithCancel(ctx)
	stop()
	_, err = cycle.Simulate(stopped, document(t, "").Build, cycle.Settings{})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestWarnings(t *testing.T) {
	for _, c := range []struct {
		code      string
		weight    finding.Weight
		overrides []string
	}{
		{"stall", finding.Fault, []string{"spring.rate=2400 N/m"}},
		{"slot-fill", finding.Caution, []string{"motor.armature.wire=0.8 mm"}},
		{"pack-rating", finding.Caution, []string{"battery.discharge_rating=5"}},
		{"pack-inrush", finding.Caution, nil},
		{"cut-off", finding.Caution, []string{"battery.resistance=40 mohm"}},
		{"fuse-rating", finding.Fault, []string{"harness.fuse.rating=10 A"}},
		{"spring-solid", finding.Fault, []string{"spring.wire=1.3 mm", "spring.coil_diameter=11.8 mm", "spring.coils=60", "spring.free_length=150 mm", "spring.installed_length=115 mm"}},
		{"demagnetisation", finding.Caution, []string{"motor.stator.magnet.coercivity=400 kA/m"}},
		{"premature-engagement", finding.Fault, []string{"battery.series=3"}},
		{"piston-not-home", finding.Fault, []string{"spring.rate=40 N/m", "piston.drag=30 N"}},
		{"pellet-stuck", finding.Fault, []string{"pellet.hop_force=200 N"}},
		{"cell-curve", finding.Caution, []string{"battery.chemistry=lithium-iron-phosphate"}},
	} {
		t.Run(c.code, func(t *testing.T) {
			var d *buildfile.Document
			if c.code == "spring-solid" {
				d = document(t, "")
				d.Build.Spring = drivetrain.Spring{Wire: 1.3e-3, CoilDiameter: 11.8e-3, Coils: 60, Modulus: drivetrain.MusicWireModulus, FreeLength: 0.150, InstalledLength: 0.115}
			} else {
				d = document(t, "", c.overrides...)
			}
			for _, w := range simulate(t, d.Build).Warnings {
				if w.Code == c.code {
					assert.Equal(t, c.weight, w.Weight)
					assert.NotEmpty(t, w.Keys)
					assert.Contains(t, w.Text, ":", "cause: cure")
					return
				}
			}
			t.Fatalf("no warning %s", c.code)
		})
	}
}

func BenchmarkSimulate(b *testing.B) {
	build := document(b, "").Build
	evaluations := 0
	for b.Loop() {
		r, err := cycle.Simulate(context.Background(), build, cycle.Settings{})
		if err != nil {
			b.Fatal(err)
		}
		evaluations = r.Stats.Evaluations
	}
	b.ReportMetric(float64(evaluations), "evaluations")
}

func ExampleSimulate() {
	r, err := cycle.Simulate(context.Background(), buildfile.Demo(), cycle.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	s := &r.Summary
	fmt.Printf("%s: %.1f rounds a second, %.1f A mean, %.1f A inrush\n", r.Status, s.RateOfFire, s.CurrentMean, s.Inrush)
	// Output: steady: 22.0 rounds a second, 15.4 A mean, 75.3 A inrush
}

// A build made in Go, without any file.
func ExampleSimulate_withoutFile() {
	magnet := motor.SinteredNdFeB()
	magnet.Thickness, magnet.Arc = 2e-3, 2*math.Pi/3
	rotor := motor.NewArmature(3, 22, 0.75e-3)
	rotor.RotorDiameter, rotor.StackLength, rotor.SlotOpening, rotor.ToothWidth = 15.2e-3, 22e-3, 2e-3, 4.4e-3
	rotor.MeanTurn, rotor.Inertia = 76e-3, 12e-7
	mosfet := harness.NewMOSFET(2e-3)
	sector := drivetrain.NewSector(1e-3, 16, 24)
	sector.Removed = 1
	build := drivetrain.Build{
		Name:    "Woodland spare",
		Motor:   motor.New(motor.NewStator(magnet, 0.4e-3), rotor),
		Battery: battery.New(battery.LithiumPolymer, 2, 1, 1.3*3600, 9e-3),
		Harness: harness.Harness{
			Lead:       harness.NewLead(wire.Area(wire.Diameter(16)), 0.6),
			Connectors: []harness.Connector{harness.NewConnector(0.8e-3)},
			Switch:     harness.Switch{MOSFET: &mosfet},
		},
		Gears:    drivetrain.NewGears(12.5),
		Sector:   sector,
		Piston:   drivetrain.NewPiston(26e-3),
		Spring:   drivetrain.NewSpring(680, 45e-3),
		Cylinder: drivetrain.NewCylinder(23.8e-3),
		Barrel:   drivetrain.NewBarrel(6.05e-3, 0.37),
		Pellet:   drivetrain.NewPellet(0.20e-3),
		Ambient:  drivetrain.StandardAmbient(),
	}
	build.Trigger = drivetrain.NewTrigger(&build)
	r, err := cycle.Simulate(context.Background(), &build, cycle.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f rounds a second, %.0f A inrush\n", r.Summary.RateOfFire, r.Summary.Inrush)
	// Output: 24.3 rounds a second, 95 A inrush
}
