package chart

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/motor"
)

// What pictures are given to draw: which numbers, under which labels. Each panel's lines
// are held against the result itself, in the units that its label names.

func fired(t *testing.T, overrides ...string) *cycle.Result {
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	r, err := cycle.Simulate(context.Background(), d.Build, cycle.Settings{})
	require.NoError(t, err)
	return r
}

// labels are those of a stack's left axes, from above.
func labels(s *stack) (all []string) {
	for _, p := range s.panels {
		all = append(all, p.label)
	}
	return all
}

// same holds a line against points that are computed anew.
func same(t *testing.T, xy plotter.XYs, n int, want func(i int) (x, y float64), what string) {
	t.Helper()
	require.Len(t, xy, n, what)
	for i, p := range xy {
		x, y := want(i)
		if math.IsNaN(y) {
			require.True(t, math.IsNaN(p.Y), "%s, point %d", what, i)
			continue
		}
		require.InDelta(t, x, p.X, 1e-9*(1+math.Abs(x)), "%s, place of point %d", what, i)
		require.InDelta(t, y, p.Y, 1e-9*(1+math.Abs(y)), "%s, value of point %d", what, i)
	}
}

func TestDelaysAreGivenAsTheyAre(t *testing.T) {
	r := fired(t, "trigger.mode=single")
	charges := map[int][]cycle.Response{2: {{At: 0.2, Release: 0.03, Delay: 0.045}, {At: 1, Release: 0.02, Delay: 0.031}}, 3: {{At: 0.5, Release: 0.01, Delay: 0.017}}}
	stops := []cycle.Response{{At: 0.5, Delay: 0.040}, {At: 4, Delay: 0.030}, {At: 5, Delay: 0.050}}
	top, bottom := delays(r, []int{2, 3}, charges, stops)
	assert.Equal(t, "state of charge, %", top.axis)
	assert.Equal(t, []float64{0, 100}, []float64{top.lo, top.hi})
	assert.Equal(t, []string{"first shot, ms"}, labels(top))
	assert.Equal(t, []string{"2 cells in series", "3 cells in series"}, []string{top.legend[0].name, top.legend[1].name})
	assert.Equal(t, plotter.XYs{{X: 20, Y: 45}, {X: 100, Y: 31}}, top.panels[0].lines[0].xy, "per cent and milliseconds")
	assert.Equal(t, plotter.XYs{{X: 50, Y: 17}}, top.panels[0].lines[1].xy)
	assert.Contains(t, top.subtitle, "from a sector angle of 0°")

	assert.Equal(t, "sector angle at which the train stands, degrees", bottom.axis)
	assert.Equal(t, []string{"next shot, ms"}, labels(bottom))
	pull, free := bottom.panels[0].lines[0].xy, bottom.panels[0].lines[1].xy
	require.Len(t, pull, 2, "the release is at 4.43 rad")
	require.Len(t, free, 1)
	assert.InDelta(t, 0.5*180/math.Pi, pull[0].X, 1e-9)
	assert.InDelta(t, 40, pull[0].Y, 1e-9)
	assert.InDelta(t, 5*180/math.Pi, free[0].X, 1e-9)
	assert.InDelta(t, 50, free[0].Y, 1e-9)
	require.Len(t, bottom.moments, 2)
	g := r.Build.Geometry()
	assert.InDelta(t, g.Release*180/math.Pi, bottom.moments[0].x, 1e-9)
	assert.InDelta(t, r.Pull.StopAngle*180/math.Pi, bottom.moments[1].x, 1e-9)

	assert.Empty(t, top.panels[0].note+bottom.panels[0].note)
	silent := []cycle.Response{{At: 1, Delay: math.NaN()}}
	top, bottom = delays(r, []int{2}, map[int][]cycle.Response{2: silent}, silent)
	assert.Equal(t, []string{"no pellet leaves the muzzle", "no pellet leaves the muzzle"}, []string{top.panels[0].note, bottom.panels[0].note})
}

