package pickup

import (
	"math"
	"slices"
)

// HandOver is the pull from the first contact until the rack is let go, by
// geometry alone (equation H3): which pair of teeth carries the rack, pair k being
// sector tooth k on rack tooth k.
type HandOver struct {
	// Start is the sector's angle at the first contact, θ1 [rad].
	Start float64
	// End is the sector's angle where the rack is let go [rad].
	End float64
	// Stroke is the rack's travel then [m].
	Stroke float64
	// Last is the pair that lets go.
	Last int
	// Slip is the farthest that the rack falls from one pair to another, reckoned at
	// the angle where the first one's corner lets go; Riding may shorten it [m].
	Slip float64
	// SlipAfter is the pair it falls from, 0 without a slip.
	SlipAfter int
	// Lost tells that the rack is let go before the last pulling tooth has had it.
	Lost bool
	// Next is the sector's angle at which the first tooth of its next lobe comes
	// among the rack's teeth [rad].
	Next float64
	// Strikes are where tips meet head on during the pull.
	Strikes []Strike

	gear *gear
}

// Caught tells that the sector's next first tooth is among the rack's before the
// last one has let go, so that the rack can't go home.
func (h *HandOver) Caught() bool { return h.Next < h.End }

// Riding is the corner of a rack tooth on the tip of the sector tooth that has just
// let it go: until that tip has passed, the rack can't fall.
const Riding ContactKind = "riding"

// Strike is a pair whose tips meet head on in the pull, because the rack stands too
// far ahead when the sector's tooth comes.
type Strike struct {
	// Tooth is that of sector and rack.
	Tooth int
	// Angle is the sector's, θ [rad].
	Angle float64
	// Short is how far behind the rack would have to stand for the tips to pass [m].
	Short float64
}

// Carrying is the rack in the pull at one sector angle.
type Carrying struct {
	// Angle is the sector's, θ [rad].
	Angle float64
	// Travel is the rack's from home [m].
	Travel float64
	// Tooth is the pair that carries, 0 where none does.
	Tooth int
	// Kind is how its teeth touch.
	Kind ContactKind
	// X is the place of the contact along the pitch line [m].
	X float64
	// Y is the height of the contact over the sector's centre [m].
	Y float64
}

// window returns the sector angles from which and to which pair k can touch on the
// driven flank; false where the tooth is out of reach.
func (g *gear) window(k int) (entry, release float64, ok bool) {
	reach, ok := g.reach(g.tip(k))
	if !ok {
		return 0, 0, false
	}
	middle, half := g.lag+float64(k-1)*g.step, math.Asin(reach/g.ra)
	return middle - half, middle + half, true
}

// land returns the angle that the tip of a sector tooth takes up [rad].
func (g *gear) land() float64 { return g.thick/g.rp - 2*g.lag }

// rides returns where the tip of pair k's sector tooth keeps the rack from falling,
// just after it has let go; false at other angles.
func (g *gear) rides(k int, angle float64) (Carrying, bool) {
	_, release, ok := g.window(k)
	if !ok || angle <= release || angle > release+g.land() {
		return Carrying{}, false
	}
	c := g.pair(k, release)
	c.Angle, c.Kind = angle, Riding
	return c, true
}

// sameAngle is an angle that no bench can tell from none [rad].
const sameAngle = 1e-12

// pair returns where pair k holds the rack at a sector angle; its travel is −Inf
// where the pair can't touch.
func (g *gear) pair(k int, angle float64) Carrying {
	c := Carrying{angle, math.Inf(-1), k, Flank, math.NaN(), math.NaN()}
	entry, release, ok := g.window(k)
	if !ok || angle < entry-sameAngle || angle > release+sameAngle {
		return c
	}
	e, tip := g.ahead(k), g.tip(k)
	own := angle - float64(k-1)*g.step // of this sector tooth
	along := g.rp * own                // of the flank's pitch point behind the line of centres
	c.X, c.Y = along*g.cos*g.cos, g.rp+along*g.sin*g.cos
	switch {
	case c.Y < tip:
		c.Kind = RackCorner
		c.X, c.Y = g.atHeight(own, tip)
	case math.Hypot(c.X, c.Y) > g.ra:
		c.Kind = SectorCorner
		sin, cos := math.Sincos(own - g.lag)
		c.X, c.Y = g.ra*sin, g.ra*cos
	}
	c.Travel = e + c.X + (c.Y-g.rp)*g.tan
	return c
}

