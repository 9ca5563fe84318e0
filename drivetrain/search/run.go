package search

import (
	"context"
	"fmt"
	"iter"
	"slices"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// Fate says what becomes of a combination.
type Fate int8

// A combination that no rule of the shelf takes out is refused, comes to no end, stalls,
// or fires.
const (
	Misfit     Fate = iota // its parts don't go together
	Unfinished             // the simulation came to no end
	Stalled                // the motor can't turn the gears
	Fired
)

// Found is what became of one combination.
type Found struct {
	// Number counts from 1, slots in the order of the shelf, the last one fastest.
	Number int64
	// Parts are those of the slots, by their places on the shelf.
	Parts []int
	// Price is the sum of theirs, in hundredths of the currency.
	Price int64
	Fate  Fate
	// Fault is what is wrong with a misfit, the first in the order of the file's keys.
	Fault *quantity.Fault
	// Values are the figures of what fired, those of the target first, then those of
	// Settings; NaN: there is none [SI].
	Values []float64
	// Met tells that all wants are met, Sound that the build has no fault beside.
	Met, Sound bool
	// Faults are the codes of what will go wrong, of builds that are met.
	Faults []string

	sides []side // by want
	worst float64
	quick bool // given up at the first want that is missed
	near  bool // so near a want's edge that it was computed in full
}

// Miss is the largest relative miss of the wants: by how much a figure lies outside of its
// band, as a share of the bound; 0 if all are met [1].
func (f *Found) Miss() float64 { return f.worst }

// Settings say what to search for. The zero value is safe and good.
type Settings struct {
	// Figures are those to compute beside the target's, by name. The default is none.
	Figures []string
	// First and Last bound the numbers of the combinations. The default is all.
	First, Last int64
	// Quick gives a combination up at the first want that is missed: its other figures
	// are NaN. The default is to find all.
	Quick bool
	// Apart flies every shot, also where flights of many combinations could be read off
	// one table. The default is to share them where that is worth it.
	Apart bool
	// Cycle says how to simulate. The default is that of cycle.
	Cycle cycle.Settings
}

// block is how many numbers a goroutine takes at a time.
const block = 256

// Run computes the combinations of a shelf on all cores and yields what became of each,
// in the order of their numbers, without those that are ruled out. Only a few are taken
// ahead, so that memory doesn't grow with their number, and what is yielded doesn't
// depend on the cores. What is yielded may be kept. A shelf or settings that can't be used
// give one error and nothing else; so does the context, whose error comes last.
func Run(ctx context.Context, shelf *buildfile.Shelf, settings Settings) iter.Seq2[Found, error] {
	return func(yield func(Found, error) bool) {
		w, err := newWorks(shelf, settings)
		if err != nil {
			yield(Found{}, err)
			return
		}
		w.run(ctx, w.first, w.last, yield)
	}
}

// run yields what became of the combinations of some numbers.
func (w *works) run(ctx context.Context, first, last int64, yield func(Found, error) bool) {
	w.each(ctx, func(yield func(task) bool) {
		for ; first <= last; first += block {
			if !yield(task{first: first, last: min(last, first+block-1)}) {
				return
			}
		}
	}, yield)
}

// task is what a goroutine does at a time: the numbers from first to last that aren't
// ruled out, or those of a list, in full or as a search does.
type task struct {
	first, last int64
	list        []int64
	full        bool
}

// each does tasks on all cores and yields what they find, in their order.
func (w *works) each(ctx context.Context, tasks iter.Seq[task], yield func(Found, error) bool) {
	work := func() func(context.Context, task) ([]Found, error) { return w.worker().do }
	for done, err := range study.Map(ctx, tasks, work) {
		if err != nil {
			yield(Found{}, err)
			return
		}
		for i := range done.Result {
			if !yield(done.Result[i], nil) {
				return
			}
		}
	}
}

// do finds what becomes of a few combinations.
func (w *worker) do(ctx context.Context, t task) (all []Found, err error) {
	add := func(number int64) bool {
		var f Found
		if f, err = w.again(ctx, number, t.full); err != nil {
			return false
		}
		all = append(all, f)
		return true
	}
	if t.list == nil {
		w.numbers.each(t.first, t.last, w.parts, add)
	}
	for _, number := range t.list {
		if !add(number) {
			break
		}
	}
	if err == nil {
		err = ctx.Err()
	}
	return all, err
}

// listed makes tasks of a list of numbers.
func listed(numbers []int64, full bool) iter.Seq[task] {
	return func(yield func(task) bool) {
		const few = 8
		for part := range slices.Chunk(numbers, few) {
			if !yield(task{list: part, full: full}) {
				return
			}
		}
	}
}

// room cuts memory for one combination off a larger piece.
func room[T any](from *[]T, n int) []T {
	if len(*from) < n {
		*from = make([]T, max(n, 64*n))
	}
	cut := (*from)[:n:n]
	*from = (*from)[n:]
	return cut
}

// interval checks the numbers that settings ask for.
func (s *Settings) interval(count int64) (first, last int64, err error) {
	first, last = s.First, s.Last
	if first == 0 {
		first = 1
	}
	if last == 0 {
		last = count
	}
	if first < 1 || last > count || first > last+1 {
		return 0, 0, fmt.Errorf("combinations %d to %d of %d; wanted numbers from 1 to %d", first, last, count, count)
	}
	return first, last, nil
}
