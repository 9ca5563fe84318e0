package harness

import "example.org/ampstroke/drivetrain/quantity"

// Connector is one plug with its socket, both poles.
type Connector struct {
	// Resistance is that of both poles, whatever the temperature [ohm].
	Resistance float64
	Heat       ConnectorHeat
	// Limit is the highest temperature of the housing; 0: not known [K].
	Limit float64
}

// ConnectorHeat is what a connector's temperature follows from (equation C3).
type ConnectorHeat struct {
	// Capacity is the heat capacity [J/K].
	Capacity float64
	// ToLead is the thermal resistance to the lead's conductor [K/W].
	ToLead float64
	// ToAmbient is the thermal resistance to the surroundings [K/W].
	ToAmbient float64
}

// NewConnector returns a connector of a resistance [ohm] with 1 J/K, 40 K/W to
// the lead, 100 K/W to the surroundings (closures of this project) and a limit
// of 105 °C (a nylon housing; from memory).
func NewConnector(resistance float64) Connector {
	return Connector{Resistance: resistance, Heat: ConnectorHeat{1, 40, 100}, Limit: quantity.Celsius + 105}
}

// Validate reports every field that can't be used.
func (k *Connector) Validate() error {
	var c quantity.Check
	c.Range("resistance", k.Resistance, quantity.Resistance, 0, 10)
	heat(&c, "heat.capacity", k.Heat.Capacity, quantity.HeatCapacity)
	heat(&c, "heat.to_lead", k.Heat.ToLead, quantity.ThermalResistance)
	heat(&c, "heat.to_ambient", k.Heat.ToAmbient, quantity.ThermalResistance)
	limit(&c, k.Limit)
	return c.Err()
}

// heat checks a field that may be zero as long as no temperature is asked for.
func heat(c *quantity.Check, field string, v float64, k quantity.Kind) {
	if v != 0 {
		c.Range(field, v, k, 1e-6, 1e6)
	}
}

func limit(c *quantity.Check, v float64) {
	if v != 0 {
		c.Range("limit", v, quantity.Temperature, quantity.Celsius, quantity.Celsius+1000)
	}
}
