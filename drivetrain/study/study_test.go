package study_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/drivetrain/study"
)

func read(t testing.TB, overrides ...string) *buildfile.Document {
	t.Helper()
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	return d
}

func examine(t testing.TB, d *buildfile.Document) *study.Examination {
	t.Helper()
	x, err := study.Examine(context.Background(), d.Build, d.Target, cycle.Settings{})
	require.NoError(t, err)
	return x
}

// Each finding of a build has a build that has it and a neighbour, one value away,
// that hasn't.
func TestFindings(t *testing.T) {
	bench := `motor.bench={voltage: 7.40 V, no_load_speed: 15300 rpm, no_load_current: 1.9 A, stall_current: 88 A, inertia: 12 g cm2}`
	wire := []string{"spring.wire=1.3 mm", "spring.coil_diameter=11.8 mm", "spring.coils=36", "spring.free_length=150 mm", "spring.installed_length=105 mm"}
	few := []string{
		"sector={module: 1.08 mm, teeth: 8, full_teeth: 15, removed: 1, pressure_angle: 25.2 deg, addendum: 0.855}",
		"rack={teeth: 9, pickup_offset: 1.97 mm, addendum: 0.908 mm, tip_clearance: 0.315 mm, backlash: 0 mm}",
		"piston.spacer=0.9 mm", "cylinder.port=",
	}
	cases := []struct {
		code string
		with []string // what the build has that has it
		has  string   // and what makes it have it
		not  string   // and what of the neighbour
	}{
		{"stall", nil, "spring.rate=4000 N/m", "spring.rate=1000 N/m"},
		{"no-start", []string{"motor.stator.brush.drop=2 V", "battery.chemistry=nickel-metal-hydride"}, "battery.series=1", "battery.series=6"},
		{"no-release", []string{"trigger.mode=single"}, "trigger.cutoff=40 deg", "trigger.cutoff=250 deg"},
		{"second-shot", []string{"trigger.mode=single", "battery.series=3"}, "motor.armature.inertia=200 g cm2", "motor.armature.inertia=12 g cm2"},
		{"too-few-shots", []string{"trigger.rounds=3", "gears.ratio=18"}, "trigger.cutoff=1 deg", "trigger.cutoff=250 deg"},
		{"hunts", []string{"motor.commutation=0 %"}, "motor.armature.inductance=100 mH", "motor.armature.inductance=50 uH"},
		{"premature-engagement", nil, "battery.series=3", "battery.series=2"},
		{"piston-not-home", []string{"spring.rate=40 N/m"}, "piston.drag=30 N", "piston.drag=0.1 N"},
		{"pellet-stuck", nil, "pellet.hop_force=200 N", "pellet.hop_force=2 N"},
		{"spring-solid", wire, "spring.coils=40", "spring.coils=36"},
		{"fuse-rating", nil, "harness.fuse.rating=10 A", "harness.fuse.rating=20 A"},
		{"pack-empty", []string{"trigger.rounds=30", "battery.capacity=100 mAh"}, "battery.state_of_charge=4 %", "battery.state_of_charge=90 %"},
		{"blocked", nil, "piston.spacer=2.5 mm", "piston.spacer=0 mm"},
		{"land", []string{"rack.taken_down="}, "rack.pickup_offset=7.6 mm", "rack.pickup_offset=4 mm"},
		{"missed", nil, "rack.pickup_offset=9 mm", "rack.pickup_offset=4 mm"},
		{"drive-lost", []string{"rack.pickup_offset=0 mm"}, "rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 3, depth: 2.25 mm}, {tooth: 4, depth: 2.25 mm}, {tooth: 5, depth: 0.6 mm}]", "rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 3, depth: 2.25 mm}, {tooth: 4, depth: 2.25 mm}, {tooth: 5, depth: 0.4 mm}]"},
		{"caught", []string{"rack.teeth=22", "sector.teeth=22"}, "sector.removed=0", "sector.removed=6"},
		{"tips-strike", few, "rack.taken_down=[{tooth: 2, depth: 2.0 mm}, {tooth: 4, depth: 1.9 mm}, {tooth: 5, depth: 1.65 mm}]", "rack.taken_down=[{tooth: 2, depth: 2.0 mm}]"},
		{"rack-corner", nil, "rack.pickup_offset=3.2 mm", "rack.pickup_offset=1 mm"},
		{"sector-corner", nil, "rack.pickup_offset=-2.7 mm", "rack.pickup_offset=-1 mm"},
		{"shallow-contact", nil, "rack.pickup_offset=2.6 mm", "rack.pickup_offset=0.5 mm"},
		{"drive-slip", []string{"rack.pickup_offset=0 mm"}, "rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 3, depth: 2.25 mm}, {tooth: 4, depth: 2.25 mm}, {tooth: 5, depth: 0.4 mm}]", "rack.taken_down=[{tooth: 2, depth: 2.25 mm}]"},
		{"pickup-tooth", nil, "rack.material=polymer", "rack.material=steel"},
		{"release-tooth", nil, "rack.strength=20 MPa", "rack.strength=120 MPa"},
		{"spring", wire, "spring.coils=15", "spring.coils=36"},
		{"slot-fill", nil, "motor.armature.wire=0.8 mm", "motor.armature.wire=0.6 mm"},
		{"cell-curve", nil, "battery.chemistry=lithium-iron-phosphate", "battery.chemistry=lithium-polymer"},
		{"pack-rating", nil, "battery.discharge_rating=5", "battery.discharge_rating=25"},
		{"pack-inrush", nil, "battery.discharge_rating=25", "battery.discharge_rating=80"},
		{"cut-off", nil, "battery.resistance=40 mohm", "battery.resistance=9 mohm"},
		{"demagnetisation", nil, "motor.stator.magnet.coercivity=400 kA/m", "motor.stator.magnet.coercivity=955 kA/m"},
		{"held-demagnetisation", nil, "motor.stator.magnet.coercivity=400 kA/m", "motor.stator.magnet.coercivity=1500 kA/m"},
		{"rounds-ignored", []string{"trigger.mode=single"}, "trigger.rounds=3", "trigger.rounds="},
		{"target", nil, "target.rate_of_fire.min=30 /s", "target.rate_of_fire.min=20 /s"},
		{"muzzle-energy", nil, "target.muzzle_energy.max=1.3 J", "target.muzzle_energy.max=1.6 J"},
		{"motor-speed", nil, "motor.armature.turns=8", "motor.armature.turns=28"},
		{"no-load-current", nil, "motor.drag.constant=60 mN m", "motor.drag.constant=10 mN m"},
		{"rate-of-fire", []string{"battery.series=4"}, "gears.ratio=4", "gears.ratio=18"},
		{"port-behind-stroke", nil, "cylinder.port=60 mm", "cylinder.port=36 mm"},
		{"close-margin", nil, closeRatio(t), "gears.ratio=20"},
		{"piston-impact", []string{"gears.ratio=40", "pellet.hop_force=0 N", "piston.drag=0 N", "spring.rate=3000 N/m"}, "cylinder.nozzle=12 mm", "cylinder.nozzle=1 mm"},
		{"engaged-angle", nil, "sector.engaged_angle=4.36 rad", "sector.engaged_angle=4.40 rad"},
		{"fill-unchecked", nil, "motor.armature.slot_area=", "motor.armature.slot_area=45 mm2"},
		{"magnets-unchecked", nil, "motor.stator.magnet.coercivity=", "motor.stator.magnet.coercivity=955 kA/m"},
		{"magnets-unchecked", nil, bench, "motor.armature.turns=28"},
		{"fill-unchecked", nil, bench, "motor.armature.turns=28"},
		{"pack-unchecked", nil, "battery.discharge_rating=", "battery.discharge_rating=25"},
		{"contact-unchecked", nil, "rack.pickup_offset=", "rack.pickup_offset=2 mm"},
		{"port-unchecked", nil, "cylinder.port=", "cylinder.port=36 mm"},
		{"connectors-unchecked", nil, "harness.connectors=", "harness.connectors.0.resistance=1 mohm"},
		{"fuse-unchecked", nil, "harness.fuse=", "harness.fuse.rating=25 A"},
	}
	covered := map[string]bool{}
	for _, c := range cases {
		covered[c.code] = true
		t.Run(c.code, func(t *testing.T) {
			has := examine(t, read(t, append(slices.Clone(c.with), c.has)...))
			require.True(t, has.Findings.Has(c.code), "%s: %v", c.has, codes(has.Findings))
			not := examine(t, read(t, append(slices.Clone(c.with), c.not)...))
			assert.False(t, not.Findings.Has(c.code), c.not)
			for _, f := range has.Findings {
				if f.Code == c.code {
					assert.Equal(t, finding.WeightOf(c.code), f.Weight)
					assert.NotEmpty(t, f.Keys)
					assert.NotContains(t, f.Text, "NaN")
				}
			}
		})
	}
	for _, code := range told(t, "../cycle", "../pickup", ".") {
		assert.True(t, covered[code] || code == "spring-binds", "no build shows %s", code)
	}
}

