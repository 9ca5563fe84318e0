package main

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

func TestKeysText(t *testing.T) {
	o := command(t, "keys")
	require.Zero(t, o.code)
	flat := strings.Join(strings.Fields(o.stdout), " ")
	for _, k := range buildfile.Keys() {
		if strings.HasPrefix(k.Path, "target.") { // said with the figures
			continue
		}
		assert.Contains(t, "\n"+o.stdout, "\n"+k.Path+"\n  ", "%s stands alone", k.Path)
		for _, text := range []string{k.Path + " " + k.Meaning + " " + k.Allowed(), "measured: " + k.HowMeasured} {
			assert.Contains(t, flat, text, k.Path)
		}
		if k.Default != "" {
			assert.Contains(t, flat, "left out: "+k.Default+", "+k.Why)
		}
	}
	for _, f := range study.Figures() {
		assert.Regexp(t, `\n  `+f.Name+` +\S`, o.stdout)
	}
	assert.Regexp(t, `\n  muzzle_velocity +m/s +muzzle velocity: of the pellet;`, o.stdout)
	assert.Regexp(t, `\n  shots_per_charge +number +`, o.stdout)
	for _, line := range strings.Split(o.stdout, "\n") {
		assert.LessOrEqual(t, utf8.RuneCountInString(line), 80, line)
	}
	assert.Empty(t, o.stderr)
}

func TestKeysSearch(t *testing.T) {
	heads := func(args ...string) (paths []string) {
		o := command(t, append([]string{"keys"}, args...)...)
		require.Zero(t, o.code, o.stderr)
		keys, _, _ := strings.Cut("\n"+o.stdout, "\nfigures\n")
		for _, line := range strings.Split(keys, "\n") {
			if line != "" && line[0] != ' ' {
				paths = append(paths, line)
			}
		}
		return paths
	}
	assert.Equal(t, []string{"sector.teeth", "sector.removed"}, heads("removed", "sector"), "each of the words")
	assert.Equal(t, []string{"trigger.rounds"}, heads("BURST"), "in the meaning, case aside")
	assert.Equal(t, []string{"harness.connectors.0.resistance"}, heads("harness.connectors.3.resistance"), "any member")
	assert.Empty(t, heads("inrush"), "a figure alone")
	asked := 0
	for _, k := range buildfile.Keys() {
		if strings.HasPrefix(k.Path, "target.") {
			asked++
		}
	}
	assert.Equal(t, len(buildfile.Keys())-asked, len(heads()))

	o := command(t, "keys", "inrush")
	assert.Regexp(t, `figures\n +figure +unit\n +inrush +A +inrush: peak of the first shot;`, o.stdout)
	assert.NotContains(t, command(t, "keys", "trigger.mode").stdout, "figures")
	assert.Contains(t, command(t, "keys", "winding_peak").stdout, "(of a firing plan)")
	assert.Contains(t, command(t, "keys", "piston.mass").stdout, "piston.mass\n  mass of piston, head and rack\n  0.1 g to 10000 g; required\n  measured: scale\n")
	assert.Contains(t, command(t, "keys", "piston.seal").stdout, "; left out: 0 mm2, none unless given\n")
	assert.Contains(t, command(t, "keys", "battery.cutoff").stdout, "; left out, it follows: by chemistry, a cell\n")

	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"sprng"}, `no key's path or meaning holds "sprng"; did you mean spring?`},
		{[]string{"spring", "trigegr"}, `"trigegr"; did you mean trigger?`},
		{[]string{"fps"}, "did you mean target.muzzle_velocity?"},
		{[]string{"stiffness", "awg"}, "did you mean harness.lead.gauge or motor.armature.wire?"},
		{[]string{"kv"}, "of motor.kv: it follows from magnets and turns"},
		{[]string{"xyzzyxyzzy"}, "'ampstroke keys' lists all"},
		{[]string{"tappet", "barrel"}, "no key holds all of"},
		{[]string{" "}, "a word is empty"},
	} {
		for _, flags := range [][]string{nil, {"--json"}} {
			o := command(t, append(append([]string{"keys"}, c.args...), flags...)...)
			assert.Equal(t, badInput, o.code, c.args)
			assert.Contains(t, o.stderr, c.want)
			assert.Empty(t, o.stdout)
		}
	}
}

