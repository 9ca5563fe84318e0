package flight_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/internal/effort"
)

// How a piston moves at any time before it is home, read off over speeds and a spring's
// rate, is how a flight that is watched then shows it, to two fifths of what is promised.
func TestTableMotion(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 14))
	ctx, worst, read, all := context.Background(), 0., 0, 0
	for gun := range effort.Of(40) {
		b := shooter(rng, gun%2 == 0)
		switch gun % 4 {
		case 2:
			b = nearBuild(t, build(t, ""), rng)
		case 3:
			b = some(nearBuild(t, build(t, ""), rng), rng)
		}
		stroke := b.Geometry().Stroke
		table := flight.NewTable(b, 1e-6, 100).Follow()
		if gun%3 == 0 {
			table = flight.NewTable(b, 1e-6, 400, flight.SpringRate).Follow()
		}
		lo := 0.3 + 2*rng.Float64()
		for range 20 {
			c, v := b.Clone(), lo+0.3*rng.Float64()
			if gun%3 == 0 {
				c.Spring.Rate *= math.Exp(0.03 * (rng.Float64() - 0.5))
			}
			figures, ok, err := table.Read(ctx, c, v)
			require.NoError(t, err)
			if !ok || !(figures.TimeToHome > 0) {
				continue
			}
			all++
			at := figures.TimeToHome * (1 - math.Pow(rng.Float64(), 2)) // more of them late
			if all%4 == 0 {
				at = figures.TimeToHome * (1 - 1e-3*rng.Float64()) // in the step that ends at home
			}
			got, ok, err := table.Motion(ctx, c, v, at)
			require.NoError(t, err)
			if !ok {
				continue
			}
			read++
			want, err := new(flight.Flyer).Fly(ctx, c, flight.Settings{Tolerance: 1e-9, ReleaseSpeed: v, Watch: at})
			require.NoError(t, err)
			off := max(math.Abs(got.Travel-want.Watched.Travel)/stroke, math.Abs(got.Speed-want.Watched.Speed)/max(10, math.Abs(want.Watched.Speed)))
			assert.Less(t, off, 0.4e-6, "gun %d at %g m/s, %g of the time: %v, not %v", gun, v, at/figures.TimeToHome, got, want.Watched)
			worst = max(worst, off)

			_, home, err := table.Motion(ctx, c, v, 1.01*figures.TimeToHome)
			require.NoError(t, err)
			assert.False(t, home, "it is home")
		}
	}
	t.Logf("%d of %d read off, worst error %.1e", read, all, worst)
	assert.Greater(t, read, all*45/100)

	demo := build(t, "")
	ofDemo := flight.NewTable(demo, 1e-6, 100).Follow()
	for _, early := range []float64{1e-6, 5e-6, 2e-5, 1e-4} { // about what happens within the step that brings it home
		figures, _, err := ofDemo.Read(ctx, demo, 1.4)
		require.NoError(t, err)
		at := figures.TimeToHome - early
		got, ok, err := ofDemo.Motion(ctx, demo, 1.4, at)
		require.NoError(t, err)
		require.True(t, ok)
		want, err := new(flight.Flyer).Fly(ctx, demo, flight.Settings{Tolerance: 1e-10, ReleaseSpeed: 1.4, Watch: at})
		require.NoError(t, err)
		assert.InDelta(t, want.Watched.Travel, got.Travel, 1e-9, "%g s early", early)
		assert.InDelta(t, want.Watched.Speed, got.Speed, 5e-7, "%g s early", early)
	}

	b := shooter(rng, true)
	plain := flight.NewTable(b, 1e-6, 100)
	_, ok, err := plain.Read(ctx, b, 1.3)
	require.NoError(t, err)
	require.True(t, ok)
	_, ok, err = plain.Motion(ctx, b, 1.3, 1e-3)
	require.NoError(t, err)
	assert.False(t, ok, "a table that wasn't asked to")
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	_, ok, err = flight.NewTable(b, 1e-6, 100).Follow().Motion(stopped, b, 1.3, 1e-3)
	assert.ErrorIs(t, err, context.Canceled)
	assert.False(t, ok)
}
