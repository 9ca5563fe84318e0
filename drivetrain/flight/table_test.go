package flight_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
)

// shooter is a gun about the demo's, with all effects or with plain physics.
func shooter(rng *rand.Rand, full bool) *drivetrain.Build {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	b := &drivetrain.Build{
		Gears: drivetrain.NewGears(10.44), Sector: drivetrain.NewSector(1e-3, 16, 24), Piston: drivetrain.NewPiston(between(15e-3, 32e-3)),
		Cylinder: drivetrain.NewCylinder(23.8e-3), Barrel: drivetrain.NewBarrel(6.05e-3, between(0.1, 0.5)), Pellet: drivetrain.NewPellet(between(0.12e-3, 0.4e-3)),
		Ambient: drivetrain.StandardAmbient(),
	}
	b.Sector.Removed = rng.IntN(3)
	b.Spring.Rate, b.Spring.Preload, b.Spring.Mass, b.Spring.Waves = between(350, 1000), between(30e-3, 60e-3), between(10e-3, 22e-3), full
	b.Cylinder.Port, b.Cylinder.Nozzle, b.Cylinder.SealLeak = between(20e-3, 60e-3), between(3e-3, 7e-3), between(0, 2e-6)
	b.Pellet.HopForce = between(0, 6)
	if !full {
		b.Barrel.Air, b.Barrel.WallHeat, b.Cylinder.WallHeat = drivetrain.StillAir, 0, 0
	}
	return b
}

// worstOf returns by how much two flights differ, in shares; times against 1e-3 s.
func worstOf(t *testing.T, got flight.Arc, want *flight.Result) (worst float64) {
	s := &want.Summary
	for _, p := range [][3]float64{
		{got.TimeToHome, s.TimeToHome, 1e-3}, {got.TimeToMuzzle, s.TimeToMuzzle, 1e-3},
		{got.MuzzleVelocity, s.MuzzleVelocity, 0}, {got.PistonImpact, s.PistonImpact, 0},
	} {
		require.Equal(t, math.IsNaN(p[1]), math.IsNaN(p[0]))
		if !math.IsNaN(p[1]) {
			worst = max(worst, math.Abs(p[0]-p[1])/max(p[2], math.Abs(p[1])))
		}
	}
	assert.Equal(t, want.Status, got.Status)
	return worst
}

// What a Table reads off at any speed is what a flight at that speed shows, of random
// guns, whole and plain.
func TestTableAgainstFlights(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 10))
	ctx, worst, read, all := context.Background(), 0., 0, 0
	for gun := range 24 {
		b := shooter(rng, gun%2 == 0)
		table := flight.NewTable(b, 1e-6)
		lo := 3 * rng.Float64()
		for range 60 {
			v := lo + 0.5*rng.Float64()
			got, err := table.At(ctx, v)
			require.NoError(t, err)
			want, err := new(flight.Flyer).Fly(ctx, b, flight.Settings{Tolerance: 1e-6, ReleaseSpeed: v})
			require.NoError(t, err)
			worst = max(worst, worstOf(t, got, &want))
			all++
			if !got.Flown {
				read++
			}
		}
	}
	t.Logf("%d of %d read off, worst error %.1e", read, all, worst)
	assert.Less(t, worst, 1e-6)
	assert.Greater(t, read, all*9/10)
}
