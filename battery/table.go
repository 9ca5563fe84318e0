package battery

import (
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// OCVPoint is one row of an open-circuit voltage table of a cell.
type OCVPoint struct {
	// Charge is the state of charge [1].
	Charge float64
	// Voltage is the open-circuit voltage of a cell there [V].
	Voltage float64
}

// Table is a cell by measured points of its open-circuit voltage, straight
// between them. Its circuit is borrowed from the lithium-polymer cell (a
// closure).
type Table struct {
	borrowedCircuit
	// Points run from charge 0 to 1, two at least; see Validate.
	Points []OCVPoint
}

// OCV implements [Cell]; NaN of a table without two points.
func (t Table) OCV(s float64) float64 {
	if len(t.Points) < 2 {
		return math.NaN()
	}
	below, above := t.piece(s)
	left := (above.Charge - s) / (above.Charge - below.Charge)
	return above.Voltage - left*(above.Voltage-below.Voltage)
}

// Slope implements [Cell]. At a point it is that of the piece below, which is
// where a pack that discharges goes.
func (t Table) Slope(s float64) float64 {
	if len(t.Points) < 2 {
		return math.NaN()
	}
	below, above := t.piece(s)
	return (above.Voltage - below.Voltage) / (above.Charge - below.Charge)
}

// piece returns the points around a state of charge: above is the first one not
// below it.
func (t Table) piece(s float64) (below, above OCVPoint) {
	i, j := 1, len(t.Points)-1
	for i < j {
		if middle := (i + j) / 2; t.Points[middle].Charge < s {
			i = middle + 1
		} else {
			j = middle
		}
	}
	return t.Points[i-1], t.Points[i]
}

// leastStep is the least charge between two points, below which the slope of a
// table could leave the range of numbers.
const leastStep = 1e-6

// Validate reports every point that can't be used.
func (t Table) Validate() error {
	var c quantity.Check
	n := len(t.Points)
	switch n {
	case 0:
		c.Add("", "missing; chemistry custom wants a list of [charge, voltage] of a cell, such as [[0 %%, 3.0 V], [100 %%, 4.2 V]]")
		return c.Err()
	case 1:
		c.Add("", "one point is no table; wanted at least two, from 0 %% to 100 %%")
		return c.Err()
	}
	for i, point := range t.Points {
		c.RangeOf("", i, ".0", point.Charge, quantity.Share, 0, 1)
		c.RangeOf("", i, ".1", point.Voltage, quantity.Voltage, 0.01, 10)
		if i == 0 {
			continue
		}
		last := t.Points[i-1]
		if !(point.Charge-last.Charge >= leastStep) {
			c.Add(fmt.Sprintf("%d.0", i), "%s does not follow %s; wanted charge to rise from row to row, by %s at least",
				quantity.Share.Format(point.Charge), quantity.Share.Format(last.Charge), quantity.Share.Format(leastStep))
		} else if point.Voltage < last.Voltage {
			c.Add(fmt.Sprintf("%d.1", i), "%s is less than the %s of the row before; wanted voltage not to fall as charge rises",
				quantity.Voltage.Format(point.Voltage), quantity.Voltage.Format(last.Voltage))
		}
	}
	if first, last := t.Points[0].Charge, t.Points[n-1].Charge; first != 0 || last != 1 {
		c.Add("", "runs from %s to %s; wanted 0 %% to 100 %%", quantity.Share.Format(first), quantity.Share.Format(last))
	}
	return c.Err()
}
