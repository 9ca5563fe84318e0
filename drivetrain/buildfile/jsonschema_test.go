package buildfile_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/internal/effort"
)

// validator compiles a schema; that it is one, the dialect's own schema says.
func validator(t *testing.T, text []byte) *jsonschema.Schema {
	t.Helper()
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("ampstroke.json", document))
	s, err := c.Compile("ampstroke.json")
	require.NoError(t, err)
	return s
}

// asJSON turns YAML into what a validator looks at, as editors do, by another parser than
// the package's.
func asJSON(t *testing.T, text string) any {
	t.Helper()
	var v any
	require.NoError(t, yaml.Unmarshal([]byte(text), &v), text)
	var plain func(v any) any
	plain = func(v any) any {
		switch v := v.(type) {
		case map[string]any:
			for k := range v {
				v[k] = plain(v[k])
			}
		case []any:
			for i := range v {
				v[i] = plain(v[i])
			}
		case float64:
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Sprint(v) // JSON has none
			}
		}
		return v
	}
	data, err := json.Marshal(plain(v))
	require.NoError(t, err)
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	require.NoError(t, err)
	return document
}

// Every build and plan of the repository is valid.
func TestSchemaTakesAllFiles(t *testing.T) {
	build, plan := validator(t, buildfile.BuildSchema()), validator(t, buildfile.PlanSchema())
	builds, plans := 0, 0
	for _, pattern := range []string{"*.yaml", "testdata/*.yaml", "../../testdata/*/*.yaml", "../../testdata/*/*/*.yaml", "../../examples/*/*.yaml", "../../examples/builds/plans/*.yaml"} {
		paths, err := filepath.Glob(pattern)
		require.NoError(t, err)
		for _, path := range paths {
			if filepath.Base(filepath.Dir(path)) == "shelf" {
				continue // parts, and builds beside them
			}
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			if _, err := buildfile.Parse(path, text); err == nil {
				assert.NoError(t, build.Validate(asJSON(t, string(text))), path)
				assert.Error(t, plan.Validate(asJSON(t, string(text))), path)
				builds++
				continue
			}
			_, noReadings := buildfile.ParseReadings(path, text)
			if _, noShelf := buildfile.ParseShelf(path, text); noReadings == nil || noShelf == nil {
				assert.Error(t, build.Validate(asJSON(t, string(text))), path)
				assert.Error(t, plan.Validate(asJSON(t, string(text))), path)
				continue // which have no schema
			}
			if _, err := buildfile.ParseShelf(path, text); err == nil {
				assert.Error(t, build.Validate(asJSON(t, string(text))), path)
				assert.Error(t, plan.Validate(asJSON(t, string(text))), path)
				continue // nor have these
			}
			_, err = buildfile.ParsePlan(path, text)
			require.NoError(t, err, "%s is neither build, plan, readings nor shelf", path)
			assert.NoError(t, plan.Validate(asJSON(t, string(text))), path)
			assert.Error(t, build.Validate(asJSON(t, string(text))), path)
			plans++
		}
	}
	assert.Greater(t, builds, 20)
	assert.GreaterOrEqual(t, plans, 3)
	for name, d := range bases(t) {
		text, err := d.Bytes()
		require.NoError(t, err)
		assert.NoError(t, build.Validate(asJSON(t, string(text))), name)
	}
	for _, s := range startSettings {
		assert.NoError(t, build.Validate(asJSON(t, string(buildfile.Start(s)))), "%+v", s)
	}
}

// ofOneKey are the faults that are one key's own: unknown, missing, or with a value of
// another unit, kind or word. Others are of size and range, of several keys, or of YAML.
var ofOneKey = regexp.MustCompile(`no such key|missing; wanted|has no value; wanted|: found |is a bare number|is not a finite number|does not begin with|is not known|` +
	`; wanted an? [a-z ]+(with its unit)?, such as|has a unit|is not whole|stands beside|did you mean \S+ deg|decimal point and|no tolerance|tolerance of zero|per cent of the diameter|no blank behind|neither min nor max`)

func own(err error) bool {
	for line := range strings.SplitSeq(err.Error(), "\n") {
		if ofOneKey.MatchString(line) {
			return true
		}
	}
	return false
}

