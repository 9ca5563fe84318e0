package flight

import (
	"context"
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/internal/ode"
)

// Flyer computes flights, one after the other. After its first it allocates
// nothing. The zero value is ready; a Flyer is for one goroutine at a time and must
// not be copied between flights.
type Flyer struct {
	shot
	gun     gun
	step    stepper
	points  [3]point
	spare   *point
	scales  [states]float64 // absolute tolerances
	tol     float64         // relative tolerance of a step
	control control

	full, part bend // of a step, and up to an event in it

	lift1, free2, settle float64 // liftAt, freeAt and settleAt of the mode [Pa]
	last                 float64 // due, of the mode [s]
	tearing              float64 // speed from which the air in front of the pellet is turbulent [m/s]
	sudden               bool    // flows have just jumped
	above, rearward      bool    // the piston is above the clearance; goes rearwards
	most1, most2         float64 // pressures so far [Pa]

	watch       float64 // a time to come at which the piston is watched; +Inf: none [s]
	watched     Motion
	onlyWatched bool // no further than that

	track track // for a neighbour
	rails rails // for a journey
	aside aside

	steps, rejected int
	counts          [pistonTurns + 1]int // of events
}

// Fly is [Simulate] by the implicit method for a build that is valid, with settings
// that are, and without a trace.
func (f *Flyer) Fly(ctx context.Context, b *drivetrain.Build, settings Settings) (Result, error) {
	settings.Trace = false
	return f.launch(ctx, b, &settings)
}

// Watch flies a build whose flight is known up to the time that settings name, and returns
// the piston's motion there.
func (f *Flyer) Watch(ctx context.Context, b *drivetrain.Build, settings Settings, known *Arc) (Motion, error) {
	settings.Trace, settings.known = false, known
	r, err := f.launch(ctx, b, &settings)
	return r.Watched, err
}

// launch flies a build.
func (f *Flyer) launch(ctx context.Context, b *drivetrain.Build, s *Settings) (Result, error) {
	f.gun = newGun(b)
	var spent Stats
	tolerance := f.aim(s)
	most := pastSteps(tolerance)
	if s.known != nil && tolerance < f.loosest(s, usualShare, wholeShare) {
		most = 0
	}
	for ; ; most = 0 {
		f.load(&f.gun, s)
		f.prepare(s, tolerance)
		f.step.expected.most = most
		status, err := f.fly(ctx, s)
		if err != nil {
			return Result{}, fmt.Errorf("flight of %q: %w", b.Name, err)
		}
		last := spent != Stats{}
		spent.add(f.stats())
		if !last {
			if asked := f.asks(s); asked < tolerance && status != GivenUp {
				tolerance = asked
				continue
			}
		}
		next := noExit()
		if s.Neighbour.Delay > 0 {
			f.aside.evaluations = 0
			next = f.neighbour(s)
			spent.Evaluations += f.aside.evaluations
		}
		return Result{
			Build: b, Status: status, Summary: f.summary, Ledger: f.ledger(), Watched: f.watched, Neighbour: next, Trace: f.trace, Stats: spent,
		}, nil
	}
}

func (f *Flyer) stats() Stats {
	return Stats{Steps: f.steps, Rejected: f.rejected, Evaluations: f.step.evaluations, Jacobians: f.step.jacobians}
}

// prepare makes ready for the state y, and steps of a tolerance.
func (f *Flyer) prepare(s *Settings, tolerance float64) {
	f.tol = tolerance
	f.scales = f.shot.scales()
	// What these come to hardly counts: at equal error, a third to ten times as much of
	// either changes the work by 6 % at most.
	f.scales[speed] *= 0.8
	f.scales[fast] *= 0.1
	for i := range f.scales {
		f.scales[i] *= f.tol
	}
	f.step = stepper{near: &f.points[0], far: &f.points[1], echo: &f.echo}
	f.spare = &f.points[2]
	f.points = [3]point{}
	for i := range f.points {
		q := &f.points[i].per
		for _, k := range [...]int{travel, along, sumDrag, sumEnthalpy, sumWalls, sumSurge, sumColumn} {
			q[k] = 1 / f.scales[k]
		}
	}
	g := &f.gun
	f.tearing = turbulent * Viscosity(g.temperature) / (g.density() * g.bore2)
	f.control = control{}
	f.most1, f.most2 = 0, 0
	f.steps, f.rejected = 0, 0
	f.counts = [len(f.counts)]int{}
	f.control.restart()
	f.control.h = f.firstStep()
	f.sudden = true
	f.above, f.rearward = f.y[travel] > f.gun.clear, f.y[speed] > 0
	f.watch, f.watched = math.Inf(1), Motion{math.NaN(), math.NaN()}
	f.onlyWatched = s.known != nil
	if s.Watch > 0 {
		f.watch = s.Watch
	}
	f.track.start(s.Neighbour.Delay > 0)
	f.rails.start(s.rails)
	f.heard = nil
	if s.rails {
		f.heard = &f.rails
	}
	f.begin()
}

