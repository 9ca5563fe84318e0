package flight

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The published rows by the flow functions that flights are computed with: throats, of
// the stages, in each of its three places, and throttle, of the points.
func TestThroatsOfNACA1135(t *testing.T) {
	psi := func(r float64) (all [4]float64) {
		u1, t1, u2, t2, u3, t3 := throats(r, r, r)
		mass, _ := throttle(1, r)
		return [4]float64{math.Sqrt(u1) * t1, math.Sqrt(u2) * t2, math.Sqrt(u3) * t3, mass}
	}
	// Choked: the flow doesn't know what lies downstream, and is A·p0/√T0 times the
	// mass-flow factor, 0.0404147 √K·s/m at R 287.053 (NACA 1135 relations, recomputed).
	for _, r := range []float64{0, 0.1, 0.3, 0.5, 0.5282817} {
		for i, v := range psi(r) {
			assert.InEpsilon(t, 0.0404147, v/math.Sqrt(287.053), 1e-6, "place %d at %g", i, r)
		}
		_, e := throttle(1, r)
		assert.Zero(t, e)
	}
	for i, v := range psi(0.5383) {
		assert.Less(t, v, psi(0.5)[i], "just above it is choked no more")
	}
	// Subsonic rows of NACA Report 1135: the area follows from the flow at the throat over
	// that at the Mach number's pressure.
	for _, c := range []struct{ mach, pressure, area, digit float64 }{{.5, .8430, 1.3398, 5e-5}, {.9, .5913, 1.0089, 5e-5}} {
		for i, v := range psi(c.pressure) {
			// A/A* by a printed pressure is as good as its last digit.
			slope := math.Abs(psi(c.pressure + c.digit)[i]/v - 1)
			assert.InDelta(t, c.area, psi(CriticalRatio)[i]/v, c.digit+c.area*slope, "Mach %g, place %d", c.mach, i)
		}
	}
	// Textbook flows, choked (Gas Dynamics, Murugaperumal Ex 2.5 and 2.1; recomputed).
	for _, c := range []struct{ area, pressure, temperature, want float64 }{{25e-4, 8e5, 288, 4.7634}, {math.Pi / 4 * 1e-4, 2e5, 622.2, 0.025453}} {
		density := c.pressure / (GasConstant * c.temperature)
		mass, _ := throttle(c.area*c.area*c.pressure*density, 0.4)
		assert.InEpsilon(t, c.want, mass, 2e-3)
		u1, t1, u2, t2, u3, t3 := throats(0.4, 0.4, 0.4)
		for _, v := range []float64{math.Sqrt(u1) * t1, math.Sqrt(u2) * t2, math.Sqrt(u3) * t3} {
			assert.InEpsilon(t, c.want, v*math.Sqrt(c.area*c.area*c.pressure*density), 2e-3)
		}
	}
}

// A vessel that empties through each of the three openings in turn, first choked and then
// not, by the Flyer's own steps: T/T0 = (1 + (γ−1)/2·Ψ*·√(R·T0)·A·t/V)⁻² as long as it is
// choked, and p/p0 = (T/T0)^3.5 to the end (thermodynamics textbooks, from memory). Through
// the leak it is the cylinder, through nozzle and gap the barrel.
func TestBlowdownThroughEachOpening(t *testing.T) {
	const p0, area = 6e5, 1e-6
	for _, c := range []struct {
		name string
		open func(g *gun)
		from int // the volume that empties, 1 or 2
	}{
		{"leak", func(g *gun) { g.leak, g.leakPort = area, area }, 1},
		{"gap", func(g *gun) { g.gap = area }, 2},
		{"nozzle, forwards", func(g *gun) { g.nozzle, g.breech = area, 1 }, 1},
		{"nozzle, backwards", func(g *gun) { g.nozzle, g.dead = area, 1 }, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			g := closed()
			c.open(g)
			p1, p2, volume := p0, g.pressure, g.dead
			if c.from == 2 {
				p1, p2, volume = g.pressure, p0, g.breech
			}
			f := seated(g, p1, p2)
			rate := (Gamma - 1) / 2 * math.Sqrt(Gamma) * math.Pow(5./6, 3) * math.Sqrt(GasConstant*g.temperature) * area / volume
			choked, after := 0, 0
			f.until(t, func(y []float64) bool {
				_, from := g.cylinder(y)
				if c.from == 2 {
					_, from = g.barrel(y)
				}
				p, T := from.p, from.h/cp/g.temperature
				assert.InEpsilon(t, math.Pow(T, 3.5), p/p0, 1e-7)
				// What it empties into hardly changes.
				if p*CriticalRatio > 1.01*g.pressure {
					assert.InEpsilon(t, math.Pow(1+rate*f.t, -2), T, 1e-7)
					choked++
				} else {
					after++
				}
				return p < 1.02*g.pressure
			})
			assert.Greater(t, choked, 10)
			assert.Greater(t, after, 10)
		})
	}
}
