package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Ke and resistance are those of testdata/reference/full/demo.json; with them and the
// brush drop the stall current is (8.034 V - 0.3 V)/56.38 mohm.
func TestMotorText(t *testing.T) {
	o := command(t, "motor")
	assert.Zero(t, o.code)
	for _, text := range []string{
		"Woodland club rifle: 3 slots, 25 turns of 0.68 mm, at 20 degC", "Ke = Kt           3.942 mV s", "coil flux (A5)",
		"stall current           137.2 A", "best efficiency        73.28 %", "from no load to standstill", "ASTM F2879",
	} {
		assert.Contains(t, o.stdout, text)
	}
	assert.NotContains(t, o.stdout, "NaN")

	hot := command(t, "motor", "--set", "ambient.temperature=80 degC")
	assert.Contains(t, hot.stdout, "at 80 degC")
	assert.Contains(t, hot.stdout, "resistance        69.67 mohm", "56.38 mohm and 0.00393 /K over 60 K")

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
	// By hand: V - Vb = Ke w + (R + c w) (Tc + kv w)/Ke, with commutation's c = share S La/(2 pi)
	// and the share of testdata/reference/full/demo.json.
	c := 0.3575033182499453 * 3 * *m.Motor["inductance_h"] / (2 * math.Pi)
	left := func(w float64) float64 { return m.Voltage - 0.3 - ke*w }
	qa, qb, qc := c*2e-6/ke, ke+(r*2e-6+c*3.5e-3)/ke, r*3.5e-3/ke-(m.Voltage-0.3)
	w := (math.Sqrt(qb*qb-4*qa*qc) - qb) / (2 * qa)
	assert.InEpsilon(t, w, m.NoLoad, 1e-9, "the reference's share has that many digits in common")
	assert.InEpsilon(t, (3.5e-3+2e-6*w)/ke, m.I0, 1e-9)
	assert.InEpsilon(t, (m.Voltage-0.3)/r, m.Stall, 1e-12)
	assert.InEpsilon(t, ke*m.Stall, m.Torque, 1e-12)
	peak := 0.
	for n := range 10000 {
		speed := w * float64(n) / 1e4
		current := left(speed) / (r + c*speed)
		peak = max(peak, (ke*current-3.5e-3-2e-6*speed)*speed/(m.Voltage*current))
	}
	assert.InEpsilon(t, peak, m.Peak, 1e-6, "the best of ten thousand speeds")
	require.NotNil(t, m.Margin)

	o = command(t, "motor", "--json", "--set", benchMotor)
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &m))
	assert.Nil(t, m.Motor["tooth_flux_wb"])
	assert.Nil(t, m.Motor["gap_flux_density_t"])
	assert.Nil(t, m.Motor["slot_fill"])
	assert.Nil(t, m.Margin)
	assert.InEpsilon(t, 7.1/88, *m.Motor["resistance_ohm"], 1e-12)

	two := variants(t, []string{"motor.armature.turns=22"}, []string{"motor.armature.turns=22"})
	a, b := two[0], two[1]
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
	rows := strings.Split(string(csv), "\n")
	assert.Equal(t, "motor,torque_n_m,speed_rad_s,current_a,input_w,output_w,efficiency", rows[0])
	var n, torque, speed, current, input, output, efficiency float64
	_, err = fmt.Sscanf(strings.ReplaceAll(rows[200], ",", " "), "%g %g %g %g %g %g %g", &n, &torque, &speed, &current, &input, &output, &efficiency)
	require.NoError(t, err)
	assert.InEpsilon(t, torque*speed, output, 1e-9)
	assert.InEpsilon(t, 8.03395*current, input, 1e-5)
	assert.InEpsilon(t, output/input, efficiency, 1e-9)
}

func TestMotorSaysWhereItComesFrom(t *testing.T) {
	o := command(t, "motor", "--set", "motor.drag=", "--set", "motor.stator.brush.drop=", "--set", "motor.commutation=30 %")
	assert.Regexp(t, `drag, constant +3\.50 mN m +assumed \(A9\)`, o.stdout)
	assert.Regexp(t, `brush drop +0\.300 V +assumed, of the pair`, o.stdout)
	assert.Regexp(t, `commutation +\d+\.\d+ mohm`, o.stdout)
	assert.Contains(t, o.stdout, "the tooth saturates")
	bench := command(t, "motor", "--set", benchMotor, "--set", "motor.drag.viscous=")
	assert.Regexp(t, `resistance +80\.68 mohm +bench: \(V - Vb\)/stall current`, bench.stdout)
	assert.Regexp(t, `inductance +\d+\.\d+ uH +assumed: 0\.7 ms`, bench.stdout)
	assert.Regexp(t, `drag, per speed +0 uN m s +assumed`, bench.stdout)
	byOhm := command(t, "motor", "--set", benchMotor, "--set", "motor.bench.resistance=80 mohm", "--set", "motor.bench.inductance=60 uH")
	assert.Regexp(t, `resistance +80\.00 mohm +bench: given`, byOhm.stdout)
	assert.Regexp(t, `inductance +60\.00 uH +given`, byOhm.stdout)
	weak := command(t, "motor", "--set", "motor.stator.magnet.remanence=0.3 T")
	assert.Contains(t, weak.stdout, "the tooth hardly saturates")
}

func TestMotorWarns(t *testing.T) {
	o := command(t, "motor", "--set", "battery.chemistry=lithium-iron-phosphate", "--set", "motor.armature.wire=0.8 mm", "--set", "motor.stator.magnet.coercivity=500 kA/m", "--strict")
	assert.Equal(t, missed, o.code)
	for _, code := range []string{"[cell-curve]", "[slot-fill]", "[held-demagnetisation]"} {
		assert.Contains(t, o.stdout, code)
	}
	assert.Regexp(t, `\A.*\n\ncaution: `, o.stdout, "below the title")
	assert.Equal(t, "ampstroke: the current of the held motor would weaken the magnets (--strict)\n", o.stderr)
	assert.Regexp(t, `\A.*\n\nconstants\n`, command(t, "motor").stdout, "nothing to say")
	assert.Zero(t, command(t, "motor", "--set", "battery.chemistry=lithium-iron-phosphate", "--strict").code, "a caution alone")
	assert.Zero(t, command(t, "motor", "--strict").code)
	cold, hot := command(t, "motor"), command(t, "motor", "--set", "ambient.temperature=80 degC")
	assert.Regexp(t, `demagnetisation margin +9\.49 %`, cold.stdout)
	assert.NotRegexp(t, `demagnetisation margin +9\.49 %`, hot.stdout, "coercivity and remanence at the ambient temperature")
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
		{"motor.bench.brush_drop: 0.3 V leaves nothing of the 0.2 V", []string{"--set", strings.Replace(benchMotor, "7.4 V", "0.2 V", 1)}},
		{"motor.bench.drift: -1 %/K leaves no magnet at the 120 degC", []string{"--set", benchMotor, "--set", "motor.bench.drift=-1 %/K", "--set", "motor.bench.temperature=120 degC"}},
		{"motor.stator.magnet.coercivity_drift: -2 %/K leaves no coercivity at the ambient 80 degC", []string{"--set", "motor.stator.magnet.coercivity_drift=-2 %/K", "--set", "ambient.temperature=80 degC"}},
	} {
		o := command(t, append([]string{"motor"}, c.args...)...)
		assert.Equal(t, badInput, o.code)
		assert.Contains(t, o.stderr, c.text)
		assert.Empty(t, o.stdout)
	}
}
