package flight_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/internal/effort"
)

// The driver made for this problem against the general integrator, on the same
// method: ends, figures, and the number of steps.
func TestFlyerIsTheGeneralIntegrator(t *testing.T) {
	all := shots(t)
	demo := build(t, "")
	for i := range effort.Of(90) {
		rnd := rand.New(rand.NewPCG(uint64(i), 21))
		c := shot{nearBuild(t, demo, rnd), 4 * rnd.Float64()}
		if i >= effort.Of(30) {
			c.build = some(c.build, rnd)
		}
		all[fmt.Sprint("near ", i)] = c
	}
	ours, theirs := 0, 0
	for name, c := range all {
		for _, tolerance := range []float64{1e-4, 1e-7} {
			s := flight.Settings{ReleaseSpeed: c.speed, Trace: true}.Steps(tolerance / 30)
			got := fly(t, c.build, s)
			want, err := flight.General(context.Background(), c.build, s, false)
			require.NoError(t, err)
			if v := want.Summary.MuzzleVelocity; v < 5 {
				continue // a pellet that hardly comes out hangs on every rounding
			}
			compare(t, want, got, 10*tolerance, name)
			ours += got.Stats.Steps + got.Stats.Rejected
			theirs += want.Stats.Steps + want.Stats.Rejected
		}
	}
	assert.Less(t, float64(ours), 1.02*float64(theirs), "tries")
}

// Builds of extreme figures end as they do by the general integrator.
func TestFlyerEndsAsTheGeneralIntegrator(t *testing.T) {
	demo := build(t, "")
	for i := range effort.Of(80) {
		rnd := rand.New(rand.NewPCG(uint64(i), 22))
		b := anyBuild(t, demo, rnd)
		if i >= effort.Of(40) {
			b = some(b, rnd)
		}
		s := flight.Settings{ReleaseSpeed: 3 * rnd.Float64()}.Within(5_000).Steps(1e-5 / 30)
		got := fly(t, b, s)
		want, err := flight.General(context.Background(), b, s, false)
		require.NoError(t, err)
		if got.Status == flight.GivenUp || want.Status == flight.GivenUp {
			continue // the one may need a few steps more
		}
		assert.Equal(t, want.Status, got.Status, "build %d", i)
		assert.Equal(t, math.IsNaN(want.Summary.MuzzleVelocity), math.IsNaN(got.Summary.MuzzleVelocity), "build %d", i)
	}
}

