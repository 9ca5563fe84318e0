package study

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"math"
	"sync"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/internal/inorder"
	"example.org/ampstroke/motor"
)

// Question is what is asked of builds. The zero Question asks whether they can be fired.
type Question struct {
	// Figures are asked for by name; those of heat want a Plan.
	Figures []string
	// Target is what builds are held against; its figures are asked for too.
	Target figure.Target
	// Findings asks for the findings, as [Examine] has them but for those of the other
	// mode of fire.
	Findings bool
	// Plan is what builds fire to warm, nil where no figure of heat is asked for.
	Plan     *heat.Plan
	Settings cycle.Settings
}

// Answer is what becomes of a build that was asked.
type Answer struct {
	// Status says how the build's cycle ends; [cycle.Steady] where no figure asked for
	// needs one.
	Status cycle.Status
	// Values are the figures' in the order of [Evaluator.Figures], NaN where the build
	// has none [SI].
	Values []float64
	// Verdicts hold them against the target.
	Verdicts []figure.Verdict
	// Findings are what there is to say, faults first; nil unless asked for.
	Findings finding.List
	// Cycle is the result that the figures come from, as an evaluator's are; nil where no
	// figure asked for needs one.
	Cycle *cycle.Result
}

// Met tells whether the build meets all wants of the target; one whose figure doesn't
// exist is missed.
func (a *Answer) Met() bool {
	for i := range a.Verdicts {
		if a.Verdicts[i].Fate != figure.Met {
			return false
		}
	}
	return true
}

// Evaluator answers a question for one build after the other, by the stages alone that
// the figures come from. One belongs to one goroutine.
type Evaluator struct {
	question Question
	list     figure.List[*Stages]
	wants    []int // which of the list each want of the target asks for

	needs struct{ cycle, motor, pickup, heat bool }

	fired, automatic cycle.Evaluator
	supplied         motor.Supplied
	stages           Stages
	answer           Answer
}

// NewEvaluator makes an evaluator. The error says which figure is unknown, or wants a
// plan, which want can't be met by any build, or what of the settings can't be used.
func NewEvaluator(q Question) (*Evaluator, error) {
	e := &Evaluator{question: q}
	add := func(name string) (int, error) {
		for i := range e.list {
			if e.list[i].Name == name {
				return i, nil
			}
		}
		f, ok := all().Find(name)
		if !ok {
			return 0, fmt.Errorf("%q is no figure", name)
		}
		switch stageOf(name) {
		case ofMotor:
			e.needs.motor = true
		case ofPickup:
			e.needs.cycle, e.needs.pickup = true, true
		case ofHeat:
			if q.Plan == nil {
				return 0, fmt.Errorf("%s is a figure of a firing plan, and none is given", name)
			}
			e.needs.heat = true
		default:
			e.needs.cycle = true
		}
		e.list = append(e.list, f)
		return len(e.list) - 1, nil
	}
	for _, name := range q.Figures {
		if _, err := add(name); err != nil {
			return nil, err
		}
	}
	if err := q.Target.Validate(FindFigure); err != nil {
		return nil, err
	}
	for _, w := range q.Target {
		i, err := add(w.Figure)
		if err != nil {
			return nil, err
		}
		e.wants = append(e.wants, i)
	}
	e.needs.cycle = e.needs.cycle || q.Findings || len(e.list) == 0
	e.needs.pickup = e.needs.pickup || q.Findings
	if err := q.Settings.Validate(); err != nil {
		return nil, err
	}
	e.answer.Values = make([]float64, len(e.list))
	e.answer.Verdicts = make([]figure.Verdict, len(q.Target))
	return e, nil
}

// Figures lists what is asked for: the question's figures, then those of its target that
// aren't among them.
func (e *Evaluator) Figures() []figure.Info { return e.list.Infos() }

// Share has flights of the builds to come read off a table, which has to be that of their
// gun ([cycle.Settings].Flights); nil: they are flown.
func (e *Evaluator) Share(t *flight.Table) { e.question.Settings.Flights = t }

