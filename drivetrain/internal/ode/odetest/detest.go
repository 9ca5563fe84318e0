package odetest

import (
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

const detestSource = "DETEST (Hull et al. 1972) at x = 20; definition from memory"

// A2 is y' = −y³/2, a special case of the Riccati equation.
func A2() Problem {
	return Problem{
		Name:   "DETEST A2",
		Source: detestSource,
		Problem: ode.Problem{
			Deriv:    func(dydt []float64, _ float64, y []float64) { dydt[0] = -y[0] * y[0] * y[0] / 2 },
			Jacobian: func(dfdy []float64, _ float64, y []float64) { dfdy[0] = -1.5 * y[0] * y[0] },
			T1:       20,
			Y0:       []float64{1},
		},
		Checks: []Check{{20, []float64{.21821789023599238127}}},
		Exact:  func(dst []float64, t float64) { dst[0] = 1 / math.Sqrt(1+t) },
	}
}

// A3 is y' = y cos x, an oscillation.
func A3() Problem {
	return Problem{
		Name:   "DETEST A3",
		Source: detestSource,
		Problem: ode.Problem{
			Deriv:    func(dydt []float64, t float64, y []float64) { dydt[0] = y[0] * math.Cos(t) },
			Jacobian: func(dfdy []float64, t float64, _ []float64) { dfdy[0] = math.Cos(t) },
			T1:       20,
			Y0:       []float64{1},
		},
		ByTime: func(dfdt []float64, t float64, y []float64) { dfdt[0] = -y[0] * math.Sin(t) },
		Checks: []Check{{20, []float64{2.4916502718504145235}}},
		Exact:  func(dst []float64, t float64) { dst[0] = math.Exp(math.Sin(t)) },
	}
}

// A4 is y' = (y/4)(1 − y/20), a logistic curve.
func A4() Problem {
	return Problem{
		Name:   "DETEST A4",
		Source: detestSource,
		Problem: ode.Problem{
			Deriv:    func(dydt []float64, _ float64, y []float64) { dydt[0] = y[0] / 4 * (1 - y[0]/20) },
			Jacobian: func(dfdy []float64, _ float64, y []float64) { dfdy[0] = (1 - y[0]/10) / 4 },
			T1:       20,
			Y0:       []float64{1},
		},
		Checks: []Check{{20, []float64{17.730166481314839849}}},
		Exact:  func(dst []float64, t float64) { dst[0] = 20 / (1 + 19*math.Exp(-t/4)) },
	}
}

// B1 is the growth of two conflicting populations.
func B1() Problem {
	return Problem{
		Name:   "DETEST B1",
		Source: detestSource,
		Problem: ode.Problem{
			Deriv: func(dydt []float64, _ float64, y []float64) {
				dydt[0] = 2 * (y[0] - y[0]*y[1])
				dydt[1] = -(y[1] - y[0]*y[1])
			},
			Jacobian: func(dfdy []float64, _ float64, y []float64) {
				dfdy[0], dfdy[1] = 2*(1-y[1]), -2*y[0]
				dfdy[2], dfdy[3] = y[1], y[0]-1
			},
			T1: 20,
			Y0: []float64{1, 3},
		},
		Checks: []Check{{20, []float64{.67618760085766066, .18608160996400298}}},
	}
}

// D1 is an orbit about one body with eccentricity 0.1. The state is x, y, x', y'. The
// closed form is by Kepler's equation E − e sin E = t.
func D1() Problem {
	const e = .1
	return Problem{
		Name:   "DETEST D1",
		Source: detestSource,
		Problem: ode.Problem{
			Deriv: func(dydt []float64, _ float64, y []float64) {
				r := math.Hypot(y[0], y[1])
				r *= r * r
				dydt[0], dydt[1] = y[2], y[3]
				dydt[2], dydt[3] = -y[0]/r, -y[1]/r
			},
			Jacobian: func(dfdy []float64, _ float64, y []float64) {
				xx, xy, yy := attraction(y[0], y[1])
				dfdy[2], dfdy[7] = 1, 1
				dfdy[8], dfdy[9] = xx, xy
				dfdy[12], dfdy[13] = xy, yy
			},
			T1: 20,
			Y0: []float64{1 - e, 0, 0, math.Sqrt((1 + e) / (1 - e))},
		},
		Checks: []Check{{20, []float64{.21988353520083966, .94270768463418131, math.NaN(), math.NaN()}}},
		Exact: func(dst []float64, t float64) {
			anomaly := t
			for range 10 { // Newton's corrections fall as e, e³, e⁷ …
				anomaly -= (anomaly - e*math.Sin(anomaly) - t) / (1 - e*math.Cos(anomaly))
			}
			sin, cos := math.Sincos(anomaly)
			b, rate := math.Sqrt(1-e*e), 1/(1-e*cos)
			dst[0], dst[1] = cos-e, b*sin
			dst[2], dst[3] = -sin*rate, b*cos*rate
		},
	}
}
