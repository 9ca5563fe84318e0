package buildfile_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
)

// Keys are the schema's, in its order, and what is said of them is of each of them and
// of nothing else.
func TestKeysAreTheSchema(t *testing.T) {
	var want, got []string
	for _, leaf := range buildfile.Leaves() {
		want = append(want, leaf.Path)
	}
	keys := buildfile.Keys()
	for _, k := range keys {
		got = append(got, k.Path)
		assert.NotEmpty(t, k.Meaning, "%s has no line in meaning.go", k.Path)
		assert.NotEmpty(t, k.HowMeasured, "%s has no line in meaning.go", k.Path)
	}
	assert.Equal(t, want, got)
	assert.Equal(t, want, buildfile.Explained(), "meaning.go has the keys in the order of the schema")
	for _, k := range keys {
		for _, text := range []string{k.Meaning, k.HowMeasured} {
			assert.NotContains(t, text, "\n", k.Path)
			assert.False(t, strings.HasSuffix(text, ".") || strings.HasPrefix(text, " ") || strings.Contains(text, "  "), "%s: a line without a full stop: %q", k.Path, text)
		}
	}
	keys[0].Path, keys[slices.IndexFunc(keys, func(k buildfile.Key) bool { return k.Words != nil })].Words[0] = "changed", "changed"
	assert.NotContains(t, buildfile.Keys()[0].Path, "changed", "a copy")
	for _, k := range buildfile.Keys() {
		assert.NotContains(t, k.Words, "changed", "a copy")
	}
}

// A key that is left out without a default says what that means; one of two, the other.
func TestMeaningsSayWhatIsLeftOut(t *testing.T) {
	for _, k := range buildfile.Keys() {
		if k.Required || k.Default != "" || k.Why != "" || k.Path == "pads.0" {
			continue
		}
		assert.Regexp(t, `left out: |left out without|or give |in place of|length of the spring with|mean diameter of the coils|number of active coils`, k.Meaning, k.Path)
	}
}

func TestFindKey(t *testing.T) {
	for path, want := range map[string]string{
		"spring.rate": "spring.rate", "harness.connectors.7.heat.to_lead": "harness.connectors.0.heat.to_lead", "pads.3": "pads.0",
		"battery.ocv.2.1": "battery.ocv.0.1", "rack.taken_down.10.depth": "rack.taken_down.0.depth", "target.inrush.max": "target.inrush.max",
	} {
		k, ok := buildfile.FindKey(path)
		assert.True(t, ok, path)
		assert.Equal(t, want, k.Path)
	}
	for _, path := range []string{"", "spring", "spring.rat", "pads", "pads.x", "battery.ocv.0.2", "harness.connectors.0", "spring.rate.x"} {
		_, ok := buildfile.FindKey(path)
		assert.False(t, ok, path)
	}
}

// What is said of a key is what the decoder does with it.
func TestKeysAreDecodedAsTheySay(t *testing.T) {
	d, err := buildfile.Parse("least.yaml", []byte(least))
	require.NoError(t, err)
	assumed := map[string]buildfile.Assumption{}
	for _, a := range d.Assumed() {
		assumed[a.Path] = a
	}
	leaves := map[string]buildfile.Leaf{}
	for _, l := range buildfile.Leaves() {
		leaves[l.Path] = l
	}
	seen := 0
	for _, k := range buildfile.Keys() {
		leaf := leaves[k.Path]
		assert.Equal(t, leaf.Quantity, k.Quantity, k.Path)
		assert.Equal(t, leaf.Required, k.Required, k.Path)
		if k.Quantity {
			assert.Equal(t, leaf.Kind, k.Kind, k.Path)
			assert.Equal(t, k.Kind == quantity.Count || k.Kind == quantity.Gauge, k.Whole, k.Path)
		} else {
			assert.Equal(t, leaf.Words, k.Words, k.Path)
		}
		assert.Equal(t, leaf.Assumed, k.Default != "" || k.Why != "", "%s: what stands in has a reason", k.Path)
		a, ok := assumed[k.Path]
		if k.Path == "rack.pickup_offset" || k.Path == "sector.engaged_angle" {
			assert.True(t, ok && k.Why == "", "%s is told as assumed, but the build has none", k.Path)
			continue
		}
		if ok {
			seen++
			if k.Default != "" {
				assert.Equal(t, a.Text, k.Default, k.Path)
				assert.Equal(t, a.Why, k.Why, k.Path)
			}
			assert.NotEmpty(t, k.Why, k.Path)
		}
		if k.Default != "" && k.Quantity {
			v, err := quantity.Parse(k.Default, k.Kind)
			require.NoError(t, err, k.Path)
			assert.True(t, v.SI >= k.Range[0] && v.SI <= k.Range[1], "%s: %s lies in the range", k.Path, k.Default)
		}
	}
	assert.Greater(t, seen, 80)
	commutation, _ := buildfile.FindKey("motor.commutation")
	assert.Equal(t, []string{"auto"}, commutation.Words)
	assert.True(t, commutation.Quantity)
	active, _ := buildfile.FindKey("harness.switch.mosfet.active_braking")
	assert.Equal(t, []string{"true", "false"}, active.Words)
	assert.Equal(t, "false", active.Default)
}

