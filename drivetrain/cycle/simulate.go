package cycle

import (
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/motor"
)

// Status says how a simulation that came to an end ended.
type Status int

// A gun fires, or it stalls; all are results.
const (
	Steady Status = iota // the first shot leads to a cycle that repeats
	Stall                // the motor can't turn the gears through the pull
	Once                 // the cut-off has opened the switch and the train has come to rest
)

// String names the status as files do.
func (s Status) String() string { return [...]string{"steady", "stall", "single"}[s] }

// Result is what a simulation found.
type Result struct {
	Build   *drivetrain.Build
	Status  Status
	Summary Summary
	// Motor is the motor at the temperatures of the simulation.
	Motor motor.Constants
	// Wires are the harness's resistances at those temperatures.
	Wires harness.Resistances
	// Ledger is the steady cycle's, or that of a single shot from closing the switch
	// to rest; all NaN in a stall.
	Ledger Ledger
	// FirstLedger is that of the first shot, from closing the switch to just after
	// the next pickup; all NaN if it stalls.
	FirstLedger Ledger
	// First is the course from closing the switch to the next pickup, or to the
	// stall, in whichever pull that is; of a single shot, to rest.
	First *Trace
	// PickupSpeed is the motor's speed just after the pickup in the steady cycle; NaN
	// without one [rad/s].
	PickupSpeed float64
	// Steady is the course of one steady cycle, from pickup to pickup; nil in a stall.
	Steady *Trace
	// FirstFlight is the first shot's flight, with its course; nil if none is released. In
	// automatic the trigger delay is found beside the steady cycle's flight if it can be, so
	// that both agree as exactly as flights are.
	FirstFlight *flight.Result
	// Flight is that of the steady cycle, or the first one of a single shot; nil in a
	// stall or without a release.
	Flight *flight.Result
	// Hunt tells that the gun's shots never come to be alike, which leaves it without a
	// steady cycle; nil where they do. Its figures are then the means of some hundred
	// shots, but for CurrentPeak and PackVoltageMin, which are the extremes of all. The
	// flight is that of a rack of their mean energy, Ledger the mean of theirs, and
	// Steady the course of the last one.
	Hunt *Hunt
	// Pull is what the trigger's pull comes to that ends by the cut-off: a single
	// shot, or a burst; nil for neither.
	Pull     *Pull
	Warnings []finding.Finding
	Stats    Stats

	accuracy float64 // of the flights [1]
}

// FlightSettings returns the settings with which the quoted flight was computed,
// without its course, to fly variants of the build alike.
func (res *Result) FlightSettings() flight.Settings {
	return flight.Settings{Tolerance: res.accuracy, ReleaseSpeed: res.Summary.ReleaseSpeed}
}

// Stats is what a simulation took.
type Stats struct {
	// Cycles is how many were computed to find the steady one.
	Cycles int
	// Steps are those taken through the cycle, Evaluations the orders of their series
	// and the flights' calls of the right-hand side.
	Steps, Evaluations int
}

// add counts the work of a run.
func (s *Stats) add(r *run) {
	s.Steps += r.steps
	s.Evaluations += r.steps * order
}

// Simulate fires a build. In automatic: the first shot from rest and the cycle
// that repeats after it, and a burst where the trigger counts rounds. In single:
// one pull, from closing the switch until the train stands behind the cut-off.
// Each release has its flight (equations E1 to E7, F1 to F8). It reports every field of build and settings that can't be used. A
// build that stalls is a result, and so is one that hunts. An error that is [ErrUnfinished] says that the
// simulation came to no end, one that is the context's that it was interrupted.
func Simulate(ctx context.Context, b *drivetrain.Build, settings Settings) (*Result, error) {
	e := Evaluator{traces: true}
	res, err := e.Evaluate(ctx, b, settings)
	if err != nil {
		return nil, err
	}
	res.Warnings = e.Warnings()
	return res, nil
}

// largest returns the largest current that the motor sees, whichever way [A].
func (res *Result) largest() float64 {
	if res.Pull != nil && res.Pull.BrakeCurrent > res.Summary.Inrush {
		return res.Pull.BrakeCurrent
	}
	return res.Summary.Inrush
}

