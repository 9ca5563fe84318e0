package battery_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
)

// Chen & Rincón-Mora, IEEE Trans. Energy Conv. 21(2) 504–511, 2006.
func TestPublishedOCV(t *testing.T) {
	var c battery.ChenRinconMora
	for s, want := range map[float64]float64{0: 2.65400, 0.1: 3.67457, 0.5: 3.80336, 0.8: 3.94598, 1: 4.10290} {
		assert.InDelta(t, want, c.OCV(s), 1e-5, "at %g", s)
	}
}

// Chen & Rincón-Mora 2006: a step of 0.8 A at s = 0.5, s held; the response of
// two RC pairs is a closed form.
func TestPublishedStep(t *testing.T) {
	var c battery.ChenRinconMora
	const s, amps = 0.5, 0.8
	k := c.Circuit(s)
	assert.InDelta(t, 32.810, k.R1*k.C1, 1e-3, "time constants; three decimals are quoted")
	assert.InDelta(t, 223.034, k.R2*k.C2, 1e-3)
	for _, row := range []struct{ time, volts float64 }{
		{0, 3.743794}, {1, 3.742494}, {10, 3.732233}, {60, 3.703037}, {300, 3.676961},
	} {
		v1 := amps * k.R1 * -math.Expm1(-row.time/(k.R1*k.C1))
		v2 := amps * k.R2 * -math.Expm1(-row.time/(k.R2*k.C2))
		assert.InDelta(t, row.volts, k.Terminal(c.OCV(s), v1, v2, amps), 1e-5, "at %g s", row.time)
	}
}

// The fit's capacitances turn negative below s = 0.00501 and 0.01116: they are
// held, and the voltage stays finite down to 0.
func TestEmptyCellStaysPhysical(t *testing.T) {
	var c battery.ChenRinconMora
	const digits = 5e-6 // the crossings are quoted with five decimals
	assert.InDelta(t, 0.00501, math.Log(752.9/703.6)/13.51, digits, "where the published fit of C1 crosses zero")
	assert.InDelta(t, 0.01116, math.Log(6056./4475)/27.12, digits, "where the published fit of C2 crosses zero")
	for s := 0.; s <= 1; s += 1e-3 {
		k := c.Circuit(s)
		for _, v := range []float64{k.R0, k.R1, k.R2, k.C1, k.C2, c.OCV(s)} {
			require.Greater(t, v, 0., "at %g", s)
			require.False(t, math.IsInf(v, 0))
		}
	}
}

func TestSlopeIsTheDerivative(t *testing.T) {
	var c battery.ChenRinconMora
	for s := 0.01; s < 1; s += 0.07 {
		const h = 1e-5
		assert.InDelta(t, (c.OCV(s+h)-c.OCV(s-h))/(2*h), c.Slope(s), 1e-6*(1+c.Slope(s)), "central difference, error h²·V'''/6")
	}
}

func pack() battery.Pack { return battery.New(battery.LithiumPolymer, 2, 1, 1.3*3600, 9e-3) }

func TestPackScales(t *testing.T) {
	const room = 298.15
	one := battery.New(battery.LithiumPolymer, 1, 1, 3600, 9e-3)
	cell, err := one.Cell()
	require.NoError(t, err)
	k1 := one.Circuit(cell, 1, room)
	assert.InEpsilon(t, 9e-3, k1.R0, 1e-12, "B2: the resistance given is that of a full cell at 25 °C")
	published := cell.Circuit(0.5)
	half := one.Circuit(cell, 0.5, room)
	assert.InEpsilon(t, published.R1*published.C1, half.R1*half.C1, 1e-12, "B2: published time constants stay")
	assert.InEpsilon(t, published.R2*published.C2, half.R2*half.C2, 1e-12)

	many := one
	many.Series, many.Parallel = 3, 2
	k := many.Circuit(cell, 1, room)
	assert.InEpsilon(t, 1.5, k.R0/k1.R0, 1e-12, "B1: resistances ×ns/np")
	assert.InEpsilon(t, 1.5, k.R2/k1.R2, 1e-12)
	assert.InEpsilon(t, 1/1.5, k.C1/k1.C1, 1e-12, "B1: capacitances ×np/ns")
	assert.InEpsilon(t, 3*cell.OCV(0.7), many.OCV(cell, 0.7), 1e-12)
	assert.Equal(t, many.OCV(cell, 0), many.OCV(cell, -0.1), "held at empty")
	assert.Equal(t, many.OCV(cell, 1), many.OCV(cell, 1.1), "held at full")
}

