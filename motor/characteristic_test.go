package motor_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/motor"
)

func TestCharacteristic(t *testing.T) {
	m := assemble(t, stator(), armature())
	for _, c := range []struct {
		name        string
		drag        motor.Drag
		commutation float64
		drop        float64
	}{
		{"no losses but the winding's", motor.Drag{}, 0, 0},
		{"constant drag", motor.Drag{Constant: 3.5e-3}, 0, 0},
		{"all", motor.Drag{Constant: 3.5e-3, Viscous: 2e-6}, 0.3, 0.3},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := m
			m.Drag, m.Commutation, m.Stator.Brush.Drop = c.drag, c.commutation, c.drop
			k := m.At(ambient, ambient)
			const volts = 7.4
			h := k.Characteristic(volts)
			points := h.Sample(nil, 2001)
			require.Len(t, points, 2001)
			assert.Equal(t, h.NoLoad, points[0])
			assert.Equal(t, h.Stall, points[2000])
			for i, p := range points {
				loss := c.drop*p.Current + (k.Resistance+k.Commutation*p.Speed)*p.Current*p.Current + k.LossTorque(p.Speed)*p.Speed
				assert.InDelta(t, p.Input, p.Output+loss, 1e-11*h.Stall.Input, "power in = out + lost")
				assert.LessOrEqual(t, p.Efficiency, h.Best.Efficiency*(1+1e-12))
				assert.LessOrEqual(t, p.Output, h.Strongest.Output*(1+1e-12))
				if i > 0 {
					assert.Less(t, p.Speed, points[i-1].Speed)
					assert.Greater(t, p.Torque, points[i-1].Torque)
				}
			}
			assert.InEpsilon(t, (volts-c.drop)/k.Resistance, h.Stall.Current, 1e-12)
			assert.InEpsilon(t, k.Ke*h.Stall.Current-k.DragConstant, h.Stall.Torque, 1e-12)
			if c.commutation == 0 {
				assert.InEpsilon(t, h.NoLoad.Speed/2, h.Strongest.Speed, 1e-7, "a straight line: most power at half the speed")
			}
		})
	}
	free := m
	free.Stator.Brush.Drop = 0
	k := free.At(ambient, ambient)
	h := k.Characteristic(7.4)
	assert.InDelta(t, 1, h.Best.Efficiency, 1e-8, "a motor without drag is the better the less it does")

	k = m.At(ambient, ambient)
	h = k.Characteristic(0.2)
	assert.Zero(t, h.Stall.Current, "less than the brushes drop")
	assert.True(t, math.IsNaN(h.NoLoad.Speed))
	assert.Empty(t, h.Sample(nil, 10))
}

func TestRewind(t *testing.T) {
	a := armature()
	a.Inductance = 60e-6
	b := a.Rewind(14, 0.92e-3, 1)
	assert.Equal(t, 14, b.Turns)
	assert.InEpsilon(t, 15e-6, b.Inductance, 1e-12, "half the turns, a quarter of the inductance")
	assert.Equal(t, 28, a.Turns, "the old armature stays as it is")
	before, after := assemble(t, stator(), a), assemble(t, stator(), b)
	k, l := before.At(ambient, ambient), after.At(ambient, ambient)
	assert.InEpsilon(t, 0.5, l.Ke/k.Ke, 1e-12)
	assert.InEpsilon(t, 0.5*math.Pow(0.65/0.92, 2), l.Resistance/k.Resistance, 1e-12)

	assert.Equal(t, motor.RoomByHand, a.Room())
	b = a.Rewind(40, 0.65e-3, 1)
	assert.Equal(t, motor.RoomTight, b.Room(), "69 %")
	b = a.Rewind(56, 0.65e-3, 1)
	assert.Equal(t, motor.RoomNone, b.Room(), "96 %, more than honeycomb")
	assert.InDelta(t, 0.9069, motor.Honeycomb, 1e-5, "textbook figure of the hexagonal packing")
	unknown := a
	unknown.SlotArea = 0
	assert.Equal(t, motor.RoomUnknown, unknown.Room())
	_, err := unknown.LargestWire(0.6)
	assert.ErrorContains(t, err, "slot_area")

	for _, fill := range []float64{math.NaN(), 0, -1, 2} {
		_, err := a.LargestWire(fill)
		assert.ErrorContains(t, err, "wanted one or more of each")
	}
	assert.Equal(t, "no such room", motor.Room(7).String())
	for _, turns := range []int{5, 18, 28, 90} {
		for _, fill := range []float64{0.3, motor.HandWound} {
			b := a.Rewind(turns, 1e-3, 1)
			thick, err := b.LargestWire(fill)
			require.NoError(t, err)
			full := a.Rewind(turns, thick, 1)
			assert.InEpsilon(t, fill, full.SlotFill(), 1e-12)
			b.Strands = 3
			thin, err := b.LargestWire(fill)
			require.NoError(t, err)
			full = a.Rewind(turns, thin, 3)
			assert.InEpsilon(t, fill, full.SlotFill(), 1e-12, "three strands")
		}
	}
}

