package flight

import (
	"context"
	"errors"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"example.org/ampstroke/drivetrain"
)

// Gun is what of a build a flight depends on, beside the speed at which its rack is let
// go: builds of equal Guns fly alike. It can be compared, and stand as a key of a map.
type Gun struct{ of gun }

// GunOf returns that of a valid build.
func GunOf(b *drivetrain.Build) Gun { return Gun{newGun(b)} }

// Arc is what a Table knows of a flight.
type Arc struct {
	Summary
	Ledger Ledger
	Status Status
	// Flown tells that it was not read off but flown.
	Flown bool

	hangs bool // the air in the barrel hardly knew which way to flow
}

// Table is the figures of one gun's flights over the speed of its rack, and over a knob of
// the gun if one is named, for whoever wants many of them. It flies the gun here
// and there, ten times as exactly as asked, and reads off the rest: in cells of fixed
// bounds, 1 m/s wide and a tenth of a knob, at Chebyshev's nodes of the second kind, as many
// each way as it takes until the last coefficients and a few flights in between say that the
// figures are good to a fifth of the tolerance: energies as shares of what spring and piston
// give, the rest of themselves. Where the flight changes its kind (the piston comes back
// once more, the pellet sticks) a cell is cut, over speed alone right there by bisection;
// where it stays rough it is halved, five times at most. What is rough then, or would take
// more flights than a cell may, is flown each time.
//
// What a Table returns depends on gun, knobs and tolerance alone, never on what it was asked
// before. Goroutines may share it.
type Table struct {
	build     *drivetrain.Build
	gun       Gun
	knobs     []Knob  // one or none
	tolerance float64 // of the figures
	flights   int     // of a cell, at most
	follows   bool    // journeys are kept

	lock  sync.Mutex
	cells map[[most]int]*cell
}

// most is over how many numbers figures are read off: the speed and a knob. (Over two knobs
// a cell takes two to four hundred flights, more than are saved.)
const most = 2

// place is where something is read off: a speed [m/s], and the logarithm of a knob.
type place [most]float64

// cell is a box of places, made when it is first asked for.
type cell struct {
	lock   sync.Mutex
	made   bool
	pieces []smoothed
}

// smoothed is a box over which figures are smooth, or flown each time.
type smoothed struct {
	box
	n     [most]int       // degrees each way
	coeff [][arcs]float64 // of Chebyshev's polynomials, the last way goes fastest; nil: flown
	kind  kind

	motions *motions // nil: how the piston moves can't be read off
}

// box is one of places that came of so many halves and cuts.
type box struct {
	lo, hi place
	parted int
}

// What is read off: times, then what is good to a share of itself, then the rows of the
// ledger.
const (
	arcHome = iota
	arcMuzzle
	arcDuration
	arcImpact
	arcPeak
	arcPeakBarrel
	arcRearward
	arcRows
	arcs = arcRows + 10
)

// kind is what makes flights differ in more than numbers.
type kind struct {
	status  Status
	hangs   bool
	missing [arcs]bool
	backs   int // how often the piston came back behind its clearance
}

const (
	// tableCell is how wide a cell is [m/s], knobCell how far a knob goes in one, in its
	// logarithm.
	tableCell, knobCell = 1, 0.1
	// tighter is by how much more exactly a table flies than it promises, so that its
	// figures are smooth; tableShare is what share of the promise may be lost between the
	// nodes, and tableTime the longest time that times are held against [s].
	tighter, tableShare, tableTime = 10, 0.2, 10e-3
	// jumpWidth is to how much a change of kind is found [m/s].
	jumpWidth = 1e-7
	// mostParts is how often a box is halved or cut.
	mostParts = 5
	// mostNodes is the largest degree one way.
	mostNodes = 32
)

// firstNodes are the degrees that a box begins with.
var firstNodes = [most]int{8, 4}

// between are where a box is looked at for its own sake, away from nodes: one place more
// than there are ways.
var between = [most + 1]place{{0.345, 0.41}, {0.655, 0.73}, {0.19, 0.86}}

// NewTable makes one of a valid build, which it keeps a copy of, to a tolerance as in
// Settings, over the speed of its rack and a knob at most, which stands above zero. A cell
// takes so many flights at most: of speeds alone, 11 to 35 where all is smooth, some hundred
// where there is a bend or a jump; of speeds and a knob, 50 to 300.
func NewTable(b *drivetrain.Build, tolerance float64, flights int, knobs ...Knob) *Table {
	if len(knobs) >= most {
		panic("flight: a table over more than one knob")
	}
	return &Table{build: b.Clone(), gun: GunOf(b), knobs: knobs, tolerance: tolerance, flights: flights, cells: map[[most]int]*cell{}}
}

