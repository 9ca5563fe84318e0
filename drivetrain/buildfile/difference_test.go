package buildfile_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
)

func TestDifferences(t *testing.T) {
	rifle := rifleWith(t)
	assert.Empty(t, buildfile.Differences(rifle, rifleWith(t)))
	assert.Empty(t, buildfile.Differences(rifle, rifleWith(t, "name=Another", "target.rate_of_fire.min=30 /s")), "name and target are no parts")
	assert.Empty(t, buildfile.Differences(rifle, rifleWith(t, "motor.armature.wire=650 um", "battery.cutoff=3.0 V")), "the same in other units, or said in place of assumed")

	got := buildfile.Differences(rifle,
		rifleWith(t, "harness.switch.contacts={material: silver, force: 2 N}", "pellet.mass=0.20 g ± 2 %"),
		rifleWith(t, "harness.connectors.2={resistance: 1 mohm}", "motor.armature.turns=22"))
	cells := map[string][]buildfile.Entry{}
	var order []string
	for _, d := range got {
		order = append(order, d.Path)
		cells[d.Path] = d.Entries
		assert.Len(t, d.Entries, 3)
	}
	assert.Equal(t, []buildfile.Entry{{Text: "28"}, {Text: "28"}, {Text: "22"}}, cells["motor.armature.turns"])
	assert.Equal(t, []buildfile.Entry{{}, {Text: "silver"}, {}}, cells["harness.switch.contacts.material"])
	assert.Equal(t, []buildfile.Entry{{}, {Text: "0.6 GPa", Assumed: true}, {}}, cells["harness.switch.contacts.hardness"])
	assert.Equal(t, []buildfile.Entry{{Text: "2 mohm"}, {}, {Text: "2 mohm"}}, cells["harness.switch.mosfet.resistance"])
	assert.Equal(t, []buildfile.Entry{{}, {}, {Text: "1 mohm"}}, cells["harness.connectors.2.resistance"])
	assert.Equal(t, []buildfile.Entry{{Text: "0.20 g"}, {Text: "0.20 g ± 2 %"}, {Text: "0.20 g"}}, cells["pellet.mass"], "a tolerance differs too")

	var schema []string
	for _, leaf := range buildfile.Leaves() {
		if cells[leaf.Path] != nil {
			schema = append(schema, leaf.Path)
		}
	}
	var without []string // connectors beyond the first have no leaf of their own
	for _, p := range order {
		if len(p) < 20 || p[:20] != "harness.connectors.2" {
			without = append(without, p)
		}
	}
	assert.Equal(t, schema, without, "in the order of the schema")
	require.Empty(t, buildfile.Differences())
	require.Empty(t, buildfile.Differences(rifle))
}

func ExampleDifferences() {
	stock, err := buildfile.DemoDocument()
	if err != nil {
		fmt.Println(err)
		return
	}
	rewound, err := stock.With("motor.armature.turns=22", "motor.armature.wire=0.75 mm")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, d := range buildfile.Differences(stock, rewound) {
		fmt.Printf("%s: %s, %s\n", d.Path, d.Entries[0].Text, d.Entries[1].Text)
	}
	// Output:
	// motor.armature.turns: 25, 22
	// motor.armature.wire: 0.68 mm, 0.75 mm
}
