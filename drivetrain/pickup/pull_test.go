package pickup_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/pickup"
)

// plainDemo is the demo without waves in the spring, moving air, heat to the walls and
// commutation.
const plainDemo = "../../testdata/builds/demo.yaml"

// plain reads it.
func plain(t testing.TB) *drivetrain.Build {
	t.Helper()
	b, err := buildfile.Load(plainDemo)
	require.NoError(t, err)
	return b
}

func examine(t testing.TB, overrides ...string) *pickup.Work {
	t.Helper()
	d, err := buildfile.Read(plainDemo, overrides...)
	require.NoError(t, err)
	p, err := pickup.Examine(d.Build)
	require.NoError(t, err)
	return p
}

// down writes teeth of the demo that are wholly taken down.
func down(teeth ...int) string {
	var all []string
	for _, n := range teeth {
		all = append(all, fmt.Sprintf("{tooth: %d, depth: 2.25 mm}", n))
	}
	return "rack.taken_down=[" + strings.Join(all, ", ") + "]"
}

// With rack teeth missing the pull goes on, falls or is lost. The figures follow
// from two circles and a straight line by hand: tip radius 13 mm, rack tips at 11 mm,
// so that tips cross at X = √48 = 6.9282 mm, 0.5621 rad from straight up; the tip of a
// sector tooth lags by 0.0379 rad behind its pitch point (base radius 11.27631 mm).
func TestMissingTeeth(t *testing.T) {
	const lag, half, step, x = 0.0379287, 0.5620698, 2 * math.Pi / 24, 6.928203e-3
	pitch := math.Pi * 1e-3
	corner := 1e-3 * math.Tan(20*math.Pi/180) // of the rack tooth before its pitch point
	for _, c := range []struct {
		down   string
		slip   bool
		last   int
		lost   bool
		reason string
	}{
		{down(2), false, 16, false, "tooth 3 has come before tooth 1 lets go"},
		{down(2, 3, 4), false, 16, false, "tooth 5 has just come"},
		{strings.TrimSuffix(down(2, 3, 4), "]") + ", {tooth: 5, depth: 0.4 mm}]", true, 16, false, "tooth 5 has come, but its tip is gone"},
		{strings.TrimSuffix(down(2, 3, 4), "]") + ", {tooth: 5, depth: 0.6 mm}]", false, 1, true, "tooth 5 has not come yet"},
		{down(2, 3, 4, 5), false, 1, true, "tooth 6 has not come"},
	} {
		p := examine(t, "sector.removed=0", "rack.pickup_offset=0 mm", c.down)
		h := &p.Now.HandOver
		assert.Equal(t, c.slip, h.Slip > 0, c.reason)
		assert.Equal(t, c.last, h.Last, c.reason)
		assert.Equal(t, c.lost, h.Lost, c.reason)
		k := float64(c.last - 1)
		assert.InDelta(t, lag+half+k*step, h.End, 1e-6, c.reason)
		assert.InDelta(t, k*pitch+x-corner, h.Stroke, 1e-9, c.reason)
		assert.InDelta(t, 15*pitch+x-corner, p.Now.Stroke, 1e-9, "that of the last tooth, even where the drive is lost before")
		if c.slip {
			// where tooth 1 lets go, the rack falls until tooth 5 of the bench is touched
			w := newBench(p.Now.Build)
			held := root(func(travel float64) float64 { return -w.deepest(lag+half, travel, 4, 5) - 1e-9 }, 5.5e-3, 7e-3)
			assert.InDelta(t, x-corner-held, h.Slip, 1e-6, c.reason)
			assert.Equal(t, 1, h.SlipAfter)
		}
	}
}

