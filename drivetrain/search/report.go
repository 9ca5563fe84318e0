package search

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/figure"
)

// Asked says what a Report is to tell.
type Asked struct {
	// By is the figure, or "price", by which the best are ranked. The default is the price.
	By string
	// Front are the figures of which nothing can be had without giving something up, two
	// to five. The default is price, trigger_delay and current_rms, in single fire inrush.
	Front []string
	// Show are further figures.
	Show []string
	// Top is how many of the best are listed, Near how many of the nearest misses.
	Top, Near int
	// Sure is of how many of the best the chance to be sound is asked, by BeSure.
	Sure int
	// Broken lists builds that meet the wish whatever faults they have.
	Broken bool
	// Cloud keeps points of the first two figures of the front, for a picture.
	Cloud bool
	// Settings are those of the search; their Figures and numbers are the Report's.
	Settings Settings
}

// Report is what there is to say of a whole search. It keeps lists and counts, and no more
// memory however many combinations there are.
type Report struct {
	Asked
	Shelf *buildfile.Shelf
	// Figures are those of each build listed, in the order of Found.Values.
	Figures []figure.Info
	// Wants are what is asked of a build.
	Wants figure.Target
	// Tally is what was counted.
	Tally
	// Best, Front and Nearest are listed, computed in full; so is the Cheapest, which may
	// be nil.
	Best, OnFront, Nearest []Found
	Cheapest               *Found
	// Surest are the best by their chance to be sound, if BeSure was asked.
	Surest []Sure
	// Base is the base as it stands, at no price; nil where it doesn't fire.
	Base *Found
	// Sound and Missed are points of the cloud, at most some thousands each, those of the
	// front not among them.
	SoundCloud, MissedCloud []Point
	// Notes are what to tell beside.
	Notes []string

	works                 *works
	ranked                []Found // the best, more of them than are listed
	best, cheapest        Best
	front                 Front
	near                  Near
	soundCloud, missCloud cloud
}

// Tally is what is counted over combinations.
type Tally struct {
	Combinations, RuledOut, Unfinished, Stalled, Fired, Met, Sound int64
	// LeftOut counts sound builds that lack a figure of the front.
	LeftOut int64
	// AtEdge counts builds so near a want's edge that they were computed in full.
	AtEdge  int64
	Misfits []Misfits
	Wants   []WantTally
	// Parts are counted by slot and part.
	Parts [][]PartTally
}

// Misfits counts combinations that are refused for a key.
type Misfits struct {
	Key          string
	Combinations int64
	Text         string // of the first
	First        int64
}

// WantTally counts, of those that fired, how many lie below and above a want, and how many
// of them miss nothing else.
type WantTally struct{ Below, Above, AloneBelow, AloneAbove int64 }

// PartTally counts in how many builds a part is. Cheapest is the lowest price among the
// sound, -1 for none.
type PartTally struct{ Fired, Met, Sound, Cheapest int64 }

// Point is a combination in the cloud.
type Point struct {
	// X and Y are the first two figures of the front [SI].
	X, Y   float64
	Number int64

	hash uint64
}

// spare is how many more than are listed are kept, should one miss when it is computed in
// full.
const spare = 8

// MostSure is how many of the best are kept at least, so that a merge of shares can ask
// for their chances.
const MostSure = 50

// NewReport makes a Report of nothing yet.
func NewReport(shelf *buildfile.Shelf, asked Asked) (*Report, error) {
	r := &Report{Asked: asked, Shelf: shelf}
	if r.By == "" {
		r.By = Price
	}
	if len(r.Asked.Front) == 0 {
		third := "current_rms"
		if shelf.Base != nil && shelf.Base.Build.Trigger.Mode == "single" {
			third = "inrush"
		}
		r.Asked.Front = []string{Price, "trigger_delay", third}
	}
	if n := len(r.Asked.Front); n < 2 || n > 5 {
		return nil, fmt.Errorf("a front of %d figures; wanted two to five", n)
	}
	for i, name := range r.Asked.Front {
		if slices.Contains(r.Asked.Front[:i], name) {
			return nil, fmt.Errorf("a front with %s twice; wanted each figure once", name)
		}
	}
	s := r.Settings
	s.Figures = slices.Concat([]string{r.By}, r.Asked.Front, r.Show)
	w, err := newWorks(shelf, s)
	if err != nil {
		return nil, err
	}
	r.works = w
	r.Figures, r.Wants = w.figures.Infos(), w.wants
	r.start()
	return r, nil
}

