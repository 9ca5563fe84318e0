package chart_test

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
)

func result(t testing.TB, overrides ...string) *cycle.Result {
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	r, err := cycle.Simulate(context.Background(), d.Build, cycle.Settings{})
	require.NoError(t, err)
	return r
}

func encode(t testing.TB, p *chart.Picture, format string) []byte {
	var b bytes.Buffer
	require.NoError(t, p.Encode(&b, format))
	return b.Bytes()
}

// drawn is a picture that can be drawn.
func drawn(p *chart.Picture, err error) *chart.Picture {
	if err != nil {
		panic(err)
	}
	return p
}

func TestPictureSaysWhatItShows(t *testing.T) {
	for _, c := range []struct {
		name      string
		axis      chart.Axis
		overrides []string
		want      []string
	}{
		{"over time", chart.OverTime, nil, []string{
			"Woodland club rifle", "22.0 rounds a second", "steady cycle", "first shot, from closing the switch", "time, ms", "current, A", "pack voltage, V",
			"motor speed, 1000 rpm", "piston travel, mm", "spring force in the pull, N", "release", "pickup", "inrush 75.3 A", "peak 23.5 A", "least 6.48 V"}},
		{"over angle", chart.OverAngle, []string{"tappet={from: 100 deg, to: 165 deg, work: 45 mJ}"}, []string{
			"sector angle, degrees", "release 254°", "next pickup", "tappet on", "tappet off"}},
		{"stall", chart.OverTime, []string{"spring.rate=2600 N/m"}, []string{"stalls at 250°", ">stall<", "stall 87.2 A", "from closing the switch to the stall"}},
		{"stall over angle", chart.OverAngle, []string{"spring.rate=2600 N/m"}, []string{"stall"}},
		{"stall from rest", chart.OverTime, []string{"spring.rate=6000 N/m"}, []string{"stalls at 0°"}},
		{"stall from rest over angle", chart.OverAngle, []string{"spring.rate=6000 N/m"}, []string{"stalls at 0°"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			svg := string(encode(t, drawn(chart.CycleOver(result(t, c.overrides...), c.axis)), ".svg"))
			for _, text := range c.want {
				assert.Contains(t, svg, text)
			}
			assert.NotContains(t, svg, "NaN")
			assert.NotContains(t, svg, "Inf")
		})
	}
}

var texts = regexp.MustCompile(`>([^<>]+)</text>`)

// says holds a picture's texts against parts of them.
func says(t *testing.T, svg string, parts ...string) {
	t.Helper()
	var all []string
	for _, m := range texts.FindAllStringSubmatch(svg, -1) {
		all = append(all, m[1])
	}
	joined := strings.Join(all, "\n")
	for _, part := range parts {
		assert.Contains(t, joined, part)
	}
	assert.NotContains(t, joined, "NaN")
}

func TestMotorPicture(t *testing.T) {
	constants := result(t).Motor
	one := chart.Named{Name: "Woodland club rifle", Characteristic: constants.Characteristic(8)}
	svg := string(encode(t, drawn(chart.Motor(one)), ".svg"))
	says(t, svg, "Woodland club rifle", "speed, 1000 rpm", "current, A", "power at the shaft, W", "efficiency, %", "torque at the shaft, mN m",
		"no load 18320 rpm, 1.9 A", "stall 136.6 A", "most power 224 W", "best 73 %")
	three := string(encode(t, drawn(chart.Motor(one, chart.Named{Name: "B", Characteristic: constants.Characteristic(11)},
		chart.Named{Name: "too little", Characteristic: constants.Characteristic(0.2)})),
		".svg"))
	says(t, three, "Woodland club rifle and 2 others", "B, 11.00 V: 25480 rpm without load, best 75 %", "too little, 0.20 V: does not turn")
}

func TestFlightPictures(t *testing.T) {
	r := result(t)
	says(t, string(encode(t, drawn(chart.Flight(r.Flight)), ".svg")), "Woodland club rifle", "119.7 m/s (393 ft/s), 1.43 J", "impact of the piston at 2.9 m/s",
		"port shuts", "pellet starts", "muzzle", "impact", "home, 11.60 ms", "pressure, kPa", "spring force, N", "pellet speed, m/s", "time from the release, ms")
	stuck := result(t, "pellet.hop_force=200 N")
	says(t, string(encode(t, drawn(chart.Flight(stuck.Flight)), ".svg")), "the pellet stays in the barrel")
	says(t, string(encode(t, drawn(chart.Flights("Two", chart.NamedFlight{Name: "A", Result: r.Flight}, chart.NamedFlight{Name: "B", Result: stuck.Flight})), ".svg")),
		"Two", "A: home after 11.60 ms", "B: home after")
	soft := result(t, "spring.rate=40 N/m", "piston.drag=30 N")
	says(t, string(encode(t, drawn(chart.Flights("Held", chart.NamedFlight{Name: "C", Result: soft.Flight})), ".svg")), "C: does not come home")
	says(t, string(encode(t, drawn(chart.Cycle(soft)), ".svg")), "the piston does not come home")
	says(t, string(encode(t, drawn(chart.Cycle(result(t, "battery.series=3"))), ".svg")), "premature engagement: home 3.7 ms too late")
	m, err := flight.FindMatch(context.Background(), r.Build, flight.Settings{Tolerance: 1e-5})
	require.NoError(t, err)
	says(t, string(encode(t, drawn(chart.Match(r.Build, m)), ".svg")), "swept volume 16.0 cm3", "as built", "port position, mm")
	open := *r.Build
	open.Cylinder.Port = 0
	m, err = flight.FindMatch(context.Background(), &open, flight.Settings{Tolerance: 1e-5})
	require.NoError(t, err)
	says(t, string(encode(t, drawn(chart.Match(&open, m)), ".svg")), "as built, no port open")
}