// A sector with nearly all its teeth brings its first one back among the rack's
// before the last one lets go. The teeth of the next lobe, moved through the pull as
// polygons, enter none of the rack's before the plan says that they can. By hand, for
// the demo's circles: the next tooth comes 0.5241 rad before a lobe is over.
func TestNextLobeCatchesTheRack(t *testing.T) {
	caught, entered := 0, 0
	for _, c := range []struct{ lobes, teeth int }{
		{1, 16}, {1, 20}, {1, 21}, {1, 22}, {1, 23}, {2, 8}, {2, 9}, {2, 10}, {2, 11}, {3, 5}, {3, 6}, {3, 7},
	} { // of 24
		name := fmt.Sprintf("%d lobes of %d teeth", c.lobes, c.teeth)
		p := examine(t, fmt.Sprintf("sector.lobes=%d", c.lobes), fmt.Sprintf("sector.teeth=%d", c.teeth), "rack.teeth=40")
		lobe := 2 * math.Pi / float64(c.lobes)
		h := &p.Now.HandOver
		assert.InDelta(t, lobe-0.5241411, h.Next, 1e-6, name)
		w := newBench(p.Now.Build)
		enters := false
		for _, at := range h.Sample(300) {
			deep := w.deepest(at.Angle-lobe, at.Travel, 0, c.teeth)
			enters = enters || deep > 2e-6*w.rp
			if at.Angle < h.Next {
				assert.LessOrEqual(t, deep, 2e-6*w.rp, "%s at %g: no tooth of the next lobe yet", name, at.Angle)
			}
		}
		if enters {
			entered++
			assert.True(t, h.Caught(), name)
		}
		if h.Caught() {
			caught++
		}
	}
	assert.Positive(t, entered)
	assert.Positive(t, caught)
	assert.False(t, examine(t).Then.HandOver.Caught(), "the demo goes home")
}

// While a flank carries, the rack goes with the pitch circle; before it moves it is
// at home, behind the release there is nothing.
func TestPullFollowsThePitchCircle(t *testing.T) {
	p := examine(t)
	for _, l := range []*pickup.Layout{&p.Now, &p.Then} {
		h := &l.HandOver
		flanks := 0
		last := -1e-12
		for _, c := range h.Sample(500) {
			require.GreaterOrEqual(t, c.Travel, last, "without a slip it only goes rearwards")
			last = c.Travel
			if c.Kind == pickup.Flank {
				flanks++
				require.InDelta(t, l.Offset+12e-3*c.Angle, c.Travel, 1e-14)
			} else {
				require.LessOrEqual(t, c.Travel, l.Offset+12e-3*c.Angle+1e-14, "corners lag behind it")
			}
		}
		assert.Greater(t, flanks, 300)
		assert.InDelta(t, l.Stroke, last, 1e-15)
		assert.InDelta(t, 0, h.At(h.Start).Travel, 1e-18)
		assert.Zero(t, h.At(h.Start-0.1).Travel)
		assert.Zero(t, h.At(h.End+0.1).Tooth)
		const d = 1e-6
		assert.InEpsilon(t, l.Contact.SpeedRatio, h.At(h.Start+d).Travel/d, 1e-4)
	}
	assert.InDelta(t, p.Added(), p.Now.Stroke-p.Then.Stroke, 1e-15, "the spacer is taken from the stroke")
	assert.InDelta(t, p.Now.SectorEngagedAngle, p.Then.SectorEngagedAngle, 1e-14)
}

// With the engaged angle that the geometry asks for, the cycle's stroke is that of
// the teeth.
func TestEngagedAngleGivesTheStroke(t *testing.T) {
	p := examine(t)
	b := *p.Then.Build
	b.Sector.EngagedAngle = p.Then.SectorEngagedAngle
	require.NoError(t, b.Validate())
	assert.InDelta(t, p.Then.Stroke, b.Geometry().Stroke, 1e-15)
}

