package cycle

import (
	"context"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
)

// Pull is what a pull of the trigger comes to that the cut-off ends, from closing
// the switch until the train is at rest (equations F3, F6): a single shot, or a
// burst.
type Pull struct {
	// Rounds is how many were asked for.
	Rounds int
	// Releases are the shots that were fired, those included that came after the
	// switch had opened.
	Releases []Shot
	// Opened is when the switch opened, from its closing [s].
	Opened float64
	// Rest is when the train came to rest, from the closing of the switch [s].
	Rest float64
	// StopAngle is the sector angle where the train stands [rad].
	StopAngle float64
	// StopsInPull tells that the rack is engaged there, and the latch holds the spring.
	StopsInPull bool
	// Overspin is the sector angle turned after the switch opened, through further
	// pickups [rad].
	Overspin float64
	// SpringLeft is what the pulled spring holds more than with the piston home [J].
	SpringLeft float64
	// Inrush is the largest battery current of the first shot, up to the next pickup [A].
	Inrush float64
	// BrakeCurrent is the largest current through the brake, NaN for none [A].
	BrakeCurrent float64
	// PackVoltageMin is the least pack voltage [V].
	PackVoltageMin float64
	// Charge is what the battery has given [C].
	Charge float64
	// Ledger is that of the whole pull.
	Ledger Ledger
	// Trace is its course; nil of a burst of more than 50 rounds.
	Trace *Trace
	// After is what the next pull starts from.
	After Conditions
}

// Shot is one release of a pull.
type Shot struct {
	// Release is when the rack was let go, from the closing of the switch [s].
	Release float64
	// Speed is the rack's then, rearwards [m/s].
	Speed float64
	// Muzzle is when the pellet left, from the closing of the switch; NaN: it didn't [s].
	Muzzle float64
	// Flight is what happened in between and after.
	Flight *flight.Result
	// Margin is from the piston's coming home to the next pickup; negative is
	// premature engagement, NaN where no pickup follows [s].
	Margin float64
	// Engagement is where the two would meet, all NaN unless Margin is negative or
	// the piston never comes home.
	Engagement Engagement
}

// traced is the longest burst whose course is kept.
const traced = 50

// Phase names the phase that the train stands in: "pull" or "free".
func (p *Pull) Phase() string {
	if p.StopsInPull {
		return "pull"
	}
	return "free"
}

// Extra returns how many shots were fired that nobody asked for; negative where
// too few were.
func (p *Pull) Extra() int { return len(p.Releases) - p.Rounds }

// pull fires until the cut-off of the last round opens the switch and the train
// comes to rest; nil if it stalls before, which res then says.
func (e *Evaluator) pull(ctx context.Context, settings *Settings, rounds int) (*Pull, error) {
	res, m := &e.result, &e.machine
	var trace *Trace
	if e.traces && rounds <= traced {
		trace = &Trace{m: m}
	}
	r := &e.run
	r.reset(m, e.tolerance, false, rounds, trace)
	defer res.Stats.add(r)
	r.begin()
	r.cutoff = m.cutoff(res.Build.Trigger.Cutoff, rounds)
	r.note(Closing)
	p := &e.pulled
	*p = Pull{Rounds: rounds, Trace: trace, Inrush: math.NaN(), Releases: p.Releases[:0]}
	for ended := pickedUp; ended != rested; {
		var err error
		if ended, err = r.toPickup(ctx); err != nil {
			return nil, err
		}
		if math.IsNaN(p.Inrush) && (len(r.releases) > 0 || ended != pickedUp) {
			p.Inrush = r.tally.peak
		}
		if ended == stalled {
			res.Summary.Inrush, res.Summary.PackVoltageMin = p.Inrush, r.tally.dip
			if trace != nil {
				res.First = trace
			}
			res.stall(r)
			return nil, e.shotBefore(ctx, r)
		}
	}
	g := &m.geometry
	t := &r.tally
	p.Opened, p.Rest = r.opened-r.t0, r.stopped-r.t0
	p.StopAngle, p.StopsInPull = r.y[angle], m.arcs[r.arc].pull
	p.Overspin = t.turned - t.open
	if p.StopsInPull {
		p.SpringLeft = g.SpringEnergy(g.Travel(r.y[angle])) - g.SpringEnergy(0)
	}
	p.BrakeCurrent = math.NaN()
	if t.brake < 0 {
		p.BrakeCurrent = -t.brake
	}
	p.PackVoltageMin, p.Charge = t.dip, t.drawn
	shots, err := e.fly(ctx, r, func(l *release) float64 {
		if math.IsNaN(l.pickup) {
			return 0
		}
		return l.pickup - l.time
	}, flight.Neighbour{})
	if err != nil {
		return nil, err
	}
	for i, f := range shots {
		l, none := r.releases[i], math.NaN()
		s := Shot{
			Release: l.time, Speed: l.rack, Muzzle: l.time + f.Summary.TimeToMuzzle, Flight: f,
			Margin: l.pickup - l.time - f.Summary.TimeToHome, Engagement: Engagement{none, none, none},
		}
		if !(s.Margin >= 0) && !math.IsNaN(l.pickup) {
			s.Engagement = e.engage(f, l.sector)
		}
		p.Releases = append(p.Releases, s)
	}
	p.Ledger = r.ledger(shots)
	p.After = settings.Conditions
	p.After.Spent = res.Build.Battery.StateOfCharge - r.y[charge]
	p.After.V1, p.After.V2 = r.y[voltage1], r.y[voltage2]
	p.After.Advance = r.y[angle] - g.Pickup - res.Build.Trigger.Start
	return p, nil
}

// shotBefore fills in the figures of the first shot of a pull that stalls behind it.
func (e *Evaluator) shotBefore(ctx context.Context, r *run) error {
	res := &e.result
	if len(r.releases) == 0 || res.Build.Trigger.Mode != drivetrain.Single {
		return nil
	}
	shots, err := e.fly(ctx, r, nil, flight.Neighbour{})
	if err != nil {
		return err
	}
	res.single(r.releases[0].time, r.releases[0].rack, shots[0])
	return nil
}

// once fires a single shot.
func (e *Evaluator) once(ctx context.Context, settings *Settings) error {
	p, err := e.pull(ctx, settings, 1)
	if err != nil || p == nil {
		return err
	}
	res, m := &e.result, &e.machine
	s := &res.Summary
	res.Status, res.Pull = Once, p
	res.First, res.Ledger, res.FirstLedger = p.Trace, p.Ledger, p.Ledger
	s.Inrush, s.CurrentPeak, s.PackVoltageMin = p.Inrush, p.Inrush, p.PackVoltageMin
	s.ChargePerShot = p.Charge
	s.ShotsPerCharge = m.pack.Shots(p.Charge)
	s.Overspin, s.StopAngle, s.TimeToRest = p.Overspin, p.StopAngle, p.Rest
	if len(p.Releases) == 0 {
		return nil
	}
	first := &p.Releases[0]
	res.single(first.Release, first.Speed, first.Flight)
	return nil
}

// single quotes the first flight of a single shot, whose rack is let go at a time
// [s] and a speed [m/s].
func (res *Result) single(released, rack float64, f *flight.Result) {
	res.Flight = f
	res.firstShot(released, f)
	res.shot(rack)
}
