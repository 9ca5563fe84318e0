package flight

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// loaded is a gun without air in front of its piston or drag, whose spring, of a mass
// [kg], presses with 64.78 N on a piston of 26 g at the release.
func loaded(springMass float64) *gun {
	g := closed()
	g.piston, g.drag = 1e-14, 0 // which air presses on with a nanonewton
	g.rate, g.preload, g.stroke = 680, 0, 64.78052807/680
	g.moving, g.riding = 26e-3, springMass/3
	g.impedance, g.delay = math.Sqrt(g.rate*springMass), 2*math.Sqrt(springMass/g.rate)
	return g
}

// A spring released on a mass: up to 2τ the speed is −(F/Z)·(1 − e^(−Z·t/mp)). Source:
// the impact of a mass on a bar, St. Venant (from memory); values recomputed.
func TestReleasedSpring(t *testing.T) {
	g := loaded(18e-3)
	assert.InEpsilon(t, 3.49857114, g.impedance, 1e-8)
	assert.InEpsilon(t, 10.28991511e-3, g.delay, 1e-9)
	for _, explicit := range []bool{false, true} {
		var trace *Trace
		s := Settings{Trace: true}
		if explicit {
			s = s.Within(20000)
			s.steps = 300 // far enough
			r := newRun(g, &s)
			require.NoError(t, r.prepare(&s, true))
			_, err := r.fly(context.Background())
			require.NoError(t, err)
			trace = r.trace
			require.Greater(t, trace.Duration(), g.delay)
		} else {
			f := released(g, s)
			_, err := f.fly(context.Background(), &s)
			require.NoError(t, err)
			trace = f.trace
		}
		for _, c := range []struct{ time, want float64 }{{1e-3, -2.33119879}, {5e-3, -9.06785440}, {g.delay, -13.87943251}} {
			p := trace.At(c.time)
			assert.InEpsilon(t, c.want, p.Speed, 1e-7, "at %g s", c.time)
			v := -64.78052807 / g.impedance * -math.Expm1(-g.impedance*c.time/g.moving)
			assert.InEpsilon(t, v, p.Speed, 1e-8)
			assert.InEpsilon(t, 64.78052807+g.impedance*v, p.SpringForce, 1e-8, "the spring's force is that of its end")
		}
	}
}

// The spring as a chain of many masses, which no wave equation was solved for: speed
// and force agree over several reflections, the better the more there are.
func TestSpringAgainstAChain(t *testing.T) {
	const speed, mass, until = 1.5, 2e-3, 9.5e-3 // not quite at the stop, 2.8 times 2τ
	g := loaded(mass)
	s := Settings{Trace: true, ReleaseSpeed: speed}
	f := released(g, s)
	_, err := f.fly(context.Background(), &s)
	require.NoError(t, err)
	off := func(n int) float64 {
		// Place and speed of each mass, from the piston to the one next to the rear, which
		// is fixed; each link of the chain lies between the middles of two pieces.
		k, m := g.rate*float64(n), mass/float64(n)
		y := make([]float64, 2*n)
		for i := range n {
			share := 1 - float64(i)/float64(n)
			y[i], y[n+i] = (g.preload+g.stroke)*share, speed*share
		}
		solver, err := ode.New(ode.Problem{
			Deriv: func(dy []float64, _ float64, y []float64) {
				copy(dy[:n], y[n:])
				for i := range n {
					force, moved := 0., m
					if i == 0 {
						moved = g.moving + m/2
					} else {
						force += k * (y[i-1] - y[i])
					}
					next := 0.
					if i+1 < n {
						next = y[i+1]
					}
					dy[n+i] = (force - k*(y[i]-next)) / moved
				}
			},
			T1: until, Y0: y,
		}, ode.Settings{RelTol: 1e-9, AbsTol: []float64{1e-10}, MaxSteps: 1e6})
		require.NoError(t, err)
		worst := 0.
		for solver.Status() == ode.Running {
			require.NoError(t, solver.Step())
			p := f.trace.At(solver.T())
			worst = max(worst, math.Abs(solver.Y()[n]-p.Speed))
		}
		return worst
	}
	coarse, fine := off(24), off(96)
	t.Logf("off by %.1e and %.1e m/s", coarse, fine)
	assert.Less(t, fine, 5e-4, "4e-5 of the speed")
	assert.Less(t, fine, coarse/4)
}

