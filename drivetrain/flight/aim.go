package flight

import "math"

// How exact steps have to be for figures of a tolerance follows from the build. Errors add
// up over a flight to a tenth of a step's tolerance as a rule, in units of all that the
// spring gives; a figure that is little of that, as the energy of a slow pellet or of a
// piston that comes home at a crawl, keeps no more digits than there are left. So steps
// have a share of the tolerance that does for most builds, and a flight that turns out to
// ask for more is flown once more: on steps that are more exact, and without expected
// courses, whose rare slips it would feel. What was measured of it, over some thousand
// builds, is held by TestToleranceFollowsTheBuild.
const (
	usualShare = 2.
	// Beyond plain physics there are rows that know less of it: what walls take hangs on when
	// the flow becomes turbulent, what a spring with waves keeps on all that comes back.
	wholeShare = 4.
	// The same of a flight that is flown once more, times what it asks for.
	usualAgain = 8.
	wholeAgain = 12.
	// A time to the muzzle alone: of a usual build, and of one whose pellet is slow.
	delayShare = 0.1
	laterShare = 1.25
	// Beyond that there is nothing to gain.
	mostShare = 30.

	// A usual build has at least this share in its pellet. Below it, and where the pellet
	// stays in, flights are flown again.
	usualPellet = 0.3

	slowPellet = 0.1  // muzzle energy, as a share of what is given
	slowerYet  = 0.15 // the same where only the time to the muzzle counts
	slowPiston = 0.02 // the impact's energy, likewise
	littleAir  = 0.1  // what the air takes, likewise

	// A flight that asks for a little more than most is not flown again.
	slack = 0.8

	// Looser steps than these the most share alone may ask for, and looser ones than those
	// nothing: what a step says of its error is no measure any more.
	loosestStep  = 8e-6
	loosestDelay = 1e-3 // for a time to the muzzle alone
	tightestStep = 1e-13
)

// aim returns the tolerance of the steps of a gun's first flight.
func (f *Flyer) aim(s *Settings) float64 {
	if s.step > 0 {
		return s.step
	}
	if s.Delay > 0 {
		return s.later(&f.gun)
	}
	if a := s.known; a != nil {
		if a.hangs {
			return f.least(s)
		}
		if asked := f.wants(s, &a.Summary, !math.IsNaN(a.TimeToMuzzle), math.Abs(a.Ledger.Air), a.Ledger.Spring+a.Ledger.Kinetic); !math.IsInf(asked, 1) {
			return asked
		}
	}
	return f.loosest(s, usualShare, wholeShare)
}

// loosest is a share of the tolerance, of the one or the other physics.
func (f *Flyer) loosest(s *Settings, usual, whole float64) float64 {
	share := usual
	if !f.gun.plain() {
		share = whole
	}
	return within(s.tolerance()/share, max(loosestStep, s.tolerance()/mostShare))
}

// asks returns the tolerance that the flight asks for as it turned out; +Inf where the one
// that it was flown with will do.
func (f *Flyer) asks(s *Settings) float64 {
	if s.step > 0 || s.known != nil {
		return math.Inf(1)
	}
	sum, given := &f.summary, f.given()
	if s.Delay > 0 {
		if f.mode.pellet != out {
			return math.Inf(1)
		}
		if sum.MuzzleEnergy >= usualPellet*given {
			return math.Inf(1)
		}
		return s.slower(sum, given)
	}
	if f.hangs() {
		return f.least(s)
	}
	ledger := f.ledger()
	return f.wants(s, sum, f.mode.pellet == out, math.Abs(ledger.Air), given)
}

// given is all that a flight has from spring and rack [J].
func (f *Flyer) given() float64 {
	g := &f.gun
	return g.springEnergy(f.start[travel]) - g.springEnergy(0) + (g.moving+g.riding)*f.start[speed]*f.start[speed]/2
}

// hangs tells whether the air in the barrel hardly knew which way to flow.
func (f *Flyer) hangs() bool {
	for _, j := range f.jumps {
		if j.times > 1 {
			return true
		}
	}
	return false
}

// wants is asks for a flight of such figures and energies, by whomever they were found.
func (f *Flyer) wants(s *Settings, sum *Summary, isOut bool, air, given float64) float64 {
	g := &f.gun
	quality := 1.
	if isOut {
		quality = min(quality, sum.MuzzleEnergy/(slowPellet*given))
	}
	if v := sum.PistonImpact; v > 0 {
		quality = min(quality, g.moving*v*v/(slowPiston*given))
	}
	if !g.warmed() {
		quality = min(quality, air/(littleAir*given)+1e-3)
	}
	if quality >= slack && isOut && sum.MuzzleEnergy >= usualPellet*given {
		return math.Inf(1)
	}
	return max(f.least(s), f.loosest(s, usualAgain, wholeAgain)*quality)
}

// least is the tolerance below which there is nothing to gain.
func (f *Flyer) least(s *Settings) float64 { return max(s.tolerance()/mostShare, tightestStep) }

// later is the tolerance of steps to the muzzle where only the time to there counts, of a
// usual build, and slower that of one whose pellet has little of the energy that is given.
func (s *Settings) later(g *gun) float64 {
	return within(s.share(2*g.swing())/delayShare, loosestDelay)
}

func (s *Settings) slower(sum *Summary, given float64) float64 {
	return within(s.share(sum.TimeToMuzzle)/laterShare*min(1, sum.MuzzleEnergy/(slowerYet*given)), loosestDelay)
}

// share is what of a delay's tolerance falls to a flight of a duration [s].
func (s *Settings) share(duration float64) float64 {
	return s.tolerance() * (s.Delay + duration) / duration
}

func within(tolerance, loosest float64) float64 {
	return max(tightestStep, min(tolerance, loosest))
}
