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

// A gun fires, or it stalls; both are results.
const (
	Steady Status = iota // the first shot leads to a cycle that repeats
	Stall                // the motor can't turn the gears through the pull
)

// String names the status as files do.
func (s Status) String() string { return [...]string{"steady", "stall"}[s] }

// ErrSingle is returned for a build whose trigger fires single shots, which the
// model does not reach yet.
var ErrSingle = errors.New("single shots are not simulated yet; set trigger.mode to automatic")

// Result is what a simulation found.
type Result struct {
	Build   *drivetrain.Build
	Status  Status
	Summary Summary
	// Motor is the motor at the temperatures of the simulation.
	Motor motor.Constants
	// Wires are the harness's resistances at those temperatures.
	Wires harness.Resistances
	// Ledger is the steady cycle's; all NaN in a stall.
	Ledger Ledger
	// FirstLedger is that of the first shot, from closing the switch to just after
	// the next pickup; all NaN if it stalls.
	FirstLedger Ledger
	// First is the course from closing the switch to the next pickup, or to the
	// stall, in whichever pull that is.
	First *Trace
	// Steady is the course of one steady cycle, from pickup to pickup; nil in a stall.
	Steady *Trace
	// FirstFlight is the first shot's flight, with its course; nil if none is released.
	FirstFlight *flight.Result
	// Flight is that of the steady cycle; nil in a stall.
	Flight   *flight.Result
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
	// Steps are those of the integrator, Evaluations its calls of the right-hand side.
	Steps, Evaluations int
}

// add counts the work of a run.
func (s *Stats) add(r *run) {
	done := r.solver.Stats()
	s.Steps += done.Steps
	s.Evaluations += done.Evaluations
}

// Simulate fires a build in automatic: the first shot from rest and the cycle
// that repeats after it, each with its flight (equations E1 to E7, F1, F2, F4, F5,
// F7, F8). It reports every field of build and settings that can't be used. A
// build that stalls is a result. An error that is [ErrUnfinished] says that the
// simulation came to no end, one that is the context's that it was interrupted.
func Simulate(ctx context.Context, b *drivetrain.Build, settings Settings) (*Result, error) {
	if err := errors.Join(b.Validate(), settings.Validate()); err != nil {
		return nil, err
	}
	if b.Trigger.Mode == drivetrain.Single {
		return nil, ErrSingle
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

	if err := res.fire(ctx, m, &settings); err != nil {
		return nil, fmt.Errorf("cycle of %q: %w", b.Name, err)
	}
	s.DemagnetisationMargin = b.Motor.Demagnetisation(s.Inrush, m.magnets).Margin()
	res.Warnings = warnings(res, m)
	return res, nil
}

// tight turns the accuracy of figures into a tolerance of the integrator, whose
// errors add up over a cycle.
func tight(tolerance float64) float64 { return max(tolerance/30, 1e-13) }

func (res *Result) fire(ctx context.Context, m *machine, settings *Settings) error {
	tolerance, accuracy := tight(settings.tolerance()), settings.flight()
	s := &res.Summary
	res.First = &Trace{m: m}
	first, err := newRun(m, tolerance, false, res.First)
	if err != nil {
		return err
	}
	defer res.Stats.add(first)
	first.begin()
	first.note(Closing)
	end, err := first.toPickup(ctx)
	if err != nil {
		return err
	}
	s.Inrush = first.tally.peak
	s.PackVoltageMin = first.tally.dip
	s.ReleaseTime = first.tally.released
	if res.FirstFlight, err = res.fly(ctx, first, accuracy); err != nil {
		return err
	}
	if res.FirstFlight != nil {
		s.TriggerDelay = s.ReleaseTime + res.FirstFlight.Summary.TimeToMuzzle
	}
	if end == stalled {
		res.stall(first)
		return nil
	}
	res.FirstLedger = first.ledger(shot(res.FirstFlight))

	steady, err := newRun(m, tolerance, true, nil)
	if err != nil {
		return err
	}
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
	if res.Flight, err = res.fly(ctx, steady, accuracy); err != nil {
		return err
	}
	res.Ledger = steady.ledger(shot(res.Flight))
	y := &steady.y
	s.Period = steady.solver.T() - steady.t0
	s.RateOfFire = 1 / s.Period
	s.FreeTime = s.Period - t.released
	s.CurrentPeak = t.peak
	s.CurrentMean = y[sumCurrent] / s.Period
	s.CurrentRMS = math.Sqrt(y[sumSquare] / s.Period)
	s.ChargePerShot = y[sumCurrent]
	s.MotorHeat = (res.Ledger.Winding + res.Ledger.Brush + res.Ledger.MotorDrag) / s.Period
	s.ShotsPerCharge = m.pack.Shots(s.ChargePerShot)
	s.PackVoltageMin = min(s.PackVoltageMin, t.dip)
	res.shoot(t)
	return nil
}

// fly computes the flight that a run has released, nil if it has none, and puts
// it into the run's trace.
func (res *Result) fly(ctx context.Context, r *run, accuracy float64) (*flight.Result, error) {
	t := &r.tally
	if math.IsNaN(t.released) {
		return nil, nil
	}
	f, err := flight.Simulate(ctx, res.Build, flight.Settings{Tolerance: accuracy, ReleaseSpeed: t.rack, Trace: true})
	if err != nil {
		return nil, err
	}
	res.Stats.Evaluations += f.Stats.Evaluations
	if r.trace != nil {
		r.trace.fly(f, t.released)
	}
	return f, nil
}

func shot(f *flight.Result) *flight.Ledger {
	if f == nil {
		return nil
	}
	return &f.Ledger
}

// shoot fills in what the steady cycle's flight says.
func (res *Result) shoot(t *tally) {
	s, f := &res.Summary, &res.Flight.Summary
	s.ReleaseSpeed = t.rack
	s.TimeToHome = f.TimeToHome
	s.PMEMargin = s.FreeTime - f.TimeToHome
	s.PMERateOfFire = s.RateOfFire * s.FreeTime / f.TimeToHome
	s.MuzzleVelocity, s.MuzzleEnergy = f.MuzzleVelocity, f.MuzzleEnergy
	s.PistonImpact = f.PistonImpact
	s.OverallEfficiency = f.MuzzleEnergy / res.Ledger.Battery
	if s.PMEMargin >= 0 {
		return
	}
	// F8: where the sector would strike the rack, and how fast.
	g := res.Build.Geometry()
	p := res.Flight.Trace.At(s.FreeTime)
	s.EngagementTravel = p.Travel
	s.EngagementShare = p.Travel / g.Stroke
	s.EngagementSpeed = g.PitchRadius*t.sector - p.Speed
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
