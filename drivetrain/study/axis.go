package study

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

// Axis is a key of a build file with the values that a [Sweep] gives it.
type Axis struct {
	// Key is its path.
	Key  string
	Kind quantity.Kind
	// Values are given in this order [SI].
	Values []float64
}

// MostPoints is how many combinations a sweep may have.
const MostPoints = 10000

// ParseAxis reads a key and its values:
//
//	gears.ratio=10,12,14               some; one unit behind the last is enough
//	motor.armature.turns=20..32        whole numbers, by one
//	motor.armature.turns=20..32 by 3   or by more
//	spring.rate=600..800 N/m:9         nine values from end to end
//	spring.rate=600..800 N/m by 25 N/m as many as fit
//
// The error says what was found and what was wanted.
func ParseAxis(text string) (Axis, error) {
	key, values, ok := strings.Cut(text, "=")
	if key = strings.TrimSpace(key); !ok || key == "" {
		return Axis{}, fmt.Errorf("%q: wanted a key and its values, such as motor.armature.turns=20..32", quantity.Printable(text, 60))
	}
	k, ok := buildfile.FindKey(key)
	switch {
	case !ok:
		hint := "; 'ampstroke keys' lists all"
		if near := buildfile.NearKeys(key); near != "" {
			hint = "; " + near
		}
		return Axis{}, fmt.Errorf("%s: no such key that holds a value%s", quantity.Printable(key, 60), hint)
	case !k.Quantity:
		return Axis{}, fmt.Errorf("%s: is a word, and only numbers can be varied", key)
	}
	a := Axis{Key: key, Kind: k.Kind}
	var err error
	if from, to, ok := strings.Cut(values, ".."); ok {
		a.Values, err = between(&k, from, to)
	} else {
		a.Values, err = some(&k, values)
	}
	if err != nil {
		return Axis{}, fmt.Errorf("%s: %w", key, err)
	}
	for i, v := range a.Values {
		lo, hi := k.Range[0], k.Range[1]
		switch {
		case slices.Contains(a.Values[:i], v):
			return Axis{}, fmt.Errorf("%s: %s is there twice", key, k.Kind.Format(v))
		case v != 0 && (v < lo || v > hi):
			return Axis{}, fmt.Errorf("%s: %s is out of range; wanted %s to %s", key, k.Kind.Format(v), k.Kind.Format(lo), k.Kind.Format(hi))
		}
	}
	return a, nil
}

// bare is a number without a unit, number one at the front of a text.
var (
	bare   = regexp.MustCompile(`^\s*[-+]?[0-9]*\.?[0-9]+(?:[eE][-+]?[0-9]+)?\s*$`)
	number = regexp.MustCompile(`^\s*[-+]?[0-9]*\.?[0-9]+(?:[eE][-+]?[0-9]+)?`)
	spaced = regexp.MustCompile(`\s+by\s+`)
)

// read reads a value; a bare number takes the unit behind another one.
func read(k quantity.Kind, text, other string) (float64, error) {
	if bare.MatchString(text) {
		text += " " + strings.TrimSpace(number.ReplaceAllString(other, ""))
	}
	v, err := quantity.Parse(text, k)
	if err != nil {
		return 0, err
	}
	if v.Tolerance != 0 {
		return 0, fmt.Errorf("%s has a tolerance; wanted a value without", strings.TrimSpace(text))
	}
	return v.SI, nil
}

// some reads values with commas between.
func some(k *buildfile.Key, text string) (all []float64, err error) {
	parts := strings.Split(text, ",")
	if len(parts) > MostPoints {
		return nil, fmt.Errorf("%d values; wanted at most %d", len(parts), MostPoints)
	}
	for _, part := range parts {
		v, err := read(k.Kind, part, parts[len(parts)-1])
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, nil
}

// between reads the values of a range.
func between(k *buildfile.Key, from, rest string) ([]float64, error) {
	to, step := rest, ""
	if at := spaced.FindStringIndex(rest); at != nil {
		to, step = rest[:at[0]], rest[at[1]:]
	}
	count := 0
	if i := strings.LastIndexByte(to, ':'); i >= 0 {
		n, err := strconv.Atoi(strings.TrimSpace(to[i+1:]))
		switch {
		case k.Kind == quantity.Ratio && (err != nil || n == 1): // 18:1 is a ratio
		case err != nil || n < 2 || n > MostPoints:
			return nil, fmt.Errorf("%q: wanted how many values behind the colon, 2 to %d", strings.TrimSpace(to[i+1:]), MostPoints)
		default:
			to, count = to[:i], n
		}
	}
	a, err := read(k.Kind, from, to)
	if err != nil {
		return nil, err
	}
	b, err := read(k.Kind, to, from)
	if err != nil {
		return nil, err
	}
	switch {
	case a == b:
		return nil, fmt.Errorf("the range begins and ends at %s; wanted two values", k.Kind.Format(a))
	case count > 0 && step != "":
		return nil, fmt.Errorf("both a count (%d) and a step (%s) are given; wanted one", count, strings.TrimSpace(step))
	case count == 0 && step == "" && !k.Whole:
		return nil, fmt.Errorf("how many values from %[1]s to %[2]s? Wanted a count, %[1]s..%[2]s:9, or a step behind by", k.Kind.Format(a), k.Kind.Format(b))
	case count > 0:
		all := make([]float64, count)
		for i := range all {
			all[i] = a + (b-a)*float64(i)/float64(count-1)
			if all[i] = tidy(all[i], b-a); k.Whole && all[i] != math.Trunc(all[i]) {
				return nil, fmt.Errorf("%d values from %s to %s aren't whole numbers", count, k.Kind.Format(a), k.Kind.Format(b))
			}
		}
		all[count-1] = b
		return all, nil
	}
	by := 1.
	if step != "" {
		kind, unit := k.Kind, to
		if kind == quantity.Gauge {
			kind, unit = quantity.Count, ""
		}
		if by, err = read(kind, step, unit); err != nil {
			return nil, fmt.Errorf("by: %w", err)
		}
		if kind == quantity.Temperature && !strings.HasSuffix(strings.TrimSpace(step), "K") {
			return nil, fmt.Errorf("by: %s: a step of a temperature is in K", strings.TrimSpace(step))
		}
		if by = math.Abs(by); by == 0 {
			return nil, fmt.Errorf("by: a step of nothing; wanted more")
		}
	}
	n := math.Floor(math.Abs(b-a)/by + 1e-9)
	if n+1 > MostPoints {
		return nil, fmt.Errorf("%.0f values; wanted at most %d", n+1, MostPoints)
	}
	var all []float64
	for i := 0.; i <= n; i++ {
		all = append(all, tidy(a+math.Copysign(i*by, b-a), b-a))
	}
	return all, nil
}

// tidy takes the dust of sums from a value of a range: its fifteenth digit.
func tidy(v, span float64) float64 {
	if math.Abs(v) < 1e-12*math.Abs(span) {
		return 0
	}
	t, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 14, 64), 64)
	if err != nil {
		return v
	}
	return t
}
