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

// The effects beyond equations E1 to E7, as bits.
const (
	waves = 1 << iota
	seal
	moving
	walls
	effects
)

// with is someGun with effects.
func with(bits int) *gun {
	g := someGun()
	g.bore1, g.bore2 = 23.8e-3, 6.05e-3
	if bits&waves != 0 {
		const mass = 18e-3
		g.moving, g.riding = 0.026, mass/3
		g.impedance, g.delay = math.Sqrt(g.rate*mass), 2*math.Sqrt(mass/g.rate)
	}
	if bits&seal != 0 {
		g.seal = 9e-6
	}
	if bits&moving != 0 {
		g.kinetic, g.inert, g.pipe = 1, 0.5, true
		g.column = g.density() * g.bore
	}
	if bits&walls != 0 {
		g.warm1, g.warm2 = 1.3, 0.8
	}
	return g
}

// someEcho is a spring's some way into its flight, at a time.
func someEcho(rnd *rand.Rand, g *gun, t float64) *echo {
	e := &echo{}
	e.start(g, 1.5)
	if g.impedance > 0 {
		from := end{push: e.pieces[0].at(0)}
		for i := range 4 {
			to := end{60 * rnd.Float64(), 1e4 * rnd.NormFloat64(), -10 * rnd.Float64(), -3000 * rnd.Float64()}
			e.add(g.delay*float64(i+1)/4, &from, &to, 3*rnd.NormFloat64(), rnd.NormFloat64())
			from = to
		}
		e.enter(t)
	}
	return e
}

// someMode is one that a gun may be in.
func someMode(rnd *rand.Rand) mode {
	for {
		if m := unpack(rnd.IntN(codes)); m.pellet <= out {
			return m
		}
	}
}

func TestModesHaveCodes(t *testing.T) {
	for code := range codes {
		if m := unpack(code); m.pellet <= out {
			assert.Equal(t, code, m.code())
		}
	}
}

