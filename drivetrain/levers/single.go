package levers

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// Single is the value of one key that alone would just meet a want.
type Single struct {
	Lever
	// Want is the want's number in the Result's Verdicts.
	Want int
	// Value is the nearest that meets it; NaN: none does between Least and Most [SI].
	Value float64
	// Verdicts are those of all wants with the value, in the order of the Result's.
	Verdicts []figure.Verdict
	// Clean tells that all wants are met then that can be judged.
	Clean bool
	// Brings and Takes are the codes of findings that the build then has and had not, and
	// the other way round.
	Brings, Takes []string
}

// Meets tells whether a value meets the want.
func (s *Single) Meets() bool { return !math.IsNaN(s.Value) }

// Change is how far the value is from what the build has, as a share of that [1].
func (s *Single) Change() float64 { return s.Value/s.From - 1 }

// aside is how many places in each direction of a lever are looked at.
const aside = 8

// probe is a value of the lever with the figures there, nil where there are none.
type probe struct {
	x      float64
	values []float64
}

// side says where a want finds a probe: below its least (−1), above its most (1), in
// between (0), or without the figure (2).
func (w *want) side(p probe) int {
	switch {
	case p.values == nil || math.IsNaN(p.values[w.figure]):
		return 2
	case w.Min.Given && p.values[w.figure] < w.Min.At:
		return -1
	case w.Max.Given && p.values[w.figure] > w.Max.At:
		return 1
	}
	return 0
}

// gap is how far a probe lies on the good side of the bound that a side misses, NaN
// without the figure; aimed at a little behind the bound.
func (w *want) gap(p probe, side int) float64 {
	if w.side(p) == 2 {
		return math.NaN()
	}
	v := p.values[w.figure]
	if side == 1 {
		return w.Max.At - w.inside() - v
	}
	return v - w.Min.At - w.inside()
}

// inside is how far behind a bound values are aimed at, so that who computes to 1e-6
// finds the want met as well: little of what is missed, and less of the room there is.
func (w *want) inside() float64 {
	in := 1e-6 * max(math.Abs(w.Min.Or(0)), math.Abs(w.Max.Or(0)))
	if w.short > 0 {
		in = min(in, 1e-3*w.short)
	}
	if w.Min.Given && w.Max.Given {
		in = min(in, (w.Max.At-w.Min.At)/4)
	}
	return in
}

// singles finds for each want that is missed the nearest value of the lever that meets
// it.
func (t *trial) singles(ctx context.Context) (all []Single, err error) {
	for i := range t.wants {
		w := &t.wants[i]
		if !w.missed {
			continue
		}
		s := Single{Lever: t.lever, Want: i, Value: math.NaN()}
		x, err := t.nearest(ctx, w)
		if err != nil {
			return nil, err
		}
		if !math.IsNaN(x) {
			if err := t.settle(ctx, w, x, &s); err != nil {
				return nil, err
			}
		}
		all = append(all, s)
	}
	return all, nil
}

// grid lists the places in one direction, outwards from the lever's value, that first.
func (l *Lever) grid(up bool) (all []float64) {
	end := l.Least
	if up {
		end = l.Most
	}
	all = []float64{l.From}
	if l.From == 0 || end == l.From {
		return all
	}
	if l.Whole {
		end = math.Trunc(end)
		if !up {
			end = math.Ceil(l.Least)
		}
		step := math.Ceil(math.Abs(end-l.From) / 32) // small counts one by one
		for k := 1.; k*step < math.Abs(end-l.From); k++ {
			all = append(all, l.From+math.Copysign(k*step, end-l.From))
		}
		if end != l.From {
			all = append(all, end)
		}
		return all
	}
	for k := 1.; k < aside; k++ {
		all = append(all, l.From*math.Pow(end/l.From, k/aside))
	}
	return append(all, end)
}

