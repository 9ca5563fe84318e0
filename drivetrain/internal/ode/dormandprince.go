package ode

// dormandPrince is the pair RK5(4)7M of J. R. Dormand and P. J. Prince, J. Comp.
// Appl. Math. 6 (1980) 19–26; the coefficients are as in SciPy's RK45. The weights
// d of the dense output are Hairer's, in the code DOPRI5 to Hairer, Nørsett and Wanner, Solving Ordinary Differential
// Equations I, 2nd ed., from memory.
func dormandPrince() *tableau {
	return &tableau{
		c: []float64{0, 1.0 / 5, 3.0 / 10, 4.0 / 5, 8.0 / 9, 1, 1},
		a: [][]float64{
			{},
			{1.0 / 5},
			{3.0 / 40, 9.0 / 40},
			{44.0 / 45, -56.0 / 15, 32.0 / 9},
			{19372.0 / 6561, -25360.0 / 2187, 64448.0 / 6561, -212.0 / 729},
			{9017.0 / 3168, -355.0 / 33, 46732.0 / 5247, 49.0 / 176, -5103.0 / 18656},
			{35.0 / 384, 0, 500.0 / 1113, 125.0 / 192, -2187.0 / 6784, 11.0 / 84},
		},
		e: []float64{71.0 / 57600, 0, -71.0 / 16695, 71.0 / 1920, -17253.0 / 339200, 22.0 / 525, -1.0 / 40},
		d: []float64{
			-12715105075.0 / 11282082432, 0, 87487479700.0 / 32700410799, -10690763975.0 / 1880347072,
			701980252875.0 / 199316789632, -1453857185.0 / 822651844, 69997945.0 / 29380423,
		},
		exponent: 5,
	}
}
