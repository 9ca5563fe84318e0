package chart

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/heat"
)

// pulled is what Pull makes of a result.
func pulled(r *cycle.Result) *stack { return cycleStack(wholePull(r), OverTime) }

// oddOnes are the results of builds of all kinds, fired once for all tests.
var oddOnes struct {
	sync.Once
	results map[string]*cycle.Result
}

func oddResults(t *testing.T) map[string]*cycle.Result {
	all := map[string]*cycle.Result{}
	for name, overrides := range map[string][]string{
		"demo": nil, "slow": {"gears.ratio=40"}, "many turns": {"motor.armature.turns=75", "motor.armature.wire=0.35 mm"}, "few turns": {"motor.armature.turns=8"},
		"stall": {"spring.rate=3000 N/m"}, "three cells": {"battery.series=3"}, "stuck": {"pellet.hop_force=200 N"},
		"single": {"trigger.mode=single", "harness.switch.mosfet.active_braking=true"}, "burst": {"trigger.rounds=50"}, "late burst": {"trigger.rounds=3", "battery.series=3"},
		"long name": {"name=" + strings.Repeat("Ww ", 39) + "!"},
	} {
		all[name] = fired(t, overrides...)
	}
	return all
}

// oddBuilds are pictures whose names stand close together.
func oddBuilds(t *testing.T) map[string]*stack {
	oddOnes.Do(func() { oddOnes.results = oddResults(t) })
	all := map[string]*stack{}
	for name, r := range oddOnes.results {
		all[name+" over time"], all[name+" over angle"] = cycleStack(r, OverTime), cycleStack(r, OverAngle)
		if r.Flight != nil {
			all[name+", flight"] = flightInStack(r)
		}
		if r.Pull != nil {
			all[name+", pull"] = pulled(r)
		}
		all[name+", motor"] = motorStack([]Named{{r.Build.Name, r.Motor.Characteristic(8)}})
		all[name+", compared"] = compareStack([]*cycle.Result{r, oddOnes.results["demo"]})
	}
	return all
}

// written are the names in panel i of a stack, on a canvas of the usual size.
func written(s *stack, i int) (all []label, dots []vg.Point, c draw.Canvas) {
	var rec recorder.Canvas
	c = draw.NewCanvas(&rec, 14*vg.Centimeter, 3.6*vg.Centimeter)
	p := s.plot(i)
	for _, m := range s.panels[i].points {
		dots = append(dots, vg.Point{X: c.X(p.X.Norm(m.x)), Y: c.Y(p.Y.Norm(m.y))})
	}
	return s.labels(i, p, c), dots, c
}

func TestNamesCoverNoOthers(t *testing.T) {
	seen := 0
	for what, s := range oddBuilds(t) {
		for i := range s.panels {
			all, dots, c := written(s, i)
			named := 0
			for _, m := range s.panels[i].points {
				if m.name != "" {
					named++
				}
			}
			require.Len(t, all, named, "%s, panel %d: each name is written", what, i)
			for k, l := range all {
				seen++
				for _, o := range all[:k] {
					assert.False(t, overlap(l.box, o.box, 0), "%s: %s over %s", what, l.name, o.name)
				}
				for _, at := range dots {
					assert.True(t, at == l.dot || !covers(l.box, at, 0), "%s: %s over a dot", what, l.name)
				}
				assert.True(t, l.box.Min.X >= c.Min.X && l.box.Max.X <= c.Max.X && l.box.Min.Y >= c.Min.Y && l.box.Max.Y <= c.Max.Y, "%s: %s inside", what, l.name)
			}
		}
	}
	assert.Greater(t, seen, 100)
}

// A name stands aside where another dot is.
func TestNamesMakeWayForDots(t *testing.T) {
	s := &stack{hi: 100, panels: []panel{{least: 0, span: 1, points: []mark{{x: 50, y: 5, name: "peak 5.0 A"}, {x: 53, y: 5.8}, {x: 50, y: 10}}}}}
	all, dots, _ := written(s, 0)
	require.Len(t, all, 1)
	for _, at := range dots[1:] {
		assert.False(t, covers(all[0].box, at, 0))
	}
	alone := &stack{hi: 100, panels: []panel{{least: 0, span: 1, points: []mark{{x: 50, y: 5, name: "peak 5.0 A"}, {x: 50, y: 10}}}}}
	free, _, _ := written(alone, 0)
	assert.NotEqual(t, free[0].box, all[0].box, "where it would stand else")
}

