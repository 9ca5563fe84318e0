package cycle_test

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"testing"

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
	ctx, stop := context.WithCancel(context.Background())
	n = 0
	var last error
	for _, err := range cycle.Batch(ctx, endless, quick()) {
		if n++; n == 3 {
			stop()
		}
		last = err
	}
	assert.ErrorIs(t, last, context.Canceled)
	stop()
}
