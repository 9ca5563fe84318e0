package search

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/spread"
)

// Chance finds the share of guns that are sound, of many that are built like a file from
// parts with its tolerances, with the standard error of that share; NaN where no part
// varies, so that all are as sound as the build itself.
type Chance func(ctx context.Context, d *buildfile.Document) (share, se float64, err error)

// Sure is a combination with its chance to be sound.
type Sure struct {
	Found
	// Share is that of such guns that meet all wants and have no fault [1].
	Share float64
	// SE is the standard error of Share [1].
	SE float64
}

// BeSure asks how sure the best are: as many as Asked.Sure says, in their order. Sure then
// has them by their chance, the price and the number. Unless nil, done is told of each.
func (r *Report) BeSure(ctx context.Context, chance Chance, done func()) error {
	for i := range r.ranked[:min(len(r.ranked), r.Asked.Sure)] {
		f := r.ranked[i]
		d, err := r.works.composer.Document(f.Parts)
		if err != nil {
			return err
		}
		s := Sure{Found: f}
		if s.Share, s.SE, err = chance(ctx, d); err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			return fmt.Errorf("combination %d: %w", f.Number, err)
		}
		if math.IsNaN(s.Share) {
			if s.Share = 0; f.Sound {
				s.Share = 1
			}
		}
		r.Surest = append(r.Surest, s)
		if done != nil {
			done()
		}
	}
	slices.SortFunc(r.Surest, func(a, b Sure) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), cmp.Compare(a.Price, b.Price), cmp.Compare(a.Number, b.Number))
	})
	return nil
}

// How many guns a chance is asked of: replicates of so many points.
const (
	sureReplicates = 8
	surePoints     = 64
)

// Draws is the Chance of guns that are drawn by their tolerances, as [spread.Run] draws them:
// 8 replicates of 64 guns, always the same draws. Parts that state no tolerance don't
// vary, unless they are to have typical ones.
func Draws(typical bool, settings cycle.Settings) Chance {
	return func(ctx context.Context, d *buildfile.Document) (share, se float64, err error) {
		q := spread.Question{Document: d, Typical: spread.Never, Cycle: settings}
		if typical {
			q.Typical = spread.Always
		}
		r, err := spread.Run(ctx, q, spread.Settings{Draws: sureReplicates * surePoints, Replicates: sureReplicates, Seed: 1, Drivers: -1})
		switch {
		case errors.Is(err, spread.ErrNothingVaries):
			return math.NaN(), 0, nil
		case errors.Is(err, spread.ErrAllMisfit):
			return 0, 0, nil
		case err != nil:
			return 0, 0, err
		}
		return r.Sound.Value, r.Sound.SE, nil
	}
}
