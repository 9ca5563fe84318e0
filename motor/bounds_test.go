package motor_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/quantity/quantitytest"
	"example.org/ampstroke/motor"
)

const freezing = 273.15 // [K]

func TestStatorBounds(t *testing.T) {
	type S = motor.Stator
	p := quantitytest.Part[S]{T: t, New: stator, Validate: (*S).Validate}
	p.Bounds("magnet.remanence", func(s *S) *float64 { return &s.Magnet.Remanence }, 0.05, 2)
	p.Bounds("magnet.drift", func(s *S) *float64 { return &s.Magnet.Drift }, -0.01, 0.01)
	p.Bounds("magnet.permeability", func(s *S) *float64 { return &s.Magnet.Permeability }, 1, 10)
	p.Bounds("magnet.coercivity", func(s *S) *float64 { return &s.Magnet.Coercivity }, 0, 5e6)
	p.Bounds("magnet.coercivity_drift", func(s *S) *float64 { return &s.Magnet.CoercivityDrift }, -0.02, 0.02)
	p.Bounds("magnet.limit", func(s *S) *float64 { return &s.Magnet.Limit }, freezing, freezing+600)
	p.Bounds("magnet.thickness", func(s *S) *float64 { return &s.Magnet.Thickness }, 0.1e-3, 0.1)
	p.Bounds("magnet.arc", func(s *S) *float64 { return &s.Magnet.Arc }, 0.1, 3.1415927)
	p.Bounds("air_gap", func(s *S) *float64 { return &s.AirGap }, 0.02e-3, 10e-3)
	p.Bounds("length", func(s *S) *float64 { return &s.Length }, 1e-3, 1)
	p.Bounds("carter", func(s *S) *float64 { return &s.Carter }, 1, 3)
	p.Bounds("leakage", func(s *S) *float64 { return &s.Leakage }, 0, 0.9)
	p.Bounds("brush.drop", func(s *S) *float64 { return &s.Brush.Drop }, 0, 5)
	p.Bounds("brush.arc", func(s *S) *float64 { return &s.Brush.Arc }, 0, math.Pi)
	p.Bounds("brush.limit", func(s *S) *float64 { return &s.Brush.Limit }, freezing, freezing+600)
	bored := func() S {
		s := stator()
		s.AirGap, s.Bore = 0, 16e-3
		return s
	}
	p = quantitytest.Part[S]{T: t, New: bored, Validate: (*S).Validate}
	p.Bounds("bore", func(s *S) *float64 { return &s.Bore }, 1e-3, 1)
}

func TestArmatureBounds(t *testing.T) {
	type A = motor.Armature
	large := func() A { // in which every width has room
		a := armature()
		a.RotorDiameter = 1
		return a
	}
	p := quantitytest.Part[A]{T: t, New: large, Validate: (*A).Validate}
	p.Bounds("wire", func(a *A) *float64 { return &a.Wire }, 0.01e-3, 10e-3)
	p.Bounds("stack_length", func(a *A) *float64 { return &a.StackLength }, 1e-3, 1)
	p.Bounds("slot_opening", func(a *A) *float64 { return &a.SlotOpening }, 0, 0.5)
	p.Bounds("tooth_width", func(a *A) *float64 { return &a.ToothWidth }, 0.1e-3, 0.5)
	p.Bounds("saturation", func(a *A) *float64 { return &a.Saturation }, 0.1, 3)
	p.Bounds("stacking", func(a *A) *float64 { return &a.Stacking }, 0.1, 1)
	p.Bounds("mean_turn", func(a *A) *float64 { return &a.MeanTurn }, 1e-3, 5)
	p.Bounds("slot_area", func(a *A) *float64 { return &a.SlotArea }, 0.1e-6, 0.01)
	p.Bounds("inertia", func(a *A) *float64 { return &a.Inertia }, 1e-9, 1e-2)
	p.Bounds("inductance", func(a *A) *float64 { return &a.Inductance }, 1e-8, 1)
	p.Bounds("rotor_diameter", func(a *A) *float64 { return &a.RotorDiameter }, 1e-3, 1)
	p.Counts("slots", func(a *A) *int { return &a.Slots }, 3, 99)
	p.Counts("turns", func(a *A) *int { return &a.Turns }, 1, 1000)
	p.Counts("strands", func(a *A) *int { return &a.Strands }, 1, 1000)
	// What only two fields together can have wrong, at the bound and next to it.
	p.New = armature
	p.Wrong("slots", func(a *A) { a.Slots = 4 })
	p.Wrong("", func(a *A) { a.Slots = 5 })
	p.Wrong("slot_opening", func(a *A) { a.SlotOpening = math.Pi * a.RotorDiameter / 3 })
	p.Wrong("", func(a *A) { a.SlotOpening = math.Pi * a.RotorDiameter / 3 * (1 - 1e-12) })
	p.Wrong("tooth_width", func(a *A) { a.ToothWidth = a.RotorDiameter })
	p.Wrong("", func(a *A) { a.ToothWidth = a.RotorDiameter * (1 - 1e-12) })
}

