package chart

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/pickup"
)

// The side view is to scale: a millimetre is as long along the rack as across, in
// both states, and the ruler is as long as it says.
func TestSideViewIsToScale(t *testing.T) {
	r, err := pickup.Analyse(context.Background(), buildfile.Demo(), pickup.Settings{})
	require.NoError(t, err)
	var rec recorder.Canvas
	c := draw.NewCanvas(&rec, 21*vg.Centimeter, 11*vg.Centimeter)
	var scales []float64
	for _, s := range []*pickup.State{&r.Before, &r.After} {
		v := newSideView(c, s, "", 1)
		o, x, y := v.at(0, 0), v.at(1e-3, 0), v.at(0, 1e-3)
		assert.InEpsilon(t, float64(x.X-o.X), float64(y.Y-o.Y), 1e-12)
		assert.Zero(t, x.Y-o.Y)
		scales = append(scales, float64(x.X-o.X))
		at := v.at(s.Contact.X, s.Contact.Y)
		assert.InDelta(t, s.Contact.Angle, math.Atan2(float64(o.X-at.X), float64(at.Y-o.Y)), 1e-9, "the angle that is drawn is the one that is written")
		v.ruler()
		last := v.at(v.right, v.low).X - v.at(v.right-5e-3, v.low).X
		assert.InEpsilon(t, 5*scales[0], float64(last), 1e-9)
	}
	assert.InEpsilon(t, scales[0], scales[1], 1e-12)
}

// The teeth of all lobes are drawn: of two lobes of 10 teeth of 24, the second one's
// last teeth stand behind the line of centres.
func TestSideViewShowsAllLobes(t *testing.T) {
	for _, c := range []struct {
		lobes  string
		behind bool
	}{{"1", false}, {"2", true}} {
		d, err := buildfile.DemoDocument("sector.teeth=10", "sector.lobes="+c.lobes, "rack.teeth=10")
		require.NoError(t, err)
		p, err := pickup.Examine(d.Build)
		require.NoError(t, err)
		var rec recorder.Canvas
		v := newSideView(draw.NewCanvas(&rec, 21*vg.Centimeter, 11*vg.Centimeter), &pickup.State{Layout: &p.Then}, "", 1)
		v.sector(v.met().SectorAngle)
		// the place of a tooth's middle, 60° behind
		sin, cos := math.Sincos(math.Pi / 3)
		from, to := v.at(0.9*v.sketch.TipRadius*sin, 0.9*v.sketch.TipRadius*cos), v.at(1.01*v.sketch.TipRadius, 0)
		drawn := 0
		for _, a := range rec.Actions {
			line, ok := a.(*recorder.Stroke)
			if !ok {
				continue
			}
			tip := 0
			for _, q := range line.Path {
				far := math.Hypot(float64(q.Pos.X-v.zero.X), float64(q.Pos.Y-v.zero.Y))
				if q.Pos.X > from.X && q.Pos.X < to.X && far > 0.99*float64(v.scale)*v.sketch.TipRadius {
					tip++
				}
			}
			if tip > 0 {
				drawn++
			}
		}
		assert.Equal(t, c.behind, drawn > 0, "%s lobes: %d teeth", c.lobes, drawn)
	}
}
