package pickup_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/pickup"
)

// randomBuilds draws builds that can be examined from ranges that a workbench could
// know, always the same ones. It reports how many were refused.
func randomBuilds(t testing.TB, seed uint64, n int) (all []*drivetrain.Build) {
	source := rand.New(rand.NewPCG(seed, 7))
	from := func(lo, hi float64) float64 { return lo + (hi-lo)*source.Float64() }
	often := func(share float64) bool { return source.Float64() < share }
	for tried := 0; len(all) < n; tried++ {
		require.Less(t, tried, 40*n, "the ranges give too few builds")
		b := *plain(t)
		m := from(0.6e-3, 1.4e-3)
		full := 14 + source.IntN(24)
		s := drivetrain.NewSector(m, full/3+source.IntN(full/3), full)
		s.Removed = source.IntN(3)
		s.PressureAngle = from(17, 28) * math.Pi / 180
		s.Addendum = from(0.7, 1.1)
		r := drivetrain.NewRack(&s)
		r.Addendum = m * from(0.6, 1.1)
		r.TipClearance = m * from(0.05, 0.4)
		r.Backlash = m * from(0, 0.2)
		r.Teeth += source.IntN(3)
		if often(0.3) {
			r.Lift = m * from(-0.05, 0.25)
		}
		e := m * from(-2.2, 4)
		r.PickupOffset = &e
		for tooth := 1; tooth <= 5; tooth++ {
			if tooth == 1 && often(0.1) {
				r.TakenDown = append(r.TakenDown, drivetrain.TakenDown{Tooth: 1, Depth: m * from(0, 0.5)})
			}
			if tooth > 1 && often(0.35) {
				r.TakenDown = append(r.TakenDown, drivetrain.TakenDown{Tooth: tooth, Depth: (r.Addendum + s.Addendum*m + r.TipClearance) * from(0, 1)})
			}
		}
		b.Sector, b.Rack = s, &r
		b.Pads = nil
		for range source.IntN(7) {
			b.Pads = append(b.Pads, math.Round(from(0.2, 3)*20)/20*1e-3)
		}
		if often(0.2) {
			b.Piston.Spacer = m * from(0, 1)
		}
		if _, err := pickup.Examine(&b); err == nil {
			all = append(all, &b)
		}
	}
	return all
}

// bench is sector and rack drawn anew from what a build says, by sampled curves and
// straight edges; nothing of package pickup is in it.
type bench struct {
	rp, ra, rb, pitch, step, tan, clearance float64
	lead, trail                             []float64 // polar angles of a tooth's flanks, leading pitch point at 0, over radii
	radii                                   []float64
	lead0                                   [][2]float64 // sine and cosine of lead
	x0                                      []float64    // of the driven flanks on the pitch line, piston home
	tip                                     []float64
	root, middle                            float64 // root line, reference line
	half                                    float64 // half a rack tooth on the reference line
	teeth                                   int     // of the sector
}

const samples = 100

// unrolled returns a point of the involute of a circle by its thread, unrolled by
// an angle: radius and polar angle behind the thread's beginning.
func unrolled(rb, turn float64) (r, lag float64) {
	x := math.Cos(turn) + turn*math.Sin(turn)
	y := math.Sin(turn) - turn*math.Cos(turn)
	return rb * math.Hypot(x, y), math.Atan2(y, x)
}

