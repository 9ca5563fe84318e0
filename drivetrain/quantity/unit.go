package quantity

import (
	"math"
	"strings"
	"unicode/utf8"
)

// unit is what a unit's name stands for: value in SI = number · factor · 10^power.
type unit struct {
	dims   dims
	factor float64
	power  int
	prefix bool // may carry one
}

// What units of other systems are made of; products are exact, and rounded once.
const (
	pound      = 0.45359237 // avoirdupois, by the agreement of 1959 [kg]
	gravity    = 9.80665    // standard, 3rd General Conference on Weights and Measures, 1901 [m/s2]
	inch       = 0.0254     // international, by the agreement of 1959 [m]
	fahrenheit = 5. / 9     // a degree [K]
	zeroF      = 459.67     // 0 °F above absolute zero [°F]
)

// Foot is the international foot, by the agreement of 1959 [m].
const Foot = 0.3048

// lookup returns the unit of a name without prefix.
func lookup(name string) (unit, bool) {
	switch name {
	case "m":
		return unit{dims{1}, 1, 0, true}, true
	case "g":
		return unit{dims{0, 1}, 1, -3, true}, true
	case "s", "sec":
		return unit{dims{2: 1}, 1, 0, true}, true
	case "A":
		return unit{dims{3: 1}, 1, 0, true}, true
	case "K":
		return unit{dims{4: 1}, 1, 0, true}, true
	case "mol":
		return unit{dims{5: 1}, 1, 0, true}, true
	case "rad":
		return unit{dims{6: 1}, 1, 0, true}, true
	case "N":
		return unit{dims{1, 1, -2}, 1, 0, true}, true
	case "J":
		return unit{dims{2, 1, -2}, 1, 0, true}, true
	case "W":
		return unit{dims{2, 1, -3}, 1, 0, true}, true
	case "Pa":
		return unit{dims{-1, 1, -2}, 1, 0, true}, true
	case "bar":
		return unit{dims{-1, 1, -2}, 1, 5, true}, true
	case "V":
		return unit{dims{2, 1, -3, -1}, 1, 0, true}, true
	case "ohm", "Ohm", "Ω", "\u2126":
		return unit{dims{2, 1, -3, -2}, 1, 0, true}, true
	case "H":
		return unit{dims{2, 1, -2, -2}, 1, 0, true}, true
	case "Wb":
		return unit{dims{2, 1, -2, -1}, 1, 0, true}, true
	case "T":
		return unit{dims{0, 1, -2, -1}, 1, 0, true}, true
	case "C":
		return unit{dims{2: 1, 3: 1}, 1, 0, true}, true
	case "Ah":
		return unit{dims{2: 1, 3: 1}, 3600, 0, true}, true
	case "Nm":
		return unit{dims{2, 1, -2}, 1, 0, true}, true
	case "Hz":
		return unit{dims{2: -1}, 1, 0, true}, true
	case "l", "L":
		return unit{dims{3}, 1, -3, true}, true
	case "h":
		return unit{dims{2: 1}, 3600, 0, false}, true
	case "milliohm":
		return unit{dims{2, 1, -3, -2}, 1, -3, false}, true
	case "hPa":
		return unit{dims{-1, 1, -2}, 1, 2, false}, true
	case "Nmm":
		return unit{dims{2, 1, -2}, 1, -3, false}, true
	case "Ncm":
		return unit{dims{2, 1, -2}, 1, -2, false}, true
	case "gcm2", "gcm²", "gcm^2":
		return unit{dims{2, 1}, 1, -7, true}, true
	case "A2s", "A²s", "A^2s":
		return unit{dims{2: 1, 3: 2}, 1, 0, false}, true
	case "min":
		return unit{dims{2: 1}, 60, 0, false}, true
	case "deg", "°":
		return unit{dims{6: 1}, degree, 0, false}, true
	case "rpm", "RPM":
		return unit{dims{2: -1, 6: 1}, 2 * math.Pi / 60, 0, false}, true
	case "rps": // of a rate it is /s, see spelling
		return unit{dims{2: -1, 6: 1}, 2 * math.Pi, 0, false}, true
	case "%":
		return unit{dims{}, 1, -2, false}, true
	case "degC", "°C":
		return unit{dims{4: 1}, 1, 0, false}, true
	case "degF", "°F":
		return unit{dims{4: 1}, fahrenheit, 0, false}, true
	case "in": // international inch, 25.4 mm (agreement of 1959)
		return unit{dims{1}, 254, -4, false}, true
	case "ft": // international foot, 0.3048 m (the same)
		return unit{dims{1}, 3048, -4, false}, true
	case "fps": // feet a second
		return unit{dims{1, 0, -1}, 3048, -4, false}, true
	case "oz": // a mass, the avoirdupois ounce: a sixteenth of a pound
		return unit{dims{0, 1}, pound / 16, 0, false}, true
	case "lbf":
		return unit{dims{1, 1, -2}, pound * gravity, 0, false}, true
	case "kgf":
		return unit{dims{1, 1, -2}, gravity, 0, false}, true
	case "psi": // pounds-force a square inch
		return unit{dims{-1, 1, -2}, pound * gravity / (inch * inch), 0, false}, true
	case "AWG":
		return unit{dims{}, 1, 0, false}, true
	}
	return unit{}, false
}

