package motor

import (
	"slices"
	"sync"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
)

// Supplied is a motor alone, out of the gun, on a constant voltage.
type Supplied struct {
	Constants      Constants
	Characteristic Characteristic
	// Held is what the current of the held motor does to the magnets.
	Held Demagnetisation
}

// On returns the motor on a constant voltage [V], winding and magnets at temperatures
// [K].
func (m *Motor) On(voltage, winding, magnets float64) Supplied {
	s := Supplied{Constants: m.At(winding, magnets)}
	s.Characteristic = s.Constants.Characteristic(voltage)
	s.Held = m.Demagnetisation(s.Characteristic.Stall.Current, magnets)
	return s
}

// StallTorque is what the held motor's current makes; drag at rest can take from it
// [N m].
func (s *Supplied) StallTorque() float64 { return s.Constants.Ke * s.Characteristic.Stall.Current }

// Figures lists the figures of a motor alone. The list is the caller's.
func Figures() figure.List[*Supplied] { return slices.Clone(figures()) }

var figures = sync.OnceValue(func() figure.List[*Supplied] {
	return slices.Concat(constants(), onVoltage(), powers()).Keyed()
})

func constants() figure.List[*Supplied] {
	of := func(get func(*Constants) float64) func(*Supplied) float64 {
		return func(s *Supplied) float64 { return get(&s.Constants) }
	}
	const g = "constants"
	return figure.List[*Supplied]{
		{Info: figure.Info{
			Name: "ke", Label: "Ke = Kt", Group: g, Kind: quantity.Flux, Unit: "mV s", Digits: 4,
			Meaning:  "voltage per rad/s, the same as mN m per A",
			Measured: "(voltage less brush drop less resistance times current) over speed, without load",
		}, Value: of(func(c *Constants) float64 { return c.Ke })},
		{Info: figure.Info{
			Name: "resistance", Label: "resistance", Group: g, Kind: quantity.Resistance, Unit: "mohm", Digits: 4, Better: figure.Lower,
			Meaning:  "at the terminals",
			Measured: "voltage over current with the shaft held, less the brush drop",
		}, Value: of(func(c *Constants) float64 { return c.Resistance })},
		{Info: figure.Info{
			Name: "inductance", Label: "inductance", Group: g, Kind: quantity.Inductance, Unit: "uH", Digits: 4,
			Meaning:  "at the terminals",
			Measured: "bridge at the terminals, at 1 kHz, the shaft held",
		}, Value: of(func(c *Constants) float64 { return c.Inductance })},
		{Info: figure.Info{
			Name: "motor_inertia", JSON: "inertia_kg_m2", Label: "inertia", Group: g, Kind: quantity.Inertia, Unit: "g cm2", Digits: 4, Better: figure.Lower,
			Meaning: "of the armature",
		}, Value: of(func(c *Constants) float64 { return c.Inertia })},
		{Info: figure.Info{
			Name: "brush_drop", Label: "brush drop", Group: g, Kind: quantity.Voltage, Unit: "V", Digits: 3, Better: figure.Lower,
			Meaning: "voltage lost in the pair of brushes",
		}, Value: of(func(c *Constants) float64 { return c.BrushDrop })},
		{Info: figure.Info{
			Name: "drag", Label: "drag, constant", Group: g, Kind: quantity.Torque, Unit: "mN m", Digits: 3, Better: figure.Lower,
			Meaning: "loss torque at any speed",
		}, Value: of(func(c *Constants) float64 { return c.DragConstant })},
		{Info: figure.Info{
			Name: "viscous_drag", JSON: "drag_n_m_s", Label: "drag, per speed", Group: g, Kind: quantity.ViscousDrag, Unit: "uN m s", Digits: 3, Better: figure.Lower,
			Meaning: "loss torque per rad/s",
		}, Value: of(func(c *Constants) float64 { return c.DragViscous })},
		{Info: figure.Info{
			Name: "commutation_per_speed", JSON: "commutation_ohm_s", Label: "commutation, per speed", Group: g, Kind: quantity.Inductance, Unit: "uH", Digits: 3, Better: figure.Lower, Quiet: true,
			Meaning: "resistance that reversing the coils adds per rad/s",
		}, Value: of(func(c *Constants) float64 { return c.Commutation })},
		{Info: figure.Info{
			Name: "commutation_resistance", Label: "commutation", Group: g, Kind: quantity.Resistance, Unit: "mohm", Digits: 3, Better: figure.Lower,
			Meaning: "what reversing the coils adds to the resistance at the no-load speed",
		}, Value: func(s *Supplied) float64 { return s.Constants.Commutation * s.Characteristic.NoLoad.Speed }, Hidden: func(s *Supplied) bool { return s.Constants.Commutation == 0 }},
		{Info: figure.Info{
			Name: "commutation", Label: "commutation, share", Group: g, Kind: quantity.Share, Unit: "%", Digits: 3, Better: figure.Lower, Quiet: true,
			Meaning: "share of the coils' magnetic energy that each reversal loses",
		}, Value: of(func(c *Constants) float64 { return c.Reversal })},
		{Info: figure.Info{
			Name: "gap_flux_density", Label: "gap flux density", Group: g, Kind: quantity.FluxDensity, Unit: "T", Digits: 4, Better: figure.Higher,
			Meaning: "magnet against gap",
		}, Value: of(func(c *Constants) float64 { return c.GapFluxDensity })},
		{Info: figure.Info{
			Name: "coil_flux", JSON: "tooth_flux_wb", Label: "coil flux", Group: g, Kind: quantity.Flux, Unit: "uWb", Digits: 4, Better: figure.Higher,
			Meaning: "through one coil",
		}, Value: of(func(c *Constants) float64 { return c.CoilFlux })},
		{Info: figure.Info{
			Name: "slot_fill", Label: "slot fill", Group: g, Kind: quantity.Share, Unit: "%", Digits: 3,
			Meaning: "of the slot, enamelled wire",
		}, Value: of(func(c *Constants) float64 { return c.SlotFill }), Note: func(*Supplied) string { return "" }},
	}
}

