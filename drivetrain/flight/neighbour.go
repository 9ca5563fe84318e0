package flight

import "math"

// Neighbour is another release of the same gun, of which the time to the muzzle is wanted
// beside the flight that is flown.
type Neighbour struct {
	// Speed is that of the rack at its release, positive rearwards [m/s].
	Speed float64
	// Delay is how long after its beginning the delay that the time is a part of comes to the
	// release, as in [Settings]: the whole of it is as exact as Tolerance says. 0: there is no
	// neighbour [s].
	Delay float64
}

// Exit is a pellet that leaves the muzzle.
type Exit struct {
	// Time is counted from the release [s].
	Time float64
	// Speed is the pellet's, which no tolerance is kept of [m/s].
	Speed float64
}

func noExit() Exit { return Exit{math.NaN(), math.NaN()} }

// nearest is how much faster or slower than the flight's a neighbour's rack may be, as a
// share: farther off half of them would have to be flown after all.
const nearest = 0.03

// neighbour finds the neighbour's exit beside the flight, which is over; none where that
// has to be flown.
func (f *Flyer) neighbour(s *Settings) Exit {
	v, w := f.start[speed], s.Neighbour.Speed
	if f.mode.pellet != out || f.gaveUp || f.hangs() || !(v > 0) || !(math.Abs(w-v) <= nearest*v) {
		return noExit()
	}
	a := &f.aside
	a.begin(f, s)
	in, at, ok := a.meet(w)
	if !ok {
		return noExit()
	}
	for k := in; ; k++ {
		sp := &f.track.spans[k]
		if !a.walk(sp, max(at, sp.first)) {
			return noExit()
		}
		if k+1 == len(f.track.spans) {
			return a.exit(sp)
		}
		if !a.pass(sp, &f.track.spans[k+1].mode) {
			return noExit()
		}
	}
}
