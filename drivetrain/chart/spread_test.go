package chart

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/spread"
)

func spreadResult(t testing.TB, overrides ...string) *spread.Result {
	d, err := buildfile.DemoDocument(append([]string{"spring.rate=730 N/m ± 4 %", "pellet.hop_force=1 N ± 20 %"}, overrides...)...)
	require.NoError(t, err)
	draws := 128 // the fewest
	if effort.All() {
		draws = 256
	}
	r, err := spread.Run(context.Background(), spread.Question{Document: d}, spread.Settings{Draws: draws, Seed: 1})
	require.NoError(t, err)
	return r
}

// The bars of a density are the guns: all but those far out and those without the figure;
// the line has the same area; what is said to lie outside is what is missed.
func TestSpreadIsTheGuns(t *testing.T) {
	r := spreadResult(t)
	s := gunsOf(r)
	require.Len(t, s.rows, 2, "a row for each want")
	for i, row := range s.rows {
		all, area := 0., 0.
		for _, v := range row.bins {
			all += v
		}
		for _, v := range row.line {
			area += v * spreadBins / spreadLine
		}
		assert.InDelta(t, 1, all, .011, "half a per cent lies out on each side at most")
		assert.InDelta(t, all, area, .02)
		assert.True(t, i == 0 || row.lo < row.low && row.high < row.hi, "edges that aren't far are seen")
		assert.Contains(t, row.title, spread.PerMille(r.Wants[i].Share.Value)+" of 1000")
		for k := range row.drivers {
			d := row.drivers[k]
			assert.True(t, 0 <= d.first && d.first <= d.total && d.total <= 1)
			assert.True(t, k == 0 || d.total <= row.drivers[k-1].total, "largest first")
		}
	}
	assert.Equal(t, "spring.rate", s.rows[1].drivers[0].key)
	assert.True(t, strings.HasSuffix(s.rows[1].above, "\ntoo high"))
	assert.Empty(t, s.rows[0].below, "all fire fast enough")
}

// A bar that the band's edge cuts is shaded on the one side and not on the other.
func TestCutAt(t *testing.T) {
	n := math.NaN()
	for _, c := range []struct {
		low, high float64
		want      []stretch
	}{
		{n, n, []stretch{{0, 1, false}}},
		{2, n, []stretch{{0, 1, true}}},
		{.25, n, []stretch{{0, .25, true}, {.25, 1, false}}},
		{.25, .5, []stretch{{0, .25, true}, {.25, .5, false}, {.5, 1, true}}},
		{n, 0, []stretch{{0, 1, true}}},
	} {
		assert.Equal(t, c.want, cutAt(0, 1, c.low, c.high))
	}
}

// Builds of all sorts are drawn, in all formats and to the same bytes.
func TestSpreadPictures(t *testing.T) {
	for i, c := range []struct {
		name      string
		overrides []string
		says      []string
	}{
		{"good", nil, []string{"Woodland club rifle", "muzzle velocity of", "as wanted", "what drives it", "spring.rate"}},
		{"hopeless", []string{"target.muzzle_velocity={min: 300 m/s}"}, []string{"none of 1000 such guns meets the wish and stays whole", "wanted: far beyond, from 300", "too low"}},
		{"some are misfits", []string{"pellet.diameter=6.03 mm ± 0.06 mm"}, []string{"have none", "misfit"}},
		{"none fires", []string{"spring.rate=5000 N/m ± 2 %"}, []string{"none of the guns comes to it", "stall all"}},
		{"nothing is wanted", []string{"target="}, []string{"such guns stay whole", "rate of fire, /s"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := spreadResult(t, c.overrides...)
			encode := func(format string) []byte {
				p, err := Spread(r)
				require.NoError(t, err)
				var b bytes.Buffer
				require.NoError(t, p.Encode(&b, format))
				return b.Bytes()
			}
			svg := string(encode(".svg"))
			for _, part := range c.says {
				assert.Contains(t, svg, part)
			}
			assert.NotContains(t, svg, "NaN")
			assert.NotEmpty(t, encode(".pdf"))
			png := encode(".png")
			assert.NotEmpty(t, png)
			if i == 0 || effort.All() {
				assert.Equal(t, png, encode(".png"))
			}
		})
	}
	_, err := Spread(nil)
	assert.Error(t, err)
}
