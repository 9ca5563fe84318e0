package cycle_test

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
)

// BenchmarkSteadyCycle finds the demo's steady cycle from the state after the first
// shot, ledger included. What the whole solution costs is counted against the shots
// that were computed for it.
func BenchmarkSteadyCycle(b *testing.B) {
	for _, accuracy := range []float64{1e-6, 1e-9} {
		b.Run(strings.Replace(fmt.Sprint(accuracy), "e-0", "e-", 1), func(b *testing.B) {
			find, err := cycle.SteadyCycles(buildfile.Demo(), accuracy)
			require.NoError(b, err)
			exact, err := cycle.SteadyCycles(buildfile.Demo(), 1e-12)
			require.NoError(b, err)
			_, _, truth := exact()
			cycles, steps, period := find()
			require.InEpsilon(b, truth, period, accuracy, "the accuracy it is named after")
			b.ReportAllocs()
			for b.Loop() {
				find()
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(cycles), "ns/shot")
			b.ReportMetric(float64(cycles), "shots")
			b.ReportMetric(float64(steps), "steps")
			b.ReportMetric(math.Abs(period/truth-1), "error")
		})
	}
}

// BenchmarkEvaluate is a complete evaluation of the demo: first shot, steady cycle,
// both flights, ledger.
func BenchmarkEvaluate(b *testing.B) {
	b.Run("1e-6", func(b *testing.B) {
		demo := buildfile.Demo()
		var settings cycle.Settings // flights to 1e-6, all else to 1e-9
		var e cycle.Evaluator
		r, err := e.Evaluate(context.Background(), demo, settings)
		require.NoError(b, err)
		truth, err := cycle.Simulate(context.Background(), demo, cycle.Settings{Tolerance: 1e-11, Flight: 1e-10})
		require.NoError(b, err)
		var worst float64
		for _, v := range [][2]float64{
			{r.Summary.Period, truth.Summary.Period}, {r.Summary.TriggerDelay, truth.Summary.TriggerDelay},
			{r.Summary.MuzzleVelocity, truth.Summary.MuzzleVelocity}, {r.Summary.TimeToHome, truth.Summary.TimeToHome},
			{r.Ledger.Battery, truth.Ledger.Battery},
		} {
			worst = math.Max(worst, math.Abs(v[0]/v[1]-1))
		}
		require.Less(b, worst, 1e-6, "the accuracy it is named after")
		b.ReportAllocs()
		for b.Loop() {
			if _, err := e.Evaluate(context.Background(), demo, settings); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(r.Stats.Evaluations), "evaluations")
		b.ReportMetric(worst, "error")
	})
}

// variants yields n builds about the demo, each of its own turns, ratio, spring and
// charge.
func variants(n int) func(yield func(*drivetrain.Build) bool) {
	return func(yield func(*drivetrain.Build) bool) {
		for i := range n {
			d := *buildfile.Demo()
			d.Motor.Armature.Turns = 20 + i%15
			d.Gears.Ratio *= 1 + 0.01*float64(i%7)
			d.Spring.Rate *= 1 - 0.01*float64(i%11)
			d.Battery.StateOfCharge = 0.5 + 0.5*float64(i%101)/101
			if !yield(&d) {
				return
			}
		}
	}
}

// BenchmarkBatch evaluates many builds on all cores.
func BenchmarkBatch(b *testing.B) {
	for _, n := range []int{100, 10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				count := 0
				for _, err := range cycle.Batch(context.Background(), variants(n), cycle.Settings{}) {
					if err != nil {
						b.Fatal(err)
					}
					count++
				}
				if count != n {
					b.Fatalf("%d results", count)
				}
			}
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "builds/s")
		})
	}
}

// The Evaluator says what Simulate says, whatever it fired before.
func TestEvaluatorIsSimulate(t *testing.T) {
	var e cycle.Evaluator
	ended := map[cycle.Status]int{}
	for n, b := range randomBuilds(t, 12, 200/scarce) {
		switch n % 5 {
		case 3:
			b.Trigger.Rounds = 3
		case 4:
			b.Trigger.Start = 0.5
		}
		want, failed := cycle.Simulate(context.Background(), b, quick())
		got, err := e.Evaluate(context.Background(), b, quick())
		if failed != nil {
			assert.EqualError(t, err, failed.Error())
			continue
		}
		require.NoError(t, err, b.Name)
		ended[got.Status]++
		assert.Equal(t, want.Status, got.Status, b.Name)
		assert.Equal(t, fmt.Sprintf("%x", want.Summary), fmt.Sprintf("%x", got.Summary), b.Name)
		assert.Equal(t, fmt.Sprintf("%x", want.Ledger), fmt.Sprintf("%x", got.Ledger), b.Name)
		assert.Equal(t, want.Warnings, e.Warnings(), b.Name)
		assert.Nil(t, got.First)
		assert.Nil(t, got.Steady)
		if want.Pull != nil {
			require.NotNil(t, got.Pull, b.Name)
			assert.Equal(t, fmt.Sprintf("%x", want.Pull.Ledger), fmt.Sprintf("%x", got.Pull.Ledger), b.Name)
			assert.Len(t, got.Pull.Releases, len(want.Pull.Releases))
		}
		kept := got.Clone()
		before := fmt.Sprintf("%x %+v", kept.Summary, kept.Flight)
		_, _ = e.Evaluate(context.Background(), buildfile.Demo(), quick())
		assert.Equal(t, before, fmt.Sprintf("%x %+v", kept.Summary, kept.Flight), "a clone stays")
	}
	assert.Len(t, ended, 3, "steady, stall and single are among them")
	_, err := e.Evaluate(context.Background(), &drivetrain.Build{}, cycle.Settings{})
	assert.ErrorContains(t, err, "motor.armature.turns")
}

// A long batch needs no more memory than a short one.
func TestBatchMemoryIsFlat(t *testing.T) {
	most := func(n int) (bytes uint64) {
		runtime.GC()
		var s runtime.MemStats
		count := 0
		for _, err := range cycle.Batch(context.Background(), variants(n), quick()) {
			require.NoError(t, err)
			if count++; count%50 == 0 {
				runtime.ReadMemStats(&s)
				bytes = max(bytes, s.HeapAlloc)
			}
		}
		return bytes
	}
	short, long := most(100), most(3000/scarce)
	assert.Less(t, long, short+16<<20, "bytes: a result held for each build would be some 30 MB")
}
