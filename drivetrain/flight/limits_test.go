package flight

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The limit cases are runs of the same equations, modes and integrator as every
// shot, on guns made by hand with openings of no area, and from other starts than
// ambient.

// closed is a gun without any opening, whose piston is held home by its spring
// and whose pellet by its hop.
func closed() *gun {
	g := someGun()
	g.hasPort = false
	g.nozzle, g.leak, g.gap = 0, 0, 0
	g.preload, g.rate = 0.1, 1e4
	g.hop, g.hopEnd = 1e9, 1
	g.drag = 0
	return g
}

// released is a flyer of a gun at the release.
func released(g *gun, s Settings) *Flyer {
	f := &Flyer{gun: *g}
	f.load(&f.gun, &s)
	f.prepare(&s, s.tolerance()/mostShare)
	f.mode.follow(g)
	return f
}

// seated is a flyer of a gun with the piston seated and given pressures [Pa], all at
// the gun's temperature.
func seated(g *gun, p1, p2 float64) *Flyer {
	s := Settings{}
	f := &Flyer{gun: *g}
	f.load(&f.gun, &s)
	f.mode.seated = true
	f.y[travel] = 0
	g.fill(f.y[:], p1, g.temperature, p2, g.temperature)
	f.prepare(&s, s.tolerance()/mostShare)
	f.mode.follow(g)
	return f
}

// until steps in the present mode to the first step's end at which done holds.
func (f *Flyer) until(t *testing.T, done func(y []float64) bool) []float64 {
	f.enter()
	for n := range mostSteps {
		stopped, on, err := f.stride(mostSteps, n == 0)
		require.NoError(t, err)
		require.True(t, on, "another mode: %v", stopped)
		if y := f.step.near.y[:]; done(y) {
			return y
		}
	}
	t.Fatal("it does not come to that")
	return nil
}

func (g *gun) temperature2(y []float64) float64 {
	_, two := g.barrel(y)
	return two.h / cp
}

// Rohrbach, Buresh & Madsen, Am. J. Phys. 80, 24 (2012), adiabatic gun from a
// closed chamber, no valve: the chamber is the room behind the pellet, and all
// openings but the muzzle are shut.
func TestAdiabaticGun(t *testing.T) {
	const p0, V0 = 6e5, 20e-6
	for _, c := range []struct {
		name  string
		force float64 // friction [N]
		want  float64 // [m/s]; 0: the formula alone
	}{{"no friction", 0, 194.367}, {"friction", 2, 0}} {
		t.Run(c.name, func(t *testing.T) {
			g := closed()
			g.bore, g.length, g.pellet, g.breech = math.Pi/4*36e-6, 0.4, 0.2e-3, V0
			g.hop, g.friction = 0, c.force
			r := seated(g, g.pressure, p0)
			status, err := r.fly(context.Background(), &Settings{})
			require.NoError(t, err)
			assert.Equal(t, Done, status)
			AL := g.bore * g.length
			v := math.Sqrt(2 / g.pellet * (p0*V0/(Gamma-1)*(1-math.Pow(V0/(V0+AL), Gamma-1)) - g.pressure*AL - c.force*g.length))
			assert.InEpsilon(t, v, r.summary.MuzzleVelocity, 1e-9, "the formula")
			if c.want != 0 {
				assert.InEpsilon(t, c.want, r.summary.MuzzleVelocity, 1e-3, "the paper's example")
				assert.InEpsilon(t, c.want, v, 3e-6)
			}
			l := r.ledger()
			assert.InEpsilon(t, c.force*g.length+1e-300, l.Barrel+1e-300, 1e-12)
			assert.InDelta(t, 0, l.Residual, 1e-8*l.Pellet)
			assert.InEpsilon(t, p0, r.summary.PeakBarrelPressure, 1e-12)
		})
	}
}

// Filling an evacuated insulated tank: T → γ·T0, 293.15 → 410.41 K (thermodynamics
// textbooks; recomputed). The tank is the barrel behind a held pellet, filled
// through the gap around it. A trace of air in it at the start counts.
func TestFillingATank(t *testing.T) {
	g := closed()
	g.gap = 1e-6
	const start = 1e-9 // of the ambient pressure
	r := seated(g, g.pressure, start*g.pressure)
	y0 := r.y
	y := r.until(t, func(y []float64) bool { return g.pressure2(y) > (1-1e-7)*g.pressure })
	T := g.temperature2(y)
	assert.InEpsilon(t, 410.41, T, 1e-4)
	// Energy: what came in brought its enthalpy.
	assert.InEpsilon(t, cp*g.temperature*(y[mass2]-y0[mass2]), y[energy2]-y0[energy2], 1e-12)
	assert.InEpsilon(t, Gamma*g.temperature, T, 1e-6)
}

