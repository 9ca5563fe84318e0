package flight_test

import (
	"context"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/internal/effort"
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
	l, m := &got.Ledger, &want.Ledger
	left := l.Spring + l.Kinetic - l.Residual
	for i, row := range l.Rows() {
		left -= row.Energy
		worst = max(worst, math.Abs(row.Energy-m.Rows()[i].Energy)/(m.Spring+m.Kinetic))
	}
	assert.InDelta(t, 0, left, 1e-12, "the books close")
	assert.InDelta(t, 0, l.Residual, 1e-6*(m.Spring+m.Kinetic))
	return worst
}

// What a Table reads off at any speed is what a flight at that speed shows, of random
// guns, whole and plain.
func TestTableAgainstFlights(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 10))
	ctx, worst, read, all := context.Background(), 0., 0, 0
	for gun := range effort.Of(16) {
		b := shooter(rng, gun%2 == 0)
		table := flight.NewTable(b, 1e-7, 200)
		lo := 3 * rng.Float64()
		for range 40 {
			v := lo + 0.5*rng.Float64()
			got, err := table.At(ctx, b, v)
			require.NoError(t, err)
			want, err := new(flight.Flyer).Fly(ctx, b, flight.Settings{Tolerance: 1e-9, ReleaseSpeed: v})
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

// The same over a knob: whichever it is, the figures are those of a gun where it stands.
func TestTableOverAKnob(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	ctx, worst, read, all := context.Background(), 0., 0, 0
	var knobs []flight.Knob
	for i := range flight.Knobs {
		knobs = append(knobs, flight.Knob(i))
	}
	for i, k := range effort.Some(knobs) {
		b := nearBuild(t, build(t, ""), rng)
		if i%2 == 0 {
			b = some(b, rng)
		}
		for _, k := range []flight.Knob{flight.SealLeak, flight.HopForce, flight.PistonDrag, flight.BreechVolume, flight.DeadVolume} {
			*k.Of(b) = max(*k.Of(b), map[flight.Knob]float64{flight.SealLeak: 1e-6, flight.HopForce: 2, flight.PistonDrag: 3, flight.BreechVolume: 2e-7, flight.DeadVolume: 1e-6}[k])
		}
		const cell = 0.1 // of a knob, in whose middle it stands
		*k.Of(b) = math.Exp(cell * (math.Floor(math.Log(*k.Of(b))/cell) + 0.5))
		b.Pellet.Diameter = min(b.Pellet.Diameter, 0.95*b.Barrel.Bore)
		require.NoError(t, b.Validate())
		table := flight.NewTable(b, 1e-6, 300, k)
		lo := float64(rng.IntN(3)) + 0.5*rng.Float64()
		for range 30 {
			c, v := b.Clone(), lo+0.3*rng.Float64()
			*k.Of(c) *= math.Exp(0.03 * (rng.Float64() - 0.5))
			if c.Validate() != nil {
				continue
			}
			require.True(t, table.Fits(c))
			got, err := table.At(ctx, c, v)
			require.NoError(t, err)
			want, err := new(flight.Flyer).Fly(ctx, c, flight.Settings{Tolerance: 1e-9, ReleaseSpeed: v})
			require.NoError(t, err)
			off := worstOf(t, got, &want)
			assert.Less(t, off, 1e-6, "knob %d, read off %v", k, !got.Flown)
			worst = max(worst, off)
			if all++; !got.Flown {
				read++
			}
		}
	}
	t.Logf("%d of %d read off, worst error %.1e", read, all, worst)
	assert.Greater(t, read, all*6/10)
	assert.Panics(t, func() { flight.NewTable(shooter(rng, false), 1e-6, 100, flight.SpringRate, flight.PelletMass) })
}

// bouncer is a gun whose air throws the piston back behind its clearance more than once.
func bouncer(piston, rate, preload, nozzle, leak, dead, hop, pellet, barrel, drag float64) *drivetrain.Build {
	b := &drivetrain.Build{
		Gears: drivetrain.NewGears(10.44), Sector: drivetrain.NewSector(1e-3, 16, 24), Piston: drivetrain.NewPiston(piston),
		Cylinder: drivetrain.NewCylinder(23.8e-3), Barrel: drivetrain.NewBarrel(6.05e-3, barrel), Pellet: drivetrain.NewPellet(pellet),
		Ambient: drivetrain.StandardAmbient(),
	}
	b.Spring.Rate, b.Spring.Preload, b.Spring.Mass = rate, preload, 5e-3
	b.Cylinder.Nozzle, b.Cylinder.SealLeak, b.Cylinder.DeadVolume = nozzle, leak, dead
	b.Pellet.HopForce, b.Piston.Drag = hop, drag
	b.Barrel.Air, b.Barrel.WallHeat, b.Cylinder.WallHeat = drivetrain.StillAir, 0, 0
	return b
}

// Where the piston comes back once more or less, the time to home jumps by milliseconds. A
// Table cuts its cell there: figures on both sides stay good to 1e-6, right up to the jump.
func TestTableAtAJump(t *testing.T) {
	ctx := context.Background()
	cases := []struct {
		name   string
		build  *drivetrain.Build
		lo, hi float64 // within which it jumps [m/s]
	}{
		{"home", bouncer(0.01007, 676.4, 0.05518, 0.00388, 2.128e-7, 3.114e-7, 10.95, 0.2792e-3, 0.3496, 1.678), 2.2, 2.3},
		{"stuck", bouncer(0.01446, 729.7, 0.01634, 0.001027, 3.052e-7, 1.219e-6, 8.894, 0.1558e-3, 0.3154, 0.3539), 2.3, 2.4},
	}
	if !effort.All() {
		cases = cases[:1]
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			fly := func(v, tolerance float64) *flight.Result {
				r, err := new(flight.Flyer).Fly(ctx, c.build, flight.Settings{Tolerance: tolerance, ReleaseSpeed: v})
				require.NoError(t, err)
				return &r
			}
			table := flight.NewTable(c.build, 1e-7, 300)
			read := func(v float64) flight.Arc {
				a, err := table.At(ctx, c.build, v)
				require.NoError(t, err)
				return a
			}
			lo, hi := c.lo, c.hi
			home := func(v float64) float64 { return fly(v, 1e-6).Summary.TimeToHome }
			low, high := 0., 0.
			from := lo
			for v, last := from, home(from); v < hi; v += 0.01 {
				next := home(v + 0.01)
				if math.Abs(next-last) > math.Abs(high-low) {
					lo, low, high = v, last, next
				}
				last = next
			}
			hi = lo + 0.01
			require.Greater(t, math.Abs(low-high), 1e-3, "the build was made to jump")
			for hi-lo > 1e-5 {
				if m := (lo + hi) / 2; math.Abs(home(m)-low) < math.Abs(home(m)-high) {
					lo = m
				} else {
					hi = m
				}
			}
			rng := rand.New(rand.NewPCG(1, 3))
			worst, kept := 0., 0
			speeds := []float64{lo - 1e-6, hi + 1e-6}
			for range effort.Of(60) {
				speeds = append(speeds, 0.25*math.Floor(lo/0.25)+0.25*rng.Float64())
			}
			for _, v := range speeds {
				got := read(v)
				worst = max(worst, worstOf(t, got, fly(v, 1e-9))) // much finer, since next to a jump all hangs on little
				if !got.Flown {
					kept++
				} else {
					assert.NotEqual(t, speeds[0], v, "it is smooth right up to the jump")
				}
			}
			assert.Less(t, worst, 1e-6)
			assert.GreaterOrEqual(t, kept, len(speeds)/2, "half is read off all the same")
		})
	}
}

