package heat

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/battery/harness"
)

// Equation C6: a short pulse melts at I²t, and a steady 1.2 times the rating just
// melts; between, the closed form is what small steps come to.
func TestFuse(t *testing.T) {
	f := harness.Fuse{Rating: 25, Melting: 600}
	m := melt{fuse: &f}
	short := m.reaches(fuseSpan, 4000*4000)
	assert.InEpsilon(t, 600., 4000*4000*short, 1e-4)
	assert.True(t, math.IsNaN(m.reaches(fuseSpan, 29.99*29.99)))
	assert.False(t, math.IsNaN(m.reaches(fuseSpan, 30.01*30.01)))
	// At 25 °C the melting integral is what heats it to the melting point.
	assert.InDelta(t, FuseBlows-298.15, fuseSpan, 1e-9)

	const square, dt = 50 * 50., 1e-5
	at := m.reaches(fuseSpan, square)
	x, time := 0., 0.
	for x < f.Melting {
		x += dt * (square - x/m.tau())
		time += dt
	}
	assert.InDelta(t, time, at, 2e-5)
	m.x = 300
	assert.InEpsilon(t, 300*math.Exp(-1/m.tau()), m.after(0, 1), 1e-12)
	assert.Zero(t, m.reaches(m.rise(), 0), "it is there already")
	assert.InEpsilon(t, fuseSpan/2, m.rise(), 1e-12)
}
