package heat

import (
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Plan is what is fired, and when.
type Plan struct {
	Name string
	// Ambient is the temperature of the surroundings, where all parts start; 0: the
	// build's [K].
	Ambient float64
	Steps   []Step
	// Repeat is how many times the steps are gone through.
	Repeat int
}

// Step is a pull of the trigger and the pause behind it, some times over.
type Step struct {
	// Rounds is how many are asked of the pull: 1 is a single shot, 0 a rest.
	Rounds int
	// Pause is the rest behind the pull [s].
	Pause float64
	// Repeat is how many times over.
	Repeat int
	// FreshPack puts in a pack at the build's charge, rested and at ambient, before
	// each pull.
	FreshPack bool
}

// The bounds of a plan, so that none hangs the machine.
const (
	MostSteps  = 1000      // of a plan
	MostRounds = 1_000_000 // of all pulls
	MostPulls  = 1_000_000 // and rests
	MostTime   = 400 * 24 * 3600.
)

// Asked returns how many rounds the plan asks for.
func (p *Plan) Asked() int {
	n := 0
	for _, s := range p.Steps {
		n += s.Rounds * s.Repeat
	}
	return n * p.Repeat
}

// Validate reports every field that can't be used, in the names of the plan file.
func (p *Plan) Validate() error {
	var c quantity.Check
	if p.Ambient != 0 {
		c.Range("ambient", p.Ambient, quantity.Temperature, quantity.Celsius-60, quantity.Celsius+80)
	}
	c.Whole("repeat", p.Repeat, 1, MostPulls)
	if len(p.Steps) == 0 {
		c.Add("steps", "is empty; wanted a list of pulls and pauses, such as [{rounds: 12, pause: 4 s, repeat: 20}]")
	}
	if len(p.Steps) > MostSteps {
		c.Add("steps", "has %d members; wanted at most %d (repeat says how many times over)", len(p.Steps), MostSteps)
	}
	var rounds, pulls, time float64
	for i, s := range p.Steps {
		at := fmt.Sprintf("steps.%d.", i)
		c.Whole(at+"rounds", s.Rounds, 0, MostRounds)
		c.Range(at+"pause", s.Pause, quantity.Time, 0, MostTime)
		c.Whole(at+"repeat", s.Repeat, 1, MostPulls)
		if s.Rounds == 0 && s.Pause == 0 {
			c.Add(at+"pause", "neither rounds nor a pause is asked for; wanted one of the two")
		}
		rounds += float64(s.Rounds) * float64(s.Repeat)
		pulls += float64(s.Repeat)
		time += s.Pause * float64(s.Repeat)
	}
	if c.Err() != nil {
		return c.Err()
	}
	repeat := float64(p.Repeat)
	if rounds *= repeat; rounds > MostRounds {
		c.Add("repeat", "the plan comes to %.0f rounds; wanted at most %d", rounds, MostRounds)
	}
	if pulls *= repeat; pulls > MostPulls {
		c.Add("repeat", "the plan comes to %.0f pulls and rests; wanted at most %d", pulls, MostPulls)
	}
	if time *= repeat; time > MostTime || math.IsNaN(time) {
		c.Add("repeat", "the plan pauses for %s in all; wanted at most %s", quantity.Time.Format(time), quantity.Time.Format(MostTime))
	}
	return c.Err()
}
