package cycle

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/internal/ode"
)

// derive is equations F1 to F3 and B1 as they stand, and the integrals of the books.
func (md *mode) derive(dy []float64, _ float64, y []float64) {
	m := md.m
	i, w := y[current], y[speed]
	battery := i // its current
	if md.path != closed {
		battery = 0
	}
	v := md.source
	if md.held {
		dy[voltage1], dy[voltage2], dy[charge], dy[sumPairs] = 0, 0, 0, 0
	} else {
		c := &m.circuit
		v = m.ocv(y[charge])
		v1, v2 := y[voltage1], y[voltage2]
		dy[voltage1] = (battery - v1/c.R1) / c.C1
		dy[voltage2] = (battery - v2/c.R2) / c.C2
		dy[charge] = -battery / m.pack.Capacity
		dy[sumPairs] = v1*v1/c.R1 + v2*v2/c.R2
	}
	r := run{mode: *md}
	dy[current] = md.sign * md.sign * r.push(v, y) / m.motor.Inductance
	if md.turns {
		a := &m.arcs[md.arc]
		dy[speed] = m.motor.TorqueLeft(i, w, a.at(y[angle])+m.churning*w) / a.inertia
		dy[angle] = w / m.geometry.Ratio
	} else {
		dy[speed], dy[angle] = 0, 0
	}
	dy[sumCurrent] = i
	dy[sumBrush] = md.sign * i
	dy[sumSquare] = i * i
	dy[sumReverse] = w * i * i
	dy[sumSpeed2] = w * w
	dy[sumSource] = v * battery
}

// events are those that end a mode, but for the switch and the brake, which the mode
// doesn't know.
func (md *mode) events() []ode.Event {
	const off = -1
	r := &run{mode: *md}
	if md.held {
		r.creep = 1e-6 * md.m.noLoadSpeed()
	}
	event := func(name string, direction ode.Direction, on bool, f func(y []float64) float64) ode.Event {
		return ode.Event{Name: name, Direction: direction, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if !on {
				return off
			}
			return f(y)
		}}
	}
	push := func(y []float64) float64 { return r.push(r.ocv(y), y) }
	drop := md.m.motor.BrushDrop
	return []ode.Event{
		event("end of the arc", ode.Rising, md.turns, func(y []float64) float64 { return y[angle] - md.m.arcs[md.arc].to }),
		event("stop", ode.Falling, md.turns, func(y []float64) float64 { return y[speed] - r.creep }),
		event("break-away", ode.Rising, !md.turns, func(y []float64) float64 { return md.m.motor.Ke*y[current] - r.needed(y) }),
		event("zero of the current", ode.Falling, md.sign != 0, func(y []float64) float64 { return md.sign * y[current] }),
		event("start of the current", ode.Rising, md.sign == 0 && md.path == closed, func(y []float64) float64 { return push(y) - drop }),
		event("start of a reversed current", ode.Falling, md.sign == 0 && (md.path == closed || md.path == braking), func(y []float64) float64 { return push(y) + drop }),
	}
}

// overSteps integrates every step of a course anew with the general integrator, and
// compares where it leads to; nothing that ends the mode may happen before the end.
// It returns the integrals over the whole course, and its extremes.
func overSteps(t *testing.T, name string, tr *Trace) (sums [states]float64, most, least float64) {
	// What the accuracy is a share of: the stalled motor's current, the idling one's speed.
	amps, rads := tr.m.stallCurrent(tr.m.ocv(tr.m.charge), 0, 0), tr.m.noLoadSpeed()
	scale := [states]float64{current: amps, speed: rads, angle: 1, voltage1: 1, voltage2: 1, charge: 1}
	least = math.Inf(1)
	for i := range tr.course.steps {
		s := &tr.course.steps[i]
		length := s.to - s.from
		var y0, got [states]float64
		copy(y0[:], s.begin[:])
		tr.course.at(&got, i, s.to)
		md := s.mode
		abs := make([]float64, states)
		for k := range abs {
			abs[k] = 1e-13 * max(scale[k], 1e-3)
		}
		solver, err := ode.New(ode.Problem{Deriv: md.derive, T0: 0, T1: length, Y0: y0[:], Events: md.events(), Mode: md.name},
			ode.Settings{RelTol: 1e-12, AbsTol: abs, MaxSteps: 1_000_000})
		require.NoError(t, err, name)
		r := &run{mode: md}
		for solver.Status() == ode.Running {
			require.NoError(t, solver.Step(), name)
			if md.path == closed {
				most = max(most, solver.Y()[current])
				least = min(least, r.terminal(solver.Y()))
			}
		}
		if solver.Status() == ode.Stopped {
			// What ends the mode has been located as well, up to the accuracy of both.
			late := length - solver.T()
			assert.Less(t, late, 1e-9*length+1e-13, "%s: step %d (%s): %s", name, i, md.name(), md.events()[solver.Events()[0].Index].Name)
		}
		for k := range sumCurrent {
			assert.InDelta(t, solver.Y()[k], got[k], 1e-10*scale[k]+1e-12, "%s: step %d (%s) over %g s: %s", name, i, md.name(), length, stateNames[k])
		}
		for k := sumCurrent; k < states; k++ {
			sums[k] += solver.Y()[k]
		}
	}
	return sums, most, least
}

