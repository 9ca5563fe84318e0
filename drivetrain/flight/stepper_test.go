package flight

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// someState returns a state in a mode with pressures on either side of each other
// and of the kinks.
func someState(rnd *rand.Rand, g *gun, m *mode) (y [states]float64) {
	y[travel] = g.stroke * rnd.Float64()
	y[speed] = -0.3 + 0.4*rnd.Float64() // where the drag turns
	if rnd.IntN(2) == 0 {
		y[speed] *= 30
	}
	y[along] = g.length * rnd.Float64()
	y[fast] = 120 * rnd.Float64()
	y[clock] = 1e-2 * rnd.Float64()
	if rnd.IntN(4) == 0 {
		y[clock] *= 0.05
	}
	if m.seated {
		y[travel], y[speed] = 0, 0
	}
	if m.pellet != sliding {
		y[fast] = 0
	}
	near := func() float64 {
		d := math.Pow(10, -5+5*rnd.Float64())
		if rnd.IntN(2) == 0 {
			return 1 + d
		}
		return 1 / (1 + d)
	}
	g.fill(y[:], g.pressure*near(), 250+100*rnd.Float64(), g.pressure*near(), 250+100*rnd.Float64())
	y[energy2] += y[energy2] - g.rest2(y[:])
	m.stirred = g.bore2 > 0 && g.wallReynolds(y[:]) > turbulent // Gnielinski's formula is for no other
	return y
}

// startStepper returns a stepper that has begun at a state of a gun in a mode, with errors
// that hardly count.
func startStepper(g *gun, m *mode, e *echo, y *[states]float64) *stepper {
	s := &stepper{near: &point{y: *y}, far: &point{}, echo: e}
	s.follow(g, m)
	for i := range s.near.per {
		s.near.per[i] = 1e-9
	}
	s.begin(s.near)
	return s
}

// The unrolled steps are those of the general integrator: state, error, and
// polynomial, in every mode, at random states and lengths of step.
func TestStepIsThatOfRodas(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	for bits := range effects {
		g := with(bits)
		for range 120 {
			m := someMode(rnd)
			m.follow(g)
			y := someState(rnd, g, &m)
			e := someEcho(rnd, g, y[clock])
			h := math.Pow(10, -8+4*rnd.Float64())
			reference, err := ode.New(ode.Problem{
				Deriv:    func(dy []float64, _ float64, y []float64) { m.derive(g, e, dy, y) },
				Jacobian: func(f []float64, _ float64, y []float64) { m.jacobian(g, e, f, y) },
				Passive:  passive, T1: 1, Y0: y[:],
			}, ode.Settings{Method: ode.Rodas, RelTol: .99, AbsTol: []float64{1e9}, InitialStep: h})
			require.NoError(t, err)
			require.NoError(t, reference.Step())
			require.InEpsilon(t, h, reference.T(), 1e-12)

			s := startStepper(g, &m, e, &y)
			require.Less(t, s.try(h), 1.)
			for i, want := range reference.Y() {
				size := math.Abs(y[i]) + math.Abs(want-y[i])
				assert.InDelta(t, want, s.far.y[i], 1e-11*size+1e-13, fmt.Sprintf("%d, %v: %s at h = %g", bits, &m, stateNames[i], h))
			}
		}
	}
}