func TestFlightsAreGivenAsTheyAre(t *testing.T) {
	r := fired(t).Flight
	s := flightStack(r)
	assert.Equal(t, "time from the release, ms", s.axis)
	assert.Equal(t, []string{"pressure, kPa", "spring force, N", "piston travel, mm", "piston speed homewards, m/s", "pellet speed, m/s"}, labels(s))
	assert.Equal(t, []string{"cylinder and piston", "barrel and pellet"}, []string{s.legend[0].name, s.legend[1].name})
	assert.Zero(t, s.lo)
	require.InDelta(t, 1.03*math.Min(1e3*r.Trace.Duration(), 1.4e3*r.Summary.TimeToHome), s.hi, 1e-9)
	at := func(i int) flight.Point {
		return r.Trace.At(math.Min(s.hi/1e3, r.Trace.Duration()) * float64(i) / (samples - 1))
	}
	cylinder, barrel := s.legend[0].name, s.legend[1].name
	for _, c := range []struct {
		panel, line int
		style       string
		value       func(flight.Point) float64
	}{
		{0, 0, cylinder, func(p flight.Point) float64 { return p.Pressure / 1e3 }}, {0, 1, barrel, func(p flight.Point) float64 { return p.BarrelPressure / 1e3 }},
		{1, 0, cylinder, func(p flight.Point) float64 { return p.SpringForce }},
		{2, 0, cylinder, func(p flight.Point) float64 { return 1e3 * max(0, p.Travel) }}, {3, 0, cylinder, func(p flight.Point) float64 { return -p.Speed }},
		{4, 0, barrel, func(p flight.Point) float64 { return p.PelletSpeed }},
	} {
		l := s.panels[c.panel].lines[c.line]
		assert.Equal(t, c.style, l.style.name)
		same(t, l.xy, samples, func(i int) (float64, float64) { p := at(i); return 1e3 * p.Time, c.value(p) }, labels(s)[c.panel])
	}
	met := 0
	for _, e := range r.Trace.Events {
		for _, m := range s.moments {
			if m.name == "muzzle" && e.Kind == flight.MuzzleExit {
				assert.InDelta(t, 1e3*e.Time, m.x, 1e-9)
				met++
			}
		}
	}
	assert.Equal(t, 1, met)
	home, muzzle := s.panels[2].points[0], s.panels[4].points[0]
	assert.InDelta(t, 1e3*r.Summary.TimeToHome, home.x, 1e-9)
	assert.InDelta(t, 1e3*r.Build.Piston.Clear, home.y, 1e-9)
	assert.Equal(t, fmt.Sprintf("home, %.2f ms", 1e3*r.Summary.TimeToHome), home.name)
	assert.InDelta(t, 1e3*r.Summary.TimeToMuzzle, muzzle.x, 1e-9)
	assert.InDelta(t, r.Summary.MuzzleVelocity, muzzle.y, 1e-9)
	assert.Equal(t, fmt.Sprintf("%.1f m/s, %.3g J", r.Summary.MuzzleVelocity, r.Summary.MuzzleEnergy), muzzle.name)

	several := flightsStack("Two", []NamedFlight{{"A", r}, {"B", r}})
	assert.Equal(t, "time from the release, ms", several.axis)
	assert.Equal(t, []string{"cylinder pressure, kPa", "piston travel, mm", "piston speed homewards, m/s"}, labels(several))
	for k := range several.panels {
		l := several.panels[k].lines[1]
		same(t, l.xy, samples, func(i int) (float64, float64) {
			p := r.Trace.At(math.Min(several.hi, 1e3*r.Trace.Duration()) / 1e3 * float64(i) / (samples - 1))
			return 1e3 * p.Time, []float64{p.Pressure / 1e3, 1e3 * max(0, p.Travel), -p.Speed}[k]
		}, labels(several)[k])
	}
	assert.InDelta(t, 1e3*r.Summary.TimeToHome, several.panels[1].points[0].x, 1e-9)
}

