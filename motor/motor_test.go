package motor_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/motor"
)

const ambient = 293.15 // [K]

func stator() motor.Stator {
	m := motor.SinteredNdFeB()
	m.Remanence, m.Drift, m.Coercivity = 1.18, -0.0012, 955e3
	m.Thickness, m.Arc = 2e-3, 2*math.Pi/3
	return motor.NewStator(m, 0.4e-3)
}

func armature() motor.Armature {
	return motor.Armature{
		Slots: 3, Turns: 28, Wire: 0.65e-3, Strands: 1, RotorDiameter: 15.2e-3, StackLength: 22e-3,
		SlotOpening: 2e-3, ToothWidth: 4.4e-3, Saturation: 1.8, Stacking: 0.95, MeanTurn: 76e-3, SlotArea: 45e-6, Inertia: 12e-7,
	}
}

func assemble(t *testing.T, s motor.Stator, a motor.Armature) motor.Motor {
	m, err := motor.Assemble(s, a)
	require.NoError(t, err)
	return m
}

func TestAssembleRefusesWhatDoesNotFit(t *testing.T) {
	tight := stator()
	tight.AirGap, tight.Bore = 0, 15.1e-3
	_, err := motor.Assemble(tight, armature())
	require.ErrorIs(t, err, motor.ErrMisfit)
	assert.ErrorContains(t, err, "armature.rotor_diameter")
	assert.ErrorContains(t, err, "15.2 mm")
	assert.ErrorContains(t, err, "15.1 mm")

	short := stator()
	short.Length = 20e-3
	_, err = motor.Assemble(short, armature())
	require.ErrorIs(t, err, motor.ErrMisfit)
	assert.ErrorContains(t, err, "a stack of 22 mm does not go into a can that takes 20 mm")

	lost := stator()
	lost.AirGap, lost.Bore = 0, 36e-3
	_, err = motor.Assemble(lost, armature())
	require.ErrorIs(t, err, motor.ErrMisfit)
	assert.ErrorContains(t, err, "is lost in a bore of 36 mm")

	wide := stator()
	wide.AirGap, wide.Bore = 0, 16e-3
	m := assemble(t, wide, armature())
	same := assemble(t, stator(), armature())
	assert.InEpsilon(t, same.At(ambient, ambient).Ke, m.At(ambient, ambient).Ke, 1e-12, "a bore of 16 mm is a gap of 0.4 mm")

	broken := armature()
	broken.Turns = 0
	_, err = motor.Assemble(stator(), broken)
	require.Error(t, err)
	assert.NotErrorIs(t, err, motor.ErrMisfit, "a part that is wrong by itself is no misfit")
}

func TestValidateReportsAll(t *testing.T) {
	for _, c := range []struct {
		field  string
		change func(*motor.Motor)
	}{
		{"stator.magnet.remanence", func(m *motor.Motor) { m.Stator.Magnet.Remanence = math.NaN() }},
		{"stator.magnet.thickness", func(m *motor.Motor) { m.Stator.Magnet.Thickness = 0 }},
		{"stator.magnet.arc", func(m *motor.Motor) { m.Stator.Magnet.Arc = -1 }},
		{"stator.air_gap", func(m *motor.Motor) { m.Stator.Bore = 16e-3 }},
		{"stator.carter", func(m *motor.Motor) { m.Stator.Carter = 0.9 }},
		{"stator.leakage", func(m *motor.Motor) { m.Stator.Leakage = 1 }},
		{"stator.brush.drop", func(m *motor.Motor) { m.Stator.Brush.Drop = -0.3 }},
		{"armature.slots", func(m *motor.Motor) { m.Armature.Slots = 4 }},
		{"armature.turns", func(m *motor.Motor) { m.Armature.Turns = 0 }},
		{"armature.wire", func(m *motor.Motor) { m.Armature.Wire = math.Inf(1) }},
		{"armature.strands", func(m *motor.Motor) { m.Armature.Strands = 0 }},
		{"armature.slot_opening", func(m *motor.Motor) { m.Armature.SlotOpening = 16e-3 }},
		{"armature.inertia", func(m *motor.Motor) { m.Armature.Inertia = 0 }},
		{"drag.constant", func(m *motor.Motor) { m.Drag.Constant = -1e-3 }},
		{"commutation", func(m *motor.Motor) { m.Commutation = 1.5 }},
		{"heat.class", func(m *motor.Motor) { m.Heat.Class = "C" }},
	} {
		t.Run(c.field, func(t *testing.T) {
			m := assemble(t, stator(), armature())
			require.NoError(t, m.Validate())
			c.change(&m)
			assert.ErrorContains(t, m.Validate(), c.field+":")
		})
	}
	m := motor.Motor{}
	text := m.Validate().Error()
	for _, field := range []string{"stator.magnet.remanence", "stator.carter", "armature.slots", "armature.inertia"} {
		assert.Contains(t, text, field, "all at once")
	}
}

