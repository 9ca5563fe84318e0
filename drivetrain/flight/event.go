package flight

// EventKind is what happened.
type EventKind int

// The events of a flight.
const (
	Release       EventKind = iota // the rack is let go
	Turn                           // the piston turns from rearwards to homewards
	PortShuts                      // the piston passes the port
	PortOpens                      // the piston uncovers the port
	PelletStarts                   // the pellet is freed
	HopEnds                        // the pellet leaves the hop
	PelletStops                    // the pellet comes to rest in the barrel
	MuzzleExit                     // the pellet leaves the barrel
	Clear                          // the piston passes the sector's next tooth, homewards
	PistonArrives                  // the piston strikes its stop
	PistonLifts                    // the air lifts the piston off its stop
	End                            // nothing moves any more
)

// String names the event.
func (k EventKind) String() string {
	return [...]string{
		"release", "piston turns", "port shuts", "port opens", "pellet starts", "hop ends", "pellet stops",
		"muzzle exit", "piston clear", "piston home", "piston lifts", "end",
	}[k]
}

// Event is something that happened.
type Event struct {
	Kind EventKind
	// Time is counted from the release [s].
	Time float64
}
