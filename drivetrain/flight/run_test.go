package flight

import (
	"context"
	"errors"
	"fmt"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/internal/ode"
)

// run drives a shot with the general integrator, by either of its methods, on the
// equations as they stand: the cross-check of [Flyer], which is made for this problem
// alone. Explicit takes an explicit method in place of the implicit one: slower by far,
// and without hope for very small volumes behind large orifices.
type run struct {
	shot
	solver *ode.Solver
	slope  [states]float64 // scratch
	sample [states]float64 // scratch

	peak1, peak2 peak
	extra        int  // evaluations outside the solver
	lifted       bool // the piston has been lifted, and no step made since
}

// explicitShare is mostShare for the explicit method, which is held by its stability
// and sees its errors less well.
const explicitShare = 300.

// newRun makes a driver at the release, with both volumes at ambient.
func newRun(g *gun, s *Settings) *run {
	r := &run{}
	r.load(g, s)
	return r
}

// prepare makes the solver for the state y.
func (r *run) prepare(s *Settings, explicit bool) error {
	method, tolerance := ode.Rodas, s.tolerance()/mostShare
	if explicit {
		method, tolerance = ode.DormandPrince, s.tolerance()/explicitShare
	}
	if s.step > 0 {
		tolerance = s.step
	}
	tolerance = max(tolerance, 1e-13)
	scales := r.scales()
	for i := range scales {
		scales[i] *= tolerance
	}
	solver, err := ode.New(ode.Problem{
		Deriv:    func(dy []float64, _ float64, y []float64) { r.mode.derive(r.gun, &r.echo, dy, y) },
		Jacobian: func(f []float64, _ float64, y []float64) { r.mode.jacobian(r.gun, &r.echo, f, y) },
		Passive:  passive,
		T0:       0, T1: longest, Y0: r.y[:], Events: r.events(), Mode: r.mode.String, Names: stateNames,
	}, ode.Settings{Method: method, RelTol: tolerance, AbsTol: scales[:], MaxSteps: s.limit()})
	r.solver = solver
	r.begin()
	return err
}

func (r *run) events() []ode.Event {
	const off = -1
	m, g := &r.mode, r.gun
	return []ode.Event{
		pelletFreed: {Name: "pellet freed", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.pellet != held {
				return off
			}
			return r.spare2(y)
		}},
		pelletMark: {Name: "end of hop or barrel", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.pellet != sliding {
				return off
			}
			return y[along] - r.mark()
		}},
		pelletStops: {Name: "stop of the pellet", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.pellet != sliding {
				return off
			}
			return -y[fast]
		}},
		portEdge: {Name: "edge of the port", Terminal: true, Func: func(_ float64, y []float64) float64 {
			if !g.hasPort {
				return off
			}
			return y[travel] - g.port
		}},
		pistonArrives: {Name: "piston home", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			// What lifts a piston passes through nothing, so that its travel next to the stop
			// grows with the third power of time, and is nothing to what the polynomial errs.
			if m.seated || r.lifted {
				return off
			}
			return -y[travel]
		}},
		pistonLifts: {Name: "piston lifts", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if !m.seated {
				return off
			}
			return r.spare1(y)
		}},
		settles: {Name: "end", Direction: ode.Rising, Terminal: true, Func: func(_ float64, y []float64) float64 {
			if !m.seated || m.pellet == sliding {
				return off
			}
			return r.inHand(y)
		}},
		wallStirs: {Name: "turbulence at the barrel's wall", Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.pellet == out || g.warm2 == 0 {
				return off
			}
			return g.wallReynolds(y) - r.jumps.limit(wallStirs, m.stirred, turbulent)
		}},
		pelletBrisk: {Name: "friction of the air in the barrel", Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.pellet != sliding || !g.pipe {
				return off
			}
			return y[fast] - r.jumps.limit(pelletBrisk, m.brisk, slowest)
		}},
		airRough: {Name: "turbulence behind the pellet", Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.pellet != sliding || !g.pipe {
				return off
			}
			return g.reynoldsBehind(y) - r.jumps.limit(airRough, m.rough, turbulent)
		}},
		airTears: {Name: "turbulence in front of the pellet", Terminal: true, Func: func(_ float64, y []float64) float64 {
			if m.pellet != sliding || !g.pipe {
				return off
			}
			return g.reynoldsAhead(y) - r.jumps.limit(airTears, m.ahead, turbulent)
		}},
		pistonClear: {Name: "piston clear", Direction: ode.Rising, Func: func(_ float64, y []float64) float64 {
			return g.clear - y[travel]
		}},
		pistonTurns: {Name: "piston turns", Direction: ode.Rising, Func: func(_ float64, y []float64) float64 {
			return -y[speed]
		}},
		pressure1Peaks: {Name: "peak in the cylinder", Direction: ode.Rising, Func: func(_ float64, y []float64) float64 {
			if !r.peak1.armed {
				return off
			}
			s, _ := r.pressureSlopes(y)
			return -s
		}},
		pressure2Peaks: {Name: "peak in the barrel", Direction: ode.Rising, Func: func(_ float64, y []float64) float64 {
			if !r.peak2.armed {
				return off
			}
			_, s := r.pressureSlopes(y)
			return -s
		}},
	}
}