func TestKeysJSON(t *testing.T) {
	o := command(t, "keys", "--json")
	require.Zero(t, o.code)
	assert.Equal(t, []string{"format", "keys", "figures"}, keysOf(t, []byte(o.stdout)))
	var all struct {
		Keys    []json.RawMessage
		Figures []struct {
			Figure, Key, Label, Meaning, Unit string
			Better                            *string
			Target                            bool
		}
	}
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &all))
	keys := buildfile.Keys()
	require.Len(t, all.Keys, len(keys))
	for i, k := range keys {
		assert.Equal(t, []string{"key", "meaning", "unit", "words", "required", "default", "min", "max", "whole", "measured"}, keysOf(t, all.Keys[i]))
		var j struct {
			Key, Meaning, Measured string
			Unit, Default          *string
			Words                  []string
			Required, Whole        bool
			Min, Max               *float64
		}
		require.NoError(t, json.Unmarshal(all.Keys[i], &j))
		assert.Equal(t, []any{k.Path, k.Meaning, k.HowMeasured, k.Required, k.Whole, k.Words}, []any{j.Key, j.Meaning, j.Measured, j.Required, j.Whole, j.Words})
		require.Equal(t, k.Quantity, j.Unit != nil, k.Path)
		require.Equal(t, k.Default != "", j.Default != nil, k.Path)
		if j.Default != nil {
			assert.Equal(t, k.Default, *j.Default)
		}
		require.Equal(t, math.IsNaN(k.Range[0]), j.Min == nil, k.Path)
		if j.Min == nil {
			continue
		}
		assert.Equal(t, k.Range, [2]float64{*j.Min, *j.Max}, "%s: as they are, in SI", k.Path)
		if *j.Unit != "1" && *j.Unit != "AWG" { // the bounds in the unit are those of the file
			v, err := quantity.Parse(quantity.TableText(*j.Max)+" "+*j.Unit, k.Kind)
			require.NoError(t, err, k.Path)
			assert.InEpsilon(t, k.Range[1], v.SI, 1e-11, k.Path)
		}
	}
	figures := study.Figures()
	require.Len(t, all.Figures, len(figures))
	for i, f := range figures {
		j := all.Figures[i]
		_, target := buildfile.FindFigure(f.Name)
		assert.Equal(t, []any{f.Name, f.Key(), strings.TrimSpace(f.Label), f.Meaning, f.Kind.SIUnit(), target}, []any{j.Figure, j.Key, j.Label, j.Meaning, j.Unit, j.Target})
		require.Equal(t, f.Better != figure.Neither, j.Better != nil, f.Name)
		if j.Better != nil {
			assert.Equal(t, f.Better == figure.Higher, *j.Better == "higher", f.Name)
		}
	}
	assert.Contains(t, command(t, "keys", "trigger.mode", "--json").stdout, `"figures": []`)
}

// completed are the words that the shell is offered, without what is said of them.
func completed(t *testing.T, args ...string) (words []string) {
	t.Helper()
	o := command(t, append([]string{"__complete"}, args...)...)
	require.Zero(t, o.code)
	for _, line := range strings.Split(o.stdout, "\n") {
		if word, _, _ := strings.Cut(line, "\t"); word != "" && word[0] != ':' {
			words = append(words, word)
		}
	}
	return words
}

func TestSetIsCompleted(t *testing.T) {
	for _, name := range []string{"cycle", "motor", "compare", "heat", "pickup"} {
		assert.Equal(t, []string{"sector.removed="}, completed(t, name, "--set", "sector.re"), name)
	}
	assert.Contains(t, command(t, "__complete", "cycle", "--set", "sector.re").stdout, "sector.removed=\tteeth removed at the release end\n:6\n", "no blank behind it, and no files")
	assert.Equal(t, len(buildfile.Keys()), len(completed(t, "cycle", "--set", "")))
	assert.Equal(t, []string{"trigger.mode=automatic", "trigger.mode=single"}, completed(t, "cycle", "--set", "trigger.mode="))
	assert.Equal(t, []string{"motor.commutation=auto"}, completed(t, "cycle", "--set", "motor.commutation=a"))
	assert.Empty(t, completed(t, "cycle", "--set", "piston.mass="))
	assert.Empty(t, completed(t, "cycle", "--set", "piston.paint="))
	assert.Contains(t, completed(t, "keys", ""), "piston.mass")
}
