package battery_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
)

// packOf returns a pack of one cell; a custom one has the table measured.
func packOf(c battery.Chemistry, capacity, resistance float64) battery.Pack {
	p := battery.New(c, 1, 1, capacity, resistance)
	if c == battery.Custom {
		p.OCVTable = measured()
	}
	return p
}

// each runs f over a pack of one cell of each chemistry.
func each(t *testing.T, f func(t *testing.T, p *battery.Pack, c battery.Cell)) {
	for _, name := range battery.Chemistries() {
		t.Run(string(name), func(t *testing.T) {
			p := packOf(name, 3600, 9e-3)
			require.NoError(t, p.Validate())
			c, err := p.Cell()
			require.NoError(t, err)
			f(t, &p, c)
		})
	}
}

func TestEachChemistryHasItsCell(t *testing.T) {
	want := map[battery.Chemistry]battery.Cell{
		battery.LithiumPolymer:       battery.ChenRinconMora{},
		battery.LithiumIronPhosphate: battery.IronPhosphate{},
		battery.NickelMetalHydride:   battery.MetalHydride{},
		battery.Custom:               battery.Table{Points: measured()},
	}
	require.Len(t, want, len(battery.Chemistries()))
	each(t, func(t *testing.T, p *battery.Pack, c battery.Cell) { assert.Equal(t, want[p.Chemistry], c) })
}

func TestFindChemistry(t *testing.T) {
	for name, want := range map[string]battery.Chemistry{
		"lithium-polymer": battery.LithiumPolymer, "Lithium-Polymer": battery.LithiumPolymer, "LiPo": battery.LithiumPolymer, "LIPO": battery.LithiumPolymer, "lipo": battery.LithiumPolymer, "Li-Po": battery.LithiumPolymer,
		"lithium-iron-phosphate": battery.LithiumIronPhosphate, "LiFePO4": battery.LithiumIronPhosphate, "lifepo4": battery.LithiumIronPhosphate, "LFP": battery.LithiumIronPhosphate, "LiFe": battery.LithiumIronPhosphate,
		"nickel-metal-hydride": battery.NickelMetalHydride, "NiMH": battery.NickelMetalHydride, "NIMH": battery.NickelMetalHydride, "Ni-MH": battery.NickelMetalHydride,
		"Custom": battery.Custom,
	} {
		c, ok := battery.FindChemistry(name)
		assert.True(t, ok, name)
		assert.Equal(t, want, c, name)
	}
	for _, name := range []string{"", "-", "lead", "NiCd", "LiIon", "LiP", "lithiumpolymer "} {
		_, ok := battery.FindChemistry(name)
		assert.False(t, ok, name)
	}
}

func TestCellRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		pack   battery.Pack
		wanted string
	}{
		{"a name that isn't known", packOf("lead", 3600, 9e-3), `battery.chemistry: "lead" is not known; wanted one of [lithium-polymer`},
		{"the zero pack", battery.Pack{}, `battery.chemistry: "" is not known`},
		{"custom without a table", battery.New(battery.Custom, 1, 1, 3600, 9e-3), "battery.ocv: missing; chemistry custom wants a list"},
		{"custom with a table of one point", battery.Pack{Chemistry: battery.Custom, OCVTable: measured()[:1]}, "battery.ocv: one point is no table"},
		{"custom with a table that ends early", battery.Pack{Chemistry: battery.Custom, OCVTable: measured()[:3]}, "battery.ocv: runs from 0 % to 50 %"},
	} {
		t.Run(c.name, func(t *testing.T) {
			cell, err := c.pack.Cell()
			assert.ErrorContains(t, err, c.wanted)
			assert.Nil(t, cell)
		})
	}
}

// Down to empty and up to full: finite, positive, and never falling with the charge.
func TestCellsAreSoundOverAllCharges(t *testing.T) {
	each(t, func(t *testing.T, p *battery.Pack, c battery.Cell) {
		last := 0.
		for n := range 10001 {
			s := float64(n) / 10000
			k := c.Circuit(s)
			for _, v := range []float64{c.OCV(s), k.R0, k.R1, k.R2, k.C1, k.C2} {
				require.Greater(t, v, 0., "at %g", s)
				require.False(t, math.IsInf(v, 0), "at %g", s)
			}
			require.GreaterOrEqual(t, c.Slope(s), 0., "at %g", s)
			require.False(t, math.IsInf(c.Slope(s), 0), "at %g", s)
			require.GreaterOrEqual(t, c.OCV(s), last, "at %g", s)
			last = c.OCV(s)
		}
		assert.Equal(t, p.OCV(c, 0), p.OCV(c, -0.1), "the pack holds the charge at empty")
		assert.Equal(t, p.OCV(c, 1), p.OCV(c, 1.1), "and at full")
		assert.Zero(t, p.Slope(c, -0.1), "where nothing changes any more")
		assert.Zero(t, p.Slope(c, 1.1))
		assert.True(t, math.IsNaN(p.OCV(c, math.NaN())), "what is not a number must be seen")
	})
}

// The integral of the slope is the voltage gained: Simpson's rule over pieces of
// 1/10000, whose ends are the points of the tables; their slopes jump there, so
// that each piece is taken from just inside.
func TestSlopeAddsUpToTheVoltage(t *testing.T) {
	each(t, func(t *testing.T, _ *battery.Pack, c battery.Cell) {
		const pieces, inside = 10000, 1e-12
		gain := 0.
		for n := range pieces {
			a, b := float64(n)/pieces, float64(n+1)/pieces
			gain += (b - a) / 6 * (c.Slope(a+inside) + 4*c.Slope((a+b)/2) + c.Slope(b-inside))
		}
		assert.InDelta(t, c.OCV(1)-c.OCV(0), gain, 1e-9, "the steepest term, exp(150 s), leaves h⁴·150⁴·0.5/2880 = 1e-11 and the step aside 150·75·1e-12")
	})
}

