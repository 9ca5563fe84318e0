package cycle_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/internal/effort"
)

// The series and the general integrator (Dormand–Prince at 1e-12) say the same of
// every step of random builds: states, integrals, extremes, and what happens when.
func TestStepsAgainstTheIntegrator(t *testing.T) {
	steps := 0
	for _, b := range randomBuilds(t, 11, effort.Of(150)) {
		steps += cycle.CheckAgainstIntegrator(t, b)
	}
	t.Logf("%d steps compared", steps)
	assert.Greater(t, steps, effort.Seen(1500))
}

// A steady cycle by leaps is that by steps.
func TestLeapsAgainstSteps(t *testing.T) {
	compared := 0
	builds := randomBuilds(t, 13, effort.Of(600))
	for _, b := range builds {
		compared += cycle.CheckLeaps(t, b)
	}
	t.Logf("%d cycles compared", compared)
	assert.Greater(t, compared, len(builds), "most builds leap")
}
