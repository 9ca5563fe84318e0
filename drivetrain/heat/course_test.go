package heat_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/heat"
)

// The table is in degrees Celsius, each part under its own name; what the build lacks
// is empty, and a rate stands in the rows of its pull.
func TestCourseAsTable(t *testing.T) {
	r := &heat.Result{Course: &heat.Course{
		Names: []string{heat.Winding, heat.Leads, heat.Fuse},
		Times: []float64{0, 0.5, 1.25, 2, 4}, Rounds: []int{0, 3, 3, 7, 8}, Charge: []float64{0.9, 0.75, 0.75, 0.5, 0.25},
		Temperatures: [][]float64{{zero + 20, zero + 30.5, zero + 29, zero + 25, zero + 24}, nil, {zero + 20, zero + 400, zero + 300, zero - 5, zero - 6}},
		Pulls: []heat.PullTimes{
			{Start: 0, End: 1, Releases: 3, Rate: 21.5, Release: 0.03}, {Start: 1.5, End: 3, Releases: 4, Rate: 20}, {Start: 3.5, End: 5, Releases: 1, Rate: math.NaN()},
		},
	}}
	var b strings.Builder
	require.NoError(t, r.WriteCSV(&b))
	assert.Equal(t, `time_s,rounds,state_of_charge,rate_of_fire_hz,winding_degc,leads_degc,fuse_degc
0,0,0.9,21.5,20,,20
0.5,3,0.75,21.5,30.5,,400
1.25,3,0.75,,29,,300
2,7,0.5,20,25,,-5
4,8,0.25,,24,,-6
`, b.String())

	none := &heat.Result{}
	b.Reset()
	require.NoError(t, none.WriteCSV(&b))
	assert.Equal(t, "time_s,rounds,state_of_charge,rate_of_fire_hz\n", b.String(), "no course was kept")
}
