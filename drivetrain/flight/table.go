package flight

import (
	"context"
	"errors"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"example.org/ampstroke/drivetrain"
)

// Gun is what of a build a flight depends on, beside the speed at which its rack is let
// go: builds of equal Guns fly alike. It can be compared, and stand as a key of a map.
type Gun struct{ of gun }

// GunOf returns that of a valid build.
func GunOf(b *drivetrain.Build) Gun { return Gun{newGun(b)} }

// Arc is what there is of a flight in a Table.
type Arc struct {
	// TimeToHome, TimeToMuzzle, MuzzleVelocity and PistonImpact are those of a Summary,
	// NaN where they don't exist [SI].
	TimeToHome, TimeToMuzzle, MuzzleVelocity, PistonImpact float64
	Status                                                 Status
	// Flown tells that it was not read off but flown.
	Flown bool
}

// MuzzleEnergy is that of the pellet [J].
func (a *Arc) MuzzleEnergy(b *drivetrain.Build) float64 {
	return b.Pellet.Mass * a.MuzzleVelocity * a.MuzzleVelocity / 2
}

// Table is the figures of one gun's flights over the speed of its rack, for whoever wants
// thousands of them. It flies the gun at some speeds and reads off the rest: in cells of
// fixed bounds, multiples of 0.25 m/s, at Chebyshev's nodes of the second kind, 9, 17 or
// 33 of them, until the last coefficients and a flight at two speeds in between say that
// the figures are good to 1e-7. Where the flight changes its kind (the piston comes back
// once more, the pellet sticks) the cell is cut by bisection; where it stays rough it is
// halved three times, and what is rough then is flown each time.
//
// What a Table returns for a speed depends on gun and accuracy alone, never on what it was
// asked before. Goroutines may share it.
type Table struct {
	build    *drivetrain.Build
	settings Settings

	lock  sync.Mutex
	cells map[int]*cell
}

// cell is a stretch of speeds, made when it is first asked for.
type cell struct {
	lock   sync.Mutex
	made   bool
	pieces []smoothed
}

// smoothed is a stretch of speeds over which figures are smooth, or flown each time.
type smoothed struct {
	lo, hi float64         // [m/s]
	coeff  [][arcs]float64 // of Chebyshev's polynomials; nil: flown
	kind   kind
}

// arcs is how many figures are read off.
const arcs = 4

// kind is what makes flights differ in more than numbers.
type kind struct {
	status  Status
	missing [arcs]bool
	backs   int // how often the piston came back behind its clearance
}

const (
	// tableCell is how wide a cell is [m/s].
	tableCell = 0.25
	// tableError is what figures are good to, in shares of themselves, and tableTime what
	// times are [s].
	tableError, tableTime = 1e-7, 1e-9
	// jumpWidth is to how much a change of kind is found [m/s].
	jumpWidth = 1e-7
	// mostHalves is how often a rough smoothed is halved.
	mostHalves = 3
)

// NewTable makes one of a valid build, which it keeps a copy of, to an accuracy as in
// Settings.
func NewTable(b *drivetrain.Build, tolerance float64) *Table {
	return &Table{build: b.Clone(), settings: Settings{Tolerance: tolerance}, cells: map[int]*cell{}}
}

// flyers are for whoever flies a few.
var flyers = sync.Pool{New: func() any { return new(Flyer) }}

// At returns the figures at a speed of the rack [m/s]. The error is the context's, or that
// of a flight that can't be computed.
func (t *Table) At(ctx context.Context, v float64) (Arc, error) {
	if !(math.Abs(v) < 1e3) { // no rack is so fast
		return t.fly(ctx, v)
	}
	i := int(math.Floor(v / tableCell))
	t.lock.Lock()
	c := t.cells[i]
	if c == nil {
		c = new(cell)
		t.cells[i] = c
	}
	t.lock.Unlock()
	c.lock.Lock()
	if !c.made {
		pieces, err := t.smooth(ctx, float64(i)*tableCell, float64(i+1)*tableCell, 0, nil)
		if err != nil {
			c.lock.Unlock()
			return Arc{}, err
		}
		c.pieces, c.made = pieces, true
	}
	c.lock.Unlock()
	for k := range c.pieces {
		if p := &c.pieces[k]; v < p.hi || k == len(c.pieces)-1 {
			if p.coeff == nil {
				return t.fly(ctx, v)
			}
			return p.at(v), nil
		}
	}
	panic("flight: a cell without pieces")
}

