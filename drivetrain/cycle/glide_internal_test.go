package cycle

import (
	"context"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
)

// Radau's nodes integrate every polynomial below their count, and the polynomial that
// is read off derivatives there is the one they were taken from.
func TestRadau(t *testing.T) {
	r := radau
	assert.InDelta(t, 1, r.place[nodal-1], 0, "a step ends at its last node")
	for degree := range nodal {
		var slope nodes12
		for k, x := range r.place {
			slope[k] = math.Pow(x, float64(degree))
		}
		sums := r.integral.of(&slope)
		for k, x := range r.place {
			assert.InDelta(t, math.Pow(x, float64(degree+1))/float64(degree+1), sums[k], 1e-14, "x^%d to node %d", degree, k)
		}
		var c row
		tail := r.row(&c, 3, &slope)
		for k := range c {
			want := 0.
			switch k {
			case 0:
				want = 3
			case degree + 1:
				want = 1 / float64(degree+1)
			}
			assert.InDelta(t, want, c[k], 1e-7, "x^%d: coefficient %d, which cancels with its like", degree, k)
		}
		for _, x := range []float64{0.03, 0.5, 1} {
			assert.InDelta(t, 3+math.Pow(x, float64(degree+1))/float64(degree+1), c.of(x), 1e-14, "x^%d at %g", degree, x)
		}
		assert.Equal(t, degree >= nodal-2, tail > 1e-12, "the last terms of x^%d", degree)
	}
}

// An RC pair over a step of a million time constants ends at what its resistance drops,
// and over one that is no longer than that follows the exponential.
func TestPairOverAStep(t *testing.T) {
	var p pair
	p.set(5, 1e6, 1e6*0.25) // 0.25 ohm
	var i nodes12
	for k := range i {
		i[k] = 8
	}
	v := p.voltage(&i)
	// The transient, 3 V, is not resolved: of it the method leaves some n²/1e6.
	assert.InDelta(t, 2, v[nodal-1], 3*nodal*nodal/1e6)
	p.set(5, 1, 0.25)
	v = p.voltage(&i)
	for k, x := range radau.place {
		assert.InDelta(t, 2+3*math.Exp(-x), v[k], 1e-14)
	}
}

// CheckGlide takes one gliding step from a state that a source draws, in every kind of
// mode, as short as a step of the series, which must say the same. It
// tells how many it could compare.
func CheckGlide(t *testing.T, b *drivetrain.Build, draw func() float64) (compared, skipped int) {
	m, err := newMachine(b, &Conditions{})
	require.NoError(t, err)
	amps, rads := m.common()
	for kind := range 24 {
		md := mode{m: m, held: kind%2 == 1, path: path(kind / 2 % 4), turns: kind/8 != 2, sign: 1, source: m.ocv(m.charge)}
		var y [states]float64
		y[current], y[speed] = amps*draw(), rads*draw()
		switch {
		case md.path == braking:
			md.sign, y[current] = -1, -y[current]
		case md.path == open || kind/8 == 1 && md.path == closed:
			md.sign, y[current] = 0, 0
		}
		if !md.turns {
			y[speed] = 0
		}
		y[voltage1], y[voltage2], y[charge] = 0.1*draw(), 0.1*draw(), 0.05+0.9*draw()
		for md.arc = 0; md.arc < len(m.arcs)-1 && draw() < 0.5; md.arc++ {
		}
		y[angle] = m.arcs[md.arc].from + draw()*(m.arcs[md.arc].to-m.arcs[md.arc].from)

		var c, g series
		unit := 0.1 * m.motor.Inductance / m.resistance
		c.expand(&md, &y, unit)
		tail, ok := g.glide(&md, &y, unit, amps, rads)
		require.True(t, ok, "%s: %s", b.Name, md.name())
		assert.Less(t, tail, 1e-11, "%s: %s", b.Name, md.name())
		// A fast swing or a strong drag leaves the series itself more than this, and so does
		// a charge that moves, whose voltage is a parabola there.
		if c.reach(amps, rads, 1e-14) < 1 || !md.held && c.astray(1) > 1e-13*m.ocv(1) {
			skipped++
			continue
		}
		compared++
		for _, x := range []float64{0.3, 1} {
			p, q := c.look(x), g.look(x)
			const tol = 1e-12
			assert.InDelta(t, p.i, q.i, tol*amps, "%s: %s: current", b.Name, md.name())
			assert.InDelta(t, p.w, q.w, tol*rads, "%s: %s: speed", b.Name, md.name())
			assert.InDelta(t, p.a, q.a, tol, "%s: %s: angle", b.Name, md.name())
			assert.InDelta(t, p.di, q.di, 1e-9*amps, "%s: %s: slope of the current", b.Name, md.name())
			if md.held {
				continue
			}
			assert.InDelta(t, p.voltage, q.voltage, tol*m.ocv(1), "%s: %s: terminals", b.Name, md.name())
			for _, rows := range [][2]*row{{&c.voltage1, &g.voltage1}, {&c.voltage2, &g.voltage2}, {&c.charge, &g.charge}, {&c.source, &g.source}} {
				assert.InDelta(t, rows[0].of(x), rows[1].of(x), tol*m.ocv(1), "%s: %s", b.Name, md.name())
			}
			if md.path == closed {
				// That of the series is a difference of charges, with their roundings.
				assert.InDelta(t, c.given(x), g.given(x), (tol*amps*unit+2e-16*m.pack.Capacity)*m.ocv(1), "%s: %s: given", b.Name, md.name())
			}
		}
	}
	return compared, skipped
}

