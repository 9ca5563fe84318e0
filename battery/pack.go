package battery

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Heat is what the pack's temperature follows from (equation B4). A pack whose
// temperature isn't asked for needs none of it.
type Heat struct {
	// Cell is the heat capacity of one cell [J/K].
	Cell float64
	// ToAmbient is the thermal resistance from pack to surroundings [K/W].
	ToAmbient float64
	// Limit is the highest temperature of the pack [K].
	Limit float64
}

// Pack is a battery of equal cells.
type Pack struct {
	Chemistry Chemistry
	// Model is a cell of one's own, measured or reckoned, in the place of the chemistry's,
	// which may be left empty then; nil: by Chemistry. No build file has it.
	Model Cell
	// OCVTable is the cell's open-circuit voltage by rising charge, with chemistry custom.
	OCVTable []OCVPoint
	// Series is the number of cells in series, Parallel that of such strings.
	Series, Parallel int
	// Capacity is the charge of the full pack, as its label says [C].
	Capacity float64
	// Resistance is one cell's R0 at 25 °C, fully charged [ohm].
	Resistance float64
	// DischargeRating is the continuous current as a multiple of the capacity per
	// hour; 0: not known [1].
	DischargeRating float64
	// StateOfCharge is where the simulation starts [1].
	StateOfCharge float64
	// ActivationEnergy sets how resistance rises in the cold; 0: it doesn't [J/mol].
	ActivationEnergy float64
	// Reserve is the share of the charge that is left in the pack [1].
	Reserve float64
	// Cutoff is the least voltage of a cell under load; 0: not known [V].
	Cutoff float64
	Heat   Heat
}

// New returns a pack of cells in series and parallel with the capacity [C] of
// the whole pack and the resistance [ohm] of one cell, and what is commonly
// assumed for the rest: full, 20 kJ/mol (a closure of this project), a reserve
// of 20 % and the chemistry's cut-off (common practice, no source).
func New(c Chemistry, series, parallel int, capacity, resistance float64) Pack {
	p := Pack{
		Chemistry: c, Series: series, Parallel: parallel, Capacity: capacity, Resistance: resistance,
		StateOfCharge: 1, ActivationEnergy: 20e3, Reserve: 0.20, Cutoff: c.Cutoff(),
	}
	p.Heat = DefaultHeat(series, parallel, capacity)
	return p
}

// DefaultHeat returns what is assumed of a pack's heat (closures of this
// project): 25 J/K per Ah of a cell, 15 K/W·(2.6 Ah/all cells' Ah)^(2/3) to the
// surroundings, and a limit of 60 °C (from memory). Capacity [C] is the pack's.
func DefaultHeat(series, parallel int, capacity float64) Heat {
	ah := capacity / 3600
	return Heat{
		Cell:      25 * ah / float64(parallel),
		ToAmbient: 15 * math.Pow(2.6/(ah*float64(series)), 2./3),
		Limit:     quantity.Celsius + 60,
	}
}

// Cell returns the model of the pack's cells: its own, or that of its chemistry; an error for a chemistry that
// isn't known and for a custom one whose table can't be used.
func (p *Pack) Cell() (Cell, error) {
	if p.Model != nil {
		return p.Model, nil
	}
	var c quantity.Check
	switch r := p.Chemistry.row(); {
	case r.cell != nil:
		return r.cell, nil
	case r.name == Custom:
		t := Table{Points: p.OCVTable}
		c.Part("battery.ocv", t.Validate())
		if err := c.Err(); err != nil {
			return nil, err
		}
		return t, nil
	}
	c.Part("battery.chemistry", p.Chemistry.validate())
	return nil, c.Err()
}

// Remark returns what is to be known of the figures that the cells' curve gives, or "".
func (p *Pack) Remark() string {
	if p.Model != nil {
		return ""
	}
	return p.Chemistry.Remark()
}

// OCV returns the open-circuit voltage [V] of the pack of cells c at a state of
// charge, which is held within 0 and 1.
func (p *Pack) OCV(c Cell, charge float64) float64 {
	return float64(p.Series) * c.OCV(clamp(charge))
}

// Slope returns the derivative of OCV by the charge [V], 0 outside of 0 to 1.
func (p *Pack) Slope(c Cell, charge float64) float64 {
	if charge < 0 || charge > 1 {
		return 0
	}
	return float64(p.Series) * c.Slope(charge)
}

