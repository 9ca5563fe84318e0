package buildfile_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
)

// What a word stands for inside a build is no number that a file can mean by itself.
func TestWordsAreNoNumbers(t *testing.T) {
	_, err := buildfile.DemoDocument("motor.commutation=-100 %")
	assert.ErrorContains(t, err, "motor.commutation: \"-100 %\" is out of range; wanted auto, or a share")
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	v, err := d.Vary("motor.commutation")
	require.NoError(t, err)
	_, err = v.Put([]float64{-1})
	assert.ErrorContains(t, err, "motor.commutation")
	b, err := v.Put([]float64{0.5})
	require.NoError(t, err)
	assert.Equal(t, 0.5, b.Motor.Commutation)
}
