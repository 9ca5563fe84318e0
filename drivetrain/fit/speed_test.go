package fit_test

import (
	"testing"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/fit"
)

func BenchmarkRifle(b *testing.B) {
	const folder = "../../testdata/reference/fit/"
	d, err := buildfile.Read(folder+"rifle.yaml", "spring.waves=false", "barrel.air=still", "barrel.wall_heat=0", "cylinder.wall_heat=0", "motor.commutation=0 %")
	if err != nil {
		b.Fatal(err)
	}
	r, err := buildfile.ReadReadings(folder + "rifle.readings.yaml")
	if err != nil {
		b.Fatal(err)
	}
	n := 0
	for b.Loop() {
		res, err := fit.Run(b.Context(), d, r, fit.Settings{})
		if err != nil {
			b.Fatal(err)
		}
		n += res.Fit.Evaluations
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(n), "us/simulation")
}