// nearest returns the value nearest to what the lever has that meets a want, NaN if none
// was found.
func (t *trial) nearest(ctx context.Context, w *want) (float64, error) {
	grids := [2][]float64{t.lever.grid(true), t.lever.grid(false)}
	if moves, err := t.moves(ctx, w, grids); err != nil || !moves {
		return math.NaN(), err
	}
	var seen [2][]probe
	best, least := math.NaN(), math.Inf(1)
	done := [2]bool{}
	for {
		// The direction whose next cell begins nearer comes first.
		way := -1
		for i := range grids {
			n := max(0, len(seen[i])-1)
			if !done[i] && n < len(grids[i]) && (way < 0 || math.Abs(grids[i][n]-t.lever.From) < math.Abs(grids[way][max(0, len(seen[way])-1)]-t.lever.From)) {
				way = i
			}
		}
		if way < 0 {
			break
		}
		g, n := grids[way], len(seen[way])
		if n >= len(g) || n > 0 && math.Abs(g[n-1]-t.lever.From) >= least {
			done[way] = true
			continue
		}
		p := probe{x: g[n]}
		var err error
		if p.values, err = t.at(ctx, p.x); err != nil {
			return 0, err
		}
		if n > 0 && p.values == nil && seen[way][n-1].values != nil {
			if p, err = t.edge(ctx, seen[way][n-1], p); err != nil {
				return 0, err
			}
		}
		seen[way] = append(seen[way], p)
		x, err := t.within(ctx, w, seen[way])
		if err != nil {
			return 0, err
		}
		if far := math.Abs(x - t.lever.From); far < least {
			best, least = x, far
		}
		if !math.IsNaN(x) {
			done[way] = true
		}
	}
	if up, down := seen[0], seen[1]; !t.lever.Whole && len(up) > 1 && len(down) > 1 && w.side(up[0]) != 2 && w.side(up[1]) == w.side(up[0]) && w.side(down[1]) == w.side(up[0]) {
		x, err := t.peak(ctx, w, down[1], up[0], up[1])
		if err != nil {
			return 0, err
		}
		if math.Abs(x-t.lever.From) < least {
			best = x
		}
	}
	return best, nil
}

// moves tells whether the lever moves the want's figure, next to where it is or at the
// ends of where it goes.
func (t *trial) moves(ctx context.Context, w *want, grids [2][]float64) (bool, error) {
	f := t.values[w.figure]
	for _, g := range grids {
		for _, x := range []float64{g[min(1, len(g)-1)], g[len(g)-1]} {
			v, err := t.at(ctx, x)
			if err != nil {
				return false, err
			}
			if v != nil && math.Abs(v[w.figure]-f) > nothing*math.Abs(f) || v != nil && math.IsNaN(v[w.figure]) != math.IsNaN(f) {
				return true, nil
			}
		}
	}
	return false, nil
}

// within looks for a value that meets the want in the last cell of probes, or at a peak
// about the last but one.
func (t *trial) within(ctx context.Context, w *want, all []probe) (float64, error) {
	n := len(all)
	if n < 2 {
		return math.NaN(), nil
	}
	a, b := all[n-2], all[n-1]
	sa, sb := w.side(a), w.side(b)
	if sa != 0 && (sb == 0 || sa != 2 && sb != 2 && sa != sb) {
		return t.between(ctx, w, a, b)
	}
	if n < 3 || t.lever.Whole || sa == 2 || sb != sa || w.side(all[n-3]) != sa {
		return math.NaN(), nil
	}
	return t.peak(ctx, w, all[n-3], a, b)
}

// peak looks for the want's figure between three probes of which none meets it and the
// middle one comes nearest, by parabolas.
func (t *trial) peak(ctx context.Context, w *want, a, m, b probe) (float64, error) {
	side := w.side(m)
	for range 4 {
		ga, gm, gb := w.gap(a, side), w.gap(m, side), w.gap(b, side)
		if gm <= ga || gm <= gb {
			break
		}
		// The parabola through the three.
		u, v := a.x-m.x, b.x-m.x
		bow := ((gb-gm)/v - (ga-gm)/u) / (v - u)
		slope := (gb-gm)/v - bow*v
		top, off := gm-slope*slope/(4*bow), -slope/(2*bow)
		if top < -math.Abs(gm)/2 && top < 0 { // it doesn't come near
			break
		}
		if math.Abs(off) < 1e-4*math.Abs(v) {
			off = math.Copysign(1e-4*v, v)
		}
		p := probe{x: m.x + off}
		var err error
		if p.values, err = t.at(ctx, p.x); err != nil {
			return 0, err
		}
		switch g := w.gap(p, side); {
		case w.side(p) == 0:
			near := a
			if math.Abs(a.x-t.lever.From) > math.Abs(b.x-t.lever.From) {
				near = b
			}
			return t.between(ctx, w, near, p)
		case math.IsNaN(g):
			return math.NaN(), nil
		case g > gm:
			if (p.x-m.x)*(b.x-m.x) > 0 {
				a, m = m, p
			} else {
				m, b = p, m
			}
		case (p.x-m.x)*(b.x-m.x) > 0:
			b = p
		default:
			a = p
		}
	}
	return math.NaN(), nil
}

