package pickup

import (
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
	r, s := b.Rack, &b.Sector
	if r == nil {
		c.Add("rack", "missing; the pickup needs it, such as rack: {teeth: %d, pickup_offset: 2.6 mm}", s.Teeth-s.Removed)
		return nil, c.Err()
	}
	if r.PickupOffset == nil {
		c.Add("rack.pickup_offset", "missing; wanted how far the pickup tooth's driven flank stands ahead of the line of centres with the piston home, such as 2.6 mm")
		return nil, c.Err()
	}
	t := b.Teeth()
	g := &gear{
		rp: t.PitchRadius, rb: t.BaseRadius, ra: t.TipRadius, angle: t.PressureAngle, lag: t.Lag, lobe: s.LobeAngle(), step: 2 * math.Pi / float64(s.FullTeeth),
		pitch: t.Pitch, thick: t.Thickness, lift: t.Lift, addendum: t.Addendum, dedendum: t.Dedendum, sweep: t.TipRadius + t.Clearance,
		offset: *r.PickupOffset - b.Piston.Spacer, pulls: t.Pulls, down: make([]float64, t.Rack),
	}
	g.sin, g.cos = math.Sincos(g.angle)
	g.tan, g.inv = math.Tan(g.angle), involute(g.angle)
	for k := range g.down {
		g.down[k] = t.TakenDown(k + 1)
	}
	return g, nil
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