// Emptying a vessel through a choked orifice, adiabatic, closed form (thermodynamics
// textbooks, from memory): T/T0 = (1 + (γ−1)/2·Ψ*·√(R·T0)·A·t/V)⁻², p/p0 = (T/T0)^3.5.
func TestBlowdown(t *testing.T) {
	g := closed()
	g.ambient(300, 293.15)
	g.gap = 1e-6
	const p0 = 6e5
	r := seated(g, g.pressure, p0)
	rate := (Gamma - 1) / 2 * math.Sqrt(Gamma) * math.Pow(5./6, 3) * math.Sqrt(GasConstant*g.temperature) * g.gap / g.breech
	seen := 0
	r.enter()
	for {
		_, on, err := r.stride(mostSteps, seen == 0)
		require.NoError(t, err)
		require.True(t, on)
		y := r.step.near.y[:]
		p := g.pressure2(y)
		if p*CriticalRatio < g.pressure {
			break
		}
		T := math.Pow(1+rate*r.t, -2)
		require.InDelta(t, T, g.temperature2(y)/g.temperature, 1e-9)
		require.InDelta(t, math.Pow(T, 3.5), p/p0, 1e-9)
		seen++
	}
	assert.Greater(t, seen, 20)
}

// Two closed volumes over the nozzle: mass and energy stay, the pressures end at
// the mean by volume, and what is left in the first has expanded isentropically.
func TestTwoVolumes(t *testing.T) {
	for name, p := range map[string][2]float64{"forwards": {5e5, 1e5}, "backwards": {1e5, 5e5}} {
		t.Run(name, func(t *testing.T) {
			g := closed()
			g.nozzle = 1e-6
			r := seated(g, p[0], p[1])
			y0 := r.y
			mean := (p[0]*g.dead + p[1]*g.breech) / (g.dead + g.breech)
			y := r.until(t, func(y []float64) bool {
				assert.InEpsilon(t, y0[mass1]+y0[mass2], y[mass1]+y[mass2], 1e-13)
				assert.InEpsilon(t, y0[energy1]+y0[energy2], y[energy1]+y[energy2], 1e-13)
				return math.Abs(g.pressure1(y)-mean) < 1e-8*mean
			})
			assert.InEpsilon(t, mean, g.pressure2(y), 1e-7)
			_, one := g.cylinder(y)
			left, high := one.h/cp, p[0]
			if p[1] > p[0] {
				left, high = g.temperature2(y), p[1]
			}
			assert.InEpsilon(t, g.temperature*math.Pow(mean/high, (Gamma-1)/Gamma), left, 1e-7)
		})
	}
}

// A piston without drag and air: a quarter of a cosine about the loose spring's
// end.
func TestPistonInVacuum(t *testing.T) {
	for _, release := range []float64{0, 1.5} {
		g := someGun()
		g.drag = 0
		g.ambient(1e-7, 293.15)
		s := Settings{ReleaseSpeed: release}
		r := released(g, s)
		status, err := r.fly(context.Background(), &Settings{})
		require.NoError(t, err)
		assert.Equal(t, PelletStuck, status, "nothing frees it")
		w := math.Sqrt(g.rate / g.moving)
		far := math.Hypot(g.stroke+g.preload, release/w)
		late := math.Atan2(release/w, g.stroke+g.preload) // rad until the piston turns
		assert.InEpsilon(t, (math.Acos((g.clear+g.preload)/far)+late)/w, r.summary.TimeToHome, 1e-9)
		assert.InEpsilon(t, w*math.Sqrt(far*far-g.preload*g.preload), r.summary.PistonImpact, 1e-9)
		assert.InEpsilon(t, far-g.preload, r.summary.MostRearward, 1e-9)
		l := r.ledger()
		assert.InEpsilon(t, l.Spring+l.Kinetic, l.Impact, 1e-9)
		assert.True(t, math.IsNaN(r.summary.MuzzleVelocity))
	}
}