// root finds a zero of a function that rises from below to above zero, by halving.
func root(f func(float64) float64, lo, hi float64) float64 {
	for range 200 {
		m := (lo + hi) / 2
		if m == lo || m == hi {
			break
		}
		if f(m) < 0 {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}

func newBench(b *drivetrain.Build) *bench {
	s, r := &b.Sector, b.Rack
	m := s.Module
	w := &bench{
		rp: m * float64(s.FullTeeth) / 2, pitch: math.Pi * m, step: 2 * math.Pi / float64(s.FullTeeth),
		tan: math.Tan(s.PressureAngle), clearance: r.TipClearance, teeth: s.Teeth - s.Removed,
	}
	w.ra = w.rp + s.Addendum*m
	w.rb = w.rp * math.Cos(s.PressureAngle)
	// radius and lag at a radius: by how far the thread is unrolled
	turnAt := func(radius float64) float64 {
		return root(func(turn float64) float64 { r, _ := unrolled(w.rb, turn); return r - radius }, 0, 3)
	}
	_, atPitch := unrolled(w.rb, turnAt(w.rp))
	thick := (w.pitch - r.Backlash) / 2
	end := turnAt(w.ra)
	for i := 0; i <= samples; i++ {
		radius, lag := unrolled(w.rb, end*float64(i)/samples)
		w.radii = append(w.radii, radius)
		w.lead = append(w.lead, atPitch-lag)
		w.trail = append(w.trail, -thick/w.rp-(atPitch-lag))
		sin, cos := math.Sincos(atPitch - lag)
		w.lead0 = append(w.lead0, [2]float64{sin, cos})
	}
	w.middle = w.rp + r.Lift
	w.root = w.middle + s.Addendum*m + r.TipClearance
	w.half = thick / 2
	for k := 0; k < r.Teeth; k++ {
		w.x0 = append(w.x0, -(*r.PickupOffset-b.Piston.Spacer)-float64(k)*w.pitch)
		w.tip = append(w.tip, w.middle-r.Addendum)
	}
	for _, d := range r.TakenDown {
		w.tip[d.Tooth-1] += d.Depth
	}
	return w
}

// edges returns how deep a point lies behind each edge of rack tooth k (from 0)
// with the rack at a travel: driven flank, tip, rear flank; all positive is inside.
func (w *bench) edges(k int, travel, x, y float64) (front, tip, rear float64) {
	slant := math.Hypot(1, w.tan)
	at := w.x0[k] + travel
	front = (x - (at - (y-w.rp)*w.tan)) / slant
	middle := at - (w.middle-w.rp)*w.tan + w.half // the tooth's centre line
	rear = (middle + w.half + (y-w.middle)*w.tan - x) / slant
	return front, y - w.tip[k], rear
}

// inside is how deep a point lies in rack tooth k, negative outside.
func (w *bench) inside(k int, travel, x, y float64) float64 {
	front, tip, rear := w.edges(k, travel, x, y)
	return min(front, tip, rear)
}

// point is on the leading or trailing flank of a sector tooth turned to an angle of
// its own.
func (w *bench) point(flank []float64, i int, own float64) (x, y float64) {
	sin, cos := math.Sincos(own + flank[i])
	return w.radii[i] * sin, w.radii[i] * cos
}

// within is how deep a point lies in a sector tooth turned to an angle of its own,
// negative outside.
func (w *bench) within(own, x, y float64) float64 {
	r := math.Hypot(x, y)
	if r > w.ra {
		return w.ra - r
	}
	lead, trail := w.lead[0], w.trail[0]
	if r > w.radii[0] {
		i := 1
		for i < samples && w.radii[i] < r {
			i++
		}
		part := (r - w.radii[i-1]) / (w.radii[i] - w.radii[i-1])
		lead = w.lead[i-1] + part*(w.lead[i]-w.lead[i-1])
		trail = w.trail[i-1] + part*(w.trail[i]-w.trail[i-1])
	}
	psi := math.Atan2(x, y) - own
	return min(w.ra-r, r*(lead-psi), r*(psi-trail))
}

// deepest is how deep any sector tooth lies in any rack tooth, with the sector at
// an angle and the rack at a travel; negative where they are apart. Only the teeth
// of the sector from the first to the last given are looked at.
func (w *bench) deepest(angle, travel float64, first, last int) float64 {
	worst := math.Inf(-1)
	lowest := slices.Min(w.tip)
	wide := math.Acos(min(1, lowest/w.ra)) // the tips are below the rack's beyond
	for j := first; j < last; j++ {
		own := angle - float64(j)*w.step
		if own+w.lead[samples] < -wide-0.05 || own+w.trail[samples] > wide+0.05 {
			continue
		}
		for k := range w.x0 {
			if at := math.Abs(w.x0[k] + travel); at > w.ra*math.Sin(wide)+2*w.pitch || w.tip[k] >= w.ra || w.tip[k] >= w.root {
				continue
			}
			for i := range w.radii {
				x, y := w.point(w.lead, i, own)
				worst = max(worst, w.inside(k, travel, x, y))
				x, y = w.point(w.trail, i, own)
				worst = max(worst, w.inside(k, travel, x, y))
			}
			// the tip of the sector tooth between its corners, and the rack's corners
			for i := 1; i < 8; i++ {
				sin, cos := math.Sincos(own + w.lead[samples] + (w.trail[samples]-w.lead[samples])*float64(i)/8)
				worst = max(worst, w.inside(k, travel, w.ra*sin, w.ra*cos))
			}
			at := w.x0[k] + travel
			front := at - (w.tip[k]-w.rp)*w.tan
			rear := at - (w.middle-w.rp)*w.tan + 2*w.half + (w.tip[k]-w.middle)*w.tan
			worst = max(worst, w.within(own, front, w.tip[k]), w.within(own, rear, w.tip[k]))
		}
	}
	return worst
}
