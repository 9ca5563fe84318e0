package search

import (
	"slices"

	"example.org/ampstroke/drivetrain/buildfile"
)

// numbers turns combinations into numbers from 1 and back: slots in the order of the
// shelf, the last one fastest.
type numbers struct {
	radix []int64
	step  []int64 // by slot: what one part counts
	count int64
	// By slot, part and earlier slot: which of its parts never go with it; nil: all do.
	bad [][][][]bool
}

func newNumbers(c *buildfile.Composer, s *buildfile.Shelf) *numbers {
	n := &numbers{count: 1}
	for i := len(s.Slots) - 1; i >= 0; i-- {
		n.step = append(n.step, n.count)
		n.count *= int64(len(s.Slots[i].Parts))
	}
	slices.Reverse(n.step)
	for i := range s.Slots {
		parts := len(s.Slots[i].Parts)
		n.radix = append(n.radix, int64(parts))
		n.bad = append(n.bad, make([][][]bool, parts))
		for k := range parts {
			n.bad[i][k] = make([][]bool, i)
			for _, p := range c.Excluded(i, k) {
				if p.Slot < i {
					if n.bad[i][k][p.Slot] == nil {
						n.bad[i][k][p.Slot] = make([]bool, len(s.Slots[p.Slot].Parts))
					}
					n.bad[i][k][p.Slot][p.Part] = true
				}
			}
		}
	}
	return n
}

// parts writes the parts of a number.
func (n *numbers) parts(number int64, to []int) {
	number--
	for i := range to {
		to[i] = int(number / n.step[i])
		number %= n.step[i]
	}
}

// ruledOut returns the first slot whose part doesn't go with those before it, -1 for none.
func (n *numbers) ruledOut(parts []int) int {
	for i, k := range parts {
		for j, bad := range n.bad[i][k] {
			if bad != nil && bad[parts[j]] {
				return i
			}
		}
	}
	return -1
}

// each calls do with every combination of the numbers from first to last that isn't ruled
// out, until do returns false. Stretches that one rule takes out are passed in one step.
func (n *numbers) each(first, last int64, parts []int, do func(number int64) bool) {
	for number := first; number <= last; {
		n.parts(number, parts)
		if i := n.ruledOut(parts); i >= 0 {
			number += n.step[i] - (number-1)%n.step[i]
			continue
		}
		if !do(number) {
			return
		}
		number++
	}
}
