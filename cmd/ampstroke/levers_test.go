package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// lever24 asks the demo for 24 rounds a second, once for the tests of what is printed and
// of what is written.
func lever24(t *testing.T) (r struct {
	outcome          outcome
	in, out, picture string
}) {
	levered.Do(func() {
		dir, err := os.MkdirTemp(common, "levers")
		require.NoError(t, err)
		l := &levered
		l.in, l.out, l.picture = filepath.Join(dir, "my rifle.yaml"), filepath.Join(dir, "after.yaml"), filepath.Join(dir, "levers.svg")
		require.NoError(t, os.WriteFile(l.in, []byte("# mine\n"+demoText()), 0o666))
		l.outcome = command(t, "levers", l.in, "--strict", "--want", "rate_of_fire=24 /s", "--apply", "gears.ratio", "--after", l.out, "--plot", l.picture)
	})
	r.outcome, r.in, r.out, r.picture = levered.outcome, levered.in, levered.out, levered.picture
	return r
}

var levered struct {
	sync.Once
	outcome          outcome
	in, out, picture string
}

// What is missed and what alone meets it stand in the first line; the whole fits the screen.
func TestLeversText(t *testing.T) {
	o := lever24(t).outcome
	require.Equal(t, missed, o.code, o.stderr)
	fits(t, "levers", o.stdout)
	first, _, _ := strings.Cut(o.stdout, "\n\n")
	assert.Regexp(t, `^Woodland club rifle: misses rate_of_fire by 1\.977 /s: gears\.ratio 11\.3 -> 10\.\d+; motor\.armature\.stack_length 22 -> 19\.\d+ mm; .*: each alone meets it$`, unbroken(first))
	for _, part := range []string{
		"what alone meets rate_of_fire at least 24 /s, the nearest first", "motor.armature.turns 22 -12.0 % brings FAULT premature-engagement", "battery.series 3 +50.0 % MISSES muzzle_velocity; brings FAULT premature-engagement, cut-off",
		"what a step does, first what does most to what is missed", "target MISSED: rate of fire, 22.02 /s is 1.977 /s below the wanted 24 /s", "[pack-inrush]", "(--all)",
	} {
		tells(t, o.stdout, part)
	}
	assert.Regexp(t, `(?m)^  gears\.ratio +11\.3 +1 % +-0\.17 /s +-0\.017 m/s$`, o.stdout)
	assert.NotContains(t, o.stdout, "pairs", "one value is enough")

	o = command(t, "levers", lightDemo(t), "--strict", "--all")
	require.Zero(t, o.code, o.stderr)
	met := o.stdout
	assert.True(t, strings.HasPrefix(met, "Woodland club rifle: misses nothing of what is wanted; --want asks for more\n"))
	assert.Contains(t, met, "barrel.breech_volume")
	fits(t, "levers --all", met)
	none := command(t, "levers", plainDemo, "--set", "target=").stdout
	assert.True(t, strings.HasPrefix(none, "Woodland club rifle: the build file asks for no figure; --want does\n"), none[:80])

	two := command(t, "levers", "--set", "spring.rate=600 N/m", "--set", "gears.ratio=14").stdout
	fits(t, "levers, two missed", two)
	for _, part := range []string{
		"Woodland club rifle: misses rate_of_fire by 0.9567 /s: ", "each alone meets it, but not all that is wanted", "Woodland club rifle: misses muzzle_velocity by 10.2 m/s (33.6 ft/s): ",
		"no value alone meets all that is wanted; pairs that do, by the least change",
	} {
		tells(t, two, part)
	}
	stalls := command(t, "levers", lightDemo(t), "--set", "spring.rate=3000 N/m", "--set", "name="+strings.Repeat("x", 100)).stdout
	tells(t, stalls, "doesn't come to rate_of_fire: ")
	fits(t, "levers, stalled", stalls)
}

