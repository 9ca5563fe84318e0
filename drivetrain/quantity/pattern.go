package quantity

import (
	"slices"
	"strings"
)

// Unit is the unit in which values of the kind are shown, "" for pure numbers.
func (k Kind) Unit() string { return table[k].unit }

// SIUnit is the unit of a value in a program; "1" where there is none, and "AWG" for the
// number of a gauge.
func (k Kind) SIUnit() string { return siUnits[k] }

var siUnits = [kinds]string{
	Number: "1", Count: "1", Share: "1", Length: "m", Area: "m2", Volume: "m3", Mass: "kg", Force: "N", Torque: "N m", Energy: "J",
	Angle: "rad", Time: "s", Rate: "1/s", Velocity: "m/s", AngularSpeed: "rad/s", Voltage: "V", Current: "A", Resistance: "ohm",
	Inductance: "H", Charge: "C", Inertia: "kg m2", ViscousDrag: "N m s/rad", FluxDensity: "T", FieldStrength: "A/m",
	Temperature: "K", Drift: "1/K", HeatCapacity: "J/K", ThermalResistance: "K/W", SpringRate: "N/m", Pressure: "Pa", Stress: "Pa",
	MeltingIntegral: "A2 s", MolarEnergy: "J/mol", WireSize: "m", Gauge: "AWG", Ratio: "1", Rating: "1",
	Power: "W", Flux: "V s",
}

// Bare tells whether values of the kind may be plain numbers without a unit.
func (k Kind) Bare() bool {
	return k == Number || k == Count || k == Share || k == Ratio || k == Rating
}

// Pieces of the patterns. They keep to what regular expressions of all sorts have in
// common, and to single bytes for blanks.
const (
	sizePattern   = `(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?`
	numberPattern = `[-+]?` + sizePattern
	spreadPattern = `\+?` + sizePattern
	wholePattern  = `[-+]?[0-9]+(?:\.0*)?(?:[eE]\+?[0-9]+)?`
	signPattern   = ` *(?:±|\+/-|\+-) *`
	timesPattern  = `[ ·⋅*]+`
	overPattern   = `[ ·⋅*]*/[ ·⋅*]*`
	awgPattern    = `[Aa][Ww][Gg]`
	gaugePattern  = `(?:[0-9]+(?:\.0*)? *` + awgPattern + `|[1-4]/0 ` + awgPattern + `|` + awgPattern + ` *[0-9]+(?:\.0*)?|` + awgPattern + ` *[1-4]/0)`
)

// class is the names of units that measure the same.
type class struct {
	prefixed []string // that may carry a prefix
	alone    []string
}

// classes are those of which units are put together, by a letter or two.
var classes = map[string]class{
	"m": {[]string{"m"}, []string{"in", "ft"}},
	"g": {[]string{"g"}, []string{"oz"}},
	"s": {[]string{"s", "sec"}, []string{"h", "min"}},
	"A": {[]string{"A"}, nil},
	"K": {[]string{"K"}, []string{"degC", "°C", "degF", "°F"}},
	"n": {[]string{"mol"}, nil},
	"a": {[]string{"rad"}, []string{"deg", "°"}},
	"w": {nil, []string{"rpm", "RPM", "rps"}},
	"N": {[]string{"N"}, []string{"lbf", "kgf"}},
	"J": {[]string{"J", "Nm"}, []string{"Nmm", "Ncm"}},
	"W": {[]string{"W"}, nil},
	"P": {[]string{"Pa", "bar"}, []string{"hPa", "psi"}},
	"V": {[]string{"V"}, nil},
	"O": {[]string{"ohm", "Ohm", "Ω", "\u2126"}, []string{"milliohm"}},
	"H": {[]string{"H"}, nil},
	"T": {[]string{"T"}, nil},
	"B": {[]string{"Wb"}, nil},
	"C": {[]string{"C", "Ah"}, nil},
	"f": {[]string{"Hz"}, nil},
	"l": {[]string{"l", "L"}, nil},
	"I": {[]string{"gcm2", "gcm²", "gcm^2"}, nil},
	"M": {nil, []string{"A2s", "A²s", "A^2s"}},
	"v": {nil, []string{"fps"}},
	"%": {nil, []string{"%"}},
}

