package pickup

import (
	"math"

	"example.org/ampstroke/drivetrain"
)

// needed returns by how much rack tooth k, from the second on, has to be taken
// down from its original tip to leave the sweep of the sector's tips free with the
// rack at rest (equation H3) [m].
func (g *gear) needed(k int) float64 {
	// The rear flank is the line x·cos α − y·sin α = P.
	p := (-g.ahead(k)+g.thick-2*g.lift*g.tan)*g.cos - g.rp*g.sin
	if p <= -g.sweep {
		return 0
	}
	psi := g.angle + math.Asin(min(p/g.sweep, 1))
	y := g.sweep * math.Cos(min(psi, 0))
	return min(max(y-(g.rp+g.lift-g.addendum), 0), g.addendum+g.dedendum)
}

// toTakeDown lists the teeth that have to come down further than they are, with
// the whole depth from the original tip.
func (g *gear) toTakeDown() (all []drivetrain.TakenDown) {
	for k := 2; k <= len(g.down); k++ {
		if depth := g.needed(k); depth > g.down[k-1]+sameLength {
			all = append(all, drivetrain.TakenDown{Tooth: k, Depth: depth})
		}
	}
	return all
}
