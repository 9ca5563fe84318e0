package quantity_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
)

func TestUnits(t *testing.T) {
	for _, k := range allKinds {
		text := "3"
		if k.Unit() != "" {
			text += " " + k.Unit()
		}
		v, err := quantity.Parse(text, k)
		require.NoError(t, err, k)
		assert.Equal(t, text, k.Format(v.SI), "%s is shown so", k)

		text = "3"
		if k.SIUnit() != "1" {
			text += " " + k.SIUnit()
		}
		v, err = quantity.Parse(text, k)
		require.NoError(t, err, k)
		assert.Equal(t, 3., v.SI, "%s in SI", k)

		_, err = quantity.Parse("3", k)
		assert.Equal(t, k.Bare(), err == nil, k)
	}
}

// unitsOf puts units of one and of two factors together, of all names and the more usual
// prefixes, exponents and signs.
func unitsOf() (all []string) {
	var names []string
	for _, n := range strings.Fields("m g s sec A K mol rad N J W Pa bar V ohm Ohm Ω H T C Ah Nm Hz l L gcm2 gcm² gcm^2") {
		names = append(names, n, "m"+n, "k"+n, "µ"+n)
	}
	names = append(names, strings.Fields("in ft h min deg ° rpm RPM rps % degC °C degF °F fps oz lbf kgf psi hPa milliohm Nmm Ncm A2s A²s A^2s")...)
	var powers []string
	for _, n := range names {
		for _, e := range []string{"", "2", "^2", "²", "3", "^3", "³", "^-1", "⁻¹", "^-2", "⁻²"} {
			powers = append(powers, n+e)
		}
	}
	all = append(all, powers...)
	for _, n := range powers {
		all = append(all, "/"+n, "1/"+n)
	}
	for i, a := range powers {
		for _, sign := range []string{" ", "·", "*", "/", " / "} {
			b := powers[(i*7919+len(sign)*104729)%len(powers)] // some of them, evenly
			all = append(all, a+sign+b)
		}
	}
	// and all that stand in for the usual units of two factors
	for _, pair := range [][2]string{
		{"N kN lbf kgf mN", "m mm in ft"}, {"g kg oz", "cm2 cm² cm^2 mm2 in2"}, {"m mm ft in", "s min h s^-1 min⁻¹"}, {"A kA mA", "m mm m^-1"},
		{"J mJ kJ Nm", "K degC °C °F K^-1"}, {"K degC", "W mW W^-1"}, {"J kJ", "mol mol⁻¹"}, {"%", "K °C °F degC K^-1 K⁻¹"}, {"rad deg °", "s min s^-1"},
		{"A2 A^2 A² kA²", "s ms h"}, {"N", "mm2 m2 mm^2 m^-2 m⁻²"}, {"A mA", "s h min"}, {"W", "s h"}, {"J mJ Nm", "s ms"},
	} {
		for _, a := range strings.Fields(pair[0]) {
			for _, b := range strings.Fields(pair[1]) {
				for _, sign := range []string{" ", "·", "⋅", "*", "/", " / "} {
					all = append(all, a+sign+b, b+sign+a)
				}
			}
		}
	}
	return all
}

