package listen

import (
	"math"
	"slices"
)

// A recording may last an hour, of which all bands of all frames would not find room in
// the memory it may take. What is kept of them is by how much each has risen, to 0.2 %,
// and how often each loudness occurs, to 0.01 %.

// rises collects what is needed of the bands (L2, L3).
type rises struct {
	bands  int
	lag    int
	recent []float32    // amplitudes of the last lag frames, in a ring
	count  int          // frames
	kept   [][]uint16   // coarse rises, band by band, frame by frame
	heard  []*histogram // amplitudes of each band
}

func newRises(bands, lag int) *rises {
	r := &rises{bands: bands, lag: lag, recent: make([]float32, bands*lag)}
	for range bands {
		r.heard = append(r.heard, new(histogram))
	}
	return r
}

// add takes the amplitudes of some frames more.
func (r *rises) add(amplitudes []float32) {
	kept := make([]uint16, len(amplitudes))
	for from := 0; from < len(amplitudes); from += r.bands {
		now := amplitudes[from : from+r.bands]
		at := r.count % r.lag * r.bands
		before := r.recent[at : at+r.bands]
		if r.count >= r.lag {
			for b, v := range now {
				kept[from+b] = coarse(max(0, v-before[b]))
			}
		}
		for b, v := range now {
			r.heard[b].add(v)
		}
		copy(before, now)
		r.count++
	}
	r.kept = append(r.kept, kept)
}

// coarse keeps a number, not below 0, to one part in 512: its exponent and eight bits more.
func coarse(v float32) uint16 { return uint16((math.Float32bits(v) + 1<<14) >> 15) }

func fine(c uint16) float64 { return float64(math.Float32frombits(uint32(c) << 15)) }

// strength returns the onset strength of each frame, before it is smoothed: the mean over
// the bands of their rises, each in units of its floor.
func (r *rises) strength() []float64 {
	const (
		quiet = 0.2  // quantile that is the floor
		span  = 1e-3 // of the loudest, below which no floor is
	)
	weight := make([]float64, r.bands)
	for b, h := range r.heard {
		if floor := max(h.quantile(quiet), span*h.most()); floor > 0 {
			weight[b] = 1 / (floor * float64(r.bands))
		}
	}
	all := make([]float64, 0, r.count)
	for _, kept := range r.kept {
		for frame := range slices.Chunk(kept, r.bands) {
			sum := 0.
			for b, c := range frame {
				sum += weight[b] * fine(c)
			}
			all = append(all, sum)
		}
	}
	return all
}

// histogram counts numbers, none below 0, by their exponent and the twelve bits behind.
type histogram struct {
	pages   [256]*[1 << 12]uint32
	count   int
	largest float32
}

func (h *histogram) add(v float32) {
	bits := math.Float32bits(v) >> 11
	page := h.pages[bits>>12]
	if page == nil {
		page = new([1 << 12]uint32)
		h.pages[bits>>12] = page
	}
	page[bits&(1<<12-1)]++
	h.count++
	h.largest = max(h.largest, v)
}

func (h *histogram) most() float64 { return float64(h.largest) }

// quantile returns the number below which a share of them lies, between the two nearest in
// rank on a straight line.
func (h *histogram) quantile(share float64) float64 {
	if h.count == 0 {
		return 0
	}
	rank := share * float64(h.count-1)
	first := int(rank)
	low, seen := math.NaN(), 0
	for e, page := range h.pages {
		if page == nil {
			continue
		}
		for i, n := range page {
			if n == 0 {
				continue
			}
			seen += int(n)
			v := min(float64(math.Float32frombits(uint32(e<<12|i)<<11|1<<10)), h.most())
			if e == 0 && i == 0 {
				v = 0
			}
			if math.IsNaN(low) && seen > first {
				low = v
			}
			if seen > first+1 {
				return low + (rank-float64(first))*(v-low)
			}
		}
	}
	return low
}
