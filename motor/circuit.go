package motor

import "math"

// Mu0 is the magnetic constant, 4π·1e-7 [H/m].
const Mu0 = 4 * math.Pi * 1e-7

// GapDensity returns the flux density [T] in a gap fed by a magnet with a
// straight demagnetisation line (equation A2): remanence [T], leakage σ [1],
// recoil permeability μr [1], Carter factor kc [1], gap g [m], magnet thickness
// lm [m].
func GapDensity(remanence, leakage, permeability, carter, gap, thickness float64) float64 {
	return (1 - leakage) * remanence / (1 + permeability*carter*gap/thickness)
}

// Saturated returns the flux [Wb] that is left of an unsaturated flux [Wb] in a
// tooth that takes no more than a limit [Wb] (equation A4, a closure of this
// project with exponent 8).
func Saturated(flux, limit float64) float64 {
	return flux * math.Pow(1+math.Pow(flux/limit, saturationExponent), -1./saturationExponent)
}

const saturationExponent = 8

// unsaturated is the inverse of Saturated: the flux [Wb] of which so much is left
// in the tooth [Wb], which is below the limit [Wb].
func unsaturated(flux, limit float64) float64 {
	return flux * math.Pow(1-math.Pow(flux/limit, saturationExponent), -1./saturationExponent)
}
