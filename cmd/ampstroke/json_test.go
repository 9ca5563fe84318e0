package main

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is written without reflection is what package json writes.
func TestJSONIsThatOfThePackage(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	numbers := []float64{0, math.Copysign(0, -1), 1, -1, 1e-6, 9.99e-7, 1e-7, 1e-10, 1e-100, 1e20, 1e21, 1e22, 1.5e300, math.MaxFloat64, math.SmallestNonzeroFloat64, 1. / 3}
	for range 20000 {
		numbers = append(numbers, math.Float64frombits(rng.Uint64()))
	}
	for _, v := range numbers {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			continue
		}
		want, err := json.Marshal(v)
		require.NoError(t, err)
		require.Equal(t, string(want), string(appendNumber(nil, v)))
	}
	for _, s := range []string{"", "plain", "with \"quotes\"", `back\slash`, "<b>&", "ümlaut", "line\nbreak", "\x00", "\u2028", "\xff", "~", "\x7f"} {
		want, err := json.Marshal(s)
		require.NoError(t, err)
		got, err := appendString(nil, s)
		require.NoError(t, err)
		require.Equal(t, string(want), string(got))
	}
	nested := object{{"a", nil}, {"b", true}, {"c", -7}, {"d", []object{{{"x", number(2)}}, {}}}, {"e", []object(nil)}, {"f", []string{"p", "q"}}, {"g", []number{1, 2}}, {"h", json.Number("12")}, {"<", object{}}}
	text, err := appendJSON(nil, nested)
	require.NoError(t, err)
	assert.Equal(t, `{"a":null,"b":true,"c":-7,"d":[{"x":2},{}],"e":null,"f":["p","q"],"g":[1,2],"h":12,"\u003c":{}}`, string(text))
	through, err := json.Marshal(nested)
	require.NoError(t, err)
	assert.Equal(t, string(through), string(text))
}
