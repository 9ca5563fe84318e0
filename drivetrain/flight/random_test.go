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

// anyBuild changes what a flight depends on to anything that Validate allows,
// each magnitude as likely as another.
func anyBuild(t testing.TB, demo *drivetrain.Build, r *rand.Rand) *drivetrain.Build {
	t.Helper()
	span := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }
	orZero := func(lo, hi float64) float64 {
		if r.IntN(5) == 0 {
			return 0
		}
		return span(lo, hi)
	}
	for range 10000 {
		b := *demo
		b.Sector = drivetrain.NewSector(span(0.05e-3, 20e-3), 4+r.IntN(15), 24)
		b.Piston.Mass = span(0.1e-3, 10)
		b.Piston.Drag = orZero(1e-3, 1000)
		b.Piston.Clear = span(1e-6, 0.2)
		b.Piston.Spacer = orZero(1e-6, 0.1)
		b.Spring.Rate = span(1e-6, 1e7)
		b.Spring.Preload = orZero(1e-6, 2)
		b.Spring.Mass = orZero(1e-6, 10)
		c := &b.Cylinder
		c.Bore = span(1e-3, 0.5)
		c.DeadVolume = span(1e-9, 1e-2)
		c.Port = orZero(0.1e-3, 1)
		c.PortArea = span(1e-9, 0.01)
		c.Nozzle = span(0.1e-3, 0.1)
		c.Discharge = span(0.01, 1)
		c.SealLeak = orZero(1e-12, 1e-3)
		a := &b.Barrel
		a.Bore = span(1e-3, 0.1)
		a.Length = span(1e-3, 3)
		a.BreechVolume = span(1e-10, 1e-3)
		a.ClearanceDischarge = orZero(1e-6, 1)
		p := &b.Pellet
		p.Mass = span(0.01e-3, 0.1)
		p.Diameter = span(1e-3, 0.1)
		p.HopForce = orZero(1e-3, 1000)
		p.HopLength = orZero(1e-6, 1)
		p.BarrelDrag = orZero(1e-6, 1000)
		b.Ambient.Temperature = 213.15 + 140*r.Float64()
		b.Ambient.Pressure = span(20e3, 200e3)
		if b.Validate() == nil {
			return &b
		}
	}
	require.Fail(t, "no valid build found")
	return nil
}

// some has some of the effects beyond plain physics in a build, each on its own, as
// strong as the build file takes it.
func some(b *drivetrain.Build, r *rand.Rand) *drivetrain.Build {
	c := *b
	often := func() bool { return r.IntN(2) == 0 }
	c.Spring.Waves = often()
	c.Piston.SealArea = 0
	if often() {
		c.Piston.SealArea = 1e-6 * math.Pow(100, r.Float64())
	}
	c.Barrel.Air = drivetrain.StillAir
	if often() {
		c.Barrel.Air = drivetrain.MovingAir
	}
	c.Barrel.WallHeat, c.Cylinder.WallHeat = 0, 0
	if often() {
		c.Barrel.WallHeat = drivetrain.MostBarrelHeat * r.Float64()
	}
	if often() {
		c.Cylinder.WallHeat = drivetrain.MostCylinderHeat * r.Float64()
	}
	return &c
}

// nearBuild multiplies each figure that a flight depends on by up to three, either
// way.
func nearBuild(t testing.TB, demo *drivetrain.Build, r *rand.Rand) *drivetrain.Build {
	t.Helper()
	for range 10000 {
		b := *demo
		for _, v := range []*float64{
			&b.Piston.Mass, &b.Piston.Drag, &b.Piston.Clear, &b.Spring.Rate, &b.Spring.Preload, &b.Spring.Mass,
			&b.Cylinder.Bore, &b.Cylinder.DeadVolume, &b.Cylinder.Port, &b.Cylinder.PortArea, &b.Cylinder.Nozzle,
			&b.Cylinder.SealLeak, &b.Barrel.Length, &b.Barrel.BreechVolume,
			&b.Pellet.Mass, &b.Pellet.HopForce, &b.Pellet.HopLength, &b.Pellet.BarrelDrag,
		} {
			*v *= math.Pow(3, 2*r.Float64()-1)
		}
		b.Pellet.Diameter -= 0.1e-3 * r.Float64()
		b.Piston.Spacer = 3e-3 * r.Float64()
		if b.Validate() == nil {
			return &b
		}
	}
	require.Fail(t, "no valid build found")
	return nil
}

// Absurd but valid builds: a flight always ends with a status, what exists is a
// number, and the books close to what the energies that go about allow.
func TestAnyBuildEnds(t *testing.T) {
	demo := build(t, "")
	count := map[flight.Status]int{}
	for i := range 120 {
		rnd := rand.New(rand.NewPCG(uint64(i), 1))
		b := anyBuild(t, demo, rnd)
		if i >= 60 {
			b = some(b, rnd)
		}
		s := flight.Settings{Tolerance: 1e-5}.Within(5_000)
		if i%2 == 0 {
			s.ReleaseSpeed = 3 * rnd.Float64()
		}
		r, err := flight.Simulate(context.Background(), b, s)
		require.NoError(t, err, "build %d", i)
		count[r.Status]++
		checkSound(t, r, i)
		g, l := b.Geometry(), &r.Ledger
		given := l.Spring + l.Kinetic
		// The air's own energy is the larger by far in such builds; the residual is a
		// difference of it.
		air := b.Ambient.Pressure / (flight.Gamma - 1) * (b.Cylinder.Area()*g.Stroke + b.Cylinder.DeadVolume + b.Barrel.BreechVolume)
		spring := g.SpringEnergy(g.Stroke)
		assert.LessOrEqual(t, math.Abs(l.Residual), 1e-5*(math.Abs(given)+air+spring), "build %d, %v", i, r.Status)
	}
	assert.Greater(t, len(count), 2, "%v", count)
}

// checkSound looks whether what should exist is a number, and whether nothing
// contradicts the status.
func checkSound(t *testing.T, r *flight.Result, name any) {
	t.Helper()
	s, l := &r.Summary, &r.Ledger
	for _, v := range []float64{s.PeakPressure, s.PeakBarrelPressure, s.MostRearward, s.Duration, l.Spring, l.Kinetic, l.Residual} {
		assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%v: %+v %+v", name, s, l)
	}
	for _, row := range l.Rows() {
		assert.False(t, math.IsNaN(row.Energy), "%v: %s", name, row.Name)
	}
	exited := !math.IsNaN(s.TimeToMuzzle)
	assert.Equal(t, exited, !math.IsNaN(s.MuzzleVelocity), "%v", name)
	assert.Equal(t, exited, l.Pellet != 0, "%v", name)
	switch r.Status {
	case flight.Done:
		assert.True(t, exited, "%v", name)
		assert.False(t, math.IsNaN(s.TimeToHome), "%v", name)
		assert.LessOrEqual(t, s.TimeToHome, s.Duration, "%v", name)
	case flight.PelletStuck:
		assert.False(t, exited, "%v", name)
		assert.False(t, math.IsNaN(s.TimeToHome), "%v", name)
	}
	if r.Status == flight.Done || r.Status == flight.PelletStuck {
		assert.LessOrEqual(t, l.Stored, 1e-9*(l.Spring+l.Kinetic), "%v", name)
	}
}
