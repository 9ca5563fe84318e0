package heat_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/heat"
)

// watched is a context that counts how often it is looked at, and has ended for
// whoever looks more often than that.
type watched struct {
	context.Context
	looks, most int
}

func (w *watched) Err() error {
	if w.looks++; w.looks > w.most {
		return context.Canceled
	}
	return nil
}

func watch(most int) *watched { return &watched{context.Background(), 0, most} }

const forever = 1 << 40

// An interrupt ends whatever is computed, wherever it is: the next look at the context
// ends it, and hardly another one is needed. There is a look at least for each round,
// whether it is solved or used again, for each step of a plan, and for each step of the
// integrator along a stalled motor.
func TestInterruptedAnywhere(t *testing.T) {
	b := demo(t).Build
	plan := func(p *heat.Plan, settings heat.Settings) func(context.Context) error {
		return func(ctx context.Context) error {
			_, err := heat.Simulate(ctx, b, p, settings)
			return err
		}
	}
	for _, c := range []struct {
		name  string
		least int // looks
		do    func(context.Context) error
	}{
		{"rounds used again", 700, plan(once(700, 1, 1, true), heat.Settings{})},
		{"round by round", 2 * 50, plan(once(50, 1, 1, true), heat.Settings{RoundByRound: true})},
		{"single shots, used again", 2 * 300, plan(once(1, 1, 300, true), heat.Settings{})},
		{"rests alone", 500, plan(once(0, 1, 500, false), heat.Settings{Trace: true})},
		{"a stalled motor", 100, func(ctx context.Context) error { _, err := heat.FindStalled(ctx, b); return err }},
		{"a switch", 3, func(ctx context.Context) error { _, err := heat.FindSwitching(ctx, b); return err }},
		{"gauges", 2 * (30 + 100), func(ctx context.Context) error {
			_, err := heat.Gauges(ctx, b, once(30, 1, 1, true), []float64{16, 20}, heat.Settings{})
			return err
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			all := watch(forever)
			require.NoError(t, c.do(all))
			require.GreaterOrEqual(t, all.looks, c.least)
			for most := 0; most < all.looks; most += 1 + all.looks/20 {
				some := watch(most)
				assert.ErrorIs(t, c.do(some), context.Canceled, "after %d of %d looks", most, all.looks)
				assert.LessOrEqual(t, some.looks-most, 4, "looks after the interrupt, which came after %d", most)
			}
		})
	}
}
