package motor

import "math"

// Constants is a motor at one temperature of its winding and one of its magnets.
type Constants struct {
	// Ke is the voltage per speed, and Kt the torque per current: the same number [V s/rad].
	Ke float64
	// Resistance is the terminal resistance at standstill, without the brush drop [ohm].
	Resistance float64
	// Commutation is the resistance that commutation adds per speed (equation A16) [ohm s/rad].
	Commutation float64
	// Reversal is κ, the share of the coils' magnetic energy that each reversal loses [1].
	Reversal float64
	// Inductance is the terminal inductance [H].
	Inductance float64
	// Inertia is the armature's moment of inertia [kg m2].
	Inertia float64
	// BrushDrop is the voltage lost in the pair of brushes [V].
	BrushDrop float64
	// DragConstant is the loss torque at any speed above zero [N m].
	DragConstant float64
	// DragViscous is the loss torque per speed [N m s/rad].
	DragViscous float64
	// GapFluxDensity is that under a magnet [T].
	GapFluxDensity float64
	// UnsaturatedFlux is the flux through one coil if the tooth took it all [Wb].
	UnsaturatedFlux float64
	// CoilFlux is the flux through one coil [Wb].
	CoilFlux float64
	// SlotFill is the share of a slot that wire takes, NaN where the slot isn't known [1].
	SlotFill float64
}

// At returns the constants with the winding and the magnets at temperatures [K]:
// equations A1 to A8, A11, A16, A17, or A13 of a motor from the bench, of which
// nothing is known about flux and slots (NaN). The motor must be valid.
func (m *Motor) At(winding, magnets float64) Constants {
	if m.Bench != nil {
		return m.Bench.at(winding, magnets, m.Drag.Viscous)
	}
	s, a := &m.Stator, &m.Armature
	gap := s.Gap(a.RotorDiameter)
	face := m.coilFace()

	c := Constants{
		Inertia:      a.Inertia,
		BrushDrop:    s.Brush.Drop,
		DragConstant: m.Drag.Constant,
		DragViscous:  m.Drag.Viscous,
		SlotFill:     a.SlotFill(),
	}
	c.GapFluxDensity = GapDensity(s.Magnet.At(magnets), s.Leakage, s.Magnet.Permeability, s.Carter, gap, s.Magnet.Thickness)
	c.UnsaturatedFlux = c.GapFluxDensity * face
	c.CoilFlux = Saturated(c.UnsaturatedFlux, m.saturationFlux())

	// A5: P = a = 2, and every coil has two sides.
	c.Ke = machineConstant(2, 2*a.Slots*a.Turns, 2) * c.CoilFlux

	// A7: β is the share of a turn with a brush bridging two segments.
	n := float64(a.Slots)
	beta := min(1, n*s.Brush.Arc/math.Pi)
	c.Resistance = a.CoilResistance(winding) * ((1-beta)*(n*n-1)/(4*n) + beta*(n-1)/4)

	c.Inductance = a.Inductance
	if c.Inductance == 0 { // A8
		turns := float64(a.Turns)
		c.Inductance = Mu0 * turns * turns * face / (2 * (s.Carter*gap + s.Magnet.Thickness/s.Magnet.Permeability))
	}
	c.Reversal = m.Commutation
	if m.Commutation == DerivedCommutation { // A17
		c.Reversal = CommutationShare(a.Slots, c.UnsaturatedFlux/m.saturationFlux())
	}
	c.Commutation = c.Reversal * n * c.Inductance / (2 * math.Pi)
	return c
}

// coilFace is the area over which a coil sees a magnet, in the gap [m2]
// (equation A3).
func (m *Motor) coilFace() float64 {
	a := &m.Armature
	return (a.Radius() + m.Stator.Gap(a.RotorDiameter)/2) * m.coilArc() * a.StackLength
}

// saturationFlux is what the teeth in a coil can take, Φsat of equation A4 [Wb].
func (m *Motor) saturationFlux() float64 {
	a := &m.Armature
	return float64(a.Span()) * a.Saturation * a.ToothWidth * a.StackLength * a.Stacking
}

// LossTorque returns the drag [N m] of the motor turning at a speed [rad/s]
// above zero (equation A9).
func (c *Constants) LossTorque(speed float64) float64 { return c.DragConstant + c.DragViscous*speed }

// VoltageLeft returns what changes the current [V], La·di/dt, of a motor at a
// terminal voltage [V], a current [A] and a speed [rad/s] of zero or more; sign
// is that of the current through the brushes, 0 for none (equations F1, A10,
// A16).
func (c *Constants) VoltageLeft(terminal, current, speed, sign float64) float64 {
	return terminal - (c.Resistance+c.Commutation*speed)*current - sign*c.BrushDrop - c.Ke*speed
}

// TorqueLeft returns what changes the speed [N m], J·dω/dt, of a motor at a
// current [A], a speed above zero [rad/s] and a load [N m] (equations F2, A9).
func (c *Constants) TorqueLeft(current, speed, load float64) float64 {
	return c.Ke*current - c.LossTorque(speed) - load
}

// SteadyCurrent returns the current [A] that holds a load torque [N m] at a
// speed [rad/s] above zero.
func (c *Constants) SteadyCurrent(load, speed float64) float64 {
	return (load + c.LossTorque(speed)) / c.Ke
}

// SteadySpeed returns the speed [rad/s] at which the motor carries a load torque
// [N m] on a constant voltage [V] through a series resistance [ohm]; NaN where
// it doesn't turn. Commutation loss, which grows with the speed, is included.
func (c *Constants) SteadySpeed(load, voltage, series float64) float64 {
	// V − Vb = (R + ρ·ω)·i + Ke·ω with i = (T0 + kv·ω)/Ke: a quadratic in ω.
	r := c.Resistance + series
	t0 := load + c.DragConstant
	qa := c.Commutation * c.DragViscous
	qb := r*c.DragViscous + c.Commutation*t0 + c.Ke*c.Ke
	qc := r*t0 - (voltage-c.BrushDrop)*c.Ke
	if !(qc < 0) {
		return math.NaN()
	}
	return -2 * qc / (qb + math.Sqrt(qb*qb-4*qa*qc))
}

// StallCurrent returns the current [A] of the held motor on a constant voltage
// [V] through a series resistance [ohm].
func (c *Constants) StallCurrent(voltage, series float64) float64 {
	return max(0, voltage-c.BrushDrop) / (c.Resistance + series)
}
