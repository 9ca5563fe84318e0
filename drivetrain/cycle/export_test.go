package cycle

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

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

// Shots fires a build on a held pack, one shot after the other from the state after the
// first, and returns the period of the last one and by what share the last ten differ.
func Shots(t testing.TB, b *drivetrain.Build, shots int) (spread, period float64) {
	ctx := context.Background()
	m, err := newMachine(b, &Conditions{})
	require.NoError(t, err)
	first := newRun(m, tight(1e-10), false, 0, nil)
	first.begin()
	end, err := first.toPickup(ctx)
	require.NoError(t, err)
	require.Equal(t, pickedUp, end)
	r := newRun(m, tight(1e-10), true, 0, nil)
	i, w := first.y[current], first.y[speed]
	least, most := math.Inf(1), 0.
	for n := range shots {
		_, err := r.round(ctx, i, w)
		require.NoError(t, err)
		i, w = r.y[current], r.y[speed]
		period = r.time - r.t0
		if n >= shots-10 {
			least, most = min(least, period), max(most, period)
		}
	}
	return (most - least) / most, period
}

// What Guns remember, and how much of it at most.
const (
	WorthTable  = worthTable
	WorthRegion = worthRegion
	MostGuns    = mostGuns
	MostTables  = mostTables
)

// Remembered counts guns, or regions where there are more.
func (g *Guns) Remembered() int { return max(len(g.seen), len(g.near)) }

// Tables counts those that are kept.
func (g *Guns) Tables() (n int) {
	for _, o := range g.seen {
		if o.table != nil {
			n++
		}
	}
	return n
}