func TestMostTurns(t *testing.T) {
	a := armature()
	a.Turns = 1000
	assert.NoError(t, a.Validate())
	a.Turns = 1001
	assert.ErrorContains(t, a.Validate(), "turns: 1001 is out of range; wanted a whole number from 1 to 1000")
}

// Closed limits of A1 to A8.
func TestConstants(t *testing.T) {
	m := assemble(t, stator(), armature())
	at := func(change func(*motor.Motor)) motor.Constants {
		changed := m
		change(&changed)
		return changed.At(ambient, ambient)
	}
	base := m.At(ambient, ambient)

	t.Run("Ke grows with turns, resistance and inductance too", func(t *testing.T) {
		double := at(func(m *motor.Motor) { m.Armature.Turns *= 2 })
		assert.InEpsilon(t, 2, double.Ke/base.Ke, 1e-12, "A5")
		assert.InEpsilon(t, 2, double.Resistance/base.Resistance, 1e-12, "A6")
		assert.InEpsilon(t, 4, double.Inductance/base.Inductance, 1e-12, "A8")
	})
	t.Run("strands share the current", func(t *testing.T) {
		double := at(func(m *motor.Motor) { m.Armature.Strands = 2 })
		assert.InEpsilon(t, 0.5, double.Resistance/base.Resistance, 1e-12)
		assert.InEpsilon(t, 2, double.SlotFill/base.SlotFill, 1e-12)
	})
	t.Run("three slots: 2r/3 with thin brushes, r/2 with wide ones", func(t *testing.T) {
		r := m.Armature.CoilResistance(ambient)
		thin := at(func(m *motor.Motor) { m.Stator.Brush.Arc = 0 })
		wide := at(func(m *motor.Motor) { m.Stator.Brush.Arc = math.Pi / 3 })
		assert.InEpsilon(t, 2./3*r, thin.Resistance, 1e-12, "A7")
		assert.InEpsilon(t, r/2, wide.Resistance, 1e-12, "A7")
	})
	t.Run("saturated tooth does not feel the magnet, unsaturated one does", func(t *testing.T) {
		stronger := at(func(m *motor.Motor) { m.Stator.Magnet.Remanence *= 1.01 })
		assert.Less(t, stronger.Ke/base.Ke-1, 0.001)
		weak := func(f float64) motor.Constants {
			return at(func(m *motor.Motor) { m.Stator.Magnet.Remanence = 0.1 * f })
		}
		assert.InEpsilon(t, 1.01, weak(1.01).Ke/weak(1).Ke, 1e-6)
	})
	t.Run("no leakage, no gap: the magnet's own flux", func(t *testing.T) {
		c := at(func(m *motor.Motor) { m.Stator.Leakage = 0; m.Stator.AirGap = 0.02e-3; m.Stator.Magnet.Thickness = 0.1 })
		assert.InEpsilon(t, 1.18, c.GapFluxDensity, 3e-4, "μr·kc·g/lm = 2.3e-4")
	})
	t.Run("warm copper and warm magnets", func(t *testing.T) {
		hot := m.At(ambient+80, ambient+80)
		assert.InEpsilon(t, 1+0.00393*80, hot.Resistance/base.Resistance, 1e-12)
		assert.InEpsilon(t, 1-0.0012*80, hot.GapFluxDensity/base.GapFluxDensity, 1e-12)
	})
	t.Run("given inductance is taken", func(t *testing.T) {
		assert.Equal(t, 5e-5, at(func(m *motor.Motor) { m.Armature.Inductance = 5e-5 }).Inductance)
	})
	t.Run("commutation", func(t *testing.T) {
		assert.Zero(t, base.Commutation)
		c := at(func(m *motor.Motor) { m.Commutation = 0.3 })
		assert.InEpsilon(t, 0.3*3*base.Inductance/(2*math.Pi), c.Commutation, 1e-12, "A16")
		assert.Equal(t, 0.3, c.Reversal)
	})
	t.Run("derived commutation", func(t *testing.T) {
		for _, c := range []struct{ flux, want float64 }{{1.638, 0.358}, {0.611, 0.986}} {
			assert.InDelta(t, c.want, motor.CommutationShare(3, c.flux), 1e-3, "A17, recomputed")
		}
		derived := func(set func(m *motor.Motor)) motor.Constants {
			return at(func(m *motor.Motor) { m.Commutation = motor.DerivedCommutation; set(m) })
		}
		c := derived(func(*motor.Motor) {})
		assert.InEpsilon(t, c.Reversal*3*base.Inductance/(2*math.Pi), c.Commutation, 1e-12, "A16")
		// The incremental inductance of the tooth is the slope of its flux (A4).
		limit := base.UnsaturatedFlux / 1e3
		for _, flux := range []float64{0.3, 0.9, 1.2, 1.7} {
			const d = 1e-6
			slope := (motor.Saturated(flux*limit*(1+d), limit) - motor.Saturated(flux*limit*(1-d), limit)) / (2 * d * flux * limit)
			assert.InDelta(t, 0.35+0.65*slope, motor.CommutationShare(3, flux), 1e-8)
			assert.InEpsilon(t, 4./6, motor.CommutationShare(5, flux)/motor.CommutationShare(3, flux), 1e-12, "five slots")
		}
		ferrite := derived(func(m *motor.Motor) { m.Stator.Magnet.Remanence = 0.39 })
		assert.Less(t, c.Reversal, ferrite.Reversal-0.3, "a saturated tooth keeps less to lose than one under ferrite")
		warm := m
		warm.Commutation = motor.DerivedCommutation
		assert.Greater(t, warm.At(ambient, ambient+80).Reversal, c.Reversal, "weaker magnets saturate it less")
	})
	t.Run("slot fill", func(t *testing.T) {
		assert.InDelta(t, 0.4824, base.SlotFill, 5e-5)
		assert.True(t, math.IsNaN(at(func(m *motor.Motor) { m.Armature.SlotArea = 0 }).SlotFill))
	})
}