// What is wrong by one key's own fault, the schema sees.
func TestSchemaRefusesWrongFiles(t *testing.T) {
	schemas := map[bool]*jsonschema.Schema{false: validator(t, buildfile.BuildSchema()), true: validator(t, buildfile.PlanSchema())}
	seen := map[bool]int{}
	try := func(name, text string, plan bool) {
		var err error
		if plan {
			_, err = buildfile.ParsePlan("p.yaml", []byte(text))
		} else {
			_, err = buildfile.Parse("b.yaml", []byte(text))
		}
		require.Error(t, err)
		var v any
		if !own(err) || len(text) > 20000 || yaml.Unmarshal([]byte(text), &v) != nil {
			return
		}
		seen[plan]++
		assert.Error(t, schemas[plan].Validate(asJSON(t, text)), "%s: %v", name, err)
	}
	for _, c := range wrongTexts(t) {
		try(c.name, c.text, false)
	}
	for _, c := range wrongPlans() {
		try(c.name, c.text, true)
	}
	assert.GreaterOrEqual(t, seen[false], 26)
	assert.GreaterOrEqual(t, seen[true], 13)
}

// With each key in turn taken away, misspelt or given another value, the schema says what
// the decoder says: never more, and no less where the fault is the key's own.
func TestSchemaIsTheDecoder(t *testing.T) {
	schema := validator(t, buildfile.BuildSchema())
	values := []string{"1 mm", "3", "-1", "0.5", "abc", "", "true", "12 %", "26 g", "yes", "off", "'true'", "[1 mm]", "{a: 1}", "22 AWG", "2/0 AWG", "18:1", "25C", "5 N", "30 m/s", "20 degC", "3 degC ± 2", "0.3 V",
		"1 kg m2", "1 J/K", "2 K/W", "1/s", "auto", "copper", "LiPo", "lithium polymer", "Li-Fe-PO4", "n42 sh", "N41", "silicone", "Single", "single", "F", "2 A2 s", "1 N m ± 1 N m", "9 mohm", "9 mohm ± -1 mohm", ".nan", "1,5 mm"}
	each, of := 1, 36 // each of the first few, and of all the rest one of so many, in turn
	if effort.All() {
		each, of = 6, 9
	}
	right, wrong, done := 0, 0, map[string]bool{}
	all := bases(t)
	full := started(t, buildfile.Settings{})
	var written []string // what follows from the rest, written out
	for _, g := range read(t, string(buildfile.Start(buildfile.Settings{}))) {
		if k, _ := buildfile.FindKey(g.path); g.off > 0 && g.section == "" && k.Why != "" && !strings.HasPrefix(g.path, "spring.") {
			written = append(written, g.path+"="+g.value)
		}
	}
	var err error
	all["full"], err = full.With(append(written, "rack.lift=0.1 mm")...)
	require.NoError(t, err)
	all["full contacts"], err = full.With("harness.switch.contacts={material: silver, force: 1.2 N, hardness: 0.8 GPa, heat: 2 J/K, to_ambient: 25 K/W, limit: 180 degC}",
		"spring.wire=1.4 mm", "spring.coil_diameter=12 mm", "spring.coils=30", "spring.modulus=79 GPa", "motor.heat.class=F", "motor.stator.magnet.grade=N35")
	require.NoError(t, err)
	all["full bench"], err = full.With("motor.bench={voltage: 7.4 V, no_load_speed: 16890 rpm, no_load_current: 1.78 A, stall_current: 126 A, inertia: 12 g cm2, inductance: 50 uH, brush_drop: 0.3 V, drift: -0.1 %/K, temperature: 20 degC}")
	require.NoError(t, err)
	for turn, name := range slices.Sorted(maps.Keys(all)) {
		data, err := all[name].Bytes()
		require.NoError(t, err)
		text := regexp.MustCompile(`(?m)^ *#.*\n`).ReplaceAllString(string(data), "") // read in less time
		d, err := buildfile.Parse("b.yaml", []byte(text))
		require.NoError(t, err)
		texts := map[string]string{} // by what was done
		for i, leaf := range buildfile.Leaves() {
			if _, given := d.Position(leaf.Path); !given || done[leaf.Path] {
				continue
			}
			done[leaf.Path] = true
			for j, v := range values {
				if j >= each && (i+j)%of != 0 {
					continue
				}
				texts[leaf.Path+": "+v] = d.Replaced(leaf.Path, v)
			}
			if key := leaf.Path[strings.LastIndexByte(leaf.Path, '.')+1:]; strings.Count(text, key+":") == 1 {
				texts[leaf.Path+" misspelt"] = strings.Replace(text, key+":", key+"s:", 1)
			}
		}
		for i, section := range regexp.MustCompile(`(?m)^[a-z]+:`).FindAllString(text, -1) {
			cut := regexp.MustCompile(`(?m)^` + section + `.*\n( .*\n)*`)
			for j, with := range []string{"", section + "\n", section + " {}\n"} {
				if !effort.All() && (turn+i+j)%3 != 0 {
					continue
				}
				texts[fmt.Sprintf("%s %q", section, with)] = cut.ReplaceAllString(text, with)
			}
		}
		for what, text := range texts {
			_, err := buildfile.Parse("b.yaml", []byte(text))
			if err != nil && !own(err) {
				continue
			}
			fault := schema.Validate(asJSON(t, text))
			switch {
			case err == nil:
				right++
				assert.NoError(t, fault, "%s, %s", name, what)
			default:
				wrong++
				assert.Error(t, fault, "%s, %s: %v", name, what, err)
			}
		}
	}
	t.Logf("%d right and %d wrong texts", right, wrong)
	assert.Greater(t, right, effort.Seen(100))
	assert.Greater(t, wrong, effort.Seen(1500))
	for _, k := range buildfile.Keys() {
		assert.True(t, done[k.Path] || strings.HasPrefix(k.Path, "target."), "%s was tried", k.Path)
	}
}

