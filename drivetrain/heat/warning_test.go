package heat_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/heat"
)

func codes(all []finding.Finding) (list []string) {
	for _, w := range all {
		list = append(list, w.Code)
	}
	return list
}

// A pack is judged by what a pull takes on the average, not by its peak or its RMS.
func TestPackIsJudgedByTheMean(t *testing.T) {
	d := demo(t)
	plan := once(12, 1, 2, false)
	r := simulate(t, d, plan, heat.Settings{})
	require.Greater(t, r.PullRMS, 1.03*r.PackCurrent)
	require.Greater(t, r.PeakCurrent, 3*r.PackCurrent)
	for _, c := range []struct {
		share float64 // of the mean current
		over  bool
	}{{0.99, true}, {1.01, false}} {
		b := *d.Build
		b.Battery.DischargeRating = c.share * r.PackCurrent * 3600 / b.Battery.Capacity
		got, err := heat.Simulate(context.Background(), &b, plan, heat.Settings{})
		require.NoError(t, err)
		assert.Equal(t, c.over, assert.ObjectsAreEqual([]string{"pack-rating"}, codes(got.Warnings)), "rated for %g of the mean: %v", c.share, codes(got.Warnings))
	}
}

// Each connector has a limit of its own; the part is the one that reaches it first.
func TestEachConnectorsLimit(t *testing.T) {
	d := demo(t)
	plan := once(60, 1, 3, true)
	limits := func(kelvin ...float64) heat.Part {
		b := *d.Build
		b.Harness.Connectors = append(b.Harness.Connectors[:0:0], b.Harness.Connectors...)
		for i, k := range kelvin {
			b.Harness.Connectors[i].Limit = k
		}
		r, err := heat.Simulate(context.Background(), &b, plan, heat.Settings{})
		require.NoError(t, err)
		return r.Part(heat.Connectors)
	}
	high := limits(zero+105, zero+105)
	require.Greater(t, high.Peak, zero+21.)
	low := (high.Peak + zero + 20) / 2
	for name, part := range map[string]heat.Part{"first": limits(low, zero+105), "second": limits(zero+105, low)} {
		assert.Equal(t, low, part.Limit, "%s connector: what is told is the limit that was reached", name)
		assert.Greater(t, part.LimitAt, 0., name)
		assert.GreaterOrEqual(t, part.RoundsToLimit, 1., name)
		assert.InEpsilon(t, high.Peak, part.Peak, 1e-9, name)
	}
}

// The rows of the table of insulations, as the reference model has them.
func TestInsulationRows(t *testing.T) {
	assert.Equal(t, []heat.Insulation{
		{Name: "PVC", Conductivity: 0.20, Capacity: 1.7e6}, {Name: "PVC-105", Conductivity: 0.20, Capacity: 1.7e6},
		{Name: "silicone", Conductivity: 0.20, Capacity: 1.7e6}, {Name: "PTFE", Conductivity: 0.25, Capacity: 2.2e6},
	}, heat.Insulations())
	for _, i := range heat.Insulations() {
		d := demo(t, "harness.lead.insulation="+i.Name)
		c := heat.NewCable(&d.Build.Harness.Lead, d.Build.Ambient)
		assert.Equal(t, i, c.Jacket)
		assert.InDelta(t, map[string]float64{"PVC": 70, "PVC-105": 105, "silicone": 180, "PTFE": 200}[i.Name], celsius(d.Build.Harness.Lead.Limit), 1e-9)
	}
}

// A plan that ends early is a fault, by its end alone, whatever ends it.
func TestPlansThatEndEarlyAreFaults(t *testing.T) {
	plan := once(30, 2, 10, false)
	for outcome, overrides := range map[heat.Status][]string{
		heat.CutOff: {"battery.state_of_charge=6 %"}, heat.Empty: {"battery.state_of_charge=1 %", "battery.cutoff=0 V"},
		heat.Stall: {"spring.rate=2400 N/m"}, heat.FuseBlown: {"harness.fuse={rating: 11 A, melting: 121 A2 s}"},
	} {
		r := simulate(t, demo(t, overrides...), plan, heat.Settings{})
		require.Equal(t, outcome, r.Status)
		require.Less(t, r.Rounds, r.Asked)
		faults := finding.List(r.Warnings).Of(finding.Fault)
		require.NotEmpty(t, faults, outcome.String())
		code := map[heat.Status]string{heat.CutOff: "cut-off", heat.Empty: "pack-empty", heat.Stall: "stall", heat.FuseBlown: "fuse-nuisance"}[outcome]
		assert.True(t, faults.Has(code), "%s: %v", outcome, r.Warnings)
	}
	done := simulate(t, demo(t), once(3, 1, 2, false), heat.Settings{})
	assert.False(t, finding.List(done.Warnings).Broken(), "%v", done.Warnings)
}