// Where there is room, a name stands beside the curves.
func TestNamesStandBesideCurves(t *testing.T) {
	for _, c := range []struct {
		name  string
		s     *stack
		panel int
	}{
		{"the piston's coming home", flightInStack(fired(t)), 2}, {"the peak of a slow build", cycleStack(fired(t, "gears.ratio=40"), OverTime), 0},
		{"home and muzzle of a slow build", cycleStack(fired(t, "gears.ratio=40"), OverTime), 3},
	} {
		all, _, canvas := written(c.s, c.panel)
		require.NotEmpty(t, all)
		p := c.s.plot(c.panel)
		for _, l := range all {
			for _, line := range c.s.panels[c.panel].lines {
				for _, v := range line.xy {
					at := vg.Point{X: canvas.X(p.X.Norm(v.X)), Y: canvas.Y(p.Y.Norm(v.Y))}
					assert.False(t, covers(l.box, at, 0), "%s: %s lies on a curve", c.name, l.name)
				}
			}
		}
	}
}

// Names of moments stand in few rows, each name at least once, none over another.
func TestMomentsAreThinnedOut(t *testing.T) {
	const width = 19 * vg.Centimeter
	for what, s := range oddBuilds(t) {
		s.arrange(width)
		assert.LessOrEqual(t, s.rows, mostRows+1, what)
		across := width - leftMargin - rightMargin - 1.4*vg.Centimeter
		ends, first := map[int][][2]vg.Length{}, map[string]bool{}
		for _, m := range s.moments {
			if m.bare {
				continue
			}
			first[m.name] = true
			half := letters(8.5, ink).Width(m.name) / 2
			at := min(max(vg.Length((m.x-s.lo)/(s.hi-s.lo))*across, half), across-half)
			for _, o := range ends[m.row] {
				assert.False(t, at-half < o[1] && o[0] < at+half, "%s: %s over another", what, m.name)
			}
			ends[m.row] = append(ends[m.row], [2]vg.Length{at - half, at + half})
		}
		for _, m := range s.moments {
			assert.True(t, first[m.name], "%s: %s is named once at least", what, m.name)
		}
	}
	crowd := &stack{hi: 100}
	for i := range mostAlike {
		crowd.moments = append(crowd.moments, moment{x: 50 + float64(i)/10, name: "pickup"})
	}
	crowd.arrange(width)
	assert.Equal(t, mostRows, crowd.rows, "names that all stand at one place")
	burst := pulled(fired(t, "trigger.rounds=50"))
	burst.arrange(width)
	count := map[string]int{}
	for _, m := range burst.moments {
		if !m.bare {
			count[m.name]++
		}
	}
	require.Greater(t, len(burst.moments), 100, "each has its line")
	assert.Equal(t, 2, count["release"], "the first and the last")
	assert.LessOrEqual(t, count["pickup"], 2)
	assert.Equal(t, 1, count["switch opens"])
}

// Where the sector meets a rack that isn't home is marked in every picture that shows the
// piston, at the place and time of the trace itself, and said above.
func TestPrematureEngagementIsMarked(t *testing.T) {
	crosses := func(s *stack, panel int) (all []mark) {
		for i := range s.panels {
			for _, m := range s.panels[i].points {
				if m.cross {
					require.Equal(t, panel, i)
					all = append(all, m)
				}
			}
		}
		return all
	}
	r := fired(t, "battery.series=3")
	end := r.Steady.Before(r.Steady.Duration())
	require.Greater(t, end.Travel, 5e-3)
	for axis, x := range map[Axis]float64{OverTime: 1e3 * r.Summary.Period, OverAngle: deg(end.Angle)} {
		s := cycleStack(r, axis)
		all := crosses(s, 3)
		require.Len(t, all, 1)
		assert.Equal(t, namePME, all[0].name)
		assert.InDelta(t, x, all[0].x, 1e-6*x)
		assert.InDelta(t, 1e3*end.Travel, all[0].y, 1e-3)
		assert.Contains(t, s.second, "premature engagement: home 3.7 ms too late")
	}
	s := flightInStack(r)
	all := crosses(s, 2)
	require.Len(t, all, 1)
	assert.InDelta(t, 1e3*r.Summary.FreeTime, all[0].x, 1e-9)
	assert.InDelta(t, 1e3*r.Flight.Trace.At(r.Summary.FreeTime).Travel, all[0].y, 1e-3)
	assert.Contains(t, s.second, fmt.Sprintf("premature engagement: the sector meets the rack after %.2f ms, 11.2 mm from home", 1e3*r.Summary.FreeTime))

	burst := fired(t, "battery.series=3", "trigger.rounds=3")
	s = pulled(burst)
	all = crosses(s, 3)
	require.Len(t, all, 3)
	var pickups []cycle.Event
	for _, e := range burst.Pull.Trace.Events {
		if e.Kind == cycle.Pickup {
			pickups = append(pickups, e)
		}
	}
	require.Len(t, pickups, 3)
	for i, m := range all {
		assert.InDelta(t, 1e3*pickups[i].Time, m.x, 1e-9)
		assert.InDelta(t, 1e3*burst.Pull.Trace.Before(pickups[i].Time).Travel, m.y, 1e-3)
	}
	assert.Contains(t, s.second, "premature engagement at 3 of 3 shots, first 9.8 mm from home")

	s = compareStack([]*cycle.Result{fired(t), r})
	all = crosses(s, 3)
	require.Len(t, all, 1)
	assert.InDelta(t, 1e3*r.Summary.Period, all[0].x, 1e-9)
	assert.Contains(t, s.legend[1].name, ", premature engagement")
	assert.Contains(t, s.second, "a cross where the sector meets")

	for _, none := range []*stack{cycleStack(fired(t), OverTime), flightInStack(fired(t)), pulled(fired(t, "trigger.rounds=3")), compareStack([]*cycle.Result{fired(t)})} {
		assert.Empty(t, crosses(none, -1))
		assert.NotContains(t, none.second, namePME)
	}
}

