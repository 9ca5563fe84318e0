package quantity_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/quantity"
)

// twoSteps finds the units whose factor is no power of ten.
var twoSteps = regexp.MustCompile(` in$|ft|rpm| deg$|AWG`)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		text   string
		kind   quantity.Kind
		want   float64
		reason string
	}{
		{"350 mm", quantity.Length, 0.350, "exact: the power of ten joins the decimal"},
		{"350mm", quantity.Length, 0.350, "the blank may be missing"},
		{"0.65 mm", quantity.Length, 0.65e-3, "exact"},
		{"14.4 in", quantity.Length, 0.36576, "1 in = 25.4 mm"},
		{"0.20 g", quantity.Mass, 0.20e-3, "exact"},
		{"1 kg", quantity.Mass, 1, ""},
		{"20 mm2", quantity.Area, 20e-6, ""},
		{"20 mm²", quantity.Area, 20e-6, "superscript"},
		{"20 mm^2", quantity.Area, 20e-6, "caret"},
		{"1.0 cm3", quantity.Volume, 1e-6, ""},
		{"1 mL", quantity.Volume, 1e-6, ""},
		{"12 g cm2", quantity.Inertia, 12e-7, "product"},
		{"12 g·cm²", quantity.Inertia, 12e-7, "dot"},
		{"3.5 mN m", quantity.Torque, 3.5e-3, ""},
		{"3.5 mNm", quantity.Torque, 3.5e-3, "as the trade writes it"},
		{"2e-6 N m s", quantity.ViscousDrag, 2e-6, ""},
		{"2e-6 N m s/rad", quantity.ViscousDrag, 2e-6, "radians may be named"},
		{"45 mJ", quantity.Energy, 0.045, ""},
		{"120 deg", quantity.Angle, 2 * math.Pi / 3, ""},
		{"1 rad", quantity.Angle, 1, ""},
		{"20 /s", quantity.Rate, 20, ""},
		{"20 1/s", quantity.Rate, math.NaN(), "a number is no unit"},
		{"400 ft/s", quantity.Velocity, 121.92, "1 ft = 304.8 mm"},
		{"120 m/s", quantity.Velocity, 120, ""},
		{"30000 rpm", quantity.AngularSpeed, 30000 * 2 * math.Pi / 60, ""},
		{"0.30 V", quantity.Voltage, 0.30, ""},
		{"9 mohm", quantity.Resistance, 9e-3, ""},
		{"9 mΩ", quantity.Resistance, 9e-3, "Greek omega"},
		{"9 m\u2126", quantity.Resistance, 9e-3, "ohm sign"},
		{"66 uH", quantity.Inductance, 66e-6, ""},
		{"66 µH", quantity.Inductance, 66e-6, "micro sign"},
		{"66 μH", quantity.Inductance, 66e-6, "Greek mu"},
		{"1300 mAh", quantity.Charge, 4680, "1 Ah = 3600 C"},
		{"1.18 T", quantity.FluxDensity, 1.18, ""},
		{"955 kA/m", quantity.FieldStrength, 955e3, ""},
		{"20 degC", quantity.Temperature, 293.15, "exact"},
		{"-10 °C", quantity.Temperature, 263.15, ""},
		{"300 K", quantity.Temperature, 300, ""},
		{"-0.12 %/K", quantity.Drift, -0.12e-2, ""},
		{"12 J/K", quantity.HeatCapacity, 12, ""},
		{"3.5 K/W", quantity.ThermalResistance, 3.5, ""},
		{"680 N/m", quantity.SpringRate, 680, ""},
		{"2 kN/mm", quantity.SpringRate, 2e6, ""},
		{"101.325 kPa", quantity.Pressure, 101325, ""},
		{"0.9 GPa", quantity.Stress, 0.9e9, ""},
		{"600 A2 s", quantity.MeltingIntegral, 600, ""},
		{"20 kJ/mol", quantity.MolarEnergy, 20e3, ""},
		{"12 %", quantity.Share, 0.12, ""},
		{"0.12", quantity.Share, 0.12, "a share may be a pure number"},
		{"1.05", quantity.Number, 1.05, ""},
		{"1e-6", quantity.Number, 1e-6, "a number, not a word"},
		{".5", quantity.Number, 0.5, ""},
		{"010", quantity.Count, 10, "decimal, never octal"},
		{"28", quantity.Count, 28, ""},
		{"28.0", quantity.Count, 28, "whole all the same"},
		{"16 AWG", quantity.Gauge, 16, ""},
		{"2/0 AWG", quantity.Gauge, -1, ""},
		{"000 AWG", quantity.Gauge, -2, ""},
		{"36 AWG", quantity.WireSize, 0.127e-3, "ASTM B258"},
		{"0.65 mm", quantity.WireSize, 0.65e-3, ""},
	} {
		t.Run(c.text, func(t *testing.T) {
			v, err := quantity.Parse(c.text, c.kind)
			if math.IsNaN(c.want) {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			if twoSteps.MatchString(c.text) {
				assert.InEpsilon(t, c.want, v.SI, 4e-16, "a factor that is no power of ten costs roundings: %s", c.reason)
			} else {
				assert.Equal(t, c.want, v.SI, c.reason)
			}
			assert.Zero(t, v.Tolerance)
		})
	}
}

