package odetest

import (
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// Arenstorf is a closed orbit of a small body about earth and moon, in the
// restricted problem of three bodies. The state is x, y, x', y'. The orbit passes
// close by the moon and is unstable.
func Arenstorf() Problem {
	const mu = .012277471
	nan := math.NaN()
	y0 := []float64{.994, 0, 0, -2.00158510637908252240537862224}
	return Problem{
		Name: "Arenstorf",
		Source: "Hairer, Nørsett & Wanner I, p. 129: data and period read in a primary text and in a secondary " +
			"one; intermediate points likewise; equations from memory",
		Problem: ode.Problem{
			Deriv: func(dydt []float64, _ float64, y []float64) {
				const nu = 1 - mu
				a := (y[0]+mu)*(y[0]+mu) + y[1]*y[1]
				b := (y[0]-nu)*(y[0]-nu) + y[1]*y[1]
				a *= math.Sqrt(a)
				b *= math.Sqrt(b)
				dydt[0] = y[2]
				dydt[1] = y[3]
				dydt[2] = y[0] + 2*y[3] - nu*(y[0]+mu)/a - mu*(y[0]-nu)/b
				dydt[3] = y[1] - 2*y[2] - nu*y[1]/a - mu*y[1]/b
			},
			Jacobian: func(dfdy []float64, _ float64, y []float64) {
				const nu = 1 - mu
				dfdy[2], dfdy[7] = 1, 1
				dfdy[8], dfdy[13] = 1, 1
				dfdy[11], dfdy[14] = 2, -2
				for _, body := range []struct{ place, mass float64 }{{-mu, nu}, {nu, mu}} {
					xx, xy, yy := attraction(y[0]-body.place, y[1])
					dfdy[8] += body.mass * xx
					dfdy[9] += body.mass * xy
					dfdy[12] += body.mass * xy
					dfdy[13] += body.mass * yy
				}
			},
			T1:    17.0652165601579625588917206249,
			Y0:    y0,
			Names: []string{"x", "y", "x'", "y'"},
		},
		Checks: []Check{
			{2, []float64{-.579876723236389477, .609078355502306163, nan, nan}},
			{8, []float64{-1.17455350727690039, -.275945077014538474, nan, nan}},
			{16, []float64{.242704437595127993, -.389999121497296789, nan, nan}},
			{17.0652165601579625588917206249, y0},
		},
	}
}

// attraction returns the derivatives of −(x, y)/r³ by x and y.
func attraction(x, y float64) (xx, xy, yy float64) {
	r2 := x*x + y*y
	r5 := r2 * r2 * math.Sqrt(r2)
	return (2*x*x - y*y) / r5, 3 * x * y / r5, (2*y*y - x*x) / r5
}