// Each key stands in the schema with what is said of it, and its default is valid.
func TestSchemaKnowsEveryKey(t *testing.T) {
	var root map[string]any
	require.NoError(t, json.Unmarshal(buildfile.BuildSchema(), &root))
	assert.Equal(t, "https://json-schema.org/draft/2020-12/schema", root["$schema"])
	assert.Contains(t, root["$comment"], "two keys")
	defaults := 0
	for _, k := range buildfile.Keys() {
		at := root
		for _, part := range strings.Split(k.Path, ".") {
			switch {
			case at["prefixItems"] != nil:
				at = at["prefixItems"].([]any)[map[string]int{"0": 0, "1": 1}[part]].(map[string]any)
			case at["items"] != nil:
				at = at["items"].(map[string]any)
			default:
				properties, ok := at["properties"].(map[string]any)
				require.True(t, ok, k.Path)
				assert.Equal(t, false, at["additionalProperties"], k.Path)
				at, ok = properties[part].(map[string]any)
				require.True(t, ok, k.Path)
			}
		}
		assert.Contains(t, at["description"], k.Meaning, k.Path)
		assert.Contains(t, at["description"], k.HowMeasured, k.Path)
		assert.Equal(t, k.Default != "", at["default"] != nil, k.Path)
		if k.Default == "" {
			continue
		}
		if defaults++; effort.All() || defaults%10 == 1 { // a schema is made for each
			own := map[string]any{"$defs": root["$defs"]}
			maps.Copy(own, at)
			text, err := json.Marshal(own)
			require.NoError(t, err)
			assert.NoError(t, validator(t, text).Validate(at["default"]), k.Path)
		}
	}
}

func TestSchemaKnowsEveryKeyOfAPlan(t *testing.T) {
	var root struct {
		Required   []string
		Properties map[string]map[string]any
	}
	require.NoError(t, json.Unmarshal(buildfile.PlanSchema(), &root))
	assert.Equal(t, []string{"steps"}, root.Required)
	step := root.Properties["steps"]["items"].(map[string]any)
	assert.Equal(t, []any{"rounds"}, step["required"])
	said := 0
	for _, properties := range []any{root.Properties, step["properties"]} {
		data, err := json.Marshal(properties)
		require.NoError(t, err)
		var keys map[string]map[string]any
		require.NoError(t, json.Unmarshal(data, &keys))
		for key, schema := range keys {
			if key != "steps" {
				assert.NotEmpty(t, schema["description"], key)
				said++
			}
		}
	}
	assert.Equal(t, 7, said)
}

