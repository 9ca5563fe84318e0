package listen

import (
	"math"
	"slices"
)

// onsets is the onset strength of a recording, with what counts as an onset (L3, L4).
type onsets struct {
	g         *grid
	o         []float64 // strength of each frame
	high, low float64   // thresholds
	loudest   float64
}

// newOnsets smooths the strengths, in place, and finds the thresholds. The scratch holds
// as many numbers.
func newOnsets(g *grid, strength, scratch []float64) *onsets {
	const (
		sigma, reach = 0.001, 3 // of the smoothing: s, frames
		scatter      = 1.4826   // standard deviation over median deviation, of a normal distribution
		highAbove    = 8        // deviations above the median
		lowAbove     = 4
		ofLoudest    = 0.15
		loud         = 0.995 // quantile
	)
	s := &onsets{g: g, o: strength}
	smooth(s.o, s.o, sigma/g.step, reach)
	sorted := scratch[:len(s.o)]
	copy(sorted, s.o)
	slices.Sort(sorted)
	median, top := quantile(sorted, 0.5), quantile(sorted, loud)
	if n := len(sorted); n > 0 {
		s.loudest = sorted[n-1]
	}
	for i, v := range sorted {
		sorted[i] = math.Abs(v - median)
	}
	slices.Sort(sorted)
	d := scatter * quantile(sorted, 0.5)
	s.high = max(median+highAbove*d, ofLoudest*top)
	s.low = min(s.high, median+lowAbove*d)
	return s
}

// smooth puts x, weighed by a Gaussian that is cut off, into dst, which may be x. Beyond
// its ends there is nothing.
func smooth(dst, x []float64, sigma float64, reach int) {
	weights := make([]float64, 2*reach+1)
	sum := 0.
	for i := range weights {
		d := float64(i-reach) / sigma
		weights[i] = math.Exp(-d * d / 2)
		sum += weights[i]
	}
	for i := range weights {
		weights[i] /= sum
	}
	before := make([]float64, reach) // of x, which dst may have taken the place of
	for i := range x {
		v := 0.
		for j, w := range weights {
			k := i + j - reach
			switch {
			case k < 0 || k >= len(x):
			case k < i:
				v += w * before[k%reach]
			default:
				v += w * x[k]
			}
		}
		before[i%reach], dst[i] = x[i], v
	}
}

// quantile of sorted numbers, between the two nearest in rank on a straight line; 0 of none.
func quantile(sorted []float64, share float64) float64 {
	if len(sorted) == 0 {
		return 0
	}
	rank := share * float64(len(sorted)-1)
	i := int(rank)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (rank-float64(i))*(sorted[i+1]-sorted[i])
}

// median of numbers in any order.
func median(x []float64) float64 {
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	return quantile(sorted, 0.5)
}

// peaks lists the frames above a threshold that none within 12 ms is higher than; of
// equals the first.
func (s *onsets) peaks(threshold float64) (all []int) {
	reach := s.g.frames(0.012)
	for k, v := range s.o {
		if v <= threshold || k > 0 && s.o[k-1] >= v || k+1 < len(s.o) && s.o[k+1] > v {
			continue
		}
		highest := true
		for j := max(0, k-reach); j <= min(k+reach, len(s.o)-1) && highest; j++ {
			highest = s.o[j] < v || s.o[j] == v && j >= k
		}
		if highest {
			all = append(all, k)
		}
	}
	return all
}

// groups cuts peaks where they are more than a fifth of a second apart.
func (s *onsets) groups(peaks []int) (all [][]int) {
	const gap = 0.2
	from := 0
	for i := range peaks {
		if i+1 == len(peaks) || float64(peaks[i+1]-peaks[i])*s.g.step > gap {
			all = append(all, peaks[from:i+1])
			from = i + 1
		}
	}
	return all
}

// summit returns the strength's maximum about a frame, on the parabola through the three
// highest frames there.
func (s *onsets) summit(k int) float64 {
	const reach = 3
	for range reach {
		switch {
		case k+1 < len(s.o) && s.o[k+1] > s.o[k]:
			k++
		case k > 0 && s.o[k-1] > s.o[k]:
			k--
		}
	}
	if k == 0 || k+1 == len(s.o) {
		return float64(k)
	}
	return float64(k) + vertex(s.o[k-1], s.o[k], s.o[k+1])
}

// vertex returns where the parabola through three points, one apart, turns, counted from
// the middle one; within half of their distance.
func vertex(before, at, behind float64) float64 {
	bend := before - 2*at + behind
	if bend >= 0 {
		return 0
	}
	return min(max((before-behind)/(2*bend), -0.5), 0.5)
}