func (t *Table) fly(ctx context.Context, v float64) (Arc, error) {
	x, _, err := t.sample(ctx, v)
	return x, err
}

// sample flies the gun once.
func (t *Table) sample(ctx context.Context, v float64) (Arc, kind, error) {
	f := flyers.Get().(*Flyer)
	defer flyers.Put(f)
	s := t.settings
	s.ReleaseSpeed = v
	r, err := f.Fly(ctx, t.build, s)
	if err != nil {
		return Arc{}, kind{}, err
	}
	a := Arc{r.Summary.TimeToHome, r.Summary.TimeToMuzzle, r.Summary.MuzzleVelocity, r.Summary.PistonImpact, r.Status, true}
	k := kind{status: r.Status, backs: f.counts[pistonClear]}
	for i, x := range a.values() {
		k.missing[i] = math.IsNaN(x)
	}
	return a, k, nil
}

func (a *Arc) values() [arcs]float64 {
	return [...]float64{a.TimeToHome, a.TimeToMuzzle, a.MuzzleVelocity, a.PistonImpact}
}

// samples flies the gun at several speeds, on all cores.
func (t *Table) samples(ctx context.Context, speeds []float64) ([]Arc, []kind, error) {
	all, kinds, errs := make([]Arc, len(speeds)), make([]kind, len(speeds)), make([]error, len(speeds))
	var next atomic.Int64
	var failed atomic.Bool
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(speeds)) {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for i := int(next.Add(1)) - 1; i < len(speeds) && !failed.Load(); i = int(next.Add(1)) - 1 {
				if all[i], kinds[i], errs[i] = t.sample(ctx, speeds[i]); errs[i] != nil {
					failed.Store(true)
				}
			}
		}()
	}
	wait.Wait()
	return all, kinds, errors.Join(errs...)
}

// node is the speed of node i of n+1 over a stretch [m/s]; the last one is its lower end.
func node(lo, hi float64, i, n int) float64 {
	switch i {
	case 0:
		return hi
	case n:
		return lo
	}
	return lo + (hi-lo)*(1+math.Cos(math.Pi*float64(i)/float64(n)))/2
}

// smooth appends the pieces of a stretch of speeds.
func (t *Table) smooth(ctx context.Context, lo, hi float64, halved int, to []smoothed) ([]smoothed, error) {
	flown := map[float64]int{} // where a speed's flight stands
	var all []Arc
	var kinds []kind
	ask := func(speeds ...float64) error {
		var missing []float64
		for _, v := range speeds {
			if _, ok := flown[v]; !ok {
				flown[v] = len(all) + len(missing)
				missing = append(missing, v)
			}
		}
		a, k, err := t.samples(ctx, missing)
		all, kinds = append(all, a...), append(kinds, k...)
		return err
	}
	// Away from the nodes of 9, 17 and 33.
	between := []float64{lo + (hi-lo)*0.345, lo + (hi-lo)*0.655}
	for n := 8; n <= 32; n *= 2 {
		speeds := make([]float64, n+1)
		for i := range speeds {
			speeds[i] = node(lo, hi, i, n)
		}
		if err := ask(append(append([]float64(nil), speeds...), between...)...); err != nil {
			return nil, err
		}
		for i := n; i > 0; i-- { // upwards in speed
			a, b := flown[speeds[i]], flown[speeds[i-1]]
			if kinds[a] != kinds[b] {
				return t.cut(ctx, lo, speeds[i], speeds[i-1], hi, halved, to)
			}
		}
		p := smoothed{lo: lo, hi: hi, kind: kinds[flown[lo]]}
		p.fit(n, func(i int) [arcs]float64 { return all[flown[speeds[i]]].values() })
		good := p.settled()
		for _, v := range between {
			good = good && kinds[flown[v]] == p.kind && p.holds(v, all[flown[v]])
		}
		if good {
			return append(to, p), nil
		}
	}
	if halved == mostHalves {
		return append(to, smoothed{lo: lo, hi: hi}), nil
	}
	middle := (lo + hi) / 2
	to, err := t.smooth(ctx, lo, middle, halved+1, to)
	if err != nil {
		return nil, err
	}
	return t.smooth(ctx, middle, hi, halved+1, to)
}

