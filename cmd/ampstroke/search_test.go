package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
)

// handful is a small shelf over the demo, which has what most have: a rule, misfits,
// remarks, and builds that meet its wish, soundly or not.
const handful = `name: A handful
base: base.yaml
currency: EUR
target: {rate_of_fire: {min: 19 /s}, muzzle_velocity: {min: 110 m/s}}
slots:
  motor.armature:
    - {name: as it stands, part: base}
    - {name: 21 turns, price: 14.50, remark: rewound in spring, part: {turns: 21, wire: 0.74 mm}}
  gears.ratio:
    - {name: tall, price: 9.25, part: 12.5}
    - {name: short, price: 8, part: 9.5, never_with: {barrel: [long]}}
  barrel:
    - {name: as it stands, part: base}
    - {name: long, price: 21.00, part: {length: 430 mm}}
    - {name: tight, price: 29.99, part: {bore: 5.9 mm}}
`

// shelfFile writes a shelf with the demo as its base and returns its path.
func shelfFile(t *testing.T, text string) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "base.yaml"), []byte(buildfile.DemoText()), 0o666))
	path := filepath.Join(dir, "a.shelf.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o666))
	return path
}

// searched is what a search prints for programs, as far as tests look at it.
type searched struct {
	Combinations int64 `json:"combinations"`
	RuledOut     int64 `json:"ruled_out"`
	Fired        int64 `json:"fired"`
	Met          int64 `json:"met"`
	Sound        int64 `json:"sound"`
	Best         struct {
		By   string        `json:"by"`
		List []listedBuild `json:"list"`
	} `json:"best"`
	Front struct {
		By   []string      `json:"by"`
		List []listedBuild `json:"list"`
	} `json:"front"`
	Nearest []listedBuild    `json:"nearest"`
	Share   *json.RawMessage `json:"share"`
}

type listedBuild struct {
	Number  int64               `json:"number"`
	Price   json.Number         `json:"price"`
	Parts   map[string]string   `json:"parts"`
	Figures map[string]*float64 `json:"figures"`
	Faults  []string            `json:"faults"`
	Misses  []struct {
		What     string   `json:"what"`
		Side     *string  `json:"side"`
		By       *float64 `json:"by"`
		Relative *float64 `json:"relative"`
	} `json:"misses"`
	Remarks []struct{ Slot, Remark string } `json:"remarks"`
}

func searchedBy(t *testing.T, args ...string) (o outcome, s searched) {
	t.Helper()
	o = command(t, append(append([]string{"search"}, args...), "--json")...)
	require.Zero(t, o.code, o.stderr)
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &s))
	return o, s
}

func TestSearch(t *testing.T) {
	shelf := shelfFile(t, handful)
	o, s := searchedBy(t, shelf)
	assert.EqualValues(t, 12, s.Combinations)
	assert.EqualValues(t, 2, s.RuledOut)
	assert.EqualValues(t, 6, s.Fired)
	require.NotEmpty(t, s.Best.List)
	assert.EqualValues(t, s.Sound, len(s.Best.List))
	for _, f := range s.Best.List {
		assert.Empty(t, f.Faults)
		assert.Empty(t, f.Misses)
		assert.NotNil(t, f.Figures["rate_of_fire_hz"])
	}
	assert.Equal(t, []string{"price", "trigger_delay", "current_rms"}, s.Front.By)
	for _, m := range regexp.MustCompile(`"(?:price|cheapest)": ([^,\n]+)`).FindAllStringSubmatch(o.stdout, -1) {
		assert.Regexp(t, `^(null|\d+\.\d\d)$`, m[1])
	}

	text := command(t, "search", shelf)
	require.Zero(t, text.code, text.stderr)
	tells(t, text.stdout, fmt.Sprintf("%d of 12 combinations meet the wish, %d stay whole; the cheapest costs %s EUR: ", s.Met, s.Sound, s.Best.List[0].Price))
	tells(t, text.stdout, "2 ruled out, 4 don't go together, 6 fire")
	tells(t, text.stdout, "rewound in spring")
	tells(t, text.stdout, "5.95 mm does not pass a barrel bored 5.9 mm")

	_, broken := searchedBy(t, shelf, "--broken")
	assert.EqualValues(t, s.Met, len(broken.Best.List))
	assert.Greater(t, len(broken.Best.List), len(s.Best.List), "some meet the wish with a fault")
}

// Where none is sound the text says so, and lists what comes nearest.
func TestSearchFindsNone(t *testing.T) {
	shelf := shelfFile(t, handful)
	none := command(t, "search", shelf, "--set", "motor.stator.brush.drop=3 V", "--strict")
	assert.Equal(t, missed, none.code)
	tells(t, none.stdout, "0 of 12 combinations meet the wish, 0 stay whole; below is what comes nearest")
	tells(t, none.stdout, "nearest misses")
	broken := shelfFile(t, strings.Replace(handful, "part: 12.5", "part: 9.4", 1))
	o := command(t, "search", broken)
	tells(t, o.stdout, "none of them without a fault: --broken lists them all the same")
	assert.Equal(t, missed, command(t, "search", broken, "--strict").code)
	assert.Zero(t, command(t, "search", broken, "--strict", "--broken").code)
	nothing := shelfFile(t, strings.Replace(handful, "{min: 19 /s}", "{min: 19 /s}, second_shot_nobody_has: {min: 1 s}", 1))
	assert.Equal(t, badInput, command(t, "search", nothing).code)
}

