package cycle

import (
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/quantity"
)

// Evaluator fires builds one after the other, as [Simulate] does and to the same
// figures, but without their courses, and without allocating once it has fired a
// few. The zero value is ready. One belongs to one goroutine.
type Evaluator struct {
	machine machine
	run     run // first shot, or the pull
	cycles  run // steady cycle
	spare   run // for what may become of it
	result  Result
	pulled  Pull
	hunted  Hunt
	flyer   flight.Flyer
	flown   []*flight.Result // reused; the first used of them are taken
	used    int
	shots   []*flight.Result // of the last run

	flights *flight.Table // to read flights off; nil: none

	apart  bool          // flights are left out
	speeds [2]float64    // then those of the racks, first and steady [m/s]
	none   flight.Result // what stands for a flight then

	traces    bool    // courses are kept
	tolerance float64 // of the steps
}

// Evaluate fires a build. Of the result, which the next call overwrites, First,
// Steady and Warnings are nil, FirstFlight ends at the muzzle and in automatic is only
// as exact as the trigger delay needs, of which it may know nothing but the exit, flights
// and pulls have no Trace, and FirstLedger is NaN, since in automatic the figures don't need
// it. Errors are those of [Simulate].
func (e *Evaluator) Evaluate(ctx context.Context, b *drivetrain.Build, settings Settings) (*Result, error) {
	if err := b.Validate(); err != nil {
		return nil, errors.Join(err, settings.Validate())
	}
	if err := settings.Validate(); err != nil {
		return nil, err
	}
	if t := settings.Flights; t != nil && !t.Fits(b) {
		return nil, &quantity.Fault{Field: "flights", Text: "the table is that of another gun"}
	}
	m := &e.machine
	if err := m.set(b, &settings.Conditions); err != nil {
		return nil, err
	}
	e.flights = settings.Flights
	e.used = 0
	e.tolerance = tight(settings.tolerance())
	e.result = Result{
		Build: b, Motor: m.motor, Wires: m.wires,
		Summary: emptySummary(), Ledger: emptyLedger(), FirstLedger: emptyLedger(),
		PickupSpeed: math.NaN(), accuracy: settings.flight(),
	}
	res := &e.result
	s := &res.Summary
	g := &m.geometry
	s.SweptVolume = b.SweptVolume()
	s.BarrelVolume = b.Barrel.Volume()
	s.Stroke = g.Stroke
	s.SpringEnergy = g.SpringEnergy(g.Stroke) - g.SpringEnergy(0)
	s.SpringPeakForce = g.SpringForce(g.Stroke)

	var err error
	if b.Trigger.Mode == drivetrain.Single {
		err = e.once(ctx, &settings)
	} else if err = e.fire(ctx); err == nil && b.Trigger.Rounds > 0 && res.Status != Stall {
		res.Pull, err = e.pull(ctx, &settings, b.Trigger.Rounds)
	}
	if err != nil {
		return nil, fmt.Errorf("cycle of %q: %w", b.Name, err)
	}
	s.DemagnetisationMargin = b.Motor.Demagnetisation(res.largest(), m.magnets).Margin()
	return res, nil
}

// Warnings speaks of the build that was fired last.
func (e *Evaluator) Warnings() []finding.Finding { return warnings(&e.result, &e.machine) }

// Clone returns a copy that an Evaluator doesn't overwrite.
func (res *Result) Clone() *Result {
	c := *res
	fly := func(f *flight.Result) *flight.Result {
		if f == nil {
			return nil
		}
		d := *f
		return &d
	}
	c.FirstFlight, c.Flight = fly(res.FirstFlight), fly(res.Flight)
	if res.Hunt != nil {
		h := *res.Hunt
		c.Hunt = &h
	}
	if p := res.Pull; p != nil {
		q := *p
		q.Releases = append([]Shot(nil), p.Releases...)
		for i := range q.Releases {
			q.Releases[i].Flight = fly(q.Releases[i].Flight)
		}
		c.Pull = &q
	}
	return &c
}