// firstStep is a guess.
func (f *Flyer) firstStep() float64 {
	g, y := &f.gun, &f.y
	h := g.swing()
	if v := math.Abs(y[speed]); v > 0 {
		h = min(h, g.stroke/v)
	}
	return min(initial*math.Sqrt(math.Sqrt(f.tol))*h, longest)
}

// fly runs from the state y to the end.
func (f *Flyer) fly(ctx context.Context, s *Settings) (Status, error) {
	f.note(Release)
	for {
		if s.ToMuzzle && f.mode.pellet == out {
			f.summary.PeakPressure, f.summary.PeakBarrelPressure = f.most1, f.most2
			f.atMuzzle()
			return Done, nil
		}
		if f.onlyWatched && math.IsInf(f.watch, 1) {
			break
		}
		f.y[clock] = f.t
		f.echo.enter(f.t)
		f.release()
		if f.settled() {
			break
		}
		if f.overdue() {
			f.track.lose()
			continue
		}
		stopped, err := f.phase(ctx, s.limit())
		if err != nil {
			return 0, err
		}
		if !stopped {
			break // at the limit of time or work
		}
	}
	if !math.IsInf(f.watch, 1) { // it lies behind the end
		f.watched = Motion{f.y[travel], f.y[speed]}
	}
	f.summary.PeakPressure, f.summary.PeakBarrelPressure = f.most1, f.most2
	f.finish()
	return f.status(), nil
}

// overdue handles what rounding has left for the start of a mode.
func (f *Flyer) overdue() bool {
	m, y := &f.mode, &f.y
	switch {
	case m.pellet == sliding && y[along] >= f.mark():
		f.pass()
	case m.pellet == sliding && y[fast] <= 0:
		f.shot.stop()
	case !m.seated && y[travel] <= 0 && y[speed] <= 0:
		f.arrive()
	default:
		return false
	}
	return true
}

// arm sets what the events of the mode are compared with.
func (f *Flyer) arm() {
	f.step.follow(&f.gun, &f.mode)
	f.lift1, f.free2, f.settle = f.liftAt(f.t), f.freeAt(), f.settleAt()
	f.last = f.due()
}

// weigh sets what errors of a step from a point are measured in. A quotient serves
// two.
func (f *Flyer) weigh(p *point) {
	y, q, s := &p.y, &p.per, &f.scales
	m1, u1 := s[mass1]+f.tol*y[mass1], s[energy1]+f.tol*y[energy1]
	m2, u2 := s[mass2]+f.tol*y[mass2], s[energy2]+f.tol*y[energy2]
	one, two := 1/(m1*u1), 1/(m2*u2)
	q[mass1], q[energy1], q[mass2], q[energy2] = u1*one, m1*one, u2*two, m2*two
	v, w := s[speed]+f.tol*math.Abs(y[speed]), s[fast]+f.tol*math.Abs(y[fast])
	both := 1 / (v * w)
	q[speed], q[fast] = w*both, v*both
}

// phase steps from y in one mode until an event that changes it, with y the state
// after that, or until the limit of time or work. It tells which.
func (f *Flyer) phase(ctx context.Context, limit int) (stopped bool, err error) {
	f.enter()
	for n := 0; ; n++ {
		if n%64 == 0 && ctx.Err() != nil {
			return false, ctx.Err()
		}
		if stopped, on, err := f.stride(limit, n == 0); !on || err != nil {
			return stopped, err
		}
	}
}

// enter makes ready for steps from y in the present mode.
func (f *Flyer) enter() {
	f.arm()
	if f.above && f.y[travel] <= f.gun.clear {
		f.clears(f.t)
	}
	if f.rearward && f.y[speed] <= 0 {
		f.turns(f.t, f.y[travel])
	}
	f.above, f.rearward = f.y[travel] > f.gun.clear, f.y[speed] > 0
	s := &f.step
	s.near.y = f.y
	s.near.y[clock] = f.t
	s.begin(s.near)
	if s.full && f.judge(s.near) {
		s.follow(&f.gun, &f.mode)
		s.begin(s.near)
	}
	f.weigh(s.near)
	s.expected.forget()
	if stiff := s.near.stiffness(); f.sudden && stiff > 0 {
		f.control.h = min(f.control.h, gentle*math.Sqrt(math.Sqrt(f.tol))/stiff)
	}
	f.track.enter(&f.mode, s.near)
	f.sudden = false
	f.most1, f.most2 = max(f.most1, s.near.p1), max(f.most2, s.near.p2)
}

