package battery

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Circuit is the equivalent circuit of a cell or a pack: a resistance in series
// with two RC pairs.
type Circuit struct {
	// R0 is the resistance that answers at once [ohm].
	R0 float64
	// R1 is the resistance of the fast RC pair [ohm].
	R1 float64
	// C1 is the capacitance of the fast RC pair [F].
	C1 float64
	// R2 is the resistance of the slow RC pair [ohm].
	R2 float64
	// C2 is the capacitance of the slow RC pair [F].
	C2 float64
}

// Cell is what a chemistry knows of one cell at 25 °C. Its functions take a
// state of charge from 0 to 1 and are finite there; many goroutines may call them at once.
// The voltage is between 10 mV and 10 V and doesn't fall as charge rises; of the circuit,
// resistances and capacitances are positive, those of the RC pairs at 2 % charge and above.
//
// Whoever has a cell of their own gives it to [Pack.Model]. One with a voltage alone
// embeds [ChenRinconMora] for the circuit, as the cells of this package do whose voltage
// alone is published.
type Cell interface {
	// OCV is the open-circuit voltage [V].
	OCV(charge float64) float64
	// Slope is the derivative of OCV by the charge [V]; at a kink, that of the
	// side of less charge.
	Slope(charge float64) float64
	// Circuit is the equivalent circuit of a published cell, before it is scaled
	// to the resistance of the cell in hand.
	Circuit(charge float64) Circuit
}

// lookedAt is into how many steps of the charge validateCell looks.
const lookedAt = 50

// validateCell reports what of a cell of one's own can't be used, by a look at it from
// empty to full.
func validateCell(cell Cell) error {
	var c quantity.Check
	last := math.Inf(-1)
	for i := range lookedAt + 1 {
		s := float64(i) / lookedAt
		at := quantity.Share.Format(s)
		v, slope := cell.OCV(s), cell.Slope(s)
		switch {
		case !(v >= 0.01 && v <= 10):
			c.Add("", "the open-circuit voltage is %s at %s charge; wanted 10 mV to 10 V", quantity.Voltage.Format(v), at)
		case v < last:
			c.Add("", "the open-circuit voltage falls to %s at %s charge; wanted it not to fall as charge rises", quantity.Voltage.Format(v), at)
		case !(slope >= 0) || math.IsInf(slope, 0):
			c.Add("", "the slope of the open-circuit voltage is %g V at %s charge; wanted 0 or more", slope, at)
		default:
			last = v
			if r := cell.Circuit(max(s, leastCharge)); !r.sound() {
				c.Add("", "the circuit at %s charge is %+v; wanted resistances and capacitances above 0", at, r)
				return c.Err()
			}
			continue
		}
		return c.Err() // one place says enough of a curve
	}
	return nil
}

// sound tells whether all parts of a circuit are positive and finite.
func (c *Circuit) sound() bool {
	for _, v := range [...]float64{c.R0, c.R1, c.C1, c.R2, c.C2} {
		if !(v > 0) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}