// edge returns the last probe that can be used on the way from one that can be to one
// that can't.
func (t *trial) edge(ctx context.Context, a, b probe) (probe, error) {
	if t.lever.Whole {
		return b, nil
	}
	lo, hi := a.x, b.x
	for range 24 {
		x := (lo + hi) / 2
		if _, err := t.variant.Put([]float64{x}); err != nil {
			hi = x
		} else {
			lo = x
		}
	}
	if lo == a.x {
		return b, nil
	}
	v, err := t.at(ctx, lo)
	return probe{lo, v}, err
}

// between returns the value nearest to a that meets a want, which a misses and b meets or
// misses on the other side: regula falsi with halved weights, halving where there are no
// figures.
func (t *trial) between(ctx context.Context, w *want, a, b probe) (float64, error) {
	side := w.side(a)
	if side == 2 && w.Min.Given && w.Max.Given || side == 2 && w.side(b) != 0 {
		return t.halved(ctx, w, a, b)
	}
	if side == 2 {
		side = -1
		if w.Max.Given {
			side = 1
		}
	}
	ga, gb := w.gap(a, side), w.gap(b, side)
	if gb < 0 { // met, but hardly
		return b.x, nil
	}
	enough := 1e-4 * w.short
	if !(enough > 0) {
		enough = 1e-6 * max(math.Abs(w.Min.Or(0)), math.Abs(w.Max.Or(0)))
	}
	for k := 0; k < 60 && math.Abs(b.x-a.x) > 1e-9*math.Abs(t.lever.From); k++ {
		if t.lever.Whole && math.Abs(b.x-a.x) <= 1 {
			break
		}
		if gb = w.gap(b, side); gb <= enough && w.side(b) == 0 && !t.lever.Whole {
			break
		}
		x := (a.x + b.x) / 2
		if !math.IsNaN(ga) && k%3 != 2 && !t.lever.Whole {
			aim := enough / 2
			x = a.x + (b.x-a.x)*(aim-ga)/(gb-ga)
			if room := 1e-3 * (b.x - a.x); (x-a.x)*(b.x-a.x) <= 0 || (b.x-x)*(b.x-a.x) <= 0 {
				x = a.x + math.Copysign(math.Abs(room), b.x-a.x)
			}
		}
		if t.lever.Whole {
			x = math.Round(x)
		}
		p := probe{x: x}
		var err error
		if p.values, err = t.at(ctx, x); err != nil {
			return 0, err
		}
		if g := w.gap(p, side); g >= 0 {
			b = p
		} else {
			a, ga = p, g
		}
	}
	if w.side(b) != 0 {
		return math.NaN(), nil
	}
	return b.x, nil
}

// halved does the same where there is nothing to go by but whether the want is met.
func (t *trial) halved(ctx context.Context, w *want, a, b probe) (float64, error) {
	for k := 0; k < 40 && math.Abs(b.x-a.x) > 1e-6*math.Abs(t.lever.From); k++ {
		x := (a.x + b.x) / 2
		if t.lever.Whole {
			if x = math.Round(x); x == a.x || x == b.x {
				break
			}
		}
		p := probe{x: x}
		var err error
		if p.values, err = t.at(ctx, x); err != nil {
			return 0, err
		}
		if w.side(p) == 0 {
			b = p
		} else {
			a = p
		}
	}
	if w.side(b) != 0 {
		return math.NaN(), nil
	}
	return b.x, nil
}

