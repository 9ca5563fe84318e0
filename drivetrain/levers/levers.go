package levers

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/study"
)

// Question is what is asked of a build file beside what its target asks. The zero Question
// asks nothing more.
type Question struct {
	// Wants stand before those of the file's target, and in the place of those of the same
	// figure. One whose Min is its Max asks the build to come to that, from wherever it is.
	Wants figure.Target
	// Figures are those, by name, whose effects are asked for behind the wants' own. The
	// default is the headline of the build's mode of fire.
	Figures []string
}

// Result is what there is to know of a build's levers.
type Result struct {
	Document *buildfile.Document
	// Figures are those of the wants, then the question's.
	Figures []figure.Info
	// Values are the build's as it stands, in the order of Figures; NaN where it has none
	// [SI].
	Values []float64
	// Verdicts hold them against the wants, in the order in which they are looked at.
	Verdicts []figure.Verdict
	// Findings are those of the build as it stands, with its file's own target.
	Findings finding.List
	// Effects are those of all keys that move a figure; first, what does most to what is
	// missed, or, where nothing is, to what is wanted.
	Effects []Effect
	// Singles are, want by want, all keys of Effects: first those of which a value alone
	// meets the want, the nearest first.
	Singles []Single
	// Pairs are the best three; none where one value alone meets all wants, or nothing is
	// missed.
	Pairs []Pair
	// Evaluations is how many builds were looked at.
	Evaluations int
}

// Missed lists the wants that are missed and judged, by their number in Verdicts.
func (r *Result) Missed() (all []int) {
	for i := range r.Verdicts {
		if missed(r.Document.Build, &r.Verdicts[i]) {
			all = append(all, i)
		}
	}
	return all
}

// missed tells whether a want is one to meet: one that the mode of fire can't have isn't.
func missed(b *drivetrain.Build, v *figure.Verdict) bool {
	return v.Fate != figure.Met && !study.NotJudged(b, v)
}

// Settings of what is computed here: tight enough for differences of neighbours.
const (
	flightTolerance = 1e-8
	cycleTolerance  = 1e-9
)

// search is a question on its way to a Result.
type search struct {
	doc     *buildfile.Document
	list    []figure.Info
	names   []string // of list
	wants   []want
	values  []float64 // as the build stands
	tightly []float64 // the same, as precisely as differences want
	target  figure.Target
	codes   []string // of the build's findings
	// What is asked of the builds that are tried, of those whose differences are taken, and of
	// those that are told of.
	loose, tight, settled study.Question
}

// want is one of a figure, with its number in the list.
type want struct {
	figure.Want
	figure int
	missed bool
	short  float64 // by how much, NaN where there is no value
}

// Find looks for the levers of a build file. The error is one of the question, or that of
// the build itself where it can't be simulated.
func Find(ctx context.Context, d *buildfile.Document, q Question) (*Result, error) {
	s, r, err := begin(ctx, d, q)
	if err != nil {
		return nil, err
	}
	type found struct {
		effect  *Effect
		singles []Single
		count   int
	}
	var lists [][]Single
	for m, err := range study.Map(ctx, slices.Values(Levers(d)), func() func(context.Context, Lever) (found, error) {
		w := s.worker()
		return func(ctx context.Context, l Lever) (f found, err error) {
			defer func() { f.count, w.count = w.count, 0 }()
			t, err := w.try(l)
			if err != nil || t == nil {
				return f, err
			}
			if f.effect, err = t.effect(ctx); err != nil || f.effect == nil {
				return f, err
			}
			f.singles, err = t.singles(ctx)
			return f, err
		}
	}) {
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return nil, err
		}
		r.Evaluations += m.Result.count
		if m.Result.effect != nil {
			r.Effects = append(r.Effects, *m.Result.effect)
			lists = append(lists, m.Result.singles)
		}
	}
	lists = s.moving(r, lists)
	r.Singles = s.sorted(r, lists)
	if !s.meets(r.Singles) {
		if err := s.pairs(ctx, r); err != nil {
			return nil, err
		}
	}
	s.sort(r)
	return r, nil
}