func TestBrakeIsNamed(t *testing.T) {
	r := fired(t, "trigger.mode=single", "harness.switch.mosfet.active_braking=true")
	s := pulled(r)
	found := 0
	for _, m := range s.panels[0].points {
		if strings.HasPrefix(m.name, "brake") {
			assert.Equal(t, fmt.Sprintf("brake %.1f A", r.Pull.BrakeCurrent), m.name)
			assert.InDelta(t, -r.Pull.BrakeCurrent, m.y, 0.05)
			assert.InDelta(t, r.Pull.Trace.At(m.x/1e3).Current, m.y, 1e-6)
			found++
		}
	}
	assert.Equal(t, 1, found)
	for _, m := range pulled(fired(t, "trigger.mode=single")).panels[0].points {
		assert.NotContains(t, m.name, "brake")
	}
}

// One event has one name.
func TestEventsHaveOneName(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range oddBuilds(t) {
		for _, m := range s.moments {
			seen[m.name] = true
		}
		for i := range s.panels {
			for _, m := range s.panels[i].points {
				name, _, _ := strings.Cut(m.name, ",")
				seen[name] = true
			}
		}
	}
	for _, name := range []string{"release", "pickup", "muzzle", "home", "impact", "stall", "switch opens"} {
		assert.True(t, seen[name], name)
	}
	for name := range seen {
		for _, other := range []string{"exit", "clear", "piston home", "arrives"} {
			assert.NotContains(t, name, other)
		}
	}
}

// What stands above the panels stays within the picture, whatever the names.
func TestHeadersFitThePicture(t *testing.T) {
	long := fired(t)
	b := *long.Build
	b.Name = strings.Repeat("W", 200)
	long.Build = &b
	short := fired(t, "name=A")
	all := oddBuilds(t)
	all["200 letters"], all["200 letters compared"] = cycleStack(long, OverTime), compareStack([]*cycle.Result{short, long, long})
	all["200 letters, motors"] = motorStack([]Named{{b.Name, long.Motor.Characteristic(8)}, {b.Name, long.Motor.Characteristic(8)}})
	all["200 letters, flights"] = flightsStack(b.Name, []NamedFlight{{b.Name, long.Flight}})
	for what, s := range all {
		const width = 19 * vg.Centimeter
		s.arrange(width)
		room := width - 2*vg.Centimeter // what stands left of the panels
		assert.LessOrEqual(t, letters(16, ink).Width(s.title), room, what)
		for _, line := range s.said {
			assert.LessOrEqual(t, letters(9.5, ink).Width(line), room, "%s: %s", what, line)
		}
		taken := vg.Length(0)
		for _, l := range s.legend {
			taken += letters(9, ink).Width(l.name) + vg.Points(49)
			if s.column {
				taken = letters(9, ink).Width(l.name) + vg.Points(31)
			}
			assert.LessOrEqual(t, taken, room+vg.Points(18), "%s: %s", what, l.name)
		}
	}
	assert.Contains(t, all["200 letters"].title, "…")
	assert.Contains(t, all["200 letters compared"].legend[1].name, "…: 22.0 rounds a second")
}

func TestComparePictureMarksFaults(t *testing.T) {
	good, late := fired(t), fired(t, "battery.series=3")
	s := compareStack([]*cycle.Result{good, late})
	assert.True(t, strings.HasPrefix(s.legend[0].name, "1  "), s.legend[0].name)
	assert.True(t, strings.HasPrefix(s.legend[1].name, "2!  "), s.legend[1].name)
	assert.Contains(t, s.second, "!  a build that has a fault")
	s = compareStack([]*cycle.Result{good, good}, true, false)
	assert.True(t, strings.HasPrefix(s.legend[0].name, "1!  "), "a fault that the cycle doesn't see")
	assert.True(t, strings.HasPrefix(s.legend[1].name, "2  "))
	assert.Empty(t, compareStack([]*cycle.Result{good, good}).second)
}

