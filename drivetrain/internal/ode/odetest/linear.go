package odetest

import (
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// Linear is y' = λ(y − sin t) + cos t with the solution y = sin t, up to t = 10. It
// is stiff for large negative λ, and tells then whether a method keeps its order.
func Linear(lambda float64) Problem {
	exact := func(dst []float64, t float64) { dst[0] = math.Sin(t) }
	return Problem{
		Name:   "linear",
		Source: "Prothero & Robinson 1974, from memory; the solution by insertion",
		Problem: ode.Problem{
			Deriv: func(dydt []float64, t float64, y []float64) {
				dydt[0] = lambda*(y[0]-math.Sin(t)) + math.Cos(t)
			},
			Jacobian: func(dfdy []float64, _ float64, _ []float64) { dfdy[0] = lambda },
			T1:       10,
			Y0:       []float64{0},
		},
		ByTime: func(dfdt []float64, t float64, _ []float64) { dfdt[0] = -lambda*math.Cos(t) - math.Sin(t) },
		Checks: []Check{{10, []float64{math.Sin(10)}}},
		Exact:  exact,
	}
}

// Oscillator is x″ + 2ζx' + x = 0 with ζ = 0.1 from x = 1, x' = 0, up to t = 10. The
// state is x, x'.
func Oscillator() Problem {
	const zeta = 0.1
	w := math.Sqrt(1 - zeta*zeta)
	exact := func(dst []float64, t float64) {
		sin, cos := math.Sincos(w * t)
		decay := math.Exp(-zeta * t)
		dst[0] = decay * (cos + zeta/w*sin)
		dst[1] = -decay * sin / w
	}
	end := make([]float64, 2)
	exact(end, 10)
	return Problem{
		Name:   "oscillator",
		Source: "closed form",
		Problem: ode.Problem{
			Deriv: func(dydt []float64, _ float64, y []float64) {
				dydt[0] = y[1]
				dydt[1] = -y[0] - 2*zeta*y[1]
			},
			Jacobian: func(dfdy []float64, _ float64, _ []float64) {
				dfdy[1] = 1
				dfdy[2], dfdy[3] = -1, -2*zeta
			},
			T1: 10,
			Y0: []float64{1, 0},
		},
		Checks: []Check{{10, end}},
		Exact:  exact,
	}
}
