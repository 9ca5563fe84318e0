package harness

import (
	"fmt"

	"example.org/ampstroke/drivetrain/quantity"
)

// Harness is all that lies between pack and motor.
type Harness struct {
	Lead       Lead
	Connectors []Connector
	Switch     Switch
	// Fuse is nil where there is none.
	Fuse *Fuse
}

// Temperatures are those of the harness's parts.
type Temperatures struct {
	// Lead is that of the conductor [K].
	Lead float64
	// Switch is that of the contacts' metal or the MOSFET's case [K].
	Switch float64
}

// Resistances are those of the harness with the switch closed.
type Resistances struct {
	// Leads is the loop's [ohm].
	Leads float64
	// Connectors is the sum of all connectors [ohm].
	Connectors float64
	// Switch is the closed switch's [ohm].
	Switch float64
}

// Total returns the resistance between pack and motor [ohm].
func (r Resistances) Total() float64 { return r.Leads + r.Connectors + r.Switch }

// At returns the resistances at temperatures. The harness must be valid.
func (h *Harness) At(t Temperatures) Resistances {
	r := Resistances{Leads: h.Lead.Resistance(t.Lead), Switch: h.Switch.Resistance(t.Switch)}
	for i := range h.Connectors {
		r.Connectors += h.Connectors[i].Resistance
	}
	return r
}

// Validate reports every field that can't be used.
func (h *Harness) Validate() error {
	var c quantity.Check
	c.Part("lead", h.Lead.Validate())
	for i := range h.Connectors {
		if err := h.Connectors[i].Validate(); err != nil {
			c.Part(fmt.Sprintf("connectors.%d", i), err)
		}
	}
	c.Part("switch", h.Switch.Validate())
	if h.Fuse != nil {
		c.Part("fuse", h.Fuse.Validate())
	}
	return c.Err()
}
