package ode

// Sample reads a course of a length at n or more points in the order of time: evenly
// spaced ones with both ends, and each event twice, just before and just after it.
// The events' times rise; at reads the course, just after an event that lies there,
// before just before it; when is a point's time.
func Sample[P any](n int, length float64, events []float64, at, before func(float64) P, when func(P) float64) []P {
	all := make([]P, 0, n+2*len(events))
	next := 0
	for i := range n {
		time := length * float64(i) / float64(max(1, n-1))
		for ; next < len(events) && events[next] <= time; next++ {
			e := events[next]
			if e > 0 {
				all = append(all, before(e))
			}
			if e < length {
				all = append(all, at(e))
			}
		}
		if len(all) == 0 || time > when(all[len(all)-1]) {
			all = append(all, at(time))
		}
	}
	return all
}