func TestColdRaisesResistance(t *testing.T) {
	p := pack()
	cell, err := p.Cell()
	require.NoError(t, err)
	warm, cold := p.Circuit(cell, 0.9, 298.15), p.Circuit(cell, 0.9, 273.15)
	factor := math.Exp(20e3 / 8.314462618 * (1/273.15 - 1/298.15))
	assert.InEpsilon(t, factor, cold.R0/warm.R0, 1e-12, "B3")
	assert.InEpsilon(t, factor, cold.R1/warm.R1, 1e-12)
	assert.Equal(t, warm.C1, cold.C1, "B3: not the capacitances")
	p.ActivationEnergy = 0
	assert.Equal(t, p.Circuit(cell, 0.9, 298.15), p.Circuit(cell, 0.9, 273.15), "zero switches it off")
}

func TestLimits(t *testing.T) {
	p := pack()
	assert.True(t, math.IsNaN(p.ContinuousCurrent()), "no rating")
	p.DischargeRating = 25
	assert.InDelta(t, 32.5, p.ContinuousCurrent(), 1e-12, "25 × 1.3 Ah")
	assert.InDelta(t, 6.0, p.CutoffVoltage(), 1e-12)
	assert.InDelta(t, 0.8*4680/0.6, p.Shots(0.6), 1e-9)
}

func TestValidate(t *testing.T) {
	p := pack()
	require.NoError(t, p.Validate())
	for field, change := range map[string]func(*battery.Pack){
		"chemistry":       func(p *battery.Pack) { p.Chemistry = "lead" },
		"series":          func(p *battery.Pack) { p.Series = 0 },
		"parallel":        func(p *battery.Pack) { p.Parallel = -1 },
		"capacity":        func(p *battery.Pack) { p.Capacity = 0 },
		"resistance":      func(p *battery.Pack) { p.Resistance = math.NaN() },
		"state_of_charge": func(p *battery.Pack) { p.StateOfCharge = 1.1 },
		"reserve":         func(p *battery.Pack) { p.Reserve = 1 },
		"ocv":             func(p *battery.Pack) { p.Chemistry = battery.Custom },
		"ocv.1.0": func(p *battery.Pack) {
			p.OCVTable = []battery.OCVPoint{{Charge: 0, Voltage: 3}, {Charge: 0, Voltage: 3.5}, {Charge: 1, Voltage: 4}}
		},
	} {
		bad := pack()
		change(&bad)
		assert.ErrorContains(t, bad.Validate(), field+":")
	}
}

// A thousand written with a point is no pack.
func TestLeastCapacity(t *testing.T) {
	p := pack()
	p.Capacity = 72
	assert.NoError(t, p.Validate(), "20 mAh")
	p.Capacity = 71.9
	assert.ErrorContains(t, p.Validate(), "capacity: 19.9722 mAh is out of range; wanted 20 mAh to 1e+06 mAh")
}

func ExamplePack_Circuit() {
	p := battery.New(battery.LithiumPolymer, 2, 1, 1.3*3600, 9e-3)
	cell, err := p.Cell()
	if err != nil {
		fmt.Println(err)
		return
	}
	k := p.Circuit(cell, 0.9, 273.15)
	fmt.Printf("%.2f V, %.1f mΩ at 0 °C\n", p.OCV(cell, 0.9), 1e3*k.R0)
	// Output: 8.03 V, 37.7 mΩ at 0 °C
}
