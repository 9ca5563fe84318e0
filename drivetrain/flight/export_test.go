package flight

import (
	"context"

	"example.org/ampstroke/drivetrain"
)

// Within returns the settings with another limit of steps.
func (s Settings) Within(steps int) Settings {
	s.steps = steps
	return s
}

// General is Simulate by the general integrator, whatever the settings say of the
// method.
func General(ctx context.Context, b *drivetrain.Build, s Settings) (*Result, error) {
	return simulateBy(ctx, b, &s)
}
