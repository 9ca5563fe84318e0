package search_test

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/search"
)

// value scores by one of the values.
func value(i int) search.Score { return func(f *search.Found) float64 { return f.Values[i] } }

// table makes combinations of a table of values, numbered from 1.
func table(rows ...[]float64) (all []search.Found) {
	for i, r := range rows {
		all = append(all, search.Found{Number: int64(i + 1), Fate: search.Fired, Met: true, Sound: true, Values: r})
	}
	return all
}

func frontOf(scores int, all []search.Found) (*search.Front, []int64) {
	var r search.Front
	for i := range scores {
		r.By = append(r.By, value(i))
	}
	for i := range all {
		r.Add(&all[i])
	}
	return &r, numbers(r.List())
}

// Staircases by hand.
func TestFrontByHand(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name    string
		rows    [][]float64
		want    []int64
		leftOut int64
	}{
		{"nothing", nil, []int64{}, 0},
		{"one", [][]float64{{1, 1}}, []int64{1}, 0},
		{"a staircase", [][]float64{{3, 1}, {1, 3}, {2, 2}}, []int64{2, 3, 1}, 0},
		{"one beats all", [][]float64{{3, 1}, {1, 3}, {2, 2}, {1, 1}}, []int64{4}, 0},
		{"as good in one, better in the other", [][]float64{{1, 2}, {1, 1}, {2, 1}}, []int64{2}, 0},
		{"equal in all: the lower number", [][]float64{{2, 2}, {1, 1}, {1, 1}}, []int64{2}, 0},
		{"equal in nine digits", [][]float64{{1.0000000004, 5}, {1, 5}, {1.00000001, 4}}, []int64{1, 3}, 0},
		{"lacking one", [][]float64{{nan, 0}, {1, nan}, {2, 2}}, []int64{3}, 2},
	} {
		r, got := frontOf(2, table(c.rows...))
		assert.Equal(t, c.want, got, c.name)
		assert.Equal(t, c.leftOut, r.LeftOut, c.name)
	}
}

// Over random tables with ties and missing values the front is that of its definition: all
// that no other one beats.
func TestFrontByDefinition(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 9))
	for range 400 {
		scores, n := 2+rng.IntN(4), rng.IntN(60)
		var rows [][]float64
		for range n {
			row := make([]float64, scores)
			for k := range row {
				row[k] = float64(rng.IntN(6))
				if rng.IntN(25) == 0 {
					row[k] = math.NaN()
				}
			}
			rows = append(rows, row)
		}
		all := table(rows...)
		lacks := func(f search.Found) bool { return slices.ContainsFunc(f.Values, math.IsNaN) }
		beats := func(a, b search.Found) bool { // or equals, as the lower number
			better := false
			for k := range a.Values {
				if a.Values[k] > b.Values[k] {
					return false
				}
				better = better || a.Values[k] < b.Values[k]
			}
			return better || a.Number < b.Number
		}
		var want []search.Found
		left := int64(0)
		for _, b := range all {
			if lacks(b) {
				left++
				continue
			}
			if !slices.ContainsFunc(all, func(a search.Found) bool { return a.Number != b.Number && !lacks(a) && beats(a, b) }) {
				want = append(want, b)
			}
		}
		slices.SortFunc(want, func(a, b search.Found) int {
			return cmp.Or(slices.Compare(a.Values, b.Values), cmp.Compare(a.Number, b.Number))
		})
		shuffled := slices.Clone(all) // a stream of one's own need not come in order
		rng.Shuffle(n, func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		for _, stream := range [][]search.Found{all, shuffled} {
			r, got := frontOf(scores, stream)
			assert.Equal(t, numbers(want), got)
			assert.Equal(t, left, r.LeftOut)
		}
	}
}

// The best are those of a whole sort: by score, NaN last, then price, then number.
func TestBestIsASort(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 300 {
		n, most := rng.IntN(80), rng.IntN(12)
		var all []search.Found
		for i := range n {
			v := 1 + float64(rng.IntN(12)) + 1e-11*rng.Float64()
			switch rng.IntN(15) {
			case 0:
				v = math.NaN()
			case 1:
				v = math.Inf(1)
			}
			all = append(all, search.Found{Number: int64(i + 1), Price: int64(rng.IntN(4)), Values: []float64{v}})
		}
		b := search.Best{Most: most, Score: value(0)}
		cheap := search.Best{Most: most}
		for i := range all {
			b.Add(&all[i])
			cheap.Add(&all[i])
		}
		want := slices.Clone(all)
		tied := func(a, b search.Found) int {
			return cmp.Or(cmp.Compare(a.Price, b.Price), cmp.Compare(a.Number, b.Number))
		}
		slices.SortFunc(want, func(a, b search.Found) int {
			x, y := a.Values[0], b.Values[0]
			if math.IsNaN(x) != math.IsNaN(y) {
				return map[bool]int{true: 1, false: -1}[math.IsNaN(x)]
			}
			if !math.IsNaN(x) && !math.IsInf(x, 0) {
				x = math.Round(x*1e8) / 1e8
			}
			if !math.IsNaN(y) && !math.IsInf(y, 0) {
				y = math.Round(y*1e8) / 1e8
			}
			if math.IsNaN(x) || x == y {
				return tied(a, b)
			}
			return cmp.Compare(x, y)
		})
		assert.Equal(t, numbers(want[:min(n, most)]), numbers(b.List()))
		slices.SortFunc(want, tied)
		assert.Equal(t, numbers(want[:min(n, most)]), numbers(cheap.List()))
	}
}

// Nearest keeps what fired and misses, of others' lists nothing.
func TestNearest(t *testing.T) {
	near := search.Nearest(2)
	all := table([]float64{1}, []float64{2}, []float64{3})
	all[0].Met, all[1].Fate, all[2].Met = false, search.Stalled, false
	for i := range all {
		near.Add(&all[i])
	}
	assert.Equal(t, []int64{1, 3}, numbers(near.List()))
}
