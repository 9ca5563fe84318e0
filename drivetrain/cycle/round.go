package cycle

import (
	"context"
	"fmt"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/quantity"
)

// RoundKind is where a round stands in its pull of the trigger (equation G2).
type RoundKind int

// The kinds of a round.
const (
	Lone   RoundKind = iota // the only one: from closing the switch to rest
	First                   // from closing the switch to just after the next pickup
	Middle                  // from pickup to pickup
	Last                    // from its pickup through the cut-off to rest
)

// String names the kind.
func (k RoundKind) String() string { return [...]string{"lone", "first", "middle", "last"}[k] }

// closes tells that the switch closes at the start of the round, with all at rest.
func (k RoundKind) closes() bool { return k == Lone || k == First }

// opens tells that the cut-off opens the switch in the round.
func (k RoundKind) opens() bool { return k == Lone || k == Last }

// RoundStart is what one round of a pull starts from (equations G1 to G3).
type RoundStart struct {
	Kind RoundKind
	// Conditions holds temperatures, charge and RC voltages. Its Advance counts only
	// where the switch closes; elsewhere the sector stands at the pickup.
	Conditions Conditions
	// Current is the motor's just after the pickup, where the switch is closed
	// already [A].
	Current float64
	// Speed is the motor's just after the pickup, where the switch is closed
	// already [rad/s].
	Speed float64
}

// Round is what one round of a pull comes to (equations F1 to F3, G1, G2), without
// the flights that it releases.
type Round struct {
	// Stalled tells that the shaft stands and the motor can't move it (D8). The rest
	// is then the state so far.
	Stalled bool
	// Duration is from the start to the next pickup, or to rest [s].
	Duration float64
	// Closed is how long the switch was closed [s].
	Closed float64
	// Releases are when the rack was let go, from the start [s].
	Releases []float64
	// Peak is the largest battery current [A].
	Peak float64
	// Brake is the largest current through the brake, 0 for none [A].
	Brake float64
	// Charge is what the battery has given [C].
	Charge float64
	// Square is the integral of the battery's current squared, which melts a fuse [A2 s].
	Square float64
	// Current is the motor's at the end [A].
	Current float64
	// Speed is the motor's at the end [rad/s].
	Speed float64
	// V1 is the voltage over the pack's fast RC pair at the end [V].
	V1 float64
	// V2 is the voltage over the pack's slow RC pair at the end [V].
	V2 float64
	// Spent is the charge gone from the pack at the end, as in Conditions [1].
	Spent float64
	// Losses are what the parts turn into heat.
	Losses Losses
	// Break is the state in which the switch opened; zero if it did not.
	Break Break
}

// Losses are the rows of the ledger that warm a part.
type Losses struct {
	// Winding is the heat of the motor's winding [J].
	Winding float64
	// Brush is the heat of brushes and commutation [J].
	Brush float64
	// MotorDrag is the loss of the turning motor [J].
	MotorDrag float64
	// Pack is the heat of the pack [J].
	Pack float64
	// Leads is the heat of the leads [J].
	Leads float64
	// Connectors is the heat of all connectors [J].
	Connectors float64
	// Switch is the heat of the switch, closed, opening and braking [J].
	Switch float64
}

// Total returns the sum [J].
func (l *Losses) Total() float64 {
	return l.Winding + l.Brush + l.MotorDrag + l.Pack + l.Leads + l.Connectors + l.Switch
}

// Break is the state in which a switch opens.
type Break struct {
	// Current is what the switch has to break [A].
	Current float64
	// Energy is what the motor's inductance holds then [J].
	Energy float64
	// Drive is the voltage that would go on driving a current through an arc: the
	// pack's, less brushes and back-EMF, u of equation C4 [V].
	Drive float64
}

// Fire runs one round of a pull, to a relative accuracy as in Settings.Tolerance. The
// build must be valid; its trigger's mode and rounds are ignored.
func Fire(ctx context.Context, b *drivetrain.Build, s RoundStart, tolerance float64) (Round, error) {
	k := s.Conditions
	if lobe := b.Sector.LobeAngle(); s.Kind.opens() && b.Trigger.Cutoff > lobe+1e-9 { // automatic fire doesn't look at it
		return Round{}, &quantity.Fault{Field: "trigger.cutoff", Text: fmt.Sprintf("%s is behind the end of the lobe at %s", quantity.Angle.Format(b.Trigger.Cutoff), quantity.Angle.Format(lobe))}
	}
	if !s.Kind.closes() {
		k.Advance = -b.Trigger.Start
	}
	m, err := newMachine(b, &k)
	if err != nil {
		return Round{}, err
	}
	r := newRun(m, tight(tolerance), false, 1, nil)
	if !s.Kind.closes() {
		r.y[current], r.y[speed] = s.Current, s.Speed
		r.arc, r.y[angle], r.turns = 0, m.arcs[0].from, true
	}
	r.begin()
	if s.Kind.opens() {
		r.cutoff = m.cutoff(b.Trigger.Cutoff, 1)
	}
	var end ending
	for {
		if end, err = r.toPickup(ctx); err != nil {
			return Round{}, err
		}
		// A last round goes on through further pickups until it rests.
		if end != pickedUp || !s.Kind.opens() {
			break
		}
	}
	return r.outcome(&k, b.Battery.StateOfCharge, end), nil
}

// outcome reads what a run has come to.
func (r *run) outcome(k *Conditions, full float64, end ending) Round {
	m, y, t := r.m, &r.y, &r.tally
	l := r.ledger(nil)
	o := Round{
		Stalled: end == stalled, Duration: r.time - r.t0,
		Peak: t.peak, Brake: -t.brake, Charge: t.drawn, Square: t.square,
		Current: y[current], Speed: y[speed], V1: y[voltage1], V2: y[voltage2], Spent: full - y[charge],
		Losses: Losses{l.Winding, l.Brush, l.MotorDrag, l.Pack, l.Leads, l.Connectors, l.Switch},
	}
	o.Closed = o.Duration
	if r.path != closed {
		b := &r.broke
		o.Closed = r.opened - r.t0
		o.Break = Break{
			Current: b[current], Energy: m.motor.Inductance * b[current] * b[current] / 2,
			Drive: r.ocv(b[:]) - b[voltage1] - b[voltage2] - m.motor.BrushDrop - m.motor.Ke*b[speed],
		}
	}
	for _, l := range r.releases {
		o.Releases = append(o.Releases, l.time)
	}
	return o
}
