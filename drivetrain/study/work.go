package study

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/drivetrain/quantity"
)

// AfterWork returns the build file with the work at the pickup done: pads put in and out
// of stock, teeth taken down as far as a file is told to, a note on top of what was done,
// all else as it was. What carried a tolerance still does; that of the spacer grows by
// those of the pads.
func AfterWork(d *buildfile.Document, p *pickup.Work) (*buildfile.Document, error) {
	now, err := d.With()
	if err != nil {
		return nil, err
	}
	length := func(v, tolerance float64) string {
		v = math.Round(v*1e9) / 1e9 // the dust of sums
		if tolerance == 0 {
			return quantity.Length.Print(v)
		}
		return quantity.Length.Print(v) + " ± " + strconv.FormatFloat(1e3*tolerance, 'g', 2, 64) + " mm" // two digits say enough of it
	}
	set := func(key, value string) {
		if err == nil {
			err = now.Set(key, value)
		}
	}
	b, done := p.Then.Build, ""
	if len(p.Pads) > 0 {
		in, thick := p.Taken(), b.Piston.Spacer
		if len(d.Build.Pads) == 0 {
			thick = pickup.Cut(thick)
		}
		spacer := d.Tolerances["piston.spacer"]
		var left, put []string
		for i, pad := range d.Build.Pads {
			tolerance := d.Tolerances[fmt.Sprintf("pads.%d", i)]
			if slices.Contains(in, i) {
				spacer = math.Hypot(spacer, tolerance)
				put = append(put, length(pad, 0))
			} else {
				left = append(left, length(pad, tolerance))
			}
		}
		set("piston.spacer", length(thick, spacer))
		if len(d.Build.Pads) > 0 {
			set("pads", "["+strings.Join(left, ", ")+"]")
			done = fmt.Sprintf("pads of %s put in, so that the spacer is %s in all; ", strings.Join(put, " and "), length(thick, 0))
		} else {
			done = fmt.Sprintf("a spacer of %s put in; ", length(p.CutSpacer(), 0))
			if d.Build.Piston.Spacer > 0 {
				done = fmt.Sprintf("a spacer of %s put in, so that it is %s in all; ", length(p.CutSpacer(), 0), length(thick, 0))
			}
		}
	}
	if len(p.TakeDown) > 0 {
		depths := map[int]float64{}
		for i, t := range d.Build.Rack.TakenDown {
			depths[t.Tooth] = d.Tolerances[fmt.Sprintf("rack.taken_down.%d.depth", i)]
		}
		var teeth []string
		for _, t := range b.Rack.TakenDown {
			depth := t.Depth
			if slices.Contains(p.TakeDown, t) {
				depth = pickup.Filed(b, t.Depth)
			}
			teeth = append(teeth, fmt.Sprintf("{tooth: %d, depth: %s}", t.Tooth, length(depth, depths[t.Tooth])))
		}
		set("rack.taken_down", "["+strings.Join(teeth, ", ")+"]")
		for _, t := range p.TakeDown {
			done += fmt.Sprintf("rack tooth %d taken down by %s from its original tip; ", t.Tooth, length(pickup.Filed(b, t.Depth), 0))
		}
	}
	if err != nil {
		return nil, fmt.Errorf("the build after the work can't be written down: %w", err)
	}
	if done != "" {
		now.Note("After the work at the pickup: " + strings.TrimSuffix(done, "; ") + ".")
	}
	return now, nil
}