// tight turns the accuracy of figures into a tolerance of the steps, whose errors
// add up over a cycle.
func tight(tolerance float64) float64 { return max(tolerance/30, 1e-13) }

// fire fires in automatic: the first shot and the steady cycle.
func (e *Evaluator) fire(ctx context.Context) error {
	res, m := &e.result, &e.machine
	s := &res.Summary
	var course *Trace
	if e.traces {
		course = &Trace{m: m}
		res.First = course
	}
	first := &e.run
	first.reset(m, e.tolerance, false, 0, course)
	first.books = e.traces
	defer res.Stats.add(first)
	first.begin()
	first.note(Closing)
	end, err := first.toPickup(ctx)
	if err == nil && end == pickedUp && len(first.releases) == 0 { // it started behind the release
		end, err = first.toPickup(ctx)
	}
	if err != nil {
		return err
	}
	s.Inrush = first.tally.peak
	s.PackVoltageMin = first.tally.dip
	var opening *release // the first shot's
	if len(first.releases) > 0 {
		l := first.releases[0]
		opening = &l
	}
	var shots []*flight.Result
	if e.traces {
		if shots, err = e.fly(ctx, first, nil, flight.Neighbour{}); err != nil {
			return err
		}
		if len(shots) > 0 {
			res.FirstFlight = shots[0]
		}
	}
	if end == stalled {
		res.stall(first)
		return e.respond(ctx, opening, nil)
	}
	if first.books {
		res.FirstLedger = first.ledger(shots)
	}

	steady := &e.cycles
	steady.reset(m, e.tolerance, true, 0, nil)
	defer res.Stats.add(steady)
	steady.y[current], steady.y[speed] = first.y[current], first.y[speed]
	if e.traces {
		steady.trace = &Trace{m: m, held: true, source: steady.source}
	}
	res.Stats.Cycles, err = steady.steady(ctx, &e.spare)
	if errors.Is(err, errStalls) {
		// The gun itself slows down from shot to shot until it stands.
		for range mostCycles {
			if end, err = first.toPickup(ctx); err != nil || end == stalled {
				break
			}
		}
		if err == nil && end == stalled {
			res.stall(first)
			return e.respond(ctx, opening, nil)
		}
		if err == nil {
			err = fmt.Errorf("%w: the steady cycle stalls, but %d shots in a row don't", ErrUnfinished, mostCycles)
		}
	}
	if err != nil {
		return err
	}
	res.Steady, res.PickupSpeed = steady.trace, steady.entry
	t := &steady.tally
	time, n := steady.time-steady.t0, 1. // of how many cycles
	if steady.hunts.Shots != 0 {
		e.hunted = steady.hunts
		res.Hunt, n = &e.hunted, float64(steady.hunts.Shots)
	}
	s.Period = time / n
	var beside flight.Neighbour
	if opening != nil && !e.apart && e.flights == nil {
		beside = flight.Neighbour{Speed: opening.rack, Delay: opening.time}
	}
	if shots, err = e.fly(ctx, steady, func(l *release) float64 { return s.Period - l.time }, beside); err != nil {
		return err
	}
	if len(shots) != 1 {
		return fmt.Errorf("%w: %d releases in a steady cycle", ErrUnfinished, len(shots))
	}
	res.Flight = shots[0]
	if err := e.respond(ctx, opening, res.Flight); err != nil {
		return err
	}
	res.Ledger = steady.ledger(shots)
	y := &steady.y
	s.RateOfFire = 1 / s.Period
	s.FreeTime = s.Period - steady.releases[0].time
	s.CurrentPeak = t.peak
	s.CurrentMean = t.drawn / time
	s.CurrentRMS = math.Sqrt(y[sumSquare] / time)
	s.ChargePerShot = t.drawn / n
	s.MotorHeat = (res.Ledger.Winding + res.Ledger.Brush + res.Ledger.MotorDrag) / s.Period
	s.ShotsPerCharge = m.pack.Shots(s.ChargePerShot)
	s.PackVoltageMin = min(s.PackVoltageMin, t.dip)
	res.shot(steady.releases[0].rack)
	s.PMEMargin = s.FreeTime - s.TimeToHome
	s.PMERateOfFire = s.RateOfFire * s.FreeTime / s.TimeToHome
	if s.PMEMargin >= 0 {
		return nil
	}
	met := e.engage(res.Flight, steady.releases[0].sector)
	s.EngagementTravel, s.EngagementShare, s.EngagementSpeed = met.Travel, met.Share, met.Speed
	return nil
}

