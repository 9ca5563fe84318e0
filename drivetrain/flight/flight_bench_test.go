package flight_test

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
)

// BenchmarkFlight flies the demo's shot, with no course kept, at the cheapest of ten
// tolerances a decade at which muzzle velocity and time to home are as accurate as the
// name says, there and at every tighter one; to the muzzle, at which the trigger delay is
// that accurate, which begins with the first pull of some 39 ms.
func BenchmarkFlight(b *testing.B) {
	demo := build(b, "")
	speed := releaseSpeed(b, demo)
	ctx := context.Background()
	truth := fly(b, demo, flight.Settings{ReleaseSpeed: speed, Tolerance: 1e-11}).Summary
	var f flight.Flyer
	for _, c := range []struct {
		name  string
		error float64
		whole bool
	}{{"1e-6", 1e-6, true}, {"1e-8", 1e-8, true}, {"to-muzzle-1e-6", 1e-6, false}} {
		b.Run(c.name, func(b *testing.B) {
			s := flight.Settings{ReleaseSpeed: speed}
			if !c.whole {
				s.ToMuzzle, s.Delay = true, 38.7e-3
			}
			err := func(tolerance float64) float64 {
				s.Tolerance = tolerance
				r, err := f.Fly(ctx, demo, s)
				require.NoError(b, err)
				if c.whole {
					return max(math.Abs(r.Summary.MuzzleVelocity/truth.MuzzleVelocity-1), math.Abs(r.Summary.TimeToHome/truth.TimeToHome-1))
				}
				return math.Abs(r.Summary.TimeToMuzzle-truth.TimeToMuzzle) / (s.Delay + truth.TimeToMuzzle)
			}
			best := math.NaN()
			for i := 70; i >= 0; i-- {
				tolerance := 1e-3 * math.Pow(10, -float64(i)/10)
				if err(tolerance) > c.error {
					break
				}
				best = tolerance
			}
			achieved := err(best)
			require.LessOrEqual(b, achieved, c.error)
			var r flight.Result
			b.ReportAllocs()
			for b.Loop() {
				r, _ = f.Fly(ctx, demo, s)
			}
			b.ReportMetric(float64(r.Stats.Evaluations), "evaluations")
			b.ReportMetric(float64(r.Stats.Steps), "steps")
			b.ReportMetric(best, "tolerance")
			b.ReportMetric(achieved, "error")
		})
	}
}

// BenchmarkGeneral is the flight of BenchmarkFlight/1e-6 by the general integrator.
func BenchmarkGeneral(b *testing.B) {
	demo := build(b, "")
	s := flight.Settings{ReleaseSpeed: releaseSpeed(b, demo), Tolerance: 2.5e-4}
	for b.Loop() {
		_, err := flight.General(context.Background(), demo, s, false)
		require.NoError(b, err)
	}
}

// BenchmarkPhysics flies the demo of the full physics and the same in plain physics in
// turn, at a tolerance at which muzzle velocity and time to home are good to 1e-6, and reports what the one costs over the other, each by its quickest flight.
func BenchmarkPhysics(b *testing.B) {
	whole := build(b, "../reference/full/demo.yaml")
	plain := build(b, "../reference/full/demo-none.yaml")
	plain.Piston.SealArea = 0
	speed := releaseSpeed(b, whole)
	ctx := context.Background()
	truth := fly(b, whole, flight.Settings{ReleaseSpeed: speed, Tolerance: 1e-11}).Summary
	settings := flight.Settings{ReleaseSpeed: speed, Tolerance: 3e-4}
	r0 := fly(b, whole, settings).Summary
	achieved := max(math.Abs(r0.MuzzleVelocity/truth.MuzzleVelocity-1), math.Abs(r0.TimeToHome/truth.TimeToHome-1))
	require.LessOrEqual(b, achieved, 1e-6)
	both := [2]*drivetrain.Build{plain, whole}
	spent := [2]time.Duration{time.Hour, time.Hour}
	var f [2]flight.Flyer
	var r [2]flight.Result
	for k := range both {
		_, err := f[k].Fly(ctx, both[k], settings)
		require.NoError(b, err)
	}
	b.ReportAllocs()
	for b.Loop() {
		for k := range both {
			start := time.Now()
			r[k], _ = f[k].Fly(ctx, both[k], settings)
			spent[k] = min(spent[k], time.Since(start)) // whatever else the machine does
		}
	}
	b.ReportMetric(spent[0].Seconds()*1e6, "us-plain")
	b.ReportMetric(spent[1].Seconds()*1e6, "us-full")
	b.ReportMetric(float64(spent[1])/float64(spent[0]), "full/plain")
	b.ReportMetric(float64(r[0].Stats.Steps+r[0].Stats.Rejected), "tries-plain")
	b.ReportMetric(float64(r[1].Stats.Steps+r[1].Stats.Rejected), "tries-full")
	b.ReportMetric(achieved, "error")
}
