package odetest

import "example.org/ampstroke/drivetrain/internal/ode"

// Robertson is a chain of three chemical reactions, whose rates differ by nine
// powers of ten, up to t = 1e11.
func Robertson() Problem {
	return Problem{
		Name:   "Robertson",
		Source: "value at 1e11 in the Bari test set, read in a primary text; equations from memory",
		Problem: ode.Problem{
			Deriv: func(dydt []float64, _ float64, y []float64) {
				a, b, c := .04*y[0], 1e4*y[1]*y[2], 3e7*y[1]*y[1]
				dydt[0] = b - a
				dydt[1] = a - b - c
				dydt[2] = c
			},
			Jacobian: func(dfdy []float64, _ float64, y []float64) {
				b1, b2, c := 1e4*y[2], 1e4*y[1], 6e7*y[1]
				dfdy[0], dfdy[1], dfdy[2] = -.04, b1, b2
				dfdy[3], dfdy[4], dfdy[5] = .04, -b1-c, -b2
				dfdy[7] = c
			},
			T1: 1e11,
			Y0: []float64{1, 0, 0},
		},
		Checks: []Check{{1e11, []float64{.2083340149701255e-7, .8333360770334713e-13, .9999999791665050}}},
	}
}

// HIRES is a chain of eight reactions, how light shapes a plant ("high irradiance
// response"). The state near the end changes fast.
func HIRES() Problem {
	return Problem{
		Name:   "HIRES",
		Source: "Bari test set; equations and value from memory",
		Problem: ode.Problem{
			Deriv: func(dydt []float64, _ float64, y []float64) {
				r := 280 * y[5] * y[7]
				dydt[0] = -1.71*y[0] + .43*y[1] + 8.32*y[2] + .0007
				dydt[1] = 1.71*y[0] - 8.75*y[1]
				dydt[2] = -10.03*y[2] + .43*y[3] + .035*y[4]
				dydt[3] = 8.32*y[1] + 1.71*y[2] - 1.12*y[3]
				dydt[4] = -1.745*y[4] + .43*y[5] + .43*y[6]
				dydt[5] = -r + .69*y[3] + 1.71*y[4] - .43*y[5] + .69*y[6]
				dydt[6] = r - 1.81*y[6]
				dydt[7] = -r + 1.81*y[6]
			},
			Jacobian: func(dfdy []float64, _ float64, y []float64) {
				set := func(i, j int, v float64) { dfdy[8*i+j] = v }
				r5, r7 := 280*y[7], 280*y[5]
				set(0, 0, -1.71)
				set(0, 1, .43)
				set(0, 2, 8.32)
				set(1, 0, 1.71)
				set(1, 1, -8.75)
				set(2, 2, -10.03)
				set(2, 3, .43)
				set(2, 4, .035)
				set(3, 1, 8.32)
				set(3, 2, 1.71)
				set(3, 3, -1.12)
				set(4, 4, -1.745)
				set(4, 5, .43)
				set(4, 6, .43)
				set(5, 3, .69)
				set(5, 4, 1.71)
				set(5, 5, -r5-.43)
				set(5, 6, .69)
				set(5, 7, -r7)
				set(6, 5, r5)
				set(6, 6, -1.81)
				set(6, 7, r7)
				set(7, 5, -r5)
				set(7, 6, 1.81)
				set(7, 7, -r7)
			},
			T1: 321.8122,
			Y0: []float64{1, 0, 0, 0, 0, 0, 0, .0057},
		},
		Checks: []Check{{321.8122, []float64{
			.7371312573325668e-3, .1442485726316185e-3, .5888729740967575e-4, .1175651343283149e-2,
			.2386356198831331e-2, .6238968252742796e-2, .2849998395185769e-2, .2850001604814231e-2,
		}}},
	}
}

// VanDerPol is the oscillator εy″ = (1 − y²)y' − y with ε = 1e-6, up to t = 2: slow
// stretches, and jumps in between. The state is y, y'.
func VanDerPol() Problem {
	const eps = 1e-6
	return Problem{
		Name:   "van der Pol",
		Source: "Bari test set; equations and value from memory",
		Problem: ode.Problem{
			Deriv: func(dydt []float64, _ float64, y []float64) {
				dydt[0] = y[1]
				dydt[1] = ((1-y[0]*y[0])*y[1] - y[0]) / eps
			},
			Jacobian: func(dfdy []float64, _ float64, y []float64) {
				dfdy[1] = 1
				dfdy[2], dfdy[3] = -(2*y[0]*y[1]+1)/eps, (1-y[0]*y[0])/eps
			},
			T1: 2,
			Y0: []float64{2, 0},
		},
		Checks: []Check{{2, []float64{.1706167732170483e1, -.8928097010247975}}},
	}
}