// A step on an expected course is RODAS's of the deviation from it, by the general
// integrator: that of the equations less the course's slopes, from nothing.
func TestStepOnACourseIsThatOfTheDeviation(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for bits := range effects {
		g := with(bits)
		for n := range 60 {
			m := someMode(rnd)
			m.follow(g)
			y := someState(rnd, g, &m)
			e := someEcho(rnd, g, y[clock])
			h := math.Pow(10, -8+4*rnd.Float64())
			s := startStepper(g, &m, e, &y)

			// Steps that might have led here, of a smooth course and a little off it.
			s.expected.most = 1 + n%past
			before := make([]point, 1+rnd.IntN(past))
			times := make([]float64, len(before))
			last := 0.
			f := s.near.slopes()
			for k := range before {
				last += h * (0.3 + rnd.Float64())
				times[k] = last
				before[k].y = y
				for i := range active {
					before[k].y[i] -= f[i] * last * (1 + 0.01*rnd.NormFloat64())
				}
			}
			for k := len(before) - 1; k >= 0; k-- {
				to, length := s.near, times[0]
				if k > 0 {
					to, length = &before[k-1], times[k]-times[k-1]
				}
				to.partials, to.partialsMore, to.in, to.rates = s.near.partials, s.near.partialsMore, s.near.in, s.near.rates
				s.expected.extend(&before[k], to, length)
			}
			require.Equal(t, min(len(before), s.expected.most), s.expected.degree)

			course := func(i int, t float64) (value, slope, bend float64) {
				// Lagrange's polynomial, and its derivatives by differences of itself in Newton's
				// form would be the same code: so by its nodes.
				nodes, values := []float64{0}, []float64{y[i]}
				for k := range s.expected.degree {
					nodes, values = append(nodes, -times[k]), append(values, before[k].y[i])
				}
				for k := range nodes {
					rest := append(append([]float64(nil), nodes[:k]...), nodes[k+1:]...)
					scale := 1.
					for _, x := range rest {
						scale *= nodes[k] - x
					}
					p, dp, ddp := 1., 0., 0.
					for _, x := range rest { // one factor after the other
						ddp = ddp*(t-x) + 2*dp
						dp = dp*(t-x) + p
						p *= t - x
					}
					value += values[k] * p / scale
					slope += values[k] * dp / scale
					bend += values[k] * ddp / scale
				}
				return value, slope, bend
			}
			// The deviation's states; the clock goes on, the sums start from theirs.
			start := y
			for i := range active {
				start[i] = 0
			}
			shifted := func(d []float64) (at [states]float64) {
				at = [states]float64(d)
				for i := range active {
					v, _, _ := course(i, d[clock]-y[clock])
					at[i] += v
				}
				return at
			}
			reference, err := ode.New(ode.Problem{
				Deriv: func(dy []float64, _ float64, d []float64) {
					at := shifted(d)
					m.derive(g, e, dy, at[:])
					for i := range active {
						_, slope, _ := course(i, d[clock]-y[clock])
						dy[i] -= slope
					}
				},
				Jacobian: func(f []float64, _ float64, d []float64) {
					at := shifted(d)
					m.jacobian(g, e, f, at[:])
					for row := range states {
						entry := &f[row*states+clock]
						for i := range active {
							_, slope, bend := course(i, d[clock]-y[clock])
							*entry += f[row*states+i] * slope
							if i == row {
								*entry -= bend
							}
						}
					}
				},
				Passive: passive, T1: 1, Y0: start[:],
			}, ode.Settings{Method: ode.Rodas, RelTol: .99, AbsTol: []float64{1e9}, InitialStep: h})
			require.NoError(t, err)
			require.NoError(t, reference.Step())
			require.InEpsilon(t, h, reference.T(), 1e-12)
			want := reference.Y()
			for i := range active {
				v, _, _ := course(i, h)
				want[i] += v
			}
			require.Less(t, s.try(h), 1.)
			var b bend
			s.dense(&b)
			middle := reference.At(nil, h/2)
			for i, want := range want {
				size := math.Abs(y[i]) + math.Abs(want-y[i])
				if i == sumWalls {
					size *= 10 // Prandtl's number is by a series, good to 1e-9 at its ends
				}
				name := fmt.Sprintf("%d, %v: %s at h = %g, degree %d", bits, &m, stateNames[i], h, s.expected.degree)
				assert.InDelta(t, want, s.far.y[i], 1e-10*size+1e-13, name)
				if i < active {
					v, _, _ := course(i, h/2)
					middle[i] += v
				}
				assert.InDelta(t, middle[i], b.at(i, 0.5), 1e-10*size+1e-13, name)
			}
		}
	}
}

