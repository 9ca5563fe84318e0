package chart

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/levers"
	"example.org/ampstroke/drivetrain/study"
)

// drawn draws a picture to the end.
func drawn(t *testing.T, p func() (*Picture, error)) {
	t.Helper()
	picture, err := p()
	require.NoError(t, err)
	assert.Empty(t, picture.Lacks(".png"))
}

// Bars are the effects as they are found, in the figure's unit, and beside them what alone
// meets the want.
func TestLeverBarsAreGivenAsTheyAre(t *testing.T) {
	d, err := buildfile.DemoDocument("spring.rate=600 N/m", "gears.ratio=14")
	require.NoError(t, err)
	r, err := levers.Find(context.Background(), d, levers.Question{})
	require.NoError(t, err)
	b := leverBars(r)
	require.Len(t, b.columns, 2, "both are missed")
	assert.Equal(t, "misses rate of fire by 0.96 /s", b.columns[0].head)
	assert.Equal(t, "misses muzzle velocity by 10 m/s", b.columns[1].head)
	require.Len(t, b.rows, mostBars)
	noted := 0
	for i := range b.rows {
		e := &r.Effects[i]
		assert.True(t, strings.HasPrefix(b.rows[i], e.Key+"  "))
		for k, f := range []string{"rate_of_fire", "muzzle_velocity"} {
			require.Equal(t, f, r.Figures[k].Name)
			assert.InDelta(t, e.Changes[k], b.columns[k].values[i], 1e-12)
			assert.Equal(t, e.Whole, b.columns[k].counts[i])
			for _, s := range r.Singles {
				if s.Want == k && s.Key == e.Key {
					assert.Equal(t, s.Meets(), b.columns[k].notes[i] != "")
					if s.Meets() {
						assert.Equal(t, "alone at "+s.Text(s.Value), b.columns[k].notes[i])
						noted++
					}
				}
			}
		}
	}
	assert.Greater(t, noted, 6)
	assert.Len(t, leverBars(&levers.Result{Document: d}).rows, 0, "nothing to show is shown")
	drawn(t, func() (*Picture, error) { return Levers(r) })
	_, err = Levers(&levers.Result{Document: d})
	assert.Error(t, err)
}

func sweptPoints(t *testing.T, shown []string, overrides []string, texts ...string) (*study.Sweep, []study.Point) {
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	var axes []study.Axis
	for _, text := range texts {
		a, err := study.ParseAxis(text)
		require.NoError(t, err)
		axes = append(axes, a)
	}
	s, err := study.NewSweep(d, study.Question{Figures: shown, Target: d.Target, Findings: true}, axes...)
	require.NoError(t, err)
	var points []study.Point
	for p := range s.Points(context.Background()) {
		points = append(points, p)
	}
	return s, points
}

// Lines are the figures over the key, from the least value to the largest, with what the
// target leaves, and crosses where there are faults.
func TestSweepLinesAreGivenAsTheyAre(t *testing.T) {
	shown := []string{"rate_of_fire", "pme_margin"}
	s, points := sweptPoints(t, shown, nil, "spring.rate=800,500,3000,700 N/m")
	st := sweepStack(s, points, shown)
	assert.Equal(t, "spring.rate, N/m", st.axis)
	assert.Equal(t, []string{"rate of fire, /s", "PME margin, ms"}, labels(st))
	order := []int{1, 3, 0, 2}
	for k, scale := range []float64{1, 1e3} {
		same(t, st.panels[k].lines[0].xy, 4, func(i int) (x, y float64) {
			return points[order[i]].Values[0], scale * points[order[i]].Answer.Values[k]
		}, shown[k])
	}
	assert.True(t, math.IsNaN(st.panels[0].lines[0].xy[3].Y), "it stalls")
	require.Len(t, st.panels[0].bands, 1)
	assert.Equal(t, 20., st.panels[0].bands[0].lo[0].Y)
	assert.Equal(t, 20., st.panels[0].lines[1].xy[0].Y, "the target's edge")
	assert.Empty(t, st.panels[1].bands, "nobody asks for a margin")
	for i, m := range st.panels[1].points {
		assert.Equal(t, points[order[i]].Answer.Findings.Broken(), m.cross, "%g", m.x)
	}
	assert.True(t, st.panels[1].points[0].cross)
	drawn(t, func() (*Picture, error) { return Sweep(s, points, shown) })
}

// Maps have the figures at their places, from the least values up, whatever the order.
func TestSweepMapsAreGivenAsTheyAre(t *testing.T) {
	shown := []string{"rate_of_fire", "muzzle_velocity"}
	s, points := sweptPoints(t, shown, nil, "battery.series=3,2", "spring.rate=700,3000,650 N/m")
	m := sweepMaps(s, points, shown)
	assert.Equal(t, []float64{2, 3}, m.x)
	assert.Equal(t, []float64{650, 700, 3000}, m.y)
	assert.Equal(t, "spring.rate, N/m", m.up)
	require.Len(t, m.sheets, 2)
	good := 0
	for i, series := range []int{1, 0} {
		for k, rate := range []int{2, 0, 1} {
			p := points[series*3+rate]
			for n := range shown {
				want, got := p.Answer.Values[n], m.sheets[n].values[i][k]
				assert.True(t, want == got || math.IsNaN(want) && math.IsNaN(got), "%g", p.Values)
				assert.Equal(t, s.Good(p.Answer), m.sheets[n].good[i][k])
				assert.Equal(t, p.Answer.Findings.Broken(), m.sheets[n].faulty[i][k])
			}
			if s.Good(p.Answer) {
				good++
			}
		}
	}
	assert.Equal(t, 1, good)
	assert.Equal(t, []float64{20}, m.sheets[0].edges)
	assert.Len(t, m.sheets[1].edges, 2)
	drawn(t, func() (*Picture, error) { return Sweep(s, points, shown) })
	one, alone := sweptPoints(t, shown, nil, "battery.series=2", "spring.rate=700 N/m")
	drawn(t, func() (*Picture, error) { return Sweep(one, alone, shown) })
	_, err := Sweep(one, alone, nil)
	assert.ErrorContains(t, err, "no figure of the sweep")
	_, err = Sweep(s, points[1:], shown)
	assert.ErrorContains(t, err, "not all")
	three, all := sweptPoints(t, shown, nil, "battery.series=2", "spring.rate=700 N/m", "gears.ratio=12")
	_, err = Sweep(three, all, shown)
	assert.ErrorContains(t, err, "3 keys are more than a picture has sides")
}

// An edge between places is where a straight line puts it.
func TestContour(t *testing.T) {
	x, y := []float64{0, 1, 2}, []float64{0, 2}
	parts := contour(x, y, [][]float64{{0, 0}, {1, 1}, {2, 2}}, 1.25)
	require.Len(t, parts, 2, "of the two triangles of one cell")
	for _, p := range parts {
		assert.InDelta(t, 1.25, p[0].X, 1e-12)
		assert.InDelta(t, 1.25, p[1].X, 1e-12)
	}
	assert.Empty(t, contour(x, y, [][]float64{{0, 0}, {1, math.NaN()}, {2, 2}}, 1.25))
	assert.Equal(t, []float64{-0.5, 0.5, 1.5, 2.5}, borders([]float64{0, 1, 2}))
	assert.Equal(t, "0.0", inCell(-0.04, 1))
}