// A pellet that a constant force pushes against still air in front of it: v² =
// (2F/ρaAb)·ln(1 + ρaAbL/mb) (derived; values recomputed).
func TestPelletAgainstStillAir(t *testing.T) {
	for _, c := range []struct{ column, want float64 }{{1, 133.909585}, {0, 136.014705}} {
		g := closed()
		g.bore, g.length, g.pellet = math.Pi/4*6.05e-3*6.05e-3, 0.37, 0.2e-3
		g.hop, g.friction = 0, 0
		g.breech = 1e5 // so that the pressure stays
		assert.InEpsilon(t, 1.20411832, g.density(), 1e-8)
		g.column = c.column * g.density() * g.bore
		r := seated(g, g.pressure, g.pressure+5/g.bore)
		_, err := r.fly(context.Background(), &Settings{})
		require.NoError(t, err)
		assert.InEpsilon(t, c.want, r.summary.MuzzleVelocity, 1e-8*100)
		l := r.ledger()
		assert.InEpsilon(t, 5*g.length, r.y[sumColumn]+l.Pellet, 1e-6, "what the air in front takes is in the books")
	}
}

// The adiabatic gun (TestAdiabaticGun) with a third of the gas moving as the pellet
// does, in energy and momentum. Source: Lagrange's approximation (from memory); value
// recomputed.
func TestLagrangeGun(t *testing.T) {
	for _, c := range []struct{ share, want float64 }{{0, 194.367024}, {1. / 3, 174.710645}} {
		g := closed()
		g.bore, g.length, g.pellet, g.breech = math.Pi/4*36e-6, 0.4, 0.2e-3, 20e-6
		g.hop, g.friction = 0, 0
		g.kinetic, g.inert = c.share, c.share
		r := seated(g, g.pressure, 6e5)
		_, err := r.fly(context.Background(), &Settings{})
		require.NoError(t, err)
		assert.InEpsilon(t, c.want, r.summary.MuzzleVelocity, 1e-8)
		assert.InDelta(t, 0, r.ledger().Residual, 1e-8)
	}
}

// Source: Carslaw and Jaeger, Conduction of Heat in Solids (from memory): into a half
// space, Q/A = 2λΔT·√(t/πa). Value recomputed.
func TestConduction(t *testing.T) {
	const conductivity, diffusivity, difference, end = 0.026, 2.2e-5, 100., 10e-3
	assert.InEpsilon(t, 62.548524, 2*end*Conduction(conductivity, diffusivity, difference, end), 1e-7, "the rate falls with √t")
	// A cylinder whose air hardly cools: the same by what makes the figures.
	g := with(walls)
	g.nozzle, g.leak, g.gap, g.hasPort = 0, 0, 0, false
	g.warm1, g.warm2, g.dead, g.bore1 = 1, 0, 1, 1e3
	g.preload, g.hop, g.hopEnd = 1, 1e9, 1
	s := Settings{}
	r := &Flyer{gun: *g}
	r.load(&r.gun, &s)
	r.mode.seated, r.y[travel] = true, 0
	g.fill(r.y[:], g.pressure, g.temperature+100, g.pressure, g.temperature)
	r.prepare(&s, s.tolerance()/mostShare)
	r.mode.follow(g)
	r.until(t, func(y []float64) bool { return true })
	for _, due := range []float64{thinLayer, end} {
		r.last = due
		for r.t < due {
			_, _, err := r.stride(mostSteps, false)
			require.NoError(t, err)
		}
		r.enter()
	}
	_, air := g.cylinder(r.y[:])
	film := g.temperature + 50
	a := Conductivity(film) / (air.p / (GasConstant * (g.temperature + 100)) * cp)
	// Up to 0.2 ms the rate is the one then: half of what the formula has by then.
	want := Conductivity(film) * 100 / math.Sqrt(math.Pi*a) * (2*math.Sqrt(end) - math.Sqrt(thinLayer))
	assert.InEpsilon(t, want*(2*g.piston+4*g.dead/g.bore1), r.y[sumWalls], 1e-4)
}

