package wire_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/motor/wire"
)

const roomTemperature = 293.15 // 20 °C [K]

// ASTM B258 (formula, NBS Handbook 100 §2.1 quoted), IEC 60028 for the
// resistance; the table's rows are recomputed from the formulas.
func TestGauges(t *testing.T) {
	const tol = 1e-4 // relative against the formula: the rows have five or six digits
	for _, c := range []struct {
		gauge, diameter, area, perMetre float64 // mm, mm², mΩ/m
	}{
		{10, 2.58819, 5.26115, 3.2771},
		{12, 2.05253, 3.30877, 5.2108},
		{14, 1.62773, 2.08091, 8.2855},
		{16, 1.29085, 1.30870, 13.1745},
		{18, 1.02369, 0.82305, 20.9482},
		{20, 0.81182, 0.51762, 33.3090},
		{22, 0.64380, 0.32553, 52.9634},
		{24, 0.51056, 0.20473, 84.2151},
	} {
		t.Run(fmt.Sprintf("AWG %g", c.gauge), func(t *testing.T) {
			d := wire.Diameter(c.gauge)
			assert.InEpsilon(t, c.diameter, 1e3*d, tol)
			assert.InEpsilon(t, c.area, 1e6*wire.Area(d), tol)
			assert.InEpsilon(t, c.perMetre, 1e3*wire.Resistance(1, wire.Area(d), roomTemperature), tol)
			assert.InDelta(t, c.gauge, wire.Gauge(d), 1e-12, "the inverse")
		})
	}
}

// ASTM B258: No. 36 is 0.0050 in, 4/0 is 0.4600 in, the step 1.1229322 (NBS
// Handbook 100 §2.1 quoted).
func TestGaugeAnchors(t *testing.T) {
	const inch = 25.4e-3
	assert.InEpsilon(t, 0.0050*inch, wire.Diameter(36), 1e-12)
	assert.InEpsilon(t, 0.4600*inch, wire.Diameter(-3), 1e-12)
	assert.InEpsilon(t, 1.1229322, wire.Diameter(10)/wire.Diameter(11), 5e-8, "eight digits are quoted")
}

// IEC 60028: 1/58 Ω·mm²/m at 20 °C, 0.00393 /K, 8.89 g/cm³.
func TestCopper(t *testing.T) {
	c := wire.Copper()
	assert.InEpsilon(t, 0.01724138e-6, c.Resistivity, 1e-6, "seven digits are quoted")
	assert.Equal(t, 0.00393, c.Coefficient)
	assert.Equal(t, 8890., c.Density)
	assert.InEpsilon(t, 1+0.00393*55, c.At(roomTemperature+55)/c.At(roomTemperature), 1e-12)

	// The rule (234.5 + T2)/(234.5 + T1), Langsdorf Ex 1.15, has a coefficient
	// of 1/254.5 = 0.003929 at 20 °C, which IEC 60028 rounds to 0.00393.
	assert.InEpsilon(t, 1.21611, c.At(348.15)/c.At(roomTemperature), 1e-4)
	assert.InEpsilon(t, 1.23576, c.At(353.15)/c.At(roomTemperature), 1e-4)
}

func TestEnamel(t *testing.T) {
	assert.InEpsilon(t, 1.068e-3, wire.Enamelled(1e-3), 1e-12, "the closure's anchor")
	assert.Greater(t, wire.Enamelled(0.3e-3)/0.3e-3, wire.Enamelled(0.9e-3)/0.9e-3, "thin wire has relatively more enamel")
}

func ExampleDiameter() {
	d := wire.Diameter(16)
	fmt.Printf("16 AWG: %.3f mm, %.2f mm², %.1f mΩ/m\n", 1e3*d, 1e6*wire.Area(d), 1e3*wire.Resistance(1, wire.Area(d), 293.15))
	// Output: 16 AWG: 1.291 mm, 1.31 mm², 13.2 mΩ/m
}

func TestBareIsTheInverse(t *testing.T) {
	for d := 1e-6; d < 0.02; d *= 1.3 {
		assert.InEpsilon(t, d, wire.Bare(wire.Enamelled(d)), 1e-12)
	}
	assert.Zero(t, wire.Bare(0))
	assert.Zero(t, wire.Bare(-1))
}