// What a Table says of a speed doesn't depend on what it was asked before, or by whom.
func TestTableRemembersNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 12))
	b := shooter(rng, false)
	ctx := context.Background()
	speeds := make([]float64, 40)
	for i := range speeds {
		speeds[i] = 3 * rng.Float64()
	}
	ask := func(speeds []float64, at int) []flight.Arc {
		table := flight.NewTable(b, 1e-6, 200)
		all := make([]flight.Arc, len(speeds))
		var wait sync.WaitGroup
		for i := range speeds {
			k := (i + at) % len(speeds)
			wait.Go(func() {
				var err error
				all[k], err = table.At(ctx, b, speeds[k])
				assert.NoError(t, err)
			})
		}
		wait.Wait()
		return all
	}
	assert.Equal(t, ask(speeds, 0), ask(speeds, 17))
}

// An interrupt ends a table's flights, and what was begun is made anew.
func TestTableInterrupted(t *testing.T) {
	b := shooter(rand.New(rand.NewPCG(7, 13)), false)
	table := flight.NewTable(b, 1e-6, 200)
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err := table.At(ctx, b, 1.1)
	require.ErrorIs(t, err, context.Canceled)
	a, err := table.At(context.Background(), b, 1.1)
	require.NoError(t, err)
	assert.False(t, a.Flown)
}

// Guns are equal where all is equal that a flight feels, and nothing else.
func TestGunOf(t *testing.T) {
	b := shooter(rand.New(rand.NewPCG(7, 14)), true)
	c := b.Clone()
	c.Gears.Ratio, c.Name, c.Piston.DragPull = 20, "other", 30
	assert.Equal(t, flight.GunOf(b), flight.GunOf(c))
	c.Pellet.HopLength *= 1.01
	assert.NotEqual(t, flight.GunOf(b), flight.GunOf(c))
}

func BenchmarkTable(b *testing.B) {
	build := shooter(rand.New(rand.NewPCG(7, 15)), false)
	ctx := context.Background()
	b.Run("a cell", func(b *testing.B) {
		for b.Loop() {
			if _, err := flight.NewTable(build, 1e-6, 200).At(ctx, build, 1.3); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("a look", func(b *testing.B) {
		table := flight.NewTable(build, 1e-6, 200)
		for b.Loop() {
			if _, err := table.At(ctx, build, 1.3); err != nil {
				b.Fatal(err)
			}
		}
	})
}
