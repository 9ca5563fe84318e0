package chart

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// Axis is what a picture of a cycle runs over.
type Axis int

// A cycle is drawn over time or over the sector's angle.
const (
	OverTime Axis = iota
	OverAngle
)

// samples of each course; far more than a picture can show.
const samples = 1500

// Cycle draws a simulation over time: current, pack voltage, motor speed, and
// piston travel with spring force, of the first shot and of the steady cycle,
// with the events marked. Both courses start at 0: the first shot at the closing
// of the switch, the steady cycle at a pickup. After a release the piston's line
// is its flight; it ends at the next pickup, home or not. The error is [ErrNothing] of a
// result that kept no course.
func Cycle(r *cycle.Result) (*Picture, error) { return CycleOver(r, OverTime) }

// CycleOver is Cycle over an axis of choice.
func CycleOver(r *cycle.Result, axis Axis) (*Picture, error) {
	if err := drawable(r); err != nil {
		return nil, err
	}
	return cycleStack(r, axis).picture(19*vg.Centimeter, 23*vg.Centimeter), nil
}

// cycleStack is what CycleOver draws.
func cycleStack(r *cycle.Result, axis Axis) *stack {
	s := &stack{
		title:    short(r.Build.Name, 50),
		subtitle: cycleSubtitle(r),
		second:   shotLine(r),
		panels:   cyclePanels(),
	}
	g := r.Build.Geometry()
	s.panels[3].right = &scale{springLabel(r.Build), g.SpringForce(0), g.SpringRate * 1e-3}

	first, steady := dashed("first shot, from closing the switch"), solid("steady cycle")
	switch r.Status {
	case cycle.Stall:
		first = solid("first shot, from closing the switch to the stall")
	case cycle.Once:
		first = solid("from closing the switch to rest")
	}
	firstPoints, steadyPoints := r.First.Sample(samples), []cycle.Point(nil)
	s.course(firstPoints, first, axis)
	if r.Steady != nil {
		steadyPoints = r.Steady.Sample(samples)
		s.course(steadyPoints, steady, axis)
		s.legend = []stroke{steady, first}
	} else {
		s.legend = []stroke{first}
	}
	s.limits(r, axis)
	s.events(r, axis, first, steady)
	s.named(r, firstPoints, steadyPoints, axis)
	s.clashes(r, axis)
	return s
}

// Pull draws the pull of a trigger that the cut-off ends, a single shot or a burst,
// from closing the switch to rest. The error is [ErrNothing] where the result has no
// pull, or one that kept no course.
func Pull(r *cycle.Result) (*Picture, error) {
	if err := pullable(r); err != nil {
		return nil, err
	}
	return Cycle(wholePull(r))
}

// wholePull is a result that has its pull in place of the steady cycle.
func wholePull(r *cycle.Result) *cycle.Result {
	c := *r
	c.Status, c.First, c.Steady = cycle.Once, r.Pull.Trace, nil
	return &c
}

// springLabel names the right scale of the travel. In flight a spring in waves pushes
// with other forces than its length would have it, so that the scale holds in the pull
// alone.
func springLabel(b *drivetrain.Build) string {
	if b.SpringWaves() {
		return "spring force in the pull, N"
	}
	return "spring force, N"
}

func cyclePanels() []panel {
	return []panel{
		{label: "current, A", least: 0, span: 1},
		{label: "pack voltage, V", least: math.NaN(), span: 0.5},
		{label: "motor speed, 1000 rpm", least: 0, span: 1},
		{label: "piston travel, mm", least: 0, span: 1},
	}
}

func cycleSubtitle(r *cycle.Result) string {
	s := &r.Summary
	parts := []string{
		motorName(&r.Build.Motor) + fmt.Sprintf(", ratio %.4g", r.Build.Gears.MotorTurns()),
		cells(r.Build.Battery.Series*r.Build.Battery.Parallel) + fmt.Sprintf(", %.0f mAh", r.Build.Battery.Capacity/3.6),
	}
	switch r.Status {
	case cycle.Once:
		p := r.Pull
		parts = append(parts, shotsFired(p), fmt.Sprintf("stands at %.0f° after %.0f ms", deg(p.StopAngle), 1e3*p.Rest))
	case cycle.Stall:
		parts = append(parts, fmt.Sprintf("stalls at %.0f° with %.1f A", deg(s.StallAngle), s.StallCurrent))
	default:
		parts = append(parts, fmt.Sprintf("%.1f rounds a second", s.RateOfFire), fmt.Sprintf("%.1f A mean, %.1f A RMS", s.CurrentMean, s.CurrentRMS))
	}
	return strings.Join(parts, "  ·  ")
}

func shotsFired(p *cycle.Pull) string {
	what := "single"
	if p.Rounds > 1 {
		what = fmt.Sprintf("burst of %d", p.Rounds)
	}
	if len(p.Releases) == 1 {
		return what + ": 1 shot"
	}
	return fmt.Sprintf("%s: %d shots", what, len(p.Releases))
}

