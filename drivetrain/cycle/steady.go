package cycle

import (
	"context"
	"errors"
	"fmt"
	"math"
)

// periodic is how closely current and speed must come back after one cycle, as
// a share of the stall current and the no-load speed; exact is where more cycles
// gain nothing.
const (
	periodic = 1e-10
	exact    = 1e-13
)

// mostCycles bounds the search for the steady cycle.
const mostCycles = 400

// errStalls says that the cycles lead to a stall.
var errStalls = errors.New("the cycles lead to a stall")

// steady finds the cycle that repeats from pickup to pickup on a held pack (F5):
// the fixed point of the map from (i, ω) just after a pickup to that just after
// the next. From the state in r.y it iterates with Broyden's rank-one update of
// the map's derivative; where that does not bring it closer, it goes on with the
// plain map, which is what the gun itself does. While it can, it leaps through the
// cycles; the last one is always stepped through, and must repeat as well. On
// return r holds the books of that one.
func (r *run) steady(ctx context.Context) (cycles int, err error) {
	scale := [2]float64{max(1e-3, r.m.stallCurrent(r.source, r.m.v1, r.m.v2)), max(1, r.m.noLoadSpeed())}
	x := [2]float64{r.y[current] / scale[0], r.y[speed] / scale[1]}
	h := [2][2]float64{{1, 0}, {0, 1}} // inverse of the derivative of x − map(x)
	var lastX, lastF [2]float64
	best, plain := math.Inf(1), true
	leaping, settled := r.prepare(), false
	var image [2]float64
	for cycles = 1; cycles <= mostCycles; cycles++ {
		leapt := false
		if leaping {
			var i, w float64
			if i, w, leapt = r.leap(x[0]*scale[0], x[1]*scale[1]); leapt {
				image = [2]float64{i / scale[0], w / scale[1]}
			}
			leaping = leapt
		}
		if !leapt {
			ending, err := r.round(ctx, x[0]*scale[0], x[1]*scale[1])
			if err != nil {
				return cycles, err
			}
			if ending == stalled {
				if plain {
					return cycles, errStalls
				}
				x, h, plain = image, [2][2]float64{{1, 0}, {0, 1}}, true
				continue
			}
			image = [2]float64{r.y[current] / scale[0], r.y[speed] / scale[1]}
		}
		f := [2]float64{x[0] - image[0], x[1] - image[1]}
		size := max(math.Abs(f[0]), math.Abs(f[1]))
		if !leapt && (size <= exact || size <= periodic && (settled || size > best/4)) {
			return cycles, nil
		}
		if leapt && size <= periodic { // what is left, the next step takes away
			settled, leaping = true, false
		}
		if cycles > 1 {
			broyden(&h, [2]float64{x[0] - lastX[0], x[1] - lastX[1]}, [2]float64{f[0] - lastF[0], f[1] - lastF[1]})
		}
		lastX, lastF = x, f
		next := [2]float64{x[0] - h[0][0]*f[0] - h[0][1]*f[1], x[1] - h[1][0]*f[0] - h[1][1]*f[1]}
		plain = !(size < best && next[1] > 1e-6 && !math.IsNaN(next[0]) && math.Abs(next[0]) < 10 && next[1] < 10)
		best = min(best, size)
		if plain {
			next, h = image, [2][2]float64{{1, 0}, {0, 1}}
		}
		x = next
	}
	return cycles, fmt.Errorf("%w: the rate of fire does not settle within %d shots; look for an inductance of an unusual size or a motor that nearly stalls", ErrUnfinished, mostCycles)
}

// round steps through a cycle from just after a pickup, with a current [A] and a
// speed [rad/s], and keeps its books.
func (r *run) round(ctx context.Context, i, w float64) (ending, error) {
	r.y[current], r.y[speed], r.entry = i, w, w
	r.arc, r.y[angle], r.turns = 0, r.m.arcs[0].from, true
	r.begin()
	return r.toPickup(ctx)
}

// broyden updates the inverse h of a derivative so that it maps the step in f to
// the step in x (Broyden 1965, second form by Sherman and Morrison).
func broyden(h *[2][2]float64, dx, df [2]float64) {
	hf := [2]float64{h[0][0]*df[0] + h[0][1]*df[1], h[1][0]*df[0] + h[1][1]*df[1]}
	d := dx[0]*hf[0] + dx[1]*hf[1]
	if d == 0 {
		return
	}
	left := [2]float64{(dx[0] - hf[0]) / d, (dx[1] - hf[1]) / d}
	right := [2]float64{dx[0]*h[0][0] + dx[1]*h[1][0], dx[0]*h[0][1] + dx[1]*h[1][1]}
	for i := range 2 {
		for j := range 2 {
			h[i][j] += left[i] * right[j]
		}
	}
}
