package cycle

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/motor"
)

// Published courses through what cycles are made of: the series, how far each reaches,
// and the steps on it.

// march steps a run in its present mode up to a time [s], as phase does but for events.
func march(t *testing.T, r *run, until float64) {
	t.Helper()
	for steps := 0; r.time < until; steps++ {
		require.Less(t, steps, 100_000)
		r.series.expand(&r.mode, &r.y, r.unit)
		far := min(r.series.reach(r.amps, r.rads, r.tolerance), longestStep/r.unit)
		require.Positive(t, far)
		if !r.held && r.path == closed {
			far = r.follow(far)
		}
		reached := far
		if left := (until - r.time) / r.unit; left <= far {
			far = left
		}
		r.advance(far)
		if far < reached {
			r.time = until
		}
		r.unit *= reached
	}
}

// Chen & Rincón-Mora, IEEE Trans. Energy Conv. 21(2) 504–511, 2006: a step of 0.8 A at
// s = 0.5, s held. The current is held by an inductance that nothing moves, the charge by
// a capacity that nothing empties.
func TestPublishedStepOfTheCell(t *testing.T) {
	const amps, charge0, never = 0.8, 0.5, 1e15
	var cell battery.ChenRinconMora
	pack := battery.New(battery.LithiumPolymer, 1, 1, never, 0.07446)
	m := &machine{
		motor: motor.Constants{Inductance: never, Resistance: 1, Ke: 1}, geometry: drivetrain.Geometry{Ratio: 1},
		pack: &pack, cell: cell, circuit: cell.Circuit(charge0), charge: charge0,
		arcs: []arc{{to: 1, inertia: 1}},
	}
	m.series = m.circuit.R0
	m.resistance = m.motor.Resistance + m.series
	r := newRun(m, 1e-12, false, 0, nil)
	r.y[current], r.sign, r.turns = amps, 1, false
	r.unit = 1e-3
	assert.InDelta(t, 3.743794, r.terminal(r.y[:]), 1e-5, "at once")
	for _, row := range []struct{ time, volts float64 }{{1, 3.742494}, {10, 3.732233}, {60, 3.703037}, {300, 3.676961}} {
		march(t, r, row.time)
		assert.InDelta(t, row.volts, r.terminal(r.y[:]), 1e-5, "at %g s", row.time)
		r.series.expand(&r.mode, &r.y, r.unit)
		assert.InDelta(t, row.volts, r.series.terminal[0], 1e-5, "by the series, at %g s", row.time)
		// τ 32.810 and 223.034 s
		assert.InDelta(t, amps*m.circuit.R1*-math.Expm1(-row.time/32.810), r.y[voltage1], 2e-6)
		assert.InDelta(t, amps*m.circuit.R2*-math.Expm1(-row.time/223.034), r.y[voltage2], 2e-6)
		assert.InDelta(t, amps, r.y[current], 1e-9)
		assert.InDelta(t, charge0, r.y[charge], 1e-12)
	}
	// The books have what flowed and the heat of the pairs, which is a closed form as well.
	pair := func(resistance, tau float64) float64 {
		return amps * amps * resistance * (300 + 2*tau*math.Expm1(-300/tau) - tau/2*math.Expm1(-600/tau))
	}
	c := &m.circuit
	assert.InEpsilon(t, amps*300, r.y[sumCurrent], 1e-9)
	assert.InEpsilon(t, amps*amps*300, r.y[sumSquare], 1e-9)
	assert.InEpsilon(t, pair(c.R1, 32.810)+pair(c.R2, 223.034), r.y[sumPairs], 1e-5)
}

// Modelica Standard Library, DCPM_Start, published reference results, as in
// TestRampedStart, by the steps of a cycle on a held pack. On the ramp of the voltage, u
// volts a second, the motor is one on no voltage that is seen from a frame that speeds up by
// u/Ke: what holds the frame's inertia back is a load of J·u/Ke.
func TestRampedStartBySteps(t *testing.T) {
	const (
		ke, inertia  = 0.63661977, 0.30
		from, to, up = 0.2, 1., 100. // the ramp [s], [s], [V]
		loadAt, load = 1.5, 63.66
		ramp         = up / (to - from)
	)
	m := &machine{
		motor: motor.Constants{Resistance: 0.05, Inductance: 1.5e-3, Ke: ke}, geometry: drivetrain.Geometry{Ratio: 1}, resistance: 0.05,
		pack: &battery.Pack{Series: 1, Parallel: 1}, cell: battery.ChenRinconMora{}, arcs: []arc{{to: math.Inf(1), inertia: inertia}},
	}
	r := newRun(m, 1e-12, true, 0, nil)
	r.turns, r.sign = true, 1
	row := func(time, amps, rads float64) {
		t.Helper()
		march(t, r, time)
		w := r.y[speed]
		if time <= to {
			w += ramp * (time - from) / ke
		}
		assert.InDelta(t, amps, r.y[current], 1e-5*100, "current at %g s: 1e-5 of its scale of 100 A", time)
		assert.InEpsilon(t, rads, w, 1e-5, "speed at %g s", time)
	}
	r.source, r.time = 0, from
	m.arcs[0].load = inertia * ramp / ke
	row(0.3, 99.4587, 10.92907)
	row(0.5, 91.9153, 51.63637)
	row(1.0, 92.5274, 149.81254)
	r.y[speed] += up / ke // back into the frame that rests, at full voltage
	r.source, m.arcs[0].load = up, 0
	row(1.1, -6.9311, 158.51842)
	march(t, r, loadAt)
	m.arcs[0].load = load
	row(1.6, 107.4863, 147.67129)
	row(2.0, 99.9744, 149.22784)
}
