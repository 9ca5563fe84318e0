package pickup

import (
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain"
)

// FormFactor returns Lewis's form factor of rack tooth k of a build, borne at a
// share of its height from the root's line (0) to its tip as it is (1) [1].
func FormFactor(b *drivetrain.Build, k int, share float64) (float64, error) {
	if err := b.Validate(); err != nil {
		return math.NaN(), err
	}
	g, err := newGear(b)
	if err != nil {
		return math.NaN(), err
	}
	if k < 1 || k > len(g.down) {
		return math.NaN(), fmt.Errorf("tooth %d is none of the rack's %d teeth", k, len(g.down))
	}
	return g.form(b.Sector.Module, g.root()+share*(g.tip(k)-g.root())), nil
}
