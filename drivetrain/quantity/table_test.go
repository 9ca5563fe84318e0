package quantity_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/quantity"
)

func TestCell(t *testing.T) {
	assert.Equal(t, "", quantity.TableText(math.NaN()))
	assert.Equal(t, "0.333333333333", quantity.TableText(1./3))
	assert.Equal(t, "-1e-09", quantity.TableText(-1e-9))
}