func TestParseTolerance(t *testing.T) {
	for _, c := range []struct {
		text            string
		kind            quantity.Kind
		want, tolerance float64
	}{
		{"350 ± 2 mm", quantity.Length, 0.350, 2e-3},
		{"350 mm ± 2 mm", quantity.Length, 0.350, 2e-3},
		{"350 mm +/- 1 %", quantity.Length, 0.350, 3.5e-3},
		{"350 mm ± 0.2 cm", quantity.Length, 0.350, 2e-3},
		{"350 mm ± 2", quantity.Length, 0.350, 2e-3},
		{"28 ± 1", quantity.Count, 28, 1},
		{"1.05 ± 2 %", quantity.Number, 1.05, 0.021},
		{"90 ± 5 %", quantity.Share, 0.90, 0.05},
		{"90 % ± 5 %", quantity.Share, 0.90, 0.05},
		{"20 degC ± 2 degC", quantity.Temperature, 293.15, 2},
		{"155 degC ± 2 K", quantity.Temperature, 428.15, 2},
		{"155 ± 2 degC", quantity.Temperature, 428.15, 2},
		{"155 degC ± 2 %", quantity.Temperature, 428.15, 3.1},
		{"300 K ± 1 %", quantity.Temperature, 300, 3},
		{"-0.12 %/K ± 10 %", quantity.Drift, -0.0012, 0.00012},
		{"22 AWG ± 1 %", quantity.WireSize, 0.6438e-3, 0.006438e-3},
	} {
		t.Run(c.text, func(t *testing.T) {
			v, err := quantity.Parse(c.text, c.kind)
			require.NoError(t, err)
			assert.InEpsilon(t, c.want, v.SI, 1e-5, "the wire's diameter is quoted with five digits")
			assert.InEpsilon(t, c.tolerance, v.Tolerance, 1e-5)
		})
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		text string
		kind quantity.Kind
		want string
	}{
		{"350", quantity.Length, `"350" is a bare number; wanted a length with its unit, such as 350 mm`},
		{"0", quantity.Length, "bare number"},
		{"26 mm", quantity.Mass, `"26 mm" is a length; wanted a mass, such as 26 g`},
		{"26 grams", quantity.Mass, `the unit "grams" is not known`},
		{"9 mohms", quantity.Resistance, "did you mean mohm?"},
		{"9 mOhm", quantity.Resistance, "did you mean mohm?"},
		{"26 G", quantity.Mass, "did you mean g?"},
		{"22 awg", quantity.WireSize, "did you mean AWG?"},
		{"3 N mm s/rat", quantity.ViscousDrag, "did you mean rad?"},
		{"20 rps", quantity.Rate, `the unit "rps" is not known; wanted a rate, such as 20 /s`},
		{"400 fps", quantity.Velocity, `the unit "fps" is not known; wanted a velocity, such as 400 ft/s`},
		{"5 /m", quantity.Mass, "is something else; wanted a mass"},
		{"1,5 mm", quantity.Length, "decimal point"},
		{"1_000 mm", quantity.Length, "without separators"},
		{"1.2.3 mm", quantity.Length, "does not begin with a number"},
		{"0x10", quantity.Count, "has a unit"},
		{"nan", quantity.Length, "not a finite number"},
		{".nan", quantity.Length, "not a finite number"},
		{"-inf N", quantity.Force, "not a finite number"},
		{"1e400 mm", quantity.Length, "too large"},
		{"1e999999999 mm", quantity.Length, "no number of a sensible size"},
		{"", quantity.Mass, "nothing is given"},
		{"abc", quantity.Mass, "does not begin with a number"},
		{"28.5", quantity.Count, "is not whole"},
		{"28 mm", quantity.Count, "has a unit"},
		{"12 %", quantity.Number, "has a unit"},
		{"16 AWG", quantity.Length, "is a wire gauge"},
		{"16 mm", quantity.Gauge, "wanted a wire gauge"},
		{"16.5 AWG", quantity.Gauge, "whole gauge"},
		{"350 mm ± -2 mm", quantity.Length, "tolerance of zero or more"},
		{"350 mm ±", quantity.Length, "no tolerance behind"},
		{"350 mm ± 2 g", quantity.Length, "is a mass"},
		{"22 AWG ± 1 AWG", quantity.WireSize, "per cent of the diameter"},
		{"3 N m", quantity.Force, "is a torque"},
		{"3 m//s", quantity.Velocity, "not known"},
		{strings.Repeat("9", 101), quantity.Number, "characters are no quantity"},
		{"5 \x00\x1b[31m", quantity.Mass, `"5 ??[31m"`},
	} {
		t.Run(c.text, func(t *testing.T) {
			_, err := quantity.Parse(c.text, c.kind)
			require.ErrorContains(t, err, c.want)
		})
	}
}

