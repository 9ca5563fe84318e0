package chart

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/plot/plotter"

	"example.org/ampstroke/drivetrain/cycle"
)

// Delays draws the trigger delay over the state of charge, a curve for each count
// of cells, and over the sector angle at which the train stands before the shot,
// with where a pull leaves it marked. Of the result, the build and the pull are looked
// at; without them the error is [ErrNothing].
func Delays(r *cycle.Result, counts []int, overCharge map[int][]cycle.Response, overStop []cycle.Response) (*Picture, error) {
	if r == nil || r.Build == nil {
		return nil, nothing("there is no result of a cycle")
	}
	return pair(delays(r, counts, overCharge, overStop)), nil
}

// noPellet stands where a curve has no points.
const noPellet = "no pellet leaves the muzzle"

// delays are what Delays draws.
func delays(r *cycle.Result, counts []int, overCharge map[int][]cycle.Response, overStop []cycle.Response) (top, bottom *stack) {
	top = &stack{
		title: short(r.Build.Name, 50), subtitle: fmt.Sprintf("trigger delay, from closing the switch to the muzzle; the first shot from a sector angle of %.0f°", deg(r.Build.Geometry().Pickup+r.Build.Trigger.Start)),
		axis: "state of charge, %",
		hi:   100, panels: []panel{{label: "first shot, ms", least: 0, span: 1}},
	}
	for i, n := range counts {
		style := series(i, cells(n)+" in series")
		top.legend = append(top.legend, style)
		var xy plotter.XYs
		for _, p := range overCharge[n] {
			xy = append(xy, plotter.XY{X: 100 * p.At, Y: 1e3 * p.Delay})
		}
		top.panels[0].lines = append(top.panels[0].lines, course{xy, style})
	}
	g := r.Build.Geometry()
	bottom = &stack{panels: []panel{{label: "next shot, ms", least: 0, span: 1}}}
	bottom.overLobe(g)
	bottom.axis = "sector angle at which the train stands, degrees"
	style := solid("")
	var pull, free plotter.XYs
	for _, p := range overStop {
		at := plotter.XY{X: deg(p.At), Y: 1e3 * p.Delay}
		if p.At < g.Release {
			pull = append(pull, at)
		} else {
			free = append(free, at)
		}
	}
	bottom.panels[0].lines = []course{{pull, style}, {free, style}}
	bottom.moments = []moment{{x: deg(g.Release), name: fmt.Sprintf("%s %.0f°", nameRelease, deg(g.Release)), style: style}}
	if r.Pull != nil {
		bottom.moments = append(bottom.moments, moment{x: deg(r.Pull.StopAngle), name: fmt.Sprintf("stops here, %.0f°", deg(r.Pull.StopAngle)), row: 1, style: dashed("")})
	}
	if math.IsNaN(cycle.Quickest(overStop).Delay) {
		bottom.panels[0].note = noPellet
	}
	if all := slices.Concat(slices.Collect(maps.Values(overCharge))...); math.IsNaN(cycle.Quickest(all).Delay) {
		top.panels[0].note = noPellet
	}
	return top, bottom
}