func TestDemagnetisation(t *testing.T) {
	s := stator()
	s.Leakage = 0.1
	m := assemble(t, s, armature())
	rest := m.Demagnetisation(0, ambient)
	k := m.At(ambient, ambient)
	// Ampère's law around the magnet at rest: H·lm = B/µ0·kc·g, with the flux
	// density of the magnet itself.
	atMagnet := k.GapFluxDensity / (1 - s.Leakage)
	assert.InEpsilon(t, atMagnet/motor.Mu0*s.Carter*s.AirGap/s.Magnet.Thickness, rest.Field, 1e-12)
	assert.Equal(t, 955e3, rest.Coercivity)

	one, two := m.Demagnetisation(30, ambient), m.Demagnetisation(60, ambient)
	assert.InEpsilon(t, 2*(one.Field-rest.Field), two.Field-rest.Field, 1e-12, "linear in the current")
	assert.InEpsilon(t, 3*28*30/4.*(2./3)/(2e-3+1.05*1.1*0.4e-3), one.Field-rest.Field, 1e-12, "A15: ampere-turns a pole, to the magnet's edge")
	assert.Greater(t, one.Margin(), two.Margin())

	m.Stator.Magnet.CoercivityDrift = -0.006
	hot := m.Demagnetisation(30, ambient+80)
	assert.InEpsilon(t, 955e3*(1-0.006*80), hot.Coercivity, 1e-12)
	assert.Less(t, hot.Margin(), one.Margin())

	m.Stator.Magnet.Coercivity = 0
	assert.True(t, math.IsNaN(m.Demagnetisation(30, ambient).Margin()), "not known")
	bench := fitzgerald()
	assert.True(t, math.IsNaN(bench.Demagnetisation(30, ambient).Margin()), "nobody looked inside")
}

// Where a straight drift leaves less than nothing of the coercivity there is none, and
// no margin of more than all of it.
func TestNoCoercivityIsLeft(t *testing.T) {
	m := assemble(t, stator(), armature())
	m.Stator.Magnet.CoercivityDrift = -0.006
	weak := m.Demagnetisation(30, ambient+160)
	assert.InEpsilon(t, 955e3*0.04, weak.Coercivity, 1e-9)
	assert.Less(t, weak.Margin(), 0.)
	for _, warm := range []float64{167, 300} {
		d := m.Demagnetisation(30, ambient+warm)
		assert.Zero(t, d.Coercivity)
		assert.Positive(t, d.Field)
		assert.Equal(t, math.Inf(-1), d.Margin())
	}
	assert.Equal(t, math.Inf(-1), motor.Demagnetisation{Field: 2e5, Coercivity: -1e5}.Margin(), "of a coercivity that no magnet has")
	assert.True(t, math.IsNaN(motor.Demagnetisation{Field: 2e5, Coercivity: math.NaN()}.Margin()))
}

// A motor that draws nothing is no better or worse than any: its efficiency is 0, and
// nothing in its points is 0/0.
func TestCharacteristicWithoutCurrent(t *testing.T) {
	m := assemble(t, stator(), armature())
	m.Stator.Brush.Drop = 0
	k := m.At(ambient, ambient) // without drag the unloaded motor draws nothing
	for _, volts := range []float64{0, 7.4} {
		h := k.Characteristic(volts)
		for _, p := range append(h.Sample(nil, 11), h.Stall, h.At(0), h.At(2*volts/k.Ke)) {
			for _, v := range []float64{p.Torque, p.Speed, p.Current, p.Input, p.Output, p.Efficiency} {
				assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%g V: %+v", volts, p)
			}
			if p.Current == 0 {
				assert.Zero(t, p.Efficiency)
			}
		}
	}
	dropped := assemble(t, stator(), armature())
	k = dropped.At(ambient, ambient)
	h := k.Characteristic(0.2)
	assert.Zero(t, h.Stall.Efficiency, "less than the brushes drop")
	assert.Zero(t, h.At(5).Current)
	assert.Zero(t, h.At(5).Efficiency)
}
