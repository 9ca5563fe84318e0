package buildfile_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
)

func TestPlan(t *testing.T) {
	p, err := buildfile.ParsePlan("p.yaml", []byte(`
name: A day   # quotes are not needed
ambient: 35 degC
repeat: 2
steps:
- {rounds: 12, pause: 4 s, repeat: 20}
- rounds: 1
  fresh_pack: true
- {rounds: 0, pause: 1.5 h}
`))
	require.NoError(t, err)
	assert.InDelta(t, 308.15, p.Ambient, 1e-9)
	p.Ambient = 0
	assert.Equal(t, &heat.Plan{Name: "A day", Repeat: 2, Steps: []heat.Step{
		{Rounds: 12, Pause: 4, Repeat: 20}, {Rounds: 1, Repeat: 1, FreshPack: true}, {Pause: 5400, Repeat: 1},
	}}, p)
	assert.Equal(t, 2*(240+1), p.Asked())

	p, err = buildfile.ParsePlan("p.yaml", []byte("\ufeff{steps: [{rounds: 3}]}\r\n"))
	require.NoError(t, err)
	assert.Equal(t, &heat.Plan{Name: "Unnamed plan", Repeat: 1, Steps: []heat.Step{{Rounds: 3, Repeat: 1}}}, p)

	assert.Equal(t, 400, buildfile.DemoPlan().Asked())
	path := filepath.Join(t.TempDir(), "demo.plan.yaml")
	require.NoError(t, os.WriteFile(path, []byte(buildfile.DemoPlanText()), 0o666))
	p, err = buildfile.LoadPlan(path)
	require.NoError(t, err)
	assert.Equal(t, buildfile.DemoPlan(), p)
}

type wrongPlan struct {
	name, text string
	want       []string // all must be in the error
	reason     string
}

func wrongPlans() []wrongPlan {
	many := "steps:\n" + strings.Repeat("- {rounds: 1}\n", heat.MostSteps+1)
	return []wrongPlan{
		{"near miss", "steps:\n- {round: 3, pause: 4 s}\n", []string{"p.yaml:2:4: steps.0.round: no such key; did you mean rounds?", "steps.0.rounds: missing; wanted a whole number"}, "both sides of a typo"},
		{"key of a build", "motor: {}\nsteps: [{rounds: 1}]\n", []string{"p.yaml:1:1: motor: no such key; known here: name, ambient, repeat, steps"}, "a build is no plan"},
		{"bare pause", "steps: [{rounds: 1, pause: 4}]", []string{`p.yaml:1:28: steps.0.pause: "4" is a bare number; wanted a time with its unit`}, "a quantity has a unit"},
		{"wrong unit", "steps: [{rounds: 1, pause: 4 mm}]", []string{"steps.0.pause", "a time"}, ""},
		{"half a round", "steps: [{rounds: 1.5}]", []string{"steps.0.rounds", "a whole number"}, ""},
		{"negative rounds", "steps: [{rounds: -1}]", []string{"p.yaml:1:18: steps.0.rounds: -1 is out of range; wanted a whole number from 0 to 1000000"}, ""},
		{"negative pause", "steps: [{rounds: 1, pause: -1 s}]", []string{"steps.0.pause: -1 s is out of range"}, ""},
		{"no number", "steps: [{rounds: 1, pause: .nan}]", []string{"steps.0.pause"}, "NaN"},
		{"endless pause", "steps: [{rounds: 1, pause: .inf}]", []string{"steps.0.pause"}, "Inf"},
		{"overflow", "steps: [{rounds: 1, pause: 1e400 s}]", []string{"steps.0.pause"}, ""},
		{"absurd pause", "steps: [{rounds: 1, pause: 1e9 h}]", []string{"steps.0.pause", "out of range"}, ""},
		{"absurd rounds", "steps: [{rounds: 2000000}]", []string{"steps.0.rounds", "out of range"}, "it can't hang the machine"},
		{"absurd product", "{repeat: 100, steps: [{rounds: 1000, repeat: 1000}]}", []string{"p.yaml:1:10: repeat: the plan comes to 100000000 rounds; wanted at most 1000000"}, "each alone would do"},
		{"absurd rests", "{repeat: 100000, steps: [{rounds: 0, pause: 1 s, repeat: 1000}]}", []string{"repeat: the plan comes to 100000000 pulls and rests"}, ""},
		{"absurd time", "{repeat: 1000, steps: [{rounds: 0, pause: 300 h}]}", []string{"repeat: the plan pauses for"}, ""},
		{"zero repeat", "{repeat: 0, steps: [{rounds: 1}]}", []string{"repeat: 0 is out of range"}, ""},
		{"zero repeat of a step", "steps: [{rounds: 1, repeat: 0}]", []string{"steps.0.repeat: 0 is out of range"}, ""},
		{"nothing", "steps: [{rounds: 0}]", []string{"steps.0.pause: neither rounds nor a pause"}, ""},
		{"no steps", "name: x\n", []string{"steps: missing; wanted a list, such as [{rounds: 12, pause: 4 s, repeat: 20}]"}, ""},
		{"empty steps", "steps: []", []string{"p.yaml:1:1: steps: is empty"}, ""},
		{"steps without value", "steps:\n", []string{"steps: has no value"}, ""},
		{"a mapping for steps", "steps: {rounds: 1}", []string{"found a mapping; wanted a list"}, ""},
		{"too many steps", many, []string{"steps: has 1001 members; wanted at most 1000"}, ""},
		{"tolerance", "steps: [{rounds: 1, pause: 4 s ± 1 s}]", []string{"steps.0.pause: a plan carries no tolerances"}, "nothing would read it"},
		{"twice", "name: a\nname: b\nsteps: [{rounds: 1}]", []string{"p.yaml:2:1: name: stands here a second time"}, ""},
		{"anchor", "steps: [&a {rounds: 1}]", []string{"an anchor or alias"}, ""},
		{"second document", "steps: [{rounds: 1}]\n---\nname: b\n", []string{"a second document begins; wanted one plan a file"}, ""},
		{"cold air", "{ambient: -200 degC, steps: [{rounds: 1}]}", []string{"ambient: -200 degC is out of range"}, ""},
		{"no air at all", "{ambient: 0 K, steps: [{rounds: 1}]}", []string{"ambient: 0 K is nothing; wanted more, or the key left out"}, "inside, 0 stands for the build's"},
		{"flag", "steps: [{rounds: 1, fresh_pack: maybe}]", []string{`steps.0.fresh_pack: found "maybe"; wanted true or false`}, ""},
		{"empty file", "", []string{"empty; wanted a plan file"}, ""},
		{"a list", "- {rounds: 1}", []string{"a list stands at the top; wanted keys such as name: and steps:"}, ""},
		{"deep", strings.Repeat("[", 40), []string{"nested deeper than 32"}, ""},
		{"large", "name: " + strings.Repeat("x", 300<<10), []string{"larger than 256 KiB; wanted a plan file"}, ""},
		{"bytes", "name: \x00", []string{"a byte or character that no text has"}, ""},
		{"long name", "{name: " + strings.Repeat("x", 200) + ", steps: [{rounds: 1}]}", []string{"name: has 200 bytes"}, ""},
	}
}

