package levers

import (
	"cmp"
	"context"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/study"
)

// Pair is two keys that together meet all wants.
type Pair struct {
	Levers [2]Lever
	// Values are those of the two, in their order [SI].
	Values [2]float64
	// Largest is the larger of the two changes, as a share of what the build has [1].
	Largest float64
	// Verdicts are those of all wants then, in the order of the Result's.
	Verdicts []figure.Verdict
	// Brings and Takes are the codes of findings that the build then has and had not, and
	// the other way round.
	Brings, Takes []string
}

const (
	bestPairs = 3
	// tried is how many pairs are tried that look best by their effects.
	tried = 32
)

// handle is a lever by its effects: changes are shares of its value.
type handle struct {
	Lever
	slopes [2]float64 // least and largest change
	by     []float64  // what a change of 1 does to each want's figure, if it went on so
}

// plan is a pair with the changes that meet all wants by a straight line.
type plan struct {
	a, b    *handle
	x       [2]float64
	fixed   [2]bool // a whole number, which stays
	largest float64
}

// plane is what a want leaves of two changes: those with n·x ≥ at.
type plane struct {
	n  [2]float64
	at float64
}

// pairs finds the pairs that meet all wants with the least change: by the effects which
// look best, and of these by trying.
func (s *search) pairs(ctx context.Context, r *Result) error {
	var wants []want
	for _, w := range s.wants {
		if v := w.Judge(r.Values[w.figure]); study.NotJudged(s.doc.Build, &v) {
			continue
		}
		if math.IsNaN(s.values[w.figure]) {
			return nil // there is no slope to go by
		}
		wants = append(wants, w)
	}
	var handles []*handle
	for i := range r.Effects {
		e := &r.Effects[i]
		h := &handle{Lever: e.Lever}
		if e.From == 0 {
			continue
		}
		h.slopes = [2]float64{e.Least/e.From - 1, e.Most/e.From - 1}
		slices.Sort(h.slopes[:])
		per := 1 / perCent
		if e.Whole {
			per = e.From
		}
		moves := false
		for _, w := range wants {
			by := per * e.Changes[w.figure]
			h.by = append(h.by, zeroed(by))
			moves = moves || zeroed(by) != 0
		}
		if moves {
			handles = append(handles, h)
		}
	}
	var plans []plan
	for i, a := range handles {
		for _, b := range handles[i+1:] {
			plans = append(plans, s.plans(wants, a, b)...)
		}
	}
	slices.SortStableFunc(plans, func(a, b plan) int { return cmp.Compare(a.largest, b.largest) })
	plans = plans[:min(tried, len(plans))]
	type found struct {
		pair  *Pair
		count int
	}
	for m, err := range study.Map(ctx, slices.Values(plans), func() func(context.Context, plan) (found, error) {
		w := s.worker()
		return func(ctx context.Context, p plan) (f found, err error) {
			defer func() { f.count, w.count = w.count, 0 }()
			f.pair, err = w.pair(ctx, wants, &p)
			return f, err
		}
	}) {
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return err
		}
		r.Evaluations += m.Result.count
		if m.Result.pair != nil {
			r.Pairs = append(r.Pairs, *m.Result.pair)
		}
	}
	slices.SortStableFunc(r.Pairs, func(a, b Pair) int { return cmp.Compare(a.Largest, b.Largest) })
	var best []Pair
	for _, p := range r.Pairs {
		if !slices.ContainsFunc(best, func(q Pair) bool { return q.Levers == p.Levers }) {
			best = append(best, p)
		}
	}
	r.Pairs = best[:min(bestPairs, len(best))]
	return nil
}