// atHeight returns where the leading flank of a sector tooth at an angle of its own
// crosses a height.
func (g *gear) atHeight(own, y float64) (x, at float64) {
	point := func(r float64) (float64, float64) {
		sin, cos := math.Sincos(own - g.roll(r))
		return r * sin, r * cos
	}
	lo, hi := g.rb, g.ra
	for range 200 {
		middle := (lo + hi) / 2
		if middle == lo || middle == hi {
			break
		}
		if _, at := point(middle); at < y {
			lo = middle
		} else {
			hi = middle
		}
	}
	return point(hi)
}

// farther returns what holds the rack farther back; where both do, as flanks
// together, the first.
func farther(a, b Carrying) Carrying {
	const same = 1e-12 // [m]
	if !(b.Travel > a.Travel+same) {
		a.Travel = max(a.Travel, b.Travel)
		return a
	}
	return b
}

// carrying returns what holds the rack at an angle of the pull among pairs that let
// go no sooner than after.
func (g *gear) carrying(angle, after float64) Carrying {
	best := Carrying{angle, math.Inf(-1), 0, Missed, math.NaN(), math.NaN()}
	for k := 1; k <= g.pulls; k++ {
		if _, release, ok := g.window(k); !ok || release < after {
			continue
		}
		best = farther(best, g.pair(k, angle))
	}
	return best
}

// held returns what holds the rack at an angle of a pull that began at start: a
// pair that carries, or a tip on which it rides; pair without is not looked at.
func (g *gear) held(angle, start float64, without int) Carrying {
	best := Carrying{angle, math.Inf(-1), 0, Missed, math.NaN(), math.NaN()}
	for k := 1; k <= g.pulls; k++ {
		if _, release, ok := g.window(k); !ok || release < start || k == without {
			continue
		}
		best = farther(best, g.pair(k, angle))
		if c, ok := g.rides(k, angle); ok {
			best = farther(best, c)
		}
	}
	return best
}

// handOver follows the pull from a first contact.
func (g *gear) handOver(start float64) HandOver {
	h := HandOver{Start: start, End: math.NaN(), Stroke: math.NaN(), Next: math.NaN(), gear: g}
	_, h.End, _ = g.window(1)
	h.Last = 1
	for grown := true; grown; {
		grown = false
		for k := 2; k <= g.pulls; k++ {
			if entry, release, ok := g.window(k); ok && entry <= h.End && release > h.End {
				h.End, h.Last, grown = release, k, true
			}
		}
	}
	h.Stroke = g.pair(h.Last, h.End).Travel
	if reach, ok := g.reach(g.rp + g.lift - g.addendum); ok { // of a tooth that is whole
		h.Next = g.lobe + g.lag - math.Asin(reach/g.ra)
	}
	for k := 1; k <= g.pulls; k++ {
		entry, release, ok := g.window(k)
		if k > h.Last && (!ok || release > h.End) {
			h.Lost = true
		}
		if !ok {
			continue
		}
		if release > start && release < h.End {
			from, to := g.carrying(release, release), g.carrying(release, release+sameAngle)
			if fall := from.Travel - to.Travel; fall > h.Slip {
				h.Slip, h.SlipAfter = fall, k
			}
		}
		if k > 1 && entry > start && entry < h.End {
			if short := g.pair(k, entry).Travel - max(0, g.held(entry, start, k).Travel); short > sameLength {
				h.Strikes = append(h.Strikes, Strike{k, entry, short})
			}
		}
	}
	return h
}

// At returns the rack at a sector angle from Start to End [rad]. Outside, and
// before the rack moves, it is at rest at home.
func (h *HandOver) At(angle float64) Carrying {
	if angle < h.Start || angle > h.End {
		return Carrying{angle, 0, 0, Missed, math.NaN(), math.NaN()}
	}
	c := h.gear.held(angle, h.Start, 0)
	c.Travel = max(c.Travel, 0)
	return c
}

// Sample returns the pull at evenly spaced angles, n or more, and where a tooth
// comes or lets go, in order.
func (h *HandOver) Sample(n int) []Carrying {
	angles := []float64{h.Start, h.End}
	for i := 1; i < n-1; i++ {
		angles = append(angles, h.Start+(h.End-h.Start)*float64(i)/float64(n-1))
	}
	for k := 1; k <= h.gear.pulls; k++ {
		if entry, release, ok := h.gear.window(k); ok {
			for _, a := range []float64{entry, release, math.Nextafter(release, math.Inf(1)) + 2*sameAngle} {
				if a > h.Start && a < h.End {
					angles = append(angles, a)
				}
			}
		}
	}
	slices.Sort(angles)
	angles = slices.Compact(angles)
	all := make([]Carrying, len(angles))
	for i, a := range angles {
		all[i] = h.At(a)
	}
	return all
}
