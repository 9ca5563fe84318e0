package cycle_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/drivetrain/cycle"
)

// own is a cell that only this test knows.
type own struct{ battery.Table }

// A cell of one's own is what the cycle fires with: the points of a table give the same
// figures as the table itself, and other points others.
func TestOwnCell(t *testing.T) {
	points := []battery.OCVPoint{{Charge: 0, Voltage: 3.1}, {Charge: 0.5, Voltage: 3.7}, {Charge: 1, Voltage: 4.1}}
	b := builds(t)["demo"]
	simulate := func(p battery.Pack) cycle.Summary {
		b := b.Clone()
		b.Battery = p
		r, err := cycle.Simulate(t.Context(), b, cycle.Settings{})
		require.NoError(t, err)
		return r.Summary
	}
	tabled, mine, higher := b.Battery, b.Battery, b.Battery
	tabled.Chemistry, tabled.OCVTable = battery.Custom, points
	mine.Chemistry, mine.Model = "", own{battery.Table{Points: points}}
	higher.Model = own{battery.Table{Points: []battery.OCVPoint{{Charge: 0, Voltage: 3.3}, {Charge: 1, Voltage: 4.4}}}}
	want := simulate(tabled)
	assert.Equal(t, fmt.Sprint(want), fmt.Sprint(simulate(mine)), "NaN by NaN")
	assert.Greater(t, simulate(higher).RateOfFire, want.RateOfFire)
}