// Evaluate asks a build. The answer is overwritten by the next call. Errors are those of
// [cycle.Simulate] and [heat.Simulate].
func (e *Evaluator) Evaluate(ctx context.Context, b *drivetrain.Build) (*Answer, error) {
	a := &e.answer
	e.stages, a.Cycle, a.Findings, a.Status = Stages{}, nil, nil, cycle.Steady
	if !e.needs.cycle {
		if err := b.Validate(); err != nil {
			return nil, err
		}
	} else {
		r, err := e.fired.Evaluate(ctx, b, e.question.Settings)
		if err != nil {
			return nil, err
		}
		e.stages.Cycle, a.Cycle, a.Status = r, r, r.Status
	}
	if e.needs.motor {
		e.supplied = Supplied(b)
		e.stages.Motor = &e.supplied
	}
	var x Examination
	var meets []finding.Finding
	if e.needs.pickup {
		x = Examination{Build: b, Target: e.question.Target, Cycle: e.stages.Cycle}
		var err error
		if x.Automatic, err = e.inAutomatic(ctx, b); err != nil {
			return nil, err
		}
		if e.question.Findings {
			x.Cycle.Warnings = e.fired.Warnings()
		}
		meets = x.meets()
		e.stages.Pickup = x.Pickup
	}
	if e.needs.heat {
		r, err := heat.Simulate(ctx, b, e.question.Plan, heat.Settings{})
		if err != nil {
			return nil, err
		}
		e.stages.Heat = r
	}
	for i := range e.list {
		a.Values[i] = e.list[i].Value(&e.stages)
	}
	for i, w := range e.question.Target {
		a.Verdicts[i] = w.Judge(a.Values[e.wants[i]])
	}
	if e.question.Findings {
		x.Verdicts = a.Verdicts
		a.Findings = x.found(meets)
		x.Cycle.Warnings = nil
	}
	return a, nil
}

// inAutomatic fires a build in automatic, where how sector and rack meet depends on it.
func (e *Evaluator) inAutomatic(ctx context.Context, b *drivetrain.Build) (*cycle.Result, error) {
	if b.Rack == nil || b.Rack.PickupOffset == nil || b.Trigger.Mode == drivetrain.Automatic {
		return e.stages.Cycle, nil
	}
	other := *b
	other.Trigger.Mode, other.Trigger.Rounds = drivetrain.Automatic, 0
	r, err := e.automatic.Evaluate(ctx, &other, e.question.Settings)
	if err != nil {
		return nil, fmt.Errorf("in automatic: %w", err)
	}
	return r, nil
}

// Value returns a figure of the last answer by its name, NaN where it wasn't asked for
// [SI].
func (e *Evaluator) Value(name string) float64 {
	for i := range e.list {
		if e.list[i].Name == name {
			return e.answer.Values[i]
		}
	}
	return math.NaN()
}

// Unfinished tells of an error that a simulation came to no end, where any other says
// that the build can't be used, or that it was interrupted.
func Unfinished(err error) bool { return errors.Is(err, cycle.ErrUnfinished) }

// Mapped is an item of [Map] with what came of it.
type Mapped[T, R any] = inorder.Done[T, R]

// Map has work done on items on all cores, and yields each with its result, in the order
// of the items, with the error in place of a result that there isn't. Each core has a
// function of its own, made by worker, so that it may keep an [Evaluator] and what else it
// reuses; results must stay when the next is computed. Only as many items are taken ahead
// as keep the cores busy, so that memory doesn't grow with their number. What is yielded
// doesn't depend on the cores. It ends early with the context, whose error is then
// yielded once, last.
func Map[T, R any](ctx context.Context, items iter.Seq[T], worker func() func(context.Context, T) (R, error)) iter.Seq2[Mapped[T, R], error] {
	return inorder.Map(ctx, items, worker)
}

// Judge holds the figures of a cycle against a target, with those of its motor alone;
// what other stages know is NaN.
func Judge(target figure.Target, r *cycle.Result) []figure.Verdict {
	supplied := sync.OnceValue(func() *motor.Supplied { s := Supplied(r.Build); return &s })
	return target.Judge(func(name string) float64 {
		s := Stages{Cycle: r}
		if stageOf(name) == ofMotor {
			s.Motor = supplied()
		}
		f, ok := all().Find(name)
		if !ok {
			return math.NaN()
		}
		return f.Value(&s)
	})
}