// What a step that is off by one leaves of that at the next, for a decay of every stiffness,
// as the spectral radius of the recurrence by iteration: less than half at constant steps.
// While steps grow as they may, it is not much more than one. The polynomial that has the
// slope in common as well would be more than that at a growth of 1.3, which is why there is
// none of it.
func TestExpectedCourseIsStable(t *testing.T) {
	radius := func(z, ratio float64, degree int, slope bool) float64 {
		var e expected
		e.most = degree
		rnd := rand.New(rand.NewPCG(1, 2))
		var values [past + 1]float64 // the last ones, the newest first
		for i := range values {
			values[i] = rnd.NormFloat64()
		}
		logs := 0.
		const settled, counted = 30, 200
		for n := range settled + counted {
			e.forget()
			length := math.Pow(ratio, -float64(degree))
			for k := degree; k > 0; k-- {
				var from, to point
				from.y[travel], to.y[travel] = values[k], values[k-1]
				e.extend(&from, &to, length)
				length *= ratio
			}
			p := [...]float64{values[0], e.first[travel], e.powers[0][travel], e.powers[1][travel], e.powers[2][travel]}
			if slope { // a power more, for the slope at the start
				nodes := 1.
				back := 0.
				for k := range degree {
					back += e.lengths[k]
					nodes *= back
				}
				extra := []float64{0, 1, 0, 0, 0, 0} // t·Π(t + back)/nodes
				back = 0
				for k := range degree {
					back += e.lengths[k]
					for q := len(extra) - 1; q > 0; q-- {
						extra[q] = extra[q]*back + extra[q-1]
					}
				}
				off := z*values[0] - p[1]
				for q := range p {
					p[q] += off * extra[q] / nodes
				}
			}
			at := func(s float64) (value, slope float64) {
				for q := len(p) - 1; q >= 0; q-- {
					slope = slope*s + value
					value = value*s + p[q]
				}
				return value, slope
			}
			// RODAS for δ' = z(P + δ) − P', over a step of one.
			a := [6][]float64{{}, {ode.RodasA21}, {ode.RodasA31, ode.RodasA32}, {ode.RodasA41, ode.RodasA42, ode.RodasA43}, {ode.RodasA51, ode.RodasA52, ode.RodasA53, ode.RodasA54}, {ode.RodasA51, ode.RodasA52, ode.RodasA53, ode.RodasA54, 1}}
			c := [6][]float64{{}, {ode.RodasC21}, {ode.RodasC31, ode.RodasC32}, {ode.RodasC41, ode.RodasC42, ode.RodasC43}, {ode.RodasC51, ode.RodasC52, ode.RodasC53, ode.RodasC54}, {ode.RodasC61, ode.RodasC62, ode.RodasC63, ode.RodasC64, ode.RodasC65}}
			in := [6]float64{in1, in2, in3, in4}
			var k [6]float64
			sum := 0.
			for i, place := range [6]float64{0, at1, at2, at3, 1, 1} {
				v, d := at(place)
				sum = 0
				rest := 0.
				for j, w := range a[i] {
					sum += w * k[j]
					rest += c[i][j] * k[j]
				}
				k[i] = (z*(v+sum) - d + rest + in[i]*(z*p[1]-2*p[2])) / (1/ode.RodasGamma - z)
			}
			end, _ := at(1)
			copy(values[1:], values[:past])
			values[0] = end + sum + k[5]
			size := 0.
			for _, v := range values[:degree+1] {
				size = max(size, math.Abs(v))
			}
			if n >= settled {
				logs += math.Log(size)
			}
			for i := range values {
				values[i] /= size
			}
		}
		return math.Exp(logs / counted)
	}
	for degree := 1; degree <= past; degree++ {
		for _, z := range []float64{-0.8, -3, -10, -30, -100, -1e3, -1e5} {
			what := fmt.Sprintf("degree %d, z = %g", degree, z)
			assert.Less(t, radius(z, 1, degree, false), 0.5, what)
			assert.Less(t, radius(z, growth[degree], degree, false), 1.3, what)
		}
	}
	assert.Greater(t, radius(-1e3, 1.3, past-1, true), 1.4, "with the slope")
	assert.Less(t, radius(-1e3, 1.3, past, false), 0.5)
}
