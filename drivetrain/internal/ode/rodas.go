package ode

// rodas is the pair RODAS of E. Hairer and G. Wanner, Solving Ordinary
// Differential Equations II, 2nd ed., Springer 1996, IV.7, with six stages and
// γ = 1/4. It was not re-read in the primary text: order conditions, measured
// orders and Robertson's problem hold it.
func rodas() *rosenbrockTableau {
	const a51, a52, a53, a54 = 1.221224509226641, 6.019134481288629, 12.53708332932087, -.6878860361058950
	return &rosenbrockTableau{
		gamma: .25,
		alpha: [stages]float64{0, .386, .21, .63, 1, 1},
		a: [stages][stages]float64{
			{},
			{1.544},
			{.9466785280815826, .2557011698983284},
			{3.314825187068521, 2.896124015972201, .9986419139977817},
			{a51, a52, a53, a54},
			{a51, a52, a53, a54, 1},
		},
		c: [stages][stages]float64{
			{},
			{-5.6688},
			{-2.430093356833875, -.2063599157091915},
			{-.1073529058151375, -9.594562251023355, -20.47028614809616},
			{7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160},
			{8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054},
		},
		d2: [stages]float64{10.12623508344586, -7.487995877610167, -34.80091861555747, -7.992771707568823, 1.025137723295662},
		d3: [stages]float64{-.6762803392806898, 6.087714651680015, 16.43084320892478, 24.76722511418386, -6.594389125716872},

		exponent: 4,
	}
}
