package motor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// dc is a machine by the textbooks' names, as the constants that all figures of a motor
// are made of.
func dc(poles, conductors int, flux float64, paths int) *Constants {
	return &Constants{Ke: machineConstant(poles, conductors, paths) * flux}
}

// emf is what holds the terminal voltage up without a current [V], and torque what moves
// the shaft without a load [N m].
func (c *Constants) emf(speed float64) float64      { return -c.VoltageLeft(0, 0, speed, 0) }
func (c *Constants) torque(current float64) float64 { return c.TorqueLeft(current, 0, 0) }

func perMinute(n float64) float64 { return n * 2 * math.Pi / 60 }

// The DC-machine equations, through what a motor's voltage and torque balances are.
func TestMachineEquations(t *testing.T) {
	const lap, wave = 4, 2
	loaded := dc(6, 864, 0.05, 6)
	loaded.Resistance = 0.2
	unloaded := dc(4, 540, 25e-3, lap)
	unloaded.Resistance = 0.8
	// A pole of full cover, which a coil of one tooth of two spans: the area of equation A3.
	pole := Motor{
		Stator:   Stator{Magnet: Magnet{Arc: math.Pi}},
		Armature: Armature{Slots: 2, RotorDiameter: 0.08, StackLength: 0.15},
	}
	flux := 0.74 * pole.coilFace()
	magnet := dc(2, 2*18*3, flux, 2)
	for _, c := range []struct {
		name      string
		got, want float64
		tol       float64
		reason    string
	}{
		{"lap EMF", dc(4, 440, 0.07, lap).emf(perMinute(900)), 462, 1e-9, "Bakshi, DC Machines, Ex 1.1"},
		{"wave EMF", dc(4, 440, 0.07, wave).emf(perMinute(900)), 924, 1e-9, "Bakshi, DC Machines, Ex 1.1"},
		{"42 coils of 8 turns", dc(4, 2*42*8, 21e-3, lap).emf(perMinute(1120)), 263.424, 1e-9, "Bakshi Ex 1.2: turns to voltage"},
		{"the same, wave", dc(4, 2*42*8, 21e-3, wave).emf(perMinute(560)), 263.424, 1e-9, "Bakshi Ex 1.2"},
		{"speed under load", loaded.SteadySpeed(loaded.torque(110), 480, 0), perMinute(636.11), 2e-3, "Theraja Ex 29.6"},
		{"its current", loaded.SteadyCurrent(loaded.torque(110), perMinute(636.11)), 110, 1e-9, "Theraja Ex 29.6"},
		{"torque", loaded.torque(110), 756.30, 2e-3, "Theraja Ex 29.6 (book 755.6: 0.159 for 1/2π)"},
		{"torque at 50 A", dc(4, 480, 20e-3, lap).torque(50), 76.39, 2e-3, "Bakshi Ex 2.3 (book 76.32: 0.159 for 1/2π)"},
		{"no-load EMF", unloaded.emf(perMinute(1000)), 225, 1e-4, "Bakshi Ex 2.4"},
		{"no-load current", unloaded.VoltageLeft(230, 0, perMinute(1000), 1) / unloaded.Resistance, 6.25, 1e-4, "Bakshi Ex 2.4"},
		{"loss torque", unloaded.torque(6.25), 13.429, 1e-4, "Bakshi Ex 2.4"},
		{"flux of a permanent magnet", flux, 13.949e-3, 1e-3, "textbook problem, 18 loops of 3 turns (answers recomputed)"},
		{"its speed at 48 V", magnet.SteadySpeed(0, 48, 0), perMinute(1911.8), 1e-3, "the same"},
		{"its torque at 10 A", magnet.torque(10), 2.3976, 1e-3, "the same"},
		{"electromagnetic torque", (&Constants{Ke: 125 / perMinute(3000)}).torque(150), 59.68, 1e-3, "Fitzgerald Ex 7.1"},
	} {
		t.Run(c.name, func(t *testing.T) { assert.InEpsilon(t, c.want, c.got, c.tol, c.reason) })
	}

	// And a motor's own Ke is that equation with P = a = 2 and Z = 2·S·N.
	m := Motor{
		Stator:   NewStator(Magnet{Remanence: 0.4, Permeability: 1.05, Thickness: 2e-3, Arc: 2}, 0.4e-3),
		Armature: Armature{Slots: 5, Turns: 30, Wire: 0.5e-3, Strands: 1, RotorDiameter: 15e-3, StackLength: 20e-3, ToothWidth: 3e-3, Saturation: 1.8, Stacking: 1, MeanTurn: 70e-3, Inertia: 1e-6},
	}
	k := m.At(reference, reference)
	assert.InEpsilon(t, dc(2, 2*5*30, k.CoilFlux, 2).Ke, k.Ke, 1e-12)
	assert.InEpsilon(t, 5*30*k.CoilFlux/math.Pi, k.Ke, 1e-12, "A5")
}
