package cycle

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
)

func testGeometry(spacer float64) *drivetrain.Geometry {
	const rp = 12e-3
	g := &drivetrain.Geometry{
		Ratio: 10, PitchRadius: rp, Pickup: spacer / rp, Release: 4, Lobe: 2 * math.Pi,
		SpringRate: 680, Preload: 45e-3 + spacer, FreeInertia: 1e-6, PullInertia: 2e-6,
	}
	g.Stroke = rp*g.Release - spacer
	return g
}

func TestArcs(t *testing.T) {
	g := testGeometry(0)
	all := arcs(nil, g, 0.8, 5, nil)
	require.Len(t, all, 2)
	assert.True(t, all[0].pull)
	assert.False(t, all[1].pull)
	assert.Equal(t, g.Lobe, all[1].to)

	// D6: the load is that of spring and drag over the arm, at both ends.
	arm := g.PitchRadius / (g.Ratio * 0.8)
	assert.InDelta(t, (g.SpringForce(0)+5)*arm, all[0].at(0), 1e-15)
	assert.InDelta(t, (g.SpringForce(g.Stroke)+5)*arm, all[0].at(g.Release), 1e-15)
	assert.Zero(t, all[1].at(5))
}

func TestArcsWithSpacer(t *testing.T) {
	g := testGeometry(3e-3)
	all := arcs(nil, g, 1, 0, nil)
	require.Len(t, all, 2)
	assert.Equal(t, g.Pickup, all[0].from)
	assert.InDelta(t, g.Pickup+g.Lobe, all[1].to, 1e-15)
	assert.InDelta(t, g.SpringForce(0)*g.PitchRadius/g.Ratio, all[0].at(g.Pickup), 1e-15, "the load begins at the preload, spacer included")
}

// D4, D9: the tappet works once a lobe; what lies before the pickup is met a
// lobe later.
func TestTappetArcs(t *testing.T) {
	g := testGeometry(3e-3) // pickup at 0.25
	for _, c := range []struct {
		name     string
		from, to float64
		arcs     int
	}{
		{"in the pull", 1, 2, 4},
		{"over the release", 3.5, 4.5, 4},
		{"in the free phase", 5, 6, 4},
		{"before the pickup", 0.05, 0.15, 4},
		{"over the pickup", 0.1, 0.5, 4},
		{"from the pickup", 0.25, 1, 3},
		{"to the end of the lobe", 5, 2 * math.Pi, 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			tappet := &drivetrain.Tappet{From: c.from, To: c.to, Work: 0.045}
			all := arcs(nil, g, 0.8, 5, tappet)
			assert.Len(t, all, c.arcs)
			work, at := 0., g.Pickup
			for _, a := range all {
				assert.Equal(t, at, a.from, "without gaps")
				assert.Greater(t, a.to, a.from)
				at = a.to
				work += a.tappet * (a.to - a.from) * g.Ratio
			}
			assert.InDelta(t, g.Pickup+g.Lobe, at, 1e-15)
			assert.InEpsilon(t, tappet.Work, work, 1e-12)
		})
	}
}