// start makes ready for a first combination.
func (r *Report) start() {
	w := r.works
	r.best = Best{Most: max(r.Top, r.Asked.Sure, MostSure) + spare, Score: r.Score(r.By)}
	r.cheapest = Best{Most: 1 + spare}
	r.near = Near{Best{Most: r.Near + spare, Score: (*Found).Miss}}
	r.front = Front{}
	for _, name := range r.Asked.Front {
		r.front.By = append(r.front.By, r.Score(name))
	}
	r.Tally = Tally{Combinations: w.numbers.count, RuledOut: w.last - w.first + 1, Wants: make([]WantTally, len(w.wants))}
	for i := range r.Shelf.Slots {
		parts := make([]PartTally, len(r.Shelf.Slots[i].Parts))
		for k := range parts {
			parts[k].Cheapest = -1
		}
		r.Parts = append(r.Parts, parts)
	}
}

// Score ranks by a figure of the report, or by the price: better is lower.
func (r *Report) Score(name string) Score {
	if name == Price {
		return func(f *Found) float64 { return float64(f.Price) }
	}
	i := r.works.index(name)
	if r.works.figures[i].Better == figure.Higher {
		return func(f *Found) float64 { return -f.Values[i] }
	}
	return func(f *Found) float64 { return f.Values[i] }
}

// Value is a figure of a combination [SI], or its price.
func (r *Report) Value(name string, f *Found) float64 {
	if name == Price {
		return float64(f.Price) / 100
	}
	return f.Values[r.works.index(name)]
}

// Listed tells whether a combination may stand among the best.
func (r *Report) Listed(f *Found) bool { return f.Sound || r.Broken && f.Met }

// Run looks at all combinations. Unless nil, each is told of what became of one.
func (r *Report) Run(ctx context.Context, each func(*Found) error) error {
	var err error
	r.works.run(ctx, r.works.first, r.works.last, func(f Found, e error) bool {
		if err = e; err != nil {
			return false
		}
		r.Add(&f)
		if each != nil {
			err = each(&f)
		}
		return err == nil
	})
	if err != nil {
		return err
	}
	return nil
}

// Add counts one more combination.
func (r *Report) Add(f *Found) {
	r.RuledOut-- // it isn't
	switch f.Fate {
	case Misfit:
		r.misfit(f)
		return
	case Unfinished:
		r.Unfinished++
		return
	case Stalled:
		r.Stalled++
		return
	}
	r.Fired++
	r.count(f)
	listed := r.Listed(f)
	for i, k := range f.Parts {
		p := &r.Parts[i][k]
		p.Fired++
		if f.Met {
			p.Met++
		}
		if f.Sound {
			p.Sound++
		}
		if listed && (p.Cheapest < 0 || f.Price < p.Cheapest) {
			p.Cheapest = f.Price
		}
	}
	r.list(f)
}

// list lets a combination that fired onto the lists.
func (r *Report) list(f *Found) {
	r.near.Add(f)
	listed := r.Listed(f)
	if listed {
		r.best.Add(f)
		r.cheapest.Add(f)
		r.front.Add(f)
	}
	if r.Cloud && !f.quick {
		p := Point{X: r.Value(r.Asked.Front[0], f), Y: r.Value(r.Asked.Front[1], f), Number: f.Number, hash: mix(uint64(f.Number))}
		switch {
		case math.IsNaN(p.X) || math.IsNaN(p.Y):
		case listed:
			r.soundCloud.add(p)
		case !f.Met:
			r.missCloud.add(p)
		}
	}
}

