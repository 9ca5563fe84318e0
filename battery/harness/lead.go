package harness

import (
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor/wire"
)

// Lead is the wire from pack to motor and back.
type Lead struct {
	// Area is the cross-section of the copper [m2].
	Area float64
	// Length is that of the whole loop, out and back [m].
	Length float64
	// Insulation names the jacket: PVC, PVC-105, silicone or PTFE.
	Insulation string
	// Wall is the thickness of the jacket; 0: bare [m].
	Wall float64
	// Emissivity is that of the jacket's surface [1].
	Emissivity float64
	// Limit is the highest temperature of the insulation; 0: not known [K].
	Limit float64
}

// NewLead returns a lead of a cross-section [m2] and loop length [m] in PVC,
// 0.6 mm thick, of emissivity 0.9 (closures of this project).
func NewLead(area, length float64) Lead {
	limit, _ := InsulationLimit("PVC")
	return Lead{Area: area, Length: length, Insulation: "PVC", Wall: 0.6e-3, Emissivity: 0.9, Limit: limit}
}

// Insulations lists the names of the jackets.
func Insulations() []string { return []string{"PVC", "PVC-105", "silicone", "PTFE"} }

// InsulationLimit returns the highest temperature [K] of an insulation: PVC 70,
// PVC-105 105, silicone 180, PTFE 200 °C (common ratings; PTFE from memory). It
// is false for any other name.
func InsulationLimit(name string) (float64, bool) {
	limit, ok := 0., true
	switch name {
	case "PVC":
		limit = 70
	case "PVC-105":
		limit = 105
	case "silicone":
		limit = 180
	case "PTFE":
		limit = 200
	default:
		ok = false
	}
	return quantity.Celsius + limit, ok
}

// Resistance returns that of the loop [ohm] at a temperature [K] (equations C1, A6).
func (l *Lead) Resistance(temperature float64) float64 {
	return wire.Resistance(l.Length, l.Area, temperature)
}

// Validate reports every field that can't be used.
func (l *Lead) Validate() error {
	var c quantity.Check
	c.Range("area", l.Area, quantity.Area, 1e-9, 1e-3)
	c.Range("length", l.Length, quantity.Length, 0, 100)
	if _, ok := InsulationLimit(l.Insulation); l.Insulation != "" && !ok {
		c.Add("insulation", "%q is not known; wanted one of %v", l.Insulation, Insulations())
	}
	c.Range("wall", l.Wall, quantity.Length, 0, 0.02)
	c.Range("emissivity", l.Emissivity, quantity.Share, 0, 1)
	if l.Limit != 0 {
		c.Range("limit", l.Limit, quantity.Temperature, quantity.Celsius, quantity.Celsius+1000)
	}
	return c.Err()
}
