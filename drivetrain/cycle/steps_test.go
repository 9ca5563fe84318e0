package cycle_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/cycle"
)

// The series and the general integrator (Dormand–Prince at 1e-12) say the same of
// every step of random builds: states, integrals, extremes, and what happens when.
func TestStepsAgainstTheIntegrator(t *testing.T) {
	steps := 0
	for _, b := range randomBuilds(t, 11, 150/scarce) {
		steps += cycle.CheckAgainstIntegrator(t, b)
	}
	t.Logf("%d steps compared", steps)
	assert.Greater(t, steps, 1500/scarce)
}