// A want whose figure a build lacks is missed, to no side.
func TestSearchOfAMissingFigure(t *testing.T) {
	shelf := shelfFile(t, strings.Replace(handful, "muzzle_velocity: {min: 110 m/s}", "overspin: {max: 400 deg}", 1))
	_, s := searchedBy(t, shelf, "--near", "2")
	require.Len(t, s.Nearest, 2)
	miss := s.Nearest[0].Misses[len(s.Nearest[0].Misses)-1]
	assert.Equal(t, "overspin", miss.What)
	assert.Nil(t, miss.Side)
	assert.Nil(t, miss.By)
	assert.Nil(t, miss.Relative)
	tells(t, command(t, "search", shelf).stdout, "overspin: it has none")
}

// Shares merged give the bytes of one run; what doesn't belong together is refused.
func TestSearchShares(t *testing.T) {
	shelf := shelfFile(t, handful)
	dir := t.TempDir()
	whole := command(t, "search", shelf, "--json", "--top", "3")
	var parts []string
	for i := 1; i <= 14; i++ { // more than there are combinations
		o := command(t, "search", shelf, "--json", "--top", "3", "--share", fmt.Sprintf("%d/14", i))
		require.Zero(t, o.code, o.stderr)
		path := filepath.Join(dir, fmt.Sprintf("part-%d.json", i))
		require.NoError(t, os.WriteFile(path, []byte(o.stdout), 0o666))
		parts = append(parts, path)
	}
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(parts), func(i, j int) { parts[i], parts[j] = parts[j], parts[i] })
	merge := func(parts []string, flags ...string) outcome {
		return command(t, append(append([]string{"search", shelf, "--merge"}, flags...), parts...)...)
	}
	got := merge(parts, "--json", "--top", "3")
	require.Zero(t, got.code, got.stderr)
	assert.Equal(t, whole.stdout, got.stdout)
	table := filepath.Join(dir, "all.csv")
	require.Zero(t, merge(parts, "--top", "3", "--csv", table, "--plot", filepath.Join(dir, "a.svg")).code)
	assert.FileExists(t, table)
	for name, o := range map[string]outcome{
		"missing":           merge(parts[1:], "--top", "3"),
		"twice":             merge(append(slices.Clone(parts), parts[0]), "--top", "3"),
		"other flags":       merge(parts, "--top", "4"),
		"is no share":       merge(append(parts[1:13:13], shelf), "--top", "3"),
		"no such file":      merge(append(parts[1:13:13], "nowhere.json"), "--top", "3"),
		"without --merge":   merge(parts[:1], "--after", "1"),
		"files of all":      merge(nil),
		"wanted i/n":        command(t, "search", shelf, "--json", "--share", "15/14"),
		"wanted --json":     command(t, "search", shelf, "--share", "1/14"),
		"one of the two":    merge(parts, "--json", "--share", "1/14"),
		"follow the merged": command(t, "search", shelf, "--json", "--share", "1/14", "--csv", table),
		"without --share":   command(t, "search", shelf, "--json", "--share", "1/14", "--after", "1", filepath.Join(dir, "x.yaml")),
	} {
		assert.Equal(t, badInput, o.code, name)
		assert.Empty(t, o.stdout, name)
		tells(t, o.stderr, name)
	}
	require.NoError(t, os.WriteFile(shelf, []byte(strings.Replace(handful, "price: 14.50", "price: 14.60", 1)), 0o666))
	tells(t, merge(parts, "--top", "3").stderr, "another shelf")
}

// The file of a combination is a build file whose cycle gives what is listed.
func TestSearchAfter(t *testing.T) {
	shelf := shelfFile(t, handful)
	_, s := searchedBy(t, shelf, "--show", "piston_impact")
	best := s.Best.List[0]
	path := filepath.Join(t.TempDir(), "best.yaml")
	o := command(t, "search", shelf, "--after", fmt.Sprint(best.Number), path)
	require.Zero(t, o.code, o.stderr)
	assert.Empty(t, o.stdout, "nothing else was asked")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Contains(t, string(text), "# a club's rifle for the woodland weekend"[2:], "the base's comments are kept")
	assert.Contains(t, string(text), string(best.Price)+" EUR")
	var c map[string]any
	require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", path, "--json").stdout), &c))
	for key, v := range best.Figures {
		assert.InDelta(t, *v, c[key], 1e-12*max(1, *v), key)
	}
	verdict := c["verdict"].([]any)
	require.Len(t, verdict, 2, "the shelf's wish came along")
	for _, v := range verdict {
		assert.Equal(t, true, v.(map[string]any)["ok"])
	}
	_, again := searchedBy(t, shelf, "--after", "1", path)
	assert.Equal(t, s.Met, again.Met)
	for _, args := range [][]string{
		{"--after", "13", path}, {"--after", "0", path}, {"--after", "3", path}, // the barrel that passes no pellet
		{"--after", "5", path}, // ruled out
		{"--after", "1"}, {"--after", "1", "x.txt"}, {"--after", "1", shelf}, {"--after", "1", path, "--csv", path},
	} {
		assert.Equal(t, badInput, command(t, append([]string{"search", shelf}, args...)...).code, args)
	}
}