// stride makes one step in the present mode, or up to the first event in it that
// changes the mode. It tells whether it was stopped so, and else whether to go on.
func (f *Flyer) stride(limit int, first bool) (stopped, on bool, err error) {
	s := &f.step
	t1, err := f.advance(limit)
	if err != nil {
		return false, false, err
	}
	if f.gaveUp {
		f.y = s.near.y
		return false, false, nil
	}
	kinds := f.look()
	if kinds != 0 {
		if stopped := f.scan(kinds, first); stopped || f.gaveUp {
			return stopped, false, nil
		}
	}
	watched := f.watch <= t1
	if kinds == 0 && (watched || f.trace != nil) {
		s.dense(&f.full)
	}
	if f.trace != nil {
		f.append(&f.full, t1)
	}
	if f.rails.on {
		course := s.course
		if kinds != 0 { // what was looked for has left stages of other steps
			course = f.full.course
		}
		f.rails.add(f.t, t1, &f.mode, course)
	}
	f.peaks(kinds != 0)
	if watched {
		if f.see(&f.full, t1-f.t); f.onlyWatched {
			return false, false, nil
		}
	}
	if s.waves {
		f.keep(s.far, t1)
	}
	s.expected.extend(s.near, s.far, s.h)
	f.t = t1
	s.near, s.far = s.far, s.near
	f.track.add(s.near)
	if t1 >= f.last {
		f.y = s.near.y
		if t1 >= longest {
			return false, false, nil
		}
		f.control.restart()
		return true, false, nil
	}
	f.echo.enter(t1)
	f.above, f.rearward = s.near.y[travel] > f.gun.clear, s.near.y[speed] > 0
	f.weigh(s.near)
	return false, true, nil
}

// keep writes down, for the spring's echo, a step from near to a point at a time.
func (f *Flyer) keep(to *point, t1 float64) {
	p := f.step.near
	a, b := end{p.now.push, p.in.push, p.y[speed], p.v}, end{to.now.push, to.in.push, to.y[speed], to.v}
	push4 := f.echo.fourth(f.t, t1, &a, &b)
	f.trace.push(f.t, t1, &a, &b, push4)
	f.echo.add(t1, &a, &b, push4, f.step.expected.fourth(speed, t1-f.t))
}

// see watches the piston on a polynomial of a length in time.
func (f *Flyer) see(b *bend, length float64) {
	s := min(max(0, (f.watch-f.t)/length), 1)
	f.watched = Motion{b.at(travel, s), b.at(speed, s)}
	f.watch = math.Inf(1)
}

func (f *Flyer) append(b *bend, t1 float64) {
	f.trace.path.AppendStep(f.t, t1, b.y0[:], b.y1[:], b.r2[:], b.r3[:], b.r4[:], f.mode.code())
}

const maxTries = 100

// settling is how much more exact the last steps are than others: there are few, and the
// flight ends where a pressure has come down to a value, slowly.
const settling = 10

// advance makes an accepted step from near to far, and returns its end's time.
func (f *Flyer) advance(limit int) (t1 float64, err error) {
	s, c := &f.step, &f.control
	for tries := 0; ; tries++ {
		if f.steps+f.rejected >= limit {
			f.gaveUp = true
			return f.t, nil
		}
		t1 := f.target(c.h)
		if tries >= maxTries || t1 < f.last && t1-f.t < 4*ulp(f.t) {
			return 0, f.stuck()
		}
		h := t1 - f.t
		e := s.try(h)
		if f.mode.seated && f.mode.pellet != sliding {
			e *= settling
		}
		if !(e <= 1) {
			f.rejected++
			c.reject(h, e)
			continue
		}
		s.far.y[clock] = t1
		s.begin(s.far)
		if !s.far.finite() {
			f.rejected++
			c.reject(h, math.NaN())
			continue
		}
		f.steps++
		c.accept(h, e, s.expected.grow())
		return t1, nil
	}
}

// target returns the end of a step of about h: the last time of the mode if it is
// within reach, and half the way if it is within two steps.
func (f *Flyer) target(h float64) float64 {
	rest := f.last - f.t
	switch {
	case h >= rest:
		return f.last
	case h > rest/2:
		h = rest / 2
	}
	return f.t + h
}

func (f *Flyer) stuck() error {
	s := &f.step
	e := &ode.Error{
		Err: ode.ErrStepTooSmall, Quantity: "step", Index: -1, Value: f.control.h, Time: f.t, Mode: f.mode.String(),
		Hint: "a build of extreme figures",
	}
	for i, v := range s.far.y {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			e.Err, e.Quantity, e.Index, e.Name, e.Value = ode.ErrNotFinite, "state", i, stateNames[i], v
			break
		}
	}
	return e
}

// ulp is the distance from t to the next larger float.
func ulp(t float64) float64 { return math.Nextafter(t, math.Inf(1)) - t }