// A pellet that leaves when the sector has come round already is not marked on the
// pull that has begun by then.
func TestMuzzleBehindThePickup(t *testing.T) {
	late := []string{"trigger.mode=single", "motor.armature.turns=20", "motor.armature.wire=0.75 mm", "spring.rate=300 N/m"}
	muzzles := func(overrides ...string) int {
		return strings.Count(string(encode(t, drawn(chart.Cycle(result(t, overrides...))), ".svg")), ">muzzle<")
	}
	assert.Equal(t, 1, muzzles(late...), "of two shots, the second one's")
	assert.Equal(t, 1, muzzles("trigger.mode=single"))
}

func TestConvergencePicture(t *testing.T) {
	p, err := chart.Convergence("Demo", []float64{1e-3, 1e-6, 1e-9}, []string{"rate of fire", "inrush"}, [][]float64{{1e-5, 1e-8, 0}, {1e-4, 1e-7, 1e-10}})
	require.NoError(t, err)
	says(t, string(encode(t, p, ".svg")), "Demo", "rate of fire", "inrush", "the promise", "tolerance, power of ten")
}

func TestComparePicture(t *testing.T) {
	fires, stalls := result(t), result(t, "spring.rate=2600 N/m", "name=A very long name of a build that would never go onto one line of a picture")
	svg := string(encode(t, drawn(chart.Compare([]*cycle.Result{fires, stalls})), ".svg"))
	says(t, svg, "Woodland club rifle and A very long name of a", "1  Woodland club rifle: 22.0 rounds a second, 16.2 A RMS", "stalls at 250°", "time, ms", "pack voltage, V")
	assert.NotContains(t, svg, "NaN")
	many := make([]*cycle.Result, 13)
	for i := range many {
		many[i] = fires
	}
	assert.NotEmpty(t, encode(t, drawn(chart.Compare(many)), ".pdf"))
}

func TestPNG(t *testing.T) {
	img, err := png.Decode(bytes.NewReader(encode(t, drawn(chart.Cycle(result(t))), ".png")))
	require.NoError(t, err)
	assert.Greater(t, img.Bounds().Dx(), 1000)
	r, g, b, a := img.At(3, 3).RGBA()
	assert.Equal(t, []uint32{0xffff, 0xffff, 0xffff, 0xffff}, []uint32{r, g, b, a}, "a white ground")
	assert.Greater(t, inked(img), 0.01, "something is drawn")
}

// inked is the share of pixels that are not white.
func inked(img image.Image) float64 {
	n, all := 0, 0
	for y := img.Bounds().Min.Y; y < img.Bounds().Max.Y; y += 2 {
		for x := img.Bounds().Min.X; x < img.Bounds().Max.X; x += 2 {
			if r, _, _, _ := img.At(x, y).RGBA(); r < 0x8000 {
				n++
			}
			all++
		}
	}
	return float64(n) / float64(all)
}

func TestSameBytes(t *testing.T) {
	for _, format := range chart.Formats() {
		one, two := encode(t, drawn(chart.Cycle(result(t))), format), encode(t, drawn(chart.Cycle(result(t))), format)
		assert.True(t, bytes.Equal(one, two), format)
		if format == ".pdf" {
			assert.Contains(t, string(one), "/CreationDate (D:20000101000000")
		}
	}
}

func TestPDFTextEncoding(t *testing.T) {
	r := result(t)
	b := *r.Build
	b.Name = "Größe Ω"
	r.Build = &b
	assert.NotEmpty(t, encode(t, drawn(chart.Cycle(r)), ".pdf"), "letters outside of the font's encoding do no harm")
	assert.Contains(t, string(encode(t, drawn(chart.Cycle(r)), ".svg")), "Größe Ω")
}

func TestSave(t *testing.T) {
	dir := t.TempDir()
	p := drawn(chart.Cycle(result(t)))
	for _, name := range []string{"a b.png", "c.SVG", "d.pdf"} {
		path := filepath.Join(dir, name)
		require.NoError(t, p.Save(path))
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Positive(t, info.Size())
	}
	assert.ErrorContains(t, p.Save(filepath.Join(dir, "e.bmp")), `no picture format goes with the ending ".bmp"; wanted one of .png, .svg, .pdf`)
	assert.Error(t, p.Save(filepath.Join(dir, "missing", "f.png")))
	assert.Error(t, p.Encode(&strings.Builder{}, ".gif"))
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 3, "nothing else is left")
}

func BenchmarkCyclePNG(b *testing.B) {
	r := result(b)
	for b.Loop() {
		encode(b, drawn(chart.Cycle(r)), ".png")
	}
}

func ExampleCycle() {
	r, err := cycle.Simulate(context.Background(), buildfile.Demo(), cycle.Settings{})
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
	path := filepath.Join(dir, "cycle.svg")
	picture, err := chart.Cycle(r)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(picture.Save(path))
	// Output: <nil>
}
