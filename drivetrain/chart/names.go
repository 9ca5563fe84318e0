package chart

import (
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
)

// The names of events, the same in all pictures. Home is where the texts' time to home
// ends: where the rack is clear of the sector's next tooth.
const (
	nameRelease = "release"
	namePickup  = "pickup"
	nameMuzzle  = "muzzle"
	nameHome    = "home"
	nameImpact  = "impact"
	nameStall   = "stall"
	namePME     = "premature engagement"
)

// eventName is what an event of a cycle is called.
func eventName(k cycle.EventKind, stalled bool) string {
	switch {
	case k == cycle.Release:
		return nameRelease
	case k == cycle.Pickup:
		return namePickup
	case k == cycle.MuzzleExit:
		return nameMuzzle
	case k == cycle.Home:
		return nameHome
	case k == cycle.Stop && stalled:
		return nameStall
	}
	return k.String()
}

// flightEventName is what an event of a flight is called.
func flightEventName(k flight.EventKind) string {
	switch k {
	case flight.MuzzleExit:
		return nameMuzzle
	case flight.PistonArrives:
		return nameImpact
	}
	return k.String()
}
