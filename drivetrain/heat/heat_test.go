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

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
)

const (
	reference = "../../testdata/reference"
	plainDemo = "../../testdata/builds/demo.yaml"
)

// demo reads the demo build of plain physics with overrides.
func demo(t testing.TB, overrides ...string) *buildfile.Document {
	t.Helper()
	d, err := buildfile.Read(plainDemo, overrides...)
	require.NoError(t, err)
	return d
}

func simulate(t testing.TB, d *buildfile.Document, p *heat.Plan, s heat.Settings) *heat.Result {
	t.Helper()
	r, err := heat.Simulate(context.Background(), d.Build, p, s)
	require.NoError(t, err)
	return r
}

// celsius turns kelvin into degrees Celsius.
func celsius(kelvin float64) float64 { return kelvin - quantity.Celsius }

// The demo over the demo plan, as an independent program computed it: temperatures
// to 0.1 K, times and rates to 1e-3, counts exactly, as is asked for. Round by round
// what is reached is a thousand times closer, with rounds used again ten times.
func TestReference(t *testing.T) {
	var want struct {
		Plan, Outcome string
		Rounds        int
		Asked         int     `json:"rounds_asked"`
		First         *string `json:"first_to_give_out"`
		Duration      float64 `json:"duration_s"`
		RateFirst     float64 `json:"rate_of_fire_first_hz"`
		RateLast      float64 `json:"rate_of_fire_last_hz"`
		ReleaseFirst  float64 `json:"release_first_s"`
		ReleaseLast   float64 `json:"release_last_s"`
		Charge        float64 `json:"state_of_charge_end"`
		Parts         []struct {
			Name   string
			Start  float64  `json:"start_degc"`
			Peak   float64  `json:"peak_degc"`
			PeakAt float64  `json:"peak_at_s"`
			Limit  float64  `json:"limit_degc"`
			At     *float64 `json:"limit_at_s"`
			Rounds *float64 `json:"rounds_to_limit"`
		}
		End  map[string]any     `json:"end_degc"`
		Heat map[string]float64 `json:"heat_j"`
	}
	data, err := os.ReadFile(filepath.Join(reference, "heat-demo.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &want))
	plan, err := buildfile.LoadPlan(filepath.Join(reference, "heat-demo.plan.yaml"))
	require.NoError(t, err)
	assert.Equal(t, buildfile.DemoPlan(), plan, "the embedded plan is that of the reference")
	for _, c := range []struct {
		name     string
		settings heat.Settings
		kelvin   float64
		share    float64
	}{
		{"round by round", heat.Settings{RoundByRound: true}, 1e-4, 2e-6},
		{"rounds used again", heat.Settings{}, 0.02, 2e-4},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := simulate(t, demo(t), plan, c.settings)
			assert.Equal(t, want.Plan, r.Plan.Name)
			assert.Equal(t, want.Outcome, r.Status.String())
			assert.Equal(t, want.Rounds, r.Rounds)
			assert.Equal(t, want.Asked, r.Asked)
			assert.Nil(t, want.First)
			assert.Empty(t, r.FirstOut)
			for what, v := range map[string][2]float64{
				"duration": {want.Duration, r.Duration}, "rate, first": {want.RateFirst, r.RateFirst}, "rate, last": {want.RateLast, r.RateLast},
				"release, first": {want.ReleaseFirst, r.ReleaseFirst}, "release, last": {want.ReleaseLast, r.ReleaseLast},
				"charge": {want.Charge, r.Charge}, "heat in": {want.Heat["in"], r.Balance.In},
			} {
				assert.InEpsilon(t, v[0], v[1], c.share, what)
			}
			require.Len(t, r.Parts, len(want.Parts))
			for i, w := range want.Parts {
				p := r.Parts[i]
				assert.Equal(t, w.Name, p.Name)
				assert.InDelta(t, w.Start, celsius(p.Start), 1e-9, p.Name)
				// A fuse's rise goes by the square of the current, which is asked to 1e-6.
				assert.InDelta(t, w.Peak, celsius(p.Peak), max(c.kelvin, c.share*(w.Peak-w.Start)), p.Name)
				assert.InEpsilon(t, w.PeakAt, p.PeakAt, c.share, p.Name)
				assert.InDelta(t, w.Limit, celsius(p.Limit), 1e-9, p.Name)
				assert.Nil(t, w.At)
				assert.Nil(t, w.Rounds)
				assert.True(t, math.IsNaN(p.LimitAt) && math.IsNaN(p.RoundsToLimit))
			}
			connectors := want.End["connectors"].([]any)
			seen := 0
			for _, n := range r.End {
				name, v := n.Name, any(nil)
				switch name {
				case "connector 1":
					v = connectors[0]
				case "connector 2":
					v = connectors[1]
				default:
					v = want.End[name]
				}
				require.NotNil(t, v, name)
				assert.InDelta(t, v.(float64), celsius(n.Temperature), c.kelvin, name)
				seen++
			}
			assert.Equal(t, 8, seen)
		})
	}
}

