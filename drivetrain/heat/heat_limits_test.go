package heat_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/heat"
)

// What the network stores and gives off is what the rounds and the relaxing pack put
// in, to 1e-6, whatever build and plan: with packs swapped while warm, a lead without
// jacket, without leads, and many connectors.
func TestEnergy(t *testing.T) {
	swaps := &heat.Plan{Name: "swaps", Ambient: 260, Repeat: 2, Steps: []heat.Step{{30, 3, 4, true}, {1, 0, 20, false}, {0, 200, 1, false}, {5, 0.5, 6, true}}}
	for _, c := range []struct {
		name  string
		build *buildfile.Document
		plan  *heat.Plan
	}{
		{"demo", demo(t), buildfile.DemoPlan()},
		{"packs swapped in the cold", demo(t), swaps},
		{"contacts, parallel cells", read(t, "ferrite.yaml"), swaps},
		{"two lobes", read(t, "two-lobe.yaml"), swaps},
		{"bare lead, three connectors", demo(t, "harness.lead.wall=0 mm", "harness.connectors=[{resistance: 1 mohm}, {resistance: 9 mohm}, {resistance: 0 mohm}]"), swaps},
		{"no lead, no connector, no fuse", demo(t, "harness.lead.length=0 mm", "harness.connectors=", "harness.fuse="), swaps},
		{"thin jacket", demo(t, "harness.lead.wall=0.01 mm"), swaps},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, settings := range []heat.Settings{{}, {RoundByRound: true}} {
				r := simulate(t, c.build, c.plan, settings)
				require.Positive(t, r.Balance.In)
				assert.InDelta(t, 0, r.Balance.Residual, 1e-6*r.Balance.In)
				assert.InDelta(t, r.Balance.In, r.Balance.Stored+r.Balance.Off, 1e-6*r.Balance.In)
			}
		})
	}
}

// What goes in is the single shot's ledger, of which an independent program has
// computed the rows, and what the pack's RC pairs held when they relax (B4).
func TestWhatGoesIn(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(reference, "demo-single.json"))
	require.NoError(t, err)
	var single struct {
		Ledger map[string]float64 `json:"ledger_j"`
	}
	require.NoError(t, json.Unmarshal(data, &single))
	rows := 0.
	for _, row := range []string{"winding", "brush", "motor_drag", "pack", "leads", "connectors", "switch"} {
		require.Positive(t, single.Ledger[row], row)
		rows += single.Ledger[row]
	}
	d := demo(t)
	shot := simulate(t, d, once(1, 0, 1, false), heat.Settings{})
	assert.InEpsilon(t, rows, shot.Balance.In, 1e-6)
	rested := simulate(t, d, once(1, 1e5, 1, false), heat.Settings{})
	r, err := cycle.Fire(context.Background(), d.Build, cycle.RoundStart{Kind: cycle.Lone}, 1e-9)
	require.NoError(t, err)
	cell, err := d.Build.Battery.Cell()
	require.NoError(t, err)
	c := d.Build.Battery.Circuit(cell, 0.9-r.Spent, shot.End[len(shot.End)-1].Temperature)
	held := (c.C1*r.V1*r.V1 + c.C2*r.V2*r.V2) / 2
	require.Positive(t, held)
	assert.InEpsilon(t, held, rested.Balance.In-shot.Balance.In, 1e-4)
}

// A plan at rest returns to ambient, and one that never fires stays there.
func TestRest(t *testing.T) {
	p := &heat.Plan{Name: "rest", Repeat: 1, Steps: []heat.Step{{40, 0, 5, true}, {0, 12 * 3600, 1, false}}}
	r := simulate(t, demo(t), p, heat.Settings{})
	assert.Greater(t, celsius(r.Part(heat.Winding).Peak), 28.)
	for _, n := range r.End {
		assert.InDelta(t, 20, celsius(n.Temperature), 1e-4, n.Name)
	}
	assert.InDelta(t, 0, r.Balance.Stored, 1e-2)
	none := simulate(t, demo(t), &heat.Plan{Repeat: 3, Ambient: 300, Steps: []heat.Step{{0, 100, 2, true}}}, heat.Settings{})
	assert.Equal(t, 600., none.Duration)
	assert.Zero(t, none.Balance.In)
	for _, part := range none.Parts {
		assert.Equal(t, 300., part.Peak)
		assert.Zero(t, part.PeakAt)
	}
	assert.True(t, math.IsNaN(none.RateFirst) && math.IsNaN(none.ReleaseFirst) && math.IsNaN(none.RoundsPerCharge) && math.IsNaN(none.PackCurrent))
}