// A piston on the air of a sealed cylinder: p·V^γ and the sum of kinetic, spring
// and air's energy stay through many bounces.
func TestSealedCylinder(t *testing.T) {
	g := someGun()
	g.hasPort, g.nozzle, g.leak, g.gap, g.drag = false, 0, 0, 0, 0
	s := Settings{Trace: true}
	r := released(g, s)
	y0 := r.y
	V0 := g.piston*g.stroke + g.dead
	most := g.springEnergy(g.stroke)
	turns := 0
	r.until(t, func(y []float64) bool {
		V, one := g.cylinder(y)
		require.InEpsilon(t, g.pressure*math.Pow(V0/V, Gamma), one.p, 1e-9)
		require.InEpsilon(t, g.temperature*math.Pow(V0/V, Gamma-1), one.h/cp, 1e-9)
		gain := y[energy1] - y0[energy1] + g.pressure*(V-V0)
		require.InDelta(t, most, g.springEnergy(y[travel])+g.moving*y[speed]*y[speed]/2+gain, 1e-9*most)
		return r.t > 0.2
	})
	for _, e := range r.trace.Events {
		if e.Kind == Turn {
			turns++
			require.InEpsilon(t, g.stroke, r.trace.At(e.Time).Travel, 1e-9, "it comes back to where it started")
		}
	}
	assert.Greater(t, turns, 5)
}

// Through a whole shot, each volume's mass and energy change by what the openings
// pass and by the work at piston and pellet, summed from the trace by Simpson's
// rule over the integrator's own steps.
func TestEachVolumeIsConserved(t *testing.T) {
	g := someGun()
	s := Settings{Trace: true, ReleaseSpeed: 1}
	r := released(g, s)
	status, err := r.fly(context.Background(), &Settings{})
	require.NoError(t, err)
	require.Equal(t, Done, status)
	path := &r.trace.path
	var sums [4]float64 // masses and energies of both
	var y [states]float64
	rates := func(segment int, at float64) (d [4]float64) {
		_, _, code := path.Segment(segment)
		m := unpack(code)
		m.follow(g)
		path.AtSegment(y[:], segment, at)
		p := r.trace.point(segment, at)
		heat := func(flow, from, to float64) float64 { // with the upstream side's temperature
			if flow < 0 {
				from = to
			}
			return flow * cp * from
		}
		jet := heat(p.NozzleFlow, p.Temperature, p.BarrelTemperature)
		d[0] = -p.NozzleFlow - p.LeakFlow
		d[1] = -jet - heat(p.LeakFlow, p.Temperature, g.temperature) - p.Pressure*g.piston*p.Speed
		d[2] = p.NozzleFlow - p.FrontFlow
		d[3] = jet - heat(p.FrontFlow, p.BarrelTemperature, g.temperature)
		if m.pellet == sliding {
			d[3] -= p.BarrelPressure * g.bore * p.PelletSpeed
		}
		return d
	}
	for i := range path.Len() {
		t0, t1, _ := path.Segment(i)
		a, b, c := rates(i, t0), rates(i, (t0+t1)/2), rates(i, t1)
		for k := range sums {
			sums[k] += (t1 - t0) / 6 * (a[k] + 4*b[k] + c[k])
		}
	}
	for k, i := range []int{mass1, energy1, mass2, energy2} {
		assert.InDelta(t, r.y[i]-r.start[i], sums[k], 1e-8*max(math.Abs(r.start[i]), math.Abs(sums[k])), stateNames[i])
	}
}

// A piston that is held by drag far above the spring's force creeps: with the
// tanh of equation E1, at 0.05 m/s·artanh(F/Ff).
func TestCreepingPiston(t *testing.T) {
	g := someGun()
	g.drag = 100
	s := Settings{Trace: true}
	r := released(g, s)
	status, err := r.fly(context.Background(), &Settings{})
	require.NoError(t, err)
	assert.Equal(t, PelletStuck, status)
	p := r.trace.At(r.summary.TimeToHome / 2)
	force := p.SpringForce - (p.Pressure-g.pressure)*g.piston
	assert.InEpsilon(t, -0.05*math.Atanh(force/g.drag), p.Speed, 1e-3, "but for its inertia")
}