// CheckGlides fires a build by gliding steps wherever they are worth it and by none, and
// compares all that comes of it, on a pack that is held or not. It tells how many glided.
func CheckGlides(t *testing.T, b *drivetrain.Build, held bool) (glides int) {
	ctx := context.Background()
	m, err := newMachine(b, &Conditions{})
	require.NoError(t, err)
	fire := func(patience int) (*run, ending, int, error) {
		trace := &Trace{m: m, held: held}
		r := newRun(m, 1e-12, held, 0, trace)
		r.mostSteps = 20_000
		r.patience = patience
		r.begin()
		if b.Trigger.Mode == drivetrain.Single && !held {
			r.cutoff = m.cutoff(b.Trigger.Cutoff, 1)
		}
		for {
			end, err := r.toPickup(ctx)
			if err != nil || end != pickedUp || !r.cutoff.set {
				count := 0
				for i := range trace.course.steps {
					if trace.course.steps[i].glides {
						count++
					}
				}
				return r, end, count, err
			}
		}
	}
	want, ended, none, err := fire(math.MaxInt)
	if errors.Is(err, ErrUnfinished) {
		return 0 // more than the series can do
	}
	require.NoError(t, err, b.Name)
	require.Zero(t, none)
	got, end, glides, err := fire(4)
	require.NoError(t, err, b.Name)
	assert.Equal(t, ended, end, b.Name)
	amps, rads := m.common()
	scale := [states]float64{amps, rads, 1, 1, 1, 1}
	for k := sumCurrent; k < states; k++ {
		scale[k] = math.Abs(want.y[k])
	}
	if end == stalled { // what comes after is for the course alone
		want.y, got.y = want.stall, got.stall
		want.time, got.time = want.stopped, got.stopped
	}
	// A shaft that only creeps to a stop does so at a time that hangs on the last digit.
	tol := 1e-8
	if end != pickedUp {
		tol = 1e-5
	}
	assert.InEpsilon(t, 1+want.time, 1+got.time, tol, "%s: time", b.Name)
	for k := range states {
		assert.InDelta(t, want.y[k], got.y[k], tol*scale[k]+1e-12, "%s: %s", b.Name, stateNames[k])
	}
	assert.InDelta(t, want.tally.peak, got.tally.peak, 1e-9*amps, "%s: peak", b.Name)
	assert.InDelta(t, want.tally.dip, got.tally.dip, 1e-8, "%s: dip", b.Name)
	// The course says the same between the steps.
	if end == pickedUp {
		for n := range 101 {
			at := float64(n) / 100 * want.trace.Duration()
			p, q := want.trace.At(at), got.trace.At(at)
			assert.InDelta(t, p.Speed, q.Speed, 1e-7*rads, "%s: speed at %g s", b.Name, at)
			assert.InDelta(t, p.Angle, q.Angle, 1e-8, "%s: angle at %g s", b.Name, at)
		}
	}
	return glides
}