// Follow has the table keep how the piston moves, for Motion. It comes before all reading.
func (t *Table) Follow() *Table {
	t.follows = true
	return t
}

// ways is over how many numbers figures are read off.
func (t *Table) ways() int { return 1 + len(t.knobs) }

// Fits tells whether a valid build's flights are the table's: those of its gun, whatever the
// table's knobs are.
func (t *Table) Fits(b *drivetrain.Build) bool {
	if len(t.knobs) == 0 {
		return t.gun == GunOf(b)
	}
	c := *b
	for _, k := range t.knobs {
		*k.Of(&c) = *k.Of(t.build)
	}
	return t.gun == GunOf(&c)
}

// flyers are for whoever flies a few.
var flyers = sync.Pool{New: func() any { return new(Flyer) }}

// At returns the figures of a build that fits, at a speed of the rack [m/s], flown where
// they can't be read off. The error is the context's, or that of a flight that can't be
// computed.
func (t *Table) At(ctx context.Context, b *drivetrain.Build, v float64) (Arc, error) {
	a, ok, err := t.Read(ctx, b, v)
	if !ok && err == nil {
		a, _, _, err = t.fly(ctx, b, v, false)
	}
	return a, err
}

// Read reads figures off, of a build that fits, at a speed of the rack [m/s]; false where
// they have to be flown. The error is the context's.
func (t *Table) Read(ctx context.Context, b *drivetrain.Build, v float64) (a Arc, ok bool, err error) {
	p, x, err := t.find(ctx, b, v)
	if p == nil || p.coeff == nil || err != nil {
		return Arc{}, false, err
	}
	y := p.at(&x, t.ways())
	return arc(&y, &p.kind, b.Pellet.Mass), true, nil
}

// find returns the piece of a build that fits and a speed, and where they stand in it; nil
// if none has them.
func (t *Table) find(ctx context.Context, b *drivetrain.Build, v float64) (*smoothed, place, error) {
	x := place{v}
	if !(math.Abs(v) < 1e3) { // no rack is so fast
		return nil, x, nil
	}
	key := [most]int{int(math.Floor(v / tableCell))}
	for i, k := range t.knobs {
		value := *k.Of(b)
		if !(value > 0) || math.IsInf(value, 1) {
			return nil, x, nil
		}
		x[i+1] = math.Log(value)
		key[i+1] = int(math.Floor(x[i+1] / knobCell))
	}
	t.lock.Lock()
	c := t.cells[key]
	if c == nil {
		c = new(cell)
		t.cells[key] = c
	}
	t.lock.Unlock()
	c.lock.Lock()
	if !c.made {
		pieces, err := t.cell(ctx, key)
		if err != nil {
			c.lock.Unlock()
			return nil, x, err
		}
		c.pieces, c.made = pieces, true
	}
	c.lock.Unlock()
	for k := range c.pieces {
		if p := &c.pieces[k]; p.has(&x, t.ways()) {
			return p, x, nil
		}
	}
	return nil, x, nil
}

// has tells whether a place lies in the box.
func (b *box) has(x *place, ways int) bool {
	for d := range ways {
		if x[d] < b.lo[d] || x[d] > b.hi[d] {
			return false
		}
	}
	return true
}

// sample flies the gun at a place.
func (t *Table) sample(ctx context.Context, x place) (a Arc, k kind, j *journey, err error) {
	b := t.build
	if len(t.knobs) > 0 {
		b = new(drivetrain.Build)
		*b = *t.build
		for i, k := range t.knobs {
			*k.Of(b) = math.Exp(x[i+1])
		}
		if err := b.Validate(); err != nil {
			return Arc{}, kind{}, nil, err
		}
	}
	return t.fly(ctx, b, x[0], t.follows)
}

// fly flies a build once, with the piston's journey if that is wanted.
func (t *Table) fly(ctx context.Context, b *drivetrain.Build, v float64, follow bool) (a Arc, k kind, j *journey, err error) {
	f := flyers.Get().(*Flyer)
	defer flyers.Put(f)
	r, err := f.launch(ctx, b, &Settings{Tolerance: max(t.tolerance/tighter, 1e-12), ReleaseSpeed: v, rails: follow})
	if err != nil {
		return Arc{}, kind{}, nil, err
	}
	if follow {
		j = f.rails.journey(&f.gun, r.Summary.TimeToHome, true)
	}
	a = Arc{r.Summary, r.Ledger, r.Status, true, f.hangs()}
	k = kind{status: r.Status, hangs: a.hangs, backs: f.counts[pistonClear]}
	for i, x := range a.values() {
		k.missing[i] = math.IsNaN(x)
	}
	return a, k, j, nil
}

