package harness_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain/quantity/quantitytest"
)

func TestBounds(t *testing.T) {
	const freezing = 273.15 // [K]
	type H = harness.Harness
	p := quantitytest.Part[H]{T: t, New: demo, Validate: (*H).Validate}
	p.Bounds("lead.area", func(h *H) *float64 { return &h.Lead.Area }, 1e-9, 1e-3)
	p.Bounds("lead.length", func(h *H) *float64 { return &h.Lead.Length }, 0, 100)
	p.Bounds("lead.wall", func(h *H) *float64 { return &h.Lead.Wall }, 0, 0.02)
	p.Bounds("lead.emissivity", func(h *H) *float64 { return &h.Lead.Emissivity }, 0, 1)
	p.Bounds("lead.limit", func(h *H) *float64 { return &h.Lead.Limit }, freezing, freezing+1000)
	p.Bounds("fuse.rating", func(h *H) *float64 { return &h.Fuse.Rating }, 0.1, 1000)
	p.Bounds("fuse.melting", func(h *H) *float64 { return &h.Fuse.Melting }, 1e-3, 1e9)
	p.Bounds("connectors.1.resistance", func(h *H) *float64 { return &h.Connectors[1].Resistance }, 0, 10)
	p.Bounds("connectors.1.heat.capacity", func(h *H) *float64 { return &h.Connectors[1].Heat.Capacity }, 1e-6, 1e6)
	p.Bounds("connectors.1.heat.to_lead", func(h *H) *float64 { return &h.Connectors[1].Heat.ToLead }, 1e-6, 1e6)
	p.Bounds("connectors.1.heat.to_ambient", func(h *H) *float64 { return &h.Connectors[1].Heat.ToAmbient }, 1e-6, 1e6)
	p.Bounds("connectors.1.limit", func(h *H) *float64 { return &h.Connectors[1].Limit }, freezing, freezing+1000)
	p.Bounds("switch.mosfet.resistance", func(h *H) *float64 { return &h.Switch.MOSFET.Resistance }, 1e-6, 10)
	p.Bounds("switch.mosfet.drift", func(h *H) *float64 { return &h.Switch.MOSFET.Drift }, -0.01, 0.05)
	p.Bounds("switch.mosfet.flyback_drop", func(h *H) *float64 { return &h.Switch.MOSFET.FlybackDrop }, 0, 10)
	p.Bounds("switch.mosfet.brake_delay", func(h *H) *float64 { return &h.Switch.MOSFET.BrakeDelay }, 0, 1)
	p.Bounds("switch.mosfet.brake_resistance", func(h *H) *float64 {
		h.Switch.MOSFET.BrakeResistance = new(float64)
		return h.Switch.MOSFET.BrakeResistance
	}, 0, 100)
	p.Bounds("switch.mosfet.junction_to_case", func(h *H) *float64 { return &h.Switch.MOSFET.JunctionToCase }, 1e-6, 1e6)
	p.Bounds("switch.mosfet.heat", func(h *H) *float64 { return &h.Switch.MOSFET.Heat }, 1e-6, 1e6)
	p.Bounds("switch.mosfet.to_ambient", func(h *H) *float64 { return &h.Switch.MOSFET.ToAmbient }, 1e-6, 1e6)
	p.Bounds("switch.mosfet.limit", func(h *H) *float64 { return &h.Switch.MOSFET.Limit }, freezing, freezing+1000)
	p.New = func() H {
		h, c := demo(), harness.NewContacts("silver", 1)
		h.Switch = harness.Switch{Contacts: &c}
		return h
	}
	p.Bounds("switch.contacts.force", func(h *H) *float64 { return &h.Switch.Contacts.Force }, 1e-3, 1000)
	p.Bounds("switch.contacts.hardness", func(h *H) *float64 { return &h.Switch.Contacts.Hardness }, 1e7, 1e10)
	p.Bounds("switch.contacts.heat", func(h *H) *float64 { return &h.Switch.Contacts.Heat }, 1e-6, 1e6)
	p.Bounds("switch.contacts.to_ambient", func(h *H) *float64 { return &h.Switch.Contacts.ToAmbient }, 1e-6, 1e6)
	p.Bounds("switch.contacts.limit", func(h *H) *float64 { return &h.Switch.Contacts.Limit }, freezing, freezing+1000)
}

// A brake of nothing is a short of nothing, not one that is left out.
func TestBrake(t *testing.T) {
	m := harness.NewMOSFET(2e-3)
	assert.InEpsilon(t, 1.95e-3, m.Brake(ambient), 1e-12, "left out, it is the channel's")
	m.BrakeResistance = new(float64)
	assert.Zero(t, m.Brake(ambient))
	assert.NoError(t, m.Validate())
	*m.BrakeResistance = 0.3
	assert.Equal(t, 0.3, m.Brake(ambient+80), "at any temperature")
}

// Common ratings; PTFE's from memory.
func TestInsulationLimits(t *testing.T) {
	for name, degrees := range map[string]float64{"PVC": 70, "PVC-105": 105, "silicone": 180, "PTFE": 200} {
		limit, ok := harness.InsulationLimit(name)
		assert.True(t, ok, name)
		assert.InDelta(t, degrees, limit-273.15, 1e-9, name)
		assert.Contains(t, harness.Insulations(), name)
	}
	assert.Len(t, harness.Insulations(), 4)
	_, ok := harness.InsulationLimit("")
	assert.False(t, ok)
}
