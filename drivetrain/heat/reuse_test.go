package heat_test

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/internal/effort"
)

// read reads a build file of the reference.
func read(t testing.TB, name string, overrides ...string) *buildfile.Document {
	t.Helper()
	d, err := buildfile.Read(filepath.Join("../../testdata/builds", name), overrides...)
	require.NoError(t, err)
	return d
}

// once is a plan of one step.
func once(rounds int, pause float64, repeat int, fresh bool) *heat.Plan {
	return &heat.Plan{Name: "test", Repeat: 1, Steps: []heat.Step{{Rounds: rounds, Pause: pause, Repeat: repeat, FreshPack: fresh}}}
}

// Equation G10: with rounds used again, all temperatures stay within 0.1 K of those
// round by round; what is reached is five times closer at least, and rates and times
// come to 3e-4, a third of what the reference asks. Counts are the same.
func TestReuse(t *testing.T) {
	mixed := &heat.Plan{Name: "mixed", Repeat: 2, Steps: []heat.Step{{3, 2, 5, true}, {30, 20, 2, true}, {1, 0.5, 20, false}, {100, 60, 1, true}}}
	hot := []string{"motor.heat.winding=3 J/K", "spring.rate=900 N/m", "battery.capacity=3000 mAh"}
	for _, c := range []struct {
		name  string
		build *buildfile.Document
		plan  *heat.Plan
		least int // rounds used again, so that the test sees some
	}{
		{"demo, a morning", demo(t), buildfile.DemoPlan(), 300},
		{"demo, on and on", demo(t), once(300, 0, 2, true), 400},
		{"demo, mixed", demo(t), mixed, 300},
		{"a light winding", demo(t, hot...), once(400, 0, 1, false), 250},
		{"brake", demo(t, "harness.switch.mosfet.active_braking=true"), once(1, 0.2, 300, false), 200},
		{"an empty pack", demo(t, "battery.state_of_charge=12 %"), once(20, 1, 30, false), 80},
		{"contacts, overrun", read(t, "ferrite.yaml"), once(5, 0.5, 40, false), 50},
		{"two lobes", read(t, "two-lobe.yaml"), once(12, 1, 30, false), 250},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := simulate(t, c.build, c.plan, heat.Settings{RoundByRound: true})
			got := simulate(t, c.build, c.plan, heat.Settings{})
			assert.Zero(t, want.Stats.Reused)
			assert.Greater(t, got.Stats.Reused, c.least)
			assert.Equal(t, want.Status, got.Status)
			assert.Equal(t, want.Rounds, got.Rounds)
			assert.Equal(t, want.FirstOut, got.FirstOut)
			for i, w := range want.Parts {
				g := got.Parts[i]
				if math.IsNaN(w.Start) {
					assert.True(t, math.IsNaN(g.Start))
					continue
				}
				assert.InDelta(t, w.Peak, g.Peak, 0.02, w.Name)
				same(t, w.LimitAt, g.LimitAt, 3e-4, w.Name)
				same(t, w.RoundsToLimit, g.RoundsToLimit, 0, w.Name)
			}
			for i, w := range want.End {
				assert.InDelta(t, w.Temperature, got.End[i].Temperature, 0.02, w.Name)
			}
			same(t, want.RateFirst, got.RateFirst, 3e-4, "rate")
			same(t, want.RateLast, got.RateLast, 3e-4, "rate")
			same(t, want.ReleaseFirst, got.ReleaseFirst, 3e-4, "release")
			same(t, want.ReleaseLast, got.ReleaseLast, 3e-4, "release")
			same(t, want.Duration, got.Duration, 3e-4, "duration")
			assert.InDelta(t, want.Charge, got.Charge, 1e-5)
			assert.InEpsilon(t, want.Balance.In, got.Balance.In, 3e-4)
		})
	}
}

// same holds two numbers against each other, neither of which may be there.
func same(t *testing.T, want, got, tol float64, what string) {
	t.Helper()
	if math.IsNaN(want) || math.IsNaN(got) {
		assert.Equal(t, math.IsNaN(want), math.IsNaN(got), what)
		return
	}
	assert.InDelta(t, want, got, tol*math.Abs(want), what)
}

// Where a round a little off would have other releases, nothing is used again: at a
// temperature at which the train just reaches another release, or just not.
func TestFragile(t *testing.T) {
	b := read(t, "ferrite.yaml", "gears.ratio=15").Build
	releases := func(winding float64) int {
		r, err := cycle.Fire(context.Background(), b, cycle.RoundStart{Conditions: cycle.Conditions{Winding: winding}}, 1e-6)
		require.NoError(t, err)
		return len(r.Releases)
	}
	lo, hi := 300., 600.
	few, many := releases(hi), releases(lo)
	require.NotEqual(t, few, many, "with a hot winding it runs on less")
	for hi-lo > 0.3 {
		if middle := (lo + hi) / 2; releases(middle) == many {
			lo = middle
		} else {
			hi = middle
		}
	}
	got, reused, err := heat.LoneRounds(b, []float64{lo, hi, lo, hi})
	require.NoError(t, err)
	assert.Equal(t, []int{many, releases(hi), many, releases(hi)}, got)
	assert.Zero(t, reused)
	_, reused, err = heat.LoneRounds(demo(t).Build, []float64{300, 300.5, 300.9})
	require.NoError(t, err)
	assert.Equal(t, 2, reused, "elsewhere it is")
}

