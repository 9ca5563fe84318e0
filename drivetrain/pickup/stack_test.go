package pickup_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/pickup"
)

func TestStack(t *testing.T) {
	const mm = 1e-3
	for _, c := range []struct {
		name   string
		spacer float64
		stock  []float64
		want   []float64
		reason string
	}{
		{"demo", 2.6 * mm, []float64{0.5 * mm, 1 * mm, 1.5 * mm, 2 * mm, 3 * mm}, []float64{2 * mm, 0.5 * mm}, "1.5 and 1 sum up to the same, but the thickest comes first"},
		{"exact by decimals", 0.3 * mm, []float64{0.1 * mm, 0.2 * mm}, []float64{0.2 * mm, 0.1 * mm}, "0.1 + 0.2 is no more than 0.3 on the bench"},
		{"fewest pieces", 3 * mm, []float64{1 * mm, 1 * mm, 1 * mm, 1.5 * mm, 1.5 * mm}, []float64{1.5 * mm, 1.5 * mm}, "two rather than three"},
		{"each is one piece", 2 * mm, []float64{0.8 * mm}, []float64{0.8 * mm}, "there is no second one"},
		{"all too thick", 0.4 * mm, []float64{0.5 * mm}, nil, "none is put in rather than too much"},
		{"no stock", 2.6 * mm, nil, []float64{2.6 * mm}, "one is cut to measure"},
		{"nothing asked", 0, []float64{1 * mm}, nil, "flush already"},
		{"late", -1 * mm, []float64{1 * mm}, nil, "no pad moves the rack forward"},
		{"ten of a kind", 2 * mm, slices.Repeat([]float64{0.3 * mm}, 10), slices.Repeat([]float64{0.3 * mm}, 6), "six are 1.8 mm, seven too much"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := pickup.Stack(c.spacer, c.stock)
			require.NoError(t, err)
			assert.Equal(t, c.want, got, c.reason)
		})
	}
}

// Against all the subsets of random stocks.
func TestStackByTryingAll(t *testing.T) {
	source := rand.New(rand.NewPCG(5, 5))
	for range 400 {
		steps := make([]int, source.IntN(10)+1) // of 50 µm
		var stock []float64
		for i := range steps {
			steps[i] = 1 + source.IntN(40)
			stock = append(stock, float64(steps[i])*50e-6)
		}
		most := source.IntN(120)
		slices.SortFunc(steps, func(a, b int) int { return b - a })
		sum := func(list []int) (s int) {
			for _, v := range list {
				s += v
			}
			return s
		}
		var best []int
		for set := range 1 << len(steps) {
			var list []int
			for i, v := range steps {
				if set&(1<<i) != 0 {
					list = append(list, v)
				}
			}
			better := sum(list) > sum(best) || sum(list) == sum(best) &&
				(len(list) < len(best) || len(list) == len(best) && slices.Compare(list, best) > 0)
			if sum(list) <= most && better {
				best = list
			}
		}
		got, err := pickup.Stack(float64(most)*50e-6, stock)
		require.NoError(t, err)
		var steps2 []int
		for _, v := range got {
			steps2 = append(steps2, int(math.Round(v/50e-6)))
		}
		assert.Equal(t, best, steps2, "%d of %v", most, steps)
	}
}

// No stock makes the search hang.
func TestStackIsBounded(t *testing.T) {
	source := rand.New(rand.NewPCG(6, 6))
	var stock []float64
	for range 5000 {
		stock = append(stock, 1e-6+source.Float64()*1e-3)
	}
	start := time.Now()
	_, err := pickup.Stack(0.09, stock)
	assert.ErrorContains(t, err, "5000 pads make more stacks than can be looked at")
	assert.Less(t, time.Since(start), 30*time.Second)
}
