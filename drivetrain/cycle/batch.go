package cycle

import (
	"context"
	"iter"
	"runtime"

	"example.org/ampstroke/drivetrain"
)

// Batch simulates builds on all cores and yields the results in the order of the
// builds, an error in place of each that can't be simulated. Only as many builds
// are taken ahead as keep the cores busy, so that memory doesn't grow with their
// number. What is yielded doesn't depend on the cores. A build that is nil gives
// nil and no error. The results are those of an [Evaluator], with Warnings, and stay.
// It ends early with the context, even while builds has yet to give the next one; the
// context's error is then yielded once, last.
func Batch(ctx context.Context, builds iter.Seq[*drivetrain.Build], settings Settings) iter.Seq2[*Result, error] {
	return func(yield func(*Result, error) bool) {
		ctx, stop := context.WithCancel(ctx)
		defer stop()
		cores := runtime.GOMAXPROCS(0)
		type answer struct {
			result *Result
			err    error
		}
		type job struct {
			build *drivetrain.Build
			done  chan answer
		}
		jobs := make(chan job)
		queue := make(chan job, 4*cores) // in order, what was handed out
		for range cores {
			go func() {
				var e Evaluator
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
					if j.build != nil {
						if a.result, a.err = e.Evaluate(ctx, j.build, settings); a.err == nil {
							a.result = a.result.Clone()
							a.result.Warnings = e.Warnings()
						}
					}
					j.done <- a
				}
			}()
		}
		go func() {
			defer close(jobs)
			defer close(queue)
			for b := range builds {
				j := job{b, make(chan answer, 1)}
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
				yield(nil, err)
				return
			}
			if j.done == nil || !yield(a.result, a.err) {
				return
			}
		}
	}
}
