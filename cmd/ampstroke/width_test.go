package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/figure"
)

// unbroken is a text without the breaks of its lines.
func unbroken(text string) string { return strings.Join(strings.Fields(text), " ") }

// tells holds a text against a part of it, which may be broken into lines.
func tells(t *testing.T, text, part string) {
	t.Helper()
	assert.Contains(t, text+"\n"+unbroken(text), part)
}

// fits holds every line of a text against the screen.
func fits(t *testing.T, what, text string) {
	t.Helper()
	for i, line := range strings.Split(text, "\n") {
		if n := utf8.RuneCountInString(line); n > screen {
			t.Errorf("%s: line %d has %d letters: %s", what, i+1, n, line)
		}
	}
}

// nine are builds of all kinds, one of a name that fills lines.
func nine(t *testing.T) []string {
	return variants(t, nil,
		[]string{"gears.ratio=40", "name=Slow"},
		[]string{"motor.armature.turns=75", "motor.armature.wire=0.35 mm", "name=Many turns"},
		[]string{"motor.armature.turns=8", "name=Few turns"},
		[]string{"spring.rate=3000 N/m", "name=Stalls"},
		[]string{"battery.series=3", "name=Three cells"},
		[]string{"trigger.mode=single", "harness.switch.mosfet.active_braking=true", "name=Single"},
		[]string{"name=" + strings.Repeat("x", 120)},
		append(stuck(), "trigger.rounds=3", "name="+strings.TrimSpace(strings.Repeat("Stuck pellet ", 9))))
}

