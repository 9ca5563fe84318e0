package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
)

// Heat draws a firing plan: the temperature of every part, how far each is on its
// way to its limit, and the rate of fire of each pull. What gives out first is
// marked. The result must have been computed with a trace.
func Heat(r *heat.Result) *Picture {
	s := heatStack(r)
	height := 19 * vg.Centimeter
	if len(s.panels) == 3 { // singles alone have no rate
		height = 15 * vg.Centimeter
	}
	return s.picture(19*vg.Centimeter, height+legendLine*vg.Length(len(s.legend)))
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
			{label: "rate of fire, 1/s", least: 0, span: 1},
		},
		column: true,
	}
	s.second = "no part reaches its limit in this plan"
	if r.FirstOut != "" {
		s.second = "first to give out: " + r.FirstOut + ", after " + heat.Span(r.Part(r.FirstOut).LimitAt)
	}
	if r.Outcome != heat.Done {
		s.second += map[heat.Outcome]string{
			heat.CutOff: "; ends with the pack at its cut-off", heat.Empty: "; ends with the pack empty",
			heat.FuseBlown: "; ends with the fuse", heat.Stall: "; ends with a stall",
		}[r.Outcome]
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
	if c == nil {
		c = &heat.Course{}
	}
	for i, p := range r.Parts {
		if i >= len(c.Temperatures) || c.Temperatures[i] == nil {
			continue
		}
		style := series(i, legendOf(&p))
		where := &s.panels[0]
		if p.Name == heat.Switch || p.Name == heat.Fuse { // that jump with every pull
			where = &s.panels[1]
			style.line.Width = vg.Points(0.7)
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
		where.lines = append(where.lines, course{envelope(degrees, s.hi), style})
		s.panels[2].lines = append(s.panels[2].lines, course{envelope(way, s.hi), style})
		if p.Name == r.FirstOut {
			at := p.LimitAt / scale
			s.panels[2].points = append(s.panels[2].points, mark{x: at, y: 100, name: fmt.Sprintf("%s, round %.0f", p.Name, p.RoundsToLimit), left: at > 0.7*s.hi})
			s.moments = append(s.moments, moment{x: at, style: dashed("")})
		}
	}
	limit := solid("")
	limit.line.Color, limit.line.Width = ink, vg.Points(1)
	s.panels[2].lines = append(s.panels[2].lines, course{plotter.XYs{{X: 0, Y: 100}, {X: s.hi, Y: 100}}, limit})
	var rates plotter.XYs
	for _, p := range c.Pulls {
		if !math.IsNaN(p.Rate) {
			rates = append(rates, plotter.XY{X: p.Start / scale, Y: p.Rate}, plotter.XY{X: p.End / scale, Y: p.Rate})
		}
	}
	const fewPulls = 120
	if len(rates) <= 2*fewPulls {
		for k := 0; k < len(rates); k += 2 {
			s.panels[3].points = append(s.panels[3].points, mark{x: (rates[k].X + rates[k+1].X) / 2, y: rates[k].Y})
		}
	}
	if len(rates) == 0 {
		s.panels = s.panels[:3]
		return s
	}
	thin := solid("")
	thin.line.Width = vg.Points(0.8)
	s.panels[3].lines = append(s.panels[3].lines, course{envelope(rates, s.hi), thin})
	return s
}

// legendOf is a part's line of the legend.
func legendOf(p *heat.Part) string {
	text := fmt.Sprintf("%s: up to %s", p.Name, warmthOf(p.Peak))
	if !math.IsNaN(p.Limit) {
		text += ", limit " + warmthOf(p.Limit)
	}
	if !math.IsNaN(p.LimitAt) {
		text += ", reached after " + heat.Span(p.LimitAt)
	}
	return text
}

// warmthOf shows a temperature [K] in degrees Celsius.
func warmthOf(kelvin float64) string { return fmt.Sprintf("%.0f °C", kelvin-quantity.Celsius) }

// envelope thins a line of many points to the least and the largest of each of a few
// thousand stretches, which look the same.
func envelope(xy plotter.XYs, hi float64) plotter.XYs {
	const stretches = 2000
	if len(xy) <= 4*stretches {
		return xy
	}
	var all plotter.XYs
	for from := 0; from < len(xy); {
		end := math.Floor(xy[from].X/hi*stretches) + 1
		lo, up, to := from, from, from
		for ; to < len(xy) && xy[to].X/hi*stretches < end; to++ {
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
