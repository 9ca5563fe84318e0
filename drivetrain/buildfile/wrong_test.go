package buildfile_test

import (
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

// screenful checks that an error fits on a screen.
func screenful(t testing.TB, err error) {
	t.Helper()
	lines := strings.Split(err.Error(), "\n")
	require.LessOrEqual(t, len(lines), 25)
	for _, line := range lines {
		require.LessOrEqual(t, utf8.RuneCountInString(line), 300, line)
	}
}

// indented is a mapping in a mapping and so on.
func indented(levels int) string {
	var b strings.Builder
	for i := range levels {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

type wrong struct {
	name, text string
	want       []string // all must be in the error
	reason     string
}

func wrongTexts(t testing.TB) []wrong {
	const (
		deep = "nested deeper than 32"
		many = "more than 5000 colons, commas, brackets and the like"
		wide = "more than 1000 blanks in a row"
	)
	return []wrong{
		{"near miss", changed(t, "turns: 28", "turn: 28"), []string{
			"b.yaml:16:5: motor.armature.turn: no such key; did you mean turns?",
			"b.yaml:15:5: motor.armature.turns: missing; wanted a whole number, such as 28"}, "both sides of a typo"},
		{"key of another part", changed(t, "    slots: 3\n", "    slots: 3\n    ratio: 10\n"), []string{
			"b.yaml:16:5: motor.armature.ratio: no such key here; it is known as gears.ratio"}, ""},
		{"key of nowhere", changed(t, "piston: {", "piston: {paint: red, "), []string{
			"b.yaml:49:10: piston.paint: no such key; known here: mass, drag, drag_pull, seal_area, clear, spacer"}, ""},
		{"wrong unit", changed(t, "mass: 26 g", "mass: 26 mm"), []string{`b.yaml:49:16: piston.mass: "26 mm" is a length; wanted a mass, such as 26 g`}, ""},
		{"missing unit", changed(t, "mass: 26 g", "mass: 26"), []string{`b.yaml:49:16: piston.mass: "26" is a bare number; wanted a mass with its unit, such as 26 g`}, ""},
		{"NaN", changed(t, "mass: 26 g", "mass: .NaN"), []string{`b.yaml:49:16: piston.mass: ".NaN" is not a finite number`}, ""},
		{"nan with unit", changed(t, "mass: 26 g", "mass: nan g"), []string{`b.yaml:49:16: piston.mass: "nan g" is not a finite number`}, ""},
		{"Inf", changed(t, "mass: 26 g", "mass: -.inf"), []string{`b.yaml:49:16: piston.mass: "-.inf" is not a finite number`}, ""},
		{"negative mass", changed(t, "mass: 26 g", "mass: -26 g"), []string{"b.yaml:49:16: piston.mass: -26 g is out of range; wanted 0.1 g to 10000 g"}, ""},
		{"zero turns", changed(t, "turns: 28", "turns: 0"), []string{"b.yaml:16:12: motor.armature.turns: 0 is out of range; wanted a whole number from 1 to 1000"}, ""},
		{"even slots", changed(t, "slots: 3", "slots: 4"), []string{"b.yaml:15:12: motor.armature.slots: 4 is even"}, ""},
		{"no tooth left", changed(t, "removed: 2", "removed: 16"), []string{"b.yaml:46:62: sector.removed: 16 of 16 teeth are removed and none is left"}, ""},
		{"more teeth removed than there are", changed(t, "removed: 2", "removed: 17"), []string{"b.yaml:46:62: sector.removed: 17 of 16 teeth are removed"}, ""},
		{"installed beyond the free length", changed(t, "preload: 45 mm", "free_length: 75 mm, installed_length: 80 mm"), []string{
			"b.yaml:50:63: spring.installed_length: 80 mm exceeds the free length 75 mm"}, ""},
		{"no free length", changed(t, "preload: 45 mm", "free_length: 0 mm, installed_length: 0 mm"), []string{
			"b.yaml:50:38: spring.free_length: 0 mm is nothing", "b.yaml:50:62: spring.installed_length: 0 mm is nothing"}, "else it would pass for a spring without preload"},
		{"pellet too wide", changed(t, "diameter: 5.95 mm", "diameter: 6.05 mm"), []string{"b.yaml:53:34: pellet.diameter: 6.05 mm does not pass a barrel bored 6.05 mm"}, "of parts that are sound each by itself"},
		{"no bore", changed(t, "air_gap: 0.40 mm", "bore: 0 mm"), []string{"b.yaml:10:11: motor.stator.bore: 0 mm is nothing"}, "the key that is given is named"},
		{"gauge out of range", changed(t, "16 AWG,", "99 AWG,"), []string{`b.yaml:39:17: harness.lead.gauge: "99 AWG": wanted a whole gauge`}, ""},
		{"gauge too fine", changed(t, "16 AWG,", "50 AWG,"), []string{"b.yaml:39:17: harness.lead.gauge: "}, "the range is one of areas, the key the gauge"},
		{"gauge with tolerance", changed(t, "16 AWG,", "16 AWG ± 1 %,"), []string{"b.yaml:39:17: harness.lead.gauge: a gauge carries no tolerance"}, ""},
		{"min above max", changed(t, "min: 385 ft/s", "min: 485 ft/s"), []string{"b.yaml:6:3: target.muzzle_velocity: min 147.828 m/s is above max 121.92 m/s"}, ""},
		{"no bound", changed(t, "{min: 20 /s}", "{}"), []string{"b.yaml:5:3: target.rate_of_fire: neither min nor max is given"}, ""},
		{"empty want", changed(t, "{min: 20 /s}", ""), []string{"b.yaml:5:3: target.rate_of_fire: has no value; wanted a mapping with min, max"}, "a want is not dropped in silence"},
		{"empty switch", changed(t, "mosfet: {resistance: 2 mohm, drift: 0.5 %/K, to_ambient: 40 K/W, active_braking: false}", "mosfet:"), []string{
			"b.yaml:42:5: harness.switch.mosfet: has no value; wanted a mapping with resistance"}, ""},
		{"unknown word", changed(t, "lithium-polymer", "lithium-polimer"), []string{
			`b.yaml:31:14: battery.chemistry: found "lithium-polimer" (did you mean lithium-polymer?); wanted one of lithium-polymer, lithium-iron-phosphate`}, ""},
		{"no flag", changed(t, "active_braking: false", "active_braking: maybe"), []string{`b.yaml:42:86: harness.switch.mosfet.active_braking: found "maybe"; wanted true or false`}, ""},
		{"quoted true", changed(t, "active_braking: false", `active_braking: "true"`), []string{`found "true"; wanted true or false`}, ""},
		{"value for a mapping", changed(t, "piston: {mass: 26 g, drag: 5 N, clear: 2.5 mm, spacer: 0 mm}", "piston: 26 g"), []string{
			`b.yaml:49:9: piston: found "26 g"; wanted a mapping with mass, drag, drag_pull, seal_area, clear, spacer`}, ""},
		{"mapping for a value", changed(t, "mass: 26 g", "mass: {a: 26 g}"), []string{"b.yaml:49:16: piston.mass: found a mapping; wanted a mass, such as 26 g"}, ""},
		{"value for a list", changed(t, "[0.5 mm, 1.0 mm, 1.5 mm, 2.0 mm, 3.0 mm]", "0.5 mm"), []string{`b.yaml:48:7: pads: found "0.5 mm"; wanted a list, such as [0.5 mm, 1.0 mm]`}, ""},
		{"no value", changed(t, "turns: 28", "turns:"), []string{"b.yaml:16:5: motor.armature.turns: has no value; wanted a whole number, such as 28"}, ""},
		{"null", changed(t, "turns: 28", "turns: ~"), []string{"b.yaml:16:5: motor.armature.turns: has no value"}, ""},
		{"blank name", changed(t, "Woodland club rifle", `" "`), []string{"b.yaml:3:7: name: is blank"}, ""},
		{"long name", changed(t, "Woodland club rifle", strings.Repeat("ä", 61)), []string{"b.yaml:3:7: name: has 122 bytes; wanted a name of at most 120"}, ""},
		{"name with an escape", changed(t, "Woodland club rifle", `"a\e[31m"`), []string{`b.yaml:3:7: name: "a?[31m" holds characters that don't print`}, ""},
		{"table of one row", changed(t, "chemistry: lithium-polymer", "chemistry: custom\n  ocv: [[0 %, 3 V]]"), []string{"b.yaml:32:3: battery.ocv: one point is no table"}, ""},
		{"row of three", changed(t, "chemistry: lithium-polymer", "chemistry: custom\n  ocv: [[0 %, 3 V, 4 V]]"), []string{"b.yaml:32:9: battery.ocv.0: found 3 items; wanted 2, such as [50 %, 3.8 V]"}, ""},
		{"table that falls", changed(t, "chemistry: lithium-polymer", "chemistry: custom\n  ocv: [[0 %, 3 V], [60 %, 3.6 V], [50 %, 3.7 V], [100 %, 4 V]]"), []string{"b.yaml:32:37: battery.ocv.2.0: 50 % does not follow 60 %"}, ""},
		{"no gears", changed(t, "gears: {ratio: 10.44, efficiency: 80 %, inertia: 30 g cm2}\n", ""), []string{": gears.ratio: missing; wanted it, or gears.teeth"}, "a part that only alternatives require"},
		{"no spring", changed(t, "spring: {rate: 680 N/m, preload: 45 mm, mass: 18 g}", ""), []string{
			": spring.rate: missing; wanted it, or spring.wire", ": spring.preload: missing; wanted it, or spring.free_length"}, ""},

		{"empty", "", []string{"b.yaml: empty; wanted a build file"}, ""},
		{"blanks", " \n  \n", []string{"b.yaml: empty; wanted a build file"}, ""},
		{"mark alone", "\ufeff", []string{"b.yaml: empty; wanted a build file"}, ""},
		{"comments", "# a\n# b\n", []string{"b.yaml: holds nothing but comments"}, ""},
		{"null at the top", "~\n", []string{"b.yaml:1:1: nothing stands at the top"}, ""},
		{"nothing but dashes", "---\n", []string{"b.yaml: holds nothing but comments"}, ""},
		{"scalar", "rifle\n", []string{"b.yaml:1:1: a value stands at the top; wanted keys such as motor: and battery:"}, ""},
		{"list", "- a\n- b\n", []string{"b.yaml:1:1: a list stands at the top; wanted keys such as motor:"}, ""},
		{"empty mapping", "{}\n", []string{"b.yaml: motor.stator: missing; wanted it, or motor.bench", "b.yaml:1:1: battery: missing; wanted a mapping with chemistry, series, capacity, resistance"}, ""},
		{"binary", "\x7fELF\x01\x02", []string{"b.yaml:1:1: ", "wanted YAML in UTF-8"}, ""},
		{"NUL", "name: a\x00b\n", []string{"b.yaml:1:8: ", "wanted YAML in UTF-8"}, ""},
		{"Latin-1", "name: M\xfcller\n", []string{"b.yaml:1:8: ", "(0xfc); wanted YAML in UTF-8"}, ""},
		{"UTF-16", "\xff\xfen\x00a\x00", []string{"b.yaml:1:1: ", "wanted YAML in UTF-8"}, ""},
		{"second mark", "\ufeff\ufeff" + rifleText, []string{"b.yaml:1:1: ", "wanted YAML in UTF-8"}, "a mark stands at the start only"},
		{"mark inside", changed(t, "turns: 28", "\ufeffturns: 28"), []string{"b.yaml:16:5: ", "wanted YAML in UTF-8"}, "nobody sees it"},
		{"second document", rifleText + "---\nname: b\n", []string{"b.yaml:56:1: a second document begins; wanted one build a file"}, ""},
		{"second document of text", rifleText + "--- b\n", []string{"b.yaml:56:1: a second document begins"}, ""},
		{"directive", "%YAML 1.2\n---\n" + rifleText, []string{"b.yaml:1:1: a YAML directive"}, ""},
		{"directive alone", "%YAML 1.2\n", []string{"b.yaml:1:1: "}, ""},
		{"duplicate", rifleText + "name: other\n", []string{"b.yaml:56:1: name: stands here a second time; the first is in line 3"}, ""},
		{"duplicate in braces", changed(t, "mass: 26 g", "mass: 26 g, mass: 27 g"), []string{"b.yaml:49:22: piston.mass: stands here a second time; the first is in line 49"}, ""},
		{"anchor", changed(t, "mass: 26 g", "mass: &m 26 g"), []string{"b.yaml:49:16: piston.mass: an anchor or alias (& or *); wanted the value itself"}, ""},
		{"alias", changed(t, "mass: 26 g", "mass: *m"), []string{"b.yaml:49:16: piston.mass: an anchor or alias"}, ""},
		{"tag", changed(t, "turns: 28", "turns: !!int 28"), []string{"b.yaml:16:12: motor.armature.turns: a tag (!); wanted the value itself"}, ""},
		{"merge key", changed(t, "  drag: {constant", "  <<: {a: b}\n  drag: {constant"), []string{"b.yaml:28:3: motor: a merge key (<<)"}, ""},
		{"block of text", changed(t, "Woodland club rifle", "|\n  a\n  b"), []string{"b.yaml:3:7: name: a block of text (| or >)"}, ""},
		{"folded block", changed(t, "Woodland club rifle", ">-\n  a\n  b"), []string{"b.yaml:3:7: name: a block of text (| or >)"}, ""},
		{"tab", changed(t, "    slots: 3", "\tslots: 3"), []string{"b.yaml:15:1: a tab indents this line; wanted blanks"}, ""},
		{"lone carriage return", strings.ReplaceAll(rifleText, "\n", "\r"), []string{"b.yaml:1:75: ", "(0x0d)"}, ""},
		{"wrong behind mark", "\ufeff" + changed(t, "turns: 28", "turns: 0"), []string{"b.yaml:16:12: motor.armature.turns: 0 is out"}, ""},
		{"wrong key behind mark", "\ufeffnane: x\n", []string{"b.yaml:1:1: nane: no such key; did you mean name?"}, "the mark takes no column"},
		{"wrong with CR LF", strings.ReplaceAll(changed(t, "turns: 28", "turns: 0"), "\n", "\r\n"), []string{"b.yaml:16:12: motor.armature.turns: 0 is out"}, ""},
		{"1e400", changed(t, "mass: 26 g", "mass: 1e400 g"), []string{`b.yaml:49:16: piston.mass: "1e400 g" is too large a number`}, ""},
		{"1e999999999", changed(t, "mass: 26 g", "mass: 1e999999999 g"), []string{`b.yaml:49:16: piston.mass: "1e999999999 g" is no number of a sensible size`}, ""},
		{"count of 1e400", changed(t, "turns: 28", "turns: 1e400"), []string{`b.yaml:16:12: motor.armature.turns: "1e400" is too large a number`}, ""},
		{"count of 1e300", changed(t, "turns: 28", "turns: 1e300"), []string{`b.yaml:16:12: motor.armature.turns: "1e300" is no count of anything in a gun`}, ""},
		{"long value", changed(t, "mass: 26 g", "mass: "+strings.Repeat("9", 200000)+" g"), []string{"b.yaml:49:16: piston.mass: ", "200002 characters are no quantity"}, ""},
		{"long word", changed(t, "lithium-polymer", strings.Repeat("k", 200000)), []string{"b.yaml:31:14: battery.chemistry: found "}, ""},
		{"long key", rifleText + strings.Repeat("k", 200000) + ": 1\n", []string{"b.yaml:56:1: kkkk", "…: no such key"}, ""},
		{"key that is a list", rifleText + "[a, b]: 1\n", []string{"b.yaml:56:", "invalid key"}, ""},
		{"key with a question mark", rifleText + "? a\n: b\n", []string{`b.yaml:56:1: a key behind "?"; wanted key: value`}, ""},
		{"unbalanced quote", changed(t, "Woodland club rifle", `"Woodland`), []string{"b.yaml:3:7: not YAML here"}, ""},
		{"unbalanced brace", changed(t, "spacer: 0 mm}", "spacer: 0 mm"), []string{"b.yaml:", "not YAML here"}, ""},
		{"value behind a value", "a: b: c\n", []string{"b.yaml:1:4: not YAML here"}, ""},

		{"10 MB", strings.Repeat("a: b\n", 2<<20), []string{"b.yaml: larger than 256 KiB"}, ""},
		{"20000 brackets", strings.Repeat("[", 20000), []string{"b.yaml:1:33: " + deep}, ""},
		{"20000 brackets in a key", "pads: " + strings.Repeat("[", 20000), []string{"b.yaml:1:39: " + deep}, ""},
		{"20000 braces", strings.Repeat("{a: ", 20000), []string{"b.yaml:1:129: " + deep}, ""},
		{"brackets behind what looks like a quote", "a: b - 'c\n" + strings.Repeat("[", 200000), []string{many}, "the parser sees the brackets"},
		{"brackets behind a quote in a word", "a: x:'c\n" + strings.Repeat("[\n", 100000), []string{many}, ""},
		{"brackets closed in comments", "a: b - 'c\n" + strings.Repeat("[ #]\n", 40000), []string{many}, ""},
		{"indentation", indented(700), []string{"b.yaml:33:33: " + deep}, ""},
		{"indentation of 5000 levels", indented(5000), []string{"larger than 256 KiB"}, "12 MB of blanks"},
		{"dashes", strings.Repeat("- ", 20000), []string{"b.yaml:1:", deep}, ""},
		{"dashes behind what looks like a quote", "a: b - 'c\n" + strings.Repeat("- ", 100000) + "\n", []string{"b.yaml:2:", deep}, ""},
		{"dashes of an explicit value", "? a\n: " + strings.Repeat("- ", 20000), []string{"b.yaml:"}, ""},
		{"question marks", strings.Repeat("? ", 20000), []string{"b.yaml:1:"}, ""},
		{"lines of question marks", strings.Repeat("? a\n", 60000), []string{`b.yaml:1:1: a key behind "?"`}, ""},
		{"empty items", strings.Repeat("-\n", 1000), []string{"b.yaml:1:1: 0: an empty item", "and 980 more"}, ""},
		{"many empty items", strings.Repeat("-\n", 100000), []string{"b.yaml:5001:1: " + many}, ""},
		{"alias bomb", "a: &a [x, x]\nb: &b [*a, *a]\nc: [*b, *b]\n", []string{"b.yaml:1:4: a: an anchor or alias"}, ""},
		{"many anchors", strings.Repeat("&a ", 80000), []string{many}, ""},
		{"many items in a line", "pads: [" + strings.Repeat("1 mm, ", 40000) + "]\n", []string{many}, ""},
		{"many items with wide characters", "pads: [ä, " + strings.Repeat("1 mm, ", 40000) + "]\n", []string{many}, ""},
		{"many keys in a line", func() string {
			var b strings.Builder
			for i := range 20000 {
				fmt.Fprintf(&b, "k%d: 1, ", i)
			}
			return "motor: {" + b.String() + "}\n"
		}(), []string{many}, ""},
		{"many keys", func() string {
			var b strings.Builder
			for i := range 20000 {
				fmt.Fprintf(&b, "k%d: 1\n", i)
			}
			return b.String()
		}(), []string{"b.yaml:5001:6: " + many}, ""},
		{"indentation of 250000 blanks", "a:\n" + strings.Repeat(" ", 250000) + "b: 1\n", []string{"b.yaml:2:1001: " + wide}, ""},
		{"blanks in a quote", "a: \"" + strings.Repeat(" ", 250000) + "\"\n", []string{"b.yaml:1:1005: " + wide}, ""},
		{"tabs", "a: " + strings.Repeat("\t", 250000) + "1\n", []string{"b.yaml:1:1003: " + wide}, "blanks like others"},
		{"tabs in a quote", "a: \"" + strings.Repeat("\t1", 120000) + "\"\n", []string{many}, ""},
		{"merge keys", strings.Repeat("<<", 100000), []string{"b.yaml:1:5001: " + many}, ""},
		{"long keys in long keys", func() string {
			var b strings.Builder
			for i := range 30 {
				b.WriteString(strings.Repeat(" ", i) + strings.Repeat("k", 40) + ":\n")
			}
			return strings.TrimSpace(b.String()) + " *a\n"
		}(), []string{"b.yaml:30:72: kkkk", "…: an anchor or alias"}, "a path of 1200 characters"},
		{"lists in lists", "-{\n" + strings.Repeat("-\n", 200), []string{"b.yaml:"}, "what looks like a brace is none: the lines are joined"},
		{"many commas", "a: [" + strings.Repeat(",", 200000) + "]", []string{many}, ""},
		{"many keys without values", "motor: {" + strings.Repeat("a,", 120000) + "}", []string{many}, ""},
		{"commas alone", "pads: [,]", []string{"b.yaml:1:8: not YAML here: expected sequence element"}, ""},
		{"many directives", strings.Repeat("%a\n", 80000), []string{"b.yaml:5001:1: " + many}, ""},
		{"many documents", strings.Repeat("---\na: b\n", 25000), []string{many}, ""},
		{"many empty keys", strings.Repeat("a:\n", 80000), []string{many}, ""},
		{"many line ends in brackets", "[a" + strings.Repeat("\n", 250000) + "]", []string{"b.yaml:1:1: a list stands at the top"}, ""},
	}
}

func TestWrong(t *testing.T) {
	for _, c := range wrongTexts(t) {
		t.Run(c.name, func(t *testing.T) {
			start := time.Now()
			d, err := buildfile.Parse("b.yaml", []byte(c.text))
			require.Less(t, time.Since(start), soon)
			require.Error(t, err)
			assert.Nil(t, d)
			screenful(t, err)
			for _, want := range c.want {
				assert.ErrorContains(t, err, want, c.reason)
			}
			require.ErrorAs(t, err, new(*quantity.Fault))
			faults := quantity.Faults(err)
			for i := 1; i < len(faults); i++ {
				require.LessOrEqual(t, faults[i-1].Place.Line, faults[i].Place.Line, "faults stand in the order of the lines")
			}
		})
	}
}

// The parser counts no column for a tab.
func TestColumnsCountTabs(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"turns: 28", "turns:\t0", "b.yaml:16:12: motor.armature.turns: 0 is out"},
		{"piston: {mass: 26 g,", "piston:\t{\tmass:\t-26\tg\t,", "b.yaml:49:17: piston.mass: -26 g is out"},
		{"drag: 5 N, clear", "\tdrag: 5 m, clear", `b.yaml:49:29: piston.drag: "5 m" is a length`},
	} {
		_, err := buildfile.Parse("b.yaml", []byte(changed(t, c.old, c.new)))
		assert.ErrorContains(t, err, c.want)
	}
	d, err := buildfile.Parse("b.yaml", []byte(changed(t, "name: Woodland club rifle", "name:\tWoodland\tclub rifle")))
	require.NoError(t, err)
	assert.Equal(t, rifleBuild(t), d.Build, "a tab is a blank")
	d, err = d.With("name=x")
	require.NoError(t, err)
	assert.Equal(t, changed(t, "name: Woodland club rifle", "name:\tx"), string(rereads(t, d)))
}

func TestColumnsCountCharacters(t *testing.T) {
	_, err := buildfile.Parse("b.yaml", []byte(changed(t, "piston: {mass: 26 g, drag: 5 N", "piston: {drag: 5 N ± 1 N, mass: -26 g")))
	assert.ErrorContains(t, err, "b.yaml:49:33: piston.mass: -26 g")
}

func TestOneFaultForOneMistake(t *testing.T) {
	for _, c := range []struct {
		name, text, want string
	}{
		{"anchors in a list", "c: [*a]\n", "b.yaml:1:5: c.0: an anchor or alias (& or *); wanted the value itself"},
		{"capacity from which heat follows", changed(t, "capacity: 1300 mAh", "capacity: -1 mAh"), "b.yaml:34:13: battery.capacity: -1 mAh is out of range; wanted 20 mAh to 1e+06 mAh"},
		{"teeth from which the rack follows", strings.Replace(changed(t, "rack: {teeth: 16, ", "rack: {"), "removed: 2", "removed: 16", 1),
			"b.yaml:46:62: sector.removed: 16 of 16 teeth are removed and none is left to pull; wanted at most 15"},
		{"more taken down than a tooth has", changed(t, "depth: 2.25 mm", "depth: 2.3 mm"), "b.yaml:47:165: rack.taken_down.0.depth: 2.3 mm is more than the tooth's height of 2.25 mm"},
		{"clearance from which a tooth's height follows", changed(t, "tip_clearance: 0.25 mm", "tip_clearance: x"),
			`b.yaml:47:107: rack.tip_clearance: "x" does not begin with a number; wanted a length, such as 350 mm`},
		{"clearance under another key", strings.Replace(changed(t, "tip_clearance: 0.25 mm", "tip_clearence: 0.45 mm"), "depth: 2.25 mm", "depth: 2.45 mm", 1),
			"b.yaml:47:92: rack.tip_clearence: no such key; did you mean tip_clearance?"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := buildfile.Parse("b.yaml", []byte(c.text))
			assert.EqualError(t, err, c.want)
		})
	}
}

