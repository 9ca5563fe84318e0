package battery_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
)

// measured is an invented table with pieces of unequal length, a flat one among them.
func measured() []battery.OCVPoint {
	return []battery.OCVPoint{{Charge: 0, Voltage: 3}, {Charge: 0.1, Voltage: 3.5}, {Charge: 0.5, Voltage: 3.7}, {Charge: 0.75, Voltage: 3.7}, {Charge: 1, Voltage: 4.2}}
}

func TestTableIsStraightBetweenPoints(t *testing.T) {
	points := measured()
	p := packOf(battery.Custom, 3600, 9e-3)
	c, err := p.Cell()
	require.NoError(t, err)
	const rounding = 2e-15 // of some 4 V, twice
	for _, point := range points {
		assert.InDelta(t, point.Voltage, p.OCV(c, point.Charge), rounding, "at the point %g", point.Charge)
	}
	for i, b := range points[1:] {
		a := points[i]
		slope := (b.Voltage - a.Voltage) / (b.Charge - a.Charge)
		for _, w := range []float64{1e-9, 0.25, 0.5, 0.9, 1 - 1e-9} {
			s := a.Charge + w*(b.Charge-a.Charge)
			assert.InDelta(t, a.Voltage+w*(b.Voltage-a.Voltage), p.OCV(c, s), rounding, "%g of the way from %g to %g", w, a.Charge, b.Charge)
			assert.InDelta(t, slope, p.Slope(c, s), 1e-12, "%g of the way from %g to %g", w, a.Charge, b.Charge)
		}
		assert.InDelta(t, slope, p.Slope(c, b.Charge), 1e-12, "at a point, that of the piece below: a pack discharges")
	}
	assert.InDelta(t, 5, p.Slope(c, 0), 1e-12, "at empty, that of the first piece: none is below")
}

// A straight line stays one however it is cut: the search finds the right piece
// in tables of every length.
func TestTableFindsThePiece(t *testing.T) {
	for n := 2; n <= 40; n++ {
		var points []battery.OCVPoint
		for i := range n {
			s := math.Pow(float64(i)/float64(n-1), 1.5)
			points = append(points, battery.OCVPoint{Charge: s, Voltage: 3 + s*s})
		}
		c := battery.Table{Points: points}
		require.NoError(t, c.Validate())
		for i, b := range points[1:] {
			a := points[i]
			s := (a.Charge + b.Charge) / 2
			require.InDelta(t, (a.Voltage+b.Voltage)/2, c.OCV(s), 1e-14, "piece %d of %d", i, n-1)
			require.InDelta(t, a.Charge+b.Charge, c.Slope(s), 1e-9, "the chord of a parabola; piece %d of %d", i, n-1)
		}
	}
}

// The steepest table that is let through still has a slope.
func TestSteepTable(t *testing.T) {
	c := battery.Table{Points: []battery.OCVPoint{{Charge: 0, Voltage: 0.01}, {Charge: 1e-6, Voltage: 10}, {Charge: 1, Voltage: 10}}}
	require.NoError(t, c.Validate())
	assert.InEpsilon(t, 9.99e6, c.Slope(0), 1e-9)
	assert.InDelta(t, 5.005, c.OCV(5e-7), 1e-9)
	assert.Equal(t, 10., c.OCV(0.5))
	assert.Zero(t, c.Slope(1))
}

// A table nobody checked must not bring a program down.
func TestUnusableTable(t *testing.T) {
	for _, c := range []battery.Table{{}, {Points: measured()[:1]}} {
		assert.True(t, math.IsNaN(c.OCV(0.5)))
		assert.True(t, math.IsNaN(c.Slope(0.5)))
		assert.Error(t, c.Validate())
	}
	back := measured()
	slices.Reverse(back)
	c := battery.Table{Points: back}
	assert.Error(t, c.Validate())
	for _, s := range []float64{-1, 0, 0.3, 1, 2, math.NaN(), math.Inf(1), math.Inf(-1)} {
		assert.NotPanics(t, func() { c.OCV(s); c.Slope(s) })
	}
}

