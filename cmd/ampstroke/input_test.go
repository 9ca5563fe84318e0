package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
)

// turns finds those of the armature in a build file.
var turns = regexp.MustCompile(`\bturns: [0-9]+`)

// commandOn gives a command its standard input.
func commandOn(t *testing.T, stdin string, args ...string) outcome {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code := status(run(context.Background(), args, strings.NewReader(stdin), &stdout, &stderr), &stderr)
	return outcome{code, stdout.String(), stderr.String()}
}

// What is mistyped on the command line is said in one line that helps.
func TestMistyped(t *testing.T) {
	const comma = `write a number with a decimal point and without separators, such as 26 g`
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"command", []string{"cyle"}, `unknown command "cyle"; did you mean cycle?; see 'ampstroke --help'`},
		{"help", []string{"hlep"}, `unknown command "hlep"; did you mean help?; see 'ampstroke --help'`},
		{"build without a command", []string{"rifle.yaml"}, `unknown command "rifle.yaml"; wanted a command before a build file, such as 'ampstroke cycle rifle.yaml'; see 'ampstroke --help'`},
		{"command of nothing", []string{"zzz"}, `unknown command "zzz"; see 'ampstroke --help'`},
		{"flag", []string{"cycle", "--pelets", "0.2 g"}, "unknown flag: --pelets; did you mean --pellets?; see 'ampstroke cycle --help'"},
		{"flag of all commands", []string{"heat", "--plam", "x"}, "unknown flag: --plam; did you mean --plan?; see 'ampstroke heat --help'"},
		{"flag of nothing", []string{"cycle", "--zzz"}, "unknown flag: --zzz; see 'ampstroke cycle --help'"},
		{"flag before its command", []string{"--json", "cycle"}, "unknown flag: --json; it stands behind the command; see 'ampstroke --help'"},
		{"two builds", []string{"cycle", "a.yaml", "b.yaml"}, "more than one build file is given; 'ampstroke compare' takes several; see 'ampstroke cycle --help'"},
		{"build and plan", []string{"heat", "a.yaml", "day.yaml"}, "more than one build file is given; a plan stands behind its flag: --plan day.yaml; see 'ampstroke heat --help'"},
		{"set without =", []string{"motor", "--set", "motor.armature.turns", "22"}, "--set motor.armature.turns: wanted key.path=value, such as motor.armature.turns=22, in quotes where blanks are in it"},
		{"set without = before a build", []string{"cycle", "a.yaml", "--set", "motor.armature.turns", "22"}, "--set motor.armature.turns: wanted key.path=value, such as motor.armature.turns=22, in quotes where blanks are in it; see 'ampstroke cycle --help'"},
		{"over without plot", []string{"cycle", "--over", "angle"}, "--over: says what --plot draws over; wanted --plot FILE beside it"},
		{"pellet with a comma", []string{"cycle", "--pellets", "0,36 g"}, `--pellets: "0,36 g": ` + comma},
		{"second pellet with a comma", []string{"cycle", "--pellets", "0.20 g, 0,25 g, 0,28 g"}, `--pellets: "0,25 g": ` + comma},
		{"commas of pellets without blanks", []string{"cycle", "--pellets", "0.20 g,0.25 m"}, `--pellets: "0.25 m" is a length; wanted a mass, such as 26 g`},
		{"bare pellets", []string{"cycle", "--pellets", "0.20, 0.25"}, `--pellets: "0.20" is a bare number; wanted a mass with its unit, such as 26 g`},
		{"override with a comma", []string{"cycle", "--set", "piston.mass=0,20 g"}, `--set piston.mass=0,20 g: piston.mass: "0,20 g": ` + comma},
		{"standard input twice", []string{"compare", "-", "x.yaml", "-"}, "standard input (-) is given twice; it holds one build"},
		{"standard input for build and batch", []string{"cycle", "-", "--batch", "-"}, "--batch: the build comes from standard input (-) already; wanted a file for one of the two"},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := command(t, c.args...)
			assert.Equal(t, badInput, o.code)
			assert.Empty(t, o.stdout)
			assert.Equal(t, "ampstroke: "+c.want+"\n", o.stderr)
		})
	}
}

// Every command that takes a build takes it from standard input.
func TestBuildFromStandardInput(t *testing.T) {
	text := turns.ReplaceAllString(buildfile.DemoText(), "turns: 27")
	path := file(t, text)
	for _, args := range [][]string{
		{"cycle"}, {"cycle", "--json", "--set", "piston.mass=25 g"}, {"motor", "--json"}, {"heat", "--json"}, {"pickup", "--json"},
	} {
		want := command(t, append(args, path)...)
		got := commandOn(t, text, append(args, "-")...)
		require.Zero(t, want.code, want.stderr)
		assert.Equal(t, want, got, "%v", args)
	}
	o := commandOn(t, text, "compare", "--json", path, "-")
	assert.Zero(t, o.code, o.stderr)
	assert.Contains(t, o.stdout, `"-"`)
	for _, name := range []string{"cycle", "motor", "heat", "pickup"} {
		o := commandOn(t, turns.ReplaceAllString(text, "turns: 0"), name, "-")
		assert.Equal(t, badInput, o.code)
		assert.Regexp(t, `^ampstroke: standard input:\d+:12: motor\.armature\.turns: 0 is out of range`, o.stderr)
		o = commandOn(t, "", name, "-")
		assert.Equal(t, badInput, o.code)
		assert.Contains(t, o.stderr, "standard input: empty; wanted a build file")
	}
	o = commandOn(t, text, "cycle", "--json")
	assert.Equal(t, command(t, "cycle", "--json"), o, "without the - nothing is read")
}

func TestBuildFromStandardInputIsWrittenOn(t *testing.T) {
	text := buildfile.DemoText()
	after := filepath.Join(t.TempDir(), "after.yaml")
	o := commandOn(t, text, "pickup", "-", "--after", after)
	require.Zero(t, o.code, o.stderr)
	got, err := os.ReadFile(after)
	require.NoError(t, err)
	other := filepath.Join(t.TempDir(), "after.yaml")
	require.Zero(t, command(t, "pickup", file(t, text), "--after", other).code)
	want, err := os.ReadFile(other)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
}

func TestExplainSaysTheGrade(t *testing.T) {
	o := command(t, "cycle", "--explain", "--set", "motor.stator.magnet={grade: n42sh, thickness: 2.0 mm, arc: 120 deg}")
	require.Zero(t, o.code, o.stderr)
	for _, line := range []string{
		`motor\.stator\.magnet\.remanence +1\.3 T ± 0\.02 T +by grade N42SH`, `motor\.stator\.magnet\.drift +-0\.12 %/K +by grade N42SH`,
		`motor\.stator\.magnet\.coercivity +1592 kA/m +by grade N42SH`, `motor\.stator\.magnet\.limit +150 degC +by remanence and coercivity`,
	} {
		assert.Regexp(t, line, unbroken(o.stdout))
	}
}
