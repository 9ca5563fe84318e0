package heat

import (
	"context"
	"errors"
	"math"

	"example.org/ampstroke/drivetrain/cycle"
)

// How far a round's start may lie from that of a solved one which is used in its
// place (equation G10).
const (
	nearKelvin = 1     // of every temperature [K]
	nearCharge = 0.005 // of the pack [1]
	nearVolts  = 0.020 // of v1 + v2 [V]
	nearSource = 0.010 // of what drives the current, which falls fast where a pack runs empty [V]
	nearShare  = 0.03  // of speed and current just after the pickup [1]
)

// remembered is how many solved rounds of a kind are kept.
const remembered = 256

// The kinds of round by their place in the pull (equation G10): a lone one, the
// first, second and third, those behind, and the last.
const (
	kindLone = iota
	kindFirst
	kindSecond
	kindThird
	kindLater
	kindLast
	kinds
)

func kindOf(p cycle.RoundKind, i int) int {
	switch p {
	case cycle.Lone:
		return kindLone
	case cycle.Last:
		return kindLast
	}
	return kindFirst + min(i, kindLater-kindFirst)
}

// solver fires the rounds of a plan. A round that starts nearly where a solved one
// did is that one, corrected to first order for the difference.
type solver struct {
	m         *model
	tolerance float64
	anew      bool // every round
	solved    [kinds][]*solved
	slopes    [kinds][]*slopes
	stats     Stats
}

// solved is a round with what it was computed from.
type solved struct {
	start   cycle.RoundStart
	loop    loop
	round   cycle.Round
	figures []float64
	slopes  *slopes // nil: not looked for yet
}

func newSolver(m *model, s Settings) *solver {
	return &solver{m: m, tolerance: s.Tolerance, anew: s.RoundByRound}
}

// fire returns round i (from 0) of a pull from its start.
func (s *solver) fire(ctx context.Context, start cycle.RoundStart, i int) (cycle.Round, error) {
	kind := kindOf(start.Kind, i)
	own := s.loop(&start)
	if !s.anew {
		if from := s.find(kind, &start, &own); from != nil {
			if err := s.differentiate(ctx, kind, from); err != nil {
				return cycle.Round{}, err
			}
			if !from.slopes.fragile {
				s.stats.Reused++
				return s.adapt(from, &start, &own), nil
			}
		}
	}
	r, err := s.solve(ctx, start)
	if err == nil && !s.anew && !r.Stalled {
		one := &solved{start: start, loop: own, round: r}
		one.figures = one.loop.figures(&start, &r)
		s.keep(kind, one)
	}
	return r, err
}

// solve computes a round.
func (s *solver) solve(ctx context.Context, start cycle.RoundStart) (cycle.Round, error) {
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

// find returns the solved round that stands in for one, nil for none. The one that
// was used last stands last and is looked at first.
func (s *solver) find(kind int, start *cycle.RoundStart, own *loop) *solved {
	all := s.solved[kind]
	for i := len(all) - 1; i >= 0; i-- {
		if near(all[i], start, own) {
			last := len(all) - 1
			all[i], all[last] = all[last], all[i]
			return all[last]
		}
	}
	return nil
}

// keep remembers a solved round, in place of the oldest if there are too many.
func (s *solver) keep(kind int, one *solved) {
	all := s.solved[kind]
	if len(all) == remembered {
		copy(all, all[1:])
		all = all[:remembered-1]
	}
	s.solved[kind] = append(all, one)
}

// near tells that a solved round may be used again from another start.
func near(from *solved, b *cycle.RoundStart, own *loop) bool {
	a := &from.start
	within := func(x, y, most float64) bool { return math.Abs(x-y) <= most }
	k, l := &a.Conditions, &b.Conditions
	return within(k.Winding, l.Winding, nearKelvin) && within(k.Spent, l.Spent, nearCharge) &&
		within(k.V1+k.V2, l.V1+l.V2, nearVolts) && within(from.loop.in[inSource], own.in[inSource], nearSource) && within(k.Magnets, l.Magnets, nearKelvin) &&
		within(k.Lead, l.Lead, nearKelvin) && within(k.Switch, l.Switch, nearKelvin) && within(k.Pack, l.Pack, nearKelvin) &&
		within(a.Speed, b.Speed, nearShare*a.Speed) && within(a.Current, b.Current, nearShare*math.Abs(a.Current)+1)
}
