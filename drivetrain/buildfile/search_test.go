package buildfile_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

func TestAllowed(t *testing.T) {
	for path, want := range map[string]string{
		"name":                      "free text",
		"spring.waves":              "true or false",
		"trigger.mode":              "one of automatic, single",
		"motor.commutation":         "auto, or 0 % to 100 %",
		"motor.armature.wire":       "0.01 mm to 10 mm, or a gauge, such as 22 AWG",
		"motor.armature.turns":      "a whole number, 1 to 1000",
		"harness.lead.gauge":        "4/0 AWG to 46 AWG",
		"piston.mass":               "0.1 g to 10000 g",
		"target.muzzle_energy.max":  "an energy, such as 0.9 J",
		"battery.discharge_rating":  "0 to 1000",
		"motor.bench.no_load_speed": "100 rpm to 954930 rpm",
	} {
		k, ok := buildfile.FindKey(path)
		assert.True(t, ok, path)
		assert.Equal(t, want, k.Allowed(), path)
	}
	none := buildfile.Key{Quantity: true, Kind: quantity.Length, Range: [2]float64{math.NaN(), math.NaN()}}
	assert.Equal(t, "a length, such as 350 mm", none.Allowed())
}

func TestNearKeys(t *testing.T) {
	for word, want := range map[string]string{
		"weight":        "did you mean pellet.mass or piston.mass or spring.mass?",
		"spring.weight": "did you mean spring.mass?",
		"FPS":           "did you mean target.muzzle_velocity?",
		"prelaod":       "did you mean preload?",
		"piston.mas":    "did you mean piston.mass?",
		"nonsensical":   "",
		"":              "",
	} {
		assert.Equal(t, want, buildfile.NearKeys(word), word)
	}
}

func ExampleSearchKeys() {
	for _, k := range buildfile.SearchKeys("piston", "friction") {
		fmt.Println(k.Path, k.Allowed())
	}
	// Output:
	// piston.drag 0 N to 1000 N
	// piston.drag_pull 0 N to 1000 N
	// piston.seal_area 0 mm2 to 10000 mm2
}
