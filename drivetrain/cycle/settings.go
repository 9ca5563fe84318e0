package cycle

import (
	"math"

	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/quantity"
)

// Settings say how to simulate. The zero value is safe and good.
type Settings struct {
	// Tolerance is the relative accuracy that the figures are computed to, from
	// 1e-12 to 1e-3 [1]. The default is 1e-9.
	Tolerance float64
	// Flight is the relative accuracy of the figures of the flight, from 1e-12 to
	// 1e-3, which cost most of the time [1]. The default is 1e-6 or Tolerance,
	// whichever is larger.
	Flight float64
	// Flights is a table of the build's gun, off which its flights are read where that can
	// be, to the table's tolerance; it leaves the courses of flights out, and of the first
	// shot's all but the muzzle. The default is to fly them.
	Flights *flight.Table
	// Conditions is what the simulation starts from. The default is ambient,
	// rested, at the pickup.
	Conditions Conditions
}

// Conditions is what a simulation starts from. The zero value is ambient
// temperature everywhere, a rested pack at the build's state of charge, and the
// sector where the trigger finds it.
type Conditions struct {
	// Spent is the charge that is gone from the pack since the build's state of
	// charge, as a share of its capacity [1].
	Spent float64
	// V1 is the voltage left over the pack's fast RC pair [V].
	V1 float64
	// V2 is the voltage left over the pack's slow RC pair [V].
	V2 float64
	// Advance is how far past the build's trigger.start the sector stands [rad].
	Advance float64
	// Winding is the temperature of the motor's winding; 0: ambient [K].
	Winding float64
	// Magnets is the temperature of the motor's can and magnets; 0: ambient [K].
	Magnets float64
	// Lead is the temperature of the leads' copper; 0: ambient [K].
	Lead float64
	// Switch is the temperature of contacts or MOSFET; 0: ambient [K].
	Switch float64
	// Pack is the temperature of the pack; 0: ambient [K].
	Pack float64
}

const defaultTolerance = 1e-9

// tolerance returns the accuracy asked for.
func (s *Settings) tolerance() float64 {
	if s.Tolerance == 0 {
		return defaultTolerance
	}
	return s.Tolerance
}

const defaultFlight = 1e-6

// FlightAccuracy is what figures of the flight are computed to, Flight or what stands in
// for it [1].
func (s *Settings) FlightAccuracy() float64 { return s.flight() }

// flight returns the accuracy asked for of the flight.
func (s *Settings) flight() float64 {
	if s.Flight == 0 {
		return max(defaultFlight, s.tolerance())
	}
	return s.Flight
}

// Validate reports every setting that can't be used.
func (s *Settings) Validate() error {
	var c quantity.Check
	c.Range("tolerance", s.tolerance(), quantity.Number, 1e-12, 1e-3)
	if s.Flight != 0 {
		c.Range("flight", s.Flight, quantity.Number, 1e-12, 1e-3)
	}
	k := &s.Conditions
	c.Range("conditions.spent", k.Spent, quantity.Share, 0, 1)
	c.Range("conditions.v1", k.V1, quantity.Voltage, -100, 100)
	c.Range("conditions.v2", k.V2, quantity.Voltage, -100, 100)
	c.Range("conditions.advance", k.Advance, quantity.Angle, -2*math.Pi, 2*math.Pi)
	for _, t := range []struct {
		field string
		value float64
	}{{"winding", k.Winding}, {"magnets", k.Magnets}, {"lead", k.Lead}, {"switch", k.Switch}, {"pack", k.Pack}} {
		if t.value != 0 {
			c.Range("conditions."+t.field, t.value, quantity.Temperature, quantity.Celsius-100, quantity.Celsius+600)
		}
	}
	return c.Err()
}