// shotLine says what the flight comes to, "" without one.
func shotLine(r *cycle.Result) string {
	s := &r.Summary
	if r.Flight == nil {
		return ""
	}
	parts := []string{"the pellet stays in the barrel"}
	if !math.IsNaN(s.MuzzleVelocity) {
		parts = []string{
			fmt.Sprintf("%.1f m/s (%.0f ft/s), %.3g J with %.2f g", s.MuzzleVelocity, s.MuzzleVelocity/quantity.Foot, s.MuzzleEnergy, 1e3*r.Build.Pellet.Mass),
			fmt.Sprintf("trigger delay %.1f ms", 1e3*s.TriggerDelay),
		}
	}
	switch clash := meetings(r); {
	case r.Status == cycle.Once && len(clash) > 0:
		what := namePME
		if n := len(r.Pull.Releases); n > 1 {
			what += fmt.Sprintf(" at %d of %d shots, first", len(clash), n)
		}
		parts = append(parts, fmt.Sprintf("%s %.1f mm from home", what, 1e3*clash[0].travel))
	case r.Status == cycle.Once:
	case math.IsNaN(s.TimeToHome):
		parts = append(parts, "the piston does not come home")
	case s.PMEMargin < 0:
		parts = append(parts, fmt.Sprintf(namePME+": home %.1f ms too late", -1e3*s.PMEMargin))
	default:
		parts = append(parts, fmt.Sprintf("home %.1f ms before the next pickup", 1e3*s.PMEMargin))
	}
	return strings.Join(parts, "  ·  ")
}

func motorName(m *motor.Motor) string {
	if m.Bench != nil {
		return "bench motor"
	}
	return fmt.Sprintf("%d turns", m.Armature.Turns)
}

func cells(n int) string {
	if n == 1 {
		return "1 cell"
	}
	return fmt.Sprintf("%d cells", n)
}

func deg(rad float64) float64 { return rad * 180 / math.Pi }

// place returns where a point stands on the axis.
func (a Axis) place(p cycle.Point) float64 {
	if a == OverTime {
		return 1e3 * p.Time
	}
	return deg(p.Angle)
}

// travelled is what the panels of a cycle show of a point.
func travelled(p cycle.Point) [4]float64 {
	return [4]float64{p.Current, p.PackVoltage, thousandRPM(p.Speed), 1e3 * max(0, p.Travel)}
}

func thousandRPM(speed float64) float64 { return speed * 60 / (2 * math.Pi) / 1e3 }

func (s *stack) course(points []cycle.Point, style stroke, axis Axis) {
	lines := make([]plotter.XYs, len(s.panels))
	last := math.Inf(-1)
	for _, p := range points {
		x := axis.place(p)
		if x < last { // the sector comes round
			for i := range lines {
				lines[i] = append(lines[i], plotter.XY{X: x, Y: math.NaN()})
			}
		}
		last = x
		for i, y := range travelled(p) {
			lines[i] = append(lines[i], plotter.XY{X: x, Y: y})
		}
	}
	for i, xy := range lines {
		s.panels[i].lines = append(s.panels[i].lines, course{xy, style})
	}
}

func (s *stack) limits(r *cycle.Result, axis Axis) {
	if axis == OverTime {
		s.axis = "time, ms"
		s.lo, s.hi = 0, 1e3*r.First.Duration()
		if r.Steady != nil {
			s.hi = max(s.hi, 1e3*r.Steady.Duration())
		}
		if s.hi <= 0 {
			s.hi = 1
		}
		s.hi *= 1.08 // room for the names of points at the end
		return
	}
	s.overLobe(r.Build.Geometry())
}

// overLobe makes the axis that of the sector's angle, from one pickup to the next.
func (s *stack) overLobe(g drivetrain.Geometry) {
	s.axis = "sector angle, degrees"
	s.lo, s.hi = deg(g.Pickup), deg(g.Pickup+g.Lobe)
	s.step = 30
	if s.hi-s.lo < 200 {
		s.step = 15
	}
}

func (s *stack) events(r *cycle.Result, axis Axis, first, steady stroke) {
	if axis == OverAngle {
		g := r.Build.Geometry()
		s.moments = append(s.moments,
			moment{x: deg(g.Pickup), name: namePickup, style: steady},
			moment{x: deg(g.Release), name: fmt.Sprintf("%s %.0f°", nameRelease, deg(g.Release)), style: steady},
			moment{x: deg(g.Pickup + g.Lobe), name: "next " + namePickup, style: steady})
		if tappet := r.Build.Tappet; tappet != nil {
			for _, e := range []struct {
				angle float64
				name  string
			}{{tappet.From, "tappet on"}, {tappet.To, "tappet off"}} {
				angle := e.angle
				if angle < g.Pickup {
					angle += g.Lobe
				}
				s.moments = append(s.moments, moment{x: deg(angle), name: e.name, row: 1, style: first})
			}
		}
		if r.Status == cycle.Stall {
			s.moments = append(s.moments, moment{x: deg(r.Summary.StallAngle), name: nameStall, row: 1, style: first})
		}
		return
	}
	add := func(t *cycle.Trace, row int, style stroke, suffix string) {
		for _, e := range t.Events {
			if e.Kind != cycle.Closing && e.Kind != cycle.MuzzleExit && e.Kind != cycle.Home {
				s.moments = append(s.moments, moment{x: 1e3 * e.Time, name: eventName(e.Kind, r.Status == cycle.Stall) + suffix, row: row, style: style})
			}
		}
	}
	if r.Steady == nil {
		add(r.First, 0, first, "")
		return
	}
	add(r.Steady, 0, steady, "")
	add(r.First, 1, first, ", first shot")
}

