package listen

import (
	"context"
	"math"
	"slices"
)

// Bounds of the time from shot to shot: 6 to 50 shots a second (L6).
const (
	shortestPeriod = 0.020 // s
	longestPeriod  = 0.167 // s
)

// stretch is the onset strength about a group of peaks.
type stretch struct {
	s      *onsets
	first  int // of the frames of the recording
	last   int
	peaks  []int
	most   float64   // 98 % quantile of the strength
	smooth []float64 // autocorrelation, by lag in frames, up to one above the longest period
	rough  []float64 // the same before it was smoothed

	scratch []float64 // as many numbers as the recording has frames
	back    []int32   // see track
}

// newStretch takes the autocorrelations.
func newStretch(s *onsets, peaks []int, scratch []float64) *stretch {
	const (
		margin       = 0.05 // s, on both sides
		cut          = 0.98
		sigma, reach = 0.002, 8 // of the smoothing: s, frames
	)
	r := &stretch{s: s, peaks: peaks, scratch: scratch}
	r.first = max(0, peaks[0]-s.g.frames(margin))
	r.last = min(len(s.o)-1, peaks[len(peaks)-1]+s.g.frames(margin))
	o := s.o[r.first : r.last+1]
	sorted := scratch[:len(o)]
	copy(sorted, o)
	slices.Sort(sorted)
	r.most = quantile(sorted, cut)
	x := sorted
	mean := 0.
	for i, v := range o {
		x[i] = min(v, r.most)
		mean += x[i] / float64(len(o))
	}
	for i := range x {
		x[i] -= mean
	}
	lags := int(longestPeriod/s.g.step) + 2
	r.rough = autocorrelation(x, lags)
	smooth(x, x, sigma/s.g.step, reach)
	r.smooth = autocorrelation(x, lags)
	return r
}

// autocorrelation of x over the lags below a number, each divided by how much of x overlaps
// and by that of lag 0.
func autocorrelation(x []float64, lags int) []float64 {
	n := len(x)
	r := make([]float64, min(lags+1, n))
	for lag := range r {
		sum := 0.
		for i, v := range x[lag:] {
			sum += v * x[i]
		}
		r[lag] = sum / (1 - float64(lag)/float64(n))
	}
	if r[0] > 0 {
		for lag := len(r) - 1; lag >= 0; lag-- {
			r[lag] /= r[0]
		}
	}
	return r
}

// period is one that a group may have.
type period struct {
	frames   float64 // from shot to shot
	salience float64
	score    float64
	places   []int // of shots, in frames
}

// period returns the one that explains the group best; the salience of none is NaN.
func (r *stretch) period(ctx context.Context) (period, error) {
	const least = 0.4 // of the highest
	best := period{salience: math.NaN()}
	from, to := int(math.Ceil(shortestPeriod/r.s.g.step-1e-9)), int(longestPeriod/r.s.g.step+1e-9)
	var lags []int
	highest := 0.
	for lag := from; lag <= to && lag+1 < len(r.smooth); lag++ {
		if v := r.smooth[lag]; v > r.smooth[lag-1] && v >= r.smooth[lag+1] {
			lags = append(lags, lag)
			highest = max(highest, v)
		}
	}
	for _, lag := range lags {
		if err := ctx.Err(); err != nil { // an hour of noise may take seconds
			return best, err
		}
		if r.smooth[lag] < least*highest || r.smooth[lag] <= 0 {
			continue
		}
		p := period{frames: float64(lag) + vertex(r.smooth[lag-1], r.smooth[lag], r.smooth[lag+1]), salience: r.smooth[lag]}
		p.places = r.trim(r.track(p.frames))
		if len(p.places) < fewestShots {
			continue
		}
		p.score = r.score(p.places)
		if math.IsNaN(best.salience) || p.score > best.score {
			best = p
		}
	}
	return best, nil
}

// score tells how much of the group's strength the places take, and how evenly. Half a
// period takes all but unevenly, two periods evenly but half of it.
func (r *stretch) score(places []int) float64 {
	const (
		cut   = 0.9
		least = 0.25 // of the cut, below which a peak is none
	)
	heights := make([]float64, len(r.peaks))
	for i, k := range r.peaks {
		heights[i] = r.s.o[k]
	}
	slices.Sort(heights)
	q := quantile(heights, cut)
	total := 0.
	for _, v := range heights {
		if v >= least*q {
			total += min(v, q)
		}
	}
	taken := 0.
	at := make([]float64, len(places))
	for i, k := range places {
		at[i] = min(r.s.o[k], q)
		taken += at[i]
	}
	return evenness(at) * min(1, taken/total)
}

// evenness compares every second place with the others, and every third: the weakest
// class, given the benefit of the doubt, with the strongest; at most 1.
func evenness(at []float64) float64 {
	least := 1.
	for _, m := range []int{2, 3} {
		if len(at) < 4*m {
			continue
		}
		lowest, highest := [2]float64{math.Inf(1)}, [2]float64{math.Inf(-1)} // mean, and its variance
		for c := range m {
			n, sum, squares := 0., 0., 0.
			for i := c; i < len(at); i += m {
				n++
				sum += at[i]
			}
			mean := sum / n
			for i := c; i < len(at); i += m {
				squares += (at[i] - mean) * (at[i] - mean)
			}
			v := [2]float64{mean, squares / n / n}
			if mean < lowest[0] {
				lowest = v
			}
			if mean > highest[0] {
				highest = v
			}
		}
		if highest[0] > 0 {
			least = min(least, (lowest[0]+math.Sqrt(lowest[1]+highest[1]))/highest[0])
		}
	}
	return least
}

// voice tells a talker's throat, which beats every 4 to 12 ms, from a gun: between the
// shots of one nothing repeats.
func (r *stretch) voice(p period) bool {
	const (
		from, to = 0.004, 0.020 // s
		around   = 4            // frames
		share    = 0.8
	)
	highest := math.Inf(-1)
	middle := int(math.Round(p.frames))
	for lag := max(0, middle-around); lag <= min(middle+around, len(r.rough)-1); lag++ {
		highest = max(highest, r.rough[lag])
	}
	for lag := max(1, int(math.Ceil(from/r.s.g.step-1e-9))); lag <= int(to/r.s.g.step+1e-9) && lag+1 < len(r.rough); lag++ {
		v := r.rough[lag]
		if v > r.rough[lag-1] && v >= r.rough[lag+1] && v > share*highest {
			return true
		}
	}
	return false
}
