package cycle

import "sort"

// course keeps the steps of a run as the states they begin with and the modes they
// are in: any state between follows from the equations again. The zero value is
// empty. Once filled, many goroutines may read it.
//
// Steps follow each other in time. At a time that two share, and at which the state
// may jump, the later one's state is that after the jump.
type course struct {
	steps []step
}

type step struct {
	from, to float64 // [s]
	mode     mode
	glides   bool
	begin    [sumCurrent]float64
}

// add appends the step that a series took from a state.
func (c *course) add(from, to float64, s *series, y *[states]float64) {
	c.steps = append(c.steps, step{from, to, *s.mode, s.glides, [sumCurrent]float64(y[:sumCurrent])})
}

// find returns the step that holds a time [s]; of two that share it, the later
// one. It returns −1 if none does.
func (c *course) find(time float64) int {
	i := sort.Search(len(c.steps), func(i int) bool { return c.steps[i].from > time }) - 1
	if i >= 0 && time <= c.steps[i].to {
		return i
	}
	return -1
}

// at writes the state of step i at a time [s] to y.
func (c *course) at(y *[states]float64, i int, time float64) {
	p := &c.steps[i]
	copy(y[:], p.begin[:])
	if time == p.from {
		return
	}
	var s series
	mode := p.mode
	glides := false
	if p.glides {
		amps, rads := mode.m.common()
		_, glides = s.glide(&mode, y, p.to-p.from, amps, rads)
	}
	if !glides {
		s.expand(&mode, y, p.to-p.from)
	}
	s.state(y, (time-p.from)/(p.to-p.from))
}
