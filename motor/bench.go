package motor

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor/wire"
)

// Bench is what the bench says of a whole motor, in place of its parts: a run
// without load, and its resistance or what it draws when held (equation A13).
type Bench struct {
	// Voltage is that at the terminals in both readings [V].
	Voltage float64
	// NoLoadSpeed is the speed of the unloaded motor [rad/s].
	NoLoadSpeed float64
	// NoLoadCurrent is what the unloaded motor draws [A].
	NoLoadCurrent float64
	// StallCurrent is what the held motor draws; 0 where Resistance is given [A].
	StallCurrent float64
	// Resistance is that of the terminals without the brush drop; 0 where
	// StallCurrent is given [ohm].
	Resistance float64
	// Inertia is the moment of inertia of the armature [kg m2].
	Inertia float64
	// Inductance is that of the terminals [H].
	Inductance float64
	// BrushDrop is the voltage lost in the pair of brushes; 0: none [V].
	BrushDrop float64
	// Drift is the relative change of Ke per kelvin of the magnets, referred to
	// 20 °C; 0: none [1/K].
	Drift float64
	// Temperature is that of winding and magnets when the readings were taken [K].
	Temperature float64
}

// What is commonly assumed of a motor on the bench (closures of this project).
const (
	// BenchTimeConstant is the inductance over the resistance of a motor of which
	// neither winding nor magnets are known [s].
	BenchTimeConstant = 0.7e-3
	// BenchTemperature is that of a motor that has run for a few seconds only [K].
	BenchTemperature = reference
)

// NewBench returns the readings of a motor at a voltage [V]: no-load speed
// [rad/s] and current [A], stall current [A], armature inertia [kg m2], with what
// is commonly assumed for the rest: brushes that drop 0.30 V, an inductance of
// 0.7 ms times the resistance (closures of this project), readings at 20 °C and
// the drift of neodymium, −0.1 %/K (see SinteredNdFeB).
func NewBench(voltage, noLoadSpeed, noLoadCurrent, stallCurrent, inertia float64) Bench {
	b := Bench{
		Voltage: voltage, NoLoadSpeed: noLoadSpeed, NoLoadCurrent: noLoadCurrent, StallCurrent: stallCurrent,
		Inertia: inertia, BrushDrop: DefaultBrushDrop, Drift: SinteredNdFeB().Drift, Temperature: BenchTemperature,
	}
	b.Inductance = BenchTimeConstant * b.TerminalResistance()
	return b
}

// TerminalResistance returns the resistance [ohm] at the temperature of the
// readings: the one given, or what the stall current leaves.
func (b *Bench) TerminalResistance() float64 {
	if b.Resistance > 0 {
		return b.Resistance
	}
	return (b.Voltage - b.BrushDrop) / b.StallCurrent
}

// at returns the constants with the winding and the magnets at temperatures [K],
// of a motor of which the viscous part of the drag [N m s/rad] is known. The
// winding is copper, so that its resistance follows equation A6; Ke follows the
// magnets by Drift.
func (b *Bench) at(winding, magnets, viscous float64) Constants {
	r := b.TerminalResistance()
	ke, loss := KeFromNoLoad(b.Voltage, b.NoLoadSpeed, b.NoLoadCurrent, r, b.BrushDrop)
	copper := wire.Copper()
	return Constants{
		Ke:           ke * b.warmth(magnets) / b.warmth(b.Temperature),
		Resistance:   r * copper.At(winding) / copper.At(b.Temperature),
		Inductance:   b.Inductance,
		Inertia:      b.Inertia,
		BrushDrop:    b.BrushDrop,
		DragConstant: loss - viscous*b.NoLoadSpeed,
		DragViscous:  viscous,

		GapFluxDensity: math.NaN(), UnsaturatedFlux: math.NaN(), CoilFlux: math.NaN(), SlotFill: math.NaN(),
	}
}

// warmth is what Ke at a temperature [K] is of that at 20 °C [1].
func (b *Bench) warmth(temperature float64) float64 {
	m := Magnet{Remanence: 1, Drift: b.Drift}
	return m.At(temperature)
}

// leastWarmth is how much of a magnet must be left for a straight drift to mean
// anything [1].
const leastWarmth = 0.05

// leastNoLoad bounds the speed of a free motor, 100 rpm: behind a ratio of ten it would
// fire ten rounds a minute, and 32.000 rpm that mean 32000 fall below [rad/s].
const leastNoLoad = 100 * 2 * math.Pi / 60

