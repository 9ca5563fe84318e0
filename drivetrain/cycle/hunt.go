package cycle

import (
	"context"
	"math"
)

// Hunt is what a gun does whose shots never come to be alike: with a large
// inductance, current and speed swing about each other over some shots, as an engine
// hunts about its governor's speed. There is no steady cycle then, or none that the
// gun stays in.
type Hunt struct {
	// Shots is how many the figures of the steady cycle are the means of.
	Shots int
	// Shortest is the shortest time among them from pickup to pickup [s].
	Shortest float64
	// Longest is the longest time among them from pickup to pickup [s].
	Longest float64
	// LeastFree is the shortest time among them from release to pickup, which the
	// piston has to come home in [s].
	LeastFree float64
}

// hunted is how many shots the means of a hunting gun are taken over, the last ones of
// mostCycles: a swing takes some ten to twenty.
const hunted = 256

// alike is how far the times of shots may differ, as a share, for the gun not to hunt.
const alike = 1e-9

// hunt fires mostCycles shots one after the other, as the gun does, from a current [A]
// and a speed [rad/s] just after a pickup, and keeps the books of the last ones
// together, with the course of the very last. It leaves one release in their place, of
// a rack of their mean energy.
func (r *run) hunt(ctx context.Context, i, w float64) (ending, error) {
	trace := r.trace
	r.trace = nil
	defer func() { r.trace = trace }()
	for range mostCycles - hunted {
		if end, err := r.round(ctx, i, w); err != nil || end == stalled {
			return end, err
		}
		i, w = r.y[current], r.y[speed]
	}
	r.begin()
	h := Hunt{Shots: hunted, Shortest: math.Inf(1), LeastFree: math.Inf(1)}
	var from, entries float64
	for n := range hunted {
		if n == hunted-1 && trace != nil {
			trace.clear(r.time, r.y, r.arc, r.path)
			r.trace = trace
		}
		from = r.time
		entries += r.y[speed]
		if end, err := r.toPickup(ctx); err != nil || end == stalled {
			return end, err
		}
		h.Shortest, h.Longest = min(h.Shortest, r.time-from), max(h.Longest, r.time-from)
	}
	r.hunts, r.entry = h, entries/hunted
	r.merge(from)
	return pickedUp, nil
}

// merge puts one release in the place of those of a hunting gun, of a rack of their
// mean energy, given when the last cycle began [s].
func (r *run) merge(from float64) {
	n := float64(r.hunts.Shots)
	var free, square, sector float64
	for _, l := range r.releases {
		free += l.pickup - l.time
		square += l.rack * l.rack
		sector += l.sector
		r.hunts.LeastFree = min(r.hunts.LeastFree, l.pickup-l.time)
		r.shown = l.time - (from - r.t0)
	}
	period := (r.time - r.t0) / n
	r.releases = append(r.releases[:0], release{period - free/n, math.Sqrt(square / n), period, sector / n})
}

// hunting tells that the shots were not alike.
func (h *Hunt) hunting() bool { return h.Longest-h.Shortest > alike*h.Longest }
