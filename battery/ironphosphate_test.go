package battery_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
)

// Afshar 2017, as in PyBaMM's Prada2013 set; x is the positive electrode's fill.
func TestPublishedIronPhosphate(t *testing.T) {
	p := packOf(battery.LithiumIronPhosphate, 3600, 9e-3)
	c, err := p.Cell()
	require.NoError(t, err)
	for _, row := range []struct{ x, volts float64 }{
		{0.05, 3.406963}, {0.5, 3.397565}, {0.9, 3.344650}, {0.95, 3.187627},
	} {
		assert.InDelta(t, row.volts, p.OCV(c, 1-row.x), 1e-6, "at x = %g", row.x)
	}
}

// At the ends one exponential is 1 and the other nothing.
func TestIronPhosphateEnds(t *testing.T) {
	var c battery.IronPhosphate
	assert.InDelta(t, 3.4077-0.020269-0.9, c.OCV(0), 1e-12, "empty: 2.49 V")
	assert.InDelta(t, 3.4077+0.5, c.OCV(1), 1e-12, "full: 3.91 V; exp(-30) leaves 8e-14 V")
	assert.InDelta(t, 0.020269+30*0.9, c.Slope(0), 1e-10)
	assert.InDelta(t, 0.020269+150*0.5, c.Slope(1), 1e-10)
}

func TestIronPhosphateSlope(t *testing.T) {
	var c battery.IronPhosphate
	const h = 1e-6
	for s := 0.005; s < 1; s += 0.005 {
		lo, hi := s-h, s+h
		third := 150*150*150*0.5*math.Exp(-150*(1-hi)) + 30*30*30*0.9*math.Exp(-30*lo)
		assert.InDelta(t, (c.OCV(hi)-c.OCV(lo))/(hi-lo), c.Slope(s), h*h/6*third+1e-9,
			"central difference: error h²·V'''/6, and three roundings of 2e-16 V on either side, over 2h; at %g", s)
	}
}