// Syntax apart, a file's faults are reported together, whatever their kind, and
// none that only follows from another.
func TestAllFaultsAtOnce(t *testing.T) {
	text := strings.NewReplacer(
		"slots: 3", "slots: 4", "turns: 28", "turn: 28", "wire: 0.65 mm", "wire: 0.65", "rotor_diameter: 15.2 mm", "rotor_diameter: 15.2 kg",
		"mosfet: {resistance: 2 mohm,", "mosfet: {resistance: 2 mohm, resistances: 3,", "gears: {ratio: 10.44,", "gears: {",
		"removed: 2", "removed: 16", "preload: 45 mm", "preload: 45 mm, free_length: 150 mm", "{mass: 26 g", "{mass: -26 g", "chemistry: lithium-polymer", "chemistry: lead",
	).Replace(rifleText)
	_, err := buildfile.Parse("b.yaml", []byte(text), "trigger.mode=burst", "barrel.length=-1 mm")
	require.Error(t, err)
	var keys []string
	faults := quantity.Faults(err)
	for _, f := range faults {
		keys = append(keys, f.Field)
	}
	assert.Equal(t, []string{
		"motor.armature.turns", "motor.armature.slots", "motor.armature.turn", "motor.armature.wire", "motor.armature.rotor_diameter",
		"battery.chemistry", "harness.switch.mosfet.resistances", "gears.ratio", "sector.removed", "piston.mass", "spring.free_length",
		"trigger.mode", "barrel.length",
	}, keys, "%v", err)
	var first *quantity.Fault
	require.ErrorAs(t, err, &first)
	assert.Equal(t, faults[0], first)
	assert.Equal(t, quantity.Place{File: "b.yaml", Line: 15, Column: 5}, first.Place)
}

