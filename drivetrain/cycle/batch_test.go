package cycle_test

import (
	"context"
	"fmt"
	"iter"
	"math"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
)

func TestBatchKeepsTheOrder(t *testing.T) {
	builds := randomBuilds(t, 7, 40)
	builds[11] = &drivetrain.Build{}
	builds[17] = nil
	all := func() (told []string) {
		for r, err := range cycle.Batch(context.Background(), slices.Values(builds), quick()) {
			switch {
			case err != nil:
				told = append(told, err.Error())
			case r == nil:
				told = append(told, "nothing")
			default:
				told = append(told, r.Build.Name+fmt.Sprintf(" %x", r.Summary))
			}
		}
		return told
	}
	many := all()
	require.Len(t, many, 40)
	assert.Contains(t, many[11], "motor.armature.turns")
	assert.Equal(t, "nothing", many[17])
	for i, b := range builds {
		if i == 11 || i == 17 {
			continue
		}
		r, err := cycle.Simulate(context.Background(), b, quick())
		if err == nil {
			assert.Equal(t, b.Name+fmt.Sprintf(" %x", r.Summary), many[i])
		}
	}
	one := runtime.GOMAXPROCS(1)
	few := all()
	runtime.GOMAXPROCS(one)
	assert.Equal(t, few, many, "the same on one core")
}

func TestBatchEndsEarly(t *testing.T) {
	endless := func(yield func(*drivetrain.Build) bool) {
		for yield(document(t, "").Build) {
		}
	}
	n := 0
	for r, err := range cycle.Batch(context.Background(), endless, quick()) {
		require.NoError(t, err)
		require.NotNil(t, r)
		if n++; n == 5 {
			break
		}
	}
}

// A batch that is interrupted says so, once and last, wherever it is then.
func TestBatchInterrupted(t *testing.T) {
	build := document(t, "").Build
	give := func(n int) iter.Seq[*drivetrain.Build] {
		return func(yield func(*drivetrain.Build) bool) {
			for i := 0; i < n && yield(build); i++ {
			}
		}
	}
	endless := give(math.MaxInt)
	for _, c := range []struct {
		name   string
		builds func(context.Context) iter.Seq[*drivetrain.Build]
		after  int // results, then the interrupt
	}{
		{"before it begins", func(context.Context) iter.Seq[*drivetrain.Build] { return endless }, 0},
		{"on the way", func(context.Context) iter.Seq[*drivetrain.Build] { return endless }, 3},
		{"with the last build", func(context.Context) iter.Seq[*drivetrain.Build] { return give(3) }, 3},
		{"none was to come", func(context.Context) iter.Seq[*drivetrain.Build] { return give(0) }, 0},
		{"the builds end by it", func(ctx context.Context) iter.Seq[*drivetrain.Build] {
			return func(yield func(*drivetrain.Build) bool) {
				for range 3 {
					yield(build)
				}
				<-ctx.Done()
			}
		}, 3},
		{"the next build never comes", func(context.Context) iter.Seq[*drivetrain.Build] {
			return func(yield func(*drivetrain.Build) bool) {
				for range 3 {
					yield(build)
				}
				select {
				case <-t.Context().Done():
				case <-time.After(20 * time.Second):
					assert.Fail(t, "the batch waits for it")
				}
			}
		}, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			ctx, stop := context.WithCancel(context.Background())
			defer stop()
			if c.after == 0 {
				stop()
			}
			var told []error
			for r, err := range cycle.Batch(ctx, c.builds(ctx), quick()) {
				if told = append(told, err); err == nil {
					require.NotNil(t, r)
				}
				if len(told) == c.after {
					stop()
				}
			}
			assert.Equal(t, append(make([]error, c.after), context.Canceled), told)
		})
	}
}