func TestHeatIsGivenAsItIs(t *testing.T) {
	for _, c := range []struct {
		name, unit string
		scale      float64 // seconds in it
		plan       heat.Plan
	}{
		{"seconds", "s", 1, heat.Plan{Repeat: 1, Steps: []heat.Step{{Rounds: 30, Pause: 20, Repeat: 2}}}},
		{"minutes", "min", 60, heat.Plan{Repeat: 1, Steps: []heat.Step{{Rounds: 30, Pause: 60, Repeat: 3}}}},
		{"hours", "h", 3600, heat.Plan{Repeat: 1, Steps: []heat.Step{{Rounds: 30, Pause: 2400, Repeat: 4}}}},
	} {
		d, err := buildfile.DemoDocument()
		require.NoError(t, err)
		r, err := heat.Simulate(context.Background(), d.Build, &c.plan, heat.Settings{Trace: true})
		require.NoError(t, err)
		s := heatStack(r)
		assert.Equal(t, "time, "+c.unit, s.axis)
		assert.InDelta(t, r.Duration/c.scale, s.hi, 1e-12)
		assert.Equal(t, []string{"temperature, °C", "switch, fuse, °C", "way to the limit, %", "rate of fire, 1/s"}, labels(s))
		const zero = 273.15
		in := 0 // lines of temperatures
		for i, p := range r.Parts {
			assert.Equal(t, fmt.Sprintf("%s: up to %.0f °C\nlimit %.0f °C", p.Name, p.Peak-zero, p.Limit-zero), s.legend[i].name)
			n := len(r.Course.Times)
			require.Less(t, n, 8000, "not thinned")
			degrees := func(k int) (float64, float64) { return r.Course.Times[k] / c.scale, r.Course.Temperatures[i][k] - zero }
			way := func(k int) (float64, float64) {
				return r.Course.Times[k] / c.scale, 100 * (r.Course.Temperatures[i][k] - p.Start) / (p.Limit - p.Start)
			}
			if p.Name == heat.Switch || p.Name == heat.Fuse {
				for panel, value := range map[int]func(int) (float64, float64){1: degrees, 2: way} {
					at := slices.IndexFunc(s.panels[panel].bands, func(b band) bool { return b.style.name == s.legend[i].name })
					require.GreaterOrEqual(t, at, 0)
					within(t, &s.panels[panel].bands[at], s.hi, n, value)
				}
				continue
			}
			require.Equal(t, s.legend[i].name, s.panels[0].lines[in].style.name, p.Name)
			same(t, s.panels[0].lines[in].xy, n, degrees, p.Name)
			same(t, s.panels[2].lines[in].xy, n, way, p.Name)
			in++
		}
		rates := s.panels[3].lines[0].xy
		same(t, rates, 3*len(r.Course.Pulls)-1, func(k int) (float64, float64) {
			p := r.Course.Pulls[k/3]
			return []float64{p.Start, p.End, 0}[k%3] / c.scale, []float64{p.Rate, p.Rate, math.NaN()}[k%3]
		}, "rates, broken at each pause")
		axis := s.plot(3)
		assert.Greater(t, axis.Y.Min, 0.8*r.Course.Pulls[0].Rate, "not from 0")
	}
}

