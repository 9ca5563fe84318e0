package cycle

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/ode"
	"example.org/ampstroke/motor"
)

// Modelica Standard Library, DCPM_Start, published reference results: a
// permanent-magnet motor on a ramped voltage, loaded later.
func TestRampedStart(t *testing.T) {
	m := motor.Constants{Resistance: 0.05, Inductance: 1.5e-3, Ke: 0.63661977}
	const (
		inertia      = 0.30          // [kg m2]
		from, to, up = 0.2, 1., 100. // the ramp [s], [s], [V]
		loadAt       = 1.5           // [s]
		load         = 63.66         // [N m]
	)
	phase := 0 // before the ramp, on it, at full voltage, loaded
	derive := func(dy []float64, now float64, y []float64) {
		volts, torque := 0., 0.
		switch phase {
		case 1:
			volts = up * (now - from) / (to - from)
		case 2, 3:
			volts = up
		}
		if phase == 3 {
			torque = load
		}
		dy[0] = m.VoltageLeft(volts, y[0], y[1], 0) / m.Inductance
		dy[1] = m.TorqueLeft(y[0], y[1], torque) / inertia
	}
	var events []ode.Event
	for _, at := range []float64{from, to, loadAt} {
		events = append(events, ode.Event{Name: "switch", Direction: ode.Rising, Terminal: true, Func: func(now float64, _ []float64) float64 { return now - at }})
	}
	solver, err := ode.New(ode.Problem{Deriv: derive, T1: 2, Y0: make([]float64, 2), Events: events}, ode.Settings{RelTol: 1e-10})
	require.NoError(t, err)
	var path ode.Trajectory
	for solver.Status() != ode.Done {
		require.NoError(t, solver.Step())
		path.Append(solver, phase)
		if solver.Status() == ode.Stopped {
			phase++
			require.NoError(t, solver.Reset(solver.T(), solver.Y()))
		}
	}
	require.Equal(t, 3, phase)
	for _, row := range []struct{ time, current, speed float64 }{
		{0.3, 99.4587, 10.92907}, {0.5, 91.9153, 51.63637}, {1.0, 92.5274, 149.81254},
		{1.1, -6.9311, 158.51842}, {1.6, 107.4863, 147.67129}, {2.0, 99.9744, 149.22784},
	} {
		y := path.At(nil, row.time)
		assert.InDelta(t, row.current, y[0], 1e-5*100, "current at %g s: 1e-5 of its scale of 100 A", row.time)
		assert.InEpsilon(t, row.speed, y[1], 1e-5, "speed at %g s", row.time)
	}
	assert.False(t, math.IsNaN(solver.Y()[0]))
}