// unitNames lists the names for suggestions, one spelling each.
func unitNames() []string {
	return []string{
		"m", "mm", "cm", "g", "kg", "s", "ms", "A", "mA", "K", "mol", "rad", "N", "J", "mJ", "kJ", "W", "Pa", "kPa", "MPa", "GPa", "bar",
		"V", "mV", "ohm", "mohm", "H", "uH", "mH", "T", "mT", "Ah", "mAh", "mNm", "h", "min", "deg", "rpm", "%", "degC", "degF", "hPa", "psi", "lbf", "kgf", "oz", "in", "ft", "AWG", "mm2", "cm2", "cm3", "kA",
		"m/s", "ft/s", "/s", "mV s", "g cm2", "N m", "mN m", "N m s", "N/m", "kA/m", "%/K", "J/K", "K/W", "A2 s", "kJ/mol", "Wb", "uWb",
	}
}

func prefixPower(r rune) (int, bool) {
	switch r {
	case 'p':
		return -12, true
	case 'n':
		return -9, true
	case 'u', 'µ', 'μ':
		return -6, true
	case 'm':
		return -3, true
	case 'c':
		return -2, true
	case 'd':
		return -1, true
	case 'k':
		return 3, true
	case 'M':
		return 6, true
	case 'G':
		return 9, true
	}
	return 0, false
}

// single reads one unit with its prefix, "mm" or "Pa".
func single(name string) (unit, bool) {
	if u, ok := lookup(name); ok {
		return u, true
	}
	r, size := utf8.DecodeRuneInString(name)
	power, ok := prefixPower(r)
	if !ok {
		return unit{}, false
	}
	u, ok := lookup(name[size:])
	if !ok || !u.prefix {
		return unit{}, false
	}
	u.power += power
	return u, true
}

// compound is a whole unit.
type compound struct {
	unit
	plainAngle bool   // its angles are radians only
	alone      string // the name, if there is but one factor to the power of 1
}

// parseUnit reads a unit such as "N m s", "%/K" or "/s". On failure it returns
// the name that is not known.
func parseUnit(text string) (c compound, unknown string) {
	c.factor, c.plainAngle = 1, true
	sign := 1
	count := 0
	rest := text
	for rest != "" {
		switch r, size := utf8.DecodeRuneInString(rest); r {
		case ' ', '·', '⋅', '*':
			rest = rest[size:]
		case '/':
			if sign < 0 {
				return c, text
			}
			sign = -1
			rest = rest[size:]
		default:
			end := strings.IndexAny(rest, " ·⋅*/")
			if end < 0 {
				end = len(rest)
			}
			name, exponent := rest[:end], 1
			u, ok := single(name) // gcm2 is a name
			if !ok {
				if name, exponent, ok = power(rest[:end]); !ok {
					return c, rest[:end]
				}
				if u, ok = single(name); !ok {
					return c, name
				}
			}
			n := sign * exponent
			for i := range c.dims {
				c.dims[i] += u.dims[i] * int8(n)
			}
			c.factor *= math.Pow(u.factor, float64(n))
			c.power += u.power * n
			if u.dims[6] != 0 && u.factor != 1 {
				c.plainAngle = false
			}
			c.alone = ""
			if count == 0 && n == 1 {
				c.alone = name
			}
			count++
			sign = 1
			rest = rest[end:]
		}
	}
	if sign < 0 {
		return c, text
	}
	return c, ""
}

// power splits "mm2", "mm^2", "mm²" or "s^-1" into name and exponent, which
// lies within ±4.
func power(s string) (name string, exponent int, ok bool) {
	for _, p := range []struct {
		text string
		n    int
	}{{"⁻¹", -1}, {"⁻²", -2}, {"²", 2}, {"³", 3}, {"^-1", -1}, {"^-2", -2}, {"^-3", -3}, {"^2", 2}, {"^3", 3}, {"^4", 4}, {"2", 2}, {"3", 3}, {"4", 4}} {
		if base, found := strings.CutSuffix(s, p.text); found && base != "" {
			return base, p.n, true
		}
	}
	return s, 1, s != ""
}

// fits tells whether a unit can measure a kind.
func (c *compound) fits(k Kind) bool {
	want, have := table[k].dims, c.dims
	if want[6] == 0 && c.plainAngle {
		have[6] = 0
	}
	return want == have
}

// kindOf names a kind that a unit measures, "" if there is none.
func (c *compound) kindOf() string {
	for k := Share; k < kinds; k++ {
		if k != WireSize && k != Gauge && c.fits(k) {
			return k.String()
		}
	}
	return ""
}
