package chart

import (
	"context"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/pickup"
)

// narrowPictures are those of a page, of a build that is set, by name.
func narrowPictures(t *testing.T, set ...string) map[string]*Picture {
	d, err := buildfile.DemoDocument(set...)
	require.NoError(t, err)
	ctx := context.Background()
	r, err := cycle.Simulate(ctx, d.Build, cycle.Settings{})
	require.NoError(t, err)
	h, err := heat.Simulate(ctx, d.Build, buildfile.DemoPlan(), heat.Settings{Trace: true})
	require.NoError(t, err)
	w, err := pickup.Analyse(ctx, d.Build, pickup.Settings{})
	require.NoError(t, err)
	all := map[string]*Picture{}
	add := func(name string) func(*Picture, error) {
		return func(p *Picture, err error) {
			if !errors.Is(err, ErrNothing) {
				require.NoError(t, err)
				all[name] = p.Narrow()
			}
		}
	}
	add("cycle")(Cycle(r))
	if r.Flight != nil {
		add("flight")(FlightIn(r))
	}
	add("heat")(Heat(h))
	add("pickup")(Pickup(w))
	add("energy")(Energy(r))
	add("compare")(Compare([]*cycle.Result{r, r}))
	return all
}

// Texts and lines of narrow pictures stay within them, of every kind of build.
func TestNarrowPicturesKeepWithin(t *testing.T) {
	for name, set := range map[string][]string{
		"good": nil, "stall": {"spring.rate=4000 N/m"}, "premature": {"battery.series=3"}, "blocked": {"rack.taken_down=", "rack.pickup_offset=3 mm"},
		"single": {"trigger.mode=single", "harness.switch.mosfet.active_braking=true"}, "long name": {"name=" + strings.Repeat("W", 120)},
	} {
		for kind, p := range narrowPictures(t, set...) {
			var b strings.Builder
			require.NoError(t, p.Inline(&b, `a "picture" <of>`))
			width, height := p.width.Points(), p.height.Points()
			d := xml.NewDecoder(strings.NewReader(b.String()))
			texts := 0
			for {
				token, err := d.Token()
				if err == io.EOF {
					break
				}
				require.NoError(t, err)
				e, ok := token.(xml.StartElement)
				if !ok {
					continue
				}
				at := map[string]float64{}
				for _, a := range e.Attr {
					assert.NotContains(t, []string{"id", "style", "href", "xmlns"}, a.Name.Local)
					at[a.Name.Local], _ = strconv.ParseFloat(a.Value, 64)
					if a.Name.Local == "aria-label" {
						assert.Equal(t, `a "picture" <of>`, a.Value)
					}
					if a.Name.Local == "d" {
						for _, m := range regexp.MustCompile(`(-?[0-9.]+) (-?[0-9.]+)`).FindAllStringSubmatch(a.Value, -1) {
							x, _ := strconv.ParseFloat(m[1], 64)
							y, _ := strconv.ParseFloat(m[2], 64)
							if x < -0.1 || y < -0.1 || x > width+0.1 || y > height+0.1 {
								t.Fatalf("%s, %s: a line at %g, %g of %g, %g", name, kind, x, y, width, height)
							}
						}
					}
				}
				if e.Name.Local == "text" {
					texts++
					assert.GreaterOrEqual(t, at["x"], -0.1, "%s, %s", name, kind)
					assert.LessOrEqual(t, at["x"]+at["textLength"], width+0.1, "%s, %s", name, kind)
					assert.True(t, at["y"] > 0 && at["y"] <= height, "%s, %s", name, kind)
				}
			}
			assert.Greater(t, texts, 5)
			assert.Less(t, b.Len(), 90_000, "%s, %s", name, kind)
		}
	}
}

// A thinned line keeps its ends, and each point of the old one lies near it.
func TestThinned(t *testing.T) {
	var line [][2]float64
	for i := range 1000 {
		x := float64(i) / 10
		line = append(line, [2]float64{x, 10*math.Sin(x/3) + math.Cos(7*x)})
	}
	const near = 0.08
	got := thinned(line, near)
	assert.Less(t, len(got), 700)
	assert.Equal(t, line[0], got[0])
	assert.Equal(t, line[999], got[len(got)-1])
	for _, p := range line {
		least := math.Inf(1)
		for i := range got[1:] {
			a, e := got[i], got[i+1]
			dx, dy := e[0]-a[0], e[1]-a[1]
			along := min(max(((p[0]-a[0])*dx+(p[1]-a[1])*dy)/(dx*dx+dy*dy), 0), 1)
			least = min(least, math.Hypot(p[0]-a[0]-along*dx, p[1]-a[1]-along*dy))
		}
		assert.LessOrEqual(t, least, near+1e-9)
	}
	assert.Len(t, thinned([][2]float64{{0, 0}, {1, 1}, {2, 2}, {3, 3}}, near), 2)
}

// A cubic with its control points on a line is that line; the middle of a quadratic one
// lies half way to its control point.
func TestBend(t *testing.T) {
	var last, middle vg.Point
	n := 0
	bend(vg.Point{}, vg.PathComp{Type: vg.CurveComp, Control: []vg.Point{{X: 1, Y: 2}}, Pos: vg.Point{X: 2}}, func(p vg.Point) {
		if n++; n == 6 {
			middle = p
		}
		last = p
	})
	assert.InDelta(t, 1, float64(middle.X), 1e-12)
	assert.InDelta(t, 1, float64(middle.Y), 1e-12)
	assert.Equal(t, vg.Point{X: 2}, last)
}

// The bars are the ledger: what the battery gives, and rows that sum up to it.
func TestEnergyBars(t *testing.T) {
	r, err := cycle.Simulate(context.Background(), buildfile.Demo(), cycle.Settings{})
	require.NoError(t, err)
	bars := energyBars(r)
	sum := 0.
	for _, b := range bars[1:] {
		sum += b.energy
		assert.InDelta(t, b.energy/bars[0].energy, b.share, 1e-12)
	}
	assert.InDelta(t, bars[0].energy, sum, 5e-4*bars[0].energy, "but for what is too little to be seen")
	assert.Equal(t, "pellet", bars[len(bars)-1].name)
	_, err = Energy(nil)
	assert.ErrorIs(t, err, ErrNothing)
}