// settle tries values about one that was found as every command computes, shortest
// first, and keeps what the first does that meets the want.
func (t *trial) settle(ctx context.Context, w *want, x float64, s *Single) error {
	way := x - t.lever.From
	tries := []float64{x}
	if !t.lever.Whole {
		tries = []float64{rounded(t.lever.Kind, t.lever.From, x), x, x + 1e-5*way, x + 1e-4*way, x + 1e-3*way}
	}
	for _, x := range tries {
		if x < t.lever.Least || x > t.lever.Most {
			continue
		}
		verdicts, found, err := t.look(ctx, t.variant, x)
		if err != nil {
			return err
		}
		if verdicts == nil || verdicts[s.Want].Fate != figure.Met {
			continue
		}
		s.Value = x
		s.Verdicts, s.Clean = verdicts, t.all(verdicts)
		s.Brings, s.Takes = missing(found, t.codes), missing(t.codes, found)
		return nil
	}
	return nil
}

// look returns what becomes of the wants with values put in, and the codes of what there is to
// say of the build then, as every command computes them; nil where it can't be fired.
func (w *worker) look(ctx context.Context, v *buildfile.Variant, values ...float64) ([]figure.Verdict, []string, error) {
	b, err := v.Put(values)
	if err != nil {
		return nil, nil, nil
	}
	w.count++
	a, err := w.settled.Evaluate(ctx, b)
	if err != nil {
		return nil, nil, usable(ctx, err)
	}
	verdicts := make([]figure.Verdict, len(w.wants))
	for i := range w.wants {
		verdicts[i] = w.wants[i].Judge(a.Values[w.wants[i].figure])
	}
	return verdicts, codes(a.Findings), nil
}

// missing lists what is in one list and not in another.
func missing(all, but []string) (left []string) {
	for _, v := range all {
		if !slices.Contains(but, v) {
			left = append(left, v)
		}
	}
	return left
}

// rounded shortens a value, as it is written in its usual unit, away from another one, by
// no more than a thousandth of the way between them, and a ten-thousandth of itself.
func rounded(k quantity.Kind, from, x float64) float64 {
	text, unit, _ := strings.Cut(k.Print(x), " ")
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || v == 0 {
		return x
	}
	most := min(1e-3*math.Abs((x-from)/x), 1e-4) * math.Abs(v) // in the unit
	if most == 0 {
		return x
	}
	decimals := -int(math.Floor(math.Log10(most)))
	unitOf := math.Pow(10, float64(decimals))
	if x > from {
		v = math.Ceil(v*unitOf) / unitOf
	} else {
		v = math.Floor(v*unitOf) / unitOf
	}
	back, err := quantity.Parse(strings.TrimSpace(strconv.FormatFloat(v, 'g', 15, 64)+" "+unit), k)
	if err != nil {
		return x
	}
	return back.SI
}

// sorted puts the singles of all levers want by want, those that meet it first, the
// nearest first.
func (s *search) sorted(r *Result, lists [][]Single) (all []Single) {
	for i := range s.wants {
		var of []Single
		for k := range lists {
			for _, single := range lists[k] {
				if single.Want == i {
					of = append(of, single)
				}
			}
		}
		slices.SortStableFunc(of, func(a, b Single) int {
			far := func(s *Single) float64 {
				if !s.Meets() {
					return math.Inf(1)
				}
				return math.Abs(s.Change())
			}
			return cmp.Compare(far(&a), far(&b))
		})
		all = append(all, of...)
	}
	return all
}

// meets tells whether there is nothing to meet, or one value meets all.
func (s *search) meets(all []Single) bool {
	if !slices.ContainsFunc(s.wants, func(w want) bool { return w.missed }) {
		return true
	}
	return slices.ContainsFunc(all, func(single Single) bool { return single.Clean })
}

// all tells whether verdicts of a build meet all wants that can be judged.
func (s *search) all(verdicts []figure.Verdict) bool {
	return !slices.ContainsFunc(verdicts, func(v figure.Verdict) bool { return v.Fate != figure.Met && !study.NotJudged(s.doc.Build, &v) })
}