// V. Gnielinski's formula (from memory); values recomputed.
func TestGnielinski(t *testing.T) {
	for _, c := range []struct{ re, pr, want float64 }{{1e4, 0.7, 29.81741}, {5e4, 0.7, 104.18831}, {8e4, 0.71, 151.39508}} {
		assert.InEpsilon(t, c.want, Nusselt(c.re, c.pr), 1e-6)
	}
	assert.Equal(t, 3.66, Nusselt(2300, 0.7))
	assert.Greater(t, Nusselt(2301, 0.7), 7.)
	rnd := rand.New(rand.NewPCG(4, 4))
	for range 1000 {
		re, share := 2300*math.Pow(1e3, rnd.Float64()), 1.02+0.38*rnd.Float64()
		nu, byRe, byShare := stirredNu(re, math.Log(re), share)
		assert.InEpsilon(t, gnielinski(re, prandtlC*share), nu, 2e-8, "the stages' own: %g", share)
		const d = 1e-5
		up, _, _ := stirredNu(re*(1+d), math.Log(re*(1+d)), share)
		down, _, _ := stirredNu(re*(1-d), math.Log(re*(1-d)), share)
		assert.InEpsilon(t, (up-down)/(2*d*re), byRe, 1e-7)
		up, _, _ = stirredNu(re, math.Log(re), share+d)
		down, _, _ = stirredNu(re, math.Log(re), share-d)
		assert.InEpsilon(t, (up-down)/(2*d), byShare, 1e-6)
	}
}

// Between 60 K and any heat, the power of the Prandtl number's share.
func TestTwoThirds(t *testing.T) {
	for T := 60.; T < 5000; T *= 1.01 {
		q := (T + conductivityS) / (T + viscosityS)
		tol := 2e-8
		if q > 1.1 && q < 1.3 {
			tol = 1e-13
		}
		assert.InEpsilon(t, math.Pow(q, 2./3), twoThirds(q), tol, "at %g K", T)
	}
}

// Dry air at 300 K has 1.846e-5 Pa·s and 0.0263 W/(m·K). Source: Incropera, Fundamentals
// of Heat and Mass Transfer, table A.4 (from memory).
func TestAirOfTables(t *testing.T) {
	assert.InEpsilon(t, 1.846e-5, Viscosity(300), 5e-3)
	assert.InEpsilon(t, 0.0263, Conductivity(300), 5e-3)
	assert.InEpsilon(t, 0.707, cp*Viscosity(300)/Conductivity(300), 1e-2)
}

// Smooth pipes: 0.0309 at Re 1e4 on the Moody chart, 64/Re below (textbooks).
func TestFriction(t *testing.T) {
	assert.InEpsilon(t, 0.0309, Friction(1e4), 0.03)
	assert.Equal(t, 64./2000, Friction(2000))
}

// A ring that passes the pressure on over 1.2 mm of a 23.8 mm bore, with a coefficient
// of 0.1, holds with 8.9724e-6 m² times the pressure (derived).
func TestPressedSeal(t *testing.T) {
	const area = 0.1 * math.Pi * 23.8e-3 * 1.2e-3
	assert.InEpsilon(t, 8.9724e-6, area, 1e-4)
	g := someGun()
	g.seal = area
	m := mode{}
	m.follow(g)
	y := [states]float64{travel: 0.02, speed: -3}
	for _, over := range []float64{2e5, -5e4} {
		g.fill(y[:], g.pressure+over, 300, g.pressure, 300)
		var dy [states]float64
		m.derive(g, &echo{}, dy[:], y[:])
		assert.InEpsilon(t, 3*(g.drag+area*max(over, 0)), dy[sumDrag], 1e-12, "the power of drag; none of the seal under a vacuum")
	}
}
