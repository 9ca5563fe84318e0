package cycle

// EventKind is what happened.
type EventKind int

// The events of a cycle.
const (
	Closing    EventKind = iota // the switch closes
	Release                     // the sector lets the rack go
	Pickup                      // the sector meets the rack
	Stop                        // the shaft comes to rest
	Opening                     // the switch opens
	Braking                     // the brake begins
	MuzzleExit                  // the pellet leaves the barrel
	Home                        // the piston is home for good (E7)
)

// String names the event.
func (k EventKind) String() string {
	return [...]string{"switch closes", "release", "pickup", "shaft stops", "switch opens", "brake", "muzzle", "home"}[k]
}

// Event is something that happened, with its place.
type Event struct {
	Kind EventKind
	// Time is counted from the start of the trace [s].
	Time float64
	// Angle is the sector's, just after it happened [rad].
	Angle float64
}
