package effort_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/internal/effort"
)

func TestShare(t *testing.T) {
	t.Setenv(effort.Variable, "")
	assert.False(t, effort.All())
	for _, c := range []struct{ all, want int }{
		{0, 0}, {1, 1}, {4, 4}, {5, 4}, {49, 4}, {50, 5}, {3000, 300},
	} {
		assert.Equal(t, c.want, effort.Of(c.all), "of %d", c.all)
	}
	assert.Equal(t, []int{0, 0, 2, 15}, []int{effort.Seen(0), effort.Seen(19), effort.Seen(50), effort.Seen(300)})
	assert.InDelta(t, 1., effort.Step(0.1, 200), 1e-12)
	many := make([]int, 100)
	for i := range many {
		many[i] = i
	}
	assert.Equal(t, []int{0, 11, 22, 33, 44, 55, 66, 77, 88, 99}, effort.Some(many))
	assert.Equal(t, []int{0, 1, 3, 5}, effort.Some(many[:6]))
	assert.Equal(t, many[:3], effort.Some(many[:3]))
	assert.Empty(t, effort.Some(many[:0]))
}

func TestAll(t *testing.T) {
	t.Setenv(effort.Variable, "all")
	assert.True(t, effort.All())
	for _, n := range []int{0, 1, 5, 3000} {
		assert.Equal(t, n, effort.Of(n))
		assert.Equal(t, n, effort.Seen(n))
		assert.Len(t, effort.Some(make([]int, n)), n)
	}
	assert.InDelta(t, 0.1, effort.Step(0.1, 200), 0)
}

// A mistyped value is said, not taken for the one or the other.
func TestUnknownValue(t *testing.T) {
	for _, v := range []string{"ALL", "1", "all ", "none"} {
		t.Setenv(effort.Variable, v)
		assert.PanicsWithValue(t, `effort: AMPSTROKE_TESTS is "`+v+`": set it to "all", or not at all`, func() { effort.Of(10) })
	}
}
