package spread

import (
	"fmt"
	"math"
	"math/bits"

	"example.org/ampstroke/drivetrain/quantity"
)

// Settings say how many draws are made, and how. The zero value is good for a function of
// one output.
type Settings struct {
	// Draws is how many points the function is asked at: Replicates times a power of two,
	// 16 at least. The default is 8192.
	Draws int
	// Replicates is how many times the points are scrambled anew; how far these lie apart
	// shows the error. The default is 8.
	Replicates int
	// Seed makes other draws. Any is as good as another. The default is 0.
	Seed uint64
	// Outputs is how many numbers the function gives. The default is 1.
	Outputs int
	// Drivers is how many of the draws are drawn again with one input changed, to find
	// out what each input does: Replicates times a power of two, at most Draws; negative
	// for none. The default is a quarter of Draws.
	Drivers int
	// Within lists the inputs, by number, that vary within one of a kind, from shot to
	// shot, where the others vary from one to another. The default is none.
	Within []int
	// Progress is told, now and then and from one goroutine at a time, how many evaluations
	// are made of how many. The default is nobody.
	Progress func(done, all int)
}

const (
	defaultDraws      = 8192
	defaultReplicates = 8
	leastPoints       = 16 // of a replicate
	mostDraws         = 1 << 27
	mostInputs        = dimensions / 2
)

// set puts in the defaults.
func (s *Settings) set() {
	if s.Draws == 0 {
		s.Draws = defaultDraws
	}
	if s.Replicates == 0 {
		s.Replicates = defaultReplicates
	}
	if s.Outputs == 0 {
		s.Outputs = 1
	}
	switch {
	case s.Drivers == 0:
		s.Drivers = s.Draws / 4
	case s.Drivers < 0:
		s.Drivers = 0
	}
}

// Validate reports every setting that can't be used.
func (s Settings) Validate() error {
	s.set()
	var c quantity.Check
	if s.Replicates < 2 || s.Replicates > 1024 {
		c.Add("replicates", "%d are out of range; wanted 2 to 1024", s.Replicates)
		return c.Err()
	}
	points := func(field string, n, least, most int) {
		if n%s.Replicates == 0 && bits.OnesCount(uint(n/s.Replicates)) == 1 && n/s.Replicates >= least && n <= most {
			return
		}
		low, high := least*s.Replicates, most
		if n > low {
			low = min(s.Replicates<<(bits.Len(uint(n/s.Replicates))-1), most)
			high = min(low*2, most)
		} else {
			high = low
		}
		switch {
		case low == high:
			c.Add(field, "%d is no power of two times %d within bounds; wanted %d", n, s.Replicates, low)
		default:
			c.Add(field, "%d is no power of two times %d; wanted %d or %d", n, s.Replicates, low, high)
		}
	}
	points("draws", s.Draws, leastPoints, mostDraws/s.Replicates*s.Replicates)
	if s.Drivers != 0 && c.OK("draws") {
		points("drivers", s.Drivers, 2, s.Draws)
	}
	if s.Outputs < 1 {
		c.Add("outputs", "%d are too few; wanted 1 or more", s.Outputs)
	}
	return c.Err()
}

// checkInputs reports what is wrong with the inputs.
func (s *Settings) checkInputs(inputs []Input) error {
	var c quantity.Check
	if n := len(inputs); n < 1 || n > mostInputs {
		c.Add("inputs", "%d are out of range; wanted 1 to %d", n, mostInputs)
	}
	for i, in := range inputs {
		if in == nil || math.IsNaN(in.Quantile(0.5)) {
			c.Add(fmt.Sprint("inputs.", i), "gives no number; wanted a distribution")
		}
	}
	for _, k := range s.Within {
		if k < 0 || k >= len(inputs) {
			c.Add("within", "there is no input %d; wanted 0 to %d", k, len(inputs)-1)
		}
	}
	return c.Err()
}
