package battery_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
)

// NREL ADVISOR data (a secondary source), a cell at 25 °C.
func TestPublishedMetalHydride(t *testing.T) {
	p := packOf(battery.NickelMetalHydride, 3600, 9e-3)
	c, err := p.Cell()
	require.NoError(t, err)
	table := []float64{1.2062, 1.2341, 1.2518, 1.2646, 1.2743, 1.2818, 1.2882, 1.2944, 1.3013, 1.3191, 1.3941}
	for n, want := range table {
		assert.InDelta(t, want, p.OCV(c, float64(n)/10), 5e-4, "at %d tenths", n)
		if n > 0 {
			assert.InDelta(t, (table[n-1]+want)/2, p.OCV(c, (float64(n)-0.5)/10), 5e-4, "straight between, below %d tenths", n)
			assert.InDelta(t, 10*(want-table[n-1]), p.Slope(c, (float64(n)-0.5)/10), 1e-9)
		}
	}
}

// NREL SSC test data after Tremblay 2007 Fig. 3: a cell of 6.5 Ah, 1.4 V full,
// 0.0046 Ω, discharged at 1C from full. The resistance is taken for R0; the RC
// pairs come on top. Their voltages are those of a step with R and C of the
// charge reached: over the discharge R1 and R2 change by a twentieth, of 19 mV.
func TestMetalHydrideAtOneC(t *testing.T) {
	const (
		capacity = 6.5 * 3600 // [C]
		amps     = 6.5
		tol      = 0.05 // [V], as far as the figure is read
	)
	p := packOf(battery.NickelMetalHydride, capacity, 0.0046)
	c, err := p.Cell()
	require.NoError(t, err)
	assert.InDelta(t, 1.4, p.OCV(c, 1), tol, "full")
	for _, row := range []struct{ minutes, volts float64 }{{10, 1.25}, {30, 1.22}, {50, 1.17}} {
		time := 60 * row.minutes
		s := 1 - amps*time/capacity
		k := p.Circuit(c, s, 298.15)
		v1 := amps * k.R1 * -math.Expm1(-time/(k.R1*k.C1))
		v2 := amps * k.R2 * -math.Expm1(-time/(k.R2*k.C2))
		v := k.Terminal(p.OCV(c, s), v1, v2, amps)
		t.Logf("%g min: %.4f V", row.minutes, v)
		assert.InDelta(t, row.volts, v, tol, "after %g min", row.minutes)
	}
}