func (a *Arc) values() [arcs]float64 {
	s, l := &a.Summary, &a.Ledger
	return [...]float64{
		s.TimeToHome, s.TimeToMuzzle, s.Duration, s.PistonImpact, s.PeakPressure, s.PeakBarrelPressure, s.MostRearward,
		l.Pellet, l.PistonDrag, l.Impact, l.Air, l.Walls, l.Surge, l.Barrel, l.Stored, l.Spring, l.Kinetic,
	}
}

// arc is the inverse of values, for a pellet of a mass [kg]. The rows are as linear in the
// nodes' as their sum is, so that what they leave is what flights leave.
func arc(x *[arcs]float64, k *kind, pellet float64) Arc {
	a := Arc{Status: k.status, hangs: k.hangs}
	s, l := &a.Summary, &a.Ledger
	s.TimeToHome, s.TimeToMuzzle, s.Duration, s.PistonImpact = x[arcHome], x[arcMuzzle], x[arcDuration], x[arcImpact]
	s.PeakPressure, s.PeakBarrelPressure, s.MostRearward = x[arcPeak], x[arcPeakBarrel], x[arcRearward]
	for i, to := range [...]*float64{
		&l.Pellet, &l.PistonDrag, &l.Impact, &l.Air, &l.Walls, &l.Surge, &l.Barrel, &l.Stored, &l.Spring, &l.Kinetic,
	} {
		*to = x[arcRows+i]
	}
	l.balance()
	s.MuzzleEnergy, s.MuzzleVelocity = math.NaN(), math.NaN()
	if !k.missing[arcMuzzle] {
		s.MuzzleEnergy = l.Pellet
		s.MuzzleVelocity = math.Sqrt(2 * l.Pellet / pellet)
	}
	return a
}

// samples flies the gun at several places, on all cores.
func (t *Table) samples(ctx context.Context, places []place) ([]Arc, []kind, []*journey, error) {
	all, kinds, journeys, errs := make([]Arc, len(places)), make([]kind, len(places)), make([]*journey, len(places)), make([]error, len(places))
	var next atomic.Int64
	var failed atomic.Bool
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(places)) {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for i := int(next.Add(1)) - 1; i < len(places) && !failed.Load(); i = int(next.Add(1)) - 1 {
				if all[i], kinds[i], journeys[i], errs[i] = t.sample(ctx, places[i]); errs[i] != nil {
					failed.Store(true)
				}
			}
		}()
	}
	wait.Wait()
	return all, kinds, journeys, errors.Join(errs...)
}

// node is node i of n+1 from hi down to lo.
func node(lo, hi float64, i, n int) float64 {
	switch i {
	case 0:
		return hi
	case n:
		return lo
	}
	return lo + (hi-lo)*(1+math.Cos(math.Pi*float64(i)/float64(n)))/2
}

// maker makes the pieces of a cell, the widest first, so that its flights go to where
// they smooth most.
type maker struct {
	*Table
	left   int // flights that it may take yet
	queue  []box
	pieces []smoothed
}

// cell makes the pieces of one. The error is the context's.
func (t *Table) cell(ctx context.Context, key [most]int) ([]smoothed, error) {
	var b box
	for d := range t.ways() {
		b.lo[d], b.hi[d] = float64(key[d])*width(d), float64(key[d]+1)*width(d)
	}
	m := maker{Table: t, left: t.flights, queue: []box{b}}
	for len(m.queue) > 0 {
		b := m.queue[0]
		m.queue = m.queue[1:]
		if err := m.smooth(ctx, b); err != nil {
			return nil, err
		}
	}
	return m.pieces, nil
}

// width is that of a cell in one way.
func width(d int) float64 {
	if d == 0 {
		return tableCell
	}
	return knobCell
}

// rough leaves a box to be flown.
func (m *maker) rough(b box) { m.pieces = append(m.pieces, smoothed{box: b}) }

// part puts what lies between lo and hi of a box in one way into the queue; what is too
// narrow to be worth its nodes is flown, and a box is not parted without end.
func (m *maker) part(b box, d int, lo, hi float64) {
	if lo == hi {
		return
	}
	b.lo[d], b.hi[d] = lo, hi
	if b.parted++; hi-lo < width(d)/64 || b.parted > mostParts {
		m.rough(b)
		return
	}
	m.queue = append(m.queue, b)
}

