package heat

import (
	"context"
	"fmt"
	"math"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
)

// Switching is what a switch goes through over a plan (equations C4, C5).
type Switching struct {
	// Contacts tells that it is a pair of contacts, not a MOSFET.
	Contacts bool
	// Conduction is what the resistance of the closed switch turns into heat [J].
	Conduction float64
	// Loss is all that the switch turns into heat [J].
	Loss float64
	// Hottest is the highest temperature of spot or junction in a round [K].
	Hottest float64
	// Voltage is the largest voltage over the closed switch [V].
	Voltage float64
	// Melting is the voltage over a pair of contacts at which the spot melts, the
	// contacts as warm as then; NaN of a MOSFET [V].
	Melting float64
	// Breaks is how often the switch broke a current.
	Breaks int
	// BreakCurrent is the largest current that it broke [A].
	BreakCurrent float64
	// BreakEnergy is the most that the motor's inductance held then [J].
	BreakEnergy float64
	// Arc is the largest energy of an arc; NaN of a MOSFET, +Inf of one that stands [J].
	Arc float64
	// Drive is the largest voltage that would go on driving a current through an
	// arc; NaN if the switch never broke one [V].
	Drive float64
	// ArcVoltage is the least voltage of an arc of the metal; NaN of a MOSFET [V].
	ArcVoltage float64
	// Brake is the largest current through the brake; 0: none [A].
	Brake float64
}

func emptySwitching(m *model) Switching {
	n := math.NaN()
	s := Switching{Contacts: m.build.Harness.Switch.Contacts != nil, Hottest: n, Voltage: n, Melting: n, Arc: n, Drive: n, ArcVoltage: n}
	if s.Contacts {
		s.ArcVoltage = m.metal.ArcVoltage
	}
	return s
}

// round takes in one round.
func (s *Switching) round(m *model, o *cycle.Round, k *cycle.Conditions, h hold) {
	resistance := m.build.Harness.Switch.Resistance(k.Switch)
	s.Conduction += resistance * o.Square
	s.Loss += o.Losses.Switch
	v := resistance * o.Peak
	if s.Contacts {
		// The voltage nearest to melting counts.
		melting := harness.SpotVoltage(m.metal.Melting, min(k.Switch, m.metal.Melting))
		if math.IsNaN(s.Melting) || v/melting > s.Voltage/s.Melting {
			s.Voltage, s.Melting = v, melting
		}
		s.Hottest = larger(s.Hottest, harness.SpotTemperature(h.voltage, k.Switch))
	} else {
		s.Voltage = larger(s.Voltage, v)
		s.Hottest = larger(s.Hottest, k.Switch+h.junction)
	}
	s.Brake = max(s.Brake, o.Brake)
	if !(o.Break.Current > 0) {
		return
	}
	s.Breaks++
	s.BreakCurrent = max(s.BreakCurrent, o.Break.Current)
	s.BreakEnergy = max(s.BreakEnergy, o.Break.Energy)
	s.Drive = larger(s.Drive, o.Break.Drive)
	if s.Contacts {
		s.Arc = larger(s.Arc, ArcEnergy(o.Break.Energy, o.Break.Drive, s.ArcVoltage))
	}
}

// FindSwitching fires a single shot, all at ambient and the pack rested, and returns
// what the switch goes through in it; all NaN of a motor that stalls.
func FindSwitching(ctx context.Context, b *drivetrain.Build) (Switching, error) {
	if err := b.Validate(); err != nil {
		return Switching{}, err
	}
	m := &model{build: b}
	if k := b.Harness.Switch.Contacts; k != nil {
		m.metal, _ = harness.FindContactMetal(k.Material)
	}
	t := b.Ambient.Temperature
	k := cycle.Conditions{Winding: t, Magnets: t, Lead: t, Switch: t, Pack: t}
	s := emptySwitching(m)
	s.Conduction, s.Loss, s.BreakCurrent, s.BreakEnergy, s.Brake = math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN()
	r, err := cycle.Fire(ctx, b, cycle.RoundStart{Kind: cycle.Lone, Conditions: k}, defaultTolerance)
	if err != nil {
		return s, fmt.Errorf("switching of %q: %w", b.Name, err)
	}
	if r.Stalled {
		return s, nil
	}
	s = emptySwitching(m)
	s.round(m, &r, &k, m.hold(r.Peak, t))
	return s, nil
}

// ArcEnergy returns the energy [J] of an arc between contacts that break a current:
// ½·La·i²·Va/(Va − u) with the energy that the inductance holds [J], the voltage u
// that goes on driving [V] and the arc's own [V] (equation C4). From u = Va on the
// arc stands: +Inf.
func ArcEnergy(held, drive, arc float64) float64 {
	if drive >= arc {
		return math.Inf(1)
	}
	return held * arc / (arc - drive)
}
