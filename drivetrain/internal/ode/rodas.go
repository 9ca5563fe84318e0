package ode

// The coefficients of the pair RODAS of E. Hairer and G. Wanner, Solving Ordinary
// Differential Equations II, 2nd ed., Springer 1996, IV.7, with six stages and
// γ = 1/4. It was not re-read in the primary text: order conditions, measured
// orders and Robertson's problem hold it. They are exported for whoever unrolls the
// method for one problem; what they mean says rosenbrockTableau. The last stage
// has a5 as the fifth, and 1.
const (
	RodasGamma = .25

	RodasA21 = 1.544
	RodasA31 = .9466785280815826
	RodasA32 = .2557011698983284
	RodasA41 = 3.314825187068521
	RodasA42 = 2.896124015972201
	RodasA43 = .9986419139977817
	RodasA51 = 1.221224509226641
	RodasA52 = 6.019134481288629
	RodasA53 = 12.53708332932087
	RodasA54 = -.6878860361058950

	RodasC21 = -5.6688
	RodasC31 = -2.430093356833875
	RodasC32 = -.2063599157091915
	RodasC41 = -.1073529058151375
	RodasC42 = -9.594562251023355
	RodasC43 = -20.47028614809616
	RodasC51 = 7.496443313967647
	RodasC52 = -10.24680431464352
	RodasC53 = -33.99990352819905
	RodasC54 = 11.70890893206160
	RodasC61 = 8.083246795921522
	RodasC62 = -7.981132988064893
	RodasC63 = -31.52159432874371
	RodasC64 = 16.31930543123136
	RodasC65 = -6.058818238834054

	RodasD21 = 10.12623508344586
	RodasD22 = -7.487995877610167
	RodasD23 = -34.80091861555747
	RodasD24 = -7.992771707568823
	RodasD25 = 1.025137723295662
	RodasD31 = -.6762803392806898
	RodasD32 = 6.087714651680015
	RodasD33 = 16.43084320892478
	RodasD34 = 24.76722511418386
	RodasD35 = -6.594389125716872

	// RodasOrder is the power of the step in the error estimate.
	RodasOrder = 4
)

// rodas is the tableau of RODAS.
func rodas() *rosenbrockTableau {
	return &rosenbrockTableau{
		gamma: RodasGamma,
		alpha: [stages]float64{0, .386, .21, .63, 1, 1},
		a: [stages][stages]float64{
			{},
			{RodasA21},
			{RodasA31, RodasA32},
			{RodasA41, RodasA42, RodasA43},
			{RodasA51, RodasA52, RodasA53, RodasA54},
			{RodasA51, RodasA52, RodasA53, RodasA54, 1},
		},
		c: [stages][stages]float64{
			{},
			{RodasC21},
			{RodasC31, RodasC32},
			{RodasC41, RodasC42, RodasC43},
			{RodasC51, RodasC52, RodasC53, RodasC54},
			{RodasC61, RodasC62, RodasC63, RodasC64, RodasC65},
		},
		d2: [stages]float64{RodasD21, RodasD22, RodasD23, RodasD24, RodasD25},
		d3: [stages]float64{RodasD31, RodasD32, RodasD33, RodasD34, RodasD35},

		exponent: RodasOrder,
	}
}
