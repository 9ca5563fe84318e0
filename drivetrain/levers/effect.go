package levers

import (
	"context"
	"math"
	"slices"
)

// Effect is what a small change of a key does.
type Effect struct {
	Lever
	// Step is how far the differences look to either side: half a per cent of the value,
	// or, of counts, one [SI].
	Step float64
	// Changes are those of the Result's Figures for one per cent more, or one more of a
	// count; one less, with the sign turned, where the build takes no more. 0 where it moves
	// less than is computed, NaN where there is no figure [SI].
	Changes []float64
	// Bent tells of each figure that differences over the step and over twice the step
	// disagree by more than a twentieth: the effect changes nearby. Then Changes has the one over
	// twice the step.
	Bent []bool
}

const (
	perCent = 0.01
	// bend is how far differences over a step and over half of it may lie apart before
	// they are said to [1].
	bend = 0.05
	// nothing is what is not computed of a figure any more, and resting what a key moves of
	// it at least, of what the others do, to be its lever [1].
	nothing = 1e-6
	resting = 1e-5
)

// effect finds what a small change of the lever does; nil where the build takes none.
func (t *trial) effect(ctx context.Context) (*Effect, error) {
	l, n := t.lever, len(t.list)
	if l.From == 0 && !l.Whole {
		return nil, nil
	}
	e := &Effect{Lever: l, Changes: make([]float64, n), Bent: make([]bool, n)}
	var err error
	at := func(x float64) (v []float64) {
		if err == nil {
			v, err = t.worker.at(ctx, t.tight, t.variant, x)
		}
		return v
	}
	if l.Whole {
		e.Step = 1
		up, down := at(l.From+1), at(l.From-1)
		if up == nil && down == nil {
			return nil, err
		}
		for i, f := range t.tightly {
			e.Changes[i] = math.NaN()
			if up != nil {
				e.Changes[i] = up[i] - f
			}
			if down != nil && math.IsNaN(e.Changes[i]) {
				e.Changes[i] = f - down[i]
			}
		}
		return e, err
	}
	// One per cent more of what is negative is farther below zero.
	h := perCent * l.From
	e.Step = math.Abs(h) / 2
	up, down := at(l.From+h), at(l.From-h)
	halfUp, halfDown := at(l.From+h/2), at(l.From-h/2)
	if err != nil || halfUp == nil && halfDown == nil {
		return nil, err
	}
	for i, f := range t.tightly {
		var whole, half float64
		switch has := func(all ...[]float64) bool {
			return !slices.ContainsFunc(all, func(v []float64) bool { return v == nil || math.IsNaN(v[i]) })
		}; {
		case has(up, down, halfUp, halfDown):
			whole, half = (up[i]-down[i])/2, halfUp[i]-halfDown[i]
		case has(up, halfUp): // of second order, to one side
			whole, half = up[i]-f, 4*halfUp[i]-up[i]-3*f
		case has(down, halfDown):
			whole, half = f-down[i], 3*f-4*halfDown[i]+down[i]
		case has(halfUp, halfDown):
			half = halfUp[i] - halfDown[i]
			whole = half
		default:
			whole, half = math.NaN(), math.NaN()
		}
		e.Changes[i] = half
		if math.Abs(whole-half) > bend*math.Abs(whole)+nothing*math.Abs(f) {
			e.Changes[i], e.Bent[i] = whole, true
		}
	}
	return e, err
}

// moving keeps the effects that move a figure, or mend one that the build hasn't, and zeroes
// what is not computed any more. Lists beside them go the same way.
func (s *search) moving(r *Result, lists [][]Single) (kept [][]Single) {
	most := make([]float64, len(s.list))
	for _, e := range r.Effects {
		for i, c := range e.Changes {
			most[i] = max(most[i], math.Abs(zeroed(c)))
		}
	}
	var effects []Effect
	for k, e := range r.Effects {
		moves := false
		for i, c := range e.Changes {
			if math.Abs(c) <= nothing*math.Abs(s.values[i])+resting*most[i] {
				e.Changes[i], e.Bent[i] = 0, false
			}
			moves = moves || e.Changes[i] != 0 && !math.IsNaN(c)
		}
		for _, single := range lists[k] {
			moves = moves || !math.IsNaN(single.Value)
		}
		if moves {
			effects, kept = append(effects, e), append(kept, lists[k])
		}
	}
	r.Effects = effects
	return kept
}

// zeroed is a number without NaN.
func zeroed(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}
