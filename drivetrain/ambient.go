package drivetrain

import "example.org/ampstroke/drivetrain/quantity"

// Ambient is the air around the build.
type Ambient struct {
	// Temperature is that of the air and of every part at rest [K].
	Temperature float64
	// Pressure is that of the air [Pa].
	Pressure float64
}

// StandardAmbient is 20 °C and 101.325 kPa.
func StandardAmbient() Ambient { return Ambient{quantity.Celsius + 20, 101325} }

// Validate reports every field that can't be used.
func (a *Ambient) Validate() error {
	var c quantity.Check
	c.Range("temperature", a.Temperature, quantity.Temperature, quantity.Celsius-60, quantity.Celsius+80)
	c.Range("pressure", a.Pressure, quantity.Pressure, 20e3, 200e3)
	return c.Err()
}