// CheckAgainstIntegrator fires a build and holds every step against the general
// integrator, with the rows of the books and the extremes.
func CheckAgainstIntegrator(t *testing.T, b *drivetrain.Build) (steps int) {
	e := Evaluator{traces: true}
	res, err := e.Evaluate(context.Background(), b, Settings{Flight: 1e-3})
	if err != nil {
		assert.ErrorIs(t, err, ErrUnfinished, b.Name)
		return 0
	}
	check := func(what string, want, got float64) {
		assert.InDelta(t, want, got, 1e-8*math.Abs(want)+1e-12, "%s: %s", b.Name, what)
	}
	books := func(tr *Trace, l *Ledger, peak, dip float64) {
		sums, most, least := overSteps(t, b.Name, tr)
		k := &e.machine.motor
		check("battery", sums[sumSource], l.Battery)
		check("winding", k.Resistance*sums[sumSquare], l.Winding)
		check("brush", k.BrushDrop*sums[sumBrush]+k.Commutation*sums[sumReverse], l.Brush)
		// The integrator's steps needn't meet the extreme, but can't pass it.
		assert.LessOrEqual(t, most, peak*(1+1e-9)+1e-12, "%s: peak of the current", b.Name)
		assert.GreaterOrEqual(t, least, dip*(1-1e-9)-1e-12, "%s: least voltage", b.Name)
		assert.Greater(t, most, 0.98*peak-1e-12, "%s: peak of the current", b.Name)
		steps += len(tr.course.steps)
	}
	switch res.Status {
	case Steady:
		books(res.First, &res.FirstLedger, res.Summary.Inrush, 0)
		books(res.Steady, &res.Ledger, res.Summary.CurrentPeak, res.Summary.PackVoltageMin)
	case Once:
		l := res.Pull
		sums, _, least := overSteps(t, b.Name, l.Trace)
		check("battery", sums[sumSource], l.Ledger.Battery)
		assert.GreaterOrEqual(t, least, l.PackVoltageMin*(1-1e-9)-1e-12, "%s: least voltage", b.Name)
		steps += len(l.Trace.course.steps)
	case Stall:
		overSteps(t, b.Name, res.First)
		steps += len(res.First.course.steps)
	}
	return steps
}

// CheckLeaps compares the map of the steady cycle by leaps with that by steps, from the
// state after the first shot on over a few shots. It tells how many it could compare.
func CheckLeaps(t *testing.T, b *drivetrain.Build) (compared int) {
	ctx := context.Background()
	m, err := newMachine(b, &Conditions{})
	require.NoError(t, err)
	first := newRun(m, 1e-12, false, 0, nil)
	first.begin()
	if end, err := first.toPickup(ctx); err != nil || end != pickedUp {
		return 0
	}
	r := newRun(m, 1e-12, true, 0, nil)
	if !r.prepare() {
		assert.NotZero(t, m.motor.Commutation, b.Name)
		return 0
	}
	i, w := first.y[current], first.y[speed]
	for range 4 {
		i1, w1, ok := r.leap(i, w)
		end, err := r.round(ctx, i, w)
		if err != nil || end != pickedUp {
			assert.False(t, ok, "%s: a cycle that doesn't come round is not leapt", b.Name)
			return compared
		}
		if ok {
			assert.InDelta(t, r.y[current], i1, 1e-10*r.amps, "%s: current", b.Name)
			assert.InDelta(t, r.y[speed], w1, 1e-10*r.rads, "%s: speed", b.Name)
			compared++
		}
		i, w = r.y[current], r.y[speed]
	}
	return compared
}