func TestMotorBounds(t *testing.T) {
	type M = motor.Motor
	whole := func() M { return assemble(t, stator(), armature()) }
	p := quantitytest.Part[M]{T: t, New: whole, Validate: (*M).Validate}
	p.Bounds("drag.constant", func(m *M) *float64 { return &m.Drag.Constant }, 0, 10)
	p.Bounds("drag.viscous", func(m *M) *float64 { return &m.Drag.Viscous }, 0, 1)
	p.Bounds("commutation", func(m *M) *float64 { return &m.Commutation }, 0, 1)
	p.Bounds("heat.winding", func(m *M) *float64 { return &m.Heat.Winding }, 1e-3, 1e6)
	p.Bounds("heat.can", func(m *M) *float64 { return &m.Heat.Can }, 1e-3, 1e6)
	p.Bounds("heat.winding_to_can", func(m *M) *float64 { return &m.Heat.WindingToCan }, 1e-3, 1e6)
	p.Bounds("heat.can_to_ambient", func(m *M) *float64 { return &m.Heat.CanToAmbient }, 1e-3, 1e6)
	p.Bounds("heat.limit", func(m *M) *float64 { return &m.Heat.Limit }, freezing, freezing+600)
	// The rotor in its bore, the stack in its can, the coil under its magnet.
	across := func(gap float64) func(*M) {
		return func(m *M) { m.Stator.AirGap, m.Stator.Bore = 0, m.Armature.RotorDiameter+2*gap }
	}
	p.Wrong("", across(0.02e-3+1e-12))
	p.Wrong("armature.rotor_diameter", across(0.02e-3-1e-12))
	p.Wrong("", across(10e-3-1e-12))
	p.Wrong("armature.rotor_diameter", across(10e-3+1e-12))
	p.Wrong("", func(m *M) { m.Stator.Length = m.Armature.StackLength })
	p.Wrong("armature.stack_length", func(m *M) { m.Stator.Length = m.Armature.StackLength - 1e-12 })
}