// What charge and temperature do: equation B3 is of the resistances alone.
func TestChargeAndTemperature(t *testing.T) {
	const room, cold = 298.15, 273.15 // [K]
	factor := math.Exp(20e3 / 8.314462618 * (1/cold - 1/room))
	each(t, func(t *testing.T, p *battery.Pack, c battery.Cell) {
		full, half, empty := p.Circuit(c, 1, room), p.Circuit(c, 0.5, room), p.Circuit(c, 0.05, room)
		assert.InEpsilon(t, 9e-3, full.R0, 1e-12, "B2: the resistance given is that of a full cell at 25 °C")
		assert.Greater(t, empty.R0, half.R0, "an emptier cell resists more")
		assert.Greater(t, half.R0, full.R0)
		assert.Greater(t, empty.R1, half.R1)
		assert.Greater(t, p.OCV(c, 0.9), p.OCV(c, 0.2), "and has less voltage")

		frozen := p.Circuit(c, 0.5, cold)
		for _, r := range [][2]float64{{half.R0, frozen.R0}, {half.R1, frozen.R1}, {half.R2, frozen.R2}} {
			assert.InEpsilon(t, factor, r[1]/r[0], 1e-12, "B3")
		}
		assert.Equal(t, [2]float64{half.C1, half.C2}, [2]float64{frozen.C1, frozen.C2}, "B3: not the capacitances")
	})
}

// A closure of this project: the shape of the lithium-polymer cell serves them all.
func TestCircuitIsThatOfLithiumPolymer(t *testing.T) {
	lipo := battery.ChenRinconMora{}
	each(t, func(t *testing.T, p *battery.Pack, c battery.Cell) {
		for _, s := range []float64{0, 0.01, 0.02, 0.5, 1} {
			own, shape := p.Circuit(c, s, 298.15), lipo.Circuit(s)
			scale := 9e-3 / lipo.Circuit(1).R0
			for _, r := range [][2]float64{{shape.R0, own.R0}, {shape.R1, own.R1}, {shape.R2, own.R2}} {
				assert.InEpsilon(t, scale, r[1]/r[0], 1e-12, "at %g", s)
			}
			assert.InEpsilon(t, shape.R1*shape.C1, own.R1*own.C1, 1e-12, "time constants stay, at %g", s)
			assert.InEpsilon(t, shape.R2*shape.C2, own.R2*own.C2, 1e-12, "at %g", s)
		}
	})
}

func TestNoAllocation(t *testing.T) {
	each(t, func(t *testing.T, p *battery.Pack, c battery.Cell) {
		sum := 0.
		assert.Zero(t, testing.AllocsPerRun(100, func() {
			for s := 0.; s < 1; s += 0.01 {
				k := p.Circuit(c, s, 290)
				sum += p.OCV(c, s) + p.Slope(c, s) + k.R0
			}
		}))
		assert.Greater(t, sum, 0.)
	})
}

func TestRemark(t *testing.T) {
	for _, c := range battery.Chemistries() {
		if c == battery.LithiumIronPhosphate {
			assert.Contains(t, c.Remark(), "against lithium", "the cause")
			assert.Contains(t, c.Remark(), "chemistry custom", "the cure")
			var cell battery.IronPhosphate
			assert.InDelta(t, 0.03, 0.1/cell.OCV(0.5), 0.005, "some 3 %: the 0.1 V of graphite (from memory) beside the middle of the curve, to a digit")
		} else {
			assert.Empty(t, c.Remark(), c)
		}
	}
}

func BenchmarkOCV(b *testing.B) {
	for _, name := range battery.Chemistries() {
		b.Run(string(name), func(b *testing.B) {
			p := packOf(name, 3600, 9e-3)
			c, err := p.Cell()
			require.NoError(b, err)
			b.ReportAllocs()
			s := 0.
			for b.Loop() {
				if s += 0.013; s > 1 {
					s--
				}
				_ = p.OCV(c, s)
			}
		})
	}
}

// What the same load leaves of packs of about equal voltage.
func ExampleChemistry() {
	const load, charge, warm = 15., 0.8, 298.15 // [A], [1], [K]
	for _, b := range []struct {
		chemistry battery.Chemistry
		cells     int
	}{{battery.LithiumPolymer, 2}, {battery.LithiumIronPhosphate, 2}, {battery.NickelMetalHydride, 6}} {
		p := battery.New(b.chemistry, b.cells, 1, 1.3*3600, 9e-3)
		cell, err := p.Cell()
		if err != nil {
			fmt.Println(err)
			return
		}
		k, ocv := p.Circuit(cell, charge, warm), p.OCV(cell, charge)
		fmt.Printf("%d × %s: %.2f V, %.2f V at 15 A\n", b.cells, b.chemistry, ocv, k.Terminal(ocv, 0, 0, load))
	}
	// Output:
	// 2 × lithium-polymer: 7.89 V, 7.62 V at 15 A
	// 2 × lithium-iron-phosphate: 6.81 V, 6.54 V at 15 A
	// 6 × nickel-metal-hydride: 7.81 V, 7.00 V at 15 A
}
