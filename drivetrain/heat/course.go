package heat

// Course is how the temperatures of the parts went.
type Course struct {
	Names []string
	// Times are counted from the start of the plan; a time that stands twice is a
	// jump [s].
	Times []float64
	// Temperatures are those of the parts at each time, NaN of a part that the build
	// lacks [K].
	Temperatures [][]float64
}

func (f *firing) point()                           {}
func (f *firing) sample(start float64, s *stretch) {}