// closeRatio returns the ratio that leaves a quarter of a millisecond of margin.
func closeRatio(t *testing.T) string {
	set := func(ratio float64) string { return fmt.Sprintf("gears.ratio=%.9g", ratio) }
	lo, hi := 6., 20.
	for range 40 {
		middle := (lo + hi) / 2
		if examine(t, read(t, set(middle))).Cycle.Summary.PMEMargin < 0.25e-3 {
			lo = middle
		} else {
			hi = middle
		}
	}
	return set(hi)
}

// told lists the codes that the sources of rooms speak of.
func told(t *testing.T, rooms ...string) (all []string) {
	call := regexp.MustCompile(`\b(?:tell|missing|add|safety|warn|ends|New)\("([a-z-]+)", `)
	for _, room := range rooms {
		paths, err := filepath.Glob(filepath.Join(room, "*.go"))
		require.NoError(t, err)
		for _, path := range paths {
			if strings.HasSuffix(path, "_test.go") {
				continue
			}
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			for _, m := range call.FindAllStringSubmatch(string(text), -1) {
				all = append(all, m[1])
			}
		}
	}
	require.Greater(t, len(all), 15, "the test must see the codes")
	return all
}

func codes(l finding.List) (all []string) {
	for _, f := range l {
		all = append(all, f.Code)
	}
	return all
}