// What lies at the bounds of a key's range is not out of range to Validate, what lies a
// hair beyond is, whatever document it stands in and whatever else is wrong there.
func TestRangesAreThoseOfValidate(t *testing.T) {
	all := bases(t)
	held := map[string]int{}
	for _, name := range sortedNames(all) {
		d := all[name]
		for _, n := range numbers(d) {
			if !effort.All() && held[n.Path] > 1 {
				continue // in two of the builds
			}
			v, err := d.Vary(n.path)
			if err != nil {
				continue
			}
			lo, hi := n.Range[0], n.Range[1]
			require.Less(t, lo, hi, n.path)
			outside := func(x float64) bool {
				_, err := v.Put([]float64{x})
				return slices.ContainsFunc(quantity.Faults(err), func(f *quantity.Fault) bool {
					return f.Field == n.path && (strings.Contains(f.Text, "is out of range; wanted ") || strings.Contains(f.Text, "wanted a whole gauge"))
				})
			}
			beyond := []float64{lo - 1e-9*max(math.Abs(lo), 1e-9), hi + 1e-9*max(math.Abs(hi), 1e-9)}
			if n.Whole {
				beyond = []float64{lo - 1, hi + 1}
			}
			if n.Path == "cylinder.port_area" && d.Build.Cylinder.Port == 0 || n.Path == "spring.modulus" && d.Build.Spring.Wire == 0 {
				continue // nobody looks at it
			}
			if strings.HasPrefix(n.Path, "battery.ocv") && len(d.Build.Battery.OCVTable) == 0 {
				continue // one row is no table
			}
			for _, x := range []float64{lo, hi} {
				assert.False(t, outside(x), "%s: %s of %.12g, bounds %g to %g", name, n.path, x, lo, hi)
			}
			for _, x := range beyond {
				if n.Kind.Holds(x) || n.Kind == quantity.Gauge {
					assert.True(t, outside(x), "%s: %s of %.12g, bounds %g to %g", name, n.path, x, lo, hi)
				}
			}
			held[n.Path]++
		}
	}
	for _, k := range buildfile.Keys() {
		if !k.Quantity || strings.HasPrefix(k.Path, "target.") {
			assert.True(t, math.IsNaN(k.Range[0]) && math.IsNaN(k.Range[1]), "%s has no range", k.Path)
			continue
		}
		needs := []string{"tappet.", "motor.bench.", "gears.teeth.", "rack.taken_down.", "battery.ocv."}
		if !slices.ContainsFunc(needs, func(p string) bool { return strings.HasPrefix(k.Path, p) }) {
			assert.GreaterOrEqual(t, held[k.Path], 1, "%s: its range is held nowhere", k.Path)
		}
	}
	for _, path := range []string{"tappet.from", "motor.bench.no_load_speed", "gears.teeth.spur", "rack.taken_down.0.depth", "battery.ocv.0.1"} {
		assert.NotZero(t, held[path], path)
	}
	assert.Greater(t, len(held), 150)
	// A few by hand, from the constants of the parts.
	for path, want := range map[string][2]float64{
		"motor.armature.slots": {3, 99}, "spring.rate": {1e-6, 1e7}, "piston.mass": {0.1e-3, 10}, "pellet.mass": {0.01e-3, 0.1},
		"battery.ocv.0.1": {0.01, 10}, "harness.lead.gauge": {-3, 46}, "ambient.pressure": {20e3, 200e3}, "sector.lobes": {1, 20},
	} {
		k, _ := buildfile.FindKey(path)
		assert.Equal(t, want, k.Range, path)
	}
}
