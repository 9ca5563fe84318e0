package cycle_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/motor"
)

// A gliding step of the length of a series' step says what the series says: of random
// builds in random states, pack and all, with the largest commutation loss there is.
func TestGlideIsTheSeries(t *testing.T) {
	source := rand.New(rand.NewPCG(22, 0))
	compared, skipped := 0, 0
	for n, b := range randomBuilds(t, 22, effort.Of(200)) {
		if n%2 == 0 && b.Motor.Bench == nil {
			b.Motor.Commutation = 1
		}
		if n%5 == 0 {
			b.Battery.Capacity = 36 // the charge moves within a step
		}
		c, s := cycle.CheckGlide(t, b, source.Float64)
		compared, skipped = compared+c, skipped+s
	}
	assert.Greater(t, compared, 20*skipped)
}

// Gliding steps say of stiff builds what the series says, which takes many thousand
// steps for it: with little inductance, much drag or much churning.
func TestGlidesAgainstTheSeries(t *testing.T) {
	glides := 0
	for n, b := range randomBuilds(t, 21, effort.Of(60)) {
		source := rand.New(rand.NewPCG(21, uint64(n)))
		log := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, source.Float64()) }
		rate := log(1e5, 1e6) // [1/s]
		at := b.Ambient.Temperature
		inertia := b.Geometry().FreeInertia
		switch k := b.Motor.At(at, at); n % 3 {
		case 0:
			b.Motor.Armature.Inductance = k.Resistance / rate
			if b.Motor.Bench != nil {
				b.Motor.Bench.Inductance = k.Resistance / rate
			}
		case 1:
			if b.Motor.Bench == nil {
				b.Motor.Drag = motor.Drag{Viscous: inertia * rate}
			}
		case 2:
			b.Gears.Churning = inertia * rate * b.Gears.Ratio * b.Gears.Ratio
		}
		b.Spring.Rate /= 4
		for _, held := range []bool{false, true} {
			glides += cycle.CheckGlides(t, b, held)
		}
	}
	t.Logf("%d steps glided", glides)
	assert.Greater(t, glides, effort.Seen(200))
}
