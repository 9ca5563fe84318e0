package ode

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestControl(t *testing.T) {
	var c control
	c.reset(5)
	assert.Equal(t, 10., c.accept(0), "no error: the largest factor")
	assert.Equal(t, 0.2, c.reject(1e30), "the least factor")
	assert.LessOrEqual(t, c.accept(1e-9), 1., "no growth right after a rejection")
	assert.Greater(t, c.accept(1e-9), 5., "growth again")

	// In a steady run at the error e the factor is 0.9·e^(0.04 − 0.17).
	c.accept(0.5)
	assert.InEpsilon(t, 0.9*1.0943, c.accept(0.5), 1e-4, "2^0.13 = 1.0943")
	assert.Less(t, c.reject(2), 0.9, "a rejection shrinks")
}
