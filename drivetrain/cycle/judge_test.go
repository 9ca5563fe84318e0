package cycle_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
)

// warned tells whether a build is warned of by a code, and whether that is a fault.
func warned(t *testing.T, b *drivetrain.Build, code string) (told, fault bool) {
	t.Helper()
	for _, w := range simulate(t, b).Warnings {
		if w.Code == code {
			return true, w.Weight == finding.Fault
		}
	}
	return false, false
}

// A pack is judged by the mean current, of which the peak is many times more, and a
// fuse by the RMS, of which the mean is less; each just above and just below.
func TestPackByTheMeanFuseByTheRMS(t *testing.T) {
	d := document(t, "")
	s := simulate(t, d.Build).Summary
	require.Greater(t, s.CurrentPeak, 1.3*s.CurrentMean)
	require.Greater(t, s.CurrentRMS, 1.05*s.CurrentMean)
	for _, c := range []struct {
		amps float64
		over bool
	}{{0.999 * s.CurrentMean, true}, {1.001 * s.CurrentMean, false}, {s.CurrentRMS, false}, {0.999 * s.Inrush, false}, {1.001 * s.Inrush, false}} {
		b := *d.Build
		b.Battery.DischargeRating = c.amps * 3600 / b.Battery.Capacity
		told, fault := warned(t, &b, "pack-rating")
		assert.Equal(t, []bool{c.over, false}, []bool{told, fault}, "a pack of %.3f A", c.amps)
		told, fault = warned(t, &b, "pack-inrush")
		assert.Equal(t, !c.over && c.amps < s.Inrush, told, "a pack of %.3f A", c.amps)
		assert.False(t, fault)
	}
	for _, c := range []struct {
		amps float64
		over bool
	}{{1.001 * s.CurrentMean, true}, {0.999 * s.CurrentRMS, true}, {1.001 * s.CurrentRMS, false}} {
		b := *d.Build
		fuse := harness.NewFuse(c.amps)
		b.Harness.Fuse = &fuse
		told, fault := warned(t, &b, "fuse-rating")
		assert.Equal(t, []bool{c.over, c.over}, []bool{told, fault}, "a fuse of %.3f A", c.amps)
	}
}

// The spring at release is as long as its room less spacer and stroke; it is pressed
// solid when that is less than its coils take.
func TestSpringIsPressedSolid(t *testing.T) {
	for _, spacer := range []float64{0, 2e-3} {
		b := *document(t, "", "spring={wire: 1.4 mm, coil_diameter: 12 mm, coils: 34, free_length: 150 mm, installed_length: 105 mm}", fmt.Sprintf("piston.spacer=%g mm", 1e3*spacer)).Build
		shortest := b.Spring.InstalledLength - spacer - b.Geometry().Stroke // 105 mm, less what release takes
		require.Greater(t, shortest, 0.04)
		for _, c := range []struct {
			off   float64 // of the solid length over the shortest
			solid bool
		}{{-1e-6, false}, {1e-6, true}, {5e-3, true}} {
			b.Spring.Coils = (shortest+c.off)/b.Spring.Wire - 2
			told, fault := warned(t, &b, "spring-solid")
			assert.Equal(t, []bool{c.solid, c.solid}, []bool{told, fault}, "solid %g m above the shortest length", c.off)
		}
	}
	rate := document(t, "").Build
	told, _ := warned(t, rate, "spring-solid")
	assert.False(t, told, "of a spring given by its rate nobody knows the coils")
}

// A brake of nothing shorts the motor with its winding alone, not with the channel that
// stands in where a brake's resistance is left out.
func TestBrakeOfNothing(t *testing.T) {
	const base = "harness.switch.mosfet.active_braking=true"
	pull := func(overrides ...string) *cycle.Result {
		return simulate(t, document(t, "", append([]string{"trigger.mode=single", base}, overrides...)...).Build)
	}
	none, channel, large := pull("harness.switch.mosfet.brake_resistance=0 mohm"), pull(), pull("harness.switch.mosfet.brake_resistance=50 mohm")
	same := pull(fmt.Sprintf("harness.switch.mosfet.brake_resistance=%.12g mohm", 1e3*channel.Wires.Switch))
	assert.InEpsilon(t, channel.Pull.BrakeCurrent, same.Pull.BrakeCurrent, 1e-9)
	assert.Greater(t, none.Pull.BrakeCurrent, channel.Pull.BrakeCurrent*1.005)
	assert.Greater(t, channel.Pull.BrakeCurrent, large.Pull.BrakeCurrent*1.2)
	// What the switch takes is then what it takes closed and by its diode.
	before := pull("harness.switch.mosfet.active_braking=false")
	assert.InDelta(t, before.Ledger.Switch, none.Ledger.Switch, 1e-3*before.Ledger.Switch)
	assert.Greater(t, channel.Ledger.Switch, none.Ledger.Switch*1.01)
}

// Where the sector would meet the rack: the share is of the stroke, the place from home.
func TestEngagement(t *testing.T) {
	r := simulate(t, document(t, "", "battery.series=3").Build)
	s := &r.Summary
	require.False(t, math.IsNaN(s.EngagementTravel))
	assert.InEpsilon(t, s.EngagementTravel/s.Stroke, s.EngagementShare, 1e-12)
	assert.Greater(t, s.EngagementShare, 5*s.EngagementTravel, "a stroke of 5 cm")
	burst := simulate(t, document(t, "", "battery.series=3", "trigger.rounds=3").Build)
	e := burst.Pull.Releases[0].Engagement
	require.False(t, math.IsNaN(e.Travel))
	assert.InEpsilon(t, e.Travel/burst.Summary.Stroke, e.Share, 1e-12)
}
