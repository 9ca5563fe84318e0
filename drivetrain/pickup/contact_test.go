package pickup_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/pickup"
)

// meet finds by halving the sector angle at which the sector's first tooth, coming
// from far ahead, first touches rack tooth k (from 0) at a travel of the rack, and
// the place; false if it passes. The leading flank is the exact involute here,
// followed by golden section along its thread.
func (w *bench) meet(k int, travel float64) (angle, x, y float64, ok bool) {
	turnAt := func(radius float64) float64 {
		return root(func(turn float64) float64 { r, _ := unrolled(w.rb, turn); return r - radius }, 0, 3)
	}
	_, atPitch := unrolled(w.rb, turnAt(w.rp))
	end := turnAt(w.ra)
	at := func(angle, turn float64) (x, y float64) {
		r, lag := unrolled(w.rb, turn)
		sin, cos := math.Sincos(angle + atPitch - lag)
		return r * sin, r * cos
	}
	// deepest along the flank: the best of the samples, then between its neighbours
	deepest := func(angle float64) (deep, turn float64) {
		f := func(turn float64) float64 { x, y := at(angle, turn); return w.inside(k, travel, x, y) }
		best, deep := 0, math.Inf(-1)
		sin, cos := math.Sincos(angle)
		for i, r := range w.radii {
			s, c := w.lead0[i][0]*cos+w.lead0[i][1]*sin, w.lead0[i][1]*cos-w.lead0[i][0]*sin
			if v := w.inside(k, travel, r*s, r*c); v > deep {
				best, deep = i, v
			}
		}
		if deep < -0.02*w.rp {
			return deep, 0 // far away
		}
		lo, hi := end*float64(max(0, best-1))/samples, end*float64(min(samples, best+1))/samples
		for range 60 {
			third := (hi - lo) / 3
			if f(lo+third) < f(hi-third) {
				lo += third
			} else {
				hi -= third
			}
		}
		turn, deep = lo, f(lo)
		for _, u := range []float64{hi, end} {
			if v := f(u); v > deep {
				turn, deep = u, v
			}
		}
		return deep, turn
	}
	const fine = 2e-3
	for angle := -1.7; angle < 1.9; angle += fine {
		if deep, _ := deepest(angle + fine); deep > 0 {
			angle = root(func(a float64) float64 { d, _ := deepest(a); return d }, angle, angle+fine)
			_, turn := deepest(angle)
			x, y = at(angle, turn)
			return angle, x, y, true
		}
	}
	return 0, 0, 0, false
}

// First contacts of random gears against the touching of curves that is found
// without any formula of the model, for the pickup tooth and the two in front of it.
func TestContactByCurves(t *testing.T) {
	kinds := map[pickup.ContactKind]int{}
	const tol = 1e-12 // of the angle; the place on a flat touching is known to the root of that
	for i, b := range randomBuilds(t, 1, effort.Of(250)) {
		p, err := pickup.Examine(b)
		require.NoError(t, err)
		for _, l := range []*pickup.Layout{&p.Now, &p.Then} {
			w := newBench(l.Build)
			for _, c := range l.Contacts[:min(3, len(l.Contacts))] {
				kinds[c.Kind]++
				angle, x, y, met := w.meet(c.Tooth-1, 0)
				if !assert.Equal(t, met, c.Kind.Meets(), "build %d tooth %d: %s", i, c.Tooth, c.Kind) || !met {
					continue
				}
				assert.InDelta(t, angle, c.SectorAngle, tol, "build %d tooth %d: %s", i, c.Tooth, c.Kind)
				assert.InDelta(t, x, c.X, 1e-7*w.rp, "build %d tooth %d: %s", i, c.Tooth, c.Kind)
				assert.InDelta(t, y, c.Y, 1e-7*w.rp, "build %d tooth %d: %s", i, c.Tooth, c.Kind)
			}
		}
	}
	for _, k := range []pickup.ContactKind{pickup.Flank, pickup.RackCorner, pickup.SectorCorner, pickup.Land, pickup.Missed, pickup.Above} {
		assert.Positive(t, kinds[k], "no %s among them: %v", k, kinds)
	}
}

// Where the pickup tooth stands, from far ahead to far behind: what is refused is
// what the curves find not to meet.
func TestReachByCurves(t *testing.T) {
	refused := 0
	for mm := -8.; mm < 12; mm += effort.Step(0.0937, 214) {
		b := *plain(t)
		r := *b.Rack
		e := mm * 1e-3
		r.PickupOffset = &e
		b.Rack = &r
		_, _, _, met := newBench(&b).meet(0, 0)
		_, err := pickup.Examine(&b)
		assert.Equal(t, met, err == nil, "%.4f mm: %v", mm, err)
		if err != nil {
			refused++
			assert.ErrorContains(t, err, "rack.pickup_offset: missed")
		}
	}
	assert.Greater(t, refused, effort.Seen(50))
}

// How fast the rack is moved at the first contact, by moving both a little and
// touching anew.
func TestSpeedRatioByCurves(t *testing.T) {
	compared := map[pickup.ContactKind]int{}
	for i, b := range randomBuilds(t, 2, 60) {
		p, err := pickup.Examine(b)
		require.NoError(t, err)
		c := &p.Now.Contact
		if c.Kind == pickup.Land {
			assert.True(t, math.IsNaN(c.SpeedRatio))
			continue
		}
		const step = 1e-7
		w := newBench(b)
		a0, x0, y0, _ := w.meet(0, 0)
		a1, _, _, met := w.meet(0, step)
		if !met || math.Abs(a1-a0) > 1e-3 || math.Hypot(x0-c.X, y0-c.Y) > 1e-6 {
			continue
		}
		compared[c.Kind]++
		assert.InEpsilon(t, step/(a1-a0), c.SpeedRatio, 1e-4, "build %d: %s", i, c.Kind)
	}
	assert.Positive(t, compared[pickup.Flank])
	assert.Positive(t, compared[pickup.RackCorner])
	assert.Positive(t, compared[pickup.SectorCorner])
}
