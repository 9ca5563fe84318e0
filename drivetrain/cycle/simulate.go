package cycle

import (
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
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
	Steady   *Trace
	Warnings []Warning
	Stats    Stats
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
// that repeats after it (equations F1, F2, F4, F5, F7). It reports every field of
// build and settings that can't be used. A build that stalls is a result. An
// error that is [ErrUnfinished] says that the simulation came to no end, one that
// is the context's that it was interrupted.
//
// Until the piston's flight is part of the model, the piston is taken to be home
// in time: Summary has no figures of the flight, and what the released spring
// gives is one row of the ledger.
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
	}
	s := &res.Summary
	g := &m.geometry
	s.SweptVolume = b.SweptVolume()
	s.BarrelVolume = b.Barrel.Volume()
	s.Stroke = g.Stroke
	s.SpringEnergy = g.SpringEnergy(g.Stroke) - g.SpringEnergy(0)
	s.SpringPeakForce = g.SpringForce(g.Stroke)

	if err := res.fire(ctx, m, tight(settings.tolerance())); err != nil {
		return nil, fmt.Errorf("cycle of %q: %w", b.Name, err)
	}
	s.DemagnetisationMargin = b.Motor.Demagnetisation(s.Inrush, m.magnets).Margin()
	res.Warnings = warnings(b, m, s)
	return res, nil
}

// tight turns the accuracy of figures into a tolerance of the integrator, whose
// errors add up over a cycle.
func tight(tolerance float64) float64 { return max(tolerance/30, 1e-13) }

func (res *Result) fire(ctx context.Context, m *machine, tolerance float64) error {
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
	if first.tally.released > 0 {
		s.ReleaseTime = first.tally.released
	}
	if end == stalled {
		res.stall(first)
		return nil
	}
	res.FirstLedger = first.ledger()

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
	res.Ledger = steady.ledger()
	t := &steady.tally
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
	return nil
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
