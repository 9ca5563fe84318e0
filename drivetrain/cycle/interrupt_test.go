package cycle_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
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

// An interrupt ends whatever is computed, wherever it is: after any of the looks at
// the context, the next one ends it, and hardly another one is needed.
func TestInterruptedAnywhere(t *testing.T) {
	simulate := func(ctx context.Context, b *drivetrain.Build) error {
		_, err := cycle.Simulate(ctx, b, cycle.Settings{})
		return err
	}
	var e cycle.Evaluator
	for _, c := range []struct {
		name      string
		overrides []string
		least     int // looks: a simulation has so many stretches at least
		do        func(context.Context, *drivetrain.Build) error
	}{
		{"automatic", nil, 15, simulate},
		{"burst", []string{"trigger.rounds=5"}, 40, simulate},
		{"single", []string{"trigger.mode=single"}, 10, simulate},
		{"stall, which has no flight", []string{"spring.rate=4000 N/m"}, 3, simulate},
		{"a gun that hunts", []string{"motor.armature.inductance=60 mH"}, 400, simulate},
		{"evaluated", nil, 10, func(ctx context.Context, b *drivetrain.Build) error {
			_, err := e.Evaluate(ctx, b, quick())
			return err
		}},
		{"a round, which has no flight", nil, 2, func(ctx context.Context, b *drivetrain.Build) error {
			_, err := cycle.Fire(ctx, b, cycle.RoundStart{Kind: cycle.Lone}, 1e-9)
			return err
		}},
		{"over charge", nil, 20, func(ctx context.Context, b *drivetrain.Build) error {
			_, err := cycle.OverCharge(ctx, b, quick(), 2, []float64{0.3, 0.5, 0.7})
			return err
		}},
		{"over stops", nil, 20, func(ctx context.Context, b *drivetrain.Build) error {
			_, err := cycle.OverStop(ctx, b, quick(), []float64{0.3, 0.5, 0.7})
			return err
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := document(t, "", c.overrides...).Build
			all := watch(forever)
			require.NoError(t, c.do(all, b))
			require.GreaterOrEqual(t, all.looks, c.least)
			for most := 0; most < all.looks; most += 1 + all.looks/50 {
				some := watch(most)
				assert.ErrorIs(t, c.do(some, b), context.Canceled, "after %d of %d looks", most, all.looks)
				assert.LessOrEqual(t, some.looks-most, 4, "looks after the interrupt, which came after %d", most)
			}
		})
	}
}

// A long stretch is not gone through in one go: this one, of a motor whose speed swings
// about its current and that never lets the rack go, is looked away from for 64 steps at
// most.
func TestLongStretchesLookAtTheContext(t *testing.T) {
	all := watch(forever)
	r, err := cycle.Simulate(all, document(t, "", "motor.armature.turns=1000", "motor.armature.wire=3 mm", "spring.rate=60000 N/m").Build, cycle.Settings{})
	require.NoError(t, err)
	require.Equal(t, cycle.Stall, r.Status, "there is no flight, which looks for itself")
	require.Greater(t, r.Stats.Steps, 500)
	assert.GreaterOrEqual(t, all.looks, r.Stats.Steps/64)
}
