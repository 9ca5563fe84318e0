package flight_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/flight"
)

// A match is flights of the build with one value changed, from end to end of what is
// said, and the best lies among or between them.
func TestMatch(t *testing.T) {
	ctx, s := context.Background(), flight.Settings{Tolerance: 1e-5, ReleaseSpeed: 2.5}
	b := build(t, "", "piston.spacer=2 mm")
	m, err := flight.FindMatch(ctx, b, s)
	require.NoError(t, err)
	g := b.Geometry()
	assert.Equal(t, b.SweptVolume(), m.Swept)
	assert.Equal(t, b.Barrel.Volume(), m.Barrel)
	assert.Equal(t, b.Barrel.Length, m.Built.Value)
	first, last := m.Lengths[0], m.Lengths[len(m.Lengths)-1]
	assert.InDelta(t, 0.1*b.Barrel.Length, first.Value, 1e-12)
	assert.InDelta(t, 1.5*b.Barrel.Length, last.Value, 1e-12)
	first, last = m.Ports[0], m.Ports[len(m.Ports)-1]
	assert.InDelta(t, 2e-3+0.02*g.Stroke, first.Value, 1e-12, "from where the piston rests on")
	assert.InDelta(t, 2e-3+g.Stroke, last.Value, 1e-12)
	for i, all := range [][]flight.Trial{m.Lengths, m.Ports} {
		best := []flight.Trial{m.BestLength, m.BestPort}[i]
		for k, shot := range all {
			if k > 0 {
				assert.Greater(t, shot.Value, all[k-1].Value)
			}
			assert.False(t, shot.Energy > best.Energy, "at %g", shot.Value)
			c := *b
			if i == 0 {
				c.Barrel.Length = shot.Value
			} else {
				c.Cylinder.Port = shot.Value
			}
			if k%8 == 0 {
				r := fly(t, &c, s)
				// As text, since a NaN equals nothing.
				want := flight.Trial{Value: shot.Value, Velocity: r.Summary.MuzzleVelocity, Energy: r.Summary.MuzzleEnergy, TimeToHome: r.Summary.TimeToHome}
				assert.Equal(t, fmt.Sprint(want), fmt.Sprint(shot))
			}
		}
	}
	assert.Equal(t, fly(t, b, s).Summary.MuzzleEnergy, m.Built.Energy)
	without := *b
	without.Cylinder.Port = 0
	assert.InEpsilon(t, fly(t, &without, s).Summary.MuzzleEnergy, last.Energy, 1e-3, "at the end of the stroke the port is never open")
}

// A build whose port has no area is varied as if it had the port that is commonly
// assumed, of 20 mm²; one that has an area, with that.
func TestMatchOfAPortThatIsAssumed(t *testing.T) {
	ctx, s := context.Background(), flight.Settings{Tolerance: 1e-5}
	ports := func(area float64) []flight.Trial {
		b := *build(t, "")
		b.Cylinder.Port, b.Cylinder.PortArea = 0, area
		m, err := flight.FindMatch(ctx, &b, s)
		require.NoError(t, err)
		return m.Ports
	}
	assumed, same, narrow := ports(0), ports(20e-6), ports(2e-6)
	assert.Equal(t, fmt.Sprint(same), fmt.Sprint(assumed), "as text, since a NaN equals nothing")
	differ := 0
	for i := range same {
		if math.Abs(same[i].Energy-narrow[i].Energy) > 1e-3 {
			differ++
		}
	}
	assert.Greater(t, differ, 10, "the area counts")
}

// The names that files have for the ends of a flight.
func TestStatusNames(t *testing.T) {
	for status, name := range map[flight.Status]string{
		flight.Done: "done", flight.PelletStuck: "pellet-stuck", flight.PistonHeld: "piston-held", flight.Unsettled: "unsettled", flight.GivenUp: "given-up",
	} {
		assert.Equal(t, name, status.String())
	}
}
