package quantity_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/quantity"
)

func TestCell(t *testing.T) {
	assert.Equal(t, "", quantity.Cell(math.NaN()))
	assert.Equal(t, "0.333333333333", quantity.Cell(1./3))
	assert.Equal(t, "-1e-09", quantity.Cell(-1e-9))
}
