package cycle

import (
	"fmt"
	"math"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/motor"
)

// machine is a build with its temperatures and charge put in: the coefficients
// of equations F1 and F2. It is only read once made.
type machine struct {
	geometry drivetrain.Geometry
	motor    motor.Constants
	wires    harness.Resistances
	pack     *battery.Pack
	cell     battery.Cell
	circuit  battery.Circuit
	arcs     []arc

	magnets    float64 // their temperature [K]
	charge     float64 // at the start [1]
	v1, v2     float64 // at the start [V]
	start      float64 // sector angle at the start [rad]
	series     float64 // resistance of pack and harness [ohm]
	resistance float64 // of the whole loop, commutation apart [ohm]
	efficiency float64 // of the meshes [1]
	churning   float64 // at the motor shaft [N m s/rad]
	pistonDrag float64 // in the pull [N]

	diode      bool    // a MOSFET with a flyback diode opens, not contacts
	flyback    float64 // of the diode [V]
	brakes     bool    // by shorting the motor
	brakeDelay float64 // from the opening [s]
	brake      float64 // resistance of the short [ohm]
}

func newMachine(b *drivetrain.Build, k *Conditions) (*machine, error) {
	m := new(machine)
	if err := m.set(b, k); err != nil {
		return nil, err
	}
	return m, nil
}

// set makes it that of a valid build.
func (m *machine) set(b *drivetrain.Build, k *Conditions) error {
	cell, err := b.Battery.Cell()
	if err != nil {
		return err
	}
	at := func(t float64) float64 {
		if t == 0 {
			return b.Ambient.Temperature
		}
		return t
	}
	*m = machine{
		geometry:   b.Geometry(),
		motor:      b.Motor.At(at(k.Winding), at(k.Magnets)),
		wires:      b.Harness.At(harness.Temperatures{Lead: at(k.Lead), Switch: at(k.Switch)}),
		pack:       &b.Battery,
		cell:       cell,
		magnets:    at(k.Magnets),
		charge:     max(0, b.Battery.StateOfCharge-k.Spent),
		v1:         k.V1,
		v2:         k.V2,
		efficiency: b.Gears.Efficiency,
		pistonDrag: b.Piston.DragPull,
		arcs:       m.arcs[:0],
	}
	g := &m.geometry
	// Resistances and capacitances are those of the charge at the start; the
	// open-circuit voltage follows the running charge.
	m.circuit = b.Battery.Circuit(cell, m.charge, at(k.Pack))
	m.series = m.circuit.R0 + m.wires.Total()
	m.resistance = m.motor.Resistance + m.series
	m.churning = b.Gears.Churning / (g.Ratio * g.Ratio)
	m.start = g.Pickup + b.Trigger.Start + k.Advance
	if end := g.Pickup + g.Lobe; m.start < g.Pickup-sameAngle || m.start >= end {
		return fmt.Errorf("settings: conditions.advance: the sector would stand at %.1f°; wanted a start within the lobe, from %.1f° to %.1f°",
			m.start*180/math.Pi, g.Pickup*180/math.Pi, end*180/math.Pi)
	}
	if s := b.Harness.Switch.MOSFET; s != nil {
		m.diode, m.flyback = true, s.FlybackDrop
		m.brakes, m.brakeDelay, m.brake = s.ActiveBraking, s.BrakeDelay, s.Brake(at(k.Switch))
	}
	m.arcs = arcs(m.arcs, g, m.efficiency, m.pistonDrag, b.Tappet)
	return nil
}

// cutoff returns where the switch opens in a pull of so many rounds (D9, F6): a
// cut-off below the pickup is met a lobe later, and one that lies at or behind the
// start in the next turn.
func (m *machine) cutoff(angle float64, rounds int) cutoff {
	g := &m.geometry
	if angle < g.Pickup {
		angle += g.Lobe
	}
	c := cutoff{set: true, lobe: rounds - 1, angle: angle}
	if angle <= m.start+sameAngle {
		c.lobe++
	}
	return c
}

// ocv returns the pack's open-circuit voltage [V] at a state of charge.
func (m *machine) ocv(charge float64) float64 { return m.pack.OCV(m.cell, charge) }

// stallCurrent returns what flows for good with the shaft held [A] (section I).
func (m *machine) stallCurrent(ocv, v1, v2 float64) float64 {
	return max(0, ocv-v1-v2-m.motor.BrushDrop) / m.resistance
}

// noLoadSpeed returns that of the motor on the rested pack [rad/s], 0 where it
// doesn't turn.
func (m *machine) noLoadSpeed() float64 {
	speed := m.motor.SteadySpeed(0, m.ocv(m.charge), m.series)
	if math.IsNaN(speed) {
		return 0
	}
	return speed
}

// common returns what currents [A] and speeds [rad/s] come to.
func (m *machine) common() (amps, rads float64) {
	return max(1e-3, m.stallCurrent(m.ocv(m.charge), 0, 0)), max(1, m.noLoadSpeed())
}
