package cycle

import (
	"context"

	"example.org/ampstroke/drivetrain"
)

// HoldFromRest runs a build from rest on a held pack until the next pickup or a
// stall. It returns whether it stalled, where and when, and the angle at which the
// first arc's load equals the torque of the stall current.
func HoldFromRest(b *drivetrain.Build) (stall bool, at, time, balance float64, err error) {
	m, err := newMachine(b, &Conditions{})
	if err != nil {
		return false, 0, 0, 0, err
	}
	r := newRun(m, 1e-10, true, 0, nil)
	r.begin()
	end, err := r.toPickup(context.Background())
	torque := m.motor.Ke * m.stallCurrent(r.source, 0, 0)
	balance = (torque - m.motor.DragConstant - m.arcs[0].load) / m.arcs[0].slope
	return end == stalled, r.stall[angle], r.time, balance, err
}

// SteadyCycles returns a function that finds the steady cycle of a build, books
// included, from the state after the first shot, and says what that took.
func SteadyCycles(b *drivetrain.Build, tolerance float64) (find func() (cycles, steps int, period float64), err error) {
	m, err := newMachine(b, &Conditions{})
	if err != nil {
		return nil, err
	}
	ctx := context.Background()
	first := newRun(m, tight(tolerance), false, 0, nil)
	first.begin()
	if _, err := first.toPickup(ctx); err != nil {
		return nil, err
	}
	r, spare := new(run), new(run)
	return func() (cycles, steps int, period float64) {
		r.reset(m, tight(tolerance), true, 0, nil)
		r.y[current], r.y[speed] = first.y[current], first.y[speed]
		cycles, err := r.steady(ctx, spare)
		if err != nil {
			panic(err)
		}
		return cycles, r.steps, r.time - r.t0
	}, nil
}