// Repetitions that end where they began are not gone through: the books are those of
// going through all of them, which keeping the course does.
func TestRepetitionsAlike(t *testing.T) {
	contacts := read(t, "ferrite.yaml")
	many := func(n int) int {
		if effort.All() {
			return n
		}
		return n / 3
	}
	for _, c := range []struct {
		name  string
		build *buildfile.Document
		plan  *heat.Plan
		sums  bool // that differ by a rounding, since they were multiplied
	}{
		{"one pull over and over", demo(t), once(10, 5, many(6000), true), true},
		{"contacts", contacts, once(2, 5, 5000, true), true},
		{"weekends", demo(t), &heat.Plan{Name: "weekends", Repeat: 25, Steps: []heat.Step{{10, 5, 50, true}, {1, 2, 30, true}, {0, 3600, 20, false}}}, true},
		{"rests alone", demo(t), once(0, 60, many(5000), false), false},
		{"the same pack", demo(t, "battery.capacity=900 Ah"), once(1, 5, many(3000), false), false},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := simulate(t, c.build, c.plan, heat.Settings{Trace: true})
			got := simulate(t, c.build, c.plan, heat.Settings{})
			assert.Equal(t, c.sums, got.Stats.Solves+got.Stats.Reused == want.Stats.Solves+want.Stats.Reused && fmt.Sprint(got.Balance) != fmt.Sprint(want.Balance), "%v %v", got.Balance, want.Balance)
			assert.Equal(t, want.Status, got.Status)
			assert.Equal(t, want.Rounds, got.Rounds)
			assert.Equal(t, want.Switching.Breaks, got.Switching.Breaks)
			assert.Equal(t, want.Stats.Solves+want.Stats.Reused, got.Stats.Solves+got.Stats.Reused)
			for i, w := range want.Parts {
				g := got.Parts[i]
				same(t, w.Peak, g.Peak, 1e-6, w.Name)
				same(t, w.LimitAt, g.LimitAt, 1e-6, w.Name)
				same(t, w.RoundsToLimit, g.RoundsToLimit, 0, w.Name)
			}
			for i, w := range want.End {
				assert.InDelta(t, w.Temperature, got.End[i].Temperature, 2e-4, w.Name)
			}
			same(t, want.RateLast, got.RateLast, 1e-7, "rate")
			same(t, want.ReleaseLast, got.ReleaseLast, 1e-7, "release")
			same(t, want.Duration, got.Duration, 1e-8, "duration")
			same(t, want.Charge, got.Charge, 1e-8, "charge")
			same(t, want.RoundsPerCharge, got.RoundsPerCharge, 1e-7, "rounds a charge")
			same(t, want.Balance.In, got.Balance.In, 1e-7, "heat")
			same(t, want.Balance.Off, got.Balance.Off, 1e-6, "heat")
			same(t, want.Switching.Conduction, got.Switching.Conduction, 1e-7, "conduction")
			same(t, want.Switching.Loss, got.Switching.Loss, 1e-7, "loss")
			assert.LessOrEqual(t, math.Abs(got.Balance.Residual), 1e-6*got.Balance.In)
		})
	}
}

// The cost grows with the thermal states that differ, not with the rounds: once the
// temperatures come back to where they were, twice as many rounds need next to no
// more solves.
func TestSolvesGrowWithStates(t *testing.T) {
	few, many := simulate(t, demo(t), once(10, 5, 1200, true), heat.Settings{}), simulate(t, demo(t), once(10, 5, 2400, true), heat.Settings{})
	assert.Equal(t, 2*few.Rounds, many.Rounds)
	assert.Less(t, many.Stats.Solves, few.Stats.Solves+20)
	assert.Less(t, few.Stats.Solves, few.Rounds/20)
}

func BenchmarkPlan(b *testing.B) {
	d := demo(b)
	for _, rounds := range []int{10, 1000, 100_000, 1_000_000} {
		b.Run(fmt.Sprint(rounds), func(b *testing.B) {
			plan := once(10, 5, rounds/10, true)
			for b.Loop() {
				r := simulate(b, d, plan, heat.Settings{})
				require.Equal(b, rounds, r.Rounds)
				b.ReportMetric(float64(r.Stats.Solves), "solves")
			}
		})
	}
}

// A day: 3,000 rounds from one charge after another, over ten hours.
func BenchmarkDay(b *testing.B) {
	d := demo(b)
	plan := &heat.Plan{Name: "day", Repeat: 10, Steps: []heat.Step{{12, 20, 20, true}, {1, 3, 60, false}, {0, 3000, 1, false}}}
	for b.Loop() {
		simulate(b, d, plan, heat.Settings{})
	}
}
