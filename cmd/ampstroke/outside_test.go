package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const outside = "../../testdata/outside"

// outsideFigures are those that contain the flight.
var outsideFigures = map[string]bool{
	"muzzle_velocity_m_s": true, "muzzle_energy_j": true, "time_to_home_s": true, "piston_impact_m_s": true,
	"trigger_delay_s": true, "pme_rate_of_fire_hz": true, "overall_efficiency": true,
}

// A second program, written from the reference model in Python on scipy without
// sight of this code, has computed these builds (testdata/outside; .ci/outside
// computes them anew). Motor constants agree to 1e-9, figures to 1e-6, those of
// the flight to 1e-5, ledger rows to 1e-6 of themselves or, of the flight, 1e-5 of
// the battery's, the margin to 1 µs. A build that it refuses is refused here.
func TestOutside(t *testing.T) {
	var stored struct {
		Results []struct {
			Name, File string
			Set        []string
			Figures    map[string]any
		}
	}
	text, err := os.ReadFile(filepath.Join(outside, "results.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &stored))
	require.GreaterOrEqual(t, len(stored.Results), 20)
	compared := 0
	for _, b := range stored.Results {
		t.Run(b.Name, func(t *testing.T) {
			args := []string{"cycle", "--json", filepath.Join("../..", b.File)}
			for _, s := range b.Set {
				args = append(args, "--set", s)
			}
			o := command(t, args...)
			if why, refused := b.Figures["refused"]; refused {
				assert.Equal(t, 2, o.code, "outside: %s", why)
				return
			}
			require.Zero(t, o.code, o.stderr)
			var got map[string]any
			require.NoError(t, json.Unmarshal([]byte(o.stdout), &got))
			for key, want := range b.Figures {
				switch want := want.(type) {
				case map[string]any:
					if key == "motor" {
						for name, v := range want {
							compared += agree(t, key+"."+name, v, got[key].(map[string]any)[name], 1e-9, 0)
						}
					}
					if key == "ledger_j" {
						battery, _ := want["battery"].(float64)
						for name, v := range want {
							compared += agreeRow(t, name, v, got[key].(map[string]any)[name], battery)
						}
					}
				case float64, string, bool, nil:
					value, has := got[key]
					_, brakes := b.Figures["brake_current_a"].(float64)
					switch {
					case !has, key == "brake_current_a", key == "demagnetisation_margin" && brakes:
						// Of the brake's current only the command knows.
					case key == "pme_margin_s":
						compared += agree(t, key, want, value, 0, 1e-6)
					case outsideFigures[key]:
						compared += agree(t, key, want, value, 1e-5, 0)
					default:
						compared += agree(t, key, want, value, 1e-6, 0)
					}
				}
			}
		})
	}
	assert.Greater(t, compared, 50*len(stored.Results), "figures were compared")
}

// agree holds a value against an outside one, relative or absolute.
func agree(t *testing.T, key string, want, got any, relative, absolute float64) int {
	w, number := want.(float64)
	g, ok := got.(float64)
	if !number || !ok {
		assert.Equal(t, want, got, key)
		return 1
	}
	assert.LessOrEqual(t, math.Abs(g-w), relative*math.Abs(w)+absolute, "%s: %g, outside %g", key, g, w)
	return 1
}

func agreeRow(t *testing.T, row string, want, got any, battery float64) int {
	switch row {
	case "residual":
		if g, ok := got.(float64); ok {
			assert.LessOrEqual(t, math.Abs(g), 1e-6*battery, row)
		}
		return 1
	case "piston_drag", "impact", "air", "walls", "surge", "barrel", "pellet", "stored":
		return agree(t, fmt.Sprint("ledger ", row), want, got, 0, 1e-5*battery)
	}
	return agree(t, fmt.Sprint("ledger ", row), want, got, 1e-6, 0)
}
