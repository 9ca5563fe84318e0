package flight

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The seventh power of the root, in exact arithmetic, against r.
func TestSeventhRoot(t *testing.T) {
	const n = 200_000
	worst := 0.
	for i := range n + 1 {
		r := CriticalRatio + (1-CriticalRatio)*float64(i)/n
		q := seventhRoot(r)
		exact := new(big.Float).SetPrec(500).SetFloat64(q)
		power := new(big.Float).SetPrec(500).SetInt64(1)
		for range 7 {
			power.Mul(power, exact)
		}
		off := power.Sub(power, new(big.Float).SetFloat64(r))
		off.Quo(off, big.NewFloat(7*r))
		relative, _ := off.Float64()
		ulps := math.Abs(relative) * q / (1 - math.Nextafter(1, 0)) // q lies just below 1
		worst = max(worst, ulps)
	}
	assert.LessOrEqual(t, worst, 2., "in units of the last place")
}

// Psi against its formula. Near 1 the formula itself loses digits: 1e-16 of
// 1 − r^(2/7), which is 2.9e-4 at 0.999.
func TestPsi(t *testing.T) {
	formula := func(r float64) float64 {
		return math.Sqrt(2 * Gamma / (Gamma - 1) * (math.Pow(r, 2/Gamma) - math.Pow(r, (Gamma+1)/Gamma)))
	}
	for i := range 10001 {
		r := CriticalRatio + (straight-CriticalRatio)*float64(i)/10000
		assert.InEpsilon(t, formula(r), Psi(r), 2e-12, "at %v", r)
	}
	assert.InEpsilon(t, formula(CriticalRatio), Psi(CriticalRatio), 1e-15)
	assert.InEpsilon(t, formula(CriticalRatio), Psi(0), 1e-15, "choked")
	assert.InEpsilon(t, formula(CriticalRatio), Psi(0.4), 1e-15, "choked")
	assert.InEpsilon(t, formula(straight), psiStraight, 1e-12)
	assert.InEpsilon(t, formula(straight)/2, Psi(0.9995), 1e-12, "closure: straight from 0.999 to 1")
	assert.Zero(t, Psi(1))
	for _, r := range []float64{CriticalRatio, straight} {
		assert.InDelta(t, Psi(r), Psi(math.Nextafter(r, 2)), 1e-12, "continuous at %g", r)
	}
	for i := 1; i < 1000; i++ {
		r := float64(i) / 1000
		psi, slope := psiAndSlope(r)
		assert.Equal(t, Psi(r), psi)
		const d = 1e-6
		if math.Abs(r-straight) > d && math.Abs(r-CriticalRatio) > d {
			assert.InDelta(t, (Psi(r+d)-Psi(r-d))/(2*d), slope, 2e-6+1e-6*math.Abs(slope), "slope at %g", r)
		}
	}
}

func TestFlowOfTextbooks(t *testing.T) {
	assert.InEpsilon(t, 0.5282818, CriticalRatio, 1e-6, "NACA 1135 relations, recomputed")
	_, critical := isentropicAt(1)
	assert.InEpsilon(t, 0.8333333, critical, 1e-6, "NACA 1135 relations, recomputed")
	assert.InEpsilon(t, 0.0404147, Psi(CriticalRatio)/math.Sqrt(287.053), 1e-6, "mass-flow factor at R 287.053, NACA 1135 relations, recomputed")
	for _, c := range []struct {
		area, pu, Tu, want float64
		reason             string
	}{
		{25e-4, 8e5, 288, 4.7634, "Gas Dynamics, Murugaperumal Ex 2.5: 25 cm², 8 bar, 288 K, choked (book 4.759)"},
		{math.Pi / 4 * 1e-4, 2e5, 622.2, 0.025453, "same, Ex 2.1: 10 mm, 2 bar, 622.2 K, choked (book .02543)"},
	} {
		vessel := func(p, T float64) side {
			_, air := chamber(1, p/(GasConstant*T), p/(Gamma-1))
			return air
		}
		up := vessel(c.pu, c.Tu)
		into := func(share float64) float64 {
			down := vessel(share*c.pu, 300)
			mass, heat := flow(c.area, &up, &down)
			assert.InEpsilon(t, cp*c.Tu*mass+1, heat+1, 1e-12, "it brings its own enthalpy")
			return mass
		}
		assert.InEpsilon(t, c.want, into(0.4), 0.2e-2, c.reason)
		assert.Equal(t, into(0.4), into(0.1), "choked")
		assert.InDelta(t, 0, into(1), 1e-12)
	}
}