// cut appends the pieces of a stretch in which the flight changes its kind between two
// speeds a and b: it finds where, and leaves the little around it to be flown.
func (t *Table) cut(ctx context.Context, lo, a, b, hi float64, halved int, to []smoothed) ([]smoothed, error) {
	_, below, err := t.sample(ctx, a)
	for err == nil && b-a > jumpWidth {
		var k kind
		middle := (a + b) / 2
		if _, k, err = t.sample(ctx, middle); k == below {
			a = middle
		} else {
			b = middle
		}
	}
	if err != nil {
		return nil, err
	}
	if a > lo {
		if to, err = t.part(ctx, lo, a, halved, to); err != nil {
			return nil, err
		}
	}
	to = append(to, smoothed{lo: a, hi: b})
	if b < hi {
		return t.part(ctx, b, hi, halved, to)
	}
	return to, nil
}

// part is smooth for what a cut leaves: what is too narrow to be worth its nodes is flown,
// and a stretch is not cut without end.
func (t *Table) part(ctx context.Context, lo, hi float64, halved int, to []smoothed) ([]smoothed, error) {
	const narrow = tableCell / 64
	if hi-lo < narrow || halved == mostHalves {
		return append(to, smoothed{lo: lo, hi: hi}), nil
	}
	return t.smooth(ctx, lo, hi, halved+1, to)
}

// fit finds the coefficients of figures at n+1 nodes.
func (p *smoothed) fit(n int, at func(i int) [arcs]float64) {
	p.coeff = make([][arcs]float64, n+1)
	for j := range p.coeff {
		for i := 0; i <= n; i++ {
			w := 2 / float64(n) * math.Cos(math.Pi*float64(i*j%(2*n))/float64(n))
			if i == 0 || i == n {
				w /= 2
			}
			if j == 0 || j == n {
				w /= 2
			}
			for q, x := range at(i) {
				p.coeff[j][q] += w * x
			}
		}
	}
}

// settled tells whether the last coefficients are nothing.
func (p *smoothed) settled() bool {
	n := len(p.coeff) - 1
	for q := range arcs {
		if p.kind.missing[q] {
			continue
		}
		last := max(math.Abs(p.coeff[n][q]), math.Abs(p.coeff[n-1][q]))
		if !(last <= bound(q, p.coeff[0][q])) {
			return false
		}
	}
	return true
}

// bound is what a figure may be off.
func bound(q int, x float64) float64 {
	b := tableError * math.Abs(x)
	if q < 2 {
		b = min(b, tableTime)
	}
	return b
}

// holds tells whether what is read off at a speed is what was flown.
func (p *smoothed) holds(v float64, flown Arc) bool {
	a := p.at(v)
	read, want := a.values(), flown.values()
	for q := range arcs {
		if !p.kind.missing[q] && !(math.Abs(read[q]-want[q]) <= bound(q, want[q])) {
			return false
		}
	}
	return true
}

// at reads figures off, by Clenshaw's recurrence.
func (p *smoothed) at(v float64) Arc {
	x := (2*v - p.lo - p.hi) / (p.hi - p.lo)
	var b1, b2 [arcs]float64
	for j := len(p.coeff) - 1; j > 0; j-- {
		c := &p.coeff[j]
		for q := range arcs {
			b1[q], b2[q] = 2*x*b1[q]-b2[q]+c[q], b1[q]
		}
	}
	var y [arcs]float64
	for q := range arcs {
		y[q] = x*b1[q] - b2[q] + p.coeff[0][q]
		if p.kind.missing[q] {
			y[q] = math.NaN()
		}
	}
	return Arc{y[0], y[1], y[2], y[3], p.kind.status, false}
}