// halve parts a box in one way.
func (m *maker) halve(b box, d int) {
	middle := (b.lo[d] + b.hi[d]) / 2
	m.part(b, d, b.lo[d], middle)
	m.part(b, d, middle, b.hi[d])
}

// nodes lists the places of a box's nodes, the last way goes fastest.
func (b *box) nodes(n [most]int, ways int) []place {
	all := []place{{}}
	for d := range ways {
		var next []place
		for _, x := range all {
			for i := range n[d] + 1 {
				x[d] = node(b.lo[d], b.hi[d], i, n[d])
				next = append(next, x)
			}
		}
		all = next
	}
	return all
}

// smooth makes a piece of a box, or parts of it.
func (m *maker) smooth(ctx context.Context, b box) error {
	ways := m.ways()
	flown := map[place]int{} // where a place's flight stands
	var all []Arc
	var kinds []kind
	var journeys []*journey
	ask := func(places []place) (bool, error) {
		var missing []place
		for _, x := range places {
			if _, ok := flown[x]; !ok {
				flown[x] = len(all) + len(missing)
				missing = append(missing, x)
			}
		}
		if m.left < len(missing) {
			return false, nil
		}
		m.left -= len(missing)
		a, k, j, err := m.samples(ctx, missing)
		all, kinds, journeys = append(all, a...), append(kinds, k...), append(journeys, j...)
		return err == nil && !hopeless(kinds), ctx.Err()
	}
	looks := make([]place, ways+1)
	for i := range looks {
		for d := range ways {
			looks[i][d] = b.lo[d] + (b.hi[d]-b.lo[d])*between[i][d]
		}
	}
	var n [most]int
	copy(n[:ways], firstNodes[:])
	for last := (place{}); ; {
		nodes := b.nodes(n, ways)
		if good, err := ask(append(slices.Clone(nodes), looks...)); !good {
			m.rough(b)
			return err
		}
		p := smoothed{box: b, n: n, kind: kinds[flown[nodes[0]]]}
		if d, lo, hi, jumps := jump(nodes, n, ways, func(x place) *kind { return &kinds[flown[x]] }); jumps {
			if ways > 1 {
				m.halve(b, d)
				return nil
			}
			return m.cut(ctx, b, lo, hi)
		}
		p.coeff = make([][arcs]float64, len(nodes))
		for i, x := range nodes {
			p.coeff[i] = all[flown[x]].values()
		}
		p.fit(ways)
		tails := m.tails(&p)
		worst := 0
		for d := range ways {
			if tails[d] > tails[worst] {
				worst = d
			}
		}
		for _, x := range looks {
			off := math.Inf(1)
			if kinds[flown[x]] == p.kind {
				off = m.astray(&p, &x, &all[flown[x]])
			}
			tails[worst] = max(tails[worst], off)
		}
		if tails[worst] <= 1 {
			if m.follows {
				of := func(places []place) (all []*journey) {
					for _, x := range places {
						all = append(all, journeys[flown[x]])
					}
					return all
				}
				p.motions = m.motions(&p, of(nodes), looks, of(looks))
			}
			m.pieces = append(m.pieces, p)
			return nil
		}
		// Twice the nodes may not do either.
		vain := last[worst] > 0 && b.parted < mostParts && tails[worst]*tails[worst] > last[worst]
		if last[worst] = tails[worst]; vain || n[worst] == mostNodes {
			m.halve(b, worst)
			return nil
		}
		n[worst] *= 2
	}
}

// jump finds two nodes beside each other in one way whose kinds differ.
func jump(nodes []place, n [most]int, ways int, of func(place) *kind) (d int, lo, hi float64, found bool) {
	stride := len(nodes)
	for d := range ways {
		stride /= n[d] + 1
		for i := len(nodes) - 1; i >= 0; i-- { // upwards
			if (i/stride)%(n[d]+1) == 0 {
				continue
			}
			if a, b := nodes[i], nodes[i-stride]; *of(a) != *of(b) {
				return d, a[d], b[d], true
			}
		}
	}
	return 0, 0, 0, false
}

// hopeless tells of flights that are given up: nothing is to be had from more of them.
func hopeless(kinds []kind) bool {
	return slices.ContainsFunc(kinds, func(k kind) bool { return k.status == GivenUp })
}

