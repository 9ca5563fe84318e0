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

			var near, far point
			s := stepper{near: &near, far: &far, echo: e}
			s.follow(g, &m)
			near.y = y
			for i := range near.per {
				near.per[i] = 1e-9
			}
			s.begin(&near)
			require.Less(t, s.try(h), 1.)
			for i, want := range reference.Y() {
				size := math.Abs(y[i]) + math.Abs(want-y[i])
				assert.InDelta(t, want, far.y[i], 1e-11*size+1e-13, fmt.Sprintf("%d, %v: %s at h = %g", bits, &m, stateNames[i], h))
			}
		}
	}
}
