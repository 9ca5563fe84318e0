package flight

// Status says how a flight ended.
type Status int

// The ends of a flight; all are results.
const (
	// Done is the regular end: the pellet is out, the piston seated for good.
	Done Status = iota
	// PelletStuck is a piston seated for good, with the pellet still in the barrel
	// and too little pressure to free it.
	PelletStuck
	// PistonHeld is a piston that is not seated after 10 s: drag or trapped air holds
	// it, or it creeps or floats.
	PistonHeld
	// Unsettled is a piston that is seated by then, with a pellet that still slides,
	// or with air that may yet move piston or pellet.
	Unsettled
	// GivenUp is a flight without an end within 200,000 steps of the integrator: a
	// piston that bounces on and on on trapped air, or the explicit method where it
	// has no hope.
	GivenUp
)

// String names the status as files do.
func (s Status) String() string {
	return [...]string{"done", "pellet-stuck", "piston-held", "unsettled", "given-up"}[s]
}
