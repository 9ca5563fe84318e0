package flight

import "math"

// How exact steps have to be for figures of a tolerance follows from the build. Errors add
// up over a flight to a tenth of a step's tolerance as a rule, in units of all that the
// spring gives; a figure that is little of that, as the energy of a slow pellet or of a
// piston that comes home at a crawl, keeps no more digits than there are left. So steps
// have a share of the tolerance that does for most builds, and a flight that turns out to
// ask for more is flown once more. What was measured of it, over some thousand builds, is
// held by TestToleranceFollowsTheBuild.
const (
	usualShare = 4.
	// Where the barrel's walls take heat, that hangs on when the flow becomes turbulent, and
	// what a spring with waves keeps on what comes back of them.
	hotShare = 10.
	// Of a time to the muzzle alone.
	delayShare = 2.5
	// Beyond that there is nothing to gain.
	mostShare = 30.

	slowPellet = 0.1  // muzzle energy, as a share of what is given
	slowPiston = 0.02 // the impact's, likewise

	loosestStep  = 1e-4
	tightestStep = 1e-13
)

// aim returns the tolerance of the steps of a gun's first flight.
func (f *Flyer) aim(s *Settings) float64 {
	if s.step > 0 {
		return s.step
	}
	if s.Delay > 0 {
		return within(s.share(2*f.gun.swing()) / delayShare)
	}
	if f.gun.warm2 > 0 || f.gun.impedance > 0 {
		return within(s.tolerance() / hotShare)
	}
	return within(s.tolerance() / usualShare)
}

// asks returns the tolerance that the flight asks for as it turned out; +Inf where the one
// that it was flown with will do.
func (f *Flyer) asks(s *Settings) float64 {
	if s.step > 0 {
		return math.Inf(1)
	}
	g, sum := &f.gun, &f.summary
	given := g.springEnergy(f.start[travel]) - g.springEnergy(0) + (g.moving+g.riding)*f.start[speed]*f.start[speed]/2
	aimed := f.aim(s)
	quality := 1.
	if f.mode.pellet == out {
		quality = min(quality, sum.MuzzleEnergy/(slowPellet*given))
	}
	if s.Delay > 0 {
		if !(sum.TimeToMuzzle > 0) {
			return math.Inf(1)
		}
		return within(s.share(sum.TimeToMuzzle) / delayShare * quality)
	}
	if v := sum.PistonImpact; v > 0 {
		quality = min(quality, g.moving*v*v/(slowPiston*given))
	}
	least := within(s.tolerance() / mostShare)
	for _, n := range f.counts[wallStirs : airTears+1] {
		if n > 1 { // the air in the barrel hardly knows which way to flow
			return least
		}
	}
	return max(least, aimed*quality)
}

// share is what of a delay's tolerance falls to a flight of a duration [s].
func (s *Settings) share(duration float64) float64 {
	return s.tolerance() * (s.Delay + duration) / duration
}

func within(tolerance float64) float64 { return max(tightestStep, min(tolerance, loosestStep)) }
