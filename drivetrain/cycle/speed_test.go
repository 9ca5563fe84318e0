package cycle_test

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/internal/effort"
)

// BenchmarkSteadyCycle finds the demo's steady cycle from the state after the first
// shot, ledger included. What the whole solution costs is counted against the shots
// that were computed for it.
func BenchmarkSteadyCycle(b *testing.B) {
	for _, accuracy := range []float64{1e-6, 1e-9} {
		b.Run(strings.Replace(fmt.Sprint(accuracy), "e-0", "e-", 1), func(b *testing.B) {
			find, err := cycle.SteadyCycles(document(b, "").Build, accuracy)
			require.NoError(b, err)
			exact, err := cycle.SteadyCycles(document(b, "").Build, 1e-12)
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

// worst returns the largest relative error of the headline figures against a tight
// simulation: those that the peers' error is taken from, the delay and the energy a
// shot.
func worst(r, truth *cycle.Result) float64 {
	var most float64
	for _, v := range [][2]float64{
		{r.Summary.Period, truth.Summary.Period}, {r.Summary.TriggerDelay, truth.Summary.TriggerDelay},
		{r.Summary.MuzzleVelocity, truth.Summary.MuzzleVelocity}, {r.Summary.TimeToHome, truth.Summary.TimeToHome},
		{r.Ledger.Battery, truth.Ledger.Battery},
	} {
		most = math.Max(most, math.Abs(v[0]/v[1]-1))
	}
	return most
}

// truth is a tight evaluation.
func truth(b testing.TB, build *drivetrain.Build) *cycle.Result {
	var e cycle.Evaluator
	r, err := e.Evaluate(context.Background(), build, cycle.Settings{Tolerance: 1e-11, Flight: 1e-10})
	require.NoError(b, err)
	return r
}

// cheapest returns the settings, with the cheapest of ten tolerances a decade for the
// flights, that keep an error on the demo, there and at every tighter one; the cycle,
// which costs next to nothing, goes to 1e-9.
func cheapest(b testing.TB, error float64) cycle.Settings {
	demo := document(b, "").Build
	exact := truth(b, demo)
	var e cycle.Evaluator
	var best cycle.Settings
	for i := 60; i >= 0; i-- {
		s := cycle.Settings{Tolerance: 1e-9, Flight: 1e-3 * math.Pow(10, -float64(i)/10)}
		r, err := e.Evaluate(context.Background(), demo, s)
		require.NoError(b, err)
		if worst(r, exact) > error {
			break
		}
		best = s
	}
	require.NotZero(b, best.Flight)
	return best
}

// BenchmarkEvaluate is a complete evaluation of the demo: first shot, steady cycle,
// both flights, ledger.
func BenchmarkEvaluate(b *testing.B) {
	for _, error := range []float64{1e-6, 1e-8} {
		b.Run(strings.Replace(fmt.Sprint(error), "e-0", "e-", 1), func(b *testing.B) {
			demo := document(b, "").Build
			settings := cheapest(b, error)
			var e cycle.Evaluator
			r, err := e.Evaluate(context.Background(), demo, settings)
			require.NoError(b, err)
			achieved := worst(r, truth(b, demo))
			require.LessOrEqual(b, achieved, error, "the accuracy it is named after")
			b.ReportAllocs()
			for b.Loop() {
				if _, err := e.Evaluate(context.Background(), demo, settings); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(r.Stats.Evaluations), "evaluations")
			b.ReportMetric(achieved, "error")
		})
	}
}

// BenchmarkPhysics evaluates the demo of the full physics and the same in plain physics
// in turn, and reports what the one costs over the other, each by its quickest run.
func BenchmarkPhysics(b *testing.B) {
	both := [2]*drivetrain.Build{document(b, "../reference/full/demo-none.yaml").Build, document(b, "../reference/full/demo.yaml").Build}
	settings := cheapest(b, 1e-6)
	least := [2]time.Duration{time.Hour, time.Hour}
	var e [2]cycle.Evaluator
	b.ReportAllocs()
	for b.Loop() {
		for k := range both {
			start := time.Now()
			if _, err := e[k].Evaluate(context.Background(), both[k], settings); err != nil {
				b.Fatal(err)
			}
			least[k] = min(least[k], time.Since(start))
		}
	}
	b.ReportMetric(least[0].Seconds()*1e6, "us-plain")
	b.ReportMetric(least[1].Seconds()*1e6, "us-full")
	b.ReportMetric(float64(least[1])/float64(least[0]), "full/plain")
}

// variants yields n builds about the demo, each of its own turns, ratio, spring and
// charge.
func variants(t testing.TB, n int) func(yield func(*drivetrain.Build) bool) {
	demo := document(t, "").Build
	return func(yield func(*drivetrain.Build) bool) {
		for i := range n {
			d := *demo
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

// BenchmarkBatch evaluates many builds on all cores, at the settings of
// BenchmarkEvaluate/1e-6; the median and the largest error over the first hundred are
// metrics.
func BenchmarkBatch(b *testing.B) {
	settings := cheapest(b, 1e-6)
	var e cycle.Evaluator
	var errors []float64
	for v := range variants(b, 100) {
		r, err := e.Evaluate(context.Background(), v, settings)
		require.NoError(b, err)
		errors = append(errors, worst(r, truth(b, v)))
	}
	slices.Sort(errors)
	for _, n := range []int{100, 10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				count := 0
				for _, err := range cycle.Batch(context.Background(), variants(b, n), settings) {
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
			b.ReportMetric(errors[len(errors)/2], "median-error")
			b.ReportMetric(errors[len(errors)-1], "largest-error")
		})
	}
}

// A warm Evaluator allocates nothing, whatever the build does: steady, premature
// engagement, stall, single, hunting.
func TestEvaluatorAllocatesNothing(t *testing.T) {
	var e cycle.Evaluator
	for name, overrides := range map[string][]string{
		"steady": nil, "premature": {"battery.series=3"}, "stall": {"battery.series=1", "spring.rate=5000 N/m"},
		"single": {"trigger.mode=single"}, "burst": {"trigger.rounds=3"},
		"stiff": {"motor.armature.inductance=10 nH"}, "hunting": {"motor.armature.inductance=100 mH"}, "alternating": {"motor.armature.inductance=4 mH", "spring.rate=900 N/m"},
	} {
		d, err := buildfile.Read(plainDemo, overrides...)
		require.NoError(t, err)
		s := cycle.Settings{Tolerance: 1e-6, Flight: 1e-3}
		r, err := e.Evaluate(context.Background(), d.Build, s)
		require.NoError(t, err)
		switch name {
		case "premature":
			require.Negative(t, r.Summary.PMEMargin)
			require.False(t, math.IsNaN(r.Summary.EngagementSpeed))
		case "hunting", "alternating":
			require.NotNil(t, r.Hunt)
		case "stall":
			require.Equal(t, cycle.Stall, r.Status)
		}
		assert.Zero(t, testing.AllocsPerRun(5, func() { _, _ = e.Evaluate(context.Background(), d.Build, s) }), name)
		s.Flights = flight.NewTable(d.Build, 1e-3, 100)
		_, err = e.Evaluate(context.Background(), d.Build, s)
		require.NoError(t, err)
		assert.Zero(t, testing.AllocsPerRun(5, func() { _, _ = e.Evaluate(context.Background(), d.Build, s) }), name+", read off")
	}
}

// The Evaluator says what Simulate says, whatever it fired before.
func TestEvaluatorIsSimulate(t *testing.T) {
	var e cycle.Evaluator
	ended := map[cycle.Status]int{}
	for n, b := range randomBuilds(t, 12, effort.Of(200)) {
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
		_, _ = e.Evaluate(context.Background(), document(t, "").Build, quick())
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
		for _, err := range cycle.Batch(context.Background(), variants(t, n), quick()) {
			require.NoError(t, err)
			if count++; count%50 == 0 {
				runtime.ReadMemStats(&s)
				bytes = max(bytes, s.HeapAlloc)
			}
		}
		return bytes
	}
	short, long := most(100), most(effort.Of(10_000))
	assert.Less(t, long, short+16<<20, "bytes: what a build allocates, held, would be some 30 MB")
}

// Where the motor's current takes minutes or hours to rise, as in a huge winding, a stall
// is a stall whether or not a course is kept, which follows the current only so far.
func TestStallsAreStallsWithACourse(t *testing.T) {
	var e cycle.Evaluator
	for _, set := range [][]string{
		{"gears.efficiency=1 %", "motor.armature.rotor_diameter=664 mm", "motor.armature.turns=1000"},
		{"motor.armature.inductance=1 H", "gears.efficiency=1 %", "battery.chemistry=custom", "battery.ocv=[[0 %, 3.7 V], [100 %, 3.7 V]]", "battery.resistance=0.001 mohm", "battery.capacity=1000 Ah"},
		{"gears.efficiency=1 %", "motor.armature.rotor_diameter=664 mm", "motor.armature.turns=1000", "motor.armature.wire=10 mm", "motor.armature.inertia=100000 g cm2", "gears.ratio=0.2", "battery.capacity=1000 Ah"},
		{"motor.armature.turns=1000", "gears.efficiency=1 %", "gears.ratio=0.1", "motor.armature.wire=2 mm"},
		{"trigger.mode=single", "motor.armature.turns=1000", "gears.efficiency=1 %", "gears.ratio=0.1", "motor.armature.wire=2 mm"},
	} {
		b := document(t, "", set...).Build
		want, err := cycle.Simulate(context.Background(), b, cycle.Settings{})
		require.NoError(t, err, set)
		got, err := e.Evaluate(context.Background(), b, cycle.Settings{})
		require.NoError(t, err, set)
		assert.Equal(t, want.Status, got.Status, set)
		assert.Equal(t, fmt.Sprintf("%x", want.Summary), fmt.Sprintf("%x", got.Summary), set)
		if want.Status == cycle.Stall {
			assert.LessOrEqual(t, want.First.Duration(), 300., "%v: the course goes no further than a picture does", set)
		}
	}
}
