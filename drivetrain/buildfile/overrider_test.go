package buildfile_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/internal/effort"
)

// Sets of overrides make the build that they make in a file, and are refused with the same
// words, whatever came before.
func TestOverriderIsWith(t *testing.T) {
	d, err := buildfile.DemoDocument("pellet.mass=0.25 g")
	require.NoError(t, err)
	o := d.Overrider()
	values := map[string][]string{
		"motor.armature.turns": {"22", "30", "18.5", "two", "0", "22 turns", "\"24\"", "24.0"}, "battery.series": {"3", "4", ""},
		"spring.rate": {"700 N/m", "0.8 N/mm", "650 N/m ± 5 %", "-1 N/m", "7 mm", "3.9 lbf/in"}, "pellet.mass": {"0.3 g", "0.2", "300 mg", "{}"},
		"gears.ratio": {"12", "18:1", "[1]"}, "gears.efficiency": {"70 %", "0.7", "120 %"}, "trigger.mode": {"single", "automatic", "burst"},
		"motor.commutation": {"auto", "20 %"}, "harness.lead.gauge": {"16 AWG", "18 AWG", "16"}, "harness.connectors.1.resistance": {"2 mohm"},
		"harness.fuse": {"", "{rating: 20 A}"}, "target.rate_of_fire.min": {"18 /s"}, "spring.wire": {"1.4 mm"}, "ambient.temperature": {"30 degC", "86 degF"},
		"motor.stator.magnet.remanence": {"1.1 T"}, "battery.chemistry": {"LiPo"}, "name": {"Another"}, "colour": {"red"},
	}
	var paths []string
	for _, k := range buildfile.Keys() {
		if len(values[k.Path]) > 0 {
			paths = append(paths, k.Path)
		}
	}
	paths = append(paths, "harness.connectors.1.resistance", "harness.fuse", "colour")
	rng := rand.New(rand.NewPCG(7, 11))
	good, wrong := 0, 0
	for range effort.Of(3000) {
		var set []buildfile.Override
		var texts []string
		for _, i := range rng.Perm(len(paths))[:rng.IntN(4)] {
			of := values[paths[i]]
			o := buildfile.Override{Path: paths[i], Value: of[rng.IntN(len(of))]}
			set, texts = append(set, o), append(texts, o.String())
		}
		want, wantErr := d.With(texts...)
		got, target, err := o.Override(set)
		if wantErr != nil {
			require.EqualError(t, err, wantErr.Error(), texts)
			wrong++
			continue
		}
		require.NoError(t, err, texts)
		require.Equal(t, fmt.Sprintf("%+v", want.Target), fmt.Sprintf("%+v", target))
		require.Equal(t, want.Build, got, texts)
		good++
	}
	assert.Greater(t, good, effort.Seen(800))
	assert.Greater(t, wrong, effort.Seen(800))
}

func BenchmarkOverrider(b *testing.B) {
	d, err := buildfile.DemoDocument()
	require.NoError(b, err)
	o := d.Overrider()
	set := []buildfile.Override{{Path: "motor.armature.turns", Value: "22"}, {Path: "spring.rate", Value: "700 N/m"}, {Path: "pellet.mass", Value: "0.25 g"}}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := o.Override(set); err != nil {
			b.Fatal(err)
		}
	}
}