// Of random builds in automatic, cycle and pickup have the same stroke, velocity and
// rate of fire to the last digit, whether the stroke is that of the teeth or a measured
// one.
func TestOneStroke(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 2))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	ctx, met, fired := context.Background(), 0, 0
	for range effort.Of(60) {
		b := *buildfile.Demo()
		rack := *b.Rack
		offset := between(-1e-3, 4e-3)
		rack.PickupOffset, rack.Lift, rack.TakenDown = &offset, between(0, 0.2e-3), nil
		b.Rack = &rack
		b.Sector.Teeth = 14 + rng.IntN(4)
		b.Sector.Removed = rng.IntN(4)
		rack.Teeth = b.Sector.Teeth
		if rng.IntN(3) == 0 {
			b.Sector.EngagedAngle = between(3.4, 4.4)
		}
		b.Piston.Spacer = between(0, 1.5e-3)
		b.Gears.Ratio = between(8, 16)
		b.Battery.Series = 2 + rng.IntN(2)
		b.Spring.Rate = between(400, 1200)
		c, err := cycle.Simulate(ctx, &b, cycle.Settings{})
		require.NoError(t, err)
		l, err := pickup.Stand(&b)
		if err != nil { // the pickup tooth is missed
			continue
		}
		met++
		s, err := l.Fire(ctx, pickup.Settings{})
		require.NoError(t, err)
		same := func(what string, a, b float64) {
			t.Helper()
			assert.True(t, a == b || math.IsNaN(a) && math.IsNaN(b), "%s: %v in cycle, %v in pickup", what, a, b)
		}
		same("stroke", c.Summary.Stroke, s.Stroke)
		same("stroke of its cycle", c.Summary.Stroke, s.Cycle.Summary.Stroke)
		same("muzzle velocity", c.Summary.MuzzleVelocity, s.Cycle.Summary.MuzzleVelocity)
		same("rate of fire", c.Summary.RateOfFire, s.Cycle.Summary.RateOfFire)
		same("margin", c.Summary.PMEMargin, s.Cycle.Summary.PMEMargin)
		if b.Sector.EngagedAngle == 0 && !s.HandOver.Lost {
			assert.InDelta(t, s.HandOver.Stroke, s.Stroke, 1e-12, "the hand-over ends where the release is")
		}
		if c.Status == cycle.Steady {
			fired++
		}
	}
	assert.Greater(t, met, effort.Seen(40))
	assert.Greater(t, fired, effort.Seen(30))
}

// What a firing plan shows is added to what is known of the build, with more weight
// where the plan ends early.
func TestPlanAddsToTheFindings(t *testing.T) {
	d := read(t, "battery.capacity=120 mAh", "battery.state_of_charge=12 %")
	x := examine(t, d)
	r, err := heat.Simulate(context.Background(), d.Build, &heat.Plan{Name: "all of it", Repeat: 1, Steps: []heat.Step{{Rounds: 400, Repeat: 1}}}, heat.Settings{})
	require.NoError(t, err)
	require.Equal(t, heat.CutOff, r.Status)
	s, err := heat.FindStalled(context.Background(), d.Build)
	require.NoError(t, err)
	all := x.With(r, s)
	for _, f := range all {
		if f.Code == "cut-off" {
			assert.Equal(t, finding.Fault, f.Weight, "in a plan it ends the firing")
			assert.Contains(t, f.Text, "rounds")
		}
	}
	assert.True(t, all.Has("cut-off"))
	for _, f := range x.Findings {
		assert.True(t, all.Has(f.Code), f.Code)
	}
}

// A motor that no current reaches doesn't stall as well: one cause, one fault.
func TestNoStartIsOneFault(t *testing.T) {
	x := examine(t, read(t, "motor.stator.brush.drop=2 V", "battery.chemistry=nickel-metal-hydride", "battery.series=1"))
	require.NotNil(t, x.Pickup)
	assert.Equal(t, []string{"no-start"}, codes(x.Findings.Of(finding.Fault)))
}
