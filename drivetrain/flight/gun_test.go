package flight

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain"
)

// Each opening has the coefficient that is its own (E3): nozzle, port and muzzle the
// cylinder's, the gap around the pellet that of the clearance; the leak is effective as
// it is given.
func TestOpenings(t *testing.T) {
	b := &drivetrain.Build{
		Sector: drivetrain.NewSector(1e-3, 16, 24), Gears: drivetrain.NewGears(10), Piston: drivetrain.NewPiston(26e-3),
		Spring:   drivetrain.Spring{Rate: 680, Preload: 45e-3, Mass: 18e-3},
		Cylinder: drivetrain.NewCylinder(24e-3), Barrel: drivetrain.NewBarrel(6e-3, 0.4), Pellet: drivetrain.NewPellet(0.2e-3), Ambient: drivetrain.StandardAmbient(),
	}
	b.Cylinder.Port, b.Cylinder.PortArea, b.Cylinder.Nozzle, b.Cylinder.SealLeak = 36e-3, 21e-6, 5e-3, 1.5e-6
	b.Cylinder.Discharge, b.Barrel.ClearanceDischarge = 0.7, 0.4
	b.Piston.Spacer = 2e-3
	g := newGun(b)
	const quarter = math.Pi / 4
	assert.InEpsilon(t, 0.7*quarter*25e-6, g.nozzle, 1e-12)
	assert.InEpsilon(t, 0.7*quarter*36e-6, g.muzzle, 1e-12)
	assert.InEpsilon(t, 0.4*quarter*(36e-6-5.95e-3*5.95e-3), g.gap, 1e-12)
	assert.Equal(t, 1.5e-6, g.leak)
	assert.InEpsilon(t, 1.5e-6+0.7*21e-6, g.leakPort, 1e-12)
	assert.True(t, g.hasPort)
	assert.InEpsilon(t, 34e-3, g.port, 1e-12)
	assert.InEpsilon(t, 47e-3, g.preload, 1e-12)

	// What is open in a mode: the gap until the pellet is out, then the muzzle; the port
	// while the piston is behind it.
	var m mode
	var o laws
	for _, c := range []struct {
		pellet pelletMode
		port   bool
		front  float64
		leak   float64
	}{{held, false, g.gap, g.leak}, {sliding, true, g.gap, g.leakPort}, {out, false, g.muzzle, g.leak}} {
		m.pellet, m.portOpen = c.pellet, c.port
		m.follow(&g)
		o.follow(&g, &m)
		assert.InEpsilon(t, c.front*c.front, o.front, 1e-12, "%+v", c)
		assert.InEpsilon(t, c.leak*c.leak, o.leak, 1e-12, "%+v", c)
	}
}
