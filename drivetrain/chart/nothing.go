package chart

import (
	"errors"
	"fmt"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/pickup"
)

// ErrNothing is wrapped by the error of a picture that can't be drawn, since the result
// holds no course, or nothing of what the picture shows.
var ErrNothing = errors.New("nothing to draw")

// nothing says what is missing.
func nothing(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrNothing, fmt.Sprintf(format, args...))
}

// drawable says what a cycle's result lacks to be drawn.
func drawable(r *cycle.Result) error {
	switch {
	case r == nil || r.Build == nil:
		return nothing("there is no result of a cycle")
	case r.First == nil:
		return nothing("the cycle of %q kept no course; cycle.Simulate keeps it, an Evaluator and a Batch don't", r.Build.Name)
	case r.Status == cycle.Once && r.Pull == nil:
		return nothing("the cycle of %q has no pull", r.Build.Name)
	}
	return nil
}

// pullable says what a cycle's result lacks for a picture of its pull.
func pullable(r *cycle.Result) error {
	switch {
	case r == nil || r.Build == nil:
		return nothing("there is no result of a cycle")
	case r.Pull == nil:
		return nothing("the cut-off ends no pull of %q: it fires in automatic without a number of rounds, or stalls", r.Build.Name)
	case r.Pull.Trace == nil:
		return nothing("the pull of %q kept no course; cycle.Simulate keeps that of a single shot, and of a burst of at most 50 rounds", r.Build.Name)
	}
	return nil
}

// flyable says what a flight lacks to be drawn.
func flyable(r *flight.Result) error {
	switch {
	case r == nil || r.Build == nil:
		return nothing("there is no flight: nothing was released")
	case r.Trace == nil:
		return nothing("the flight of %q kept no course; ask for it by the settings' Trace", r.Build.Name)
	}
	return nil
}

// examined says what a state of a pickup lacks to be drawn.
func examined(s *pickup.State) error {
	if s.Layout == nil || s.Build == nil || len(s.Contacts) == 0 {
		return nothing("there is no state of a pickup; pickup.Analyse and Work.Fire have both")
	}
	return nil
}