// The steady speed must balance voltage and torque, commutation loss included.
func TestSteadySpeed(t *testing.T) {
	m := assemble(t, stator(), armature())
	m.Drag = motor.Drag{Constant: 3.5e-3, Viscous: 2e-6}
	for _, kappa := range []float64{0, 0.3} {
		m.Commutation = kappa
		c := m.At(ambient, ambient)
		for _, load := range []float64{0, 0.02, 0.1} {
			w := c.SteadySpeed(load, 8, 0.03)
			i := c.SteadyCurrent(load, w)
			assert.InDelta(t, 8-c.BrushDrop, (c.Resistance+0.03+c.Commutation*w)*i+c.Ke*w, 1e-12)
		}
		assert.True(t, math.IsNaN(c.SteadySpeed(1, 8, 0.03)), "a load that it can't turn")
		assert.InEpsilon(t, (8-c.BrushDrop)/(c.Resistance+0.03), c.StallCurrent(8, 0.03), 1e-12)
	}
}

func TestClassLimit(t *testing.T) {
	for class, degC := range map[string]float64{"A": 105, "E": 120, "B": 130, "F": 155, "H": 180} {
		limit, ok := motor.ClassLimit(class)
		assert.True(t, ok)
		assert.InDelta(t, degC, limit-273.15, 1e-9, "IEC 60085")
	}
	_, ok := motor.ClassLimit("X")
	assert.False(t, ok)
}

func ExampleAssemble() {
	magnet := motor.SinteredNdFeB()
	magnet.Thickness, magnet.Arc = 2e-3, 2.0
	can := motor.NewStator(magnet, 0)
	can.AirGap, can.Bore = 0, 16e-3

	rotor := motor.Armature{
		Slots: 3, Turns: 22, Wire: 0.7e-3, Strands: 1, RotorDiameter: 15.2e-3, StackLength: 22e-3,
		SlotOpening: 2e-3, ToothWidth: 4.4e-3, Saturation: 1.8, Stacking: 0.95, MeanTurn: 76e-3, Inertia: 12e-7,
	}
	m, err := motor.Assemble(can, rotor)
	if err != nil {
		fmt.Println(err)
		return
	}
	c := m.At(293.15, 293.15)
	fmt.Printf("Ke %.2f mV·s, R %.1f mΩ\n", 1e3*c.Ke, 1e3*c.Resistance)

	rotor.RotorDiameter = 16.2e-3
	_, err = motor.Assemble(can, rotor)
	fmt.Println(err)
	// Output:
	// Ke 3.47 mV·s, R 46.8 mΩ
	// armature.rotor_diameter: a rotor of 16.2 mm does not turn in a bore of 16 mm: the gap would be -0.1 mm; wanted at least 0.02 mm
}
