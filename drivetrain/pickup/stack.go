package pickup

import (
	"fmt"
	"math"
	"slices"
)

// grain is what thicknesses of pads are counted in [m].
const grain = 1e-12

// mostStacks bounds the stacks that are looked at, so that no stock takes longer
// than a second.
const mostStacks = 1_000_000

// Stack returns the pads of a stock, each one piece, whose sum is the largest that
// does not exceed a spacer; of equal sums the one of fewest pieces, then the one
// with the thickest first (equation H2). Without a stock it is one pad, the spacer
// itself. Lengths are counted in picometres [m].
func Stack(spacer float64, stock []float64) ([]float64, error) {
	most := int64(math.Round(spacer / grain))
	if most <= 0 {
		return nil, nil
	}
	if len(stock) == 0 {
		return []float64{spacer}, nil
	}
	pads := slices.Clone(stock)
	slices.SortFunc(pads, func(a, b float64) int { // thickest first
		switch {
		case a > b:
			return -1
		case a < b:
			return 1
		}
		return 0
	})
	// stack is a set of pads by its last one and the set that this was added to.
	type stack struct {
		pad    int // index into pads, −1: none
		below  *stack
		pieces int
	}
	list := func(s *stack) (all []int) {
		for ; s.pad >= 0; s = s.below {
			all = append(all, s.pad)
		}
		slices.Reverse(all)
		return all
	}
	better := func(a, b *stack) bool {
		if a.pieces != b.pieces {
			return a.pieces < b.pieces
		}
		return slices.CompareFunc(list(a), list(b), func(i, j int) int {
			switch {
			case pads[i] > pads[j]:
				return -1
			case pads[i] < pads[j]:
				return 1
			}
			return 0
		}) < 0
	}
	best := map[int64]*stack{0: {pad: -1}}
	looked, copies, last := 0, int64(0), int64(0)
	for i, pad := range pads {
		thick := int64(math.Round(pad / grain))
		if thick != last {
			copies, last = 0, thick
		}
		if copies++; thick <= 0 || copies*thick > most {
			continue
		}
		if looked += len(best); looked > mostStacks {
			return nil, fmt.Errorf("%d pads make more stacks than can be looked at; leave some out", len(stock))
		}
		added := map[int64]*stack{}
		for sum, s := range best {
			if sum+thick <= most {
				added[sum+thick] = &stack{i, s, s.pieces + 1}
			}
		}
		for sum, s := range added {
			if old := best[sum]; old == nil || better(s, old) {
				best[sum] = s
			}
		}
	}
	var largest int64
	for sum := range best {
		largest = max(largest, sum)
	}
	var chosen []float64
	for _, i := range list(best[largest]) {
		chosen = append(chosen, pads[i])
	}
	return chosen, nil
}
