package heat

import (
	"fmt"
	"math"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// The parts that are watched, in the order in which they are listed.
const (
	Winding    = "winding"
	Magnets    = "magnets"
	Brushes    = "brushes"
	Leads      = "leads"
	Connectors = "connectors"
	Switch     = "switch"
	Pack       = "pack"
	Fuse       = "fuse"
)

// PartNames lists the parts in their order.
func PartNames() []string {
	return []string{Winding, Magnets, Brushes, Leads, Connectors, Switch, Pack, Fuse}
}

// model is a build as heat sees it: nodes and paths, and which node warms with
// which loss. It is only read once made.
type model struct {
	build   *drivetrain.Build // with the plan's surroundings
	cell    battery.Cell
	ambient float64 // [K]
	net     Network

	// Indices of nodes; −1: the build has none.
	winding, can, lead, sw, pack int
	connectors                   []int

	cable   Cable
	metal   harness.ContactMetal // of contacts
	watches []watch
}

// watch is a node whose temperature is held against a limit; of the switch what
// stands above the node.
type watch struct {
	part  int // in PartNames
	node  int
	limit float64 // [K], NaN: not known
	spot  bool    // the hottest place of a switch, above its node
}

// newModel puts the parts of a build, in the surroundings of a plan, together.
func newModel(b *drivetrain.Build) (*model, error) {
	if err := b.Validate(); err != nil { // the surroundings may be too warm for the magnets
		return nil, err
	}
	if err := validate(b); err != nil {
		return nil, err
	}
	cell, err := b.Battery.Cell()
	if err != nil {
		return nil, err
	}
	m := &model{build: b, cell: cell, ambient: b.Ambient.Temperature, lead: -1}
	h := &b.Motor.Heat
	m.winding = m.net.Add("winding", h.Winding)
	m.can = m.net.Add("can", h.Can)
	m.net.Connect(m.winding, m.can, h.WindingToCan)
	m.net.Connect(m.can, Surroundings, h.CanToAmbient)
	m.watch(Winding, m.winding, windingLimit(h))
	m.watch(Magnets, m.can, magnetLimit(&b.Motor))
	m.watch(Brushes, m.can, brushLimit(&b.Motor))

	l := &b.Harness.Lead
	m.cable = NewCable(l, b.Ambient)
	if l.Length > 0 {
		m.lead, _ = m.cable.AddTo(&m.net)
		m.watch(Leads, m.lead, known(l.Limit))
	}
	for i := range b.Harness.Connectors {
		k := &b.Harness.Connectors[i]
		n := m.net.Add(fmt.Sprintf("connector %d", i+1), k.Heat.Capacity)
		m.connectors = append(m.connectors, n)
		if m.lead >= 0 {
			m.net.Connect(n, m.lead, k.Heat.ToLead)
		}
		m.net.Connect(n, Surroundings, k.Heat.ToAmbient)
		m.watch(Connectors, n, known(k.Limit))
	}
	var toAmbient, limit float64
	if s := b.Harness.Switch.MOSFET; s != nil {
		m.sw, toAmbient, limit = m.net.Add("switch", s.Heat), s.ToAmbient, s.Limit
	} else {
		k := b.Harness.Switch.Contacts
		m.metal, _ = harness.FindContactMetal(k.Material)
		m.sw, toAmbient, limit = m.net.Add("switch", k.Heat), k.ToAmbient, k.Limit
	}
	m.net.Connect(m.sw, Surroundings, toAmbient)
	m.watch(Switch, m.sw, known(limit))
	m.watches[len(m.watches)-1].spot = true

	p := &b.Battery
	m.pack = m.net.Add("pack", float64(p.Series*p.Parallel)*p.Heat.Cell)
	m.net.Connect(m.pack, Surroundings, p.Heat.ToAmbient)
	m.watch(Pack, m.pack, known(p.Heat.Limit))
	return m, m.net.Validate()
}

func (m *model) watch(part string, node int, limit float64) {
	for i, name := range PartNames() {
		if name == part {
			m.watches = append(m.watches, watch{part: i, node: node, limit: limit})
		}
	}
}

// known turns the zero that stands for a limit that nobody knows into NaN.
func known(limit float64) float64 {
	if limit == 0 {
		return math.NaN()
	}
	return limit
}

// windingLimit returns the highest temperature of a winding [K]: its own, else that
// of its class, else that of class F (equation A12).
func windingLimit(h *motor.Heat) float64 {
	if h.Limit != 0 {
		return h.Limit
	}
	if limit, ok := motor.ClassLimit(h.Class); ok {
		return limit
	}
	return motor.DefaultHeat().Limit
}

// magnetLimit returns the highest temperature of the magnets [K]; NaN of a motor
// from the bench, of whose magnets nothing is known.
func magnetLimit(m *motor.Motor) float64 {
	g := &m.Stator.Magnet
	switch {
	case m.Bench != nil:
		return math.NaN()
	case g.Limit != 0:
		return g.Limit
	}
	return motor.MagnetLimit(g.Remanence, g.Coercivity)
}

// brushLimit returns the highest temperature of the brushes [K]: their own, else
// what is assumed of any.
func brushLimit(m *motor.Motor) float64 {
	if limit := m.Stator.Brush.Limit; limit != 0 {
		return limit
	}
	s := motor.NewStator(motor.Magnet{}, 0)
	return s.Brush.Limit
}

// validate reports what heat needs of a build beside what a cycle does.
func validate(b *drivetrain.Build) error {
	var c quantity.Check
	need := func(field string, v float64, k quantity.Kind) {
		if !(v > 0) {
			c.Add(field, "%s; temperatures need more than nothing", k.Format(v))
		}
	}
	h := &b.Motor.Heat
	need("motor.heat.winding", h.Winding, quantity.HeatCapacity)
	need("motor.heat.can", h.Can, quantity.HeatCapacity)
	need("motor.heat.winding_to_can", h.WindingToCan, quantity.ThermalResistance)
	need("motor.heat.can_to_ambient", h.CanToAmbient, quantity.ThermalResistance)
	need("battery.heat.cell", b.Battery.Heat.Cell, quantity.HeatCapacity)
	need("battery.heat.to_ambient", b.Battery.Heat.ToAmbient, quantity.ThermalResistance)
	for i := range b.Harness.Connectors {
		k, at := &b.Harness.Connectors[i].Heat, fmt.Sprintf("harness.connectors.%d.heat.", i)
		need(at+"capacity", k.Capacity, quantity.HeatCapacity)
		need(at+"to_lead", k.ToLead, quantity.ThermalResistance)
		need(at+"to_ambient", k.ToAmbient, quantity.ThermalResistance)
	}
	if s := b.Harness.Switch.MOSFET; s != nil {
		need("harness.switch.mosfet.heat", s.Heat, quantity.HeatCapacity)
		need("harness.switch.mosfet.to_ambient", s.ToAmbient, quantity.ThermalResistance)
	}
	if s := b.Harness.Switch.Contacts; s != nil {
		need("harness.switch.contacts.heat", s.Heat, quantity.HeatCapacity)
		need("harness.switch.contacts.to_ambient", s.ToAmbient, quantity.ThermalResistance)
	}
	// The mode is ignored, so that no one else has looked at it in automatic.
	if lobe := b.Sector.LobeAngle(); b.Trigger.Cutoff > lobe+1e-9 {
		c.Add("trigger.cutoff", "%s is behind the end of the lobe at %s", quantity.Angle.Format(b.Trigger.Cutoff), quantity.Angle.Format(lobe))
	}
	return c.Err()
}

// conditions returns what a round finds.
func (m *model) conditions(rise []float64, v1, v2, spent float64) cycle.Conditions {
	at := func(node int) float64 {
		if node < 0 {
			return m.ambient
		}
		return m.ambient + rise[node]
	}
	return cycle.Conditions{
		Spent: spent, V1: v1, V2: v2,
		Winding: at(m.winding), Magnets: at(m.can), Lead: at(m.lead), Switch: at(m.sw), Pack: at(m.pack),
	}
}

// temperatures are those of the harness in a round's conditions.
func temperatures(k *cycle.Conditions) harness.Temperatures {
	return harness.Temperatures{Lead: k.Lead, Switch: k.Switch}
}

// power writes what the losses [J] of a round put into each node [W] (equations A12,
// B4, C2 to C5).
func (m *model) power(power []float64, l *cycle.Losses, duration float64) {
	clear(power)
	power[m.winding] = (l.Winding + l.Brush/2) / duration
	power[m.can] = (l.MotorDrag + l.Brush/2) / duration
	if m.lead >= 0 {
		power[m.lead] = l.Leads / duration
	}
	var sum float64
	for i := range m.build.Harness.Connectors {
		sum += m.build.Harness.Connectors[i].Resistance
	}
	for i, n := range m.connectors {
		if sum > 0 {
			power[n] = l.Connectors * m.build.Harness.Connectors[i].Resistance / sum / duration
		}
	}
	power[m.sw] = l.Switch / duration
	power[m.pack] = l.Pack / duration
}

// hold is what stands above a switch's node while a round runs, by its peak current.
type hold struct {
	junction float64 // of a MOSFET above its case [K]
	voltage  float64 // over a pair of contacts [V]
}

// hold returns that of a round with a peak current [A], the switch at a temperature
// [K] at its start (equations C4, C5).
func (m *model) hold(current, at float64) hold {
	r := m.build.Harness.Switch.Resistance(at)
	if s := m.build.Harness.Switch.MOSFET; s != nil {
		return hold{junction: s.JunctionToCase * r * current * current}
	}
	return hold{voltage: r * current}
}

// value returns the temperature [K] that a watch sees.
func (m *model) value(w *watch, rise []float64, h hold) float64 {
	t := m.ambient + rise[w.node]
	switch {
	case !w.spot:
		return t
	case h.voltage != 0:
		return harness.SpotTemperature(h.voltage, t)
	}
	return t + h.junction
}
