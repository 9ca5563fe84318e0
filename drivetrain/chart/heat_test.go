package chart_test

import (
	"bytes"
	"context"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/heat"
)

func heated(t testing.TB, p *heat.Plan, overrides ...string) *heat.Result {
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	r, err := heat.Simulate(context.Background(), d.Build, p, heat.Settings{Trace: true})
	require.NoError(t, err)
	return r
}

func TestHeatPicture(t *testing.T) {
	says(t, string(encode(t, drawn(chart.Heat(heated(t, buildfile.DemoPlan()))), ".svg")),
		"Woodland club rifle", "Woodland morning: 400 rounds in 7.8 min, 20 °C around", "no part reaches its limit in this plan", "temperature, °C", "switch, fuse, °C",
		"way to the limit, %", "rate of fire, 1/s", "time, min", "winding: up to 34 °C\nlimit 155 °C", "fuse: up to 129 °C\nlimit 420 °C")
	pulls := &heat.Plan{Name: "Pulls", Ambient: 303.15, Repeat: 1, Steps: []heat.Step{{Rounds: 200, Pause: 5, Repeat: 3, FreshPack: true}}}
	says(t, string(encode(t, drawn(chart.Heat(heated(t, pulls, "harness.lead={gauge: 24 AWG, length: 600 mm}"))), ".svg")),
		"30 °C around", "first to give out: leads, after", "reached after", "leads, round", "time, s")
	says(t, string(encode(t, drawn(chart.Heat(heated(t, pulls, "harness.fuse={rating: 8 A}", "harness.connectors="))), ".svg")), "ends with the fuse", "fuse, round")
	says(t, string(encode(t, drawn(chart.Heat(heated(t, pulls, "spring.rate=4000 N/m"))), ".svg")), "ends with a stall", "no round is fired: the motor stalls in the first")
	day := &heat.Plan{Name: "Day", Repeat: 10, Steps: []heat.Step{{Rounds: 30, Pause: 20, Repeat: 20, FreshPack: true}, {Pause: 3000, Repeat: 1}}}
	long := heated(t, day)
	svg := encode(t, drawn(chart.Heat(long)), ".svg")
	says(t, string(svg), "time, h", "6000 rounds in")
	assert.Less(t, len(svg), 3<<20, "many points are thinned")
	assert.NotEmpty(t, encode(t, drawn(chart.Heat(long)), ".pdf"))
	picture := encode(t, drawn(chart.Heat(heated(t, pulls))), ".png")
	img, err := png.Decode(bytes.NewReader(picture))
	require.NoError(t, err)
	assert.Greater(t, img.Bounds().Dy(), 1000)
	assert.Equal(t, picture, encode(t, drawn(chart.Heat(heated(t, pulls))), ".png"), "the same bytes")
}
