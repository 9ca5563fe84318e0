package cycle

import (
	"context"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
)

// Guns finds, in a row of builds, those whose flights differ in nothing but the speed of
// the rack: motors, packs and gears tried on a few cylinders and springs. When a gun has
// come often enough, its flights are read off a table ([Settings].Flights), which is some
// ten times as quick. So are those of guns that differ in one number, the first that the row
// changes, such as the spring's rate, once enough have come near a value of it. Which builds that are
// follows from the row alone, so that what comes of them doesn't depend on the cores.
//
// Whoever makes the row calls Next for each of its builds, in order; whoever simulates a
// build takes its Turn.
type Guns struct {
	accuracy float64
	last     chan struct{} // closed when the turn before is taken

	// What only the turn that is taken may touch.
	seen   map[flight.Gun]*often
	tables int
	first  *drivetrain.Build            // of the row
	turned int                          // the knob in which another one differs from it; -1: none yet
	near   map[region]int               // how often guns came there
	kin    map[flight.Gun]*flight.Table // over the knob, by the gun that has the first's
}

// often is how often a gun has come.
type often struct {
	times int
	table *flight.Table
}

// region is a stretch of a knob, of guns that differ in nothing else.
type region struct {
	gun flight.Gun
	at  int
}

const (
	// worthTable is after how many builds a gun gets a table: a cell of speeds costs about
	// as much as ten builds, and there are two to four of them.
	worthTable = 24
	// worthRegion is the same for the guns of a region, whose cells cost as much as forty
	// builds to a hundred; a knob goes so far in one, in its logarithm.
	worthRegion, regionOf = 80, 0.1
	// gunFlights and regionFlights are what a cell may take.
	gunFlights, regionFlights = 100, 400
	// tightestTable is the accuracy from which on flights are no longer smooth enough.
	tightestTable = 1e-8
	// mostGuns, mostTables and mostKin bound what is remembered.
	mostGuns, mostTables, mostKin = 1 << 13, 1 << 9, 1 << 5
)

// NewGuns makes one for builds that are simulated with the settings.
func NewGuns(settings Settings) *Guns {
	g := &Guns{
		accuracy: settings.flight(), last: make(chan struct{}), turned: -1,
		seen: map[flight.Gun]*often{}, near: map[region]int{}, kin: map[flight.Gun]*flight.Table{},
	}
	close(g.last)
	return g
}

// Turn is a build's place in the row. It must be taken once.
type Turn struct {
	guns         *Guns
	before, mine chan struct{}
}

// Next gives the next build its turn.
func (g *Guns) Next() Turn {
	t := Turn{g, g.last, make(chan struct{})}
	g.last = t.mine
	return t
}

// Take waits until the builds before have taken their turns, and returns the table to read
// the build's flights off, nil where they are to be flown. A nil stands for a build that
// there isn't. It ends early with the context.
func (t Turn) Take(ctx context.Context, b *drivetrain.Build) *flight.Table {
	if b != nil && (t.guns.accuracy < tightestTable || b.Validate() != nil) {
		b = nil
	}
	var gun flight.Gun // found before the turn, which others wait for
	if b != nil {
		gun = flight.GunOf(b)
	}
	select {
	case <-t.before:
	case <-ctx.Done():
		return nil // and so for all that come after
	}
	defer close(t.mine)
	if b == nil {
		return nil
	}
	if table := t.guns.come(gun, b); table != nil {
		return table
	}
	return t.guns.comeNear(b)
}

// come counts a gun.
func (g *Guns) come(gun flight.Gun, b *drivetrain.Build) *flight.Table {
	o := g.seen[gun]
	if o == nil {
		if len(g.seen) >= mostGuns {
			clear(g.seen)
			g.tables = 0
		}
		o = new(often)
		g.seen[gun] = o
	}
	o.times++
	if o.times <= worthTable {
		return nil
	}
	if o.table == nil {
		if g.tables++; g.tables > mostTables {
			for _, other := range g.seen {
				other.table = nil
			}
			g.tables = 1
		}
		o.table = flight.NewTable(b, g.accuracy, gunFlights).Follow()
	}
	return o.table
}

// comeNear counts a gun among those that differ from it in the knob that the row turns.
func (g *Guns) comeNear(b *drivetrain.Build) *flight.Table {
	if g.first == nil {
		g.first = b.Clone()
	}
	if g.turned < 0 {
		if g.turned = g.turn(b); g.turned < 0 {
			return nil
		}
	}
	knob, c := flight.Knob(g.turned), *b
	value := *knob.Of(b)
	if *knob.Of(&c) = *knob.Of(g.first); !(value > 0) || c.Validate() != nil {
		return nil
	}
	r := region{flight.GunOf(&c), int(math.Floor(math.Log(value) / regionOf))}
	if len(g.near) >= mostGuns {
		clear(g.near)
	}
	if g.near[r]++; g.near[r] <= worthRegion {
		return nil
	}
	table := g.kin[r.gun]
	if table == nil {
		if len(g.kin) >= mostKin {
			clear(g.kin)
		}
		table = flight.NewTable(&c, g.accuracy, regionFlights, knob).Follow()
		g.kin[r.gun] = table
	}
	return table
}

// turn finds the first knob in which a build differs from the row's first, -1 where there is
// none; one that stands at nothing is left alone.
func (g *Guns) turn(b *drivetrain.Build) int {
	for i := range flight.Knobs {
		k := flight.Knob(i)
		if is, was := *k.Of(b), *k.Of(g.first); is != was && is > 0 && was > 0 {
			return i
		}
	}
	return -1
}
