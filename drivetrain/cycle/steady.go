package cycle

import (
	"context"
	"errors"
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
//
// A gun may have no such cycle, or leave it again. Where none is found, or where a small
// disturbance grows, it is fired as it is; unless its shots come to be alike, the books
// are then those of a [Hunt]. Disturbances are followed on the spare run.
func (r *run) steady(ctx context.Context, spare *run) (cycles int, err error) {
	begin := [2]float64{r.y[current], r.y[speed]}
	found, cycles, stays, err := r.search(ctx, spare)
	if err != nil || found && stays {
		return cycles, err
	}
	fixed := [2]float64{r.y[current], r.y[speed]}
	end, err := r.hunt(ctx, begin[0], begin[1])
	if err == nil && end == stalled {
		err = errStalls
	}
	if err != nil || r.hunts.hunting() {
		return cycles, err
	}
	r.hunts = Hunt{}
	i, w := r.y[current], r.y[speed]
	if found && math.Abs(i-fixed[0]) <= 1e-7*r.amps && math.Abs(w-fixed[1]) <= 1e-7*r.rads { // it comes to what was found
		i, w = fixed[0], fixed[1]
	}
	_, err = r.round(ctx, i, w)
	return cycles, err
}

// search looks for the cycle that repeats, and tells whether it was found and whether
// the gun stays in it.
func (r *run) search(ctx context.Context, spare *run) (found bool, cycles int, stays bool, err error) {
	scale := [2]float64{max(1e-3, r.m.stallCurrent(r.source, r.m.v1, r.m.v2)), max(1, r.m.noLoadSpeed())}
	begin := [2]float64{r.y[current], r.y[speed]}
	x := [2]float64{begin[0] / scale[0], begin[1] / scale[1]}
	h := [2][2]float64{{1, 0}, {0, 1}} // inverse of the derivative of x − map(x)
	var lastX, lastF [2]float64
	best, plain := math.Inf(1), true
	leaping, settled := r.prepare(), false
	// Books cost a third of a cycle and are wanted of the last one alone, which shows in
	// how quickly the search closes in. Where that was misjudged, it is stepped again.
	wanted, last := r.books, math.Inf(1)
	defer func() { r.books = wanted }()
	r.books = false
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
			r.books = wanted && (settled || last <= periodic)
			ending, err := r.round(ctx, x[0]*scale[0], x[1]*scale[1])
			if err != nil {
				return false, cycles, false, err
			}
			if ending == stalled {
				if plain {
					return false, cycles, false, errStalls
				}
				x, h, plain = image, [2][2]float64{{1, 0}, {0, 1}}, true
				continue
			}
			image = [2]float64{r.y[current] / scale[0], r.y[speed] / scale[1]}
		}
		f := [2]float64{x[0] - image[0], x[1] - image[1]}
		size := max(math.Abs(f[0]), math.Abs(f[1]))
		if !leapt && (size <= exact || size <= periodic && (settled || size > best/4)) {
			if wanted && !r.books {
				r.books = true
				if _, err := r.round(ctx, x[0]*scale[0], x[1]*scale[1]); err != nil {
					return false, cycles, false, err
				}
			}
			return true, cycles, r.stays(ctx, spare, &h, begin, [2]float64{x[0] * scale[0], x[1] * scale[1]}), nil
		}
		if leapt && size <= periodic { // what is left, the next step takes away
			settled, leaping = true, false
		}
		if cycles > 1 {
			broyden(&h, [2]float64{x[0] - lastX[0], x[1] - lastX[1]}, [2]float64{f[0] - lastF[0], f[1] - lastF[1]})
		}
		lastX, lastF = x, f
		next := [2]float64{x[0] - h[0][0]*f[0] - h[0][1]*f[1], x[1] - h[1][0]*f[0] - h[1][1]*f[1]}
		last = size * min(1, size/best) // what the next one may come to
		plain = !(size < best && next[1] > 1e-6 && !math.IsNaN(next[0]) && math.Abs(next[0]) < 10 && next[1] < 10)
		best = min(best, size)
		if plain {
			next, h = image, [2][2]float64{{1, 0}, {0, 1}}
		}
		x = next
	}
	return false, cycles, false, nil
}

// What a small disturbance of a cycle comes to in the next, by what the search has come
// to know of the map's derivative: below calm, the gun stays in the cycle; from doubtful
// on, it is tried. Heavy trains and large inductances have long memories.
const (
	calm     = 0.5
	doubtful = 0.8
)

// stays tells whether a cycle that was found is that of the gun: given the inverse of the
// derivative of x − map(x), the current [A] and speed [rad/s] that the gun begins with,
// and those of the cycle.
func (r *run) stays(ctx context.Context, spare *run, h *[2][2]float64, begin, found [2]float64) bool {
	det := h[0][0]*h[1][1] - h[0][1]*h[1][0]
	radius, swings := spectrum(1-h[1][1]/det, h[0][1]/det, h[1][0]/det, 1-h[0][0]/det)
	if radius < calm {
		return true
	}
	spare.reset(r.m, r.tolerance, true, 0, nil)
	spare.books = false
	if !(radius < doubtful) {
		if radius, swings = r.disturb(ctx, spare, found); !(radius < 1) {
			return false
		}
	}
	return !swings || r.arrives(ctx, spare, begin, found)
}

// shot is the map of a cycle without its books.
func (r *run) shot(ctx context.Context, spare *run, x [2]float64) [2]float64 {
	if r.m.motor.Commutation == 0 {
		if i, w, ok := r.leap(x[0], x[1]); ok {
			return [2]float64{i, w}
		}
	}
	if end, err := spare.round(ctx, x[0], x[1]); err != nil || end == stalled {
		return [2]float64{math.NaN(), math.NaN()}
	}
	return [2]float64{spare.y[current], spare.y[speed]}
}

// disturb finds the derivative's spectrum by differences.
func (r *run) disturb(ctx context.Context, spare *run, x [2]float64) (radius float64, swings bool) {
	const aside = 1e-5
	i, w := aside*r.amps, aside*r.rads
	a, b := r.shot(ctx, spare, [2]float64{x[0] + i, x[1]}), r.shot(ctx, spare, [2]float64{x[0] - i, x[1]})
	c, d := r.shot(ctx, spare, [2]float64{x[0], x[1] + w}), r.shot(ctx, spare, [2]float64{x[0], x[1] - w})
	return spectrum((a[0]-b[0])/(2*i), (c[0]-d[0])/(2*w), (a[1]-b[1])/(2*i), (c[1]-d[1])/(2*w))
}

// arrives tells whether the gun's shots lead from where it begins to near a cycle. A gun
// that may swing about a cycle for good may also be left alone in it.
func (r *run) arrives(ctx context.Context, spare *run, begin, cycle [2]float64) bool {
	const near = 1e-3
	x := begin
	for range mostCycles {
		if math.Abs(x[0]-cycle[0]) < near*r.amps && math.Abs(x[1]-cycle[1]) < near*r.rads {
			return true
		}
		x = r.shot(ctx, spare, x)
	}
	return false
}

// spectrum returns the spectral radius of a matrix, given by rows, and whether what is
// multiplied by it changes its sign sooner or later.
func spectrum(a, b, c, d float64) (radius float64, swings bool) {
	half, product := (a+d)/2, a*d-b*c
	if square := half*half - product; square > 0 {
		return math.Abs(half) + math.Sqrt(square), half < 0
	}
	return math.Sqrt(product), true
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
