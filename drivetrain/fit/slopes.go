package fit

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// difference is the step of the derivatives, in standard deviations of the priors: what the
// figures bend by over it is some 3e-5 of the derivative, where 0.05 would leave 2e-4
// and keep the search from converging [1].
const difference = 0.01

// slopes returns the derivatives by u of gauges at a point where their values are known, for
// the unknowns in which: central differences, all conditions of all points in one batch;
// one-sided where one side can't be computed; NaN where neither can.
func (m *model) slopes(ctx context.Context, u, at []float64, gauges []gauge, which []int) (*mat.Dense, error) {
	var points [][]float64
	var moved []int
	for _, i := range which {
		if m.unknowns[i].instrument {
			continue
		}
		for _, step := range []float64{-difference, difference} {
			p := slices.Clone(u)
			p[i] += step
			points = append(points, p)
			moved = append(moved, i)
		}
	}
	values, _, err := m.values(ctx, points, moved, gauges)
	if err != nil {
		return nil, err
	}
	j := mat.NewDense(len(gauges), len(which), nil)
	p := 0
	for column, i := range which {
		k := &m.unknowns[i]
		if k.instrument {
			for g := range gauges {
				if gauges[g].instrument == i {
					b := k.At(u[i])
					j.Set(g, column, at[g]/(1+b)*k.Slope(u[i]))
				}
			}
			continue
		}
		for g := range gauges {
			if !slices.Contains(m.conditions[gauges[g].condition].moves, i) {
				continue // 0
			}
			below, above := values[p][g], values[p+1][g]
			slope := (above - below) / (2 * difference)
			switch {
			case math.IsNaN(below):
				slope = (above - at[g]) / difference
			case math.IsNaN(above):
				slope = (at[g] - below) / difference
			}
			j.Set(g, column, slope)
		}
		p += 2
	}
	return j, nil
}

// NoSlope says that a figure can't be computed to either side of an unknown's value, so
// that nobody can tell which way to go.
type NoSlope struct {
	// Key is that of the unknown.
	Key string
	// Reading is the number of the reading, from 1.
	Reading int
	// Figure is its name.
	Figure string
}

func (e *NoSlope) Error() string {
	return fmt.Sprintf("reading %d, %s: can't be computed to either side of %s, so that the fit can't go on; hold it (--hold %s), or leave the reading out", e.Reading, e.Figure, e.Key, e.Key)
}