// A gun twice as large meets at the same angles, everything twice as long.
func TestScaling(t *testing.T) {
	for _, b := range randomBuilds(t, 9, 60) {
		big := *b
		r := *b.Rack
		big.Sector.Module *= 2
		e := 2 * *r.PickupOffset
		r.PickupOffset = &e
		r.Addendum, r.TipClearance, r.Backlash, r.Lift = 2*r.Addendum, 2*r.TipClearance, 2*r.Backlash, 2*r.Lift
		r.TakenDown = nil
		for _, d := range b.Rack.TakenDown {
			r.TakenDown = append(r.TakenDown, drivetrain.TakenDown{Tooth: d.Tooth, Depth: 2 * d.Depth})
		}
		big.Rack = &r
		big.Piston.Spacer *= 2
		big.Cylinder.Port *= 2
		big.Pads = nil
		for _, pad := range b.Pads {
			big.Pads = append(big.Pads, 2*pad)
		}
		p, err := pickup.Examine(b)
		require.NoError(t, err)
		q, err := pickup.Examine(&big)
		require.NoError(t, err)
		require.Len(t, q.TakeDown, len(p.TakeDown))
		for i := range p.TakeDown {
			assert.InDelta(t, 2*p.TakeDown[i].Depth, q.TakeDown[i].Depth, 1e-14)
		}
		for _, s := range []struct{ p, q *pickup.Layout }{{&p.Now, &q.Now}, {&p.Then, &q.Then}} {
			assert.Equal(t, s.p.Contact.Kind, s.q.Contact.Kind)
			assert.InDelta(t, s.p.Contact.SectorAngle, s.q.Contact.SectorAngle, 1e-12)
			assert.InDelta(t, s.p.Contact.Angle, s.q.Contact.Angle, 1e-12)
			assert.InDelta(t, 2*s.p.Stroke, s.q.Stroke, 1e-13)
			assert.InDelta(t, 2*s.p.HandOver.Slip, s.q.HandOver.Slip, 1e-11)
			assert.Equal(t, s.p.Blocking, s.q.Blocking)
		}
	}
}

// The drawn outlines touch where the contact is said to be.
func TestSketchTouches(t *testing.T) {
	for i, b := range append(randomBuilds(t, 11, 40), plain(t)) {
		p, err := pickup.Examine(b)
		require.NoError(t, err)
		for _, l := range []*pickup.Layout{&p.Now, &p.Then} {
			s := l.Sketch()
			c := l.Contacts[l.FirstTooth-1]
			near := func(outline []pickup.Point) float64 {
				best := math.Inf(1)
				for j := range outline[1:] {
					a, z := outline[j], outline[j+1]
					dx, dy := z.X-a.X, z.Y-a.Y
					along := min(max(((c.X-a.X)*dx+(c.Y-a.Y)*dy)/(dx*dx+dy*dy), 0), 1)
					best = min(best, math.Hypot(c.X-a.X-along*dx, c.Y-a.Y-along*dy))
				}
				return best
			}
			assert.Less(t, near(s.SectorTooth(1, c.SectorAngle)), 2e-3*s.PitchRadius, "build %d: the sector's outline, in straight pieces", i)
			assert.Less(t, near(s.RackTooth(c.Tooth, 0, s.TakenDown(c.Tooth))), 1e-12, "build %d: the rack's", i)
		}
	}
}

// Builds drawn without sense are refused or examined; nothing panics, hangs or
// gives a figure that is no number.
func TestWildBuilds(t *testing.T) {
	source := rand.New(rand.NewPCG(13, 0))
	log := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, source.Float64()) }
	from := func(lo, hi float64) float64 { return lo + (hi-lo)*source.Float64() }
	demo := plain(t)
	examined, refused := 0, 0
	for range effort.Of(10000) {
		b := *demo
		full := 4 + source.IntN(60)
		s := drivetrain.NewSector(log(0.05e-3, 20e-3), 1+source.IntN(full), full)
		s.Removed = source.IntN(3)
		s.PressureAngle = from(10, 35) * math.Pi / 180
		s.Addendum = from(0.2, 2)
		m := s.Module
		r := drivetrain.NewRack(&s)
		r.Teeth = max(1, r.Teeth+source.IntN(5)-1)
		r.Addendum, r.TipClearance, r.Backlash, r.Lift = m*log(0.02, 3), m*from(0, 1), m*from(0, 1), m*from(-0.5, 1)
		e := m * from(-8, 12)
		r.PickupOffset = &e
		for range source.IntN(6) {
			r.TakenDown = append(r.TakenDown, drivetrain.TakenDown{Tooth: 1 + source.IntN(8), Depth: m * from(0, 2.5)})
		}
		b.Sector, b.Rack, b.Pads = s, &r, nil
		b.Piston.Clear = 1e-6
		b.Cylinder.Port = 0
		for range source.IntN(5) {
			b.Pads = append(b.Pads, log(1e-6, 1e-2))
		}
		p, err := pickup.Examine(&b)
		if err != nil {
			refused++
			require.NotContains(t, err.Error(), "NaN")
			continue
		}
		examined++
		for _, l := range []*pickup.Layout{&p.Now, &p.Then} {
			for what, v := range map[string]float64{
				"θ1": l.Contact.SectorAngle, "x": l.Contact.X, "y": l.Contact.Y, "φ": l.Contact.Angle, "overlap": l.Overlap,
				"limit": l.SpacerLimit, "stroke": l.Stroke, "engaged": l.EngagedAngle, "sector": l.SectorEngagedAngle, "slip": l.HandOver.Slip,
			} {
				require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%s of %+v with %+v", what, s, r)
			}
			require.Equal(t, math.IsNaN(l.Contact.SpeedRatio), l.Contact.Kind == pickup.Land, "%+v", l.Contact)
			require.GreaterOrEqual(t, l.EngagedAngle, 0.)
			for _, c := range l.HandOver.Sample(20) {
				require.False(t, math.IsNaN(c.Travel) || math.IsInf(c.Travel, 0), "%+v of %+v with %+v", c, s, r)
			}
		}
		require.Empty(t, p.Then.Blocking, "%+v with %+v", s, r)
		require.LessOrEqual(t, p.Added(), p.Spacer+1e-12)
	}
	assert.Greater(t, examined, effort.Seen(500))
	assert.Greater(t, refused, effort.Seen(1000))
}