// A row of the CSV file for each combination that fires; the picture is drawn.
func TestSearchFiles(t *testing.T) {
	shelf := shelfFile(t, handful)
	dir := t.TempDir()
	path, plot := filepath.Join(dir, "all.csv"), filepath.Join(dir, "front.png")
	o := command(t, "search", shelf, "--csv", path, "--plot", plot)
	require.Zero(t, o.code, o.stderr)
	assert.Contains(t, o.stderr, "wrote "+path)
	assert.FileExists(t, plot)
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 7)
	assert.Equal(t, []string{
		"number", "price", "motor.armature", "gears.ratio", "barrel",
		"rate_of_fire_hz", "muzzle_velocity_m_s", "trigger_delay_s", "current_rms_a", "met", "faults",
	}, rows[0])
	assert.Equal(t, []string{"1", "9.25", "as it stands", "tall", "as it stands"}, rows[1][:5])
	for _, flags := range [][]string{{"--csv", "all.txt"}, {"--plot", "x.bmp"}, {"--csv", shelf}, {"--front", "price"}, {"--by", "nonsense"}, {"--top", "-1"}, {"--set", "spring.rate"}, {"--share", "x"}} {
		assert.Equal(t, badInput, command(t, append([]string{"search", shelf}, flags...)...).code, flags)
	}
	assert.Equal(t, badInput, command(t, "search").code)
	assert.Equal(t, badInput, command(t, "search", shelf, shelf).code)
}

// An override that a part or the shelf's target stands over is said.
func TestSearchOverrides(t *testing.T) {
	shelf := shelfFile(t, handful)
	o := command(t, "search", shelf, "--set", "gears.ratio=8", "--set", "target.rate_of_fire.min=99 /s", "--set", "piston.mass=25 g")
	require.Zero(t, o.code, o.stderr)
	assert.Contains(t, o.stderr, "--set gears.ratio: applies to the base")
	assert.Contains(t, o.stderr, "--set target.rate_of_fire.min: applies to the base")
	assert.NotContains(t, o.stderr, "piston.mass")
}

// The chance of a combination is what spread says of its file, with as many draws; parts
// that state no tolerance don't vary unless they are to.
func TestSearchSure(t *testing.T) {
	shelf := shelfFile(t, strings.Replace(handful, "part: {turns: 21, wire: 0.74 mm}", "part: {turns: 21, wire: 0.74 mm}, also: {spring.rate: 720 N/m ± 5 %}", 1))
	base, err := os.ReadFile(lightDemo(t))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(filepath.Dir(shelf), "base.yaml"), base, 0o666))
	o := command(t, "search", shelf, "--sure", "--json", "--top", "1")
	require.Zero(t, o.code, o.stderr)
	var s struct {
		Sound int `json:"sound"`
		Sure  []struct {
			listedBuild
			Share float64 `json:"sound_share"`
			SE    float64 `json:"sound_se"`
		} `json:"sure"`
	}
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &s))
	require.Len(t, s.Sure, s.Sound)
	varied := 0
	for i, b := range s.Sure {
		if i > 0 {
			assert.GreaterOrEqual(t, s.Sure[i-1].Share, b.Share)
		}
		if b.Parts["motor.armature"] == "as it stands" {
			assert.Equal(t, 1., b.Share)
			assert.Zero(t, b.SE)
			continue
		}
		varied++
		path := filepath.Join(t.TempDir(), "one.yaml")
		require.Zero(t, command(t, "search", shelf, "--after", fmt.Sprint(b.Number), path).code)
		o := command(t, "spread", path, "--json", "--draws", "512", "--drivers", "0", "--reach", "0")
		require.Zero(t, o.code, o.stderr)
		var r struct {
			Sound struct {
				Share float64 `json:"share"`
				SE    float64 `json:"se"`
			} `json:"sound"`
		}
		require.NoError(t, json.Unmarshal([]byte(o.stdout), &r))
		assert.Equal(t, r.Sound.Share, b.Share)
		assert.Equal(t, r.Sound.SE, b.SE)
	}
	assert.Positive(t, varied)
	text := command(t, "search", shelf, "--sure=1", "--typical")
	require.Zero(t, text.code, text.stderr)
	tells(t, text.stdout, "of the best 1, how many such guns")
	tells(t, text.stdout, "Typical tolerances are judgement")
	for _, flags := range [][]string{{"--sure=0"}, {"--sure=x"}, {"--typical"}, {"--sure", "--json", "--share", "1/2"}} {
		assert.Equal(t, badInput, command(t, append([]string{"search", shelf}, flags...)...).code, flags)
	}
}
