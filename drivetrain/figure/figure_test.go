package figure_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
)

// bottle is a result to have figures of.
type bottle struct{ volume, height float64 }

func bottles() figure.List[*bottle] {
	return figure.List[*bottle]{
		{Info: figure.Info{Name: "volume", Label: "volume", Group: "what it holds", Kind: quantity.Volume, Unit: "cm3", Digits: 3, Better: figure.Higher}, Value: func(b *bottle) float64 { return b.volume }},
		{Info: figure.Info{Name: "height", Label: "height", Meaning: "without its cork", Group: "size", Kind: quantity.Length, Unit: "mm", Digits: 4}, Value: func(b *bottle) float64 { return b.height }},
	}
}

func find(name string) (figure.Info, bool) {
	f, ok := bottles().Find(name)
	return f.Info, ok
}

// A list says all that a table needs, and what is wanted of it.
func Example() {
	b := &bottle{volume: 0.75e-3, height: 0.31}
	for _, f := range bottles() {
		fmt.Println(f.Label, f.Text(f.Value(b)), f.Key())
	}
	target := figure.Target{{Figure: "volume", Min: figure.At(1e-3)}}
	for _, v := range target.Judge(func(name string) float64 { f, _ := bottles().Find(name); return f.Value(b) }) {
		fmt.Println(v.Figure, v.Fate == figure.Met, v.Shortfall())
	}
	// Output:
	// volume 750 cm3 volume_m3
	// height 310.0 mm height_m
	// volume false 0.00025
}

func TestTarget(t *testing.T) {
	target := figure.Target{{Figure: "volume", Min: figure.At(20)}, {Figure: "height", Max: figure.At(120)}}
	require.NoError(t, target.Validate(find))
	judge := func(volume, height float64) []figure.Verdict {
		b := &bottle{volume, height}
		return target.Judge(func(name string) float64 { f, _ := bottles().Find(name); return f.Value(b) })
	}
	v := judge(19, math.NaN())
	assert.Equal(t, figure.Missed, v[0].Fate)
	assert.Equal(t, 1., v[0].Shortfall())
	assert.Equal(t, figure.NoFigure, v[1].Fate)
	assert.Zero(t, v[1].Shortfall())
	v = judge(20, 120)
	assert.Equal(t, figure.Met, v[0].Fate, "the bound itself is good")
	assert.Equal(t, figure.Met, v[1].Fate)
	assert.Equal(t, 3., (&figure.Want{Max: figure.At(2)}).Shortfall(5))
	for _, bad := range []figure.Target{
		{{Figure: "colour", Min: figure.At(1)}}, {{Figure: "volume"}}, {{Figure: "volume", Min: figure.At(2), Max: figure.At(1)}},
		{{Figure: "volume", Min: figure.At(math.Inf(-1)), Max: figure.At(1)}}, {{Figure: "volume", Max: figure.At(math.NaN())}},
	} {
		assert.Error(t, bad.Validate(find))
	}
	assert.False(t, new(figure.Want).Asks(), "the zero want asks nothing")
}

// Of two builds that miss, the nearer is better; of two that meet, the one with more room.
func TestBetter(t *testing.T) {
	atLeast, atMost, band := figure.Want{Min: figure.At(10)}, figure.Want{Max: figure.At(10)}, figure.Want{Min: figure.At(10), Max: figure.At(20)}
	for _, c := range []struct {
		want         figure.Want
		value, other float64
		better       bool
	}{
		{atLeast, 9, 8, true}, {atLeast, 8, 9, false}, {atLeast, 12, 11, true}, {atMost, 7, 8, true}, {atMost, 12, 11, false},
		{band, 15, 11, false}, {band, 21, 25, true}, {atLeast, math.NaN(), 1, false}, {atLeast, 1, math.NaN(), true},
	} {
		v := c.want.Judge(c.value)
		assert.Equal(t, c.better, v.Better(c.want.Judge(c.other)), "%+v", c)
	}
}

// A list of another result's is NaN where that has none, and says nothing beside it.
func TestFrom(t *testing.T) {
	type crate struct{ bottle *bottle }
	l := bottles()
	l[0].Note = func(b *bottle) string { return fmt.Sprintf("of %g", b.height) }
	l[0].Hidden = func(b *bottle) bool { return b.height == 2 }
	all := figure.From(l, func(c *crate) *bottle { return c.bottle })
	f, ok := all.Find("volume")
	require.True(t, ok)
	assert.Equal(t, 1., f.Value(&crate{&bottle{1, 2}}))
	assert.Equal(t, "of 2", f.Remark(&crate{&bottle{1, 2}}))
	assert.Empty(t, f.Shown(&crate{&bottle{1, 2}}), "hidden")
	assert.Equal(t, "1000000 cm3", f.Shown(&crate{&bottle{1, 3}}))
	assert.True(t, math.IsNaN(f.Value(&crate{})))
	assert.Empty(t, f.Remark(&crate{}))
	assert.Empty(t, f.Shown(&crate{}))
	assert.Equal(t, []string{"what it holds", "size"}, all.Groups())
	assert.True(t, all.Holds("height") && !all.Holds("weight") && all.Has("size") && !all.Has("weight"))
}

// Keys end in the SI unit in lower case, those of rates in hertz.
func TestKeyEndsInTheUnit(t *testing.T) {
	for kind, want := range map[quantity.Kind]string{
		quantity.Rate: "x_hz", quantity.Velocity: "x_m_s", quantity.Number: "x", quantity.Share: "x", quantity.Torque: "x_n_m",
		quantity.AngularSpeed: "x_rad_s", quantity.Resistance: "x_ohm", quantity.Charge: "x_c", quantity.Flux: "x_v_s",
	} {
		assert.Equal(t, want, (&figure.Info{Name: "x", Kind: kind}).Key())
	}
	assert.Equal(t, "y_wb", (&figure.Info{Name: "x", Kind: quantity.Flux, JSON: "y_wb"}).Key())
}

// Values are shown in the unit that people read: degrees Celsius count from their zero.
func TestText(t *testing.T) {
	assert.Equal(t, "20.0 °C", (&figure.Info{Kind: quantity.Temperature, Unit: "°C", Digits: 3}).Text(293.15))
	assert.Equal(t, "12000 rpm", (&figure.Info{Kind: quantity.AngularSpeed, Unit: "rpm", Digits: 3}).Text(400*math.Pi))
	assert.Equal(t, "0 ms", (&figure.Info{Kind: quantity.Time, Unit: "ms", Digits: 3}).Text(1e-13))
	assert.Equal(t, "63 ", (&figure.Info{Kind: quantity.Count}).Text(63))
	assert.Empty(t, (&figure.Info{Kind: quantity.Time, Unit: "ms", Digits: 3}).Text(math.NaN()))
}