// What is put in comes on top of what is in, brings the pickup tooth back by as much,
// and never past flush.
func TestSpacersAddUp(t *testing.T) {
	had := 0
	for _, b := range randomBuilds(t, 15, effort.Of(150)) {
		p, err := pickup.Examine(b)
		require.NoError(t, err)
		if b.Piston.Spacer > 0 && p.Added() > 0 {
			had++
		}
		sum := 0.
		for _, pad := range p.Pads {
			sum += pad
		}
		assert.InDelta(t, b.Piston.Spacer+sum, p.Then.Build.Piston.Spacer, 1e-15)
		assert.InDelta(t, *b.Rack.PickupOffset-b.Piston.Spacer-sum, p.Then.Offset, 1e-15)
		assert.InDelta(t, *b.Rack.PickupOffset-b.Piston.Spacer, p.Now.Offset, 1e-15)
		if p.Now.Offset > 0 {
			assert.GreaterOrEqual(t, p.Then.Offset, -1e-12)
		} else {
			assert.Zero(t, sum)
		}
		if len(b.Pads) == 0 {
			assert.InDelta(t, min(0, p.Now.Offset), p.Then.Offset, 1e-12, "exact without a stock")
		}
		assert.Len(t, p.Left(), max(0, len(b.Pads)-len(p.Pads)))
		assert.Same(t, b, p.Now.Build, "the build itself is only read")
	}
	assert.Greater(t, had, effort.Seen(5))
}

// What the reference model says of 24 teeth of full depth: with every tooth standing
// there is no room for the sector's first one unless e ≥ 4.94 mm, and the stroke is
// e + (z−q−1)·p and about 6.6 mm: 56.3 mm over 271.8° as the demo stands, 53.7 over
// 259.4° flush.
func TestFullDepth(t *testing.T) {
	blocked := func(mm float64) bool {
		p := examine(t, "sector.removed=0", down(), "pads=", fmt.Sprintf("rack.pickup_offset=%.6f mm", mm))
		return len(p.Now.Blocking) > 0
	}
	for mm := -2.3; mm < 4.94; mm += 0.2 {
		assert.True(t, blocked(mm), "%g mm", mm)
	}
	assert.True(t, blocked(4.935))
	assert.False(t, blocked(4.95))
	const degrees = 180 / math.Pi
	p := examine(t, "sector.removed=0", "pads=")
	assert.InDelta(t, 56.3e-3, p.Now.Stroke, 0.05e-3)
	assert.InDelta(t, 271.8, p.Now.EngagedAngle*degrees, 0.05)
	assert.InDelta(t, 53.7e-3, p.Then.Stroke, 0.05e-3)
	assert.InDelta(t, 259.4, p.Then.EngagedAngle*degrees, 0.05)
	assert.InDelta(t, 6.6e-3, p.Now.Stroke-p.Now.Offset-15*math.Pi*1e-3, 0.05e-3)
}
