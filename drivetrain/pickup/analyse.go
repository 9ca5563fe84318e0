package pickup

import (
	"context"
	"fmt"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
)

// Settings say how to analyse. The zero value is safe and good.
type Settings struct {
	// Cycle is how the cycles before and after are simulated. The default is that of
	// package cycle.
	Cycle cycle.Settings
}

// State is a build before or after the work.
type State struct {
	*Layout
	Strength
	// Cycle is its automatic fire.
	Cycle *cycle.Result
}

// Result is what an analysis found.
type Result struct {
	*Work
	Before, After State
}

// Analyse examines a build, fires it in automatic before and after the work, and
// holds the strength of rack and spring against their loads (equations H1 to H6).
// Errors are those of [Examine] and of [cycle.Simulate].
func Analyse(ctx context.Context, b *drivetrain.Build, settings Settings) (*Result, error) {
	p, err := Examine(b)
	if err != nil {
		return nil, err
	}
	return p.Fire(ctx, settings)
}

// Fire fires the build in automatic before and after the work, and holds
// the strength of rack and spring against their loads (equations H4 to H6).
func (p *Work) Fire(ctx context.Context, settings Settings) (*Result, error) {
	r := &Result{Work: p}
	var err error
	for _, s := range []struct {
		layout *Layout
		state  *State
		when   string
	}{{&p.Now, &r.Before, "as it stands"}, {&p.Then, &r.After, "after the work"}} {
		if *s.state, err = s.layout.Fire(ctx, settings); err != nil {
			return nil, fmt.Errorf("pickup, the build %s: %w", s.when, err)
		}
	}
	return r, nil
}

// Fire fires the build of a layout in automatic and holds the strength of rack and
// spring against its loads (equations H4 to H6).
func (l *Layout) Fire(ctx context.Context, settings Settings) (State, error) {
	b := *l.Build
	b.Trigger.Mode, b.Trigger.Rounds = drivetrain.Automatic, 0
	c, err := cycle.Simulate(ctx, &b, settings.Cycle)
	if err != nil {
		return State{}, err
	}
	return l.With(c), nil
}

// With holds the strength of rack and spring against the loads of the build's
// automatic fire (equations H4 to H6).
func (l *Layout) With(automatic *cycle.Result) State {
	g := l.Build.Geometry()
	speed := automatic.PickupSpeed * g.PullInertia / g.FreeInertia // equation D7, backwards
	return State{l, l.HandOver.gear.strength(l.Build, &l.Contact, speed), automatic}
}
