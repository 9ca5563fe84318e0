package harness

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Switch is either a MOSFET or a pair of contacts.
type Switch struct {
	MOSFET   *MOSFET
	Contacts *Contacts
}

// Resistance returns that of the closed switch [ohm] at a temperature [K].
func (s *Switch) Resistance(temperature float64) float64 {
	if s.MOSFET != nil {
		return s.MOSFET.At(temperature)
	}
	return s.Contacts.At(temperature)
}

// Validate reports every field that can't be used.
func (s *Switch) Validate() error {
	var c quantity.Check
	switch {
	case s.MOSFET != nil && s.Contacts != nil:
		c.Add("", "both mosfet and contacts are given; wanted one of the two")
	case s.MOSFET != nil:
		c.Part("mosfet", s.MOSFET.Validate())
	case s.Contacts != nil:
		c.Part("contacts", s.Contacts.Validate())
	default:
		c.Add("", "neither mosfet nor contacts is given; wanted one of the two, such as mosfet: {resistance: 2 mohm}")
	}
	return c.Err()
}

// MOSFET is an electronic switch with a flyback diode over the motor.
type MOSFET struct {
	// Resistance is that of the channel, fully on, at 25 °C [ohm].
	Resistance float64
	// Drift is the relative growth of Resistance per kelvin [1/K].
	Drift float64
	// FlybackDrop is the voltage of the diode that carries the motor's current
	// after switch-off [V].
	FlybackDrop float64
	// ActiveBraking shorts the motor after switch-off.
	ActiveBraking bool
	// BrakeDelay is the time from switch-off to the short [s].
	BrakeDelay float64
	// BrakeResistance is that of the short, at any temperature; nil: that of the
	// channel [ohm].
	BrakeResistance *float64
	// JunctionToCase is the thermal resistance inside [K/W].
	JunctionToCase float64
	// Heat is the heat capacity of case and board [J/K].
	Heat float64
	// ToAmbient is the thermal resistance from case to surroundings [K/W].
	ToAmbient float64
	// Limit is the highest temperature of the junction; 0: not known [K].
	Limit float64
}

// NewMOSFET returns a MOSFET of a channel resistance [ohm] at 25 °C and what is
// commonly assumed for the rest: 0.5 %/K, a diode of 0.7 V, no active braking
// (else after 1 ms through the channel's resistance), 1 K/W inside, 1.5 J/K,
// 40 K/W to the surroundings, 150 °C (closures of this project).
func NewMOSFET(resistance float64) MOSFET {
	return MOSFET{
		Resistance: resistance, Drift: 0.005, FlybackDrop: 0.7, BrakeDelay: 1e-3,
		JunctionToCase: 1, Heat: 1.5, ToAmbient: 40, Limit: quantity.Celsius + 150,
	}
}

// At returns the resistance of the channel [ohm] at a temperature [K] (equation C5).
func (m *MOSFET) At(temperature float64) float64 {
	return m.Resistance * (1 + m.Drift*(temperature-(quantity.Celsius+25)))
}

// Brake returns the resistance of the short [ohm] with the channel at a
// temperature [K].
func (m *MOSFET) Brake(temperature float64) float64 {
	if m.BrakeResistance != nil {
		return *m.BrakeResistance
	}
	return m.At(temperature)
}

// Validate reports every field that can't be used.
func (m *MOSFET) Validate() error {
	var c quantity.Check
	c.Range("resistance", m.Resistance, quantity.Resistance, 1e-6, 10)
	c.Range("drift", m.Drift, quantity.Drift, -0.01, 0.05)
	c.Range("flyback_drop", m.FlybackDrop, quantity.Voltage, 0, 10)
	c.Range("brake_delay", m.BrakeDelay, quantity.Time, 0, 1)
	if m.BrakeResistance != nil {
		c.Range("brake_resistance", *m.BrakeResistance, quantity.Resistance, 0, 100)
	}
	heat(&c, "junction_to_case", m.JunctionToCase, quantity.ThermalResistance)
	heat(&c, "heat", m.Heat, quantity.HeatCapacity)
	heat(&c, "to_ambient", m.ToAmbient, quantity.ThermalResistance)
	limit(&c, m.Limit)
	return c.Err()
}

// Contacts is a pair of metal contacts pressed together.
type Contacts struct {
	// Material is copper or silver.
	Material string
	// Force is that between the contacts [N].
	Force float64
	// Hardness is the contact hardness of the metal [Pa].
	Hardness float64
	// Heat is the heat capacity of the contacts with their carrier [J/K].
	Heat float64
	// ToAmbient is the thermal resistance to the surroundings [K/W].
	ToAmbient float64
	// Limit is the highest temperature of the spot; 0: not known [K].
	Limit float64
}

// NewContacts returns contacts of a material pressed with a force [N] and what
// is commonly assumed for the rest: the metal's hardness, 2 J/K, 25 K/W to the
// surroundings (closures of this project), and the metal's softening temperature
// as limit.
func NewContacts(material string, force float64) Contacts {
	metal, _ := FindContactMetal(material)
	return Contacts{
		Material: material, Force: force, Hardness: metal.Hardness,
		Heat: 2, ToAmbient: 25, Limit: metal.Softening,
	}
}

// At returns the constriction resistance [ohm] of the pair at a temperature [K]
// of the metal (equation C4).
func (k *Contacts) At(temperature float64) float64 {
	metal, _ := FindContactMetal(k.Material)
	return Constriction(metal.At(temperature), k.Force, k.Hardness)
}

// Constriction returns the resistance [ohm] of one contact spot by Holm:
// (ρ/2)·√(π·H/F) with resistivity [ohm m], force [N], hardness [Pa]. Source:
// Holm, Electric Contacts, 4th ed., from memory.
func Constriction(resistivity, force, hardness float64) float64 {
	return resistivity / 2 * math.Sqrt(math.Pi*hardness/force)
}

// Validate reports every field that can't be used.
func (k *Contacts) Validate() error {
	var c quantity.Check
	if _, ok := FindContactMetal(k.Material); !ok {
		c.Add("material", "%q is not known; wanted copper or silver", k.Material)
	}
	c.Range("force", k.Force, quantity.Force, 1e-3, 1000)
	c.Range("hardness", k.Hardness, quantity.Stress, 1e7, 1e10)
	heat(&c, "heat", k.Heat, quantity.HeatCapacity)
	heat(&c, "to_ambient", k.ToAmbient, quantity.ThermalResistance)
	limit(&c, k.Limit)
	return c.Err()
}