// begin looks at the build as it stands.
func begin(ctx context.Context, d *buildfile.Document, q Question) (*search, *Result, error) {
	s := &search{doc: d, target: slices.Clone(q.Wants)}
	for _, w := range d.Target {
		if !slices.ContainsFunc(q.Wants, func(o figure.Want) bool { return o.Figure == w.Figure }) {
			s.target = append(s.target, w)
		}
	}
	figures := q.Figures
	if figures == nil {
		figures = study.Headline(d.Build.Trigger.Mode)
	}
	for _, w := range s.target {
		if !slices.Contains(s.names, w.Figure) {
			s.names = append(s.names, w.Figure)
		}
	}
	for _, name := range figures {
		if !slices.Contains(s.names, name) {
			s.names = append(s.names, name)
		}
	}
	if err := s.target.Validate(study.FindFigure); err != nil {
		return nil, nil, err
	}
	s.tight = study.Question{Figures: s.names, Settings: cycle.Settings{Tolerance: cycleTolerance, Flight: flightTolerance}}
	s.loose = study.Question{Figures: s.names}
	s.settled = study.Question{Figures: s.names, Target: d.Target, Findings: true}
	tight, err := study.NewEvaluator(s.tight)
	if err != nil {
		return nil, nil, err
	}
	settled, err := study.NewEvaluator(s.settled)
	if err != nil {
		return nil, nil, err
	}
	s.list = tight.Figures()
	a, err := tight.Evaluate(ctx, d.Build)
	if err != nil {
		return nil, nil, err
	}
	s.tightly = slices.Clone(a.Values)
	if a, err = settled.Evaluate(ctx, d.Build); err != nil {
		return nil, nil, err
	}
	r := &Result{Document: d, Figures: s.list, Values: slices.Clone(a.Values[:len(s.list)]), Findings: slices.Clone(a.Findings), Evaluations: 2}
	s.values, s.codes = r.Values, codes(a.Findings)
	for i, w := range s.target {
		k := slices.Index(s.names, w.Figure)
		if i < len(q.Wants) {
			s.target[i] = towards(w, &s.list[k], r.Values[k])
			w = s.target[i]
		}
		v := w.Judge(r.Values[k])
		r.Verdicts = append(r.Verdicts, v)
		s.wants = append(s.wants, want{Want: w, figure: k, missed: missed(d.Build, &v), short: w.Shortfall(r.Values[k])})
	}
	return s, r, nil
}

// towards turns a want for one value into one of the side that the build isn't on.
func towards(w figure.Want, f *figure.Info, v float64) figure.Want {
	if !w.Min.Given || !w.Max.Given || w.Min.At != w.Max.At {
		return w
	}
	if v > w.Max.At || math.IsNaN(v) && f.Better == figure.Lower {
		w.Min = figure.Bound{}
	} else {
		w.Max = figure.Bound{}
	}
	return w
}

// codes are those of findings, each once, in order.
func codes(l finding.List) (all []string) {
	for _, f := range l {
		if !slices.Contains(all, f.Code) {
			all = append(all, f.Code)
		}
	}
	return all
}

// worker is what one goroutine has.
type worker struct {
	*search
	loose, tight, settled *study.Evaluator
	count                 int // of builds looked at
}

func (s *search) worker() *worker {
	w := &worker{search: s}
	for _, e := range []struct {
		to *(*study.Evaluator)
		q  study.Question
	}{{&w.loose, s.loose}, {&w.tight, s.tight}, {&w.settled, s.settled}} {
		var err error
		if *e.to, err = study.NewEvaluator(e.q); err != nil { // begin has asked as much
			panic(err)
		}
	}
	return w
}

// at returns the figures of the build with values put in, nil where there are none: the
// build can't be used, or its simulation comes to no end.
func (w *worker) at(ctx context.Context, e *study.Evaluator, v *buildfile.Variant, values ...float64) ([]float64, error) {
	b, err := v.Put(values)
	if err != nil {
		return nil, nil
	}
	w.count++
	a, err := e.Evaluate(ctx, b)
	if err != nil {
		return nil, usable(ctx, err)
	}
	return slices.Clone(a.Values), nil
}

// usable tells an interrupt from a build that can't be fired, which is nil.
func usable(ctx context.Context, err error) error {
	if ctx.Err() != nil || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return nil
}

// trial is a lever being tried.
type trial struct {
	*worker
	lever   Lever
	variant *buildfile.Variant
	seen    map[float64][]float64
}

// try makes a trial of a lever, nil where its numbers can't be varied: another key
// that is given too would be taken away.
func (w *worker) try(l Lever) (*trial, error) {
	v, err := w.doc.Vary(l.Key)
	if err != nil {
		return nil, nil
	}
	return &trial{w, l, v, map[float64][]float64{l.From: w.values}}, nil
}

// at returns the figures at a value, nil where there are none.
func (t *trial) at(ctx context.Context, x float64) ([]float64, error) {
	if v, ok := t.seen[x]; ok {
		return v, nil
	}
	v, err := t.worker.at(ctx, t.loose, t.variant, x)
	if err == nil {
		t.seen[x] = v
	}
	return v, err
}

// sort puts first what does most to what is missed, or, where nothing is, to what is
// wanted or shown.
func (s *search) sort(r *Result) {
	short := slices.ContainsFunc(s.wants, func(w want) bool { return w.missed && w.short > 0 })
	weight := func(e *Effect) (most float64) {
		for _, w := range s.wants {
			if short && !(w.missed && w.short > 0) {
				continue
			}
			of := w.short
			if !short {
				of = math.Abs(s.values[w.figure])
			}
			if v := math.Abs(e.Changes[w.figure]) / of; v > most {
				most = v
			}
		}
		if len(s.wants) == 0 {
			for i, c := range e.Changes {
				if v := math.Abs(c / s.values[i]); v > most && !math.IsInf(v, 0) {
					most = v
				}
			}
		}
		return most
	}
	slices.SortStableFunc(r.Effects, func(a, b Effect) int { return cmp.Compare(weight(&b), weight(&a)) })
}