// Equation G11, which says of the demo: 76.41 A; fuse 0.113 s, winding at 155 °C
// after 4.64 s with the fuse left in, magnets 36.2 s.
func TestStalledDemo(t *testing.T) {
	s, err := heat.FindStalled(context.Background(), demo(t).Build)
	require.NoError(t, err)
	assert.InDelta(t, 76.41, s.Current, 0.005)
	at := map[string]float64{}
	for _, p := range s.Parts {
		at[p.Name] = p.LimitAt
	}
	assert.InDelta(t, 0.113, at[heat.Fuse], 0.0005)
	assert.InDelta(t, 4.64, at[heat.Winding], 0.005)
	assert.InDelta(t, 36.2, at[heat.Magnets], 0.05)
	assert.True(t, math.IsNaN(at[heat.Leads]), "thick leads outlast the pack")
}

// The current of a held motor falls as its winding warms. A fuse that the first
// current would melt only after that does not blow, and no one may count on it; one
// that sees the first current alone blows by it.
func TestStalledFuse(t *testing.T) {
	find := func(overrides ...string) (*heat.Stalled, heat.Part) {
		s, err := heat.FindStalled(context.Background(), demo(t, overrides...).Build)
		require.NoError(t, err)
		return s, s.Parts[len(s.Parts)-1]
	}
	for _, c := range []struct{ name, fuse, reason string }{
		{"seconds", "{rating: 60 A, melting: 9500 A2 s}", "4.2 s at the first current, before the winding's 4.6 s"},
		{"minutes", "{rating: 60 A, melting: 200000 A2 s}", "88 s at the first current"},
		{"behind the empty pack", "{rating: 2 A, melting: 5e6 A2 s}", "the pack lasts 146 s"},
	} {
		s, fuse := find("harness.fuse=" + c.fuse)
		assert.True(t, math.IsNaN(fuse.LimitAt) && math.IsNaN(s.FuseFalling), "%s: %s", c.name, c.reason)
		assert.Greater(t, fuse.Peak, fuse.Start+1, c.name)
		assert.Less(t, fuse.Peak, heat.FuseBlows, c.name)
		require.Len(t, s.Warnings(), 1, c.name)
		assert.Contains(t, s.Warnings()[0].Text, "the fuse does not blow", c.name)
	}
	s, fuse := find()
	assert.Greater(t, s.FuseFalling, fuse.LimitAt)
	assert.Less(t, s.FuseFalling, fuse.LimitAt*1.03, "a tenth of a second warms the winding by some 4 K")
	assert.Empty(t, s.Warnings())
	heavy, fuse := find("motor.heat.winding=1e5 J/K", "battery.capacity=900 Ah", "motor.heat.winding_to_can=1e-3 K/W", "motor.heat.can=1e5 J/K", "harness.lead.gauge=0000 AWG")
	assert.InEpsilon(t, fuse.LimitAt, heavy.FuseFalling, 2e-3, "nothing warms")
	none, fuse := find("harness.fuse=")
	assert.True(t, math.IsNaN(fuse.Start) && math.IsNaN(none.FuseFalling))
	assert.Contains(t, none.Warnings()[0].Text, "there is no fuse")
}
