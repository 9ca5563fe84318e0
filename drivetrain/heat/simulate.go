package heat

import (
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
)

// Settings say how to go through a plan. The zero value is safe and good.
type Settings struct {
	// Tolerance is the relative accuracy of the rounds, from 1e-12 to 1e-3 [1]. The
	// default is 1e-6.
	Tolerance float64
	// RoundByRound solves every round anew (equation G1). The default is to use a
	// solved round again for one that starts nearly alike (equation G10).
	RoundByRound bool
	// Trace keeps the course of all temperatures. The default is not to.
	Trace bool
}

const defaultTolerance = 1e-6

// firing is a plan that is being gone through.
type firing struct {
	m      *model
	rounds *solver
	res    *Result

	time     float64   // since the start of the plan [s]
	rise     []float64 // of the nodes [K]
	power    []float64 // scratch [W]
	slots    []Part    // of the watches
	fuse     melt      // nil fuse: none
	fusePart Part
	hold     hold
	v1, v2   float64 // of the pack [V]
	spent    float64 // since the pack's charge at the start [1]
	number   int     // of the present round, or of the last one
	drawn    float64 // charge of all rounds [C]
	resting  bool    // in a pause
}

// Check reports every field of a build and a plan that temperatures can't be
// computed from.
func Check(b *drivetrain.Build, p *Plan) error {
	if err := errors.Join(b.Validate(), p.Validate()); err != nil {
		return err
	}
	_, err := newModel(p.around(b))
	return err
}

// around returns a build in the plan's surroundings.
func (p *Plan) around(b *drivetrain.Build) *drivetrain.Build {
	c := *b
	if p.Ambient != 0 {
		c.Ambient.Temperature = p.Ambient
	}
	return &c
}

// Simulate fires a build by a plan and returns how hot its parts get (equations G1
// to G10). It reports every field of build, plan and settings that can't be used.
func Simulate(ctx context.Context, b *drivetrain.Build, p *Plan, settings Settings) (*Result, error) {
	rounds := cycle.Settings{Tolerance: settings.Tolerance}
	if err := errors.Join(b.Validate(), p.Validate(), rounds.Validate()); err != nil {
		return nil, err
	}
	if settings.Tolerance == 0 {
		settings.Tolerance = defaultTolerance
	}
	m, err := newModel(p.around(b))
	if err != nil {
		return nil, err
	}
	f := newFiring(m, p, settings)
	if err := f.through(ctx); err != nil {
		return nil, fmt.Errorf("heat of %q over %q: %w", b.Name, p.Name, err)
	}
	f.finish()
	return f.res, nil
}

func newFiring(m *model, p *Plan, settings Settings) *firing {
	n := math.NaN()
	f := &firing{
		m: m, rounds: newSolver(m, settings),
		res: &Result{
			Build: m.build, Plan: p, Asked: p.Asked(),
			RateFirst: n, RateLast: n, ReleaseFirst: n, ReleaseLast: n, RoundsPerCharge: n,
			PackCurrent: n, PullRMS: n, PeakCurrent: n, InrushShare: n, Remanence: n, DemagnetisationMargin: n, Switching: emptySwitching(m),
		},
		rise: make([]float64, len(m.net.Nodes)), power: make([]float64, len(m.net.Nodes)),
		fuse: melt{fuse: m.build.Harness.Fuse},
	}
	for i := range m.watches {
		w := &m.watches[i]
		f.slots = append(f.slots, newPart(PartNames()[w.part], m.ambient, w.limit))
	}
	f.fusePart = newPart(Fuse, m.ambient, FuseBlows)
	if settings.Trace {
		f.res.Course = &Course{Names: PartNames(), Temperatures: make([][]float64, len(PartNames())), stride: 1}
		f.point()
	}
	f.watchStart()
	return f
}

// errEnded says that the plan has ended before its end.
var errEnded = errors.New("the plan has ended")

