package flight

import "example.org/ampstroke/drivetrain/quantity"

// Settings say how to simulate. The zero value is safe and good.
type Settings struct {
	// Tolerance is the relative accuracy that the figures are computed to, from
	// 1e-12 to 1e-3 [1]. The default is 1e-9.
	Tolerance float64
	// ReleaseSpeed is that of the rack at release, positive rearwards [m/s]. The
	// default is 0.
	ReleaseSpeed float64
	// ToMuzzle ends the flight when the pellet is out, with figures as exact up to there:
	// TimeToHome is NaN then, and what else comes later is not in it. A flight whose
	// pellet stays in goes to its end.
	ToMuzzle bool
	// Delay says of a flight to the muzzle that only the time to there counts, as the last
	// part of a delay that begins so long before the release: Tolerance is then that of
	// the whole delay, and no other figure keeps one [s]. The default is 0: all count.
	Delay float64
	// Watch is a time after the release at which the piston is watched; behind the end
	// of the flight it is as it is there [s]. The default is none.
	Watch float64
	// Neighbour is another release of the same gun, whose exit is found beside this flight
	// where it is near enough. The default is none.
	Neighbour Neighbour
	// Trace asks for the course of the flight. The default is none.
	Trace bool

	rails bool    // what a journey is made of is written down
	steps int     // limit; 0: mostSteps
	step  float64 // a step's tolerance, whatever the build; 0: by aim and asks
	known *Arc    // what the flight comes to, which ends where it is watched; nil: not known
}

const defaultTolerance = 1e-9

// tolerance returns the accuracy asked for.
func (s *Settings) tolerance() float64 {
	if s.Tolerance == 0 {
		return defaultTolerance
	}
	return s.Tolerance
}

// limit returns the most steps.
func (s *Settings) limit() int {
	if s.steps == 0 {
		return mostSteps
	}
	return s.steps
}

// Validate reports every setting that can't be used.
func (s *Settings) Validate() error {
	var c quantity.Check
	c.Range("tolerance", s.tolerance(), quantity.Number, 1e-12, 1e-3)
	c.Range("release_speed", s.ReleaseSpeed, quantity.Velocity, -1000, 1000)
	c.Range("watch", s.Watch, quantity.Time, 0, 1e9)
	c.Range("delay", s.Delay, quantity.Time, 0, 1e9)
	c.Range("neighbour.speed", s.Neighbour.Speed, quantity.Velocity, -1000, 1000)
	c.Range("neighbour.delay", s.Neighbour.Delay, quantity.Time, 0, 1e9)
	if s.Delay != 0 && !s.ToMuzzle {
		c.Add("delay", "it is that of a flight to the muzzle: to_muzzle goes with it")
	}
	return c.Err()
}
