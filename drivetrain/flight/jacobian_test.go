package flight

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// someGun is a gun of usual size, made by hand.
func someGun() *gun {
	g := &gun{
		stroke: 0.05, rate: 680, preload: 0.045, moving: 0.032, drag: 5, clear: 2.5e-3,
		piston: math.Pi / 4 * 23.8e-3 * 23.8e-3, dead: 1e-6, hasPort: true, port: 0.036,
		bore: math.Pi / 4 * 6.05e-3 * 6.05e-3, breech: 0.25e-6, length: 0.37,
		pellet: 0.2e-3, hop: 1, hopEnd: 0.01, friction: 0.02,
		nozzle: 14e-6, leak: 1e-6, leakPort: 17e-6, gap: 0.75e-6, muzzle: 23e-6,
	}
	g.ambient(101325, 293.15)
	return g
}

// The Jacobian against central differences, in every mode, at random states whose
// pressures lie on either side of each other and of the kinks.
func TestJacobian(t *testing.T) {
	g := someGun()
	rnd := rand.New(rand.NewPCG(1, 2))
	visited := map[string]bool{}
	for code := range 32 {
		m := unpack(code)
		if m.pellet > out {
			continue
		}
		assert.Equal(t, code, m.code())
		m.follow(g)
		for range 60 {
			y := someState(rnd, g, &mode{pellet: sliding})
			p1, p2 := g.pressure1(y[:]), g.pressure2(y[:])
			ratios := []float64{p1 / p2, p1 / g.pressure, p2 / g.pressure}
			kink := false
			for _, r := range ratios {
				r = min(r, 1/r)
				kink = kink || math.Abs(r-1) < 1e-5 || math.Abs(r-straight) < 1e-5 || math.Abs(r-CriticalRatio) < 1e-5
				switch {
				case r < CriticalRatio:
					visited["choked"] = true
				case r > straight:
					visited["straight"] = true
				default:
					visited["smooth"] = true
				}
			}
			if kink {
				continue
			}
			var f [states * states]float64
			m.jacobian(g, f[:], y[:])
			var size, up, down [states]float64
			m.derive(g, size[:], y[:])
			scale := [states]float64{0.05, 10, y[mass1], y[energy1], y[mass2], y[energy2], 0.37, 100, 1, 1}
			for j := range states - passive {
				const step = 1e-7
				d := step * scale[j]
				z := y
				z[j] = y[j] + d
				m.derive(g, up[:], z[:])
				z[j] = y[j] - d
				m.derive(g, down[:], z[:])
				for i := range states {
					want := (up[i] - down[i]) / (2 * d)
					got := f[i*states+j]
					// Rounding of the values, and the third derivative, which is large
					// where pressures are nearly equal.
					noise := 1e-14*(math.Abs(up[i])+math.Abs(size[i])+reach(g, &m, y[:], i))/d + 2e-5*math.Abs(want)
					if !assert.InDelta(t, want, got, noise, "%v: d(%s)/d(%s)", &m, stateNames[i], stateNames[j]) {
						return
					}
				}
			}
			for i := range states {
				for j := states - passive; j < states; j++ {
					assert.Zero(t, f[i*states+j], "passive column")
				}
			}
		}
	}
	assert.Len(t, visited, 3, fmt.Sprint(visited))
}

// reach is the size of the terms that the derivative of state i is the sum of.
func reach(g *gun, m *mode, y []float64, i int) float64 {
	_, one := g.cylinder(y)
	_, two := g.barrel(y)
	areas := g.nozzle + m.leak + m.front
	switch w := one.w + two.w + g.jet; i {
	case mass1, mass2:
		return areas * w
	case energy1, energy2, sumEnthalpy:
		return areas*w*(one.h+two.h) + one.p*g.piston*math.Abs(y[speed]) + two.p*g.bore*y[fast]
	case speed:
		return 2 * one.p * g.piston / g.moving
	case fast:
		return 2 * two.p * g.bore / g.pellet
	}
	return 0
}