// cut parts a box of speeds in which the flight changes its kind between two of them, lo and
// hi: it finds where, and leaves the little around it to be flown.
func (m *maker) cut(ctx context.Context, b box, lo, hi float64) error {
	_, below, _, err := m.sample(ctx, place{lo})
	for err == nil && hi-lo > jumpWidth {
		var k kind
		m.left--
		middle := (lo + hi) / 2
		if _, k, _, err = m.sample(ctx, place{middle}); k == below {
			lo = middle
		} else {
			hi = middle
		}
	}
	if err != nil {
		m.rough(b)
		return ctx.Err()
	}
	m.part(b, 0, b.lo[0], lo)
	m.part(b, 0, hi, b.hi[0])
	b.lo[0], b.hi[0] = lo, hi
	m.rough(b)
	return nil
}

// fit turns values at nodes into coefficients, one way after the other.
func (p *smoothed) fit(ways int) {
	stride := len(p.coeff)
	for d := range ways {
		n := p.n[d]
		stride /= n + 1
		line := make([][arcs]float64, n+1)
		for at := range p.coeff {
			if (at/stride)%(n+1) != 0 {
				continue
			}
			for i := range line {
				line[i] = p.coeff[at+i*stride]
			}
			for j := range line {
				p.coeff[at+j*stride] = coefficient(line, j, n)
			}
		}
	}
}

// coefficient is that of Chebyshev's polynomial of a degree, from values at n+1 nodes.
func coefficient(at [][arcs]float64, degree, n int) (c [arcs]float64) {
	for i := range at {
		w := 2 / float64(n) * math.Cos(math.Pi*float64(i*degree%(2*n))/float64(n))
		if i == 0 || i == n {
			w /= 2
		}
		if degree == 0 || degree == n {
			w /= 2
		}
		for q := range arcs {
			c[q] += w * at[i][q]
		}
	}
	return c
}

// tails returns for each way the last coefficients in shares of what they may be.
func (t *Table) tails(p *smoothed) (tails place) {
	given := p.coeff[0][arcs-2] + p.coeff[0][arcs-1]
	stride := len(p.coeff)
	for d := range t.ways() {
		n := p.n[d]
		stride /= n + 1
		for at := range p.coeff {
			if (at/stride)%(n+1) < n-1 {
				continue
			}
			for q := range arcs {
				if !p.kind.missing[q] {
					tails[d] = max(tails[d], t.share(math.Abs(p.coeff[at][q]), q, p.coeff[0][q], given))
				}
			}
		}
	}
	return tails
}

// share returns an error of a figure x in shares of what it may be, where spring and
// piston give so much [J].
func (t *Table) share(e float64, q int, x, given float64) float64 {
	if e == 0 {
		return 0
	}
	may := math.Abs(x)
	switch {
	case q > arcRows: // the first of them the velocity comes from
		may = given
	case q <= arcDuration:
		may = min(may, tableTime)
	}
	return e / (tableShare * t.tolerance * may)
}

// astray returns by how much what is read off at a place is off what was flown, in shares
// of what it may be.
func (t *Table) astray(p *smoothed, x *place, flown *Arc) (most float64) {
	read, want := p.at(x, t.ways()), flown.values()
	for q := range arcs {
		if !p.kind.missing[q] {
			most = max(most, t.share(math.Abs(read[q]-want[q]), q, want[q], flown.Ledger.Spring+flown.Ledger.Kinetic))
		}
	}
	return most
}

// at reads figures off.
func (p *smoothed) at(x *place, ways int) [arcs]float64 {
	var s place
	for d := range ways {
		s[d] = (2*x[d] - p.lo[d] - p.hi[d]) / (p.hi[d] - p.lo[d])
	}
	y := p.sum(&s, p.coeff, 0, ways)
	for q, is := range p.kind.missing {
		if is {
			y[q] = math.NaN()
		}
	}
	return y
}

// sum adds up coefficients of a way and those after it, by Clenshaw's recurrence.
func (p *smoothed) sum(s *place, coeff [][arcs]float64, d, ways int) (y [arcs]float64) {
	x, stride := s[d], len(coeff)/(p.n[d]+1)
	var b1, b2 [arcs]float64
	for j := p.n[d]; j >= 0; j-- {
		c := &coeff[j*stride]
		if d+1 < ways {
			inner := p.sum(s, coeff[j*stride:(j+1)*stride], d+1, ways)
			c = &inner
		}
		if j == 0 {
			for q := range arcs {
				y[q] = x*b1[q] - b2[q] + c[q]
			}
			break
		}
		for q := range arcs {
			b1[q], b2[q] = 2*x*b1[q]-b2[q]+c[q], b1[q]
		}
	}
	return y
}