func (r *Report) misfit(f *Found) {
	i := slices.IndexFunc(r.Misfits, func(m Misfits) bool { return m.Key == f.Fault.Field })
	if i < 0 {
		i = len(r.Misfits)
		r.Misfits = append(r.Misfits, Misfits{Key: f.Fault.Field, Text: f.Fault.Text, First: f.Number})
	}
	r.Misfits[i].Combinations++
}

func (r *Report) count(f *Found) {
	if f.Met {
		r.Met++
	}
	if f.Sound {
		r.Sound++
	}
	if f.near {
		r.AtEdge++
	}
	misses := 0
	for _, s := range f.sides {
		if s != met {
			misses++
		}
	}
	for i, s := range f.sides {
		c := &r.Tally.Wants[i]
		switch s {
		case below:
			c.Below++
			if misses == 1 && !f.quick {
				c.AloneBelow++
			}
		case above:
			c.Above++
			if misses == 1 && !f.quick {
				c.AloneAbove++
			}
		}
	}
}

// Finish computes what is listed in full, and the base.
func (r *Report) Finish(ctx context.Context) error {
	r.LeftOut += r.front.LeftOut
	short := func(l []Found, most int) []Found { return l[:min(len(l), most)] }
	lists := [][]Found{short(r.best.List(), max(r.Top, r.Asked.Sure)+spare), r.cheapest.List(), r.front.List(), r.near.List()}
	var numbers []int64
	for _, l := range lists {
		for i := range l {
			numbers = append(numbers, l[i].Number)
		}
	}
	slices.Sort(numbers)
	numbers = slices.Compact(numbers)
	full := map[int64]Found{}
	var err error
	r.works.each(ctx, listed(numbers, true), func(f Found, e error) bool {
		err = e
		full[f.Number] = f
		return err == nil
	})
	if err != nil {
		return err
	}
	r.best.kept, r.cheapest.kept, r.front.kept, r.near.best.kept = nil, nil, nil, nil
	told := map[int64]bool{}
	for i, l := range lists {
		for k := range l {
			f := full[l[k].Number]
			good := f.Fate == Fired && r.Listed(&f)
			if i == 3 {
				good = f.Fate == Fired && !f.Met
			}
			if !good {
				if !told[f.Number] {
					r.Notes = append(r.Notes, fmt.Sprintf("combination %d lies so near the edge of a want that in full it falls to the other side; it is left out of the lists", f.Number))
				}
				told[f.Number] = true
				continue
			}
			switch i {
			case 0:
				r.best.Add(&f)
			case 1:
				r.cheapest.Add(&f)
			case 2:
				r.front.Add(&f)
			case 3:
				r.near.Add(&f)
			}
		}
	}
	r.ranked = r.best.List()
	r.Best, r.OnFront, r.Nearest = short(r.ranked, r.Top), r.front.List(), short(r.near.List(), r.Near)
	if l := r.cheapest.List(); len(l) > 0 {
		r.Cheapest = &l[0]
	}
	slices.SortFunc(r.Misfits, func(a, b Misfits) int { return cmp.Compare(a.First, b.First) })
	r.SoundCloud, r.MissedCloud = r.soundCloud.list(), r.missCloud.list()
	if r.Cloud {
		w := r.works.worker()
		f, err := w.inFull(ctx, Found{}, r.works.composer.Base().Build, true)
		if err != nil {
			return err
		}
		if f.Fate == Fired {
			r.Base = &f
		}
	}
	return nil
}

// Interval returns the numbers that a Report runs over.
func (r *Report) Interval() (first, last int64) { return r.works.first, r.works.last }

// Again goes over all combinations once more without counting, for whoever wants them
// after a merge.
func (r *Report) Again(ctx context.Context, each func(*Found) error) error {
	var err error
	r.works.run(ctx, r.works.first, r.works.last, func(f Found, e error) bool {
		if err = e; err == nil {
			err = each(&f)
		}
		return err == nil
	})
	return err
}

