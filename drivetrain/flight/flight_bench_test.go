package flight_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/flight"
)

// BenchmarkFlight flies the demo's shot, with no course kept, at the cheapest of ten
// tolerances a decade at which muzzle velocity and time to home are as accurate as the
// name says, there and at every tighter one.
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
			s := flight.Settings{ReleaseSpeed: speed, ToMuzzle: !c.whole}
			err := func(tolerance float64) float64 {
				s.Tolerance = tolerance
				r, err := f.Fly(ctx, demo, s)
				require.NoError(b, err)
				e := math.Abs(r.Summary.MuzzleVelocity/truth.MuzzleVelocity - 1)
				if c.whole {
					return max(e, math.Abs(r.Summary.TimeToHome/truth.TimeToHome-1))
				}
				return max(e, math.Abs(r.Summary.TimeToMuzzle/truth.TimeToMuzzle-1))
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
		_, err := flight.General(context.Background(), demo, s)
		require.NoError(b, err)
	}
}
