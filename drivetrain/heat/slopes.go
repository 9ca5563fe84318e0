package heat

import (
	"context"
	"math"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain/cycle"
)

// What a round depends on: all temperatures, the charge and the RC voltages act
// through the first three.
const (
	inSource     = iota // the pack's voltage without current [V]
	inResistance        // of the whole loop [ohm]
	inKe                // [V s/rad]
	inCurrent           // just after the pickup [A]
	inSpeed             // just after the pickup [rad/s]
	inputs
)

// loop is the electric circuit at the start of a round.
type loop struct {
	in      [inputs]float64
	winding float64 // [ohm]
	wires   harness.Resistances
	pack    battery.Circuit
}

func (s *solver) loop(start *cycle.RoundStart) loop {
	b, k := s.m.build, &start.Conditions
	charge := b.Battery.StateOfCharge - k.Spent
	constants := b.Motor.At(k.Winding, k.Magnets)
	l := loop{
		winding: constants.Resistance, wires: b.Harness.At(temperatures(k)),
		pack: b.Battery.Circuit(s.m.cell, max(0, charge), k.Pack),
	}
	l.in = [inputs]float64{
		inSource:     b.Battery.OCV(s.m.cell, charge) - k.V1 - k.V2,
		inResistance: l.winding + l.wires.Total() + l.pack.R0,
		inKe:         constants.Ke,
		inCurrent:    start.Current,
		inSpeed:      start.Speed,
	}
	return l
}

// The figures of a round that are smooth in what it depends on: what flows and
// turns, not what that heats by way of resistances. Behind them stand the releases.
const (
	outDuration = iota
	outClosed
	outPeak
	outBrake
	outCharge
	outSquare
	outMotorSquare // ∫i² of the motor
	outBrush
	outDrag
	outSwitch // what the switch takes beside its resistance
	outPack   // what the pack takes beside R0 and the means of v1 and v2
	outKick1  // what the round adds to v1
	outKick2  // what the round adds to v2
	outCurrent
	outSpeed
	outBreakCurrent
	outBreakDrive
	outputs
)

// pair returns the mean heat of an RC pair [J] that goes from one voltage to another.
func pair(from, to, resistance, duration float64) float64 {
	mean := (from + to) / 2
	return mean * mean / resistance * duration
}

// figures takes a round apart.
func (l *loop) figures(start *cycle.RoundStart, r *cycle.Round) []float64 {
	k, c := &start.Conditions, &l.pack
	f := make([]float64, outputs, outputs+len(r.Releases))
	f[outDuration], f[outClosed], f[outPeak], f[outBrake] = r.Duration, r.Closed, r.Peak, r.Brake
	f[outCharge], f[outSquare] = r.Charge, r.Square
	f[outMotorSquare] = r.Losses.Winding / l.winding
	f[outBrush], f[outDrag] = r.Losses.Brush, r.Losses.MotorDrag
	f[outSwitch] = r.Losses.Switch - l.wires.Switch*r.Square
	f[outPack] = r.Losses.Pack - c.R0*r.Square - pair(k.V1, r.V1, c.R1, r.Duration) - pair(k.V2, r.V2, c.R2, r.Duration)
	f[outKick1] = r.V1 - k.V1*math.Exp(-r.Duration/(c.R1*c.C1))
	f[outKick2] = r.V2 - k.V2*math.Exp(-r.Duration/(c.R2*c.C2))
	f[outCurrent], f[outSpeed] = r.Current, r.Speed
	f[outBreakCurrent], f[outBreakDrive] = r.Break.Current, r.Break.Drive
	return append(f, r.Releases...)
}

// round puts a round together again; like is one of the same releases and of the
// same motor.
func (l *loop) round(start *cycle.RoundStart, f []float64, like *cycle.Round, capacity float64) cycle.Round {
	k, c := &start.Conditions, &l.pack
	r := cycle.Round{
		Duration: f[outDuration], Closed: f[outClosed], Peak: f[outPeak], Brake: f[outBrake], Charge: f[outCharge], Square: f[outSquare],
		Current: f[outCurrent], Speed: f[outSpeed],
		V1:       f[outKick1] + k.V1*math.Exp(-f[outDuration]/(c.R1*c.C1)),
		V2:       f[outKick2] + k.V2*math.Exp(-f[outDuration]/(c.R2*c.C2)),
		Spent:    k.Spent + f[outCharge]/capacity,
		Releases: f[outputs:],
		Break:    cycle.Break{Current: f[outBreakCurrent], Drive: f[outBreakDrive]},
	}
	if i := like.Break.Current; i != 0 {
		r.Break.Energy = like.Break.Energy * (r.Break.Current / i) * (r.Break.Current / i)
	}
	r.Losses = cycle.Losses{
		Winding: l.winding * f[outMotorSquare], Brush: f[outBrush], MotorDrag: f[outDrag],
		Pack:  c.R0*r.Square + pair(k.V1, r.V1, c.R1, r.Duration) + pair(k.V2, r.V2, c.R2, r.Duration) + f[outPack],
		Leads: l.wires.Leads * r.Square, Connectors: l.wires.Connectors * r.Square,
		Switch: l.wires.Switch*r.Square + f[outSwitch],
	}
	return r
}

