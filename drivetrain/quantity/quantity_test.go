package quantity_test

import (
	"cmp"
	"errors"
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
var twoSteps = regexp.MustCompile(` in$|ft|fps|kgf|rp[ms]|RPM|/min| deg$|(?i)AWG|degF|°F|oz|lbf|psi`)

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
		{"20 1/s", quantity.Rate, 20, ""},
		{"20 2/s", quantity.Rate, math.NaN(), "only one is one"},
		{"20 rps", quantity.Rate, 20, "rounds a second"},
		{"1200 1/min", quantity.Rate, 20, "rounds a minute"},
		{"500 rps", quantity.AngularSpeed, 1000 * math.Pi, "turns a second"},
		{"30000 RPM", quantity.AngularSpeed, 1000 * math.Pi, ""},
		{"30000 U/min", quantity.AngularSpeed, 1000 * math.Pi, ""},
		{"30000 r/min", quantity.AngularSpeed, 1000 * math.Pi, "as ISO 80000 writes it"},
		{"30000 1/min", quantity.AngularSpeed, 1000 * math.Pi, "turns, not radians"},
		{"30000 min^-1", quantity.AngularSpeed, 1000 * math.Pi, ""},
		{"30000 min⁻¹", quantity.AngularSpeed, 1000 * math.Pi, ""},
		{"30000 1/s", quantity.AngularSpeed, math.NaN(), "turns or radians: nobody knows"},
		{"100 rpm", quantity.Rate, math.NaN(), "turns of a shaft"},
		{"400 fps", quantity.Velocity, 121.92, "1 ft = 304.8 mm"},
		{"9 mOhm", quantity.Resistance, 9e-3, ""},
		{"9 milliohm", quantity.Resistance, 9e-3, ""},
		{"9 Ohm", quantity.Resistance, 9, ""},
		{"3.5 Nmm", quantity.Torque, 3.5e-3, ""},
		{"3.5 Ncm", quantity.Torque, 3.5e-2, ""},
		{"12 gcm2", quantity.Inertia, 12e-7, ""},
		{"12 gcm²", quantity.Inertia, 12e-7, ""},
		{"12 g*cm^2", quantity.Inertia, 12e-7, ""},
		{"68 °F", quantity.Temperature, 293.15, "20 °C: 32 °F and 180 of them to the boiling point's 100 °C"},
		{"212 degF", quantity.Temperature, 373.15, ""},
		{"-40 degF", quantity.Temperature, 233.15, "-40 °C"},
		{"-459.67 °F", quantity.Temperature, 0, "absolute zero"},
		{"-0.1 %/°F", quantity.Drift, -0.0018, "a difference has no offset"},
		{"1013.25 hPa", quantity.Pressure, 101325, ""},
		{"14.7 psi", quantity.Pressure, 14.7 * 6894.757293168361, "NIST SP 811: 6.894757 E+03 Pa"},
		{"300000 psi", quantity.Stress, 3e5 * 6894.757293168361, ""},
		{"4.131 lbf/in", quantity.SpringRate, 4.131 * 175.12683524647636, "NIST SP 811: 1.751268 E+02 N/m"},
		{"0.07 kgf/mm", quantity.SpringRate, 686.4655, "standard gravity"},
		{"1 kgf", quantity.Force, 9.80665, ""},
		{"1 lbf", quantity.Force, 4.4482216152605, "NIST SP 811"},
		{"1 oz", quantity.Mass, 28.349523125e-3, "NIST SP 811; a mass"},
		{"5 oz", quantity.Force, math.NaN(), "never a force"},
		{"2 sec", quantity.Time, 2, ""},
		{"2 msec", quantity.Time, 2e-3, ""},
		{"600 A²s", quantity.MeltingIntegral, 600, ""},
		{"600 A2s", quantity.MeltingIntegral, 600, ""},
		{"1 kA²·s", quantity.MeltingIntegral, 1e6, "the prefix is squared with its unit"},
		{"1 kA²s", quantity.MeltingIntegral, math.NaN(), "who means a thousand A²s?"},
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
		{"0.9 GN m⁻²", quantity.Stress, 0.9e9, "superscripts of two signs"},
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
		{"36 awg", quantity.WireSize, 0.127e-3, "ASTM B258"},
		{"AWG 36", quantity.WireSize, 0.127e-3, ""},
		{"awg36", quantity.WireSize, 0.127e-3, ""},
		{"16 awg", quantity.Gauge, 16, ""},
		{"AWG 16", quantity.Gauge, 16, ""},
		{"AWG 2/0", quantity.Gauge, -1, ""},
		{"2/0 awg", quantity.Gauge, -1, ""},
		{"10.44", quantity.Ratio, 10.44, ""},
		{"18:1", quantity.Ratio, 18, ""},
		{"18.72:1", quantity.Ratio, 18.72, ""},
		{"18:1", quantity.Number, math.NaN(), "a ratio of gears only"},
		{"25", quantity.Rating, 25, ""},
		{"25C", quantity.Rating, 25, ""},
		{"25 C", quantity.Rating, 25, ""},
		{"25c", quantity.Rating, 25, ""},
		{"25C", quantity.Temperature, math.NaN(), "a charge"},
		{"25C", quantity.Charge, 25, "coulombs"},
		{"25C", quantity.Number, math.NaN(), "a rating only"},
	} {
		t.Run(c.text+" as "+c.kind.String(), func(t *testing.T) {
			v, err := quantity.Parse(c.text, c.kind)
			if math.IsNaN(c.want) {
				require.Error(t, err)
				assert.NotRegexp(t, c.kind.Pattern(true), c.text)
				return
			}
			require.NoError(t, err)
			assert.Regexp(t, c.kind.Pattern(true), c.text)
			assert.Regexp(t, c.kind.Pattern(false), c.text)
			if twoSteps.MatchString(c.text) && c.want != 0 {
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
		{"AWG 22 ± 1 %", quantity.WireSize, 0.6438e-3, 0.006438e-3},
		{"350 +- 2 mm", quantity.Length, 0.350, 2e-3},
		{"350 mm+-1 %", quantity.Length, 0.350, 3.5e-3},
		{"68 °F ± 9 °F", quantity.Temperature, 293.15, 5},
		{"68 ± 9 °F", quantity.Temperature, 293.15, 5},
		{"68 °F ± 5 K", quantity.Temperature, 293.15, 5},
		{"90 °F ± 10 %", quantity.Temperature, 305.372222, 5},
		{"18:1 ± 1 %", quantity.Ratio, 18, 0.18},
		{"25C ± 5", quantity.Rating, 25, 5},
		{"25 ± 5C", quantity.Rating, 25, 5},
		{"30000 RPM ± 300 U/min", quantity.AngularSpeed, 1000 * math.Pi, 10 * math.Pi},
	} {
		t.Run(c.text, func(t *testing.T) {
			v, err := quantity.Parse(c.text, c.kind)
			require.NoError(t, err)
			assert.Regexp(t, c.kind.Pattern(true), c.text)
			assert.NotRegexp(t, c.kind.Pattern(false), c.text)
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
		{"26 G", quantity.Mass, "did you mean g?"},
		{"3 N mm s/rat", quantity.ViscousDrag, "did you mean rad?"},
		{"5 /m", quantity.Mass, "is something else; wanted a mass"},
		{"1,5 mm", quantity.Length, "decimal point"},
		{"0,20 g", quantity.Mass, `"0,20 g": write a number with a decimal point and without separators, such as 26 g`},
		{"-0,12 %/K", quantity.Drift, "decimal point"},
		{"0.2 g ± 0,1 g", quantity.Mass, "decimal point"},
		{"1 200 mAh", quantity.Charge, "without separators"},
		{"1.200,5 mAh", quantity.Charge, "without separators"},
		{"9 mOhms", quantity.Resistance, "did you mean mohm?"},
		{"9 FPS", quantity.Velocity, "is not known"},
		{"5 lb/in", quantity.SpringRate, "did you mean lbf?"},
		{"22 awg", quantity.Length, "is a wire gauge"},
		{"AWG 22", quantity.Area, "is a wire gauge; wanted an area"},
		{"1.4 J", quantity.Velocity, "is an energy"},
		{"1.4 N m", quantity.Velocity, "is a torque"},
		{"AWG", quantity.Gauge, "does not begin with a number"},
		{"AWG AWG 22", quantity.Gauge, "does not begin with a number"},
		{"AWG 22 mm", quantity.Gauge, "wanted a wire gauge"},
		{"100:300", quantity.Ratio, `"100:300": wanted the turns of the motor for one of the sector, such as 18:1`},
		{"1:18", quantity.Ratio, "for one of the sector"},
		{"18:10", quantity.Ratio, "for one of the sector"},
		{"25 %", quantity.Rating, "has a unit; wanted a discharge rating, such as 25 or 25C"},
		{"30000 1/s", quantity.AngularSpeed, "is a rate; wanted a speed of rotation"},
		{"1200 rpm", quantity.Rate, "is a speed of rotation; wanted a rate, such as 20 /s"},
		{"20 C", quantity.Temperature, `"20 C": did you mean 20 degC?`},
		{"68F", quantity.Temperature, `"68F": did you mean 68 degF?`},
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
		{strings.Repeat("0", 101), quantity.Number, "characters are no quantity"},
		{"5 \x00\x1b[31m", quantity.Mass, `"5 ??[31m"`},
	} {
		t.Run(c.text, func(t *testing.T) {
			_, err := quantity.Parse(c.text, c.kind)
			require.ErrorContains(t, err, c.want)
			if !strings.Contains(c.want, "too large") && !strings.Contains(c.want, "size") && !strings.Contains(c.want, "characters") {
				assert.NotRegexp(t, c.kind.Pattern(true), c.text)
			}
		})
	}
}

var allKinds = func() (all []quantity.Kind) {
	for k := quantity.Number; k <= quantity.Rating; k++ {
		all = append(all, k)
	}
	return all
}()

// At the bound and one beyond.
func TestLongestText(t *testing.T) {
	v, err := quantity.Parse(strings.Repeat("0", 98)+"28", quantity.Count)
	require.NoError(t, err)
	assert.Equal(t, 28., v.SI)
	_, err = quantity.Parse(strings.Repeat("0", 99)+"28", quantity.Count)
	assert.ErrorContains(t, err, "101 characters are no quantity")
	v, err = quantity.Parse("1e-400 mm", quantity.Length)
	require.NoError(t, err)
	assert.Zero(t, v.SI)
	_, err = quantity.Parse("1e-401 mm", quantity.Length)
	assert.ErrorContains(t, err, "no number of a sensible size")
}

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

// Wrapping hides none of the faults, nor what they come from.
func TestFaultsWrapped(t *testing.T) {
	cause := errors.New("a cause")
	at := quantity.Place{File: "b.yaml", Line: 3, Column: 7}
	a := &quantity.Fault{Place: at, Field: "spring.rate", Text: "is odd", Cause: cause}
	b := &quantity.Fault{Text: "all is odd"}
	err := fmt.Errorf("read: %w", errors.Join(quantity.Join(a, b), fmt.Errorf("and %w", cause)))
	faults := quantity.Faults(err)
	require.Len(t, faults, 3)
	assert.Same(t, a, faults[0])
	assert.Same(t, b, faults[1])
	assert.EqualError(t, faults[2], "and a cause")
	assert.ErrorIs(t, faults[2], cause)
	var first *quantity.Fault
	require.ErrorAs(t, err, &first)
	assert.Same(t, a, first)
	assert.ErrorIs(t, quantity.Join(b, a), cause)
	assert.NotErrorIs(t, quantity.Join(b), cause)
	assert.EqualError(t, quantity.Join(a, b), "b.yaml:3:7: spring.rate: is odd\nall is odd")
	assert.NoError(t, quantity.Join())
	moved := a.At(quantity.Place{Override: "a=1"}, "a")
	assert.EqualError(t, moved, "--set a=1: a: is odd")
	assert.Equal(t, at, a.Place, "the first one stays where it is")
}

// Places follow each other as people read: the file by its lines, the overrides, what
// a program put.
func TestPlaces(t *testing.T) {
	sorted := []quantity.Place{
		{File: "b.yaml"}, {File: "b.yaml", Line: 2, Column: 9}, {File: "b.yaml", Line: 10, Column: 1}, {File: "b.yaml", Line: 10, Column: 3},
		{Override: "a=1"}, {},
	}
	for i, p := range sorted {
		for j, q := range sorted {
			assert.Equal(t, cmp.Compare(i, j), cmp.Compare(p.Compare(q), 0), "%v, %v", p, q)
		}
	}
	assert.Equal(t, "b.yaml", sorted[0].String())
	assert.Equal(t, "b.yaml:2:9", sorted[1].String())
	assert.Equal(t, "--set a=1", sorted[4].String())
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
	for _, s := range []string{"350 mm", "12 g cm2", "1.18 T ± 0.05 T", "2/0 AWG", "-0.12 %/K", "1e-6 N m s/rad", "20 degC", "±", "5 °", "1e309 m", "9 mΩ +/- 5 %",
		"20 rps", "30000 1/min", "-459.67 °F", "90 °F ± 10 %", "AWG 2/0", "AWG22", "18:1", "25C ± 5", "0,36 g", "1.200 mAh", "14.7 psi", "1 kA²s", "4 lbf/in", "12 gcm²"} {
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
