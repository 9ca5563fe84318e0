package flight_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/flight"
)

// BenchmarkFlight flies the demo's shot at settings whose figures come out as
// accurate as the name says.
func BenchmarkFlight(b *testing.B) {
	demo := build(b, "")
	speed := releaseSpeed(b, demo)
	for _, c := range []struct {
		name      string
		tolerance float64
	}{{"1e-6", 1e-4}, {"1e-8", 1e-6}} {
		b.Run(c.name, func(b *testing.B) {
			var r *flight.Result
			var err error
			for b.Loop() {
				r, err = flight.Simulate(context.Background(), demo, flight.Settings{ReleaseSpeed: speed, Tolerance: c.tolerance})
				require.NoError(b, err)
			}
			b.ReportMetric(float64(r.Stats.Evaluations), "evaluations")
			b.ReportMetric(float64(r.Stats.Steps), "steps")
		})
	}
}