// Validate reports every field that can't be used.
func (b *Bench) Validate() error {
	var c quantity.Check
	c.Range("voltage", b.Voltage, quantity.Voltage, 0.1, 1000)
	if c.OK("voltage") && b.BrushDrop >= b.Voltage {
		c.Add("brush_drop", "%s leaves nothing of the %s of the readings", quantity.Voltage.Format(b.BrushDrop), quantity.Voltage.Format(b.Voltage))
		return c.Err()
	}
	c.Range("no_load_speed", b.NoLoadSpeed, quantity.AngularSpeed, leastNoLoad, 1e5)
	c.Range("no_load_current", b.NoLoadCurrent, quantity.Current, 0, 1000)
	switch {
	case b.StallCurrent != 0 && b.Resistance != 0:
		c.Add("resistance", "%s is given beside a stall current of %s, from which it follows; give one of the two",
			quantity.Resistance.Format(b.Resistance), quantity.Current.Format(b.StallCurrent))
	case b.StallCurrent != 0:
		c.Range("stall_current", b.StallCurrent, quantity.Current, 1e-3, 1e5)
	default:
		c.Range("resistance", b.Resistance, quantity.Resistance, 1e-5, 1000)
	}
	c.Range("inertia", b.Inertia, quantity.Inertia, 1e-9, 1e-2)
	c.Range("inductance", b.Inductance, quantity.Inductance, 1e-8, 1)
	c.Range("brush_drop", b.BrushDrop, quantity.Voltage, 0, 5)
	c.Range("drift", b.Drift, quantity.Drift, -0.01, 0.01)
	c.Range("temperature", b.Temperature, quantity.Temperature, quantity.Celsius-60, quantity.Celsius+200)
	if c.Err() != nil {
		return c.Err()
	}
	volts := quantity.Voltage.Format
	if !(b.warmth(b.Temperature) >= leastWarmth) {
		c.Add("drift", "%s leaves no magnet at the %s of the readings", quantity.Drift.Format(b.Drift), quantity.Temperature.Format(b.Temperature))
	} else if b.StallCurrent != 0 && b.StallCurrent <= b.NoLoadCurrent {
		c.Add("stall_current", "%s is not above the no-load current of %s; wanted what the held motor draws",
			quantity.Current.Format(b.StallCurrent), quantity.Current.Format(b.NoLoadCurrent))
	} else if drop := b.TerminalResistance() * b.NoLoadCurrent; b.BrushDrop+drop >= b.Voltage {
		c.Add("resistance", "%s takes %s at the no-load current, and the brushes %s: of %s nothing is left for the motor to turn by",
			quantity.Resistance.Format(b.TerminalResistance()), volts(drop), volts(b.BrushDrop), volts(b.Voltage))
	}
	return c.Err()
}

// Readings returns what the bench would say of a motor with the constants at a
// voltage [V]: the way back from At. The temperature is that of the constants
// [K]; the drift is not theirs to know and is left at 0. A motor that doesn't turn
// has no readings, and the error says so. Commutation loss is in the readings, but
// can't be told apart there: a motor made of them has it in Ke and drag.
func (c *Constants) Readings(voltage, temperature float64) (Bench, error) {
	speed := c.SteadySpeed(0, voltage, 0)
	if math.IsNaN(speed) {
		return Bench{}, fmt.Errorf("the motor doesn't turn at %s", quantity.Voltage.Format(voltage))
	}
	return Bench{
		Voltage: voltage, NoLoadSpeed: speed, NoLoadCurrent: c.SteadyCurrent(0, speed),
		StallCurrent: c.StallCurrent(voltage, 0), Inertia: c.Inertia, Inductance: c.Inductance,
		BrushDrop: c.BrushDrop, Temperature: temperature,
	}, nil
}

// KeFromNoLoad returns Ke [V s/rad] and the loss torque at that speed [N m] of a
// motor that runs unloaded at a speed [rad/s], drawing a current [A] at a
// voltage [V]; its terminal resistance [ohm] and brush drop [V] are known
// (equation A13).
func KeFromNoLoad(voltage, speed, current, resistance, brushDrop float64) (ke, lossTorque float64) {
	ke = (voltage - brushDrop - resistance*current) / speed
	return ke, ke * current
}

// Run is one reading of a motor that runs unloaded.
type Run struct {
	// Voltage is that at the terminals [V].
	Voltage float64
	// Speed is that of the motor [rad/s].
	Speed float64
	// Current is what the motor draws [A].
	Current float64
}

// ErrFewRuns says that readings don't tell what was asked of them.
var ErrFewRuns = errors.New("the runs don't tell constant from viscous drag; wanted two or more at voltages that differ")

// FromRuns returns Ke [V s/rad] and the drag of a motor from runs without load at
// several voltages; its terminal resistance [ohm] and brush drop [V] are known.
// Ke is the least-squares slope of the EMF over the speed, the drag a straight
// line through the loss torques (equations A9, A13), so that the errors of n
// readings shrink with √n. The error wraps [ErrFewRuns] where the speeds don't
// differ.
func FromRuns(runs []Run, resistance, brushDrop float64) (ke float64, drag Drag, err error) {
	var speed, emf, loss []float64
	for _, r := range runs {
		if !(r.Speed > 0) || !quantity.Finite(r.Speed+r.Voltage+r.Current) {
			return 0, Drag{}, fmt.Errorf("a run at %s with %s is none; wanted a speed above zero",
				quantity.Voltage.Format(r.Voltage), quantity.AngularSpeed.Format(r.Speed))
		}
		speed = append(speed, r.Speed)
		emf = append(emf, r.Voltage-brushDrop-resistance*r.Current)
	}
	if len(runs) < 2 || floats.Max(speed)-floats.Min(speed) <= 1e-6*floats.Max(speed) {
		return 0, Drag{}, ErrFewRuns
	}
	_, ke = stat.LinearRegression(speed, emf, nil, true)
	for _, r := range runs {
		loss = append(loss, ke*r.Current)
	}
	drag.Constant, drag.Viscous = stat.LinearRegression(speed, loss, nil, false)
	return ke, drag, nil
}
