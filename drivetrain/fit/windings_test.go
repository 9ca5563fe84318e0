package fit_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/fit"
	"example.org/ampstroke/motor"
)

// One motor frame of the 540 size that its maker winds six ways, on 7.4 V (a maker's table, at
// second hand).
var windings = []struct{ turns, rpm, noLoad, stall float64 }{
	{13, 32500, 6.8, 170}, {21, 20000, 2.8, 62}, {35, 12500, 1.5, 50}, {45, 10000, 1.2, 27}, {55, 8000, 1.0, 19.5}, {80, 5400, 0.75, 8.5},
}

// The law of turns: one Ke a turn and one law of losses do for all six, as far as the table
// itself keeps to it. By equation A13 its Ke a turn lies within 3.7 % of the mean; with that
// of the 21-turn winding, the 13-turn one's speed follows within 0.1 %, the others' within
// 7.5 %.
func TestSixWindings(t *testing.T) {
	const volts = 7.4
	d := demo(t, "motor.commutation=0 %", "motor.stator.brush.drop=0 V", "motor.drag.constant=5 mN m", "motor.drag.viscous=2e-6 N m s")
	a, at := &d.Build.Motor.Armature, d.Build.Ambient.Temperature
	base := d.Build.Motor.At(at, at)

	// What is known of each winding: its turns, and its resistance by the stall current, made
	// by the wire.
	with := func(i int) string {
		w := &windings[i]
		wire := a.Wire * math.Sqrt(base.Resistance*w.turns/float64(a.Turns)*w.stall/volts)
		return fmt.Sprintf("supply: %g V, with: {motor.armature.turns: %g, motor.armature.wire: %.12g mm}", volts, w.turns, 1e3*wire)
	}
	text := func(speed, current func(i int) float64) string { // ± in per cent
		all := "readings:\n"
		for i := range windings {
			w := &windings[i]
			all += fmt.Sprintf("- {figure: no_load_speed, value: %g rpm ± %g %%, %s}\n", w.rpm, speed(i), with(i))
			all += fmt.Sprintf("- {figure: no_load_current, value: %g A ± %g %%, %s}\n", w.noLoad, current(i), with(i))
			all += fmt.Sprintf("- {figure: stall_current, value: %g A ± 1 %%, %s}\n", w.stall, with(i))
		}
		return all + "free: [{key: motor.armature.saturation, prior: 2.4 T ± 60 %}, {key: motor.drag.constant, prior: 5 mN m ± 4 mN m}, {key: motor.drag.viscous, prior: 2e-6 N m s ± 2e-6 N m s}]\n"
	}
	r := run(t, d, text(func(int) float64 { return 5 }, func(int) float64 { return 20 }), fit.Settings{})
	ke := func(r *fit.Result) float64 { // of a turn, after
		b := d.Build.Clone()
		b.Motor.Armature.Saturation = r.Unknowns[0].Value
		return b.Motor.At(at, at).Ke / float64(a.Turns)
	}
	assert.Less(t, r.Unknowns[0].Shift, -0.3, "from a belief that is far off")
	mean := 0.
	for i := range windings {
		w := &windings[i]
		byTable, _ := motor.KeFromNoLoad(volts, w.rpm*math.Pi/30, w.noLoad, volts/w.stall, 0)
		mean += byTable / w.turns / float64(len(windings))
		assert.InEpsilon(t, byTable/w.turns, ke(r), 0.045, "%g turns", w.turns)
		speed, current, stall := &r.Readings[3*i], &r.Readings[3*i+1], &r.Readings[3*i+2]
		require.Equal(t, "no_load_speed", speed.Figure.Name)
		assert.InEpsilon(t, speed.Measured, speed.After, 0.05, "%g turns", w.turns)
		assert.InEpsilon(t, current.Measured, current.After, 0.25, "%g turns", w.turns)
		assert.InEpsilon(t, stall.Measured, stall.After, 1e-9, "the wire makes the resistance")
	}
	assert.InEpsilon(t, mean, ke(r), 0.01)
	for i := range windings {
		w := &windings[i]
		byTable, _ := motor.KeFromNoLoad(volts, w.rpm*math.Pi/30, w.noLoad, volts/w.stall, 0)
		assert.InEpsilon(t, mean, byTable/w.turns, 0.0375, "%g turns, by A13", w.turns)
	}
	assert.Empty(t, r.Outliers())

	// The 21-turn winding says what a turn does, it and the 13-turn one's current what is lost.
	tight := func(i int, most int) float64 {
		if i < most {
			return 0.02
		}
		return 1000
	}
	one := run(t, d, text(func(i int) float64 { return tight(1-i, 1) + 1000*math.Abs(float64(i-1)) }, func(i int) float64 { return tight(i, 2) }), fit.Settings{})
	for i := range windings {
		w, speed := &windings[i], &one.Readings[3*i]
		tolerance := 0.075
		if i < 2 {
			tolerance = 0.001
		}
		assert.InEpsilon(t, speed.Measured, speed.After, tolerance, "%g turns", w.turns)
	}
}