func TestEveryTextFitsTheScreen(t *testing.T) {
	t.Setenv("COLUMNS", "300") // which nobody asks
	all := nine(t)
	var each [][]string
	for _, args := range [][]string{{"cycle", "--explain"}, {"motor"}, {"pickup"}, {"heat"}} {
		for _, path := range all {
			each = append(each, append(args, path))
		}
	}
	for _, path := range someOf(all) {
		each = append(each, []string{"heat", "--gauges", path})
	}
	each = append(each, [][]string{
		{"cycle", "--pellets", "0.12 g, 0.2 g, 0.48 g", "--match"}, {"cycle", "--set", "trigger.mode=single", "--match"},
		{"cycle", "--set", "trigger.rounds=50"}, {"pickup", "--set", "rack.pickup_offset=3 mm", "--set", "rack.taken_down="},
		{"motor", "--set", "battery.state_of_charge=2 %"}, {"heat", "--set", "harness.fuse={rating: 8 A}"},
		{"cycle", "../../testdata/builds/two-lobe.yaml"}, {"pickup", "../../testdata/builds/two-lobe.yaml"},
		append([]string{"compare"}, all...), append([]string{"motor"}, all...), append([]string{"compare"}, all[6], all[0]),
		{"levers", lightDemo(t), "--set", "battery.series=3"}, {"cycle", "--vary", "motor.armature.turns=24..26", "--vary", "gears.ratio=10,40", all[8]},
		{"--help"}, {"cycle", "--help"}, {"motor", "--help"}, {"compare", "--help"}, {"heat", "--help"}, {"pickup", "--help"},
		{"fit", "--help"}, {"sheet", "--help"}, {"start", "--help"}, {"keys", "--help"}, {"schema", "--help"}, {"keys"},
		{"search", "--help"}, {"search", shelfFile(t, handful), "--broken", "--near", "7"}, {"search", shelfFile(t, handful), "--set", "motor.stator.brush.drop=3 V"},
		{"search", shelfFile(t, strings.ReplaceAll(handful, "as it stands", strings.Repeat("y", 100))), "--broken", "--show", "inrush,stroke,piston_impact,period,free_time,time_to_home", "--front", "price,overall_efficiency,demagnetisation_margin,peak_pressure"},
		{"levers", "--help"},
	}...)
	for _, args := range each {
		o := command(t, args...)
		require.Zero(t, o.code, o.stderr)
		assert.NotEmpty(t, o.stdout)
		fits(t, strings.Join(args, " "), o.stdout)
	}
	evening := readingsFile(t, strings.ReplaceAll(fewReadings, "pellet.barrel_drag, ", ""))
	for _, path := range all[:1] {
		o := command(t, "fit", path, evening, "--leave-out", "--set", "gears.ratio=12")
		require.Zero(t, o.code, o.stderr)
		fits(t, "fit", o.stdout)
	}
	builds, err := filepath.Glob("../../examples/builds/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, builds)
	for _, path := range someOf(builds) {
		fits(t, path, command(t, "cycle", "--explain", path).stdout)
	}
}

// Nothing of a table is lost where it is broken into blocks, and each block has the names.
func TestBlocksKeepAllOfATable(t *testing.T) {
	heads, lines := []string{""}, [][]string{{"rate"}, {"period"}}
	for i := range 9 {
		heads = append(heads, fmt.Sprintf("build %d", i+1))
		lines[0] = append(lines[0], fmt.Sprintf("%d.00 /s (+%d.0 %%)", 100+i, 10+i))
		lines[1] = append(lines[1], fmt.Sprintf("%d ms", 500+i))
	}
	var b bytes.Buffer
	printTable(&b, "figures", heads, lines)
	text := b.String()
	fits(t, "table", text)
	blocks := strings.Split(strings.TrimSpace(text), "\n\n")
	assert.Len(t, blocks, 3)
	for i := range 9 {
		for _, cell := range []string{heads[i+1], lines[0][i+1], lines[1][i+1]} {
			assert.Equal(t, 1, strings.Count(text, cell), cell)
		}
	}
	for _, block := range blocks {
		assert.Equal(t, 1, strings.Count(block, "  rate"))
		assert.Equal(t, 1, strings.Count(block, "  period"))
	}
	// What belongs together stands in one column.
	place := regexp.MustCompile(`build 5|104\.00|504 ms`)
	var columns []int
	for _, line := range strings.Split(blocks[1], "\n") {
		if at := place.FindStringIndex(line); at != nil {
			columns = append(columns, at[0])
		}
	}
	require.Len(t, columns, 3)
	assert.Equal(t, []int{columns[0], columns[0], columns[0]}, columns)
}

func TestNotesGoOnUnderTheirColumn(t *testing.T) {
	var b bytes.Buffer
	printRows(&b, "heading", []row{{"a", "1 mm", strings.Repeat("word ", 30)}, {"  bb", "22 mm", "short"}, {"left out", "", "note"}})
	assert.Equal(t, "\nheading\n"+
		"  a     1 mm   "+strings.TrimSpace(strings.Repeat("word ", 13))+"\n"+
		"               "+strings.TrimSpace(strings.Repeat("word ", 13))+"\n"+
		"               word word word word\n"+
		"    bb  22 mm  short\n", b.String())
}

func TestWrap(t *testing.T) {
	for _, c := range []struct{ start, text, want, reason string }{
		{"", "one two three", "one two\n  three", "at a blank"},
		{"- ", "abcdefghijklmnop", "- abcdefgh\n  ijklmnop", "a word longer than a line is broken"},
		{"", "it is 123 mm", "it is\n  123 mm", "a number stays with its unit"},
		{"start: ", "abcdefg", "start: \n  abcdefg", "a word that fits a line of its own is kept whole"},
	} {
		assert.Equal(t, c.want, wrap(c.start, c.text, 10, "  "), c.reason)
	}
}

// Sums leave dust, which is no figure.
func TestNoDust(t *testing.T) {
	for _, c := range []struct {
		v      float64
		digits int
		unit   string
		want   string
	}{
		{8.88e-16, 3, "J", "0 J"}, {-1e-12, 3, "mm", "0 mm"}, {0.0999999999, 3, "mm", "0.100 mm"}, {9.9996, 4, "A", "10.00 A"}, {0.00123, 2, "%", "0.0012 %"},
		{18401.2, 5, "rpm", "18400 rpm"}, {8590.5, 5, "rpm", "8590 rpm"}, {3, 5, "rpm", "0 rpm"}, {1234, 4, "A", "1234 A"},
	} {
		assert.Equal(t, c.want, sig(c.v, c.digits, c.unit))
	}
	assert.Empty(t, change(0.53, 0.53+1e-15, 3, "J"))
	assert.Equal(t, " (+0.530 J)", change(0.53, 8.88e-16, 3, "J"))
	assert.Equal(t, " (+0.530 J)", change(0.53, 1e-6, 3, "J"), "half a million times as much says nothing")
	assert.Equal(t, " (×25)", change(28, 1.12, 3, "ms"))
	for text, want := range map[string]string{"2.18718160169 mm": "2.187 mm", "80 degC": "80 degC", "6.5 GPa": "6.5 GPa", "2e+06 N/m": "2e+06 N/m", "auto": "auto",
		"0.0123456 mm": "0.01235 mm", "12345.678 N": "12346 N", "1.00000000001": "1.000"} {
		assert.Equal(t, want, figure.Brief(text))
	}
	all := nine(t)
	o := command(t, append([]string{"compare"}, all...)...)
	require.Zero(t, o.code, o.stderr)
	assert.NotRegexp(t, `\de[-+]?\d|0\.0000\d`, o.stdout)
}

// What a single and an automatic don't have in common is not held against each other.
func TestCompareSinglesWithAutomatics(t *testing.T) {
	paths := variants(t, nil, []string{"trigger.mode=single", "name=Single"}, []string{"gears.ratio=16", "name=Tall"})
	text := command(t, append([]string{"compare"}, paths...)...).stdout
	for _, name := range []string{"charge a shot ~", "overall efficiency ~"} {
		line := regexp.MustCompile(`(?m)^  ` + name + `.*$`).FindString(text)
		require.NotEmpty(t, line, name)
		assert.Equal(t, 1, strings.Count(line, "("), "of the two automatics alone: %s", line)
	}
	books := text[strings.Index(text, "\nwhere a shot's energy goes ~"):]
	assert.Regexp(t, `(?m)^  battery +5\.61 J +9\.97 J +5\.\d\d J \(`, books)
	assert.Contains(t, unbroken(text), "~ of a single it is that of the whole pull, with start and run-down, in automatic that of one steady shot: not compared between the two")
	assert.Regexp(t, `(?m)^  shots in automatic +5366 +\d+ +\d+ \(`, text, "what both have")
	assert.Regexp(t, `(?m)^  pulls in single +3017 +3017 +\d+ \(`, text)
	assert.Regexp(t, `(?m)^  trigger delay .*\(`, text, "the first shot's in both")

	alike := command(t, append([]string{"compare"}, paths[0], paths[2])...).stdout
	assert.NotContains(t, alike, "~")
	assert.Regexp(t, `(?m)^  charge a shot .*\(`, alike)
	singles := command(t, append([]string{"compare", "--set", "trigger.mode=single"}, paths...)...).stdout
	assert.NotContains(t, singles, "~")
	assert.Contains(t, singles, "where the pull's energy goes")

	figures := figuresOf(t, append([]string{"compare"}, paths...)...)["figures"].([]any)
	seen := 0
	for _, f := range figures {
		f := f.(map[string]any)
		if f["what"] == "charge_per_shot_c" || f["what"] == "overall_efficiency" {
			assert.Nil(t, f["from_first"].([]any)[1])
			assert.NotNil(t, f["from_first"].([]any)[2])
			seen++
		}
	}
	assert.Equal(t, 2, seen)
}

// In every table of compare a build with a fault has its mark behind its number, so that
// no figure of it is praised without.
func TestFaultsAreMarkedInEveryHead(t *testing.T) {
	text := command(t, append([]string{"compare"}, nine(t)...)...).stdout
	heads := regexp.MustCompile(`(?m)^ +(\d!? +)*\d!?$`).FindAllString(text, -1)
	require.Greater(t, len(heads), 20)
	seen := map[string]int{}
	for _, h := range heads {
		for _, n := range strings.Fields(h) {
			seen[n]++
		}
	}
	for _, n := range []string{"1", "2", "3", "4!", "5!", "6!", "7", "8", "9!"} {
		assert.Greater(t, seen[n], 5, n)
	}
	assert.Len(t, seen, 9)
}

// Text, findings and advice give an angle of contact with the same number.
func TestPickupTextSaysOneAngle(t *testing.T) {
	text := command(t, "pickup").stdout
	assert.Contains(t, text, "meets the pickup tooth 11.6° ahead of square")
	assert.Regexp(t, `contact angle +11\.6 ° +0\.4 ° `, text)
	assert.Contains(t, unbroken(text), "meet the pickup tooth 0.4° ahead of square")
	blocked := command(t, "pickup", "--set", "rack.taken_down=", "--set", "rack.pickup_offset=3 mm").stdout
	assert.Regexp(t, `meets first +tooth 2, 27\.7 ° +tooth 1 `, blocked)
}

// Letters that the picture's fonts lack are told, whichever flag draws.
func TestLackingLettersAreTold(t *testing.T) {
	dir := t.TempDir()
	for name, told := range map[string]bool{"武器": true, "Ружьё": false, "Größe": false} {
		for _, ending := range []string{"png", "pdf", "svg"} {
			o := command(t, "cycle", "--set", "name="+name, "--flight", filepath.Join(dir, name+"."+ending))
			require.Zero(t, o.code, o.stderr)
			if told && ending != "svg" {
				assert.Contains(t, o.stderr, "."+ending+": the picture's font lacks 武器, for which boxes stand")
			} else {
				assert.NotContains(t, o.stderr, "lacks")
			}
		}
	}
}

// The legend of compare's picture marks a fault that only the table knows of.
func TestComparePictureHasTheTablesFaults(t *testing.T) {
	paths := variants(t, nil, []string{"rack.taken_down=", "name=Blocked"})
	picture := filepath.Join(t.TempDir(), "two.svg")
	o := command(t, append([]string{"compare", "--plot", picture}, paths...)...)
	require.Contains(t, o.stdout, "\n  2!  Blocked (")
	require.Contains(t, o.stdout, "[blocked]")
	text, err := os.ReadFile(picture)
	require.NoError(t, err)
	assert.Contains(t, string(text), "2!  Blocked: 22.")
	assert.Contains(t, string(text), "1  Woodland club rifle: 22.")
}