// The time of a limit lies where the part has that temperature, inside a round or a
// pause, with the number of the round or of the one before; and the peak is the
// highest of the course.
func TestLimitsAndPeaks(t *testing.T) {
	p := &heat.Plan{Name: "two bursts", Repeat: 1, Steps: []heat.Step{{40, 400, 1, false}, {2, 5, 1, false}}}
	r := simulate(t, demo(t), p, heat.Settings{RoundByRound: true, Trace: true})
	// The can is warmest in the first pause, some time behind the burst.
	can := r.Part(heat.Magnets)
	assert.Greater(t, can.PeakAt, 5.)
	assert.Less(t, can.PeakAt, 300.)
	for i := range r.Parts[:len(r.Parts)-1] {
		highest := 0.
		for _, v := range r.Course.Temperatures[i] {
			highest = max(highest, v)
		}
		assert.GreaterOrEqual(t, r.Parts[i].Peak, highest-1e-9, r.Parts[i].Name)
		assert.InDelta(t, highest, r.Parts[i].Peak, 2e-3, r.Parts[i].Name)
	}
	sw := r.Course.Temperatures[5]
	assert.Equal(t, heat.Switch, r.Course.Names[5])
	for _, n := range r.End {
		if n.Name == "switch" {
			assert.InDelta(t, n.Temperature, sw[len(sw)-1], 1e-9, "in a pause the switch is as warm as its node")
		}
	}
	between := func(part string, limit float64) (from, to float64, round int) {
		c := r.Course
		for i, name := range c.Names {
			for k := range c.Times {
				if name == part && c.Temperatures[i][k] >= limit {
					at := k
					if c.Times[k] == c.Times[k-1] { // the jump at a round's start, which is counted at its end
						at++
					}
					return c.Times[k-1], c.Times[k], c.Rounds[at]
				}
			}
		}
		t.Fatal("never")
		return 0, 0, 0
	}
	for _, c := range []struct {
		name, set, part string
		limit           float64
	}{
		{"inside a round", "motor.heat.limit=21.7 degC", heat.Winding, zero + 21.7},
		{"inside a pause", "motor.stator.magnet.limit=20.6 degC", heat.Magnets, zero + 20.6},
		{"at the start of a round", "harness.switch.mosfet.limit=24 degC", heat.Switch, zero + 24},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := simulate(t, demo(t, c.set), p, heat.Settings{RoundByRound: true})
			part := got.Part(c.part)
			assert.Equal(t, c.part, got.FirstOut)
			from, to, round := between(c.part, c.limit)
			assert.GreaterOrEqual(t, part.LimitAt, from-1e-9)
			assert.LessOrEqual(t, part.LimitAt, to+1e-9)
			assert.EqualValues(t, round, part.RoundsToLimit)
			assert.Equal(t, r.Duration, got.Duration, "a part over its limit does not end the plan")
		})
	}
	pause := simulate(t, demo(t, "motor.stator.magnet.limit=20.6 degC"), p, heat.Settings{})
	assert.EqualValues(t, 40, pause.Part(heat.Magnets).RoundsToLimit, "the round before the pause")
	// Ties go by the order of the list, and what is at its limit before the first
	// round has no round.
	hot := simulate(t, demo(t, "motor.heat.limit=20 degC", "battery.heat.limit=20 degC"), p, heat.Settings{})
	assert.Equal(t, heat.Winding, hot.FirstOut)
	assert.Zero(t, hot.Part(heat.Pack).LimitAt)
	assert.Zero(t, hot.Part(heat.Pack).RoundsToLimit)
}

