package flight

import (
	"context"
	"errors"

	"example.org/ampstroke/drivetrain"
)

// Result is what a flight came to.
type Result struct {
	Build   *drivetrain.Build
	Status  Status
	Summary Summary
	Ledger  Ledger
	// Trace is the course; nil unless Settings ask for it.
	Trace *Trace
	// Watched is the piston at the time that Settings name, NaN if they name none.
	Watched Motion
	// Neighbour is the exit of the neighbour that Settings name; NaN if they name none, or
	// one that has to be flown by itself.
	Neighbour Exit
	Stats     Stats
}

// Motion is where a piston is, and how it moves.
type Motion struct {
	// Travel is its travel from home [m].
	Travel float64
	// Speed is negative homewards [m/s].
	Speed float64
}

// Stats is what a simulation took.
type Stats struct {
	// Steps are those of the integrator, Rejected the ones tried in vain. A flight that is
	// flown once more with a tighter tolerance counts both.
	Steps, Rejected int
	// Evaluations are the calls of the right-hand side, Jacobians those of its
	// derivatives.
	Evaluations, Jacobians int
}

func (s *Stats) add(more Stats) {
	s.Steps += more.Steps
	s.Rejected += more.Rejected
	s.Evaluations += more.Evaluations
	s.Jacobians += more.Jacobians
}

// Simulate flies one shot of a build (equations E1 to E7). It reports every field
// of build and settings that can't be used. A pellet that sticks or a piston that
// doesn't come home is a result, named by its Status. An error that is the
// context's says that the flight was interrupted.
func Simulate(ctx context.Context, b *drivetrain.Build, settings Settings) (*Result, error) {
	if err := errors.Join(b.Validate(), settings.Validate()); err != nil {
		return nil, err
	}
	f := &Flyer{}
	r, err := f.launch(ctx, b, &settings)
	if err != nil {
		return nil, err
	}
	return &r, nil
}
