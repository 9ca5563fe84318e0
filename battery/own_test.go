package battery_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
)

// sodium is a cell whose voltage was measured at rest: 2.2 V empty, 3.4 V full, and
// straight between. Its circuit is borrowed from the lithium-polymer cell.
type sodium struct{ battery.ChenRinconMora }

func (sodium) OCV(s float64) float64   { return 2.2 + 1.2*s }
func (sodium) Slope(s float64) float64 { return 1.2 }

// A cell of one's own goes into the pack, and everything further up takes it.
func ExampleCell() {
	p := battery.New(battery.Custom, 3, 1, 1.2*3600, 14e-3)
	p.Model, p.Cutoff = sodium{}, 2.0
	if err := p.Validate(); err != nil {
		fmt.Println(err)
		return
	}
	cell, err := p.Cell()
	if err != nil {
		fmt.Println(err)
		return
	}
	c := p.Circuit(cell, 0.5, 298.15)
	fmt.Printf("half full, at rest: %.2f V\n", p.OCV(cell, 0.5))
	fmt.Printf("under 15 A, at first: %.2f V\n", c.Terminal(p.OCV(cell, 0.5), 0, 0, 15))
	// Output:
	// half full, at rest: 8.40 V
	// under 15 A, at first: 7.77 V
}

// wrong is a sound cell but for what one function spoils.
type wrong struct {
	sodium
	ocv, slope func(float64) float64
	circuit    func(battery.Circuit) battery.Circuit
}

func (w wrong) OCV(s float64) float64 {
	if w.ocv != nil {
		return w.ocv(s)
	}
	return w.sodium.OCV(s)
}

func (w wrong) Slope(s float64) float64 {
	if w.slope != nil {
		return w.slope(s)
	}
	return w.sodium.Slope(s)
}

func (w wrong) Circuit(s float64) battery.Circuit {
	c := w.sodium.Circuit(s)
	if w.circuit != nil && s > 0.5 {
		return w.circuit(c)
	}
	return c
}

func TestOwnCell(t *testing.T) {
	p := battery.New("", 3, 1, 1.2*3600, 14e-3)
	assert.ErrorContains(t, p.Validate(), "chemistry: ", "neither a chemistry nor a cell")
	p.Model = sodium{}
	require.NoError(t, p.Validate(), "a chemistry may be left out")
	cell, err := p.Cell()
	require.NoError(t, err)
	assert.Equal(t, sodium{}, cell)
	p.Chemistry = battery.LithiumIronPhosphate
	cell, err = p.Cell()
	require.NoError(t, err)
	assert.Equal(t, sodium{}, cell, "the cell stands in place of the chemistry's")
	assert.NotEmpty(t, p.Chemistry.Remark())
	assert.Empty(t, p.Remark(), "what is said of the chemistry's curve is not said of this one")
	p.Model = nil
	assert.Equal(t, p.Chemistry.Remark(), p.Remark())
	p.Chemistry, p.Model, p.OCVTable = battery.Custom, sodium{}, measured()
	assert.ErrorContains(t, p.Validate(), "ocv: given beside a cell of one's own")
	p.Chemistry, p.OCVTable = "lead", nil
	assert.ErrorContains(t, p.Validate(), `chemistry: "lead" is not known`)
}

func TestOwnCellIsLookedAt(t *testing.T) {
	for _, c := range []struct {
		name string
		cell wrong
		want string
	}{
		{"no number", wrong{ocv: func(float64) float64 { return math.NaN() }}, "model: the open-circuit voltage is NaN V at 0 % charge; wanted 10 mV to 10 V"},
		{"a pack for a cell", wrong{ocv: func(s float64) float64 { return 10.9 + s }}, "model: the open-circuit voltage is 10.9 V at 0 % charge"},
		{"falls", wrong{ocv: func(s float64) float64 { return 3 - s/4 + s*s }}, "model: the open-circuit voltage falls to 2.9954 V at 2 % charge"},
		{"slope of another sign", wrong{slope: func(float64) float64 { return -1.2 }}, "model: the slope of the open-circuit voltage is -1.2 V at 0 % charge"},
		{"slope without end", wrong{slope: func(float64) float64 { return math.Inf(1) }}, "model: the slope of the open-circuit voltage is +Inf V"},
		{"no fast pair", wrong{circuit: func(c battery.Circuit) battery.Circuit { c.C1 = 0; return c }}, "model: the circuit at 52 % charge is"},
		{"no resistance", wrong{circuit: func(c battery.Circuit) battery.Circuit { c.R0 = math.NaN(); return c }}, "model: the circuit at 52 % charge is"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := battery.New("", 3, 1, 1.2*3600, 14e-3)
			p.Model = c.cell
			assert.ErrorContains(t, p.Validate(), c.want)
		})
	}
	p := battery.New("", 3, 1, 1.2*3600, 14e-3)
	p.Model = wrong{}
	assert.NoError(t, p.Validate(), "nothing spoilt")
	for _, cell := range []battery.Cell{battery.ChenRinconMora{}, battery.IronPhosphate{}, battery.MetalHydride{}, battery.Table{Points: measured()}} {
		p.Model = cell
		assert.NoError(t, p.Validate(), "%T is sound", cell)
	}
}
