package buildfile_test

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
)

var startSettings = []buildfile.Settings{{}, {Bench: true}, {Short: true}, {Bench: true, Short: true}}

func started(t *testing.T, s buildfile.Settings) *buildfile.Document {
	t.Helper()
	d, err := buildfile.Parse("start.yaml", buildfile.Start(s))
	require.NoError(t, err)
	return d
}

func TestStartIsTheDemo(t *testing.T) {
	demo, err := buildfile.DemoDocument()
	require.NoError(t, err)
	full := started(t, buildfile.Settings{})
	assert.Equal(t, demo.Build, full.Build, "to the last bit, although defaults are written out")
	assert.Equal(t, fmt.Sprint(demo.Target), fmt.Sprint(full.Target))
	assert.Equal(t, demo.Tolerances, full.Tolerances)

	// What may be left out is left out: the demo without it.
	var without []string
	for _, k := range buildfile.Keys() {
		if _, given := demo.Position(k.Path); given && !k.Required && !isAlternative(k.Path) {
			without = append(without, k.Path+"=")
		}
	}
	without = append(without, "harness.connectors=", "harness.fuse=", "rack=", "pads=", "target=")
	least, err := demo.With(without...)
	require.NoError(t, err)
	short := started(t, buildfile.Settings{Short: true})
	assert.Equal(t, least.Build, short.Build)
	assert.Empty(t, short.Target)
	for _, k := range buildfile.Keys() {
		if _, given := short.Position(k.Path); given {
			_, err := short.With(k.Path + "=")
			assert.Error(t, err, "%s is needed", k.Path)
		}
	}
}

// Bench readings don't tell loss by commutation under load: the motor is a little
// stronger, about as one without that loss.
func TestStartOnTheBench(t *testing.T) {
	rate := func(overrides ...string) float64 {
		d, err := buildfile.DemoDocument(overrides...)
		require.NoError(t, err)
		r, err := cycle.Simulate(context.Background(), d.Build, cycle.Settings{})
		require.NoError(t, err)
		return r.Summary.RateOfFire
	}
	d := started(t, buildfile.Settings{Bench: true})
	require.NotNil(t, d.Build.Motor.Bench)
	r, err := cycle.Simulate(context.Background(), d.Build, cycle.Settings{})
	require.NoError(t, err)
	lossless := rate("motor.commutation=0 %")
	assert.Greater(t, r.Summary.RateOfFire, rate())
	assert.InEpsilon(t, lossless, r.Summary.RateOfFire, 0.01, "readings of three digits are off by 0.5 % at most, in current and voltage each")
	assert.NotNil(t, started(t, buildfile.Settings{Bench: true, Short: true}).Build.Motor.Bench)
}

// given is a key of a file to start from.
type given struct {
	path, value string
	off         int // how often it is switched off
	section     string
	comment     string // above it
}

var keyLine = regexp.MustCompile(`^( *)(- )?(#*)([a-z_]+):(?: (.*))?$`)

// read takes a file's keys apart, those switched off too; without a YAML parser.
func read(t *testing.T, text string) (all []given) {
	t.Helper()
	type level struct {
		indent, off int
		key         string
	}
	var around []level
	comment := ""
	for _, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
		require.LessOrEqual(t, utf8.RuneCountInString(line), 100, line)
		require.NotContains(t, line, "\t")
		trimmed := strings.TrimSpace(line)
		if strings.HasPrefix(trimmed, "# ") {
			comment += trimmed[1:]
			continue
		}
		m := keyLine.FindStringSubmatch(line)
		if m == nil { // a further member of a list
			require.Regexp(t, `^$|^ *- \{`, line)
			comment = ""
			continue
		}
		indent := len(m[1]) + len(m[2])
		for len(around) > 0 && around[len(around)-1].indent >= indent {
			around = around[:len(around)-1]
		}
		path, section := "", ""
		for i, l := range around {
			path += l.key + "."
			if l.off > 0 && section == "" {
				section = strings.TrimSuffix(path, ".")
			}
			if next := append(around, level{indent: indent})[i+1]; next.indent == l.indent+4 { // a dash is between
				path += "0."
			}
		}
		if m[5] == "" {
			around = append(around, level{indent, len(m[3]), m[4]})
		} else {
			all = append(all, given{path + m[4], m[5], len(m[3]), section, strings.TrimSpace(comment)})
		}
		comment = ""
	}
	return all
}