// planes are what wants leave of changes about a place where the figures have values and
// slopes.
func planes(wants []want, values func(w *want) float64, a, b []float64, x [2]float64) (all []plane) {
	for i := range wants {
		w := &wants[i]
		in := 10 * w.inside()
		if w.Min.Given && w.Max.Given {
			in = min(in, (w.Max.At-w.Min.At)/4)
		}
		n := [2]float64{a[i], b[i]}
		size := math.Hypot(n[0], n[1])
		at := values(w) - n[0]*x[0] - n[1]*x[1]
		if size == 0 {
			size = 1 // then it is met or not, whatever is changed
		}
		if w.Min.Given {
			all = append(all, plane{[2]float64{n[0] / size, n[1] / size}, (w.Min.At + in - at) / size})
		}
		if w.Max.Given {
			all = append(all, plane{[2]float64{-n[0] / size, -n[1] / size}, (at - w.Max.At + in) / size})
		}
	}
	return all
}

// plans are the ways of two levers to meet all wants if their effects went on in straight
// lines; of whole numbers the few with the least change.
func (s *search) plans(wants []want, a, b *handle) (all []plan) {
	p := planes(wants, func(w *want) float64 { return s.values[w.figure] }, a.by, b.by, [2]float64{})
	lo, hi := [2]float64{a.slopes[0], b.slopes[0]}, [2]float64{a.slopes[1], b.slopes[1]}
	add := func(lo, hi [2]float64, fixed [2]bool) {
		if x, largest, ok := leastChange(p, lo, hi); ok {
			all = append(all, plan{a, b, x, fixed, largest})
		}
	}
	wholes := func(h *handle) (all []float64) {
		const most = 4 // to either side
		for n := -float64(most); n <= most; n++ {
			if x := n / h.From; n != 0 && x >= h.slopes[0]-1e-12 && x <= h.slopes[1]+1e-12 {
				all = append(all, x)
			}
		}
		return all
	}
	switch {
	case !a.Whole && !b.Whole:
		add(lo, hi, [2]bool{})
	case a.Whole && b.Whole:
		for _, x := range wholes(a) {
			for _, y := range wholes(b) {
				add([2]float64{x, y}, [2]float64{x, y}, [2]bool{true, true})
			}
		}
	case a.Whole:
		for _, x := range wholes(a) {
			add([2]float64{x, lo[1]}, [2]float64{x, hi[1]}, [2]bool{true, false})
		}
	default:
		for _, y := range wholes(b) {
			add([2]float64{lo[0], y}, [2]float64{hi[0], y}, [2]bool{false, true})
		}
	}
	return all
}

// leastChange returns the two changes within bounds, and with all planes, of which the
// larger is least; false if there are none.
func leastChange(planes []plane, lo, hi [2]float64) (x [2]float64, largest float64, ok bool) {
	at := func(t float64) (x [2]float64, ok bool) {
		// What is left of a square of half the width t.
		l := [2]float64{max(lo[0], min(-t, hi[0])), max(lo[1], min(-t, hi[1]))}
		h := [2]float64{min(hi[0], max(t, lo[0])), min(hi[1], max(t, lo[1]))}
		left := [][2]float64{{l[0], l[1]}, {h[0], l[1]}, {h[0], h[1]}, {l[0], h[1]}}
		for _, p := range planes {
			if left = cut(left, p); len(left) == 0 {
				return x, false
			}
		}
		for _, v := range left {
			x[0] += v[0] / float64(len(left))
			x[1] += v[1] / float64(len(left))
		}
		return x, true
	}
	most := max(-lo[0], hi[0], -lo[1], hi[1])
	if x, ok = at(most); !ok {
		return x, 0, false
	}
	low, high := 0., most
	for range 40 {
		t := (low + high) / 2
		if _, ok := at(t); ok {
			high = t
		} else {
			low = t
		}
	}
	if x, ok = at(high * (1 + 1e-7)); !ok {
		return x, 0, false
	}
	return x, max(math.Abs(x[0]), math.Abs(x[1])), true
}