// A Flyer says what Simulate says, to the last bit, whatever it flew before, and
// allocates nothing.
func TestFlyerIsSimulate(t *testing.T) {
	var f flight.Flyer
	for name, c := range shots(t) {
		s := flight.Settings{ReleaseSpeed: c.speed, Tolerance: 1e-5}
		got, err := f.Fly(context.Background(), c.build, s)
		require.NoError(t, err)
		for _, s.Trace = range []bool{false, true} {
			want := fly(t, c.build, s)
			assert.Equal(t, fmt.Sprintf("%x %x %+v", want.Summary, want.Ledger, want.Stats), fmt.Sprintf("%x %x %+v", got.Summary, got.Ledger, got.Stats), name)
			assert.Equal(t, want.Status, got.Status, name)
			assert.Equal(t, s.Trace, want.Trace != nil)
		}
		assert.Nil(t, got.Trace)
		assert.Same(t, c.build, got.Build)
		assert.Zero(t, testing.AllocsPerRun(3, func() { _, _ = f.Fly(context.Background(), c.build, s) }), name)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := f.Fly(ctx, build(t, ""), flight.Settings{})
	assert.ErrorIs(t, err, context.Canceled)
}

// Up to the muzzle a flight that ends there is the same as one that goes on, on steps of
// the same tolerance.
func TestToMuzzle(t *testing.T) {
	for name, c := range shots(t) {
		s := flight.Settings{ReleaseSpeed: c.speed}.Steps(3e-7)
		whole := fly(t, c.build, s)
		s.ToMuzzle = true
		part := fly(t, c.build, s)
		if whole.Status == flight.PelletStuck {
			assert.Equal(t, fmt.Sprintf("%x", whole.Summary), fmt.Sprintf("%x", part.Summary), name)
			continue
		}
		assert.Equal(t, flight.Done, part.Status, name)
		assert.Equal(t, whole.Summary.TimeToMuzzle, part.Summary.TimeToMuzzle, name)
		assert.Equal(t, whole.Summary.MuzzleVelocity, part.Summary.MuzzleVelocity, name)
		assert.Equal(t, whole.Ledger.Pellet, part.Ledger.Pellet, name)
		assert.Equal(t, part.Summary.TimeToMuzzle, part.Summary.Duration, name)
		assert.True(t, math.IsNaN(part.Summary.TimeToHome), name)
		assert.LessOrEqual(t, part.Stats.Steps, whole.Stats.Steps, name)
		assert.LessOrEqual(t, math.Abs(part.Ledger.Residual), 1e-5*whole.Ledger.Spring, "the books close on the way, too: %s", name)
		s.Trace = true
		assert.Equal(t, part.Summary.Duration, fly(t, c.build, s).Trace.Duration(), name)
	}
}

// What is watched is what the trace says of that time.
func TestWatch(t *testing.T) {
	for name, c := range shots(t) {
		s := flight.Settings{ReleaseSpeed: c.speed, Tolerance: 1e-5, Trace: true}
		whole := fly(t, c.build, s)
		assert.True(t, math.IsNaN(whole.Watched.Travel) && math.IsNaN(whole.Watched.Speed), name)
		end := whole.Trace.Duration()
		times := []float64{1e-9, end * 0.2, end * 0.5, end * 0.77, end, end * 1.5, 2 * 10}
		for _, e := range whole.Trace.Events {
			times = append(times, math.Nextafter(e.Time, 0), e.Time, math.Nextafter(e.Time, 1))
		}
		for _, at := range effort.Some(times) {
			if at <= 0 {
				continue
			}
			for _, s.Trace = range []bool{false, true} {
				s.Watch = at
				r := fly(t, c.build, s)
				p := whole.Trace.At(at)
				if at >= end { // the trace's end is that before the last event
					p.Travel, p.Speed = 0, 0
				}
				b := c.build.Geometry()
				assert.InDelta(t, p.Travel, r.Watched.Travel, 1e-10*b.Stroke, "%s at %v", name, at)
				assert.InDelta(t, p.Speed, r.Watched.Speed, 1e-9*(1+math.Abs(p.Speed)), "%s at %v", name, at)
				assert.Equal(t, fmt.Sprintf("%x", whole.Summary), fmt.Sprintf("%x", r.Summary), "watching changes nothing")
			}
		}
	}
	b := build(t, "")
	for _, s := range []flight.Settings{{Watch: -1}, {Watch: math.NaN()}, {Watch: math.Inf(1)}} {
		_, err := flight.Simulate(context.Background(), b, s)
		assert.ErrorContains(t, err, "watch")
	}
}

// Builds about the demo keep the promised accuracy. That of the impact of a piston
// that comes home at a crawl hangs on events being met by the steps, not only by their
// polynomials.
func TestNearBuildsKeepTheTolerance(t *testing.T) {
	demo := build(t, "")
	for i := range effort.Of(120) {
		rnd := rand.New(rand.NewPCG(uint64(i), 77))
		b := nearBuild(t, demo, rnd)
		if i >= effort.Of(60) {
			b = some(b, rnd)
		}
		s := flight.Settings{ReleaseSpeed: 4 * rnd.Float64(), Tolerance: 1e-9, Trace: true}
		truth := fly(t, b, s)
		if truth.Summary.MuzzleVelocity < 5 {
			continue // hangs on every rounding
		}
		for _, s.Tolerance = range []float64{3e-4, 1e-5} {
			compare(t, truth, fly(t, b, s), s.Tolerance, fmt.Sprintf("near %d at %g", i, s.Tolerance))
		}
	}
}

// No pressure of the course lies above the peak by more than a fifth of the tolerance, as
// exact as polynomials between steps are, and one comes up to it; those before events included, where steps end
// that were to be longer.
func TestPeaksAreThoseOfTheCourse(t *testing.T) {
	all := shots(t)
	demo := build(t, "")
	for i := range effort.Of(250) {
		rnd := rand.New(rand.NewPCG(uint64(i), 78))
		all[fmt.Sprint("near ", i)] = shot{nearBuild(t, demo, rnd), 4 * rnd.Float64()}
	}
	for name, c := range all {
		r := fly(t, c.build, flight.Settings{ReleaseSpeed: c.speed, Tolerance: 1e-4, Trace: true})
		var one, two float64
		for _, p := range r.Trace.Sample(20_000) {
			one, two = max(one, p.Pressure), max(two, p.BarrelPressure)
		}
		assert.LessOrEqual(t, one, r.Summary.PeakPressure*(1+2e-5), name)
		assert.LessOrEqual(t, two, r.Summary.PeakBarrelPressure*(1+2e-5), name)
		assert.InEpsilon(t, one, r.Summary.PeakPressure, 1e-3, name)
		assert.InEpsilon(t, two, r.Summary.PeakBarrelPressure, 1e-3, name)
	}
}

// A port that the piston uncovers for an instant on its run-on is shut again, however
// soon that comes after: one that ends at the stroke, and one a little below the top.
func TestPortUncoveredForAnInstant(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 79))
	demo := build(t, "")
	balance := func(b *drivetrain.Build, s flight.Settings) (opened, open int) {
		s.Trace = true
		for _, e := range fly(t, b, s).Trace.Events {
			switch e.Kind {
			case flight.PortOpens:
				opened++
				open++
			case flight.PortShuts:
				open--
			}
		}
		return opened, open
	}
	opened := 0
	for i := range 60 {
		b := *nearBuild(t, demo, rnd)
		b.Piston.Spacer = 0
		b.Cylinder.Port = b.Geometry().Stroke
		s := flight.Settings{Tolerance: 1e-3, ReleaseSpeed: math.Pow(10, -10+9*rnd.Float64())}
		_, open := balance(&b, s)
		assert.Equal(t, -1, open, "build %d at %g m/s: it is open at first", i, s.ReleaseSpeed)
		if i%6 > 0 {
			continue
		}
		b.Cylinder.Port = 0.2 // out of reach
		s.ReleaseSpeed = 0.3 + 2*rnd.Float64()
		top := fly(t, &b, s).Summary.MostRearward
		for range 60 {
			below := math.Pow(10, -12+5*rnd.Float64())
			b.Cylinder.Port = top - below
			n, open := balance(&b, s)
			assert.Zero(t, open, "build %d, %g m below the top", i, below)
			opened += n
		}
	}
	assert.Greater(t, opened, 50)
}