// Circuit returns the equivalent circuit of the pack of cells c at a state of
// charge, held within 0 and 1, and a temperature [K]: equations B1 to B3. Capacitances
// are held at their values of 2 % charge below that, where the published fit falls to
// zero; resistances, which go on rising there, are not. R0, R1
// and R2 of the published cell are scaled by the ratio of the cell's resistance
// to that circuit's R0 at full charge, C1 and C2 by its inverse, so that the
// published time constants stay.
func (p *Pack) Circuit(c Cell, charge, temperature float64) Circuit {
	cell := c.Circuit(clamp(charge))
	if charge < leastCharge {
		held := c.Circuit(leastCharge)
		cell.C1, cell.C2 = held.C1, held.C2
	}
	own := p.Resistance / c.Circuit(1).R0
	layout := float64(p.Series) / float64(p.Parallel)
	cold := Arrhenius(p.ActivationEnergy, temperature)
	r, k := own*cold*layout, 1/(own*layout)
	return Circuit{R0: cell.R0 * r, R1: cell.R1 * r, C1: cell.C1 * k, R2: cell.R2 * r, C2: cell.C2 * k}
}

// Arrhenius returns the factor by which a resistance with an activation energy
// [J/mol] grows from 25 °C to a temperature [K] (equation B3).
func Arrhenius(energy, temperature float64) float64 {
	return math.Exp(energy / gasConstant * (1/temperature - 1/room))
}

const (
	gasConstant = 8.314462618           // [J/(mol K)]
	room        = quantity.Celsius + 25 // [K]
)

// Terminal returns the voltage of the terminals [V] (equation B1): open-circuit
// voltage [V] and circuit of the pack, voltages over its RC pairs [V], current [A].
func (c *Circuit) Terminal(ocv, v1, v2, current float64) float64 {
	return ocv - v1 - v2 - c.R0*current
}

// ContinuousCurrent returns what the pack's rating allows [A], NaN where there
// is no rating.
func (p *Pack) ContinuousCurrent() float64 {
	if p.DischargeRating == 0 {
		return math.NaN()
	}
	return p.DischargeRating * p.Capacity / 3600
}

// Shots returns how many shots of a charge [C] each a full pack gives before
// its reserve is touched.
func (p *Pack) Shots(charge float64) float64 { return (1 - p.Reserve) * p.Capacity / charge }

// CutoffVoltage returns the pack's least voltage under load [V], 0 where none is known.
func (p *Pack) CutoffVoltage() float64 { return float64(p.Series) * p.Cutoff }

func clamp(charge float64) float64 { return min(max(charge, 0), 1) }

// leastCapacity bounds a pack, 20 mAh: the smallest cells of the trade have some 20,
// it would need 1000C for the 20 A of a shot, and 1.200 mAh that mean 1200 fall
// below [C].
const leastCapacity = 72

// Validate reports every field that can't be used.
func (p *Pack) Validate() error {
	var c quantity.Check
	if p.Model == nil || p.Chemistry != "" {
		c.Part("chemistry", p.Chemistry.validate())
	}
	switch {
	case p.Model != nil:
		if len(p.OCVTable) > 0 {
			c.Add("ocv", "given beside a cell of one's own, which has a voltage of its own; leave one of the two out")
		}
		c.Part("model", validateCell(p.Model))
	case p.Chemistry == Custom:
		c.Part("ocv", Table{Points: p.OCVTable}.Validate())
	case len(p.OCVTable) > 0:
		c.Part("ocv", Table{Points: p.OCVTable}.Validate())
		if p.Chemistry.Valid() {
			c.Add("ocv", "given beside chemistry %s, which has a voltage of its own; set chemistry custom, or leave the table out", p.Chemistry)
		}
	}
	c.Whole("series", p.Series, 1, 100)
	c.Whole("parallel", p.Parallel, 1, 100)
	c.Range("capacity", p.Capacity, quantity.Charge, leastCapacity, 3.6e6)
	c.Range("resistance", p.Resistance, quantity.Resistance, 1e-6, 10)
	c.Range("discharge_rating", p.DischargeRating, quantity.Rating, 0, 1000)
	c.Range("state_of_charge", p.StateOfCharge, quantity.Share, 0, 1)
	c.Range("activation_energy", p.ActivationEnergy, quantity.MolarEnergy, 0, 200e3)
	c.Range("reserve", p.Reserve, quantity.Share, 0, 0.99)
	c.Range("cutoff", p.Cutoff, quantity.Voltage, 0, 10)
	h := &p.Heat
	if h.Cell != 0 {
		c.Range("heat.cell", h.Cell, quantity.HeatCapacity, 1e-3, 1e6)
	}
	if h.ToAmbient != 0 {
		c.Range("heat.to_ambient", h.ToAmbient, quantity.ThermalResistance, 1e-3, 1e6)
	}
	if h.Limit != 0 {
		c.Range("heat.limit", h.Limit, quantity.Temperature, quantity.Celsius, quantity.Celsius+200)
	}
	return c.Err()
}
