package quantity

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/motor/wire"
)

// Value is a quantity that was read.
type Value struct {
	// SI is the value [SI unit of its kind].
	SI float64
	// Tolerance is two standard deviations; 0: none is given [SI unit of its kind].
	Tolerance float64
}

// LongestText bounds what Parse looks at, in bytes.
const LongestText = 100

// Parse reads a number with its unit, and a tolerance if there is one. The error
// says what was found and what was wanted, with an example.
func Parse(text string, k Kind) (Value, error) {
	text = strings.TrimSpace(text)
	if len(text) > LongestText {
		return Value{}, fmt.Errorf("%s: %d characters are no quantity; wanted %s", quote(text), len(text), k.wanted())
	}
	if text == "" {
		return Value{}, fmt.Errorf("nothing is given; wanted %s", k.wanted())
	}
	main, spread := text, ""
	for _, sign := range []string{"±", "+/-", "+-"} {
		if a, b, found := strings.Cut(text, sign); found {
			main, spread = strings.TrimSpace(a), strings.TrimSpace(b)
			if spread == "" {
				return Value{}, fmt.Errorf("%s: no tolerance behind the %s; wanted %s or per cent", quote(text), sign, k.Example())
			}
			break
		}
	}
	digits, name, ok := splitNumber(numberFirst(main))
	if !ok {
		return Value{}, notNumber(text, main, k)
	}
	name = k.spelling(name)
	if spread == "" {
		v, err := k.convert(text, digits, name)
		return Value{SI: v}, err
	}

	by, byName, ok := splitNumber(spread)
	if !ok {
		return Value{}, notNumber(text, spread, k)
	}
	byName = k.spelling(byName)
	if name == "" && byName != "" && (byName != "%" || k == Share) {
		name = byName // "350 ± 2 mm"
	}
	v, err := k.convert(text, digits, name)
	if err != nil {
		return Value{}, err
	}
	share, _ := strconv.ParseFloat(by, 64)
	var tolerance float64
	switch {
	case byName == "%" && name != "%":
		of := v
		switch name { // of the number that is written
		case "degC", "°C":
			of -= Celsius
		case "degF", "°F":
			of -= zeroF * fahrenheit
		}
		tolerance = math.Abs(of) * share / 100
	case name == "AWG":
		return Value{}, fmt.Errorf("%s: a gauge's tolerance is given in per cent of the diameter, such as 22 AWG ± 1 %%", quote(text))
	default:
		if byName == "" {
			byName = name
		}
		far, err := k.convert(text, by, byName)
		if err != nil {
			return Value{}, err
		}
		zero, err := k.convert(text, "0", byName)
		if err != nil {
			return Value{}, err
		}
		tolerance = far - zero
	}
	if !(tolerance >= 0) || math.IsInf(tolerance, 0) {
		return Value{}, fmt.Errorf("%s: wanted a tolerance of zero or more", quote(text))
	}
	return Value{SI: v, Tolerance: tolerance}, nil
}

// numberFirst puts the number of a gauge before its unit: people write AWG 22.
func numberFirst(text string) string {
	if len(text) > 3 && strings.EqualFold(text[:3], "AWG") {
		return strings.TrimSpace(text[3:]) + " AWG"
	}
	return text
}

// spelling returns the name of a unit that a spelling of it stands for; some mean
// what they do for a quantity of the kind only.
func (k Kind) spelling(name string) string {
	switch {
	case len(name) >= 3 && strings.EqualFold(name[len(name)-3:], "AWG"): // also of 2/0 awg
		return name[:len(name)-3] + "AWG"
	case name == "U/min" || name == "r/min":
		return "rpm"
	case strings.HasPrefix(name, "1/"): // 1/s
		name = name[1:]
	case k == Ratio && name == ":1", k == Rating && (name == "C" || name == "c"):
		return ""
	}
	switch {
	case k == Rate && name == "rps": // rounds, not turns
		return "/s"
	case k == AngularSpeed && (name == "/min" || name == "min^-1" || name == "min⁻¹"):
		return "rpm" // nobody counts radians a minute
	}
	return name
}

// splitNumber cuts a decimal number off the front of a text.
func splitNumber(s string) (number, rest string, ok bool) {
	i, digits := 0, 0
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		i++
	}
	for point := false; i < len(s); i++ {
		if s[i] == '.' && !point {
			point = true
		} else if s[i] >= '0' && s[i] <= '9' {
			digits++
		} else {
			break
		}
	}
	if digits == 0 {
		return "", s, false
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '-' || s[j] == '+') {
			j++
		}
		if j < len(s) && s[j] >= '0' && s[j] <= '9' {
			for j < len(s) && s[j] >= '0' && s[j] <= '9' {
				j++
			}
			i = j
		}
	}
	rest = s[i:]
	if rest != "" && (rest[0] == '.' || rest[0] == ',' || rest[0] == '_' || rest[0] == '\'') {
		return "", s, false
	}
	return s[:i], strings.TrimSpace(rest), true
}

func notNumber(text, part string, k Kind) error {
	lower := strings.ToLower(part)
	for _, word := range []string{"nan", ".nan", "inf", ".inf", "-inf", "-.inf", "infinity"} {
		if lower == word || strings.HasPrefix(lower, word+" ") {
			return fmt.Errorf("%s is not a finite number; wanted %s", quote(text), k.wanted())
		}
	}
	if bare := strings.TrimLeft(part, "+-"); strings.ContainsAny(part, ",_'") && bare != "" && bare[0] >= '0' && bare[0] <= '9' {
		return separated(text, k)
	}
	return fmt.Errorf("%s does not begin with a number; wanted %s", quote(text), k.wanted())
}

