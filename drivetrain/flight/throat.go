package flight

import "math"

// The flow function is taken apart as Ψ = √under·times, so that one root is drawn
// of all that an orifice's flow has under it while the rest is reckoned. In the
// isentropic range under is 1 − r, and times a polynomial of degree 15 through the
// Chebyshev nodes, good to some 2e-15.

// throats returns both parts of Ψ at three ratios of pressures up to 1, side by
// side: as three calls they cost a flight some 6 % more.
func throats(r1, r2, r3 float64) (under1, times1, under2, times2, under3, times3 float64) {
	under1, under2, under3 = 1, 1, 1
	if r1 > straight {
		times1 = psiSlope * (1 - r1)
	} else if r1 > CriticalRatio {
		under1 = 1 - r1
		u := r1 - middle
		u2 := u * u
		u4 := u2 * u2
		times1 = timesLow(u, u2, u4) + timesHigh(u, u2, u4)*(u4*u4)
	} else {
		times1 = psiChoked
	}
	if r2 > straight {
		times2 = psiSlope * (1 - r2)
	} else if r2 > CriticalRatio {
		under2 = 1 - r2
		u := r2 - middle
		u2 := u * u
		u4 := u2 * u2
		times2 = timesLow(u, u2, u4) + timesHigh(u, u2, u4)*(u4*u4)
	} else {
		times2 = psiChoked
	}
	if r3 > straight {
		times3 = psiSlope * (1 - r3)
	} else if r3 > CriticalRatio {
		under3 = 1 - r3
		u := r3 - middle
		u2 := u * u
		u4 := u2 * u2
		times3 = timesLow(u, u2, u4) + timesHigh(u, u2, u4)*(u4*u4)
	} else {
		times3 = psiChoked
	}
	return under1, times1, under2, times2, under3, times3
}

// throttle returns the mass flow through an orifice whose effective area squared,
// times p·ρ upstream, is q, at a ratio of pressures, and r·∂ṁ/∂r. The slope is good to
// some 1e-11.
func throttle(q, r float64) (mass, e float64) {
	switch {
	case r > straight:
		slope := psiSlope * math.Sqrt(q)
		return slope * (1 - r), -r * slope
	case r <= CriticalRatio:
		return psiChoked * math.Sqrt(q), 0
	}
	u := r - middle
	u2 := u * u
	u4 := u2 * u2
	mass = math.Sqrt(q*(1-r)) * (timesLow(u, u2, u4) + timesHigh(u, u2, u4)*(u4*u4))
	return mass, mass * elasticity(u, u2, u4) * (CriticalRatio - r) / (1 - r)
}

// The polynomials are about the middle of the range.
const middle = 0.764

func timesLow(u, u2, u4 float64) float64 {
	const (
		c0, c1, c2, c3 = 1.222600958297336631, 0.8737458496052215327, -0.2995253105254771884, 0.1879043093244863615
		c4, c5, c6, c7 = -0.1472285215953643832, 0.1298375289383366101, -0.1232659580189070582, 0.1230870912207931216
	)
	return (c0 + c1*u) + (c2+c3*u)*u2 + ((c4+c5*u)+(c6+c7*u)*u2)*u4
}

func timesHigh(u, u2, u4 float64) float64 {
	const (
		c8, c9, c10, c11   = -0.1274987096936934303, 0.1358244093151143599, -0.1483376965174663439, 0.1644456127445607037
		c12, c13, c14, c15 = -0.1759188187374605309, 0.2001499338457735639, -0.3304031538383141751, 0.384343996970350744
	)
	return (c8 + c9*u) + (c10+c11*u)*u2 + ((c12+c13*u)+(c14+c15*u)*u2)*u4
}

// elasticity is r/Ψ·dΨ/dr·(1 − r)/(r* − r), by a polynomial of degree 11.
func elasticity(u, u2, u4 float64) float64 {
	const (
		c0, c1, c2, c3   = 1.0739249558296, -0.068512208728218, 0.047263594588047, -0.040260644467685
		c4, c5, c6, c7   = 0.038063437496053, -0.038324160116871, 0.040287018830167, -0.043627885793399
		c8, c9, c10, c11 = 0.047224242706732, -0.053246640664773, 0.07883624465309, -0.091542051190928
	)
	return (c0 + c1*u) + (c2+c3*u)*u2 + ((c4+c5*u)+(c6+c7*u)*u2)*u4 + ((c8+c9*u)+(c10+c11*u)*u2)*(u4*u4)
}