func TestRight(t *testing.T) {
	for _, c := range []struct {
		name, text, reason string
	}{
		{"mark", "\ufeff" + rifleText, ""},
		{"CR LF", strings.ReplaceAll(rifleText, "\n", "\r\n"), ""},
		{"CR LF here and there", strings.Replace(strings.Replace(rifleText, "motor:\n", "motor:\r\n", 1), "mm]\n", "mm]\r\n", 1), ""},
		{"mark and CR LF", "\ufeff" + strings.ReplaceAll(rifleText, "\n", "\r\n"), ""},
		{"no line's end at the end", strings.TrimSpace(rifleText), ""},
		{"document's start", "---\n" + rifleText, "one document may be marked"},
		{"document's end", rifleText + "...\n", ""},
		{"comment behind the end", rifleText + "---\n# the end\n", "no second document"},
		{"brackets in comments", rifleText + strings.Repeat("# :[ {\n", 40), ""},
		{"quoted values", changed(t, "mass: 26 g", `mass: "26 g"`), ""},
		{"name over two lines", changed(t, "Woodland club rifle", "Woodland\n  club rifle"), ""},
		{"quoted key", changed(t, "turns: 28", `"turns": 28`), ""},
		{"trailing blanks", strings.ReplaceAll(rifleText, "\n", "  \n"), ""},
		{"unicode units", changed(t, "9 mohm", "9 mΩ"), ""},
		{"flow over lines with tabs", changed(t, "piston: {mass: 26 g,", "piston: {\n\tmass: 26 g,"), "inside braces tabs are blanks"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, err := buildfile.Parse("b.yaml", []byte(c.text))
			require.NoError(t, err, c.reason)
			assert.Equal(t, rifleBuild(t), d.Build)
		})
	}
}

func TestDecimal(t *testing.T) {
	d, err := buildfile.Parse("b.yaml", []byte(changed(t, "turns: 28", "turns: 028")))
	require.NoError(t, err)
	assert.Equal(t, 28, d.Build.Motor.Armature.Turns, "never octal")
}
