package chart_test

import (
	"bytes"
	"image/png"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/fit"
)

func fitted(t testing.TB, text string, s fit.Settings) *fit.Result {
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	file, err := buildfile.ParseReadings("r.yaml", []byte(text))
	require.NoError(t, err)
	r, err := fit.Run(t.Context(), d, file, s)
	require.NoError(t, err)
	return r
}

const somewhat = `readings:
- {figure: rate_of_fire, value: 21.4 /s ± 0.2 /s}
- {figure: muzzle_velocity, value: 99.8 m/s ± 1 m/s, with: {pellet.mass: 0.28 g}}
- {figure: stall_current, value: 69 A ± 2 A, supply: 4.2 V}
free: [gears.efficiency, spring.rate, pellet.barrel_drag]
`

func TestFitPicture(t *testing.T) {
	r := fitted(t, somewhat, fit.Settings{})
	svg := string(encode(t, drawn(chart.Fit("Club rifle", "Bench evening", r)), ".svg"))
	says(t, svg, "Club rifle", "Bench evening: p = ", "not proved of this gun", "1  rate of fire", "2  muzzle velocity, mass 0.28 g", "3  stall current at 4.2 V",
		"gears.efficiency", "spring.rate", "not told", "reading ± 2", "known now ± 2", "standard deviations")
	assert.Equal(t, 1, strings.Count(svg, ">not told<"), "the pellet's drag alone")
	assert.NotContains(t, svg, ">outlier<")
	assert.NotContains(t, svg, "Inf")

	// Far apart: arrows with numbers at the edges, outliers marked, no p where it is robust.
	far := fitted(t, strings.Replace(somewhat, "21.4 /s", "29 /s", 1), fit.Settings{Robust: true})
	require.NotEmpty(t, far.Outliers())
	svg = string(encode(t, drawn(chart.Fit("Club rifle", "Bench evening", far)), ".svg"))
	says(t, svg, "fitted robustly", "outlier", "-70")
	assert.NotContains(t, svg, "p = ")

	// One reading of one unknown has room for its legend.
	one := fitted(t, "readings: [{figure: spring_peak_force, value: 74 N ± 1 N}]\nfree: [spring.rate]\n", fit.Settings{})
	says(t, string(encode(t, drawn(chart.Fit("A", "B", one)), ".svg")), "spring.rate", "nothing learnt")
}

func TestFitPictureBytes(t *testing.T) {
	p := drawn(chart.Fit("Club rifle", "Bench evening", fitted(t, somewhat, fit.Settings{})))
	first := encode(t, p, ".png")
	assert.Equal(t, first, encode(t, p, ".png"))
	_, err := png.Decode(bytes.NewReader(first))
	assert.NoError(t, err)
	assert.NotEmpty(t, encode(t, p, ".pdf"))
	for _, none := range []*fit.Result{nil, {}} {
		_, err := chart.Fit("A", "B", none)
		assert.ErrorIs(t, err, chart.ErrNothing)
	}
}
