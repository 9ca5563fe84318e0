package heat

import (
	"context"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
)

// LoneRounds fires single shots with the winding at several temperatures [K], as a
// plan would, and returns the releases of each and how many were used again.
func LoneRounds(b *drivetrain.Build, windings []float64) (releases []int, reused int, err error) {
	m, err := newModel(b)
	if err != nil {
		return nil, 0, err
	}
	s := newSolver(m, Settings{Tolerance: defaultTolerance})
	for _, w := range windings {
		k := m.conditions(make([]float64, len(m.net.Nodes)), 0, 0, 0)
		k.Winding = w
		r, err := s.fire(context.Background(), cycle.RoundStart{Conditions: k}, 0)
		if err != nil {
			return nil, 0, err
		}
		releases = append(releases, len(r.Releases))
	}
	return releases, s.stats.Reused, nil
}
