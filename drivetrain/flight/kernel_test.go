package flight

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// sense is tanh(v/creep), of which math.Tanh is another computation.
func TestSense(t *testing.T) {
	worst := 0.
	for i := -30000; i <= 30000; i++ {
		v := float64(i) * 3.7e-5
		worst = max(worst, math.Abs(sense(v)-math.Tanh(v/creep)))
	}
	assert.LessOrEqual(t, worst, 3e-16)
	assert.Zero(t, sense(0))
	assert.Equal(t, 1., sense(1e300))
	assert.Equal(t, -1., sense(-1e300))
}

// The flow function taken apart is Psi, in all of the three places, and so is what
// throttle makes of it; its slope is that of Psi.
func TestThroats(t *testing.T) {
	ratios := []float64{0, 0.3, CriticalRatio, math.Nextafter(CriticalRatio, 1), straight, math.Nextafter(straight, 1), 1}
	for i := range 20001 {
		ratios = append(ratios, 0.5+0.5*float64(i)/20000)
	}
	// Psi's own 1 − r^(2/7) loses digits next to 1.
	off := func(r float64) float64 {
		if r > straight {
			return 1e-15
		}
		return 4e-15 + 4e-16/(1-r)
	}
	for i, r := range ratios {
		want, slope := psiAndSlope(r)
		other := ratios[(i+7777)%len(ratios)]
		u1, t1, u2, t2, u3, t3 := throats(r, other, r)
		assert.InDelta(t, want, math.Sqrt(u1)*t1, off(r)*want, "at %v", r)
		assert.InDelta(t, want, math.Sqrt(u3)*t3, off(r)*want, "at %v", r)
		assert.InDelta(t, Psi(other), math.Sqrt(u2)*t2, off(other)*Psi(other), "at %v", other)
		const area = 3.
		mass, e := throttle(area*area, r)
		assert.InDelta(t, area*want, mass, off(r)*area*want, "at %v", r)
		assert.InDelta(t, area*r*slope, e, 1e-10*math.Abs(area*r*slope)+1e-14, "slope at %v", r)
	}
}

// A shortened course is the same polynomial; rate is its derivative.
func TestBend(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for range 100 {
		var b bend
		for i := range states {
			b.y0[i], b.y1[i], b.r2[i], b.r3[i] = rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()
		}
		c, cut := b, 0.1+1.2*rnd.Float64()
		c.cut(cut)
		for i := range states {
			assert.Equal(t, b.y0[i], b.at(i, 0))
			assert.InDelta(t, b.y1[i], b.at(i, 1), 1e-15)
			s := rnd.Float64()
			assert.InDelta(t, b.at(i, s*cut), c.at(i, s), 1e-13)
			assert.InDelta(t, c.at(i, 1), c.y1[i], 1e-15)
			const d = 1e-5
			assert.InDelta(t, (b.at(i, s+d)-b.at(i, s-d))/(2*d), b.rate(i, s), 1e-8)
		}
	}
}

// The polynomial of a step runs through its ends with the slopes there; the one of
// the sums, too, which are formed apart.
func TestStepsPolynomial(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 8))
	for i := range 6 * effects {
		g, m := with(i%effects), unpack([]int{0, 1, 1 | 8 | 64, 1 | 16 | 32, 2, 2 | 4}[i/effects])
		m.follow(g)
		var near, far point
		near.y = someState(rnd, g, &m)
		e := someEcho(rnd, g, near.y[clock])
		s := stepper{near: &near, far: &far, echo: e}
		s.follow(g, &m)
		const h = 2e-11 // so short that a cubic says it all
		s.begin(&near)
		s.try(h)
		var b bend
		s.dense(&b)
		var dy [states]float64
		m.derive(g, e, dy[:], near.y[:])
		for i := range states {
			assert.InDelta(t, h*dy[i], b.y1[i]-b.y0[i]+b.r2[i], 2e-3*math.Abs(h*dy[i])+1e-13*math.Abs(b.y1[i]), "%v: %s", &m, stateNames[i])
			assert.InDelta(t, h*dy[i], b.y1[i]-b.y0[i], 2e-3*math.Abs(h*dy[i])+1e-13*math.Abs(b.y1[i]), "%v: %s", &m, stateNames[i])
		}
	}
}