// within holds a band against the points of a line: it holds each of them, and goes as far
// as they do and no farther.
func within(t *testing.T, b *band, hi float64, n int, value func(k int) (x, y float64)) {
	t.Helper()
	least, most := math.Inf(1), math.Inf(-1)
	for k := range n {
		x, y := value(k)
		i := min(int(x/hi*stretches), stretches-1)
		require.LessOrEqual(t, b.lo[i].Y, y+1e-9)
		require.GreaterOrEqual(t, b.hi[i].Y, y-1e-9)
		least, most = min(least, y), max(most, y)
	}
	require.Len(t, b.lo, stretches)
	low, high := math.Inf(1), math.Inf(-1)
	wide := 0
	for i := range b.lo {
		assert.InDelta(t, (float64(i)+0.5)*hi/stretches, b.lo[i].X, 1e-9*hi)
		assert.Equal(t, b.lo[i].X, b.hi[i].X)
		low, high = min(low, b.lo[i].Y), max(high, b.hi[i].Y)
		if b.hi[i].Y > b.lo[i].Y+0.1*(most-least) {
			wide++
		}
	}
	assert.InDelta(t, least, low, 1e-9)
	assert.InDelta(t, most, high, 1e-9)
	assert.Positive(t, wide)
}

// What gives out first is marked where and when it does, on the axis's own scale.
func TestHeatMarksTheFirst(t *testing.T) {
	d, err := buildfile.DemoDocument("harness.lead={gauge: 24 AWG, length: 600 mm}")
	require.NoError(t, err)
	r, err := heat.Simulate(context.Background(), d.Build, &heat.Plan{Repeat: 1, Steps: []heat.Step{{Rounds: 200, Pause: 60, Repeat: 3, FreshPack: true}}}, heat.Settings{Trace: true})
	require.NoError(t, err)
	require.Equal(t, heat.Leads, r.FirstOut)
	part := r.Part(heat.Leads)
	s := heatStack(r)
	require.Equal(t, "time, min", s.axis)
	require.Len(t, s.panels[2].points, 1)
	m := s.panels[2].points[0]
	assert.InDelta(t, part.LimitAt/60, m.x, 1e-12)
	assert.Equal(t, 100., m.y)
	assert.Equal(t, fmt.Sprintf("leads, round %.0f", part.RoundsToLimit), m.name)
	require.Len(t, s.moments, 1)
	assert.InDelta(t, part.LimitAt/60, s.moments[0].x, 1e-12)
}

func TestMatchIsGivenAsItIs(t *testing.T) {
	b := buildfile.Demo()
	m := &flight.Match{
		Swept: 16e-6, Barrel: 8e-6,
		Lengths: []flight.Trial{{Value: 0.1, Velocity: 80, Energy: 0.6}, {Value: 0.3, Velocity: 110, Energy: 1.2}, {Value: 0.5, Velocity: 100, Energy: 1}},
		Ports:   []flight.Trial{{Value: 0.01, Velocity: 70, Energy: 0.5}, {Value: 0.05, Velocity: 90, Energy: 0.8}},
	}
	m.BestLength, m.BestPort = flight.Trial{Value: 0.32, Velocity: 111, Energy: 1.25}, flight.Trial{Value: 0.05, Velocity: 90, Energy: 0.8}
	top, bottom := match(b, m)
	assert.Equal(t, []string{"barrel length, mm", "port position, mm ahead of the piston at home"}, []string{top.axis, bottom.axis})
	assert.Equal(t, []string{"muzzle energy, J", "muzzle energy, J"}, append(labels(top), labels(bottom)...))
	assert.Contains(t, top.subtitle, "swept volume 16.0 cm3, barrel 8.0 cm3: 2.00 to 1")
	for _, c := range []struct {
		s    *stack
		of   []flight.Trial
		best flight.Trial
		as   float64 // built [mm]
	}{{top, m.Lengths, m.BestLength, 1e3 * b.Barrel.Length}, {bottom, m.Ports, m.BestPort, 1e3 * b.Cylinder.Port}} {
		same(t, c.s.panels[0].lines[0].xy, len(c.of), func(i int) (float64, float64) { return 1e3 * c.of[i].Value, c.of[i].Energy }, c.s.axis)
		assert.Equal(t, []float64{1e3 * c.of[0].Value, 1e3 * c.of[len(c.of)-1].Value}, []float64{c.s.lo, c.s.hi})
		p := c.s.panels[0].points[0]
		assert.Equal(t, []float64{1e3 * c.best.Value, c.best.Energy}, []float64{p.x, p.y})
		assert.Equal(t, fmt.Sprintf("most %.3f J at %.1f mm", c.best.Energy, 1e3*c.best.Value), p.name)
		require.Len(t, c.s.moments, 1)
		assert.Equal(t, "as built", c.s.moments[0].name)
		assert.InDelta(t, c.as, c.s.moments[0].x, 1e-9)
	}
	assert.Empty(t, top.panels[0].note+bottom.panels[0].note)
	stuck := *m
	stuck.BestLength.Energy, stuck.BestPort.Energy = math.NaN(), math.NaN()
	top, bottom = match(b, &stuck)
	assert.Equal(t, []string{"no pellet leaves the muzzle", "no pellet leaves the muzzle"}, []string{top.panels[0].note, bottom.panels[0].note})
	closed := *b
	closed.Cylinder.Port = 0
	_, bottom = match(&closed, m)
	assert.Equal(t, "as built, no port open", bottom.moments[0].name)
	assert.Equal(t, 50., bottom.moments[0].x, "at the end of the stroke it never opens")
}

