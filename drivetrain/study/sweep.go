package study

import (
	"context"
	"fmt"
	"iter"
	"slices"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
)

// Sweep is one build file with every combination of some keys' values.
type Sweep struct {
	Document *buildfile.Document
	Axes     []Axis
	Question Question
	figures  []figure.Info
	variant  *buildfile.Variant
}

// Point is one combination of a sweep.
type Point struct {
	// Number counts from 0; the last axis goes fastest.
	Number int
	// Values are those of the axes [SI].
	Values []float64
	// Answer is what becomes of it, without its cycle; nil where there is an error.
	Answer *Answer
}

// NewSweep makes a sweep. The error says which key can't be varied, is named twice or
// stands in another's place, that there are more than [MostPoints] combinations, or what
// of the question can't be answered.
func NewSweep(d *buildfile.Document, q Question, axes ...Axis) (*Sweep, error) {
	s := &Sweep{Document: d, Axes: axes, Question: q}
	if len(axes) == 0 {
		return nil, fmt.Errorf("no key is named; wanted one or more")
	}
	count := 1
	var paths []string
	for _, a := range axes {
		if slices.Contains(paths, a.Key) {
			return nil, fmt.Errorf("%s is named twice", a.Key)
		}
		if len(a.Values) == 0 {
			return nil, fmt.Errorf("%s has no values", a.Key)
		}
		paths = append(paths, a.Key)
		if count *= len(a.Values); count > MostPoints {
			return nil, fmt.Errorf("more than %d combinations; wanted fewer values of %s", MostPoints, a.Key)
		}
	}
	var err error
	if s.variant, err = d.Vary(paths...); err != nil {
		return nil, err
	}
	e, err := NewEvaluator(q)
	if err != nil {
		return nil, err
	}
	s.figures = e.Figures()
	return s, nil
}

// Count is how many combinations there are.
func (s *Sweep) Count() int {
	n := 1
	for _, a := range s.Axes {
		n *= len(a.Values)
	}
	return n
}

// Figures lists what is asked for, in the order of an Answer's Values.
func (s *Sweep) Figures() []figure.Info { return slices.Clone(s.figures) }

// At returns the values of a combination, in the order of the axes [SI].
func (s *Sweep) At(number int) []float64 {
	values := make([]float64, len(s.Axes))
	for i := len(s.Axes) - 1; i >= 0; i-- {
		n := len(s.Axes[i].Values)
		values[i] = s.Axes[i].Values[number%n]
		number /= n
	}
	return values
}

// Points computes all combinations on all cores and yields them in order, each with the
// error in place of an answer that there isn't: values that can't be used together, a
// simulation that came to no end ([Unfinished]). It ends early with the context, whose
// error is then yielded once, last. What is yielded doesn't depend on the cores. Flights of
// combinations that share their gun are read off ([cycle.Guns]).
func (s *Sweep) Points(ctx context.Context) iter.Seq2[Point, error] {
	guns := cycle.NewGuns(s.Question.Settings)
	type next struct {
		number int
		turn   cycle.Turn
	}
	row := func(yield func(next) bool) {
		for n := range s.Count() {
			if !yield(next{n, guns.Next()}) {
				return
			}
		}
	}
	all := Map(ctx, row, func() func(context.Context, next) (*Answer, error) {
		v := s.variant.Clone()
		e, err := NewEvaluator(s.Question)
		if err != nil { // NewSweep has made one
			panic(err)
		}
		return func(ctx context.Context, n next) (*Answer, error) {
			b, err := v.Put(s.At(n.number))
			e.Share(n.turn.Take(ctx, b)) // whether there is a build or not
			if err != nil {
				return nil, err
			}
			a, err := e.Evaluate(ctx, b)
			if err != nil {
				return nil, err
			}
			return &Answer{Status: a.Status, Values: slices.Clone(a.Values), Verdicts: slices.Clone(a.Verdicts), Findings: slices.Clone(a.Findings)}, nil
		}
	})
	return func(yield func(Point, error) bool) {
		for m, err := range all {
			if err != nil && ctx.Err() != nil {
				yield(Point{}, ctx.Err())
				return
			}
			if !yield(Point{m.Item.number, s.At(m.Item.number), m.Result}, err) {
				return
			}
		}
	}
}

// Good tells whether an answer meets all wants of the question that the document's mode of
// fire can have, and has no fault among its findings; a combination without an answer
// isn't.
func (s *Sweep) Good(a *Answer) bool {
	return a != nil && !a.Findings.Broken() && !slices.ContainsFunc(a.Verdicts, func(v figure.Verdict) bool {
		return v.Fate != figure.Met && !NotJudged(s.Document.Build, &v)
	})
}