func TestWrongPlans(t *testing.T) {
	for _, c := range wrongPlans() {
		t.Run(c.name, func(t *testing.T) {
			start := time.Now()
			_, err := buildfile.ParsePlan("p.yaml", []byte(c.text))
			require.Error(t, err, c.reason)
			assert.Less(t, time.Since(start), soon)
			for _, text := range c.want {
				assert.ErrorContains(t, err, text, c.reason)
			}
			assert.ErrorAs(t, err, new(*quantity.Fault))
			assert.NotContains(t, err.Error(), "build file")
			screenful(t, err)
		})
	}
	_, err := buildfile.LoadPlan("nowhere.yaml")
	assert.EqualError(t, err, "nowhere.yaml: there is no such file")
	_, err = buildfile.LoadPlan(t.TempDir())
	assert.ErrorContains(t, err, "is a folder; wanted a plan file")
}

// Whatever the bytes: an answer soon, an error of a screenful or a plan that is valid
// and of bounded size.
func FuzzPlan(f *testing.F) {
	f.Add([]byte(buildfile.DemoPlanText()))
	paths, err := filepath.Glob("../../testdata/reference/*.plan.yaml")
	require.NoError(f, err)
	require.NotEmpty(f, paths)
	for _, path := range paths {
		text, err := os.ReadFile(path)
		require.NoError(f, err)
		f.Add(text)
		f.Add([]byte("\ufeff" + strings.ReplaceAll(string(text), "\n", "\r\n")))
	}
	for _, c := range wrongPlans() {
		if len(c.text) < 10000 {
			f.Add([]byte(c.text))
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		start := time.Now()
		p, err := buildfile.ParsePlan("p.yaml", data)
		require.Less(t, time.Since(start), soon)
		if err != nil {
			require.ErrorAs(t, err, new(*quantity.Fault))
			screenful(t, err)
			return
		}
		require.NoError(t, p.Validate())
		require.LessOrEqual(t, p.Asked(), heat.MostRounds)
	})
}

func ExampleLoadPlan() {
	p, err := buildfile.LoadPlan("../../testdata/reference/heat-demo.plan.yaml")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %d rounds in %d steps\n", p.Name, p.Asked(), len(p.Steps))
	// Output: Woodland morning: 400 rounds in 4 steps
}
