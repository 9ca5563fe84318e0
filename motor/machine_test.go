package motor_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/motor"
)

func rpm(n float64) float64 { return n * 2 * math.Pi / 60 }

func TestMachineEquations(t *testing.T) {
	const lap, wave = 4, 2
	for _, c := range []struct {
		name      string
		got, want float64
		tol       float64
		reason    string
	}{
		{"lap EMF", motor.EMF(4, 440, 0.07, lap, rpm(900)), 462, 1e-9, "Bakshi, DC Machines, Ex 1.1"},
		{"wave EMF", motor.EMF(4, 440, 0.07, wave, rpm(900)), 924, 1e-9, "Bakshi, DC Machines, Ex 1.1"},
		{"42 coils of 8 turns", motor.EMF(4, 2*42*8, 21e-3, lap, rpm(1120)), 263.424, 1e-9, "Bakshi Ex 1.2: turns to voltage"},
		{"the same, wave", motor.EMF(4, 2*42*8, 21e-3, wave, rpm(560)), 263.424, 1e-9, "Bakshi Ex 1.2"},
		{"speed under load", motor.Speed(6, 864, 0.05, 6, 480-110*0.2), rpm(636.11), 2e-3, "Theraja Ex 29.6"},
		{"torque", motor.Torque(6, 864, 0.05, 6, 110), 756.30, 2e-3, "Theraja Ex 29.6 (book 755.6: 0.159 for 1/2π)"},
		{"torque at 50 A", motor.Torque(4, 480, 20e-3, lap, 50), 76.39, 2e-3, "Bakshi Ex 2.3 (book 76.32: 0.159 for 1/2π)"},
		{"no-load EMF", motor.EMF(4, 540, 25e-3, lap, rpm(1000)), 225, 1e-4, "Bakshi Ex 2.4"},
		{"no-load current", (230 - motor.EMF(4, 540, 25e-3, lap, rpm(1000))) / 0.8, 6.25, 1e-4, "Bakshi Ex 2.4"},
		{"loss torque", motor.Torque(4, 540, 25e-3, lap, 6.25), 13.429, 1e-4, "Bakshi Ex 2.4"},
		{"flux of a permanent magnet", motor.PoleFlux(0.74, 0.04, math.Pi, 0.15), 13.949e-3, 1e-3, "textbook problem, 18 loops of 3 turns (answers recomputed)"},
		{"its speed at 48 V", motor.Speed(2, 2*18*3, motor.PoleFlux(0.74, 0.04, math.Pi, 0.15), 2, 48), rpm(1911.8), 1e-3, "the same"},
		{"its torque at 10 A", motor.Torque(2, 2*18*3, motor.PoleFlux(0.74, 0.04, math.Pi, 0.15), 2, 10), 2.3976, 1e-3, "the same"},
		{"electromagnetic torque", motor.ElectromagneticTorque(125, 150, rpm(3000)), 59.68, 1e-3, "Fitzgerald Ex 7.1"},
	} {
		t.Run(c.name, func(t *testing.T) { assert.InEpsilon(t, c.want, c.got, c.tol, c.reason) })
	}
}

func ExampleEMF() {
	// 28 turns on each of 3 teeth: 3 coils with two sides each.
	fmt.Printf("%.3f V\n", motor.EMF(2, 2*3*28, 165e-6, 2, 1000))
	// Output: 4.412 V
}