var allKinds = func() (all []quantity.Kind) {
	for k := quantity.Number; k <= quantity.Gauge; k++ {
		all = append(all, k)
	}
	return all
}()

func TestExamplesParse(t *testing.T) {
	for _, k := range allKinds {
		example, _, _ := strings.Cut(k.Example(), " or ")
		_, err := quantity.Parse(example, k)
		assert.NoError(t, err, "%s", k)
	}
}

func TestPrintReadsBack(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, k := range allKinds {
		for range 500 {
			v := (random.Float64() - 0.3) * math.Pow(10, float64(random.IntN(9)-4))
			switch k {
			case quantity.Count:
				v = math.Trunc(v)
			case quantity.Gauge:
				v = float64(random.IntN(60) - 3)
			}
			back, err := quantity.Parse(k.Print(v), k)
			require.NoError(t, err, "%s %g", k, v)
			require.Equal(t, v, back.SI, "%s: %s", k, k.Print(v))
		}
	}
}

func TestFormatGauge(t *testing.T) {
	for want, gauge := range map[string]float64{"16 AWG": 16, "1 AWG": 1, "1/0 AWG": 0, "2/0 AWG": -1, "4/0 AWG": -3} {
		assert.Equal(t, want, quantity.Gauge.Format(gauge))
	}
}

func TestCheckGathersAll(t *testing.T) {
	var c quantity.Check
	c.Range("mass", math.NaN(), quantity.Mass, 0.001, 1)
	c.Range("fine", 0.5, quantity.Mass, 0.001, 1)
	c.Whole("turns", 0, 1, 100)
	var outer quantity.Check
	outer.Part("piston", c.Err())
	faults := quantity.Faults(outer.Err())
	require.Len(t, faults, 2)
	assert.Equal(t, "piston.mass: NaN g is out of range; wanted 1 g to 1000 g", faults[0].Error())
	assert.Equal(t, "piston.turns", faults[1].Field)
	assert.False(t, outer.OK("piston.mass"))
	assert.True(t, outer.OK("piston.fine"))
	var none quantity.Check
	assert.NoError(t, none.Err())
	assert.Empty(t, quantity.Faults(nil))
}

func TestNearest(t *testing.T) {
	names := []string{"turns", "strands", "wire", "rotor_diameter"}
	assert.Equal(t, "turns", quantity.Nearest("turn", names))
	assert.Equal(t, "turns", quantity.Nearest("tunrs", names))
	assert.Equal(t, "rotor_diameter", quantity.Nearest("rotor_diametre", names))
	assert.Equal(t, "wire", quantity.Nearest("WIRE", names))
	assert.Empty(t, quantity.Nearest("gearbox", names))
	assert.Empty(t, quantity.Nearest("w", names))
	assert.Empty(t, quantity.Nearest("", names))
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"350 mm", "12 g cm2", "1.18 T ± 0.05 T", "2/0 AWG", "-0.12 %/K", "1e-6 N m s/rad", "20 degC", "±", "5 °", "1e309 m", "9 mΩ +/- 5 %"} {
		f.Add(s, uint8(3))
	}
	f.Fuzz(func(t *testing.T, text string, kind uint8) {
		k := allKinds[int(kind)%len(allKinds)]
		v, err := quantity.Parse(text, k)
		if err != nil {
			if len(err.Error()) > 600 {
				t.Fatalf("an error of %d characters", len(err.Error()))
			}
			return
		}
		if !quantity.Finite(v.SI) || !quantity.Finite(v.Tolerance) || v.Tolerance < 0 {
			t.Fatalf("%q as %s: %v", text, k, v)
		}
		back, err := quantity.Parse(k.Print(v.SI), k)
		if err != nil || back.SI != v.SI {
			t.Fatalf("%q as %s: %v prints as %q and reads back as %v, %v", text, k, v.SI, k.Print(v.SI), back.SI, err)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := quantity.Parse("12 g cm2", quantity.Inertia); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleParse() {
	v, err := quantity.Parse("1.18 T ± 3 %", quantity.FluxDensity)
	fmt.Printf("%.2f T ± %.3f T, %v\n", v.SI, v.Tolerance, err)
	_, err = quantity.Parse("350", quantity.Length)
	fmt.Println(err)
	// Output:
	// 1.18 T ± 0.035 T, <nil>
	// "350" is a bare number; wanted a length with its unit, such as 350 mm
}

func ExampleKind_Format() {
	fmt.Println(quantity.Charge.Format(4680), "·", quantity.Temperature.Format(293.15))
	// Output: 1300 mAh · 20 degC
}