// usual are the units that people write for a kind, of those that unitsOf puts together:
// not those in which something cancels, or with per cent and radians beside others.
var usual = map[quantity.Kind]string{
	quantity.Length: `^[pnuµmcdkMG]?m$|^in$|^ft$`, quantity.Mass: `^[mkµ]?g$|^oz$`, quantity.Voltage: `^[mkµ]?V$`, quantity.Resistance: `^[mkµ]?(ohm|Ohm|Ω)$|^milliohm$`,
	quantity.Charge: `^[mkµ]?(C|Ah)$|^[mkµ]?A[ ·⋅*]+(s|h|min)$`, quantity.Temperature: `^[mkµ]?K$|^(deg|°)[CF]$`, quantity.Force: `^[mkµ]?N$|^lbf$|^kgf$`,
	quantity.SpringRate: `^([mkµ]?N|lbf|kgf)( / |/)([mkµ]?m|in|ft)$`, quantity.Inertia: `^([mkµ]?g|oz)[ ·⋅*]+([cm]m|in)(2|²|\^2)$|^[mkµ]?gcm(2|²|\^2)$`,
	quantity.Velocity: `^([mkµ]?m|ft|in)( / |/)(s|min|h|sec)$|^fps$`, quantity.Drift: `^%( / |/)(K|degC|°C|°F)$`, quantity.HeatCapacity: `^([mkµ]?J|Nm)( / |/)(K|degC|°C|°F)$`,
	quantity.ThermalResistance: `^(K|degC)( / |/)m?W$`, quantity.MolarEnergy: `^k?J( / |/)mol$`, quantity.FieldStrength: `^[mkµ]?A( / |/)m?m$`,
	quantity.MeltingIntegral: `^A(2|²|\^2)[ ·⋅*]*s$`, quantity.Torque: `^([mkµ]?N|lbf|kgf)[ ·⋅*]+(m?m|in|ft)$|^[mkµ]?Nm$|^Nmm$`, quantity.Area: `^([mkµ]?m|in|ft)(2|²|\^2)$`,
	quantity.Volume: `^([mkµ]?m|in|ft)(3|³|\^3)$|^[mkµ]?[lL]$`, quantity.Pressure: `^[mkµ]?(Pa|bar)$|^psi$|^hPa$`, quantity.AngularSpeed: `^rpm$|^RPM$|^rps$|^rad/s$|^(rad|deg|°)( / |/)(s|min)$`,
	quantity.Rate: `^1?/(s|min|h|sec)$|^[mk]?Hz$|^(s|min)(\^-1|⁻¹)$`, quantity.Time: `^[mkµ]?s(ec)?$|^h$|^min$`, quantity.Energy: `^[mkµ]?(J|Nm)$|^W[ ·⋅*]+[sh]$`,
	quantity.Inductance: `^[mkµ]?H$`, quantity.FluxDensity: `^[mkµ]?T$`, quantity.Current: `^[mkµ]?A$`, quantity.Angle: `^[mkµ]?rad$|^deg$|^°$`, quantity.Stress: `^[mkµ]?(Pa|bar)$|^psi$|^N( / |/)m?m(2|\^2)$`,
	quantity.Share: `^%$`, quantity.WireSize: `^[mkµ]?m$|^in$|^ft$`, quantity.ViscousDrag: `^(m?J|Nm)[ ·⋅*]+m?s$`,
}

// No unit passes that Parse refuses, and of those that anybody writes none is refused.
func TestPatternIsParse(t *testing.T) {
	units := unitsOf()
	for _, k := range allKinds {
		pattern, often := regexp.MustCompile(k.Pattern(true)), regexp.MustCompile(usual[k])
		both, left := 0, 0
		for i, unit := range units {
			if !effort.All() && i%7 != 0 && (usual[k] == "" || !often.MatchString(unit)) {
				continue // of those that nobody writes, a few
			}
			text := "3 " + unit
			_, err := quantity.Parse(text, k)
			switch matches := pattern.MatchString(text); {
			case matches && err != nil:
				t.Fatalf("%q passes for %s: %v", text, k, err)
			case matches:
				both++
			case usual[k] != "" && err == nil && often.MatchString(unit):
				t.Errorf("%q does not pass for %s", text, k)
			case err == nil:
				left++
			}
		}
		t.Logf("%s: %d units pass, %d are left out", k, both, left)
		if !k.Bare() && k != quantity.Gauge || k == quantity.Share {
			assert.Positive(t, both, k)
		}
	}
}

// Each kind's text is read as no other kind's that measures something else.
func TestPatternsTellKindsApart(t *testing.T) {
	for _, k := range allKinds {
		pattern := regexp.MustCompile(k.Pattern(true))
		for _, of := range allKinds {
			for _, text := range []string{of.Format(1), strings.Split(of.Example(), " or ")[0], of.Example() + " ± 1 %", of.Format(3) + " ± " + of.Format(1)} {
				_, err := quantity.Parse(text, k)
				assert.Equal(t, err == nil && (k != quantity.Gauge || !strings.Contains(text, "±")), pattern.MatchString(text), "%q as %s", text, k)
			}
		}
	}
}
