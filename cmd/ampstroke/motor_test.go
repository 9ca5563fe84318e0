package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMotorText(t *testing.T) {
	o := command(t, "motor")
	assert.Zero(t, o.code)
	for _, text := range []string{
		"Woodland club rifle: 3 slots, 28 turns of 0.65 mm, at 20 degC", "Ke = Kt           4.415 mV s", "coil flux (A5)",
		"stall current           111.9 A", "best efficiency    75.31 %", "from no load to standstill", "ASTM F2879",
	} {
		assert.Contains(t, o.stdout, text)
	}
	assert.NotContains(t, o.stdout, "NaN")

	hot := command(t, "motor", "--set", "ambient.temperature=80 degC")
	assert.Contains(t, hot.stdout, "at 80 degC")
	assert.Contains(t, hot.stdout, "resistance        85.40 mohm", "0.00393 /K over 60 K")

	weak := command(t, "motor", "--set", "battery.chemistry=custom", "--set", "battery.ocv=[[0 %, 0.1 V], [100 %, 0.12 V]]")
	assert.Zero(t, weak.code)
	assert.Contains(t, weak.stdout, "the motor doesn't turn")
	assert.NotContains(t, weak.stdout, "NaN")
}

const benchMotor = "motor.bench={voltage: 7.4 V, no_load_speed: 15300 rpm, no_load_current: 1.9 A, stall_current: 88 A, inertia: 12 g cm2}"

func TestMotorJSON(t *testing.T) {
	var m struct {
		Motor   map[string]*float64
		NoLoad  float64  `json:"no_load_speed_rad_s"`
		I0      float64  `json:"no_load_current_a"`
		Stall   float64  `json:"stall_current_a"`
		Torque  float64  `json:"stall_torque_n_m"`
		Peak    float64  `json:"peak_efficiency"`
		Voltage float64  `json:"voltage_v"`
		Margin  *float64 `json:"demagnetisation_margin"`
	}
	o := command(t, "motor", "--json")
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &m))
	ke, r := *m.Motor["ke_v_s"], *m.Motor["resistance_ohm"]
	// By hand: V - Vb = Ke w + R (Tc + kv w)/Ke.
	w := (m.Voltage - 0.3 - r*3.5e-3/ke) / (ke + r*2e-6/ke)
	assert.InEpsilon(t, w, m.NoLoad, 1e-12)
	assert.InEpsilon(t, (3.5e-3+2e-6*w)/ke, m.I0, 1e-12)
	assert.InEpsilon(t, (m.Voltage-0.3)/r, m.Stall, 1e-12)
	assert.InEpsilon(t, ke*m.Stall, m.Torque, 1e-12)
	assert.InDelta(t, 0.753, m.Peak, 5e-4)
	require.NotNil(t, m.Margin)

	o = command(t, "motor", "--json", "--set", benchMotor)
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &m))
	assert.Nil(t, m.Motor["tooth_flux_wb"])
	assert.Nil(t, m.Motor["gap_flux_density_t"])
	assert.Nil(t, m.Motor["slot_fill"])
	assert.Nil(t, m.Margin)
	assert.InEpsilon(t, 7.1/88, *m.Motor["resistance_ohm"], 1e-12)

	a, b := file(t, "{}"), file(t, "{}")
	for _, path := range []string{a, b} {
		require.NoError(t, os.WriteFile(path, []byte(strings.Replace(demoText(), "turns: 28", "turns: 22", 1)), 0o666))
	}
	var several struct{ Motors []json.RawMessage }
	require.NoError(t, json.Unmarshal([]byte(command(t, "motor", a, b, "--json").stdout), &several))
	assert.Len(t, several.Motors, 2)
	assert.Contains(t, command(t, "motor", a, b).stdout, "2 motors side by side")
}

func TestMotorFiles(t *testing.T) {
	dir := t.TempDir()
	o := command(t, "motor", "--plot", filepath.Join(dir, "m.svg"), "--trace", filepath.Join(dir, "m.csv"))
	require.Zero(t, o.code)
	svg, err := os.ReadFile(filepath.Join(dir, "m.svg"))
	require.NoError(t, err)
	assert.Contains(t, string(svg), "Woodland club rifle")
	csv, err := os.ReadFile(filepath.Join(dir, "m.csv"))
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(csv), "motor,torque_n_m,speed_rad_s,current_a,input_w,output_w,efficiency\n1,0,"))
}

func TestMotorRefuses(t *testing.T) {
	for _, c := range []struct {
		text string
		args []string
	}{
		{"motor.stator: stands beside motor.bench", []string{file(t, strings.Replace(demoText(), "motor:\n", "motor:\n  bench: {voltage: 7.4 V, no_load_speed: 15300 rpm, no_load_current: 1.9 A, stall_current: 88 A, inertia: 12 g cm2}\n", 1))}},
		{"motor.bench.no_load_speed: \"15300\" is a bare number", []string{"--set", strings.Replace(benchMotor, "15300 rpm", "15300", 1)}},
		{"motor.bench.stall_current: missing; wanted it, or motor.bench.resistance", []string{"--set", benchMotor, "--set", "motor.bench.stall_current="}},
		{"motor.commutation", []string{"--set", benchMotor, "--set", "motor.commutation=30 %"}},
		{"no such file", []string{"nowhere.yaml", "--json"}},
	} {
		o := command(t, append([]string{"motor"}, c.args...)...)
		assert.Equal(t, badInput, o.code)
		assert.Contains(t, o.stderr, c.text)
		assert.Empty(t, o.stdout)
	}
}
