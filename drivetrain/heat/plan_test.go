package heat_test

import (
	"testing"

	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity/quantitytest"
)

func TestPlanBounds(t *testing.T) {
	type P = heat.Plan
	const days = 24 * 3600.
	p := quantitytest.Part[P]{T: t, New: func() P {
		return P{Repeat: 1, Steps: []heat.Step{{Rounds: 1, Repeat: 1}, {Rounds: 0, Pause: 1, Repeat: 1}}}
	}, Validate: (*P).Validate}
	p.Bounds("ambient", func(p *P) *float64 { return &p.Ambient }, zero-60, zero+80)
	p.Bounds("steps.0.pause", func(p *P) *float64 { return &p.Steps[0].Pause }, 0, 400*days)
	p.Counts("steps.0.rounds", func(p *P) *int { return &p.Steps[0].Rounds }, 0, 1_000_000)
	p.Counts("steps.0.repeat", func(p *P) *int { return &p.Steps[0].Repeat }, 1, 1_000_000)
	p.Wrong("repeat", func(p *P) { p.Repeat = 0 })
	p.Wrong("steps", func(p *P) { p.Steps = nil })
	p.Wrong("", func(p *P) { p.Steps = steps(1000) })
	p.Wrong("steps", func(p *P) { p.Steps = steps(1001) })
	p.Wrong("", func(p *P) { p.Steps = []heat.Step{{Rounds: 0, Pause: 1e-9, Repeat: 1}} })
	p.Wrong("steps.1.pause", func(p *P) { p.Steps[1].Pause = 0 })
	// The whole plan: a million rounds, a million pulls, four hundred days.
	p.Wrong("", func(p *P) { *p = P{Repeat: 10, Steps: []heat.Step{{Rounds: 1000, Repeat: 100}}} })
	p.Wrong("repeat", func(p *P) {
		*p = P{Repeat: 10, Steps: []heat.Step{{Rounds: 1000, Repeat: 100}, {Rounds: 1, Repeat: 1}}}
	})
	p.Wrong("", func(p *P) { *p = P{Repeat: 1000, Steps: []heat.Step{{Pause: 1, Repeat: 1000}}} })
	p.Wrong("repeat", func(p *P) { *p = P{Repeat: 1000, Steps: []heat.Step{{Pause: 1, Repeat: 1001}}} })
	p.Wrong("", func(p *P) { *p = P{Repeat: 4, Steps: []heat.Step{{Pause: 50 * days, Repeat: 2}}} })
	p.Wrong("repeat", func(p *P) { *p = P{Repeat: 4, Steps: []heat.Step{{Pause: 50*days + 1, Repeat: 2}}} })
}

// steps are so many pulls of one round.
func steps(n int) (all []heat.Step) {
	for range n {
		all = append(all, heat.Step{Rounds: 1, Repeat: 1})
	}
	return all
}
