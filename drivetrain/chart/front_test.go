package chart

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/plotter"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/search"
)

// searched runs a small shelf over the demo: ratios at falling prices, and a wish that some
// of them meet.
func searched(t *testing.T, wish string, broken bool) *search.Report {
	t.Helper()
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	s := buildfile.Slot{Key: "gears.ratio"}
	for i, v := range []string{"10", "11", "12", "13", "14", "15", "18", "40"} {
		s.Parts = append(s.Parts, buildfile.Part{Name: v, Value: v, Price: 1000 - 100*int64(i)})
	}
	r, err := search.NewReport(&buildfile.Shelf{Name: "ratios", Currency: "EUR", Base: d, Wish: wish, Slots: []buildfile.Slot{s}},
		search.Asked{Top: 5, Front: []string{"price", "trigger_delay"}, Broken: broken, Cloud: true})
	require.NoError(t, err)
	require.NoError(t, r.Run(context.Background(), nil))
	require.NoError(t, r.Finish(context.Background()))
	return r
}

func TestFrontIsGivenAsItIs(t *testing.T) {
	r := searched(t, "{rate_of_fire: {min: 16 /s}}", true)
	require.Positive(t, r.Met)
	require.Less(t, r.Met, r.Fired)
	s := front(r)
	require.Len(t, s.panels, 1)
	q := &s.panels[0]
	assert.Equal(t, "price, EUR", s.axis)
	assert.Equal(t, "trigger delay, ms", q.label)
	missed, whole, edge := q.dots[0], q.dots[1], q.dots[2]
	assert.Len(t, whole.xy, int(r.Met))
	require.Len(t, edge.xy, len(r.OnFront))
	for i := range r.OnFront {
		f := &r.OnFront[i]
		want := plotter.XY{X: float64(f.Price) / 100, Y: 1e3 * r.Value("trigger_delay", f)}
		assert.InDelta(t, want.X, edge.xy[i].X, 1e-12)
		assert.InDelta(t, want.Y, edge.xy[i].Y, 1e-9)
		assert.InDelta(t, want.Y, q.lines[0].xy[i].Y, 1e-9, "a front of two figures is joined in its order")
	}
	assert.Less(t, len(missed.xy), int(r.Fired-r.Met), "what lies far off is left out")
	for _, v := range missed.xy {
		assert.True(t, v.X >= s.lo && v.X <= s.hi)
	}
	names := []string{}
	for _, m := range q.points {
		names = append(names, m.name)
	}
	assert.Equal(t, []string{"cheapest, " + r.Money(r.Cheapest.Price), "as it stands"}, names)

	none := front(searched(t, "{rate_of_fire: {min: 99 /s}}", false))
	assert.Len(t, none.panels[0].dots[0].xy, 8, "without any that meets the wish, all that miss it are shown")
	assert.Len(t, none.legend, 1)
	_, err := Front(nil)
	assert.Error(t, err)
	p, err := Front(r)
	require.NoError(t, err)
	assert.NotNil(t, p)
}
