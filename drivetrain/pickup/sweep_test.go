package pickup_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/pickup"
)

// The teeth as polygons, moved through swing-in with the rack at rest and then
// through the whole pull with the rack where the hand-over says: before and after
// the work no tooth enters another; where the plan says that something holds the
// rack, it would be entered a hair farther ahead; and the rack jumps nowhere but
// where the plan says that tips strike.
func TestNoToothEntersAnother(t *testing.T) {
	builds := append(randomBuilds(t, 3, effort.Of(130)), plain(t))
	pulls, strikes, slips := 0, 0, 0
	for i, b := range builds {
		p, err := pickup.Examine(b)
		require.NoError(t, err)
		for when, l := range []*pickup.Layout{&p.Now, &p.Then} {
			w := newBench(l.Build)
			deep := 2e-6 * w.rp // what flat pieces of a curve in 100 leave open is a tenth of it
			first := l.Contacts[l.FirstTooth-1].SectorAngle
			for angle := -1.4; angle < first; angle += 0.01 {
				if !assert.LessOrEqual(t, w.deepest(angle, 0, 0, 1), deep, "build %d.%d swings in at %g of %g", i, when, angle, first) {
					break
				}
			}
			assert.LessOrEqual(t, w.deepest(first, 0, 0, 1), deep, "build %d.%d at the first contact", i, when)
			if when == 1 {
				assert.Empty(t, l.Blocking, "build %d: the way is free after the work", i)
			}
			if len(l.Blocking) > 0 || l.Contact.Kind == pickup.Land {
				continue
			}
			pulls++
			if l.HandOver.Slip > 0 {
				slips++
			}
			struck := map[float64]bool{}
			for _, s := range l.HandOver.Strikes {
				struck[s.Angle] = true
				if s.Short > 100*deep {
					strikes++
					ahead := l.HandOver.At(s.Angle).Travel - s.Short
					assert.Greater(t, w.deepest(s.Angle+2e-3, ahead, 0, w.teeth), deep, "build %d.%d at %g: tips %d strike", i, when, s.Angle, s.Tooth)
				}
			}
			before := pickup.Carrying{Angle: l.HandOver.Start}
			for _, c := range l.HandOver.Sample(100) {
				if c.Angle == l.HandOver.End {
					break // let go
				}
				jump := c.Travel - before.Travel - 4*w.rp*(c.Angle-before.Angle)
				before = c
				if struck[c.Angle] {
					continue
				}
				assert.Less(t, jump, 1e-9, "build %d.%d at %g: the rack jumps", i, when, c.Angle)
				assert.LessOrEqual(t, w.deepest(c.Angle, c.Travel, 0, w.teeth), deep, "build %d.%d at %g, tooth %d %s", i, when, c.Angle, c.Tooth, c.Kind)
				assert.Greater(t, w.deepest(c.Angle, c.Travel-200*deep, 0, w.teeth), deep, "build %d.%d at %g: tooth %d holds the rack, %s", i, when, c.Angle, c.Tooth, c.Kind)
			}
		}
	}
	assert.Greater(t, pulls, effort.Seen(130))
	if effort.All() {
		assert.Positive(t, strikes)
		assert.Positive(t, slips)
	}
}

// How far a tooth comes down, by cutting it until its corners and edges leave the
// circle that the tips need.
func TestTakeDownByCutting(t *testing.T) {
	compared := 0
	for i, b := range randomBuilds(t, 4, effort.Of(300)) {
		p, err := pickup.Examine(b)
		require.NoError(t, err)
		w := newBench(p.Then.Build)
		radius := w.ra + w.clearance
		had := map[int]float64{}
		for _, d := range b.Rack.TakenDown {
			had[d.Tooth] = d.Depth
		}
		listed := map[int]float64{}
		for _, d := range p.TakeDown {
			listed[d.Tooth] = d.Depth
		}
		uncut := w.middle - b.Rack.Addendum
		for k := 1; k < len(w.x0); k++ {
			// the rear edge from tip to root, and the tip's middle
			free := func(depth float64) bool {
				tip := uncut + depth
				rear := func(y float64) float64 {
					return w.x0[k] - (w.middle-w.rp)*w.tan + 2*w.half + (y-w.middle)*w.tan
				}
				front := w.x0[k] - (tip-w.rp)*w.tan
				nearest := math.Abs(tip)
				if rear(tip) < 0 || front > 0 {
					nearest = math.Min(math.Hypot(rear(tip), tip), math.Hypot(front, tip))
				}
				// along the straight rear edge
				x0, y0, x1, y1 := rear(tip), tip, rear(w.root), w.root
				along := -(x0*(x1-x0) + y0*(y1-y0)) / ((x1-x0)*(x1-x0) + (y1-y0)*(y1-y0))
				along = min(max(along, 0), 1)
				nearest = math.Min(nearest, math.Hypot(x0+along*(x1-x0), y0+along*(y1-y0)))
				return nearest >= radius
			}
			want := 0.
			if !free(0) {
				want = root(func(d float64) float64 {
					if free(d) {
						return 1
					}
					return -1
				}, 0, w.root-uncut)
			}
			got, isListed := listed[k+1]
			switch {
			case math.Abs(want-had[k+1]) < 2e-9:
			case want > had[k+1]:
				compared++
				assert.True(t, isListed, "build %d tooth %d", i, k+1)
				assert.InDelta(t, want, got, 1e-12, "build %d tooth %d", i, k+1)
			default:
				assert.False(t, isListed, "build %d tooth %d", i, k+1)
			}
		}
	}
	assert.Greater(t, compared, effort.Seen(200))
}

// Backspacing for a square contact brings the second or third rack tooth into the
// way (common practice, no source).
func TestBackspacingBringsTheNextToothIntoTheWay(t *testing.T) {
	b := *plain(t)
	for offset := 0.5e-3; offset < 4.5e-3; offset += 0.25e-3 {
		r := *b.Rack
		r.PickupOffset, r.TakenDown = &offset, nil
		b.Rack, b.Pads = &r, nil
		p, err := pickup.Examine(&b)
		require.NoError(t, err)
		assert.InDelta(t, 0, p.Then.Offset, 1e-12)
		assert.Equal(t, pickup.Flank, p.Then.Contact.Kind)
		var teeth []int
		for _, d := range p.TakeDown {
			teeth = append(teeth, d.Tooth)
		}
		assert.Equal(t, []int{2, 3}, teeth, "%g m", offset)
	}
	// With the second tooth taken down already, it is the third.
	p, err := pickup.Examine(plain(t))
	require.NoError(t, err)
	assert.Equal(t, []int{3}, []int{p.TakeDown[0].Tooth})
	assert.Len(t, p.TakeDown, 1)
}