// cut takes from a convex polygon what lies outside of a plane.
func cut(polygon [][2]float64, p plane) (left [][2]float64) {
	over := func(v [2]float64) float64 { return p.n[0]*v[0] + p.n[1]*v[1] - p.at }
	for i, v := range polygon {
		w := polygon[(i+1)%len(polygon)]
		a, b := over(v), over(w)
		if a >= 0 {
			left = append(left, v)
		}
		if a < 0 && b > 0 || a > 0 && b < 0 {
			s := a / (a - b)
			left = append(left, [2]float64{v[0] + s*(w[0]-v[0]), v[1] + s*(w[1]-v[1])})
		}
	}
	return left
}

// pair takes a plan to where it meets all wants in truth, by straight lines about each
// place that it comes to; nil if it doesn't come there.
func (w *worker) pair(ctx context.Context, wants []want, p *plan) (*Pair, error) {
	v, err := w.doc.Vary(p.a.Key, p.b.Key)
	if err != nil {
		return nil, nil
	}
	from := [2]float64{p.a.From, p.b.From}
	at := func(x [2]float64) ([]float64, error) {
		return w.at(ctx, w.loose, v, put(p, 0, x[0]), put(p, 1, x[1]))
	}
	x := p.x
	lo, hi := [2]float64{p.a.slopes[0], p.b.slopes[0]}, [2]float64{p.a.slopes[1], p.b.slopes[1]}
	for i := range 2 {
		if p.fixed[i] {
			lo[i], hi[i] = x[i], x[i]
		}
	}
	for range 8 {
		here, err := at(x)
		if err != nil || here == nil {
			return nil, err
		}
		var by [2][]float64
		for i := range 2 {
			by[i] = make([]float64, len(wants))
			if p.fixed[i] {
				continue
			}
			h := 1e-3
			if x[i]+h > hi[i] {
				h = -h
			}
			y := x
			y[i] += h
			there, err := at(y)
			if err != nil || there == nil {
				return nil, err
			}
			for k := range wants {
				f := wants[k].figure
				by[i][k] = (there[f] - here[f]) / h
				if math.IsNaN(by[i][k]) {
					return nil, nil
				}
			}
		}
		ps := planes(wants, func(w *want) float64 { return here[w.figure] }, by[0], by[1], x)
		next, _, ok := leastChange(ps, lo, hi)
		if !ok {
			return nil, nil
		}
		moved := max(math.Abs(next[0]-x[0]), math.Abs(next[1]-x[1]))
		x = next
		if moved < 2e-6 {
			break
		}
	}
	exact := [2]float64{put(p, 0, x[0]), put(p, 1, x[1])}
	short := exact
	for i, l := range []*handle{p.a, p.b} {
		if !p.fixed[i] {
			short[i] = rounded(l.Kind, from[i], exact[i])
		}
	}
	for _, values := range [][2]float64{short, {short[0], exact[1]}, {exact[0], short[1]}, exact} {
		if values[0] < p.a.Least || values[0] > p.a.Most || values[1] < p.b.Least || values[1] > p.b.Most {
			continue
		}
		verdicts, found, err := w.look(ctx, v, values[:]...)
		if err != nil {
			return nil, err
		}
		if verdicts == nil || !w.all(verdicts) {
			continue
		}
		return &Pair{
			Levers: [2]Lever{p.a.Lever, p.b.Lever}, Values: values, Verdicts: verdicts,
			Largest: max(math.Abs(values[0]/from[0]-1), math.Abs(values[1]/from[1]-1)),
			Brings:  missing(found, w.codes), Takes: missing(w.codes, found),
		}, nil
	}
	return nil, nil
}

// put is the value of one of a plan's levers with a change.
func put(p *plan, i int, x float64) float64 {
	l := p.a
	if i == 1 {
		l = p.b
	}
	v := l.From * (1 + x)
	if p.fixed[i] {
		return math.Round(v)
	}
	return min(max(v, l.Least), l.Most)
}
