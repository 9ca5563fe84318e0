package pickup

import "math"

// Point is a place in the plane of the drawing.
type Point struct {
	// X is along the pitch line, positive rearwards of the line of centres [m].
	X float64
	// Y is the height over the sector's centre [m].
	Y float64
}

// Sketch is the shape of sector and rack, for drawings.
type Sketch struct {
	gear *gear
	// PitchRadius is the sector's, rp [m].
	PitchRadius float64
	// TipRadius is the sector's, ra [m].
	TipRadius float64
	// RootRadius is that between the sector's teeth [m].
	RootRadius float64
	// Sweep is the radius that the rack must leave free, rs [m].
	Sweep float64
	// Root is the height of the rack's root line [m].
	Root float64
	// Pitch is from rack tooth to rack tooth [m].
	Pitch float64
	// SectorTeeth is how many pull, RackTeeth how many the rack has.
	SectorTeeth, RackTeeth int
}

// Sketch returns the shapes of a layout.
func (l *Layout) Sketch() Sketch {
	g := l.HandOver.gear
	return Sketch{
		gear: g, PitchRadius: g.rp, TipRadius: g.ra, Sweep: g.sweep, Root: g.root(), Pitch: g.pitch,
		RootRadius:  max(g.rp-g.addendum-(g.sweep-g.ra), g.rp/4),
		SectorTeeth: g.pulls, RackTeeth: len(g.down),
	}
}

// flankPoints is how many points a drawn flank has.
const flankPoints = 16

// SectorTooth returns the outline of sector tooth k with the sector at an angle
// [rad]: up the leading flank from the root, over the tip, down the other.
func (s *Sketch) SectorTooth(k int, angle float64) (all []Point) {
	g := s.gear
	own := angle - float64(k-1)*g.step
	at := func(r, psi float64) {
		sin, cos := math.Sincos(psi)
		all = append(all, Point{r * sin, r * cos})
	}
	from := max(g.rb, s.RootRadius)
	width := g.thick / g.rp
	if s.RootRadius < from {
		at(s.RootRadius, own-g.roll(from))
	}
	for i := range flankPoints {
		r := from + (g.ra-from)*float64(i)/(flankPoints-1)
		at(r, own-g.roll(r))
	}
	for i := flankPoints - 1; i >= 0; i-- {
		r := from + (g.ra-from)*float64(i)/(flankPoints-1)
		at(r, own-width+g.roll(r))
	}
	if s.RootRadius < from {
		at(s.RootRadius, own-width+g.roll(from))
	}
	return all
}

// RackTooth returns the corners of rack tooth k with the rack at a travel [m], its
// tip taken down by a depth from the original one [m]: root and tip of the driven
// flank, tip and root of the rear one.
func (s *Sketch) RackTooth(k int, travel, depth float64) []Point {
	g := s.gear
	tip := g.rp + g.lift - g.addendum + depth
	e := g.ahead(k) - travel
	return []Point{
		{g.flank(e, s.Root), s.Root}, {g.flank(e, tip), tip},
		{g.flank(e, tip) + g.across(tip), tip}, {g.flank(e, s.Root) + g.across(s.Root), s.Root},
	}
}

// TakenDown returns by how much rack tooth k has been taken down [m].
func (s *Sketch) TakenDown(k int) float64 { return s.gear.down[k-1] }
