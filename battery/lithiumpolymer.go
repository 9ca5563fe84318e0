package battery

import "math"

// ChenRinconMora is the lithium-polymer cell of 850 mAh that Chen and
// Rincón-Mora measured at room temperature (IEEE Trans. Energy Conv. 21(2),
// 504–511, 2006). It is no other cell: a build scales its resistances.
type ChenRinconMora struct{}

// OCV implements [Cell].
func (ChenRinconMora) OCV(s float64) float64 {
	return -1.031*math.Exp(-35*s) + 3.685 + s*(0.2156+s*(-0.1178+s*0.3201))
}

// Slope implements [Cell].
func (ChenRinconMora) Slope(s float64) float64 {
	return 35*1.031*math.Exp(-35*s) + 0.2156 + s*(-2*0.1178+s*3*0.3201)
}

// Circuit implements [Cell]. The published fits of the capacitances turn
// negative below s = 0.00501 and 0.01116; below leastCharge they keep their
// values there (a closure of this project).
func (ChenRinconMora) Circuit(s float64) Circuit {
	held := max(s, leastCharge)
	return Circuit{
		R0: 0.1562*math.Exp(-24.37*s) + 0.07446,
		R1: 0.3208*math.Exp(-29.14*s) + 0.04669,
		C1: -752.9*math.Exp(-13.51*held) + 703.6,
		R2: 6.603*math.Exp(-155.2*s) + 0.04984,
		C2: -6056*math.Exp(-27.12*held) + 4475,
	}
}

const leastCharge = 0.02
