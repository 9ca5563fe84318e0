package main

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
)

// What the schemas say is tested where they are made.
func TestSchema(t *testing.T) {
	for kind, want := range map[string][]byte{"build": buildfile.BuildSchema(), "plan": buildfile.PlanSchema()} {
		o := command(t, "schema", kind)
		require.Zero(t, o.code)
		assert.Equal(t, string(want), o.stdout)
		assert.Empty(t, o.stderr)
		var j struct{ Title string }
		require.NoError(t, json.Unmarshal([]byte(o.stdout), &j))
		assert.Equal(t, "ampstroke "+kind+" file", j.Title)
	}
	assert.Equal(t, []string{"build", "plan"}, completed(t, "schema", ""))
}

func TestSchemaRefuses(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "nothing is given; wanted build or plan"},
		{[]string{"buil"}, `found "buil" (did you mean build?); wanted build or plan`},
		{[]string{"pallet"}, `found "pallet"; wanted build or plan`},
		{[]string{"build", "plan"}, "more than one word is given"},
	} {
		o := command(t, append([]string{"schema"}, c.args...)...)
		assert.Equal(t, badInput, o.code, c.args)
		assert.Contains(t, o.stderr, c.want)
		assert.Empty(t, o.stdout)
	}
}
