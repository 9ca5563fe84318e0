package cycle_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/cycle"
)

// A gun with a large inductance hunts. What it does, shot by shot, a burst from a pack
// that nothing drains does as well, and in its own way: with pack and RC pairs on the move.
func TestHunt(t *testing.T) {
	for _, row := range []struct {
		name   string
		set    []string
		swing  float64 // shots that one takes
		reason string
	}{
		{"100 mH", []string{"motor.armature.inductance=100 mH"}, 20, "no cycle repeats"},
		{"300 mH", []string{"motor.armature.inductance=300 mH"}, 30, "nor here, where the shaft stands in between"},
		{"4 mH, stiff spring", []string{"motor.armature.inductance=4 mH", "spring.rate=900 N/m"}, 4,
			"a cycle repeats, and the search finds it, but its least disturbance grows by a quarter from shot to shot"},
	} {
		t.Run(row.name, func(t *testing.T) {
			set := append([]string{"trigger.rounds=400", "battery.capacity=1000 Ah", "battery.resistance=0.001 mohm"}, row.set...)
			r := simulate(t, document(t, "", set...).Build)
			require.Equal(t, cycle.Steady, r.Status, row.reason)
			require.NotNil(t, r.Hunt, row.reason)
			h, s := r.Hunt, &r.Summary
			assert.Less(t, h.Shortest, s.Period)
			assert.Greater(t, h.Longest, s.Period)
			assert.Greater(t, h.Longest-h.Shortest, 0.01*s.Period)
			assert.Less(t, h.LeastFree, s.FreeTime)

			fired := r.Pull.Releases
			require.GreaterOrEqual(t, len(fired), 399)
			last := fired[399-h.Shots : 399]
			shortest, longest, speed := math.Inf(1), 0., 0.
			for i := 1; i < len(last); i++ {
				apart := last[i].Release - last[i-1].Release
				shortest, longest = min(shortest, apart), max(longest, apart)
				speed += last[i].Speed * last[i].Speed
			}
			n := float64(len(last) - 1)
			// The two needn't be at the same place of a swing.
			tol := row.swing / float64(h.Shots)
			assert.InEpsilon(t, (last[len(last)-1].Release-last[0].Release)/n, s.Period, tol)
			assert.InEpsilon(t, math.Sqrt(speed/n), s.ReleaseSpeed, tol)
			assert.InEpsilon(t, longest, h.Longest, 0.3, "from pickup to pickup there, from release to release here")
			assert.InEpsilon(t, shortest, h.Shortest, 0.3)
			assert.InEpsilon(t, r.Pull.Charge/float64(len(fired)), s.ChargePerShot, 2*tol)

			assert.InEpsilon(t, r.Pull.Ledger.Battery/float64(len(fired)), r.Ledger.Battery, 2*tol)
			assert.InDelta(t, 0, r.Ledger.Residual, 1e-6*r.Ledger.Battery, "the means close as well")
			assert.InEpsilon(t, s.SpringEnergy, r.Flight.Ledger.Spring, 1e-9)
			assert.Equal(t, 1/s.Period, s.RateOfFire)
			assert.GreaterOrEqual(t, r.Steady.Duration(), h.Shortest, "the course is that of one cycle")
			assert.LessOrEqual(t, r.Steady.Duration(), h.Longest)
			for _, e := range r.Steady.Events {
				if e.Kind == cycle.Release { // the piston goes where its rack was let go
					assert.InEpsilon(t, s.Stroke, r.Steady.At(e.Time).Travel, 1e-6)
				}
			}

			var e cycle.Evaluator
			again, err := e.Evaluate(context.Background(), r.Build, cycle.Settings{})
			require.NoError(t, err)
			assert.Equal(t, r.Hunt, again.Hunt)
			assert.Equal(t, fmt.Sprintf("%x %x", r.Summary, r.Ledger), fmt.Sprintf("%x %x", again.Summary, again.Ledger))
			kept := again.Clone()
			_, err = e.Evaluate(context.Background(), document(t, "", "motor.armature.inductance=200 mH").Build, cycle.Settings{})
			require.NoError(t, err)
			assert.Equal(t, r.Hunt, kept.Hunt, "a clone stays")
		})
	}
}

// A gun that settles, be it after many shots, does not hunt: the cycle is the one that it
// comes to when it is fired for long enough.
func TestSettlesWithoutHunting(t *testing.T) {
	for _, set := range [][]string{
		nil, {"motor.armature.inductance=3 mH"}, {"motor.armature.inductance=10 mH"}, {"motor.armature.inductance=24 mH"},
		{"gears.inertia=3000 g cm2"}, {"motor.armature.inductance=1 H", "battery.resistance=0.001 mohm"}, {"motor.armature.inertia=2000 g cm2", "motor.drag.viscous=1e-5 N m s"},
	} {
		b := document(t, "", set...).Build
		r := simulate(t, b)
		assert.Nil(t, r.Hunt, set)
		spread, period := cycle.Shots(t, b, 1500)
		assert.Less(t, spread, 1e-9, "%v: the gun's own shots", set)
		assert.InEpsilon(t, period, r.Summary.Period, 1e-9, set)
	}
}