// The ends of a plan (G7).
func TestOutcomes(t *testing.T) {
	plan := once(30, 2, 10, false)
	cut := simulate(t, demo(t, "battery.state_of_charge=6 %"), plan, heat.Settings{})
	assert.Equal(t, heat.CutOff, cut.Status)
	assert.Less(t, cut.Rounds, 300)
	assert.Greater(t, cut.Rounds, 0)
	// It ends with the first round behind which the loaded voltage is below: a tenth
	// of a volt a cell less goes on for longer.
	assert.Less(t, cut.Rounds, simulate(t, demo(t, "battery.state_of_charge=6 %", "battery.cutoff=2.9 V"), plan, heat.Settings{}).Rounds)
	loaded, err := cycle.Fire(context.Background(), demo(t).Build, cycle.RoundStart{Kind: cycle.Lone}, 1e-9)
	require.NoError(t, err)
	b := demo(t).Build
	cell, err := b.Battery.Cell()
	require.NoError(t, err)
	volts := (b.Battery.OCV(cell, 0.9-loaded.Spent) - loaded.V1 - loaded.V2 - b.Battery.Circuit(cell, 0.9, b.Ambient.Temperature).R0*loaded.Charge/loaded.Closed) / 2
	for limit, outcome := range map[float64]heat.Status{volts - 1e-4: heat.Done, volts + 1e-4: heat.CutOff} {
		c := *b
		c.Battery.Cutoff = limit
		r, err := heat.Simulate(context.Background(), &c, once(1, 0, 1, false), heat.Settings{})
		require.NoError(t, err)
		assert.Equal(t, outcome, r.Status)
		assert.Equal(t, 1, r.Rounds, "that round is fired")
	}
	empty := simulate(t, demo(t, "battery.state_of_charge=1 %", "battery.cutoff=0 V"), plan, heat.Settings{})
	assert.Equal(t, heat.Empty, empty.Status)
	assert.LessOrEqual(t, empty.Charge, 0.)
	stall := simulate(t, demo(t, "spring.rate=2400 N/m"), plan, heat.Settings{})
	assert.Equal(t, heat.Stall, stall.Status)
	assert.Zero(t, stall.Rounds)
	assert.Zero(t, stall.Balance.In, "a round that stalls isn't booked")
	assert.Zero(t, stall.Duration)

	blown := simulate(t, demo(t, "harness.fuse={rating: 11 A, melting: 121 A2 s}"), plan, heat.Settings{RoundByRound: true, Trace: true})
	assert.Equal(t, heat.FuseBlown, blown.Status)
	assert.Equal(t, heat.Fuse, blown.FirstOut)
	fuse := blown.Part(heat.Fuse)
	assert.Equal(t, blown.Duration, fuse.LimitAt, "at the instant")
	assert.InDelta(t, 419.5, celsius(fuse.Peak), 1e-9)
	assert.EqualValues(t, blown.Rounds+1, fuse.RoundsToLimit, "that round isn't counted")
	assert.Less(t, blown.Course.Times[len(blown.Course.Times)-2], blown.Duration)
	assert.True(t, math.IsNaN(blown.RateFirst) == (blown.Rounds < 2))

	fresh := simulate(t, demo(t, "battery.state_of_charge=8 %"), once(12, 2, 40, true), heat.Settings{})
	assert.Equal(t, heat.Done, fresh.Status, "a fresh pack each time")
	assert.Equal(t, 480, fresh.Rounds)

	for _, r := range []*heat.Result{cut, empty, stall, blown} {
		assert.True(t, finding.Join(r.Warnings).Broken(), "a plan that ends early is a fault: %s", r.Status)
	}
	assert.False(t, finding.Join(fresh.Warnings).Broken(), "and one that goes through is none: %v", fresh.Warnings)
	hot := simulate(t, demo(t, "motor.heat.limit=30 degC"), plan, heat.Settings{})
	require.Equal(t, heat.Done, hot.Status)
	assert.True(t, finding.Join(hot.Warnings).Broken(), "but a part at its limit is")
}