// pressureSlopes returns dp/dt in cylinder and barrel [Pa/s].
func (r *run) pressureSlopes(y []float64) (one, two float64) {
	g, dy := r.gun, r.slope[:]
	r.extra++
	r.mode.derive(g, &r.echo, dy, y)
	V1, a := g.cylinder(y)
	V2, b := g.barrel(y)
	w := y[fast]
	motion := g.kinetic * (dy[mass2]*w*w/2 + y[mass2]*w*dy[fast])
	return ((Gamma-1)*dy[energy1] - a.p*g.piston*dy[travel]) / V1, ((Gamma-1)*(dy[energy2]-motion) - b.p*g.bore*dy[along]) / V2
}

// fly runs from the state y to the end.
func (r *run) fly(ctx context.Context) (Status, error) {
	r.note(Release)
	for {
		r.y[clock] = r.t
		r.echo.enter(r.t)
		r.release()
		if r.settled() {
			break
		}
		stopped, err := r.phase(ctx)
		if err != nil {
			return 0, err
		}
		if !stopped {
			break // at the limit of time or work
		}
	}
	r.summary.PeakPressure, r.summary.PeakBarrelPressure = r.peak1.most, r.peak2.most
	r.finish()
	return r.status(), nil
}

// phase steps from r.y in one mode until an event that changes it, with r.y the
// state after that, or until the limit of time or work. It tells which.
func (r *run) phase(ctx context.Context) (stopped bool, err error) {
	s := r.solver
	r.lifted = !r.mode.seated && r.y[travel] == liftOff*r.gun.stroke
	last := r.due()
	if err := s.Until(last); err != nil {
		return false, err
	}
	if err := s.Reset(r.t, r.y[:]); err != nil {
		return false, err
	}
	s1, s2 := r.pressureSlopes(r.y[:])
	r.peak1.begin(r.gun.pressure1(r.y[:]), s1)
	r.peak2.begin(r.gun.pressure2(r.y[:]), s2)
	from := r.end(r.t, r.y[:])
	for n := 0; ; n++ {
		if n%64 == 0 && ctx.Err() != nil {
			return false, ctx.Err()
		}
		if err := s.Step(); err != nil {
			if !errors.Is(err, ode.ErrTooManySteps) && !errors.Is(err, ode.ErrTooManyEvents) {
				return false, err
			}
			r.gaveUp = true
			r.t = s.T()
			copy(r.y[:], s.Y())
			return false, nil
		}
		if r.trace != nil {
			r.trace.path.Append(s, r.mode.code())
		}
		r.watch()
		if r.gun.impedance > 0 {
			to := r.end(s.T(), s.Y())
			h := s.T() - r.t
			push4 := r.echo.fourth(r.t, s.T(), &from, &to)
			middle := s.At(nil, r.t+h/2)[speed]
			r.trace.push(r.t, s.T(), &from, &to, push4)
			r.echo.add(s.T(), &from, &to, push4, 16*(middle-((from.speed+to.speed)/2+h/8*(from.acceleration-to.acceleration))))
			r.echo.enter(s.T())
			from = to
		}
		r.t = s.T()
		if r.lifted {
			r.lifted = false
			if s.Y()[travel] <= 0 {
				copy(r.y[:], s.Y())
				r.meet()
				r.arrive()
				return true, nil
			}
		}
		switch s.Status() {
		case ode.Stopped, ode.Done:
			copy(r.y[:], s.Y())
			r.meet()
			if s.Status() == ode.Done && last < longest {
				return true, nil
			}
			return s.Status() == ode.Stopped, nil
		}
		r.meet()
	}
}

// end returns what the spring's echo follows from at the end of a step.
func (r *run) end(t float64, y []float64) end {
	if r.gun.impedance == 0 {
		return end{}
	}
	r.extra++
	r.mode.derive(r.gun, &r.echo, r.slope[:], y)
	p := r.echo.find(t)
	return end{p.at(t), p.slope(t), y[speed], r.slope[speed]}
}

// meet takes notice of what happened in the last step and switches the mode.
func (r *run) meet() {
	for _, e := range r.solver.Events() {
		switch e.Index {
		case pelletFreed:
			r.free()
		case pelletMark:
			r.pass()
		case pelletStops:
			if r.mode.pellet == sliding { // else it left with its last breath
				r.shot.stop()
			}
		case portEdge:
			r.turnPort(r.y[speed] > 0)
		case pistonArrives:
			r.arrive()
		case pistonLifts:
			r.lift()
		case wallStirs, pelletBrisk, airRough, airTears:
			r.change(e.Index)
		case pistonClear:
			r.clears(e.T)
		case pistonTurns:
			r.turns(e.T, e.Y[travel])
		}
	}
}

func (r *run) stats() Stats {
	s := r.solver.Stats()
	return Stats{Steps: s.Steps, Rejected: s.Rejected, Evaluations: s.Evaluations + r.extra, Jacobians: s.Jacobians}
}

// General is [Simulate] by the general integrator, for a build that is valid, to the
// flight's end and without a watch.
func General(ctx context.Context, b *drivetrain.Build, s Settings, explicit bool) (*Result, error) {
	g := newGun(b)
	r := newRun(&g, &s)
	if err := r.prepare(&s, explicit); err != nil {
		return nil, fmt.Errorf("flight of %q: %w", b.Name, err)
	}
	status, err := r.fly(ctx)
	if err != nil {
		return nil, fmt.Errorf("flight of %q: %w", b.Name, err)
	}
	return &Result{
		Build: b, Status: status, Summary: r.summary, Ledger: r.ledger(), Trace: r.trace, Stats: r.stats(),
	}, nil
}