// separated refuses a number with a decimal comma, or with thousands set apart.
func separated(text string, k Kind) error {
	return fmt.Errorf("%s: write a number with a decimal point and without separators, such as %s", quote(text), k.Example())
}

// convert turns a number and the name of its unit into SI.
func (k Kind) convert(text, number, name string) (float64, error) {
	if k == Gauge || (k == WireSize && strings.HasSuffix(name, "AWG")) {
		return k.gauge(text, number, name)
	}
	if name != "" && name[0] >= '0' && name[0] <= '9' { // 1 200 mAh
		return 0, separated(text, k)
	}
	none := k == Number || k == Count || k == Share || k == Ratio || k == Rating
	if name == "" {
		if !none {
			return 0, fmt.Errorf("%s is a bare number; wanted %s with its unit, such as %s", quote(text), k, k.Example())
		}
		v, err := decimal(text, number, 0)
		if err == nil && k == Count && v != math.Trunc(v) {
			return 0, fmt.Errorf("%s is not whole; wanted %s, such as %s", quote(text), k, k.Example())
		}
		return v, err
	}
	if k == Ratio && name[0] == ':' {
		return 0, fmt.Errorf("%s: wanted the turns of the motor for one of the sector, such as 18:1", quote(text))
	}
	if none && k != Share {
		return 0, fmt.Errorf("%s has a unit; wanted %s, such as %s", quote(text), k, k.Example())
	}
	if k == Temperature && (name == "C" || name == "F") {
		return 0, fmt.Errorf("%s: did you mean %s deg%s?", quote(text), number, name)
	}
	u, unknown := parseUnit(name)
	if unknown != "" {
		known := unitNames()
		if unknown == name { // the whole of it: only units of the kind
			known = slices.DeleteFunc(known, func(n string) bool {
				c, _ := parseUnit(n)
				return !c.fits(k) && (k != WireSize || n != "AWG")
			})
		}
		hint := ""
		if near := Nearest(unknown, known); near != "" {
			hint = fmt.Sprintf(" (did you mean %s?)", near)
		}
		return 0, fmt.Errorf("%s: the unit %s is not known%s; wanted %s", quote(text), quote(unknown), hint, k.wanted())
	}
	if u.alone == "AWG" || !u.fits(k) {
		what := u.kindOf()
		if u.alone == "AWG" {
			what = Gauge.String()
		}
		if what == Torque.String() && strings.HasSuffix(u.alone, "J") {
			what = Energy.String() // both are newton metres
		}
		if what == "" {
			what = "something else"
		}
		return 0, fmt.Errorf("%s is %s; wanted %s", quote(text), what, k.wanted())
	}
	v, err := decimal(text, number, u.power)
	if err != nil {
		return 0, err
	}
	if k == Temperature && (u.alone == "degF" || u.alone == "°F") {
		v += zeroF
	}
	v *= u.factor
	if k == Temperature && (u.alone == "degC" || u.alone == "°C") {
		v += Celsius
	}
	if !Finite(v) {
		return 0, fmt.Errorf("%s is too large a number", quote(text))
	}
	return v, nil
}

// gauge reads "22 AWG", and "2/0 AWG" as −1.
func (k Kind) gauge(text, number, name string) (float64, error) {
	var v float64
	switch {
	case name == "AWG":
		n, err := decimal(text, number, 0)
		if err != nil {
			return 0, err
		}
		v = n
		if strings.Trim(number, "0") == "" { // 0, 00, 000, 0000
			v = 1 - float64(len(number))
		}
	case name == "/0 AWG":
		n, err := decimal(text, number, 0)
		if err != nil {
			return 0, err
		}
		v = 1 - n
	default:
		return 0, fmt.Errorf("%s: wanted %s", quote(text), k.wanted())
	}
	if !Gauge.Holds(v) {
		return 0, fmt.Errorf("%s: wanted a whole gauge from 4/0 to 56 AWG", quote(text))
	}
	if k == WireSize {
		return wire.Diameter(v), nil
	}
	return v, nil
}

// decimal reads a number times a power of ten without rounding twice.
func decimal(text, number string, power int) (float64, error) {
	mantissa, exponent := number, 0
	if i := strings.IndexAny(number, "eE"); i >= 0 {
		n, err := strconv.Atoi(number[i+1:])
		if err != nil || n > 400 || n < -400 {
			return 0, fmt.Errorf("%s is no number of a sensible size", quote(text))
		}
		mantissa, exponent = number[:i], n
	}
	v, err := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(exponent+power), 64)
	if err != nil || !Finite(v) {
		return 0, fmt.Errorf("%s is too large a number", quote(text))
	}
	return v, nil
}

func (k Kind) wanted() string {
	return fmt.Sprintf("%s, such as %s", k, k.Example())
}

// quote shows a text from outside, printable and not too long.
func quote(s string) string { return strconv.Quote(Printable(s, 40)) }

// Nearest returns the name that a mistyped one most likely means, "" where none
// is near: case aside, at most a third of its letters differ.
func Nearest(name string, names []string) string {
	best, found := (len(name)+1)/3, ""
	for _, n := range names {
		if strings.EqualFold(n, name) {
			return n
		}
		if d := distance(name, n, best); d <= best && (found == "" || d < best) {
			best, found = d, n
		}
	}
	return found
}

// distance counts the letters to insert, drop, change or swap with a neighbour
// between two names; above most it may return any larger number.
func distance(a, b string, most int) int {
	x, y := []rune(a), []rune(b)
	if len(x) > 64 || len(x)-len(y) > most || len(y)-len(x) > most {
		return most + 1
	}
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}
