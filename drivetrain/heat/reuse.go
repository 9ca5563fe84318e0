package heat

import (
	"context"
	"errors"

	"example.org/ampstroke/drivetrain/cycle"
)

// solver fires the rounds of a plan.
type solver struct {
	m         *model
	tolerance float64
	stats     Stats
}

func newSolver(m *model, s Settings) *solver { return &solver{m: m, tolerance: s.Tolerance} }

// fire returns round i (from 0) of a pull from its start.
func (s *solver) fire(ctx context.Context, start cycle.RoundStart, i int) (cycle.Round, error) {
	if s.m.build.Motor.Warm(start.Conditions.Magnets) != nil {
		return cycle.Round{Stalled: true}, nil // no magnet is left
	}
	s.stats.Solves++
	r, err := cycle.Fire(ctx, s.m.build, start, s.tolerance)
	if err == nil && !(r.Duration > 0) && !r.Stalled {
		err = errors.New("a round of no duration")
	}
	return r, err
}