func onVoltage() figure.List[*Supplied] {
	of := func(get func(*Characteristic) float64) func(*Supplied) float64 {
		return func(s *Supplied) float64 { return get(&s.Characteristic) }
	}
	const g = "on a constant voltage"
	return figure.List[*Supplied]{
		{Info: figure.Info{
			Name: "voltage", Label: "voltage", Group: g, Kind: quantity.Voltage, Unit: "V", Digits: 4,
			Meaning: "at the terminals of the motor alone",
		}, Value: of(func(h *Characteristic) float64 { return h.Voltage })},
		{Info: figure.Info{
			Name: "no_load_speed", Label: "no-load speed", Group: g, Kind: quantity.AngularSpeed, Unit: "rpm", Digits: 5, Better: figure.Higher,
			Meaning:  "of the motor that turns nothing but itself",
			Measured: "motor alone on a supply; a paint mark on the shaft and an optical tachometer",
		}, Value: of(func(h *Characteristic) float64 { return h.NoLoad.Speed })},
		{Info: figure.Info{
			Name: "no_load_current", Label: "no-load current", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4, Better: figure.Lower,
			Meaning:  "of the motor that turns nothing but itself",
			Measured: "motor alone on a supply; ammeter in the lead",
		}, Value: of(func(h *Characteristic) float64 { return h.NoLoad.Current })},
		{Info: figure.Info{
			Name: "motor_stall_current", JSON: "stall_current_a", Label: "stall current", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4,
			Meaning:  "of the held motor",
			Measured: "motor alone on a supply with a limit, the shaft held for a blink; scaled to the voltage",
		}, Value: of(func(h *Characteristic) float64 { return h.Stall.Current })},
		{Info: figure.Info{
			Name: "stall_torque", Label: "stall torque", Group: g, Kind: quantity.Torque, Unit: "mN m", Digits: 4, Better: figure.Higher,
			Meaning: "Kt times that current; drag at rest can take from it",
		}, Value: (*Supplied).StallTorque},
		{Info: figure.Info{
			Name: "held_demagnetisation_margin", JSON: "demagnetisation_margin", Label: "demagnetisation margin", Group: g, Kind: quantity.Share, Unit: "%", Digits: 3, Better: figure.Higher,
			Meaning: "of the coercivity left, at that current",
		}, Value: func(s *Supplied) float64 { return s.Held.Margin() }},
		{Info: figure.Info{
			Name: "demagnetising_field", Label: "demagnetising field", Group: g, Kind: quantity.FieldStrength, Unit: "kA/m", Digits: 4, Better: figure.Lower, Quiet: true,
			Meaning: "on the magnets' edge, at that current",
		}, Value: func(s *Supplied) float64 { return s.Held.Field }},
		{Info: figure.Info{
			Name: "coercivity", Label: "coercivity", Group: g, Kind: quantity.FieldStrength, Unit: "kA/m", Digits: 4, Better: figure.Higher, Quiet: true,
			Meaning: "of the magnets, at their temperature",
		}, Value: func(s *Supplied) float64 { return s.Held.Coercivity }},
	}
}

func powers() figure.List[*Supplied] {
	of := func(get func(*Characteristic) float64) func(*Supplied) float64 {
		return func(s *Supplied) float64 { return get(&s.Characteristic) }
	}
	const g = "most power and best efficiency"
	return figure.List[*Supplied]{
		{Info: figure.Info{
			Name: "peak_efficiency", Label: "best efficiency", Group: g, Kind: quantity.Share, Unit: "%", Digits: 4, Better: figure.Higher,
			Meaning: "power at the shaft over power at the terminals",
		}, Value: of(func(h *Characteristic) float64 { return h.Best.Efficiency })},
		{Info: figure.Info{
			Name: "best_current", Label: "current at the best", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4,
			Meaning: "where the motor's efficiency is best",
		}, Value: of(func(h *Characteristic) float64 { return h.Best.Current }), Note: func(*Supplied) string { return "" }},
		{Info: figure.Info{
			Name: "best_speed", Label: "speed at the best", Group: g, Kind: quantity.AngularSpeed, Unit: "rpm", Digits: 5,
			Meaning: "where the motor's efficiency is best",
		}, Value: of(func(h *Characteristic) float64 { return h.Best.Speed }), Note: func(*Supplied) string { return "" }},
		{Info: figure.Info{
			Name: "peak_power", Label: "most power", Group: g, Kind: quantity.Power, Unit: "W", Digits: 4, Better: figure.Higher,
			Meaning: "at the shaft",
		}, Value: of(func(h *Characteristic) float64 { return h.Strongest.Output })},
		{Info: figure.Info{
			Name: "strongest_current", Label: "current at most power", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4,
			Meaning: "where the motor gives most power",
		}, Value: of(func(h *Characteristic) float64 { return h.Strongest.Current }), Note: func(*Supplied) string { return "" }},
		{Info: figure.Info{
			Name: "strongest_speed", Label: "speed at most power", Group: g, Kind: quantity.AngularSpeed, Unit: "rpm", Digits: 5,
			Meaning: "where the motor gives most power",
		}, Value: of(func(h *Characteristic) float64 { return h.Strongest.Speed }), Note: func(*Supplied) string { return "" }},
	}
}
