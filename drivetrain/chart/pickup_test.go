package chart_test

import (
	"bytes"
	"context"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/pickup"
)

func picked(t testing.TB, overrides ...string) *pickup.Result {
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	r, err := pickup.Analyse(context.Background(), d.Build, pickup.Settings{})
	require.NoError(t, err)
	return r
}

func TestPickupPicture(t *testing.T) {
	for _, c := range []struct {
		name      string
		overrides []string
		want      []string
	}{
		{"demo", nil, []string{
			"Woodland club rifle", "as it stands: flank on flank", "after the work: flank on flank", "11.6°", "0.4°", "tooth 3: down by 1.38 mm",
			"2.60 mm ahead of flush", "0.10 mm ahead of flush", "spacer 2.50 mm", "5 mm", "contact angle 11.6°", "no promise", "stroke 53.1 mm", "stroke 50.6 mm", "119.7 m/s", "118.3 m/s"}},
		{"teeth in the way", []string{"rack.taken_down=", "rack.pickup_offset=3 mm"}, []string{
			"but rack tooth 2 is in the way", "contact angle 13.5°, but tooth 2 is met first, at 27.7°", "tooth 2: down by 2.20 mm", "tooth 3: down by 1.42 mm", "flush"}},
		{"late, with a spacer in", []string{"rack.pickup_offset=-1 mm", "piston.spacer=0.5 mm"}, []string{"1.50 mm behind flush", "spacer 0.50 mm"}},
		{"some of the spacer new", []string{"piston.spacer=0.5 mm"}, []string{"spacer 0.50 mm", "spacer 2.50 mm, 2.00 mm of it new"}},
		{"late piston", []string{"battery.series=3"}, []string{"premature engagement: home 3.7 ms too late"}},
		{"tip on tip", []string{"rack.pickup_offset=7.6 mm", "rack.taken_down="}, []string{"as it stands: tip on tip"}},
		{"stall", []string{"spring.rate=2400 N/m"}, []string{"release tooth"}},
		{"two lobes, few teeth", []string{"sector.teeth=10", "sector.lobes=2", "rack.teeth=10"}, []string{"Woodland club rifle"}},
		{"fine teeth", []string{"sector.module=0.4 mm", "sector.full_teeth=60", "sector.teeth=40", "rack={teeth: 40, pickup_offset: 1 mm}"}, []string{"Woodland club rifle"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := picked(t, c.overrides...)
			svg := string(encode(t, drawn(chart.Pickup(r)), ".svg"))
			says(t, svg, c.want...)
			assert.Equal(t, 2, strings.Count(svg, "stroke "), "one stroke a state")
			assert.NotContains(t, svg, "Inf")
			assert.NotContains(t, svg, "NaN")
		})
	}
}

func TestPickupPictureBytes(t *testing.T) {
	r := picked(t)
	for _, format := range chart.Formats() {
		assert.True(t, bytes.Equal(encode(t, drawn(chart.Pickup(r)), format), encode(t, drawn(chart.Pickup(r)), format)), format)
	}
	img, err := png.Decode(bytes.NewReader(encode(t, drawn(chart.Pickup(r)), ".png")))
	require.NoError(t, err)
	assert.Greater(t, inked(img), 0.01)
}

func ExamplePickup() {
	r, err := pickup.Analyse(context.Background(), buildfile.Demo(), pickup.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	dir, err := os.MkdirTemp("", "example")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	picture, err := chart.Pickup(r)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(picture.Save(filepath.Join(dir, "pickup.pdf")))
	// Output: <nil>
}