// Engagement is a rack that the sector meets before the piston is home (equation
// F8); NaN where it doesn't.
type Engagement struct {
	// Travel is how far from home the piston is then [m].
	Travel float64
	// Share is Travel over the stroke [1].
	Share float64
	// Speed is how fast tooth and rack close in, negative where they part [m/s].
	Speed float64
}

// respond fills in when the first shot comes, if its rack is let go at all. Of its flight
// only the time to the muzzle counts, and that as a part of the delay: it is taken from
// beside another flight that has found it, nil for none.
func (e *Evaluator) respond(ctx context.Context, l *release, other *flight.Result) error {
	if l == nil {
		return nil
	}
	res := &e.result
	course := res.FirstFlight // nil but where courses are kept
	if other != nil && !math.IsNaN(other.Neighbour.Time) {
		x, b := &other.Neighbour, res.Build
		res.firstShot(l.time, e.toMuzzle(x.Time, x.Speed, b.Pellet.Mass*x.Speed*x.Speed/2))
	} else {
		s := flight.Settings{Tolerance: res.accuracy, ReleaseSpeed: l.rack, ToMuzzle: true, Delay: l.time}
		f, err := e.flight(ctx, &s, false)
		if err != nil {
			return err
		}
		res.Stats.Evaluations += f.Stats.Evaluations
		res.firstShot(l.time, f)
	}
	if course != nil {
		res.FirstFlight = course
	}
	return nil
}

// engage says where a sector that comes round at a speed [rad/s] meets the rack of a
// flight that was watched then.
func (e *Evaluator) engage(f *flight.Result, sector float64) Engagement {
	p, g := &f.Watched, &e.machine.geometry
	return Engagement{p.Travel, p.Travel / g.Stroke, g.PitchRadius*sector - p.Speed}
}

// stall fills in what there is to say of a shaft that stands for good.
func (res *Result) stall(r *run) {
	m, y, s := r.m, &r.stall, &res.Summary
	res.Status = Stall
	ocv := r.ocv(y[:])
	s.StallAngle = y[angle]
	s.StallTime = r.stopped
	s.StallCurrent = m.stallCurrent(ocv, y[voltage1], y[voltage2])
	s.Inrush = max(s.Inrush, r.tally.peak, s.StallCurrent)
	s.CurrentPeak = s.Inrush
	s.PackVoltageMin = min(s.PackVoltageMin, r.tally.dip, m.circuit.Terminal(ocv, y[voltage1], y[voltage2], s.StallCurrent))
}

// firstShot fills in when the first shot comes, whose rack is let go at a time [s].
func (res *Result) firstShot(released float64, f *flight.Result) {
	res.FirstFlight = f
	res.Summary.ReleaseTime = released
	res.Summary.TriggerDelay = released + f.Summary.TimeToMuzzle
}

// shot fills in the figures of the flight that a rack of a speed [m/s] began.
func (res *Result) shot(rack float64) {
	s, f := &res.Summary, &res.Flight.Summary
	s.ReleaseSpeed = rack
	s.TimeToHome = f.TimeToHome
	s.MuzzleVelocity, s.MuzzleEnergy = f.MuzzleVelocity, f.MuzzleEnergy
	s.PistonImpact = f.PistonImpact
	s.OverallEfficiency = res.Ledger.Pellet / res.Ledger.Battery
	if math.IsNaN(f.MuzzleEnergy) {
		s.OverallEfficiency = math.NaN()
	}
}
