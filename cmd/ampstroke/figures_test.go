package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/motor"
)

// What JSON has no number for is null, by itself and inside of what is written.
func TestNoNumberIsNull(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		text, err := json.Marshal(object{{"value", number(v)}, {"list", []number{number(v), 1}}})
		require.NoError(t, err)
		assert.Equal(t, `{"value":null,"list":[null,1]}`, string(text))
	}
	text, err := json.Marshal(number(-0.25))
	require.NoError(t, err)
	assert.Equal(t, "-0.25", string(text))
	w := numbered(t)
	w.Summary.DemagnetisationMargin, w.Summary.TimeToHome = math.Inf(-1), math.Inf(1)
	all := decoded(t, cycleJSON(w, nil, nil, nil))
	assert.Nil(t, all["demagnetisation_margin"])
	assert.Nil(t, all["time_to_home_s"])
}

// numbered is a result whose figures are all different numbers.
func numbered(t *testing.T) *cycle.Result {
	n := 0.
	count := func(part any) {
		v := reflect.ValueOf(part).Elem()
		for i := range v.NumField() {
			if f := v.Field(i); f.Kind() == reflect.Float64 {
				n++
				f.SetFloat(n)
			}
		}
	}
	r := &cycle.Result{Build: buildfile.Demo(), Flight: &flight.Result{}, Pull: &cycle.Pull{}}
	for _, part := range []any{&r.Summary, &r.Motor, &r.Ledger, &r.Flight.Summary, r.Pull} {
		count(part)
	}
	require.Greater(t, n, 80.)
	return r
}

func decoded(t *testing.T, o object) (all map[string]any) {
	text, err := json.Marshal(o)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &all))
	return all
}

// snake is a Go name as JSON has it.
func snake(name string) string {
	var b strings.Builder
	runes := []rune(name)
	for i, r := range runes {
		if i > 0 && unicode.IsUpper(r) && (unicode.IsLower(runes[i-1]) || i+1 < len(runes) && unicode.IsLower(runes[i+1])) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}

// What a cycle's document says of figures is what the lists say, under their keys; the
// books and the flight's are written under the names of their fields.
func TestFiguresUnderTheirNames(t *testing.T) {
	r := numbered(t)
	all := decoded(t, cycleJSON(r, nil, nil, nil))
	for _, f := range cycle.Figures() {
		assert.Equal(t, f.Value(r), all[f.Key()], f.Key())
	}
	constants := all["motor"].(map[string]any)
	for _, f := range motor.Figures().In("constants") {
		if f.Name != "commutation_resistance" { // of a motor on a voltage
			assert.Equal(t, f.Value(&motor.Supplied{Constants: r.Motor}), constants[f.Key()], f.Key())
		}
	}
	under := func(o map[string]any, part any) (found int) {
		t.Helper()
		v := reflect.ValueOf(part).Elem()
		for i := range v.NumField() {
			key := snake(v.Type().Field(i).Name)
			for _, unit := range []string{"", "_s", "_m_s", "_j", "_pa"} {
				if value, ok := o[key+unit]; ok {
					assert.Equal(t, v.Field(i).Float(), value, key+unit)
					found++
				}
			}
		}
		return found
	}
	ledger := all["ledger_j"].(map[string]any)
	assert.Len(t, ledger, under(ledger, &r.Ledger))
	assert.GreaterOrEqual(t, under(all["flight"].(map[string]any), &r.Flight.Summary), 4)
}

// --strict finds fault with a part at its limit and with a plan that ended early, each
// alone.
func TestHeatStrict(t *testing.T) {
	plan := filepath.Join(t.TempDir(), "short.yaml")
	require.NoError(t, os.WriteFile(plan, []byte("name: Short\nsteps:\n- {rounds: 30, pause: 2 s, repeat: 10}\n"), 0o600))
	for overrides, code := range map[string]int{
		"":                               0,
		"motor.heat.limit=30 degC":       missed,
		"battery.state_of_charge=6 %":    missed,
		"harness.fuse.rating=12 A":       missed,
		"battery.discharge_rating=5":     0, // a caution
		"motor.stator.magnet.limit=60 K": badInput,
	} {
		args := []string{"heat", "--plan", plan, "--strict", "--set", "target="}
		if overrides != "" {
			args = append(args, "--set", overrides)
		}
		o := command(t, args...)
		assert.Equal(t, code, o.code, "%s: %s", overrides, o.stderr)
	}
}

// The command's temperatures are degrees Celsius, limits included, whatever they are
// of: those of the parts are the reference's.
func TestHeatInDegrees(t *testing.T) {
	o := command(t, "heat", "--json", "--gauges")
	require.Zero(t, o.code)
	var all any
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &all))
	found := 0
	var walk func(key string, v any)
	walk = func(key string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for k, inner := range v {
				if !strings.HasSuffix(key, "_degc") || strings.HasSuffix(k, "_degc") {
					walk(k, inner)
				} else {
					walk(key, inner)
				}
			}
		case []any:
			for _, inner := range v {
				walk(key, inner)
			}
		case float64:
			if !strings.HasSuffix(key, "_degc") {
				return
			}
			found++
			// It is 20 °C, no part comes near 200 °C but the fuse, and 293 is what 20 °C is in
			// kelvin.
			if key != "limit_degc" && key != "peak_degc" && key != "endless_degc" {
				assert.GreaterOrEqual(t, v, 20.-1e-9, key)
				assert.Less(t, v, 60., key)
			}
		}
	}
	walk("", all)
	assert.Greater(t, found, 60)

	data, err := os.ReadFile("../../testdata/reference/heat-demo.json")
	require.NoError(t, err)
	var want heatJSON
	require.NoError(t, json.Unmarshal(data, &want))
	h := heatOf(t, "../../testdata/builds/demo.yaml", "--plan", "../../testdata/reference/heat-demo.plan.yaml")
	require.Len(t, want.Parts, 8)
	for i, w := range want.Parts {
		p := h.Parts[i]
		assert.Equal(t, w.Name, p.Name)
		assert.InDelta(t, *w.Limit, *p.Limit, 1e-9, w.Name)
		assert.InDelta(t, *w.Start, *p.Start, 1e-9, w.Name)
		assert.InDelta(t, *w.Peak, *p.Peak, 0.1, w.Name)
	}
	limits := []float64{155, 80, 130, 180, 105, 150, 60, 419.5}
	for i, p := range h.Parts {
		assert.InDelta(t, limits[i], *p.Limit, 1e-9, p.Name)
	}

	gauges := heatOf(t, "--gauges")
	require.Len(t, gauges.Gauges, 8)
	for i, g := range gauges.Gauges {
		assert.InDelta(t, 180, g["limit_degc"], 1e-9)
		assert.Greater(t, g["peak_degc"], 20.)
		assert.Less(t, g["peak_degc"], 60.)
		assert.Greater(t, g["endless_degc"], g["peak_degc"])
		if i < 4 { // down to the demo's own
			assert.Less(t, g["endless_degc"], 75.)
		}
	}
	assert.Equal(t, gauges.Gauges[3]["endless_degc"], gauges.Leads["endless_degc"])
}
