package pickup

import (
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/quantity"
)

// gear is sector and rack with the piston home: the constants of section H.
type gear struct {
	rp, rb, ra    float64   // pitch, base and tip radius of the sector [m]
	angle         float64   // pressure angle α [rad]
	sin, cos, tan float64   // of it [1]
	inv           float64   // its involute [rad]
	lag           float64   // A: by how much a leading flank's tip lags behind its pitch point [rad]
	step          float64   // from sector tooth to sector tooth [rad]
	lobe          float64   // θn, after which the sector repeats [rad]
	pitch         float64   // p, from rack tooth to rack tooth [m]
	thick         float64   // t, of the teeth on their reference lines [m]
	lift          float64   // of the rack's reference line over the pitch line [m]
	addendum      float64   // hr, of the rack [m]
	dedendum      float64   // hf, of the rack [m]
	sweep         float64   // rs, what the sector's tips need [m]
	offset        float64   // e [m]
	down          []float64 // by how much rack teeth are taken down, the pickup tooth first [m]
	pulls         int       // z−q, the teeth that pull
}

// involute returns inv a = tan a − a [rad].
func involute(a float64) float64 { return math.Tan(a) - a }

// sameLength is a length that no bench can tell from none [m].
const sameLength = 1e-9

// newGear returns the gear of a valid build, or every reason why there is none.
func newGear(b *drivetrain.Build) (*gear, error) {
	var c quantity.Check
	length := quantity.Length.Format
	r, s := b.Rack, &b.Sector
	if r == nil {
		c.Add("rack", "missing; the pickup needs it, such as rack: {teeth: %d, pickup_offset: 2.6 mm}", s.Teeth-s.Removed)
		return nil, c.Err()
	}
	if r.PickupOffset == nil {
		c.Add("rack.pickup_offset", "missing; wanted how far the pickup tooth's driven flank stands ahead of the line of centres with the piston home, such as 2.6 mm")
		return nil, c.Err()
	}
	g := &gear{
		rp: s.PitchRadius(), angle: s.PressureAngle, step: 2 * math.Pi / float64(s.FullTeeth), lobe: s.LobeAngle(),
		pitch: math.Pi * s.Module, thick: (math.Pi*s.Module - r.Backlash) / 2,
		lift: r.Lift, addendum: r.Addendum, offset: *r.PickupOffset - b.Piston.Spacer, pulls: s.Teeth - s.Removed,
		down: make([]float64, r.Teeth),
	}
	g.sin, g.cos = math.Sincos(g.angle)
	g.tan, g.inv = math.Tan(g.angle), involute(g.angle)
	g.rb = g.rp * g.cos
	height := s.Addendum * s.Module
	g.ra = g.rp + height
	g.lag = involute(math.Acos(g.rb/g.ra)) - g.inv
	g.dedendum = height + r.TipClearance
	g.sweep = g.ra + r.TipClearance

	if r.Teeth < g.pulls {
		c.Add("rack.teeth", "%d are fewer than the %d that the sector pulls; wanted at least as many", r.Teeth, g.pulls)
	}
	if room := r.TipClearance + r.Lift; room < 0 {
		c.Add("rack.lift", "%s with a tip clearance of %s leaves a negative clearance of %s: tips would run into roots", length(r.Lift), length(r.TipClearance), length(room))
	}
	if play := r.Backlash + 2*r.Lift*g.tan; play < 0 {
		c.Add("rack.lift", "%s with a backlash of %s leaves a negative clearance of %s between flanks: the teeth would jam", length(r.Lift), length(r.Backlash), length(play))
	}
	if tip := (g.thick/g.rp - 2*g.lag) * g.ra; !(tip > 0) {
		c.Add("sector.addendum", "%g modules with this pressure angle make pointed teeth on the sector (%s at the tip): take a lower addendum or pressure angle", s.Addendum, length(tip))
	}
	if tip := g.thick - 2*g.addendum*g.tan; !(tip > 0) {
		c.Add("rack.addendum", "%s makes pointed teeth on the rack (%s at the tip): take a lower addendum or pressure angle", length(g.addendum), length(tip))
	}
	g.takeDown(&c, r)
	if c.Err() != nil {
		return nil, c.Err()
	}
	for k := 1; k <= len(g.down); k++ {
		if depth := g.rp - g.tip(k); depth > g.rp*g.sin*g.sin {
			c.Add("rack.addendum", "tooth %d reaches %s below the pitch line, where the sector's flank ends at %s: it would undercut the sector; lower the rack's addendum, or take a larger pressure angle or more full_teeth",
				k, length(depth), length(g.rp*g.sin*g.sin))
			break
		}
	}
	if g.tip(1) >= g.ra {
		c.Add("rack.addendum", "the tip of the pickup tooth stands %s above the sector's tips, out of the sector's reach: lower the rack (rack.lift) or take a tooth that is less taken down", length(g.tip(1)-g.ra))
	}
	return g, c.Err()
}

// takeDown fills in what is taken down of which tooth.
func (g *gear) takeDown(c *quantity.Check, r *drivetrain.Rack) {
	seen := map[int]bool{}
	for i, t := range r.TakenDown {
		at := fmt.Sprintf("rack.taken_down.%d.", i)
		switch {
		case t.Tooth > r.Teeth:
			c.Add(at+"tooth", "%d is none of the rack's %d teeth", t.Tooth, r.Teeth)
		case seen[t.Tooth]:
			c.Add(at+"tooth", "tooth %d is listed twice; wanted its whole depth once", t.Tooth)
		case t.Depth > g.addendum+g.dedendum+sameLength:
			c.Add(at+"depth", "%s is more than the tooth's height of %s", quantity.Length.Format(t.Depth), quantity.Length.Format(g.addendum+g.dedendum))
		default:
			g.down[t.Tooth-1] = min(t.Depth, g.addendum+g.dedendum)
		}
		seen[t.Tooth] = true
	}
}

// tip returns yt, the height of the tip line of rack tooth k [m].
func (g *gear) tip(k int) float64 { return g.rp + g.lift - g.addendum + g.down[k-1] }

// root returns the height of the rack's root line [m].
func (g *gear) root() float64 { return g.rp + g.lift + g.dedendum }

// across returns T, the thickness of a rack tooth at a height [m].
func (g *gear) across(y float64) float64 { return g.thick + 2*(y-g.rp-g.lift)*g.tan }

// ahead returns ek, the offset of rack tooth k [m].
func (g *gear) ahead(k int) float64 { return g.offset + float64(k-1)*g.pitch }

// flank returns the x of a driven flank of an offset at a height [m].
func (g *gear) flank(offset, y float64) float64 { return -offset - (y-g.rp)*g.tan }

// reach returns X, how far ahead of and behind the line of centres the sector's
// tips cross a tip line; false where they don't reach it [m].
func (g *gear) reach(tip float64) (float64, bool) {
	if !(tip < g.ra) {
		return 0, false
	}
	return math.Sqrt(g.ra*g.ra - tip*tip), true
}

// roll returns by how much a leading flank at a radius lags behind its pitch
// point: θ − ψ [rad].
func (g *gear) roll(r float64) float64 {
	return involute(math.Acos(min(1, g.rb/r))) - g.inv
}

// recess is how far behind the line of centres, on the pitch line, a driven flank
// may stand and still be met by the sector's flank (H2) [m].
func (g *gear) recess() float64 { return (math.Sqrt(g.ra*g.ra-g.rb*g.rb) - g.rp*g.sin) / g.cos }
