package cycle

import (
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
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
	// Steady is the course of one steady cycle, from pickup to pickup; nil in a stall.
	Steady *Trace
	// FirstFlight is the first shot's flight, with its course; nil if none is released.
	FirstFlight *flight.Result
	// Flight is that of the steady cycle, or the first one of a single shot; nil in a
	// stall or without a release.
	Flight *flight.Result
	// Pull is what the trigger's pull comes to that ends by the cut-off: a single
	// shot, or a burst; nil for neither.
	Pull     *Pull
	Warnings []Warning
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
// build that stalls is a result. An error that is [ErrUnfinished] says that the
// simulation came to no end, one that is the context's that it was interrupted.
func Simulate(ctx context.Context, b *drivetrain.Build, settings Settings) (*Result, error) {
	if err := errors.Join(b.Validate(), settings.Validate()); err != nil {
		return nil, err
	}
	m, err := newMachine(b, &settings.Conditions)
	if err != nil {
		return nil, err
	}
	res := &Result{
		Build: b, Motor: m.motor, Wires: m.wires,
		Summary: emptySummary(), Ledger: emptyLedger(), FirstLedger: emptyLedger(),
		accuracy: settings.flight(),
	}
	s := &res.Summary
	g := &m.geometry
	s.SweptVolume = b.SweptVolume()
	s.BarrelVolume = b.Barrel.Volume()
	s.Stroke = g.Stroke
	s.SpringEnergy = g.SpringEnergy(g.Stroke) - g.SpringEnergy(0)
	s.SpringPeakForce = g.SpringForce(g.Stroke)

	if b.Trigger.Mode == drivetrain.Single {
		err = res.once(ctx, m, &settings)
	} else if err = res.fire(ctx, m, &settings); err == nil && b.Trigger.Rounds > 0 && res.Status != Stall {
		res.Pull, err = res.pull(ctx, m, &settings, b.Trigger.Rounds)
	}
	if err != nil {
		return nil, fmt.Errorf("cycle of %q: %w", b.Name, err)
	}
	s.DemagnetisationMargin = b.Motor.Demagnetisation(res.largest(), m.magnets).Margin()
	res.Warnings = warnings(res, m)
	return res, nil
}

// largest returns the largest current that the motor sees, whichever way [A].
func (res *Result) largest() float64 {
	if res.Pull != nil && res.Pull.BrakeCurrent > res.Summary.Inrush {
		return res.Pull.BrakeCurrent
	}
	return res.Summary.Inrush
}

// tight turns the accuracy of figures into a tolerance of the integrator, whose
// errors add up over a cycle.
func tight(tolerance float64) float64 { return max(tolerance/30, 1e-13) }

func (res *Result) fire(ctx context.Context, m *machine, settings *Settings) error {
	tolerance, accuracy := tight(settings.tolerance()), settings.flight()
	s := &res.Summary
	res.First = &Trace{m: m}
	first := newRun(m, tolerance, false, 0, res.First)
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
	shots, err := res.fly(ctx, first, accuracy)
	if err != nil {
		return err
	}
	if len(shots) > 0 {
		res.firstShot(first.releases[0].time, shots[0])
	}
	if end == stalled {
		res.stall(first)
		return nil
	}
	res.FirstLedger = first.ledger(shots)

	steady := newRun(m, tolerance, true, 0, nil)
	defer res.Stats.add(steady)
	steady.y[current], steady.y[speed] = first.y[current], first.y[speed]
	steady.trace = &Trace{m: m, held: true, source: steady.source}
	res.Stats.Cycles, err = steady.steady(ctx)
	if errors.Is(err, errStalls) {
		// The gun itself slows down from shot to shot until it stands.
		for range mostCycles {
			if end, err = first.toPickup(ctx); err != nil || end == stalled {
				break
			}
		}
		if err == nil && end == stalled {
			res.stall(first)
			return nil
		}
		if err == nil {
			err = fmt.Errorf("%w: the steady cycle stalls, but %d shots in a row don't", ErrUnfinished, mostCycles)
		}
	}
	if err != nil {
		return err
	}
	res.Steady = steady.trace
	t := &steady.tally
	if shots, err = res.fly(ctx, steady, accuracy); err != nil {
		return err
	}
	if len(shots) != 1 {
		return fmt.Errorf("%w: %d releases in a steady cycle", ErrUnfinished, len(shots))
	}
	res.Flight = shots[0]
	res.Ledger = steady.ledger(shots)
	y := &steady.y
	s.Period = steady.time - steady.t0
	s.RateOfFire = 1 / s.Period
	s.FreeTime = s.Period - steady.releases[0].time
	s.CurrentPeak = t.peak
	s.CurrentMean = t.drawn / s.Period
	s.CurrentRMS = math.Sqrt(y[sumSquare] / s.Period)
	s.ChargePerShot = t.drawn
	s.MotorHeat = (res.Ledger.Winding + res.Ledger.Brush + res.Ledger.MotorDrag) / s.Period
	s.ShotsPerCharge = m.pack.Shots(s.ChargePerShot)
	s.PackVoltageMin = min(s.PackVoltageMin, t.dip)
	res.shoot(steady)
	return nil
}

// fly computes the flights that a run has released, and puts them into the run's
// trace.
func (res *Result) fly(ctx context.Context, r *run, accuracy float64) (all []*flight.Result, err error) {
	for _, l := range r.releases {
		f, err := flight.Simulate(ctx, res.Build, flight.Settings{Tolerance: accuracy, ReleaseSpeed: l.rack, Trace: r.trace != nil})
		if err != nil {
			return nil, err
		}
		res.Stats.Evaluations += f.Stats.Evaluations
		if r.trace != nil {
			r.trace.fly(f, l.time)
		}
		all = append(all, f)
	}
	return all, nil
}

// shoot fills in what the steady cycle's flight says.
func (res *Result) shoot(steady *run) {
	s, f := &res.Summary, &res.Flight.Summary
	res.shot(steady.releases[0].rack)
	s.PMEMargin = s.FreeTime - f.TimeToHome
	s.PMERateOfFire = s.RateOfFire * s.FreeTime / f.TimeToHome
	if s.PMEMargin >= 0 {
		return
	}
	e := engage(res.Build, res.Flight, s.FreeTime, steady.releases[0].sector)
	s.EngagementTravel, s.EngagementShare, s.EngagementSpeed = e.Travel, e.Share, e.Speed
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

// engage says where a sector that comes round at a speed [rad/s], so long after the
// release [s], meets the rack of a flight.
func engage(b *drivetrain.Build, f *flight.Result, after, sector float64) Engagement {
	g := b.Geometry()
	p := f.Trace.At(after)
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
