package heat

import (
	"context"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor/wire"
)

// GaugeRow is what leads of one gauge come to under a plan.
type GaugeRow struct {
	// Gauge is its number, AWG [1].
	Gauge float64
	// Area is the cross-section of the copper [m2].
	Area float64
	// Outer is the diameter over the jacket [m].
	Outer float64
	// Resistance is the loop's, at the surroundings' temperature [ohm].
	Resistance float64
	// Drop is the voltage over the loop at the largest current of the plan [V].
	Drop float64
	// Carries is the current that brings the copper to its limit for good; NaN where
	// the limit isn't known [A].
	Carries float64
	// Endless is the temperature of the copper if the pull that heats most went on
	// for good; +Inf: it melts [K].
	Endless float64
	// Melts is how long a stalled motor's current takes to melt the copper, by
	// Onderdonk, good up to some 10 s [s].
	Melts float64
	// Leads is what the plan does to the leads.
	Leads Part
	// FirstOut is the part of the build that reaches its limit first, "" for none.
	FirstOut string
	// RateFirst is the rate of fire of the first pull of two rounds or more [1/s].
	RateFirst float64
	Status    Status
}

// CommonGauges are those that leads are made of.
func CommonGauges() []float64 { return []float64{10, 12, 14, 16, 18, 20, 22, 24} }

// CheckGauges reports a build that has no leads to choose a gauge for.
func CheckGauges(b *drivetrain.Build) error {
	var c quantity.Check
	if !(b.Harness.Lead.Length > 0) {
		c.Add("harness.lead.length", "there are no leads to choose a gauge for; wanted more than nothing")
	}
	return c.Err()
}

// Gauges fires a plan with leads of other gauges in place of the build's, the length
// and jacket as they are.
func Gauges(ctx context.Context, b *drivetrain.Build, p *Plan, gauges []float64, settings Settings) ([]GaugeRow, error) {
	if err := CheckGauges(b); err != nil {
		return nil, err
	}
	var all []GaugeRow
	for _, g := range gauges {
		c := *b
		c.Harness.Lead.Area = wire.Area(wire.Diameter(g))
		r, err := Simulate(ctx, &c, p, settings)
		if err != nil {
			return nil, err
		}
		st, err := FindStalled(ctx, r.Build)
		if err != nil {
			return nil, err
		}
		row := r.LeadRow(st)
		row.Gauge = g
		all = append(all, row)
	}
	return all, nil
}

// LeadRow returns what the build's own leads come to under the plan, given the build's
// stalled motor; all NaN without leads.
func (r *Result) LeadRow(st *Stalled) GaugeRow {
	l, a, n := &r.Build.Harness.Lead, r.Build.Ambient, math.NaN()
	cable := NewCable(l, a)
	row := GaugeRow{
		Gauge: wire.Gauge(cable.Diameter), Area: l.Area, Outer: cable.Outer, Resistance: n, Drop: n, Carries: n, Endless: n, Melts: n,
		Leads: r.Part(Leads), FirstOut: r.FirstOut, RateFirst: r.RateFirst, Status: r.Status,
	}
	if !(l.Length > 0) {
		return row
	}
	row.Resistance = l.Resistance(a.Temperature)
	row.Drop = row.Resistance * r.PeakCurrent
	row.Carries = cable.SteadyCurrent(known(l.Limit) - a.Temperature)
	if !math.IsNaN(r.PullRMS) {
		rise, _ := cable.SteadyRise(r.PullRMS)
		row.Endless = a.Temperature + rise
	}
	melt := Onderdonk(l.Area, a.Temperature, 1) / st.Current
	row.Melts = melt * melt
	return row
}
