package search

import (
	"fmt"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// needs says what has to be computed for a figure.
type needs int

const (
	driveOnly needs = 0
	firstShot needs = 1 << iota
	steadyShot
	whole // more than a drive and two arcs can tell
)

// needsOf tells what the figure of a name needs. What isn't known to need less needs all.
func needsOf(name string) needs {
	switch name {
	case "trigger_delay":
		return firstShot
	case "time_to_home", "pme_margin", "pme_rate_of_fire", "muzzle_velocity", "muzzle_energy", "piston_impact", "overall_efficiency":
		return steadyShot
	case "rate_of_fire", "period", "release_time", "free_time", "swept_volume", "barrel_volume", "stroke", "spring_energy", "spring_peak_force",
		"current_peak", "current_mean", "current_rms", "inrush", "pack_voltage_min", "charge_per_shot", "shots_per_charge",
		"stall_angle", "stall_current", "stall_time", "release_speed", "motor_heat", "demagnetisation_margin":
		return driveOnly
	}
	return whole
}

// Price is the name by which combinations are ranked by what they cost.
const Price = "price"

// question is the figures that are asked of each build: the target's first.
type question struct {
	wants   figure.Target
	figures figure.List[*study.Stages]
	need    needs    // of all
	names   []string // of all
	needed  []needs  // by figure
}

func newQuestion(wants figure.Target, names []string) (*question, error) {
	q := &question{wants: wants}
	all := study.All()
	add := func(name string) error {
		if slices.ContainsFunc(q.figures, func(f figure.Of[*study.Stages]) bool { return f.Name == name }) {
			return nil
		}
		f, ok := all.Find(name)
		if !ok {
			var names []string
			for i := range all {
				names = append(names, all[i].Name)
			}
			if near := quantity.Nearest(name, names); near != "" {
				return fmt.Errorf("%s is no figure; did you mean %s?", name, near)
			}
			return fmt.Errorf("%s is no figure; 'ampstroke keys' lists them", name)
		}
		q.figures, q.names = append(q.figures, f), append(q.names, name)
		q.needed = append(q.needed, needsOf(name))
		q.need |= needsOf(name)
		return nil
	}
	for _, w := range wants {
		if err := add(w.Figure); err != nil {
			return nil, err
		}
	}
	for _, n := range names {
		if n == Price {
			continue
		}
		if err := add(n); err != nil {
			return nil, err
		}
	}
	return q, nil
}

// index is where a figure's value stands, -1 for the price.
func (q *question) index(name string) int {
	return slices.IndexFunc(q.figures, func(f figure.Of[*study.Stages]) bool { return f.Name == name })
}

// side is how a figure misses its want.
type side int8

const (
	met side = iota
	below
	above
	missing // the figure doesn't exist
)

// judge holds a value against a want: the side, by how much it misses, and that as a share
// of the bound's size.
func judge(w *figure.Want, v float64) (s side, by, relative float64) {
	var bound, other figure.Bound
	switch {
	case math.IsNaN(v):
		return missing, math.NaN(), math.Inf(1)
	case w.Min.Given && v < w.Min.At:
		s, by, bound, other = below, w.Min.At-v, w.Min, w.Max
	case w.Max.Given && v > w.Max.At:
		s, by, bound, other = above, v-w.Max.At, w.Max, w.Min
	default:
		return met, 0, 0
	}
	const margins = 10e-3 // what a margin is measured in, since its bounds lie about nothing [s]
	size := math.Abs(bound.At)
	switch {
	case w.Figure == "pme_margin":
		size = margins
	case size == 0 && other.Given && other.At != 0:
		size = math.Abs(other.At)
	case size == 0:
		size = 1
	}
	return s, by, by / size
}