// Every key is there, in use or switched off, with its comment.
func TestStartHasEveryKey(t *testing.T) {
	for _, s := range startSettings {
		there := map[string]given{}
		for _, g := range read(t, string(buildfile.Start(s))) {
			require.NotContains(t, there, g.path)
			there[g.path] = g
		}
		d := started(t, s)
		seen := 0
		for _, k := range buildfile.Keys() {
			path := k.Path
			if list := regexp.MustCompile(`^(pads|battery\.ocv)\.0`).FindStringSubmatch(path); list != nil {
				path = list[1]
			}
			_, given := d.Position(path)
			g, found := there[path]
			require.Equal(t, given, found && g.off == 0, "%s is in use if the file says so", path)
			if !found {
				require.True(t, s.Short || strings.HasPrefix(path, "target."), "%s is missing", path)
				continue
			}
			seen++
			for _, text := range []string{k.Meaning, k.Allowed(), "Bench: " + k.HowMeasured} {
				assert.Contains(t, g.comment, text, path)
			}
			if k.Default != "" {
				assert.Contains(t, g.comment, "Left out: "+k.Default, path)
			}
			if g.off > 0 {
				assert.Regexp(t, `[Oo]ne of two|Not beside|[Ll]eft out|Required`, g.comment, "%s: why it is off", path)
			}
		}
		if s.Short {
			assert.Greater(t, seen, 20)
		} else {
			assert.Greater(t, seen, 180, "all but the wants of figures that few ask for")
		}
	}
}

// What is switched off can be switched on as it stands: with all of its section, or with
// those that go with it.
func TestStartSwitchedOn(t *testing.T) {
	together := [][]string{{"spring.wire", "spring.coil_diameter", "spring.coils", "spring.modulus"}, {"spring.free_length", "spring.installed_length"}}
	for _, s := range startSettings[:2] {
		d := started(t, s)
		all := read(t, string(buildfile.Start(s)))
		tried := 0
		for _, g := range all {
			if g.off == 0 {
				continue
			}
			var on []string
			for _, o := range all {
				beside := slices.ContainsFunc(together, func(keys []string) bool { return slices.Contains(keys, g.path) && slices.Contains(keys, o.path) })
				if o.path == g.path || beside || g.section != "" && o.section == g.section && o.off == 1 {
					on = append(on, o.path+"="+o.value)
				}
			}
			if g.section != "" && g.off > 1 { // last, so that it takes away what it stands in place of
				on = append(on, g.path+"="+g.value)
			}
			switch {
			case g.path == "battery.ocv":
				on = append(on, "battery.chemistry=custom")
			case g.section == "motor.stator" || g.section == "motor.armature":
				on = append(on, "motor.bench=")
				for _, o := range all {
					if (o.section == "motor.stator" || o.section == "motor.armature") && o.off == 1 && o.section != g.section {
						on = append(on, o.path+"="+o.value)
					}
				}
			case s.Bench && strings.HasPrefix(g.comment, "friction torque"), s.Bench && g.path == "motor.commutation":
				_, err := d.With(on...)
				assert.ErrorContains(t, err, "motor.bench", "not beside it")
				tried++
				continue
			}
			n, err := d.With(on...)
			if assert.NoError(t, err, "%s: %v", g.path, on) {
				_, given := n.Position(g.path)
				assert.True(t, given, g.path)
			}
			tried++
		}
		assert.Greater(t, tried, 60)
	}
}

func TestStartIsAlwaysTheSame(t *testing.T) {
	for _, s := range startSettings {
		assert.Equal(t, string(buildfile.Start(s)), string(buildfile.Start(s)))
	}
}

func ExampleStart() {
	text := string(buildfile.Start(buildfile.Settings{Short: true}))
	_, pellet, _ := strings.Cut(text, "\npellet:\n")
	fmt.Print(pellet)
	// Output:
	//   # mass of the pellet (0.01 g to 100 g). Required.
	//   # Bench: weigh a hundred and divide; the bag's figure is good to a hundredth of a gram
	//   mass: 0.20 g
}