// The Jacobian against central differences, with all sets of effects, in all modes, at
// random states whose pressures lie on either side of each other and of the kinks.
func TestJacobian(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	visited := map[string]bool{}
	for bits := range effects {
		g := with(bits)
		for range 400 {
			m := someMode(rnd)
			m.follow(g)
			y := someState(rnd, g, &m)
			e := someEcho(rnd, g, y[clock])
			p1, p2 := g.pressure1(y[:]), g.pressure2(y[:])
			ratios := []float64{p1 / p2, p1 / g.pressure, p2 / g.pressure}
			kink := math.Abs(y[clock]-thinLayer) < 1e-6
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
			m.jacobian(g, e, f[:], y[:])
			var size, up, down [states]float64
			m.derive(g, e, size[:], y[:])
			scale := [states]float64{0.05, 10, y[mass1], y[energy1], y[mass2], y[energy2], 0.37, 100, 1e-2, 1, 1, 1, 1, 1}
			for j := range states - passive {
				if m.seated && (j == travel || j == speed) || m.pellet != sliding && j == fast {
					continue // who rests has no speed
				}
				const step = 1e-7
				d := step * scale[j]
				// Two differences rid of the third derivative, which is large where
				// pressures are nearly equal.
				var wide, narrow [states]float64
				for k, of := range []*[states]float64{&wide, &narrow} {
					d := d / float64(1+k)
					z := y
					z[j] = y[j] + d
					m.derive(g, e, up[:], z[:])
					z[j] = y[j] - d
					m.derive(g, e, down[:], z[:])
					for i := range states {
						of[i] = (up[i] - down[i]) / (2 * d)
					}
				}
				for i := range states {
					want := (4*narrow[i] - wide[i]) / 3
					got := f[i*states+j]
					noise := 3e-14*(math.Abs(up[i])+math.Abs(size[i])+reach(g, &m, y[:], i))/d + 2e-5*math.Abs(want)
					if !assert.InDelta(t, want, got, noise, "%d, %v: d(%s)/d(%s)", bits, &m, stateNames[i], stateNames[j]) {
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
	case sumWalls:
		return g.heat1(y, &one) + areas*(one.w+two.w+g.jet)*two.h
	case sumColumn:
		return two.p * g.bore * y[fast]
	case fast:
		return 2 * two.p * g.bore / g.pellet
	}
	return 0
}

// codes is how many there are.
const codes = 512

// passive is how many states nothing depends on.
const passive = states - sumDrag

// jacobian writes the derivatives of derive by the states to the zeroed f, row by
// row, without those by the passive states. They are those that [Flyer] steps with, so
// that what holds them against differences of derive holds both.
func (m *mode) jacobian(g *gun, e *echo, f, y []float64) {
	var p point
	s := stepper{echo: e}
	s.follow(g, m)
	copy(p.y[:], y)
	if m.seated {
		p.y[speed] = 0
	}
	if m.pellet != sliding {
		p.y[fast] = 0
	}
	s.begin(&p)
	put := func(row int, of ...entry) {
		for _, v := range of {
			f[row*states+v.column] = v.slope
		}
	}
	// Rows s and t are sums over both volumes.
	put(mass1, entry{travel, p.sx - p.nx}, entry{mass1, p.sm - p.nm}, entry{energy1, p.su - p.nu},
		entry{along, p.sz - p.nz}, entry{mass2, p.sn - p.nn}, entry{energy2, p.sk - p.nk}, entry{fast, p.sw - p.nw})
	put(energy1, entry{travel, p.tx - p.kx}, entry{speed, p.tv}, entry{mass1, p.tm - p.km}, entry{energy1, p.tu - p.ku},
		entry{along, p.tz - p.kz}, entry{mass2, p.tn - p.kn}, entry{energy2, p.tk - p.kk}, entry{fast, p.tw - p.kw}, entry{clock, p.in.u1})
	put(mass2, entry{travel, p.nx}, entry{mass1, p.nm}, entry{energy1, p.nu},
		entry{along, p.nz}, entry{mass2, p.nn}, entry{energy2, p.nk}, entry{fast, p.nw})
	put(energy2, entry{travel, p.kx}, entry{mass1, p.km}, entry{energy1, p.ku},
		entry{along, p.kz}, entry{mass2, p.kn}, entry{energy2, p.kk}, entry{fast, p.kw})
	put(sumEnthalpy, entry{travel, p.ex}, entry{mass1, p.em}, entry{energy1, p.eu},
		entry{along, p.ez}, entry{mass2, p.en}, entry{energy2, p.ek}, entry{fast, p.ew})
	put(sumWalls, entry{travel, p.hx}, entry{mass1, p.hm}, entry{energy1, p.hu},
		entry{along, p.hz}, entry{mass2, p.hn}, entry{energy2, p.hk}, entry{fast, p.hw}, entry{clock, p.in.walls})
	if m.seated { // who rests has no speed
		f[energy1*states+speed] = 0
	} else {
		put(travel, entry{speed, 1})
		put(speed, entry{travel, p.vx}, entry{speed, p.vv}, entry{energy1, p.vu}, entry{clock, p.in.v})
		put(sumDrag, entry{travel, p.dragX}, entry{speed, p.dragV}, entry{energy1, p.dragU})
		put(sumSurge, entry{travel, p.fx}, entry{speed, p.fv}, entry{clock, p.in.surge})
	}
	if m.pellet == sliding {
		put(along, entry{fast, 1})
		put(fast, entry{along, p.wz}, entry{fast, p.ww}, entry{mass2, p.wn}, entry{energy2, p.wk})
		put(sumColumn, entry{along, p.cz}, entry{fast, p.cw}, entry{mass2, p.cn}, entry{energy2, p.ck})
	} else {
		for i := range states {
			f[i*states+fast] = 0
		}
	}
}

// entry is one of a row of the Jacobian.
type entry struct {
	column int
	slope  float64
}