// named marks the inrush, the steady peak and the least voltage. The figures are
// the summary's; only the place is read off the samples.
func (s *stack) named(r *cycle.Result, first, steady []cycle.Point, axis Axis) {
	byCurrent := func(a, b cycle.Point) int { return cmp.Compare(a.Current, b.Current) }
	byVoltage := func(a, b cycle.Point) int { return cmp.Compare(a.PackVoltage, b.PackVoltage) }
	inrush := slices.MaxFunc(first, byCurrent)
	least := slices.MinFunc(slices.Concat(first, steady), byVoltage)
	add := func(i int, p cycle.Point, y float64, below bool, name string) {
		x := axis.place(p)
		left := x > s.lo+0.75*(s.hi-s.lo)
		s.panels[i].points = append(s.panels[i].points, mark{x: x, y: y, name: name, left: left, below: below})
	}
	name, most, low := "inrush", r.Summary.Inrush, r.Summary.PackVoltageMin
	if r.Status == cycle.Once { // which may be longer than what the summary looks at
		most, low = r.Pull.Inrush, r.Pull.PackVoltageMin
		if current := r.Pull.BrakeCurrent; !math.IsNaN(current) {
			hardest := slices.MinFunc(first, byCurrent)
			add(0, hardest, hardest.Current, true, fmt.Sprintf("brake %.1f A", current))
		}
	}
	if r.Status == cycle.Stall && r.Summary.Inrush == r.Summary.StallCurrent {
		name = nameStall
	}
	add(0, inrush, inrush.Current, false, fmt.Sprintf("%s %.1f A", name, most))
	if steady != nil {
		peak := slices.MaxFunc(steady, byCurrent)
		add(0, peak, peak.Current, false, fmt.Sprintf("peak %.1f A", r.Summary.CurrentPeak))
	}
	add(1, least, least.PackVoltage, true, fmt.Sprintf("least %.2f V", low))
	s.loose(r, axis)
}

// loose marks on the piston's travel where the first shot's pellet leaves the
// muzzle, and where the steady cycle's piston is home.
func (s *stack) loose(r *cycle.Result, axis Axis) {
	for _, of := range []struct {
		trace *cycle.Trace
		kind  cycle.EventKind
	}{{r.First, cycle.MuzzleExit}, {r.Steady, cycle.Home}} {
		if of.trace == nil {
			continue
		}
		named := false // of many shots, the first
		for _, e := range of.trace.Events {
			// A muzzle exit behind the next pickup has no place on that travel (F8).
			if p := of.trace.At(e.Time); e.Kind == of.kind && !math.IsNaN(p.Pressure) {
				m := mark{x: axis.place(p), y: 1e3 * p.Travel, left: axis.place(p) > s.lo+0.85*(s.hi-s.lo)}
				if !named {
					m.name, named = eventName(e.Kind, false), true
				}
				s.panels[3].points = append(s.panels[3].points, m)
			}
		}
	}
}

// clashes marks on the travel where the sector meets a rack that is not home: of a steady
// cycle at its end, of a pull at each pickup that finds one.
func (s *stack) clashes(r *cycle.Result, axis Axis) {
	for _, m := range meetings(r) {
		p := m.trace.Before(m.time)
		at := mark{x: axis.place(p), y: 1e3 * m.travel, cross: true, left: true}
		if len(s.panels[3].points) == 0 || !slices.ContainsFunc(s.panels[3].points, func(o mark) bool { return o.cross }) {
			at.name = namePME
		}
		s.panels[3].points = append(s.panels[3].points, at)
	}
}

// meeting is a pickup that finds the rack away from home.
type meeting struct {
	trace  *cycle.Trace // in which it is
	time   float64      // from its start [s]
	travel float64      // of the piston from home [m]
}

// meetings lists the premature engagements that a picture of a result shows.
func meetings(r *cycle.Result) (all []meeting) {
	next := func(t *cycle.Trace, after float64) float64 {
		for _, e := range t.Events {
			if e.Kind == cycle.Pickup && e.Time > after {
				return e.Time
			}
		}
		return math.NaN()
	}
	switch {
	case r.Steady != nil:
		if travel := r.Summary.EngagementTravel; !math.IsNaN(travel) {
			all = append(all, meeting{r.Steady, r.Steady.Duration(), travel})
		}
	case r.Status == cycle.Once:
		for _, shot := range r.Pull.Releases {
			if travel := shot.Engagement.Travel; !math.IsNaN(travel) {
				if time := next(r.First, shot.Release); !math.IsNaN(time) {
					all = append(all, meeting{r.First, time, travel})
				}
			}
		}
	}
	return all
}
