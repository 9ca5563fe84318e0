package harness_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/motor/wire"
)

const ambient = 293.15 // [K]

func demo() harness.Harness {
	m, f := harness.NewMOSFET(2e-3), harness.NewFuse(25)
	return harness.Harness{
		Lead:       harness.NewLead(wire.Area(wire.Diameter(16)), 0.6),
		Connectors: []harness.Connector{harness.NewConnector(0.8e-3), harness.NewConnector(0.8e-3)},
		Switch:     harness.Switch{MOSFET: &m},
		Fuse:       &f,
	}
}

func TestResistances(t *testing.T) {
	h := demo()
	require.NoError(t, h.Validate())
	r := h.At(harness.Temperatures{Lead: ambient, Switch: ambient})
	assert.InEpsilon(t, 0.6*13.1745e-3, r.Leads, 1e-4, "ASTM B258 and IEC 60028: 16 AWG has 13.1745 mΩ/m at 20 °C")
	assert.InEpsilon(t, 1.6e-3, r.Connectors, 1e-12)
	assert.InEpsilon(t, 1.95e-3, r.Switch, 1e-12, "2 mΩ at 25 °C, 0.5 %/K")
	assert.InEpsilon(t, r.Leads+r.Connectors+r.Switch, r.Total(), 1e-12)

	hot := h.At(harness.Temperatures{Lead: ambient + 100, Switch: ambient + 5})
	assert.InEpsilon(t, 1.393, hot.Leads/r.Leads, 1e-12)
	assert.InEpsilon(t, 2e-3, hot.Switch, 1e-12)
}

// Holm, Electric Contacts, 4th ed., from memory: R = ρ/2a with a = √(F/πH).
func TestConstriction(t *testing.T) {
	rho := wire.Copper().Resistivity
	assert.InEpsilon(t, 862.05e-6, rho/(2*10e-6), 1e-4, "a = 10 µm")
	assert.InEpsilon(t, 24.057e-6, math.Sqrt(1/(math.Pi*0.55e9)), 1e-4, "F 1 N, H 0.55 GPa")
	assert.InEpsilon(t, 358.33e-6, harness.Constriction(rho, 1, 0.55e9), 1e-4)

	c := harness.NewContacts("copper", 1)
	c.Hardness = 0.55e9
	assert.InEpsilon(t, 358.33e-6, c.At(ambient), 1e-4)
	four := c
	four.Force = 4
	assert.InEpsilon(t, 0.5, four.At(ambient)/c.At(ambient), 1e-12, "four times the force halves it")
	silver := harness.NewContacts("silver", 1)
	assert.InEpsilon(t, 1.59e-8/2*math.Sqrt(math.Pi*silver.Hardness), silver.At(ambient), 1e-12)
}

// U = 2·√(L·(T² − T0²)) with T0 293.15 K: relation from a secondary source, melting
// points and tabulated voltages of pure metals (Holm) from memory.
func TestSpotVoltage(t *testing.T) {
	copper, ok := harness.FindContactMetal("copper")
	require.True(t, ok)
	silver, ok := harness.FindContactMetal("silver")
	require.True(t, ok)
	for _, c := range []struct {
		name        string
		spot, volts float64
		table, band float64
		reason      string
	}{
		{"copper melts", copper.Melting, 0.4144, 0.43, 0.15, "tables"},
		{"silver melts", silver.Melting, 0.3750, 0.37, 0.15, "tables"},
		{"tin melts", 505.08, 0.1286, 0.13, 0.15, "tables"},
		{"copper softens", copper.Softening, 0.1121, 0.12, 0.15, "tables"},
	} {
		u := harness.SpotVoltage(c.spot, ambient)
		assert.InEpsilon(t, c.volts, u, 4e-4, "%s; four digits are quoted", c.name)
		assert.InEpsilon(t, c.table, u, c.band, "%s: %s", c.name, c.reason)
		assert.InEpsilon(t, c.spot, harness.SpotTemperature(u, ambient), 1e-12, "and back")
	}
	assert.InDelta(t, ambient, harness.SpotTemperature(0, ambient), 1e-9)
}

// Least voltage and current of an arc in air: silver's voltage from a secondary
// source, the rest from memory; wide bands.
func TestLeastArc(t *testing.T) {
	for name, want := range map[string]struct{ volts, amps float64 }{"copper": {13, 0.43}, "silver": {11.75, 0.4}} {
		m, ok := harness.FindContactMetal(name)
		require.True(t, ok)
		assert.InDelta(t, want.volts, m.ArcVoltage, 1.5, name)
		assert.InDelta(t, want.amps, m.ArcCurrent, 0.1, name)
	}
	_, ok := harness.FindContactMetal("gold")
	assert.False(t, ok)
}

func TestValidate(t *testing.T) {
	for field, change := range map[string]func(*harness.Harness){
		"lead.area":               func(h *harness.Harness) { h.Lead.Area = 0 },
		"lead.length":             func(h *harness.Harness) { h.Lead.Length = -1 },
		"lead.insulation":         func(h *harness.Harness) { h.Lead.Insulation = "wool" },
		"connectors.1.resistance": func(h *harness.Harness) { h.Connectors[1].Resistance = math.NaN() },
		"switch":                  func(h *harness.Harness) { h.Switch = harness.Switch{} },
		"fuse.rating":             func(h *harness.Harness) { h.Fuse.Rating = 0 },
		"switch.mosfet.drift":     func(h *harness.Harness) { h.Switch.MOSFET.Drift = 1 },
		"switch.contacts.material": func(h *harness.Harness) {
			h.Switch = harness.Switch{Contacts: &harness.Contacts{Material: "tin", Force: 1, Hardness: 1e9}}
		},
	} {
		h := demo()
		change(&h)
		assert.ErrorContains(t, h.Validate(), field+":")
	}
	both := demo()
	c := harness.NewContacts("copper", 1)
	both.Switch.Contacts = &c
	assert.ErrorContains(t, both.Validate(), "both mosfet and contacts")
}

func ExampleHarness_At() {
	contacts := harness.NewContacts("copper", 1.5)
	h := harness.Harness{
		Lead:   harness.NewLead(wire.Area(wire.Diameter(18)), 0.6),
		Switch: harness.Switch{Contacts: &contacts},
	}
	r := h.At(harness.Temperatures{Lead: 293.15, Switch: 293.15})
	fmt.Printf("leads %.1f mΩ, switch %.2f mΩ\n", 1e3*r.Leads, 1e3*r.Switch)
	// Output: leads 12.6 mΩ, switch 0.37 mΩ
}
