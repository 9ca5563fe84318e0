package search

import (
	"cmp"
	"math"
	"slices"
	"strconv"
)

// Score ranks combinations: the lower the better, NaN last.
type Score func(*Found) float64

// digits is to how many significant digits scores are compared, so that builds tie that
// differ only in what a figure doesn't feel, however they were computed.
const digits = 9

// rounded is a score as it is compared; NaN comes behind all.
func rounded(v float64) float64 {
	switch {
	case math.IsNaN(v):
		return math.Inf(1)
	case v == 0 || math.IsInf(v, 0) || v == math.Trunc(v) && math.Abs(v) < 1e9:
		return v
	}
	var room [32]byte
	r, _ := strconv.ParseFloat(string(strconv.AppendFloat(room[:0], v, 'e', digits-1, 64)), 64)
	return r
}

// scored is a combination with its score.
type scored struct {
	score float64
	nan   bool
	found Found
}

func (a *scored) compare(b *scored) int {
	switch {
	case a.nan != b.nan:
		if a.nan {
			return 1
		}
		return -1
	case a.score != b.score:
		return cmp.Compare(a.score, b.score)
	case a.found.Price != b.found.Price:
		return cmp.Compare(a.found.Price, b.found.Price)
	}
	return cmp.Compare(a.found.Number, b.found.Number)
}

// Best keeps the best few combinations of a stream: by their score, ties by price, then by
// number.
type Best struct {
	// Most is how many are kept.
	Most int
	// Score is what they are ranked by; nil: the price.
	Score Score

	kept []scored // sorted
}

// Add looks at one more combination.
func (b *Best) Add(f *Found) {
	n := scored{found: *f}
	if b.Score != nil {
		v := b.Score(f)
		if last := len(b.kept) - 1; last >= 0 && len(b.kept) >= b.Most && !b.kept[last].nan && v > b.kept[last].score+1e-8*math.Abs(v) {
			return
		}
		n.score, n.nan = rounded(v), math.IsNaN(v)
	}
	if len(b.kept) >= b.Most && (b.Most == 0 || n.compare(&b.kept[len(b.kept)-1]) >= 0) {
		return
	}
	i, _ := slices.BinarySearchFunc(b.kept, n, func(a, n scored) int { return a.compare(&n) })
	b.kept = slices.Insert(b.kept, i, n)
	if len(b.kept) > b.Most {
		b.kept = b.kept[:b.Most]
	}
}

// List returns what was kept, the best first.
func (b *Best) List() []Found {
	all := make([]Found, len(b.kept))
	for i := range b.kept {
		all[i] = b.kept[i].found
	}
	return all
}

// Nearest returns what keeps the n that come nearest to the wants, of those that fired and
// miss any: those of the least largest relative miss. What was given up at its first miss
// is passed over.
func Nearest(n int) *Near { return &Near{Best{Most: n, Score: (*Found).Miss}} }

// Near keeps the nearest misses of a stream.
type Near struct{ best Best }

// Add looks at one more combination.
func (n *Near) Add(f *Found) {
	if f.Fate == Fired && !f.Met && !f.quick {
		n.best.Add(f)
	}
}

// List returns what was kept, the nearest first.
func (n *Near) List() []Found { return n.best.List() }

// Front keeps the combinations of a stream that no other one beats: that is as good by
// every score and better by one. Of those that are equal by all the lowest number stays.
type Front struct {
	// By are the scores.
	By []Score
	// LeftOut counts those that lack a score.
	LeftOut int64

	kept []fronted
}

type fronted struct {
	scores []float64
	found  Found
}

// Add looks at one more combination.
func (r *Front) Add(f *Found) {
	var room [8]float64
	scores := room[:0]
	for _, by := range r.By {
		v := by(f)
		if math.IsNaN(v) {
			r.LeftOut++
			return
		}
		scores = append(scores, rounded(v))
	}
	for i := range r.kept {
		k := &r.kept[i]
		better, worse := against(k.scores, scores)
		if worse {
			continue // at something the new one is better
		}
		if better || k.found.Number < f.Number {
			r.kept[0], r.kept[i] = r.kept[i], r.kept[0] // who beats one beats many
			return
		}
	}
	r.kept = slices.DeleteFunc(r.kept, func(k fronted) bool {
		_, worse := against(scores, k.scores)
		return !worse
	})
	r.kept = append(r.kept, fronted{slices.Clone(scores), *f})
}

// against tells at which scores one combination is better and worse than another.
func against(a, b []float64) (better, worse bool) {
	for i := range a {
		better = better || a[i] < b[i]
		worse = worse || a[i] > b[i]
	}
	return better, worse
}

// List returns what was kept, better first by the first score, then the next, then by
// number.
func (r *Front) List() []Found {
	slices.SortFunc(r.kept, func(a, b fronted) int {
		if c := slices.Compare(a.scores, b.scores); c != 0 {
			return c
		}
		return cmp.Compare(a.found.Number, b.found.Number)
	})
	all := make([]Found, len(r.kept))
	for i := range r.kept {
		all[i] = r.kept[i].found
	}
	return all
}