// A piston without preload creeps up to its stop; one that a rounding takes there has
// an impact of next to nothing, but never a negative one.
func TestImpactIsNotNegative(t *testing.T) {
	demo := build(t, "")
	arrived := 0
	for i := range 60 {
		rnd := rand.New(rand.NewPCG(uint64(i), 80))
		b := nearBuild(t, demo, rnd)
		b.Spring.Preload, b.Piston.Spacer = 0, 0
		r := fly(t, b, flight.Settings{ReleaseSpeed: 4 * rnd.Float64(), Tolerance: 1e-4})
		if v := r.Summary.PistonImpact; !math.IsNaN(v) {
			assert.GreaterOrEqual(t, v, 0., "build %d", i)
			arrived++
		}
	}
	assert.Greater(t, arrived, 10)
}

// The events of a course follow each other, also where a bounce is too low for the
// tolerance to tell when the piston turns in it.
func TestEventsAreInOrder(t *testing.T) {
	demo := build(t, "")
	for i := range 300 {
		rnd := rand.New(rand.NewPCG(uint64(i), 81))
		b := nearBuild(t, demo, rnd)
		b.Piston.Drag, b.Spring.Preload, b.Piston.Spacer = 0, 0, 0
		b.Cylinder.Nozzle = min(2*b.Cylinder.Nozzle, b.Cylinder.Bore)
		r := fly(t, b, flight.Settings{ReleaseSpeed: 4 * rnd.Float64(), Tolerance: 1e-4, Trace: true})
		last := 0.
		for _, e := range r.Trace.Events {
			assert.GreaterOrEqual(t, e.Time, last, "build %d: %v", i, e.Kind)
			last = e.Time
		}
		assert.LessOrEqual(t, last, r.Trace.Duration(), "build %d", i)
	}
}