func (f *firing) through(ctx context.Context) error {
	p := f.res.Plan
	err := f.repeat(p.Repeat, func() error {
		for _, s := range p.Steps {
			if err := f.repeat(s.Repeat, func() error { return f.step(ctx, s) }); err != nil {
				return err
			}
		}
		return nil
	})
	if errors.Is(err, errEnded) {
		return nil
	}
	return err
}

func (f *firing) step(ctx context.Context, s Step) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if s.Rounds > 0 {
		if s.FreshPack {
			f.freshPack()
		}
		if err := f.pull(ctx, s.Rounds); err != nil {
			return err
		}
	}
	return f.pause(s.Pause)
}

// freshPack takes the pack out with the heat that it holds, and puts another one in.
func (f *firing) freshPack() {
	n := f.m.pack
	f.res.Balance.Off += f.m.net.Nodes[n].Capacity * f.rise[n]
	f.rise[n], f.v1, f.v2, f.spent = 0, 0, 0, 0
}

// end ends the plan before its end.
func (f *firing) end(why Status) error {
	f.res.Status = why
	return errEnded
}

// place returns where round i (from 0) of n stands.
func place(i, n int) cycle.RoundKind {
	switch {
	case n == 1:
		return cycle.Lone
	case i == 0:
		return cycle.First
	case i == n-1:
		return cycle.Last
	}
	return cycle.Middle
}

// pull fires a pull of so many rounds (equations G2, G3).
func (f *firing) pull(ctx context.Context, n int) error {
	var p pull
	defer func() {
		f.res.note(&p, n)
		f.ended(&p, n)
	}()
	p.start = f.time
	s := cycle.RoundStart{}
	for i := range n {
		if err := ctx.Err(); err != nil {
			return err
		}
		s.Kind = place(i, n)
		s.Conditions = f.m.conditions(f.rise, f.v1, f.v2, f.spent)
		r, err := f.rounds.fire(ctx, s, i)
		if err != nil {
			return err
		}
		if r.Stalled {
			return f.end(Stall)
		}
		f.number = f.res.Rounds + max(1, len(r.Releases))
		if f.fuse.fuse != nil {
			if t := f.fuse.reaches(FuseBlows-f.m.ambient, r.Square/r.Duration); t <= r.Duration {
				f.fusePart.reached(f.time+t, f.number)
				f.fusePart.peak(f.time+t, FuseBlows)
				f.fuse.x = (FuseBlows - f.m.ambient) * f.fuse.fuse.Melting / fuseSpan
				f.time += t
				f.point()
				return f.end(FuseBlown)
			}
		}
		r0 := f.m.build.Battery.Circuit(f.m.cell, max(0, f.charge()), s.Conditions.Pack).R0
		if err := f.book(&p, &r, &s); err != nil {
			return err
		}
		s.Current, s.Speed = r.Current, r.Speed
		b := &f.m.build.Battery
		loaded := b.OCV(f.m.cell, f.charge()) - f.v1 - f.v2 - r0*r.Charge/r.Closed
		if loaded < b.CutoffVoltage() {
			return f.end(CutOff)
		}
		if f.charge() <= 0 {
			return f.end(Empty)
		}
	}
	return nil
}

// charge returns the pack's state of charge [1].
func (f *firing) charge() float64 { return f.m.build.Battery.StateOfCharge - f.spent }

// book puts the losses of a round into the network and moves on to its end.
func (f *firing) book(p *pull, r *cycle.Round, s *cycle.RoundStart) error {
	f.number = max(f.number, 1)
	for _, t := range r.Releases {
		p.release(f.time + t)
	}
	f.hold = f.m.hold(r.Peak, s.Conditions.Switch)
	f.res.Balance.In += r.Losses.Total()
	f.m.power(f.power, &r.Losses, r.Duration)
	f.res.round(f.m, r, &s.Conditions, f.hold, s.Kind == cycle.Lone || s.Kind == cycle.First)
	p.add(r)
	f.drawn += r.Charge
	f.point()
	if err := f.advance(r.Duration, nil); err != nil {
		return err
	}
	f.res.Rounds += len(r.Releases)
	f.v1, f.v2, f.spent = r.V1, r.V2, r.Spent
	if f.fuse.fuse != nil {
		f.fuse.x = f.fuse.after(r.Square/r.Duration, r.Duration)
		f.fusePart.peak(f.time, f.m.ambient+f.fuse.rise())
	}
	f.point()
	f.hold = hold{}
	return nil
}

