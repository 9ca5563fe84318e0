package sheet

import (
	"context"
	"errors"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/drivetrain/study"
)

// Order is what a sheet is to tell of. Only the document is needed.
type Order struct {
	// Document is the build.
	Document *buildfile.Document
	// Plan is what the build fires to warm; nil: the sheet says nothing of heat.
	Plan *heat.Plan
	// Against is the build as it was before; nil: there is no before.
	Against *buildfile.Document
	// Readings are what a bench has measured of the build; nil: nothing.
	Readings *buildfile.Readings

	// For names the customer, By the technician, Date the day; "": not said.
	For, By, Date string
	// Command is the command line that makes the sheet, Version the program's; "": not said.
	Command, Version string
}

// Sheet is what a page tells, computed.
type Sheet struct {
	Order Order
	// Look is what is known of the build.
	Look *study.Examination
	// Before is the build as it was, and as it is; nil: there is no before.
	Before *study.Comparison
	// Findings are those of the build and of the plan, faults first.
	Findings finding.List
	// Heat is what the plan does; nil: there is none.
	Heat *heat.Result
	// Pickup is the work at the pickup; nil: the rack's place isn't known, or the pickup
	// tooth is missed, as the findings say.
	Pickup *pickup.Result
	// Measured are the readings beside what is computed.
	Measured []Measured
}

// Make computes a sheet. Errors are those of [study.Examine], [heat.Check] and
// [heat.Simulate], and faults of overrides that readings have.
func Make(ctx context.Context, o Order) (*Sheet, error) {
	if o.Document == nil {
		return nil, errors.New("a sheet wants a build")
	}
	s := &Sheet{Order: o}
	var err error
	if o.Against != nil {
		if s.Before, err = study.Compare(ctx, []*buildfile.Document{o.Against, o.Document}, cycle.Settings{}); err != nil {
			return nil, err
		}
		s.Look = s.Before.Looks[1]
	} else if s.Look, err = study.Examine(ctx, o.Document.Build, o.Document.Target, cycle.Settings{}); err != nil {
		return nil, err
	}
	s.Findings = s.Look.Findings
	if s.Look.Pickup != nil {
		work, err := pickup.Examine(o.Document.Build)
		if err == nil {
			s.Pickup = &pickup.Result{Work: work, Before: *s.Look.Pickup}
			if s.Pickup.After, err = work.Then.Fire(ctx, pickup.Settings{}); err != nil {
				return nil, err
			}
		} // else no work mends it, which the findings tell
	}
	if o.Plan != nil {
		if err := s.warm(ctx); err != nil {
			return nil, err
		}
	}
	if o.Readings != nil {
		if s.Measured, err = measured(ctx, o.Document, o.Readings); err != nil {
			return nil, err
		}
	}
	return s, ctx.Err()
}

// warm goes through the plan.
func (s *Sheet) warm(ctx context.Context) error {
	b, p := s.Order.Document.Build, s.Order.Plan
	err := heat.Check(b, p)
	if err != nil {
		return err
	}
	if s.Heat, err = heat.Simulate(ctx, b, p, heat.Settings{Trace: true}); err != nil {
		return err
	}
	stalled, err := heat.FindStalled(ctx, s.Heat.Build)
	if err != nil {
		return err
	}
	s.Findings = s.Look.With(s.Heat, stalled)
	return nil
}
