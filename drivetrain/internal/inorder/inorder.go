// Package inorder does work on all cores and hands out what comes of it in the order in
// which it was asked for.
package inorder

import (
	"context"
	"iter"
	"runtime"
)

// Done is a piece of work with what came of it.
type Done[T, R any] struct {
	Item   T
	Result R
}

// Map has work done on items on all cores, and yields each with its result, in the order
// of the items, with the error in place of a result that there isn't. Each core has a
// function of its own, made by worker, so that it may keep what it reuses; results must
// stay when the next is computed. Only as many items are taken ahead as keep the cores
// busy. What is yielded doesn't depend on the cores. It ends early with the context, even
// while items has yet to give the next one; the context's error is then yielded once,
// last.
func Map[T, R any](ctx context.Context, items iter.Seq[T], worker func() func(context.Context, T) (R, error)) iter.Seq2[Done[T, R], error] {
	return func(yield func(Done[T, R], error) bool) {
		ctx, stop := context.WithCancel(ctx)
		defer stop()
		cores := runtime.GOMAXPROCS(0)
		type answer struct {
			result R
			err    error
		}
		type job struct {
			item T
			done chan answer
		}
		jobs := make(chan job, 16*cores)
		queue := make(chan job, 32*cores) // in order, what was handed out
		for range cores {
			go func() {
				work := worker()
				for {
					var j job
					select {
					case j = <-jobs:
					case <-ctx.Done():
						return
					}
					if j.done == nil { // there are no more
						return
					}
					var a answer
					a.result, a.err = work(ctx, j.item)
					j.done <- a
				}
			}()
		}
		go func() {
			defer close(jobs)
			defer close(queue)
			for item := range items {
				j := job{item, make(chan answer, 1)}
				select {
				case queue <- j:
				case <-ctx.Done():
					return
				}
				select {
				case jobs <- j:
				case <-ctx.Done():
					return
				}
			}
		}()
		for {
			var j job
			var a answer
			select {
			case j = <-queue:
			case <-ctx.Done():
			}
			if j.done != nil {
				select {
				case a = <-j.done:
				case <-ctx.Done():
				}
			}
			if err := ctx.Err(); err != nil {
				yield(Done[T, R]{}, err)
				return
			}
			if j.done == nil || !yield(Done[T, R]{j.item, a.result}, a.err) {
				return
			}
		}
	}
}