// pause lets the parts cool and the pack relax for a time [s] (equations B4, G5).
func (f *firing) pause(time float64) error {
	if !(time > 0) {
		return nil
	}
	clear(f.power)
	c := f.m.build.Battery.Circuit(f.m.cell, max(0, f.charge()), f.m.ambient+f.rise[f.m.pack])
	slow := func(v, r, k float64) (Decay, float64) {
		tau := r * k
		return Decay{Node: f.m.pack, Energy: k * v * v / 2, Rate: 2 / tau}, v * math.Exp(-time/tau)
	}
	one, v1 := slow(f.v1, c.R1, c.C1)
	two, v2 := slow(f.v2, c.R2, c.C2)
	decays := []Decay{one, two}
	f.res.Balance.In += one.Energy + two.Energy
	f.resting = true
	if err := f.advance(time, decays); err != nil {
		return err
	}
	f.resting = false
	f.res.Balance.In -= decays[0].Energy + decays[1].Energy
	f.v1, f.v2 = v1, v2
	if f.fuse.fuse != nil {
		f.fuse.x = f.fuse.after(0, time)
	}
	f.point()
	return nil
}

// advance moves the network on by a time [s] and looks at every part on the way.
func (f *firing) advance(time float64, decays []Decay) error {
	start := f.time
	look := func(s *stretch) { f.look(start, s) }
	off, err := f.m.net.advance(f.rise, f.power, decays, time, look)
	f.res.Balance.Off += off
	f.time = start + time
	return err
}

// look watches the parts over a step of the network.
func (f *firing) look(start float64, s *stretch) {
	for i := range f.slots {
		w, part := &f.m.watches[i], &f.slots[i]
		value := func(rise []float64) float64 { return f.m.value(w, rise, f.hold) }
		part.watch(start, s, w.node, value, f.number)
	}
	f.sample(start, s)
}

// watch watches a part over a step that begins so long after a start [s], by a
// temperature that rises and falls with a state; round is the present one.
func (p *Part) watch(start float64, s *stretch, state int, value func([]float64) float64, round int) {
	before, after := value(s.before), value(s.after)
	p.peak(start+s.from, before)
	top, at := after, s.to
	if s.slope0[state] > 0 && s.slope1[state] < 0 {
		if t, v := highest(s, value); v > top {
			top, at = v, t
		}
	}
	p.peak(start+at, top)
	if math.IsNaN(p.LimitAt) && max(before, top) >= p.Limit { // it may cool from the begin of the step on
		p.reached(start+crossing(s, value, p.Limit, before, at), round)
	}
}

// highest finds the maximum of a value inside a step by golden section.
func highest(s *stretch, value func([]float64) float64) (time, top float64) {
	const golden = 0.6180339887498949
	lo, hi := s.from, s.to
	for range 60 {
		a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
		if value(s.at(a)) >= value(s.at(b)) {
			hi = b
		} else {
			lo = a
		}
	}
	time = (lo + hi) / 2
	return time, value(s.at(time))
}

// crossing finds when a value first reaches a limit in a step, at the latest at a
// time.
func crossing(s *stretch, value func([]float64) float64, limit, before, latest float64) float64 {
	if before >= limit {
		return s.from
	}
	lo, hi := s.from, latest
	for range 80 {
		middle := lo + (hi-lo)/2
		if middle <= lo || middle >= hi {
			break
		}
		if value(s.at(middle)) >= limit {
			hi = middle
		} else {
			lo = middle
		}
	}
	return hi
}

// watchStart looks at the parts before anything is fired.
func (f *firing) watchStart() {
	for i := range f.slots {
		if part := &f.slots[i]; part.Start >= part.Limit {
			part.reached(0, 0)
		}
	}
}