// Document returns a combination as a build file, with a comment of its parts and prices.
func (r *Report) Document(number int64) (*buildfile.Document, error) {
	w := r.works
	if number < 1 || number > w.numbers.count {
		return nil, fmt.Errorf("combination %d of %d; wanted a number from 1 to %d", number, w.numbers.count, w.numbers.count)
	}
	parts := make([]int, len(r.Shelf.Slots))
	w.numbers.parts(number, parts)
	if i := w.numbers.ruledOut(parts); i >= 0 {
		slot := &r.Shelf.Slots[i]
		return nil, fmt.Errorf("combination %d is ruled out: %s of %s doesn't go with the other parts", number, slot.Parts[parts[i]].Name, slot.Key)
	}
	d, err := w.composer.Document(parts)
	if err != nil {
		return nil, fmt.Errorf("combination %d: %w", number, err)
	}
	d.Note(fmt.Sprintf("Combination %d of the shelf %s, %s:", number, r.Shelf.Name, r.Money(w.price(parts))))
	for i, k := range parts {
		p := &r.Shelf.Slots[i].Parts[k]
		text := fmt.Sprintf("- %s: %s, %s", r.Shelf.Slots[i].Key, p.Name, r.Money(p.Price))
		if p.Remark != "" {
			text += " (" + p.Remark + ")"
		}
		d.Note(text)
	}
	return d, nil
}

// Money shows an amount in hundredths with the shelf's currency.
func (r *Report) Money(v int64) string {
	text := fmt.Sprintf("%d.%02d", v/100, v%100)
	if r.Shelf.Currency != "" {
		text += " " + r.Shelf.Currency
	}
	return text
}

// Overridden lists the keys of overrides "key.path=value" that a part or the shelf's wish
// lays anew.
func (r *Report) Overridden(overrides []string) (all []string) {
	laid := r.works.composer.Laid()
	for _, o := range overrides {
		key, _, _ := strings.Cut(o, "=")
		key = strings.TrimSpace(key)
		over := func(k string) bool { return k == key || strings.HasPrefix(k, key+".") || strings.HasPrefix(key, k+".") }
		if slices.ContainsFunc(laid, over) || r.Shelf.Wish != "" && over("target") {
			all = append(all, key)
		}
	}
	return all
}

// Changes lists the places on the shelf of the parts of a combination that aren't the
// base's own.
func (r *Report) Changes(f *Found) (all []buildfile.At) {
	for i, k := range f.Parts {
		if p := &r.Shelf.Slots[i].Parts[k]; p.Value != buildfile.AsInBase || len(p.Also) > 0 {
			all = append(all, buildfile.At{Slot: i, Part: k})
		}
	}
	return all
}

// Missed says what a combination misses.
type Missed struct {
	Want figure.Want
	// Side is "below" or "above", "" where the figure doesn't exist.
	Side string
	// By is the distance, NaN without a side [SI].
	By float64
	// Relative is the distance as a share of the bound's size, NaN without a side [1].
	Relative float64
}

// Misses lists what a combination that fired misses.
func (r *Report) Misses(f *Found) (all []Missed) {
	for i := range r.Wants {
		s, by, relative := judge(&r.Wants[i], f.Values[i])
		m := Missed{Want: r.Wants[i], By: by, Relative: relative}
		switch s {
		case met:
			continue
		case below:
			m.Side = "below"
		case above:
			m.Side = "above"
		case missing:
			m.By, m.Relative = math.NaN(), math.NaN()
		}
		all = append(all, m)
	}
	return all
}

// cloud keeps some of many points: those whose numbers, well mixed, come first, so that
// which ones they are doesn't depend on who counted them.
type cloud struct{ points []Point }

// mostPoints is how many a cloud keeps.
const mostPoints = 5000

func (c *cloud) add(p Point) {
	c.points = append(c.points, p)
	if len(c.points) >= 2*mostPoints {
		c.thin()
	}
}

func (c *cloud) thin() {
	slices.SortFunc(c.points, func(a, b Point) int { return cmp.Compare(a.hash, b.hash) })
	c.points = c.points[:min(len(c.points), mostPoints)]
}

// list returns what was kept, by number.
func (c *cloud) list() []Point {
	c.thin()
	slices.SortFunc(c.points, func(a, b Point) int { return cmp.Compare(a.Number, b.Number) })
	return c.points
}

// mix scatters numbers (the finisher of SplitMix64; Steele, Lea & Flood, OOPSLA 2014).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
