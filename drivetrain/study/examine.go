package study

import (
	"context"
	"fmt"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/drivetrain/quantity"
)

// Examination is what is known of a build.
type Examination struct {
	Build  *drivetrain.Build
	Target figure.Target
	// Cycle is the build fired as its trigger says.
	Cycle *cycle.Result
	// Automatic is the build in automatic fire, without a burst; Cycle itself where
	// that is the same.
	Automatic *cycle.Result
	// Single is one pull of a single shot; Cycle itself where that is the same, nil
	// where the build's cut-off allows none.
	Single *cycle.Result
	// Pickup is how sector and rack meet, and what they bear; nil where the rack's
	// place wasn't measured, or the pickup tooth isn't met.
	Pickup *pickup.State
	// Verdicts hold Cycle's figures against the target.
	Verdicts []figure.Verdict
	// Findings are what there is to say, faults first.
	Findings finding.List
}

// Examine looks at a build from all sides. Errors are those of [cycle.Simulate].
func Examine(ctx context.Context, b *drivetrain.Build, target figure.Target, settings cycle.Settings) (*Examination, error) {
	x := &Examination{Build: b, Target: target}
	var err error
	if x.Cycle, err = cycle.Simulate(ctx, b, settings); err != nil {
		return nil, err
	}
	if x.Automatic, err = x.fired(ctx, drivetrain.Automatic, settings); err != nil {
		return nil, fmt.Errorf("in automatic: %w", err)
	}
	if x.Single, err = x.fired(ctx, drivetrain.Single, settings); err != nil {
		return nil, fmt.Errorf("in single: %w", err)
	}
	meets := x.meets()
	x.Verdicts = target.Judge(x.Value)
	x.Findings = x.found(meets)
	return x, nil
}

// found joins what all rooms have to say, given how sector and rack meet.
func (x *Examination) found(meets []finding.Finding) finding.List {
	return finding.Join(x.Cycle.Warnings, meets, x.wishes(), Motor(x.Build), x.plausible(), x.missing())
}

// fired returns the build in a mode of fire; nil where it can't be fired in it.
func (x *Examination) fired(ctx context.Context, mode drivetrain.Mode, settings cycle.Settings) (*cycle.Result, error) {
	if own := &x.Build.Trigger; own.Mode == mode && (mode == drivetrain.Single || own.Rounds == 0) {
		return x.Cycle, nil
	}
	b := *x.Build
	b.Trigger.Mode, b.Trigger.Rounds = mode, 0
	if b.Validate() != nil { // a cut-off behind the lobe, which automatic fire doesn't mind
		return nil, nil
	}
	return cycle.Simulate(ctx, &b, settings)
}

// meets says how sector and rack meet.
func (x *Examination) meets() []finding.Finding {
	b := x.Build
	if b.Rack == nil || b.Rack.PickupOffset == nil {
		return nil
	}
	l, err := pickup.Stand(b)
	if err != nil {
		var all []finding.Finding
		for _, f := range quantity.Faults(err) {
			all = append(all, finding.New("missed", []string{f.Field}, "%s", f.Text))
		}
		return all
	}
	s := l.With(x.Automatic)
	x.Pickup = &s
	var all []finding.Finding
	// What the cycle says of the same thing by another code: spring-solid, no-start.
	never := finding.List(x.Cycle.Warnings).Has("no-start")
	for _, f := range s.Warnings() {
		if f.Code != "spring-binds" && !(never && f.Code == "stall") {
			all = append(all, f)
		}
	}
	return all
}

// With returns the findings together with those of a firing plan, and of what a
// stalled motor asks of the fuse.
func (x *Examination) With(r *heat.Result, s *heat.Stalled) finding.List {
	return finding.Join(x.Findings, r.Warnings, s.Warnings())
}
