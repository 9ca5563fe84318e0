package chart

import (
	"fmt"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
)

// Heat draws a firing plan: the temperature of every part, how far each is on its
// way to its limit, and the rate of fire of each pull. What gives out first is
// marked. The error is [ErrNothing] of a result that kept no course (Settings.Trace).
func Heat(r *heat.Result) (*Picture, error) {
	switch {
	case r == nil || r.Build == nil || r.Plan == nil:
		return nil, nothing("there is no result of a plan")
	case r.Course == nil:
		return nil, nothing("the plan %q kept no course; ask for it by the settings' Trace", r.Plan.Name)
	}
	s := heatStack(r)
	height := 3*vg.Centimeter + 4*vg.Centimeter*vg.Length(len(s.panels))
	if len(s.panels) < 3 { // the legend needs as much
		height = 11 * vg.Centimeter
	}
	return s.picture(23*vg.Centimeter, height), nil
}

// heatStack is what Heat draws.
func heatStack(r *heat.Result) *stack {
	rounds := "rounds"
	if r.Rounds == 1 {
		rounds = "round"
	}
	s := &stack{
		title:    short(r.Build.Name, 50),
		subtitle: fmt.Sprintf("%s: %d %s in %s, %s around", short(r.Plan.Name, 40), r.Rounds, rounds, heat.Span(r.Duration), warmthOf(r.Build.Ambient.Temperature)),
		panels: []panel{
			{label: "temperature, °C", least: math.NaN(), span: 5},
			{label: "switch, fuse, °C", least: math.NaN(), span: 5},
			{label: "way to the limit, %", least: 0, span: 1},
			{label: "rate of fire, 1/s", least: math.NaN(), span: 1},
		},
		beside: true,
	}
	s.second = "no part reaches its limit in this plan"
	if r.FirstOut != "" {
		s.second = "first to give out: " + r.FirstOut + ", after " + heat.Span(r.Part(r.FirstOut).LimitAt)
	}
	if r.Status != heat.Done {
		s.second += map[heat.Status]string{
			heat.CutOff: "; ends with the pack at its cut-off", heat.Empty: "; ends with the pack empty",
			heat.FuseBlown: "; ends with the fuse", heat.Stall: "; ends with a stall",
		}[r.Status]
	}
	unit, scale := "s", 1.
	switch {
	case r.Duration >= 7200:
		unit, scale = "h", 3600
	case r.Duration >= 120:
		unit, scale = "min", 60
	}
	s.axis = "time, " + unit
	s.hi = max(r.Duration/scale, 1e-3)
	c := r.Course
	for i, p := range r.Parts {
		if i >= len(c.Temperatures) || c.Temperatures[i] == nil {
			continue
		}
		style := series(i, legendOf(&p))
		jumps := p.Name == heat.Switch || p.Name == heat.Fuse // with every round
		if jumps {
			style.band = true
			style.line.Color = map[string]color.Color{heat.Switch: deep, heat.Fuse: warm}[p.Name]
		}
		s.legend = append(s.legend, style)
		var degrees, way plotter.XYs
		for k, t := range c.Temperatures[i] {
			x := c.Times[k] / scale
			degrees = append(degrees, plotter.XY{X: x, Y: t - quantity.Celsius})
			if span := p.Limit - p.Start; span > 0 {
				way = append(way, plotter.XY{X: x, Y: 100 * (t - p.Start) / span})
			}
		}
		if jumps {
			s.panels[1].bands = slices.Insert(s.panels[1].bands, 0, bandOf(degrees, s.hi, style)) // the fuse, which comes last, jumps highest
			s.panels[2].bands = slices.Insert(s.panels[2].bands, 0, bandOf(way, s.hi, style))
		} else {
			s.panels[0].lines = append(s.panels[0].lines, course{envelope(degrees, s.hi), style})
			s.panels[2].lines = append(s.panels[2].lines, course{envelope(way, s.hi), style})
		}
		if p.Name == r.FirstOut {
			at := p.LimitAt / scale
			s.panels[2].points = append(s.panels[2].points, mark{x: at, y: 100, name: fmt.Sprintf("%s, round %.0f", p.Name, p.RoundsToLimit), left: at > 0.7*s.hi})
			s.moments = append(s.moments, moment{x: at, style: dashed("")})
		}
	}
	limit := solid("")
	limit.line.Color, limit.line.Width = ink, vg.Points(1)
	s.panels[2].lines = append(s.panels[2].lines, course{plotter.XYs{{X: 0, Y: 100}, {X: s.hi, Y: 100}}, limit})
	if r.Rounds == 0 && r.Status != heat.Done {
		s.panels, s.moments = s.panels[:1], nil
		s.panels[0] = panel{label: s.panels[0].label, least: math.NaN(), span: 5, note: notFired(r.Status)}
		for _, p := range r.Parts {
			if !math.IsNaN(p.Start) {
				s.panels[0].points = append(s.panels[0].points, mark{y: p.Start - quantity.Celsius})
			}
		}
		s.hi = max(s.hi, 1)
		return s
	}
	rates, dots := ratesOf(c.Pulls, scale, s.hi)
	if len(rates) == 0 { // singles alone have none
		s.panels = s.panels[:3]
		return s
	}
	s.panels[3].points = dots
	thin := solid("")
	thin.line.Width = vg.Points(1.2)
	s.panels[3].lines = append(s.panels[3].lines, course{rates, thin})
	return s
}

