package cycle_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
)

func fire(t testing.TB, b *drivetrain.Build, s cycle.RoundStart) cycle.Round {
	t.Helper()
	r, err := cycle.Fire(context.Background(), b, s, 1e-9)
	require.NoError(t, err)
	return r
}

// A lone round is a single shot, whose ledger an independent program has computed;
// the trigger's mode doesn't matter.
func TestLoneRound(t *testing.T) {
	for _, c := range []struct {
		file, build string
		overrides   []string
		releases    int
	}{
		{"demo-single.json", "", nil, 1},
		{"demo-braking.json", "", []string{"harness.switch.mosfet.active_braking=true"}, 1},
		{"ferrite-single.json", "ferrite.yaml", nil, 2},
		{"two-lobe-single.json", "two-lobe.yaml", nil, 1},
	} {
		t.Run(c.file, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join(testdata, "reference", c.file))
			require.NoError(t, err)
			var want struct {
				Rest   float64            `json:"time_to_rest_s"`
				Charge float64            `json:"charge_per_shot_c"`
				Inrush float64            `json:"inrush_a"`
				Ledger map[string]float64 `json:"ledger_j"`
			}
			require.NoError(t, json.Unmarshal(data, &want))
			r := fire(t, document(t, c.build, c.overrides...).Build, cycle.RoundStart{Kind: cycle.Lone})
			assert.False(t, r.Stalled)
			assert.InEpsilon(t, want.Rest, r.Duration, 1e-6)
			assert.InEpsilon(t, want.Charge, r.Charge, 1e-6)
			assert.InEpsilon(t, want.Inrush, r.Peak, 1e-6)
			assert.Len(t, r.Releases, c.releases)
			l := &r.Losses
			for row, got := range map[string]float64{
				"winding": l.Winding, "brush": l.Brush, "motor_drag": l.MotorDrag, "pack": l.Pack, "leads": l.Leads, "connectors": l.Connectors, "switch": l.Switch,
			} {
				assert.InEpsilon(t, want.Ledger[row], got, 1e-6, row)
			}
			assert.Zero(t, r.Speed)
		})
	}
}

// Rounds one behind the other are the burst that is fired in one go, but for the
// pack's circuit, which each round takes at the charge of its own start; with a
// capacity so large that the charge stands still, they are the same.
func TestRoundsAreABurst(t *testing.T) {
	for _, rounds := range []int{2, 3, 6} {
		d := document(t, "", "battery.capacity=900 Ah", "trigger.rounds=3", "tappet={from: 100 deg, to: 165 deg, work: 45 mJ}")
		d.Build.Trigger.Rounds = rounds
		whole, err := cycle.Simulate(context.Background(), d.Build, cycle.Settings{})
		require.NoError(t, err)
		p := whole.Pull
		var s cycle.RoundStart
		var time, charge, heat float64
		var releases []float64
		for i := range rounds {
			s.Kind = cycle.Middle
			switch i {
			case 0:
				s.Kind = cycle.First
			case rounds - 1:
				s.Kind = cycle.Last
			}
			r := fire(t, d.Build, s)
			for _, at := range r.Releases {
				releases = append(releases, time+at)
			}
			time += r.Duration
			charge += r.Charge
			heat += r.Losses.Total()
			s.Current, s.Speed = r.Current, r.Speed
			s.Conditions.V1, s.Conditions.V2, s.Conditions.Spent = r.V1, r.V2, r.Spent
		}
		assert.InEpsilon(t, p.Rest, time, 1e-7)
		assert.InEpsilon(t, p.Charge, charge, 1e-7)
		l := &p.Ledger
		assert.InEpsilon(t, l.Winding+l.Brush+l.MotorDrag+l.Pack+l.Leads+l.Connectors+l.Switch, heat, 1e-7)
		require.Len(t, releases, len(p.Releases))
		for i, r := range p.Releases {
			assert.InEpsilon(t, r.Release, releases[i], 1e-7)
		}
		assert.InDelta(t, p.After.V1, s.Conditions.V1, 1e-8)
		assert.InDelta(t, p.After.Spent, s.Conditions.Spent, 1e-9)
	}
}

// What the switch breaks is the state at the cut-off.
func TestBreak(t *testing.T) {
	b := document(t, "").Build
	r := fire(t, b, cycle.RoundStart{Kind: cycle.Lone})
	assert.InEpsilon(t, 6.601749920964963e-05*r.Break.Current*r.Break.Current/2, r.Break.Energy, 1e-9)
	assert.Greater(t, r.Break.Current, 5.)
	assert.Less(t, r.Closed, r.Duration)
	assert.Greater(t, r.Break.Drive, 0.)
	assert.Less(t, r.Break.Drive, 8.1)
	first := fire(t, b, cycle.RoundStart{Kind: cycle.First})
	assert.Zero(t, first.Break)
	assert.Equal(t, first.Duration, first.Closed)
	assert.Positive(t, first.Speed)
	stall := fire(t, document(t, "", "spring.rate=2400 N/m").Build, cycle.RoundStart{Kind: cycle.First})
	assert.True(t, stall.Stalled)
	assert.Empty(t, stall.Releases)
	// A start part-way counts for the first round of a pull only.
	late := *b
	late.Trigger.Start = 1
	assert.Less(t, fire(t, &late, cycle.RoundStart{Kind: cycle.First}).Duration, first.Duration-1e-3)
	s := cycle.RoundStart{Kind: cycle.Middle, Current: first.Current, Speed: first.Speed}
	assert.InDelta(t, fire(t, b, s).Duration, fire(t, &late, s).Duration, 1e-12)
	// The last round begins at its pickup, so that its cut-off lies ahead even where
	// the trigger's start is behind it.
	late.Trigger.Start = b.Trigger.Cutoff + 0.1
	s.Kind = cycle.Last
	assert.InDelta(t, fire(t, b, s).Closed, fire(t, &late, s).Closed, 1e-12)
	assert.False(t, math.IsNaN(first.Losses.Total()))
}

func BenchmarkFire(b *testing.B) {
	d := document(b, "")
	for b.Loop() {
		_, err := cycle.Fire(context.Background(), d.Build, cycle.RoundStart{Kind: cycle.Middle, Current: 20, Speed: 1200}, 1e-6)
		require.NoError(b, err)
	}
}