// Releases count, not pulls of the trigger (G4).
func TestRounds(t *testing.T) {
	over := simulate(t, read(t, "ferrite.yaml"), once(1, 1, 1, false), heat.Settings{})
	assert.Equal(t, 2, over.Rounds, "the train runs on")
	assert.Equal(t, 1, over.Asked)
	assert.True(t, math.IsNaN(over.RateFirst), "it is no pull of two rounds")
	early := simulate(t, demo(t, "trigger.cutoff=60 deg"), once(1, 1, 1, false), heat.Settings{})
	assert.Zero(t, early.Rounds)
	assert.Equal(t, heat.Done, early.Status)
	assert.True(t, math.IsNaN(early.ReleaseFirst))
	assert.Positive(t, early.Balance.In)
	// The mode of the trigger is ignored, and so is its burst.
	a, b := simulate(t, demo(t), once(3, 1, 2, false), heat.Settings{}), simulate(t, demo(t, "trigger.mode=single", "trigger.rounds=7"), once(3, 1, 2, false), heat.Settings{})
	assert.Equal(t, a.Rounds, b.Rounds)
	assert.Equal(t, a.Balance, b.Balance)
	repeated := &heat.Plan{Repeat: 2, Steps: []heat.Step{{3, 1, 1, false}}}
	assert.Equal(t, a.Balance, simulate(t, demo(t), repeated, heat.Settings{}).Balance)
}

// Contacts by Holm and a MOSFET's junction, from the figures of one shot (C4, C5).
func TestSwitches(t *testing.T) {
	mosfet := simulate(t, demo(t), once(1, 0, 1, false), heat.Settings{})
	r := 1.95e-3 // at 20 °C
	assert.InEpsilon(t, r*mosfet.PeakCurrent, mosfet.Switching.Voltage, 1e-9)
	assert.InDelta(t, 20+r*mosfet.PeakCurrent*mosfet.PeakCurrent, celsius(mosfet.Switching.Hottest), 1e-6)
	assert.GreaterOrEqual(t, mosfet.Part(heat.Switch).Peak, mosfet.Switching.Hottest, "held for the round, while the case warms")

	d := demo(t, "harness.switch.contacts={material: copper, force: 0.4 N}")
	c := simulate(t, d, once(1, 0, 1, false), heat.Settings{})
	s := &c.Switching
	assert.InEpsilon(t, 1./58e6/2*math.Sqrt(math.Pi*0.9e9/0.4)*c.PeakCurrent, s.Voltage, 1e-9)
	assert.InEpsilon(t, math.Sqrt(293.15*293.15+s.Voltage*s.Voltage/(4*2.443e-8)), s.Hottest, 1e-9)
	assert.InEpsilon(t, .4144, s.Melting, 1e-3, "copper melts at .4144 V from 20 °C (Holm, from memory)")
	assert.InEpsilon(t, s.BreakEnergy*13/(13-s.Drive), s.Arc, 1e-9)
	one, err := heat.FindSwitching(context.Background(), d.Build)
	require.NoError(t, err)
	assert.Equal(t, *s, one)
	assert.Greater(t, one.Loss, one.Conduction)

	assert.Equal(t, 2., heat.ArcEnergy(1, 6, 12))
	assert.Equal(t, 1., heat.ArcEnergy(1, 0, 12), "nothing drives it")
	assert.Less(t, heat.ArcEnergy(1, -12, 12), 1., "a back-EMF above the pack's voltage puts it out")
	assert.True(t, math.IsInf(heat.ArcEnergy(1, 12, 12), 1), "it stands")
	for _, m := range harness.ContactMetals() {
		assert.InDelta(t, map[string]float64{"copper": 13, "silver": 11.75}[m.Name], m.ArcVoltage, 1.5, "least arc in air: silver by a secondary source, copper from memory")
	}
}

