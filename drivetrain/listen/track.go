package listen

import "math"

// fewestShots there are in a burst, and for a rate.
const fewestShots = 3

// track finds the places of shots that are about a period apart, as one chain of which
// the next place may come a quarter earlier or a third later (L7, after Ellis 2007).
func (r *stretch) track(period float64) []int {
	const (
		beyond       = 1.3 // periods before and behind the group
		earliest     = 0.75
		latest       = 1.35
		tightness    = 20
		step         = 0.05 // what each place costs
		mostStrength = 1.5
	)
	if r.most <= 0 {
		return nil
	}
	s := r.s
	from := max(0, r.peaks[0]-int(math.Round(beyond*period)))
	to := min(len(s.o)-1, r.peaks[len(r.peaks)-1]+int(math.Round(beyond*period)))
	least, most := int(math.Ceil(earliest*period)), int(math.Floor(latest*period))
	cost := make([]float64, most-least+1)
	for i := range cost {
		d := math.Log(float64(least+i) / period)
		cost[i] = tightness*d*d + step
	}
	n := to - from + 1
	chain := r.scratch[:n]
	if len(r.back) < n {
		r.back = make([]int32, n)
	}
	back := r.back[:n] // by how many frames; 0: the chain begins here
	clear(back)
	best := 0
	for k := range n {
		gain := 0.
		for i, c := range cost {
			lag := least + i
			if lag > k {
				break
			}
			if v := chain[k-lag] - c; v > gain {
				gain, back[k] = v, int32(lag)
			}
		}
		chain[k] = min(s.o[from+k]/r.most, mostStrength) + gain
		if chain[k] > chain[best] {
			best = k
		}
	}
	var places []int
	for k := best; ; k -= int(back[k]) {
		places = append(places, from+k)
		if back[k] == 0 {
			break
		}
	}
	for i, j := 0, len(places)-1; i < j; i, j = i+1, j-1 {
		places[i], places[j] = places[j], places[i]
	}
	return places
}

// trim drops what is weak at both ends: the click of a switch, an echo, the gears running
// down (L8).
func (r *stretch) trim(places []int) []int {
	const (
		share = 0.35
		next  = 5
	)
	strength := func(places []int) []float64 {
		all := make([]float64, len(places))
		for i, k := range places {
			all[i] = r.s.o[k]
		}
		return all
	}
	for len(places) > 1 && r.s.o[places[0]] < share*median(strength(places[1:min(1+next, len(places))])) {
		places = places[1:]
	}
	for n := len(places); n > 1 && r.s.o[places[n-1]] < share*median(strength(places[max(0, n-1-next):n-1])); n-- {
		places = places[:n-1]
	}
	return places
}
