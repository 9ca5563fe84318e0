package search

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"example.org/ampstroke/drivetrain/buildfile"
)

// Chance finds the share of guns that are sound, of many that are built like a file from
// parts with its tolerances, with the standard error of that share; 1 or 0 without one
// where no part varies.
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
