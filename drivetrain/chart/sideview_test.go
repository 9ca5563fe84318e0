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