func TestMotorIsGivenAsItIs(t *testing.T) {
	h := fired(t).Motor
	m := Named{"M", h.Characteristic(8)}
	s := motorStack([]Named{m})
	assert.Equal(t, "torque at the shaft, mN m", s.axis)
	assert.Equal(t, []string{"speed, 1000 rpm", "current, A", "power at the shaft, W", "efficiency, %"}, labels(s))
	points := m.Sample(nil, 400)
	values := func(p motor.Point) []float64 {
		return []float64{p.Speed * 30 / math.Pi / 1e3, p.Current, p.Torque * p.Speed, 100 * p.Torque * p.Speed / (8 * p.Current)}
	}
	for k := range s.panels {
		same(t, s.panels[k].lines[0].xy, 400, func(i int) (float64, float64) { return 1e3 * points[i].Torque, values(points[i])[k] }, labels(s)[k])
	}
	for k, c := range []struct {
		at   motor.Point
		name string
	}{
		{m.NoLoad, fmt.Sprintf("no load %.0f rpm, %.1f A", m.NoLoad.Speed*30/math.Pi, m.NoLoad.Current)}, {m.Stall, fmt.Sprintf("stall %.1f A", m.Stall.Current)},
		{m.Strongest, fmt.Sprintf("most power %.0f W, %.1f A", m.Strongest.Output, m.Strongest.Current)}, {m.Best, fmt.Sprintf("best %.0f %%, %.1f A", 100*m.Best.Efficiency, m.Best.Current)},
	} {
		p := s.panels[k].points[0]
		assert.Equal(t, c.name, p.name)
		assert.InDelta(t, 1e3*c.at.Torque, p.x, 1e-9)
		assert.InDelta(t, values(c.at)[k], p.y, 1e-6, p.name)
	}
	assert.InDelta(t, 1.02e3*m.Stall.Torque, s.hi, 1e-9)
}