// slopes are the derivatives of a round's figures by what it depends on.
type slopes struct {
	at    [inputs]float64 // where they were taken
	reach [inputs]float64 // how far from there
	by    [inputs][]float64
	// fragile tells that a round from nearby has other releases, or none: it is
	// computed anew each time.
	fragile bool
}

// How far to each side a round is fired for the slopes.
const (
	slopeVolts  = 0.05 // of v1 [V]
	slopeKelvin = 10   // of winding and magnets [K]
	slopeShare  = 0.03 // of current and speed [1]
)

// slopeReach is how far, in such steps, the slopes are good for.
const slopeReach = 1

// differentiate looks for the slopes of a solved round: those of one nearby, or new
// ones.
func (s *solver) differentiate(ctx context.Context, kind int, from *solved) error {
	if from.slopes != nil {
		return nil
	}
	for _, d := range s.slopes[kind] {
		if d.reaches(&from.loop.in) && (d.fragile || len(d.by[inSource]) == len(from.figures)) {
			from.slopes = d
			return nil
		}
	}
	d := &slopes{at: from.loop.in}
	for i := range inputs {
		lo, hi := from.start, from.start
		step := 0.
		switch i {
		case inSource:
			lo.Conditions.V1 += slopeVolts // more over the pair is less to drive with
			hi.Conditions.V1 -= slopeVolts
		case inResistance:
			lo.Conditions.Winding -= slopeKelvin
			hi.Conditions.Winding += slopeKelvin
		case inKe:
			lo.Conditions.Magnets += slopeKelvin
			hi.Conditions.Magnets -= slopeKelvin
		case inCurrent:
			step = slopeShare * max(1, math.Abs(from.start.Current))
			lo.Current -= step
			hi.Current += step
		case inSpeed:
			step = slopeShare * from.start.Speed
			lo.Speed -= step
			hi.Speed += step
		}
		if (i == inCurrent || i == inSpeed) && (from.start.Kind == cycle.Lone || from.start.Kind == cycle.First) {
			d.by[i], d.reach[i] = make([]float64, len(from.figures)), math.Inf(1)
			continue
		}
		a, b := s.loop(&lo), s.loop(&hi)
		below, err := s.solve(ctx, lo)
		if err != nil {
			return err
		}
		above, err := s.solve(ctx, hi)
		if err != nil {
			return err
		}
		d.reach[i] = slopeReach * math.Abs(b.in[i]-a.in[i]) / 2
		x, y := a.figures(&lo, &below), b.figures(&hi, &above)
		if below.Stalled || above.Stalled || len(x) != len(from.figures) || len(y) != len(from.figures) {
			d.fragile = true
			continue
		}
		d.by[i] = make([]float64, len(x))
		if b.in[i] == a.in[i] {
			continue
		}
		for n := range x {
			d.by[i][n] = (y[n] - x[n]) / (b.in[i] - a.in[i])
		}
	}
	from.slopes = d
	s.slopes[kind] = append(s.slopes[kind], d)
	return nil
}

// reaches tells that the slopes are good for a round.
func (d *slopes) reaches(in *[inputs]float64) bool {
	for i, x := range in {
		if !(math.Abs(x-d.at[i]) <= d.reach[i]) {
			return false
		}
	}
	return true
}

// adapt carries a solved round over to another start.
func (s *solver) adapt(from *solved, start *cycle.RoundStart, l *loop) cycle.Round {
	f := append([]float64(nil), from.figures...)
	for i, slope := range from.slopes.by {
		if by := l.in[i] - from.loop.in[i]; by != 0 {
			for n := range f {
				f[n] += by * slope[n]
			}
		}
	}
	return l.round(start, f, &from.round, s.m.build.Battery.Capacity)
}