// notFired says why a plan ends before its first round, and where to look.
func notFired(why heat.Status) string {
	return "no round is fired: " + map[heat.Status]string{
		heat.CutOff: "the pack is at its cut-off", heat.Empty: "the pack is empty", heat.FuseBlown: "the fuse blows in the first",
		heat.Stall: "the motor stalls in the first",
	}[why] + ", so that nothing grows warm by firing"
}

// ratesOf draws the rate of fire of each pull, interrupted where the gun rests for longer
// than a picture shows; of few pulls, with a dot on each.
func ratesOf(pulls []heat.PullTimes, scale, hi float64) (rates plotter.XYs, dots []mark) {
	var run plotter.XYs // without a rest
	flush := func() {
		if len(rates) > 0 && len(run) > 0 {
			rates = append(rates, plotter.XY{X: run[0].X, Y: math.NaN()})
		}
		rates, run = append(rates, envelope(run, hi)...), nil
	}
	for _, p := range pulls {
		if math.IsNaN(p.Rate) {
			continue
		}
		from, to := p.Start/scale, p.End/scale
		if len(run) > 0 && from-run[len(run)-1].X > hi/stretches {
			flush()
		}
		run = append(run, plotter.XY{X: from, Y: p.Rate}, plotter.XY{X: to, Y: p.Rate})
		dots = append(dots, mark{x: (from + to) / 2, y: p.Rate})
	}
	flush()
	const fewPulls = 120
	if len(dots) > fewPulls {
		dots = nil
	}
	return rates, dots
}

// legendOf is a part's line of the legend.
func legendOf(p *heat.Part) string {
	text := fmt.Sprintf("%s: up to %s", p.Name, warmthOf(p.Peak))
	if !math.IsNaN(p.Limit) {
		text += "\nlimit " + warmthOf(p.Limit)
	}
	if !math.IsNaN(p.LimitAt) {
		text += ",\nreached after " + heat.Span(p.LimitAt)
	}
	return text
}

// warmthOf shows a temperature [K] in degrees Celsius.
func warmthOf(kelvin float64) string { return fmt.Sprintf("%.0f °C", kelvin-quantity.Celsius) }

// envelope thins a line of many points to the least and the largest of each of a few
// thousand stretches, which look the same.
func envelope(xy plotter.XYs, hi float64) plotter.XYs {
	const fine = 2000
	if len(xy) <= 4*fine {
		return xy
	}
	var all plotter.XYs
	for from := 0; from < len(xy); {
		end := math.Floor(xy[from].X/hi*fine) + 1
		lo, up, to := from, from, from
		for ; to < len(xy) && xy[to].X/hi*fine < end; to++ {
			if xy[to].Y < xy[lo].Y {
				lo = to
			}
			if xy[to].Y > xy[up].Y {
				up = to
			}
		}
		all = append(all, xy[min(lo, up)], xy[max(lo, up)])
		from = max(to, from+1)
	}
	return all
}