// Other spellings of words are those that the packages read which know them.
func TestSchemaSpellings(t *testing.T) {
	schema := validator(t, buildfile.BuildSchema())
	valid := func(overrides ...string) bool {
		text := strings.NewReplacer(overrides...).Replace(buildfile.DemoText())
		require.NotEqual(t, buildfile.DemoText(), text)
		_, err := buildfile.Parse("b.yaml", []byte(text))
		assert.Equal(t, err == nil, schema.Validate(asJSON(t, text)) == nil, "%v: %v", overrides, err)
		return err == nil
	}
	read := 0
	for _, word := range []string{"LiPo", "lipo", "Li-Po", "LIPO", "LiFePO4", "Li-Fe-PO4", "LFP", "life", "NiMH", "Ni-MH", "NIMH", "Lithium-Polymer", "lithium polymer", "LiIon", "lipoly", "lead", "nickel-metal-hydride"} {
		if valid("chemistry: lithium-polymer", "chemistry: "+word) {
			read++
		}
	}
	for _, word := range []string{"N42SH", "n42sh", "N42 SH", "N-42-SH", "N 42", "Y30", "y-30", "C8", "N41", "N42X", "N42SHH", "42", "N52EH", "N52 E H"} {
		if valid("remanence: 1.18 T, drift: -0.12 %/K,", "grade: "+word+",", ", coercivity: 955 kA/m", "") {
			read++
		}
	}
	assert.Equal(t, 23, read)
	for word, want := range map[string]bool{"true": true, "True": true, "yes": true, "Yes": true, "OFF": true, "no": true, "maybe": false, "1": false, "'true'": false} {
		assert.Equal(t, want, valid("active_braking: false", "active_braking: "+word), word)
	}
}

// One of two keys, and no more; what stands beside the bench's readings; a null section.
func TestSchemaAlternatives(t *testing.T) {
	schema := validator(t, buildfile.BuildSchema())
	const bench = "  bench: {voltage: 7.4 V, no_load_speed: 16890 rpm, no_load_current: 1.78 A, stall_current: 126 A, inertia: 12 g cm2}\n"
	parts := regexp.MustCompile(`(?s)  stator:.*?(  drag:)`)
	for _, c := range []struct {
		name, text string
		want       bool
	}{
		{"both", strings.Replace(buildfile.DemoText(), "    air_gap: 0.40 mm\n", "    air_gap: 0.40 mm\n    bore: 16 mm\n", 1), false},
		{"neither", strings.Replace(buildfile.DemoText(), "    air_gap: 0.40 mm\n", "", 1), false},
		{"the other", strings.Replace(buildfile.DemoText(), "    air_gap: 0.40 mm\n", "    bore: 16 mm\n", 1), true},
		{"half of the other", strings.Replace(buildfile.DemoText(), "preload: 45 mm", "free_length: 150 mm", 1), false},
		{"part of a spring beside the rate", strings.Replace(buildfile.DemoText(), "{rate: 720 N/m,", "{rate: 720 N/m, modulus: 79 GPa,", 1), false},
		{"spring without modulus", strings.Replace(buildfile.DemoText(), "{rate: 720 N/m,", "{wire: 1.4 mm, coil_diameter: 12 mm, coils: 30,", 1), true},
		{"bench beside the parts", strings.Replace(buildfile.DemoText(), "  stator:\n", bench+"  stator:\n", 1), false},
		{"bench", strings.Replace(parts.ReplaceAllString(buildfile.DemoText(), bench+"$1"), "constant: 3.5 mN m, ", "", 1), true},
		{"bench with constant drag", parts.ReplaceAllString(buildfile.DemoText(), bench+"$1"), false},
		{"bench with commutation", strings.Replace(parts.ReplaceAllString(buildfile.DemoText(), bench+"  commutation: 10 %\n$1"), "constant: 3.5 mN m, ", "", 1), false},
		{"stator without armature", regexp.MustCompile(`(?s)  armature:.*?(  drag:)`).ReplaceAllString(buildfile.DemoText(), "$1"), false},
		{"no motor", regexp.MustCompile(`(?s)motor:.*?(battery:)`).ReplaceAllString(buildfile.DemoText(), "$1"), false},
		{"empty ambient", strings.Replace(buildfile.DemoText(), "ambient: {temperature: 20 degC, pressure: 101.325 kPa}", "ambient:", 1), true},
		{"empty fuse", strings.Replace(buildfile.DemoText(), "fuse: {rating: 25 A, melting: 600 A2 s}", "fuse:", 1), false},
		{"no bound", strings.Replace(buildfile.DemoText(), "{min: 20 /s}", "{}", 1), false},
	} {
		_, err := buildfile.Parse("b.yaml", []byte(c.text))
		assert.Equal(t, c.want, err == nil, "%s: %v", c.name, err)
		fault := schema.Validate(asJSON(t, c.text))
		assert.Equal(t, c.want, fault == nil, "%s: %v", c.name, fault)
	}
}
