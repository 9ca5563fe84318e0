package quantity

import (
	"math"
	"strconv"
)

// TableText writes a number for a table in a file, to twelve digits; one that doesn't
// exist, NaN, is empty.
func TableText(v float64) string {
	if math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', 12, 64)
}