// A plan that ends before its first round says so in the picture, in place of curves.
func TestHeatSaysThatNothingIsFired(t *testing.T) {
	d, err := buildfile.DemoDocument("spring.rate=4000 N/m")
	require.NoError(t, err)
	r, err := heat.Simulate(context.Background(), d.Build, buildfile.DemoPlan(), heat.Settings{Trace: true})
	require.NoError(t, err)
	s := heatStack(r)
	require.Len(t, s.panels, 1)
	assert.Contains(t, s.panels[0].note, "the motor stalls in the first")
	for _, m := range s.panels[0].points {
		assert.InDelta(t, 20, m.y, 1e-9, "what all start from")
	}
	assert.Len(t, s.panels[0].points, len(r.Parts))
	var rec recorder.Canvas
	s.arrange(23 * vg.Centimeter)
	s.draw(draw.NewCanvas(&rec, 23*vg.Centimeter, 11*vg.Centimeter))
	told := false
	for _, a := range rec.Actions {
		if text, ok := a.(*recorder.FillString); ok && text.String == s.panels[0].note {
			told = true
		}
	}
	assert.True(t, told)
}

// The legend of a heat picture stands on the right of the curves.
func TestHeatLegendStandsBeside(t *testing.T) {
	r, err := heat.Simulate(context.Background(), buildfile.Demo(), buildfile.DemoPlan(), heat.Settings{Trace: true})
	require.NoError(t, err)
	s := heatStack(r)
	var rec recorder.Canvas
	const width, height = 23 * vg.Centimeter, 19 * vg.Centimeter
	s.arrange(width)
	s.draw(draw.NewCanvas(&rec, width, height))
	entries, labels := 0, 0
	for _, a := range rec.Actions {
		text, ok := a.(*recorder.FillString)
		if !ok {
			continue
		}
		for _, l := range s.legend {
			if strings.HasPrefix(l.name, text.String) {
				assert.Greater(t, text.Point.X, width-besideWidth)
				assert.LessOrEqual(t, text.Point.X+letters(9, ink).Width(text.String), width)
				entries++
			}
		}
		if text.String == s.axis {
			assert.Less(t, text.Point.X, width-besideWidth)
			labels++
		}
	}
	assert.Equal(t, len(s.legend), entries)
	assert.Equal(t, 1, labels)
}

// Lines and bands are told apart without colours: no two of a picture have the same
// dashes, width and ground.
func TestLinesDifferInGrey(t *testing.T) {
	seen := map[string]bool{}
	for i := range 12 {
		l := series(i, "").line
		key := fmt.Sprint(l.Dashes, l.Width)
		assert.False(t, seen[key], "line %d", i)
		seen[key] = true
	}
	a, b := solid(""), dashed("")
	assert.NotEqual(t, a.line.Dashes, b.line.Dashes)
	grey := func(s stroke) float64 {
		r, g, b, _ := s.ground().RGBA()
		return (0.299*float64(r) + 0.587*float64(g) + 0.114*float64(b)) / 0xffff
	}
	a.line.Color, b.line.Color = deep, warm
	assert.Greater(t, math.Abs(grey(a)-grey(b)), 0.05, "switch and fuse")
}

// Greek and Cyrillic are drawn in all formats; what the fonts lack becomes a box, and is
// told.
func TestLettersOfOtherScripts(t *testing.T) {
	demo := fired(t)
	named := func(name string) *Picture {
		of := *demo
		r := &of
		b := *r.Build
		b.Name = name
		r.Build = &b
		p, err := Cycle(r)
		require.NoError(t, err)
		p.width, p.height = p.width/2, p.height/2 // the letters stay as large
		return p
	}
	encoded := func(p *Picture, format string) []byte {
		var b bytes.Buffer
		require.NoError(t, p.Encode(&b, format))
		return b.Bytes()
	}
	for _, format := range Formats() {
		assert.Empty(t, named("Größe Ωμέγα Ружьё").Lacks(format), format)
		omega := encoded(named("Ω"), format)
		assert.NotEqual(t, omega, encoded(named("?"), format), "%s: no question mark in its place", format)
		assert.NotEqual(t, omega, encoded(named("Д"), format), format)
		assert.Equal(t, encoded(named("Ωμέγα 武"), format), encoded(named("Ωμέγα 武"), format), "the same bytes, %s", format)
	}
	for _, format := range []string{".png", ".pdf"} {
		assert.Equal(t, []rune("武器"), named("武器武").Lacks(format), format)
		assert.Equal(t, encoded(named("武"), format), encoded(named("\u25a1"), format), "a box, %s", format)
	}
	assert.Empty(t, named("武器").Lacks(".svg"), "an SVG leaves letters to other fonts")
	assert.Contains(t, string(encoded(named("武器"), ".svg")), "武器")
}
