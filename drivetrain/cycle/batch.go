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
// nil and no error. The results are those of an [Evaluator], with Warnings, and stay. It ends early with the context, whose error is then yielded
// once.
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
				for j := range jobs {
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
					j.done <- answer{err: ctx.Err()}
					return
				}
			}
		}()
		for j := range queue {
			a := <-j.done
			if err := ctx.Err(); err != nil {
				yield(nil, err)
				return
			}
			if !yield(a.result, a.err) {
				return
			}
		}
		if err := ctx.Err(); err != nil {
			yield(nil, err)
		}
	}
}
