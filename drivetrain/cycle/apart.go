package cycle

import (
	"context"
	"errors"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
)

// Drive is what a build does in automatic fire up to the releases, and after them but for
// the flights: all that doesn't feel the air. What flights bring is put in by Fly.
type Drive struct {
	// Result lacks all that a flight brings: figures are NaN, flights and traces nil, and
	// the ledger's rows of the flight are nothing.
	Result Result
	// First and Steady are the speeds at which the rack is let go by the first shot and
	// in the steady cycle; NaN: never [m/s].
	First, Steady float64
}

// ErrPull says that a build can't be driven apart from its flights, since they come in a
// pull that the cut-off ends.
var ErrPull = errors.New("a pull that the cut-off ends has its flights within")

// Drive finds what a build in automatic fire does without any flight. The error is that
// of [Evaluator.Evaluate], or ErrPull.
func (e *Evaluator) Drive(ctx context.Context, b *drivetrain.Build, settings Settings) (*Drive, error) {
	if b.Trigger.Mode == drivetrain.Single || b.Trigger.Rounds > 0 {
		return nil, ErrPull
	}
	e.apart = true
	e.speeds = [2]float64{math.NaN(), math.NaN()}
	res, err := e.Evaluate(ctx, b, settings)
	e.apart = false
	if err != nil {
		return nil, err
	}
	d := &Drive{Result: *res, First: e.speeds[0], Steady: e.speeds[1]}
	res.FirstFlight, res.Flight = nil, nil // nor do Warnings speak of any
	d.Result.FirstFlight, d.Result.Flight = nil, nil
	if res.Hunt != nil {
		h := *res.Hunt
		d.Result.Hunt = &h
	}
	return d, nil
}

// blank stands for a flight that is not computed, of a rack at a speed [m/s].
func (e *Evaluator) blank(s *flight.Settings) *flight.Result {
	i := 1
	if s.ToMuzzle {
		i = 0
	}
	e.speeds[i] = s.ReleaseSpeed
	e.none = e.unknown(flight.NoSummary())
	return &e.none
}

// Fly returns the figures with those of two flights put in, of the first shot and of the
// steady cycle, for a build that differs from the one that was driven in nothing that
// the drive feels. A first that is nil leaves its figures out, and so does a steady one.
func (d *Drive) Fly(b *drivetrain.Build, first, steady *flight.Arc) Summary {
	s := d.Result.Summary
	s.SweptVolume, s.BarrelVolume = b.SweptVolume(), b.Barrel.Volume()
	if first != nil {
		s.TriggerDelay = s.ReleaseTime + first.TimeToMuzzle
	}
	if steady == nil {
		return s
	}
	s.TimeToHome, s.MuzzleVelocity, s.PistonImpact = steady.TimeToHome, steady.MuzzleVelocity, steady.PistonImpact
	s.MuzzleEnergy = steady.MuzzleEnergy
	s.PMEMargin = s.FreeTime - s.TimeToHome
	s.PMERateOfFire = s.RateOfFire * s.FreeTime / s.TimeToHome
	s.OverallEfficiency = s.MuzzleEnergy / d.Result.Ledger.Battery
	return s
}
