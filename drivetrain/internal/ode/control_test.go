package ode

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestControl(t *testing.T) {
	var c control
	c.reset(5, false)
	assert.Equal(t, 10., c.accept(1, 0), "no error: the largest factor")
	assert.Equal(t, 0.2, c.reject(1e30), "the least factor")
	assert.LessOrEqual(t, c.accept(1, 1e-9), 1., "no growth right after a rejection")
	assert.Greater(t, c.accept(1, 1e-9), 5., "growth again")

	// In a steady run at the error e the factor is 0.9·e^(0.04 − 0.17).
	c.accept(1, 0.5)
	assert.InEpsilon(t, 0.9*1.0943, c.accept(1, 0.5), 1e-4, "2^0.13 = 1.0943")
	assert.Less(t, c.reject(2), 0.9, "a rejection shrinks")
}

func TestPredictiveControl(t *testing.T) {
	var c control
	c.reset(4, true)
	assert.Equal(t, 10., c.accept(1, 0), "no error: the largest factor")
	c.reset(4, true)
	assert.InEpsilon(t, 0.9*2, c.accept(1, 1./16), 1e-15, "the first step: (1/16)^-¼ = 2")
	assert.InEpsilon(t, 0.9*2, c.accept(1, 1./16), 1e-15, "a steady run")
	// The error has grown 16-fold at the same length, and is expected to do so again:
	// (16·1)^-¼ = ½.
	assert.InEpsilon(t, 0.9/2, c.accept(1, 1), 1e-15, "a growing error")
	// It falls to 1/16 at half the length, as the length alone makes it fall: the next
	// step would err by 1/16 at this length.
	assert.InEpsilon(t, 0.9, c.accept(0.5, 1./16)/2, 1e-15, "an error that follows the length")
	// A falling error is not trusted to fall on: 81^¼ = 3.
	assert.InEpsilon(t, 0.9*3, c.accept(0.5, 1./81), 1e-15, "a falling error")
	assert.InEpsilon(t, 0.9/2, c.reject(16), 1e-15)
	assert.LessOrEqual(t, c.accept(1, 1e-9), 1., "no growth right after a rejection")
	assert.Equal(t, 0.2, c.reject(1e30), "the least factor")
}