// isentropicAt returns the ratios of pressure and temperature to those of the gas at
// rest, at a Mach number.
func isentropicAt(mach float64) (pressure, temperature float64) {
	temperature = 1 / (1 + (Gamma-1)/2*mach*mach)
	return math.Pow(temperature, Gamma/(Gamma-1)), temperature
}

// areaAt returns the ratio of a duct's area to that at its throat, at a Mach number.
func areaAt(mach float64) float64 {
	_, t := isentropicAt(mach)
	return math.Pow(t*(Gamma+1)/2, -(Gamma+1)/(2*(Gamma-1))) / mach
}

// NACA Report 1135, printed to four digits and more. Below Mach 1 the area follows
// from Psi as well: it is the flow function at the throat over that there.
func TestIsentropicRows(t *testing.T) {
	for _, c := range []struct{ mach, pressure, temperature, area, tol float64 }{
		{.5, .8430, .9524, 1.3398, 5e-5},
		{.9, .5913, .8606, 1.0089, 5e-5},
		{1.1, .4684, .8052, 1.0079, 5e-5},
		{2, .127805, .555556, 1.6875, 5e-5},
	} {
		p, temp := isentropicAt(c.mach)
		area := areaAt(c.mach)
		assert.InDelta(t, c.pressure, p, c.tol, "p/p0 at Mach %g", c.mach)
		assert.InDelta(t, c.temperature, temp, c.tol, "T/T0 at Mach %g", c.mach)
		assert.InDelta(t, c.area, area, c.tol, "A/A* at Mach %g", c.mach)
		if c.mach < 1 {
			assert.InEpsilon(t, area, Psi(CriticalRatio)/Psi(p), 1e-12, "by Psi, at Mach %g", c.mach)
		}
	}
}

// What flows through an orifice doesn't depend on which side is named first.
func TestFlowReverses(t *testing.T) {
	_, a := chamber(20e-6, 40e-6, 9)
	_, b := chamber(1e-6, 1.4e-6, 0.3)
	m1, h1 := flow(1e-5, &a, &b)
	m2, h2 := flow(1e-5, &b, &a)
	assert.Positive(t, m1)
	assert.Equal(t, m1, -m2)
	assert.Equal(t, h1, -h2)
	assert.InEpsilon(t, 1e-5*a.p/math.Sqrt(GasConstant*a.h/cp)*Psi(b.p/a.p), m1, 1e-14)
	assert.InEpsilon(t, a.h, h1/m1, 1e-14)
}

// US Standard Atmosphere 1976: the gas has its density and speed of sound.
func TestStandardAtmosphere(t *testing.T) {
	for _, c := range []struct{ kelvin, pascal, density, sound float64 }{
		{288.150, 101325, 1.2250, 340.294},
		{281.651, 89876.3, 1.1117, 336.434}, // at 1000 m; density and sound recomputed with the standard's R of 287.053
	} {
		assert.InEpsilon(t, c.density, c.pascal/(GasConstant*c.kelvin), 5e-5, "the model's R is 287.05, density is quoted with five digits")
		assert.InEpsilon(t, c.sound, math.Sqrt(Gamma*GasConstant*c.kelvin), 1e-5)
	}
}

// psiAndSlope returns Ψ and its derivative.
func psiAndSlope(r float64) (psi, slope float64) {
	switch {
	case r <= CriticalRatio:
		return psiChoked, 0
	case r > straight:
		return psiSlope * (1 - r), -psiSlope
	}
	psi, q := isentropic(r)
	q2 := q * q
	return psi, q * q2 * (5 - 6*q2) / psi
}