// What warms has less remanence, a winding warmed has more resistance, and so the gun
// slows; more of what heats gives more heat.
func TestTrends(t *testing.T) {
	peak := func(part string, overrides ...string) float64 {
		r := simulate(t, demo(t, overrides...), once(100, 2, 4, true), heat.Settings{})
		return r.Part(part).Peak
	}
	for _, c := range []struct{ part, hotter string }{
		{heat.Winding, "motor.heat.winding=6 J/K"}, {heat.Winding, "gears.ratio=9"}, {heat.Magnets, "motor.heat.can=20 J/K"},
		{heat.Leads, "harness.lead.gauge=20 AWG"}, {heat.Leads, "harness.lead.emissivity=0 %"}, {heat.Connectors, "harness.connectors.0.resistance=8 mohm"},
		{heat.Switch, "harness.switch.mosfet.resistance=6 mohm"}, {heat.Pack, "battery.resistance=20 mohm"}, {heat.Fuse, "harness.fuse.melting=300 A2 s"},
	} {
		assert.Greater(t, peak(c.part, c.hotter), peak(c.part)+1e-3, "%s with %s", c.part, c.hotter)
	}
	r := simulate(t, demo(t), once(100, 2, 4, true), heat.Settings{})
	assert.Less(t, r.RateLast, r.RateFirst)
	assert.InEpsilon(t, 0.0012*(r.Part(heat.Magnets).Peak-293.15), r.Remanence, 1e-9)
	strong := simulate(t, demo(t, "motor.stator.magnet.coercivity=1600 kA/m"), once(1, 0, 1, false), heat.Settings{})
	weak := simulate(t, demo(t), once(1, 0, 1, false), heat.Settings{})
	assert.Greater(t, strong.DemagnetisationMargin, weak.DemagnetisationMargin)
	assert.InDelta(t, 423.15, strong.Part(heat.Magnets).Limit, 1e-9, "from 1592 kA/m on 150 °C (from memory)")
	for class, limit := range map[string]float64{"A": 105, "E": 120, "B": 130, "F": 155, "H": 180} { // IEC 60085
		d := demo(t, "motor.heat.limit=", "motor.heat.class="+class)
		assert.InDelta(t, limit, celsius(simulate(t, d, once(1, 0, 1, false), heat.Settings{}).Part(heat.Winding).Limit), 1e-9)
	}
}

// A build made in Go with nothing but what heat needs.
func TestLimitsUnknown(t *testing.T) {
	b := *demo(t).Build
	b.Motor.Heat.Limit, b.Motor.Stator.Magnet.Limit, b.Motor.Stator.Brush.Limit = 0, 0, 0
	b.Battery.Heat.Limit, b.Harness.Lead.Limit = 0, 0
	r, err := heat.Simulate(context.Background(), &b, once(3, 1, 2, false), heat.Settings{})
	require.NoError(t, err)
	assert.InDelta(t, 155, celsius(r.Part(heat.Winding).Limit), 1e-9, "class F if none is named")
	assert.InDelta(t, 80, celsius(r.Part(heat.Magnets).Limit), 1e-9)
	assert.InDelta(t, 130, celsius(r.Part(heat.Brushes).Limit), 1e-9)
	assert.True(t, math.IsNaN(r.Part(heat.Pack).Limit) && math.IsNaN(r.Part(heat.Leads).Limit))
	assert.True(t, math.IsNaN(r.Part("nobody").Peak))
	assert.False(t, math.IsNaN(r.Part(heat.Leads).Peak))

	b.Motor.Heat.Winding = 0
	b.Harness.Connectors = []harness.Connector{{Resistance: 1e-3}}
	_, err = heat.Simulate(context.Background(), &b, once(3, 1, 2, false), heat.Settings{})
	assert.ErrorContains(t, err, "motor.heat.winding")
	assert.ErrorContains(t, err, "harness.connectors.0.heat.to_ambient")
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err = heat.Simulate(ctx, demo(t).Build, once(3, 1, 2, false), heat.Settings{})
	assert.ErrorIs(t, err, context.Canceled)
	_, err = heat.Simulate(context.Background(), demo(t).Build, &heat.Plan{}, heat.Settings{Tolerance: 1})
	assert.ErrorContains(t, err, "steps")
	assert.ErrorContains(t, err, "tolerance")
}
