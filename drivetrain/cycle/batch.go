package cycle

import (
	"context"
	"iter"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/internal/inorder"
)

// Batch simulates builds on all cores and yields the results in the order of the
// builds, an error in place of each that can't be simulated. Only as many builds
// are taken ahead as keep the cores busy, so that memory doesn't grow with their
// number. What is yielded doesn't depend on the cores: flights of builds that share
// their gun are read off ([Guns]). A build that is nil gives nil and no error. The
// results are those of an [Evaluator], with Warnings, and stay. It ends early with the
// context, even while builds has yet to give the next one; the context's error is then
// yielded once, last.
func Batch(ctx context.Context, builds iter.Seq[*drivetrain.Build], settings Settings) iter.Seq2[*Result, error] {
	return func(yield func(*Result, error) bool) {
		guns := NewGuns(settings)
		type next struct {
			build *drivetrain.Build
			turn  Turn
		}
		row := func(yield func(next) bool) {
			for b := range builds {
				if !yield(next{b, guns.Next()}) {
					return
				}
			}
		}
		for d, err := range inorder.Map(ctx, row, func() func(context.Context, next) (*Result, error) {
			var e Evaluator
			s := settings
			return func(ctx context.Context, n next) (*Result, error) {
				if s.Flights = n.turn.Take(ctx, n.build); n.build == nil {
					return nil, nil
				}
				r, err := e.Evaluate(ctx, n.build, s)
				if err != nil {
					return nil, err
				}
				r = r.Clone()
				r.Warnings = e.Warnings()
				return r, nil
			}
		}) {
			if !yield(d.Result, err) {
				return
			}
		}
	}
}