func TestValidateTable(t *testing.T) {
	type points = []battery.OCVPoint
	for _, c := range []struct {
		name      string
		chemistry battery.Chemistry
		table     points
		want      string // the whole error; "" for none
	}{
		{"a good one", battery.Custom, measured(), ""},
		{"two points", battery.Custom, points{{0, 3}, {1, 4}}, ""},
		{"flat is fine", battery.Custom, points{{0, 3}, {0.5, 3}, {1, 3}}, ""},
		{"none", battery.Custom, nil, "ocv: missing; chemistry custom wants a list of [charge, voltage] of a cell, such as [[0 %, 3.0 V], [100 %, 4.2 V]]"},
		{"one point", battery.Custom, points{{0, 3}}, "ocv: one point is no table; wanted at least two, from 0 % to 100 %"},
		{"charge falls", battery.Custom, points{{0, 3}, {0.6, 3.6}, {0.5, 3.7}, {1, 4}}, "ocv.2.0: 50 % does not follow 60 %; wanted charge to rise from row to row, by 0.0001 % at least"},
		{"charge falls and so does voltage: one cause", battery.Custom, points{{0, 3}, {0.6, 3.6}, {0.5, 3.5}, {1, 4}}, "ocv.2.0: 50 % does not follow 60 %; wanted charge to rise from row to row, by 0.0001 % at least"},
		{"charge twice", battery.Custom, points{{0, 3}, {0.5, 3.6}, {0.5, 3.7}, {1, 4}}, "ocv.2.0: 50 % does not follow 50 %; wanted charge to rise from row to row, by 0.0001 % at least"},
		{"a step too small for a slope", battery.Custom, points{{0, 3}, {5e-324, 3.6}, {1, 4}}, "ocv.1.0: 4.94066e-322 % does not follow 0 %; wanted charge to rise from row to row, by 0.0001 % at least"},
		{"voltage falls", battery.Custom, points{{0, 3}, {0.5, 3.7}, {0.9, 3.6}, {1, 4}}, "ocv.2.1: 3.6 V is less than the 3.7 V of the row before; wanted voltage not to fall as charge rises"},
		{"starts late", battery.Custom, points{{0.1, 3}, {1, 4}}, "ocv: runs from 10 % to 100 %; wanted 0 % to 100 %"},
		{"ends early", battery.Custom, points{{0, 3}, {0.9, 4}}, "ocv: runs from 0 % to 90 %; wanted 0 % to 100 %"},
		{"charge beyond full", battery.Custom, points{{0, 3}, {1, 4}, {1.5, 4.1}}, "ocv.2.0: 150 % is out of range; wanted 0 % to 100 %\nocv: runs from 0 % to 150 %; wanted 0 % to 100 %"},
		{"no number", battery.Custom, points{{0, math.NaN()}, {1, 4}}, "ocv.0.1: NaN V is out of range; wanted 0.01 V to 10 V"},
		{"too much voltage", battery.Custom, points{{0, 3}, {1, 12}}, "ocv.1.1: 12 V is out of range; wanted 0.01 V to 10 V"},
		{"beside lithium polymer", battery.LithiumPolymer, measured(), "ocv: given beside chemistry lithium-polymer, which has a voltage of its own; set chemistry custom, or leave the table out"},
		{"beside nickel-metal hydride", battery.NickelMetalHydride, measured(), "ocv: given beside chemistry nickel-metal-hydride, which has a voltage of its own; set chemistry custom, or leave the table out"},
		{"a bad one beside iron phosphate: both", battery.LithiumIronPhosphate, measured()[:1], "ocv: one point is no table; wanted at least two, from 0 % to 100 %\nocv: given beside chemistry lithium-iron-phosphate, which has a voltage of its own; set chemistry custom, or leave the table out"},
		{"beside a name that isn't known: the name is what's wrong", "costum", measured(), `chemistry: "costum" is not known; wanted one of [lithium-polymer lithium-iron-phosphate nickel-metal-hydride custom]`},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := battery.New(c.chemistry, 2, 1, 1.3*3600, 9e-3)
			p.OCVTable = c.table
			err := p.Validate()
			if c.want == "" {
				assert.NoError(t, err)
				return
			}
			assert.EqualError(t, err, c.want)
		})
	}
}

// A cell measured at rest: three points, the pack of two of them.
func ExampleTable() {
	p := battery.New(battery.Custom, 2, 1, 1.3*3600, 9e-3)
	p.OCVTable = []battery.OCVPoint{{Charge: 0, Voltage: 3.0}, {Charge: 0.2, Voltage: 3.6}, {Charge: 1, Voltage: 4.2}}
	cell, err := p.Cell()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, charge := range []float64{1, 0.6, 0.1} {
		fmt.Printf("%3.0f %%: %.2f V\n", 100*charge, p.OCV(cell, charge))
	}
	// Output:
	// 100 %: 8.40 V
	//  60 %: 7.80 V
	//  10 %: 6.60 V
}