func TestBenchBounds(t *testing.T) {
	type B = motor.Bench
	bench := func() B {
		b := motor.NewBench(7.4, rpm(15000), 3.2, 90, 12e-7)
		b.BrushDrop = 0
		return b
	}
	p := quantitytest.Part[B]{T: t, New: bench, Validate: (*B).Validate}
	p.Bounds("voltage", func(b *B) *float64 { return &b.Voltage }, 0.1, 1000)
	p.Bounds("no_load_speed", func(b *B) *float64 { return &b.NoLoadSpeed }, rpm(100), 1e5)
	p.Bounds("inertia", func(b *B) *float64 { return &b.Inertia }, 1e-9, 1e-2)
	p.Bounds("inductance", func(b *B) *float64 { return &b.Inductance }, 1e-8, 1)
	p.Bounds("brush_drop", func(b *B) *float64 { return &b.BrushDrop }, 0, 5)
	p.Bounds("drift", func(b *B) *float64 { return &b.Drift }, -0.01, 0.01)
	p.Bounds("temperature", func(b *B) *float64 { return &b.Temperature }, freezing-60, freezing+200)
	held := func() B {
		b := bench()
		b.NoLoadCurrent = 0
		return b
	}
	p = quantitytest.Part[B]{T: t, New: held, Validate: (*B).Validate}
	p.Bounds("stall_current", func(b *B) *float64 { return &b.StallCurrent }, 1e-3, 1e5)
	strong := func() B {
		b := bench()
		b.StallCurrent = 1e5
		return b
	}
	p = quantitytest.Part[B]{T: t, New: strong, Validate: (*B).Validate}
	p.Bounds("no_load_current", func(b *B) *float64 { return &b.NoLoadCurrent }, 0, 1000)
	ohms := func() B {
		b := held()
		b.StallCurrent, b.Resistance = 0, 0.08
		return b
	}
	p = quantitytest.Part[B]{T: t, New: ohms, Validate: (*B).Validate}
	p.Bounds("resistance", func(b *B) *float64 { return &b.Resistance }, 1e-5, 1000)
	// What only several readings together can have wrong.
	p.New = bench
	p.Wrong("", func(*B) {})
	p.Wrong("brush_drop", func(b *B) { b.BrushDrop = b.Voltage })
	p.Wrong("stall_current", func(b *B) { b.StallCurrent = b.NoLoadCurrent })
	p.Wrong("resistance", func(b *B) { b.StallCurrent, b.Resistance = 0, b.Voltage/b.NoLoadCurrent })
	// A twentieth of the magnet must be left.
	p.Wrong("drift", func(b *B) { b.Drift, b.Temperature = -0.01, ambient+95.01 })
	p.Wrong("", func(b *B) { b.Drift, b.Temperature = -0.01, ambient+94.99 })
}

// What is no number is refused by name, wherever it stands in readings that are
// otherwise sound; a magnet or reading of nothing gives no remanence.
func TestNoNumberGoesThrough(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for i, at := range []func(*motor.Run) *float64{
			func(r *motor.Run) *float64 { return &r.Voltage }, func(r *motor.Run) *float64 { return &r.Speed }, func(r *motor.Run) *float64 { return &r.Current },
		} {
			runs := []motor.Run{{Voltage: 4, Speed: 900, Current: 3}, {Voltage: 8, Speed: 1900, Current: 3.2}}
			*at(&runs[1]) = v
			_, _, err := motor.FromRuns(runs, 0.05, 0.3)
			assert.Error(t, err, "%g in field %d", v, i)
		}
		_, err := motor.Effective(stator(), armature(), v, ambient)
		assert.ErrorContains(t, err, "wanted more than 0", "a Ke of %g", v)
		_, err = motor.Effective(stator(), armature(), 4e-3, v)
		if v != math.Inf(-1) { // infinitely cold, the falling drift has infinitely much left
			assert.ErrorContains(t, err, "nothing left", "magnets at %g K", v)
		}
	}
	for _, ke := range []float64{0, -4e-3} {
		_, err := motor.Effective(stator(), armature(), ke, ambient)
		assert.ErrorContains(t, err, "wanted more than 0")
	}
}

// What the surroundings leave of magnets: the bound is a twentieth.
func TestWarm(t *testing.T) {
	m := assemble(t, stator(), armature())
	m.Stator.Magnet.Drift, m.Stator.Magnet.CoercivityDrift = -0.01, -0.002
	assert.NoError(t, m.Warm(ambient+94.99))
	assert.True(t, quantitytest.Blames(m.Warm(ambient+95.01), "stator.magnet.drift"))
	m.Stator.Magnet.Drift, m.Stator.Magnet.CoercivityDrift = -0.002, -0.01
	assert.NoError(t, m.Warm(ambient+94.99))
	assert.True(t, quantitytest.Blames(m.Warm(ambient+95.01), "stator.magnet.coercivity_drift"))
	m.Stator.Magnet.Coercivity = 0
	assert.NoError(t, m.Warm(ambient+95.01), "nobody knows the coercivity")
	assert.Error(t, m.Warm(math.NaN()))
	bench := motor.NewBench(7.4, rpm(15000), 3.2, 90, 12e-7)
	bench.Drift = -0.01
	m = motor.Motor{Bench: &bench}
	assert.NoError(t, m.Warm(ambient+94.99))
	assert.True(t, quantitytest.Blames(m.Warm(ambient+95.01), "bench.drift"))
}