func TestLeversJSON(t *testing.T) {
	build := lightDemo(t)
	r := figuresOf(t, "levers", build, "--want", "rate_of_fire>=24 /s")
	assert.Equal(t, 1., r["format"])
	assert.Equal(t, "Woodland club rifle", r["build"])
	wants := r["wants"].([]any)
	require.Len(t, wants, 2)
	w := wants[0].(map[string]any)
	assert.Equal(t, "rate_of_fire", w["what"])
	assert.Equal(t, 24., w["min"])
	assert.Nil(t, w["max"])
	assert.InDelta(t, 24-w["value"].(float64), w["missed_by"], 1e-12)
	assert.Equal(t, 0., wants[1].(map[string]any)["missed_by"])
	cycle := figuresOf(t, "cycle", build)
	effects := r["effects"].([]any)
	require.Greater(t, len(effects), 50)
	for _, e := range effects {
		e := e.(map[string]any)
		assert.Positive(t, e["step"])
		for key := range e["figures"].(map[string]any) {
			assert.Contains(t, cycle, key)
		}
	}
	singles, null := r["single"].([]any), 0
	require.Len(t, singles, len(effects), "of each key, for the one want")
	for _, s := range singles {
		s := s.(map[string]any)
		assert.Equal(t, "rate_of_fire", s["what"])
		assert.NotNil(t, s["brings"])
		if s["value"] == nil {
			null++
			assert.Empty(t, s["others"])
			continue
		}
		assert.Equal(t, "muzzle_velocity", s["others"].([]any)[0].(map[string]any)["what"])
	}
	assert.Greater(t, null, 30)
	assert.Empty(t, r["pairs"])
	assert.NotNil(t, r["findings"])

	two := figuresOf(t, "levers", build, "--set", "spring.rate=600 N/m", "--set", "gears.ratio=14")
	pairs := two["pairs"].([]any)
	require.Len(t, pairs, 3)
	for _, p := range pairs {
		p := p.(map[string]any)
		args, most := []string{"cycle", build, "--set", "spring.rate=600 N/m", "--set", "gears.ratio=14"}, 0.
		for i, key := range p["keys"].([]any) {
			unit := map[string]string{"sector.module": " m", "motor.armature.stack_length": " m", "motor.armature.tooth_width": " m", "pellet.mass": " kg"}[key.(string)]
			v, from := p["values"].([]any)[i].(float64), p["from"].([]any)[i].(float64)
			args = append(args, "--set", fmt.Sprintf("%s=%v%s", key, v, unit))
			most = max(most, math.Abs(v/from-1))
		}
		assert.InDelta(t, most, p["largest_change"], 1e-12)
		for _, v := range figuresOf(t, args...)["verdict"].([]any) {
			assert.Equal(t, true, v.(map[string]any)["ok"], args)
		}
	}
}

func TestLeversApply(t *testing.T) {
	r := lever24(t)
	o, in, out, picture := r.outcome, r.in, r.out, r.picture
	dir := filepath.Dir(out)
	require.Equal(t, missed, o.code, o.stderr)
	assert.Contains(t, o.stderr, "wrote "+out+"\n")
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Regexp(t, `^# gears\.ratio at 10\.\d+ in place of 11\.3, so that rate_of_fire is at least 24\n# /s\.\n# mine\n`, string(text))
	assert.Equal(t, strings.Count(demoText(), "#")+3, strings.Count(string(text), "#"), "comments stay, below a note of two lines")
	rate := figuresOf(t, "cycle", out)["rate_of_fire_hz"].(float64)
	assert.True(t, rate >= 24 && rate < 24.01, "%g", rate)
	svg, err := os.ReadFile(picture)
	require.NoError(t, err)
	assert.Contains(t, string(svg), "misses rate of fire by 2.0 /s")
	assert.Contains(t, string(svg), "alone at 10.")

	for _, c := range []struct {
		says string
		args []string
	}{
		{"is read from the same file", []string{in, "--apply", "gears.ratio", "--after", in}},
		{"wanted both", []string{"--apply", "gears.ratio"}},
		{"wanted both", []string{"--after", out}},
		{"ends in .yaml", []string{"--apply", "gears.ratio", "--after", filepath.Join(dir, "a.txt")}},
		{"nothing is missed", []string{plainDemo, "--apply", "gears.ratio", "--after", out}},
		{"did you mean gears.ratio?", []string{plainDemo, "--want", "rate_of_fire=24 /s", "--apply", "gears.rato", "--after", out}},
		{"did you mean rate_of_fire?", []string{"--want", "rate_of_fir=24 /s"}},
		{"wanted a rate", []string{"--want", "rate_of_fire=24 V"}},
		{"asked for twice", []string{"--want", "rate_of_fire=24 /s", "--want", "rate_of_fire<=30 /s"}},
		{"no course in time", []string{"--trace", filepath.Join(dir, "a.csv")}},
		{"wanted one of .png", []string{"--plot", "a.gif"}},
		{"more than one build file", []string{in, in}},
	} {
		o := command(t, append([]string{"levers"}, c.args...)...)
		assert.Equal(t, badInput, o.code, c.args)
		assert.Contains(t, o.stderr, c.says)
		assert.Empty(t, o.stdout)
	}
}
