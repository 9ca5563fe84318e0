package pickup_test

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/drivetrain/quantity"
)

// Each column of the table is what its name says, in every row.
func TestColumnsAreWhatTheyAreCalled(t *testing.T) {
	p, err := pickup.Examine(buildfile.Demo())
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, p.WriteCSV(&b))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	named := map[string]func(pickup.Carrying) string{
		"sector_angle_rad": func(c pickup.Carrying) string { return quantity.TableText(c.Angle) }, "rack_travel_m": func(c pickup.Carrying) string { return quantity.TableText(c.Travel) },
		"tooth": func(c pickup.Carrying) string { return strconv.Itoa(c.Tooth) }, "contact": func(c pickup.Carrying) string { return string(c.Kind) },
		"contact_x_m": func(c pickup.Carrying) string { return quantity.TableText(c.X) }, "contact_y_m": func(c pickup.Carrying) string { return quantity.TableText(c.Y) },
	}
	head, rows := rows[0], rows[1:]
	require.Len(t, head, 1+len(named))
	before := p.Now.HandOver.Sample(1001)
	points := append(before, p.Then.HandOver.Sample(1001)...)
	require.Len(t, rows, len(points))
	for k, name := range head[1:] {
		require.Contains(t, named, name)
		for i, c := range points {
			require.Equal(t, named[name](c), rows[i][1+k], "%s in row %d", name, i)
		}
	}
	for i, row := range rows {
		assert.Equal(t, map[bool]string{true: "as it stands", false: "after"}[i < len(before)], row[0])
	}
	// The place is that of the contact: near the pitch line in height, and along it as far
	// as a tooth or two.
	rp := p.Now.Build.Sector.PitchRadius()
	for _, c := range before[1 : len(before)-1] {
		assert.InDelta(t, rp, c.Y, 2e-3)
		assert.Less(t, c.X, rp-2e-3)
	}
}