// spellings are the ways to put the unit of a kind together: classes with exponents,
// whose products are read in any order.
var spellings = [kinds]string{
	Share: "%", Length: "m", Area: "m2", Volume: "m3, l", Mass: "g", Force: "N, J m-1, P m2",
	Torque: "J, N m, W s", Energy: "J, N m, W s, V C", Angle: "a", Time: "s, f-1", Rate: "s-1, f",
	Velocity: "v, m s-1, m f", AngularSpeed: "w, a s-1, a f", Voltage: "V, A O, W A-1", Current: "A, V O-1, W V-1, C s-1",
	Resistance: "O, V A-1", Inductance: "H, O s, V s A-1", Charge: "C, A s", Inertia: "I, g m2, J s2",
	ViscousDrag: "N m s, J s, W s2", FluxDensity: "T, V s m-2, N A-1 m-1", FieldStrength: "A m-1", Temperature: "K", Drift: "% K-1, K-1",
	HeatCapacity: "J K-1, W s K-1", ThermalResistance: "K W-1", SpringRate: "N m-1, J m-2, g s-2", Pressure: "P, N m-2", Stress: "P, N m-2",
	MeltingIntegral: "M, A2 s", MolarEnergy: "J n-1", WireSize: "m",
	Power: "W, V A, J s-1, N m s-1", Flux: "B, V s, T m2, H A, J A-1, N m A-1",
}

// Pattern is a regular expression for what Parse reads as text of the kind, for editors
// and the like; with a tolerance or without. Size and range of the number are no matter.
// Every name, prefix, exponent, sign and order of a unit is known to it. What it leaves
// out, though Parse takes it, are units in which something cancels, such as J/N for a
// length, and those that nobody writes for the kind, such as lbf s2/ft for a mass.
func (k Kind) Pattern(tolerance bool) string {
	number, unit := numberPattern, k.unitPattern()
	if k == Count {
		number = wholePattern
	}
	var all []string
	switch {
	case k == Gauge: // whose tolerance nothing would read
		all = []string{gaugePattern}
	case k.Bare():
		form, by := number, "%"
		if unit != "" {
			form += "(?: *" + unit + ")?"
			by += "|" + unit
		}
		if tolerance {
			form += "(?:" + signPattern + spreadPattern + "(?: *(?:" + by + "))?)?"
		}
		all = []string{form}
	case tolerance:
		all = []string{
			number + " *" + unit + "(?:" + signPattern + spreadPattern + "(?: *(?:%|" + unit + "))?)?",
			number + signPattern + spreadPattern + " *" + unit,
		}
	default:
		all = []string{number + " *" + unit}
	}
	if k == WireSize {
		form := gaugePattern
		if tolerance {
			form += "(?:" + signPattern + spreadPattern + " *%)?"
		}
		all = append(all, form)
	}
	return "^(?:" + strings.Join(all, "|") + ")$"
}

// unitPattern matches the units of a kind.
func (k Kind) unitPattern() string {
	switch k {
	case Ratio:
		return ":1"
	case Rating:
		return "[Cc]"
	}
	var all []string
	for _, s := range strings.Split(spellings[k], ", ") {
		if s != "" {
			all = append(all, orders(strings.Fields(s))...)
		}
	}
	switch k {
	case Rate:
		all = append(all, "rps", "/min", "min(?:\\^-1|⁻¹)")
	case AngularSpeed:
		all = append(all, "[Ur]/min", "1?/min", "min(?:\\^-1|⁻¹)")
	}
	pattern := strings.Join(all, "|")
	switch {
	case pattern == "":
		return ""
	case k == Torque || k == ViscousDrag: // of an angle, or of its speed
		return "(?:(?:" + pattern + ")(?:" + overPattern + "rad)?)"
	}
	return "(?:" + pattern + ")"
}

// orders are the patterns of a product in every order of its factors.
func orders(factors []string) (all []string) {
	var join func(done string, rest []string)
	join = func(done string, rest []string) {
		if len(rest) == 0 {
			all = append(all, done)
		}
		for i, f := range rest {
			others := slices.Delete(slices.Clone(rest), i, i+1)
			name := classes[f[:1]].pattern()
			times, over := timesPattern, overPattern
			if done == "" {
				times, over = "", "1?/ *"
			}
			if exponent, below := strings.CutPrefix(f[1:], "-"); below {
				join(done+"(?:"+over+name+exponents[exponent]+"|"+times+name+exponents["-"+exponent]+")", others)
			} else {
				join(done+times+name+exponents[exponent], others)
			}
		}
	}
	join("", factors)
	return all
}

// exponents are the ways to write one behind a name.
var exponents = map[string]string{
	"": "", "1": "", "2": `(?:\^?2|²)`, "3": `(?:\^?3|³)`, "-1": `(?:\^-1|⁻¹)`, "-2": `(?:\^-2|⁻²)`,
}

// pattern matches the names of a class with their prefixes.
func (c class) pattern() string {
	var all []string
	for _, name := range c.prefixed {
		all = append(all, prefixPattern+name)
	}
	all = append(all, c.alone...)
	return "(?:" + strings.ReplaceAll(strings.Join(all, "|"), "^", `\^`) + ")"
}

const prefixPattern = "[pnuµμmcdkMG]?"
