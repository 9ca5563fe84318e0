package cycle

import (
	"math"
	"slices"

	"example.org/ampstroke/drivetrain"
)

// arc is a stretch of the sector's turn over which the load at the motor shaft
// is a straight line in the sector's angle: load + slope·θ (equations D4 to D6).
type arc struct {
	from, to float64 // sector angle [rad]
	pull     bool    // the rack is engaged
	inertia  float64 // at the motor shaft [kg m2]
	load     float64 // [N m]
	slope    float64 // [N m/rad]
	tappet   float64 // the tappet's part of load [N m]
}

// at returns the load at the motor shaft [N m].
func (a *arc) at(angle float64) float64 { return a.load + a.slope*angle }

// sameAngle is how close two angles of a sector count as one [rad].
const sameAngle = 1e-12

// arcs cuts one lobe of the sector, from pickup to pickup, where the load
// changes: at the release and at the tappet's ends. What of the tappet lies
// before the pickup is met a lobe later (equation D9). They overwrite dst.
func arcs(dst []arc, g *drivetrain.Geometry, efficiency, drag float64, t *drivetrain.Tappet) []arc {
	first, last := g.Pickup, g.Pickup+g.Lobe
	var room [7]float64
	cuts := append(room[:0], first, g.Release, last)
	if t != nil {
		for _, a := range [...]float64{t.From, t.To, t.From + g.Lobe, t.To + g.Lobe} {
			if a > first && a < last {
				cuts = append(cuts, a)
			}
		}
	}
	slices.Sort(cuts)
	cuts = slices.CompactFunc(cuts, func(a, b float64) bool { return math.Abs(a-b) < sameAngle })
	cuts[len(cuts)-1] = last

	arm := g.PitchRadius / (g.Ratio * efficiency)
	all := dst[:0]
	for i := 1; i < len(cuts); i++ {
		a := arc{from: cuts[i-1], to: cuts[i], inertia: g.FreeInertia}
		middle := a.from + (a.to-a.from)/2
		if middle < g.Release {
			a.pull = true
			a.inertia = g.PullInertia
			a.slope = g.SpringRate * g.PitchRadius * arm
			a.load = (g.SpringForce(0)+drag)*arm - a.slope*g.Pickup
		}
		if t != nil {
			for _, m := range [...]float64{middle, middle - g.Lobe} {
				if m > t.From && m < t.To {
					a.tappet = t.Torque(g.Ratio)
				}
			}
		}
		a.load += a.tappet
		all = append(all, a)
	}
	return all
}