// fly computes the flights that a run has released, and puts them into the run's
// trace. Each piston is watched at the time after its release that watch says, 0
// for not at all; nil: none. The list is overwritten by the next call.
func (e *Evaluator) fly(ctx context.Context, r *run, watch func(*release) float64, beside flight.Neighbour) ([]*flight.Result, error) {
	e.shots = e.shots[:0]
	for i := range r.releases {
		l := &r.releases[i]
		s := flight.Settings{Tolerance: e.result.accuracy, ReleaseSpeed: l.rack, Neighbour: beside}
		if watch != nil {
			s.Watch = watch(l)
		}
		f, err := e.flight(ctx, &s, r.trace != nil)
		if err != nil {
			return nil, err
		}
		e.result.Stats.Evaluations += f.Stats.Evaluations
		if r.trace != nil {
			at := l.time
			if r.hunts.Shots != 0 { // the course is that of the last cycle
				at = r.shown
			}
			r.trace.fly(f, at)
		}
		e.shots = append(e.shots, f)
	}
	return e.shots, nil
}

// flight computes one flight, into a place that is used again unless its course is
// kept.
func (e *Evaluator) flight(ctx context.Context, s *flight.Settings, trace bool) (*flight.Result, error) {
	if e.apart {
		return e.blank(s), nil
	}
	if trace {
		s.Trace = true
		return flight.Simulate(ctx, e.result.Build, *s)
	}
	if e.flights != nil {
		a, ok, err := e.flights.Read(ctx, e.result.Build, s.ReleaseSpeed)
		if err != nil {
			return nil, err
		}
		if ok {
			return e.readOff(ctx, &a, s)
		}
	}
	f, err := e.flyer.Fly(ctx, e.result.Build, *s)
	if err != nil {
		return nil, err
	}
	place := e.place()
	*place = f
	return place, nil
}

// place returns one for a flight, which is used again.
func (e *Evaluator) place() *flight.Result {
	if e.used == len(e.flown) {
		e.flown = append(e.flown, new(flight.Result))
	}
	e.used++
	return e.flown[e.used-1]
}

// toMuzzle makes a flight of which only the pellet's exit is known: when [s], how fast
// [m/s], and its energy [J].
func (e *Evaluator) toMuzzle(time, speed, energy float64) *flight.Result {
	r := e.place()
	*r = e.unknown(flight.NoSummary())
	r.Summary.TimeToMuzzle, r.Summary.MuzzleVelocity, r.Summary.MuzzleEnergy = time, speed, energy
	return r
}

// unknown is a flight of the build with nothing but its figures.
func (e *Evaluator) unknown(s flight.Summary) flight.Result {
	none := math.NaN()
	return flight.Result{Build: e.result.Build, Summary: s, Watched: flight.Motion{Travel: none, Speed: none}, Neighbour: flight.Exit{Time: none, Speed: none}}
}

// readOff makes a flight of what a table has, or its part up to the muzzle.
func (e *Evaluator) readOff(ctx context.Context, a *flight.Arc, s *flight.Settings) (*flight.Result, error) {
	if s.ToMuzzle {
		r := e.toMuzzle(a.TimeToMuzzle, a.MuzzleVelocity, a.MuzzleEnergy)
		r.Status = a.Status
		return r, nil
	}
	r := e.place()
	*r = e.unknown(a.Summary)
	r.Status, r.Ledger = a.Status, a.Ledger
	if s.Watch > 0 && !(a.TimeToHome <= s.Watch) { // the sector comes before the piston is home
		m, ok, err := e.flights.Motion(ctx, e.result.Build, s.ReleaseSpeed, s.Watch)
		if err != nil {
			return nil, err
		}
		if ok {
			r.Watched = m
			return r, nil
		}
		if r.Watched, err = e.flyer.Watch(ctx, e.result.Build, *s, a); err != nil {
			return nil, err
		}
	}
	return r, nil
}
