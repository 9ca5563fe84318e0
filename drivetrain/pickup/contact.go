package pickup

import "math"

// ContactKind is how a sector tooth and a rack tooth meet.
type ContactKind string

// The kinds of contact (equation H1).
const (
	// Flank is the sector's flank on the rack's: as it should be.
	Flank ContactKind = "flank"
	// RackCorner is the sector's flank on the corner of the rack tooth's tip.
	RackCorner ContactKind = "rack-corner"
	// SectorCorner is the corner of the sector tooth's tip on the rack's flank.
	SectorCorner ContactKind = "sector-corner"
	// Land is tip on tip: the teeth don't mesh.
	Land ContactKind = "land"
	// Missed is a rack tooth ahead of the sector tooth's reach.
	Missed ContactKind = "missed"
	// MissedLate is a rack tooth behind the sector tooth's reach.
	MissedLate ContactKind = "missed-late"
	// Above is a rack tooth taken down so far that the sector's tips pass below it.
	Above ContactKind = "above"
)

// Meets tells whether the teeth touch at all.
func (k ContactKind) Meets() bool { return k != Missed && k != MissedLate && k != Above }

// Contact is where the sector's first tooth, swinging in, first touches a rack
// tooth at rest. Of teeth that don't meet, only tooth and kind exist.
type Contact struct {
	// Tooth is the rack's, the pickup tooth being 1.
	Tooth int
	Kind  ContactKind
	// SectorAngle is θ1, the sector's angle then [rad].
	SectorAngle float64
	// X is the place along the pitch line, positive behind the line of centres [m].
	X float64
	// Y is the height over the sector's centre [m].
	Y float64
	// Angle is φ, the contact angle: by how much the contact stands ahead of the
	// line of centres [rad].
	Angle float64
	// SpeedRatio is u, the rack's travel over the sector's angle; NaN for a land
	// contact [m/rad].
	SpeedRatio float64
}

// contact returns the first contact of the sector's first tooth with rack tooth k
// (equation H1).
func (g *gear) contact(k int) Contact {
	none := math.NaN()
	c := Contact{k, Above, none, none, none, none, none}
	e, tip := g.ahead(k), g.tip(k)
	reach, ok := g.reach(tip)
	if !ok {
		return c
	}
	corner := g.flank(e, tip)
	if corner < -reach {
		if c.Kind = Missed; corner+g.across(tip) > -reach {
			c.Kind, c.X, c.Y = Land, -reach, tip
			c.SectorAngle = g.lag - math.Asin(reach/g.ra)
		}
		return c.finished()
	}
	c.Kind, c.X, c.Y = Flank, -e*g.cos*g.cos, g.rp-e*g.sin*g.cos
	c.SectorAngle, c.SpeedRatio = -e/g.rp, g.rp
	if c.Y < tip {
		r, psi := math.Hypot(corner, tip), math.Atan2(corner, tip)
		c.Kind, c.X, c.Y = RackCorner, corner, tip
		c.SectorAngle = psi + g.roll(r)
		c.SpeedRatio = g.rb / math.Cos(math.Acos(min(1, g.rb/r))-psi)
	}
	if math.Hypot(c.X, c.Y) > g.ra {
		psi := math.Asin((g.rp*g.sin-e*g.cos)/g.ra) - g.angle
		c.Kind, c.X, c.Y = SectorCorner, g.ra*math.Sin(psi), g.ra*math.Cos(psi)
		c.SectorAngle = psi + g.lag
		c.SpeedRatio = g.ra * math.Cos(psi+g.angle) / g.cos
		if !(c.Y >= tip) {
			c = Contact{k, MissedLate, none, none, none, none, none}
		}
	}
	return c.finished()
}

// finished puts the contact angle to a place.
func (c Contact) finished() Contact {
	c.Angle = -math.Atan2(c.X, c.Y)
	return c
}

// contacts returns the first contacts with all rack teeth, the pickup tooth first.
func (g *gear) contacts() []Contact {
	all := make([]Contact, len(g.down))
	for i := range all {
		all[i] = g.contact(i + 1)
	}
	return all
}