func TestComparedCyclesAreGivenAsTheyAre(t *testing.T) {
	one, single := fired(t), fired(t, "trigger.mode=single", "name=Single")
	s := compareStack([]*cycle.Result{one, single})
	assert.Equal(t, "time, ms", s.axis)
	assert.Equal(t, []string{"current, A", "pack voltage, V", "motor speed, 1000 rpm", "piston travel, mm"}, labels(s))
	assert.Equal(t, fmt.Sprintf("1  Woodland club rifle: %.1f rounds a second, %.1f A RMS", one.Summary.RateOfFire, one.Summary.CurrentRMS), s.legend[0].name)
	assert.Equal(t, fmt.Sprintf("2  Single: single, stands at %.0f° after %.0f ms", single.Pull.StopAngle*180/math.Pi, 1e3*single.Pull.Rest), s.legend[1].name)
	assert.InDelta(t, 1.02e3*math.Max(one.Steady.Duration(), single.First.Duration()), s.hi, 1e-9)
	values := func(p cycle.Point) []float64 {
		return []float64{p.Current, p.PackVoltage, p.Speed * 30 / math.Pi / 1e3, 1e3 * math.Max(0, p.Travel)}
	}
	for i, trace := range []*cycle.Trace{one.Steady, single.First} {
		points := trace.Sample(samples)
		for k := range s.panels {
			l := s.panels[k].lines[i]
			assert.Equal(t, s.legend[i].name, l.style.name)
			same(t, l.xy, len(points), func(j int) (float64, float64) { return 1e3 * points[j].Time, values(points[j])[k] }, labels(s)[k])
		}
	}
	release := one.Steady.Before(one.Summary.Period - one.Summary.FreeTime)
	for k := range s.panels {
		m := s.panels[k].points[0]
		assert.InDelta(t, 1e3*release.Time, m.x, 1e-6)
		assert.InDelta(t, values(release)[k], m.y, 1e-6*(1+math.Abs(values(release)[k])), labels(s)[k])
	}
}

// The right scale of a cycle's picture shows the spring's force beside the travel, and
// what it is labelled with stands where the left scale has that travel. In flight it
// does so only of a spring without waves, and its name says that.
func TestRightScaleIsTheSpringsForce(t *testing.T) {
	for _, c := range []struct {
		waves, label string
		flight       bool // whether the scale holds there
	}{{"true", "spring force in the pull, N", false}, {"false", "spring force, N", true}} {
		t.Run("waves "+c.waves, func(t *testing.T) {
			rightScale(t, fired(t, "piston.spacer=2 mm", "spring.waves="+c.waves), c.label, c.flight)
		})
	}
}

func rightScale(t *testing.T, r *cycle.Result, label string, flight bool) {
	s := cycleStack(r, OverTime)
	assert.Equal(t, []string{"current, A", "pack voltage, V", "motor speed, 1000 rpm", "piston travel, mm"}, labels(s))
	right := s.panels[3].right
	require.NotNil(t, right)
	assert.Equal(t, label, right.label)
	pull, flown, off := 0, 0, 0.
	for _, p := range r.Steady.Sample(400) {
		if math.IsNaN(p.SpringForce) {
			continue
		}
		if !math.IsNaN(p.Pressure) {
			flown++
			off = math.Max(off, math.Abs(p.SpringForce-right.of(1e3*p.Travel)))
			continue
		}
		assert.InDelta(t, p.SpringForce, right.of(1e3*p.Travel), 1e-6)
		assert.InDelta(t, 1e3*p.Travel, right.left(p.SpringForce), 1e-6)
		pull++
	}
	assert.Greater(t, pull, 200)
	assert.Greater(t, flown, 80)
	if flight {
		assert.Less(t, off, 1e-6)
	} else {
		assert.Greater(t, off, 10., "the waves' forces are others")
	}
	for _, p := range s.panels[:3] {
		assert.Nil(t, p.right)
	}

	var rec recorder.Canvas
	c := draw.NewCanvas(&rec, 10*vg.Centimeter, 5*vg.Centimeter)
	p := s.plot(3)
	s.rightAxis(3, p, c)
	told := 0
	for _, a := range rec.Actions {
		text, ok := a.(*recorder.FillString)
		if !ok || text.String == right.label {
			continue
		}
		force, err := strconv.ParseFloat(text.String, 64)
		require.NoError(t, err)
		share := float64((text.Point.Y - c.Min.Y) / (c.Max.Y - c.Min.Y)) // half a letter below the tick
		travel := p.Y.Min + share*(p.Y.Max-p.Y.Min)
		g := r.Build.Geometry()
		assert.InDelta(t, g.SpringRate*(g.Preload+travel/1e3), force, 0.05*(right.of(p.Y.Max)-right.of(p.Y.Min)), "the label of %g N", force)
		told++
	}
	assert.GreaterOrEqual(t, told, 2)
}
