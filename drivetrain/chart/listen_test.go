package chart

import (
	"bytes"
	"context"
	"math"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/plotter"

	"example.org/ampstroke/drivetrain/listen"
	"example.org/ampstroke/drivetrain/listen/listentest"
)

func listened(t *testing.T, name string) *listen.Result {
	file, err := os.ReadFile("../../testdata/listen/" + name + ".wav")
	require.NoError(t, err)
	r, err := listen.Listen(context.Background(), bytes.NewReader(file), listen.Settings{})
	require.NoError(t, err)
	return r
}

// The picture of a recording shows the sound, the onsets and, below, how the times between
// shots are spread and when the sound repeats.
func TestListenIsGivenAsHeard(t *testing.T) {
	r := listened(t, "plain")
	top, left, right := heard("plain.wav", r)
	assert.Equal(t, []string{"sound", "onset strength"}, labels(top))
	assert.Equal(t, [2]float64{0, 1.25}, [2]float64{top.lo, top.hi})
	assert.Contains(t, top.subtitle, "22.07 rounds a second ± 0.02")
	assert.Contains(t, top.subtitle, "22 shots, 1 burst")

	c := &r.Course
	same(t, top.panels[1].lines[0].xy, len(c.Strength), func(i int) (x, y float64) { return c.Start + float64(i)*c.Step, c.Strength[i] }, "strength")
	assert.Equal(t, plotter.XYs{{X: 0, Y: r.Threshold}, {X: 1.25, Y: r.Threshold}}, top.panels[1].lines[1].xy)

	wave := top.panels[0].bands[0]
	least, most := math.Inf(1), math.Inf(-1)
	for i := range wave.lo {
		least, most = min(least, wave.lo[i].Y), max(most, wave.hi[i].Y)
	}
	assert.Equal(t, [2]float64{slices.Min(c.Least), slices.Max(c.Most)}, [2]float64{least, most}, "nothing is lost of the sound")
	assert.InDelta(t, 1.25, wave.lo[len(wave.lo)-1].X, 0.002)
	assert.LessOrEqual(t, len(wave.lo), 1200)
	require.Len(t, top.panels[0].points, 22)
	for i, m := range top.panels[0].points {
		assert.Equal(t, r.Bursts[0].Places[i].Time, m.x)
		assert.Greater(t, m.y, most)
		assert.False(t, m.open || m.pale)
	}

	assert.Equal(t, "time between shots, ms", left.axis)
	total := 0.
	bars := left.panels[0].bands[0]
	for i := 0; i < len(bars.hi); i += 2 {
		total += bars.hi[i].Y
	}
	assert.Equal(t, 21., total, "every interval is counted")
	assert.InDelta(t, 1e3/r.RateOfFire, left.moments[0].x, 1e-9)
	assert.Equal(t, "T 45.31 ms ± 0.03 ms", left.moments[0].name)
	assert.InDelta(t, left.moments[0].x, (left.moments[1].x+left.moments[2].x)/2, 1e-9)
	for _, b := range r.Bursts {
		for i := range b.Places[1:] {
			gap := 1e3 * (b.Places[i+1].Time - b.Places[i].Time)
			assert.True(t, gap > left.lo && gap < left.hi)
		}
	}

	assert.Equal(t, "lag, ms", right.axis)
	same(t, right.panels[0].lines[0].xy, len(c.Repeats), func(i int) (x, y float64) { return 1e3 * float64(i) * c.Step, c.Repeats[i] }, "likeness")
	assert.Equal(t, []string{"T", "2 T", "3 T"}, []string{right.moments[0].name, right.moments[1].name, right.moments[2].name})
	for i, m := range right.moments {
		assert.InDelta(t, float64(i+1)*1e3/r.Bursts[0].Rate, m.x, 1e-9)
		lag := int(math.Round(m.x / 1e3 / c.Step))
		assert.Greater(t, c.Repeats[lag], 0.5, "there the sound repeats")
	}
}

// Missed shots are rings, what doesn't count is grey, and without a burst there is nothing
// to show below.
func TestListenMarks(t *testing.T) {
	top, _, _ := heard("voices.wav", listened(t, "voices"))
	open, pale := 0, 0
	for _, m := range top.panels[0].points {
		if m.open {
			open++
		}
		if m.pale {
			pale++
		}
	}
	assert.Equal(t, [2]int{3, 16}, [2]int{open, pale})
	top, left, right := heard("single-shots.wav", listened(t, "single-shots"))
	assert.Len(t, top.panels[0].points, 4)
	assert.Contains(t, top.subtitle, "4 shots, no burst of three")
	assert.True(t, left == nil && right == nil)
	top, left, _ = heard("nothing.wav", listened(t, "nothing-but-noise"))
	assert.Empty(t, top.panels[0].points)
	assert.Contains(t, top.subtitle, "no shot was heard: the loudest onset is 1.4, the threshold 1.8")
	assert.Nil(t, left)
}

// Every recording can be drawn in every format, and the same one gives the same bytes.
func TestListenPictures(t *testing.T) {
	silent, err := listen.Listen(t.Context(), bytes.NewReader(listentest.WAV(8000, listentest.Kind{Bits: 16}, nil)), listen.Settings{})
	require.NoError(t, err)
	for name, r := range map[string]*listen.Result{"bursts": listened(t, "three-bursts"), "noise": listened(t, "nothing-but-noise"), "no samples": silent} {
		for _, format := range Formats() {
			var a, b bytes.Buffer
			for _, to := range []*bytes.Buffer{&a, &b} {
				p, err := Listen(name, r)
				require.NoError(t, err)
				require.NoError(t, p.Encode(to, format))
			}
			assert.NotEmpty(t, a.Bytes())
			assert.Equal(t, a.Bytes(), b.Bytes())
		}
	}
	for _, r := range []*listen.Result{nil, {RateOfFire: math.NaN()}} {
		_, err := Listen("none", r)
		assert.ErrorIs(t, err, ErrNothing)
	}
}
