package motor

import (
	"fmt"
	"math"

	"example.org/ampstroke/motor/wire"
)

// Rewind returns the armature with other turns on each tooth, of wire with
// another diameter [m] and count of strands. Laminations, mean turn and inertia
// stay (the copper's share of the inertia is small and its radius not known); a
// measured inductance goes with the square of the turns, as equation A8's does.
func (a Armature) Rewind(turns int, bare float64, strands int) Armature {
	n := float64(turns) / float64(a.Turns)
	a.Inductance *= n * n
	a.Turns, a.Wire, a.Strands = turns, bare, strands
	return a
}

// Room says whether a slot takes its winding.
type Room int

// How a winding fits its slot.
const (
	RoomUnknown Room = iota // the slot's area is not known
	RoomByHand              // can be wound by hand
	RoomTight               // more than hands wind, though less than wires take when they lie like honeycomb
	RoomNone                // more than wires of that size can take
)

// String names the room in words.
func (r Room) String() string {
	names := [...]string{"not known", "goes in by hand", "too tight for hands", "does not go in"}
	if r < 0 || int(r) >= len(names) {
		return "no such room"
	}
	return names[r]
}

// Honeycomb is the share of a slot that round wires fill when they lie as close
// as they can, π/(2·√3) [1].
const Honeycomb = math.Pi / (2 * 1.7320508075688772)

// Room returns whether the slot takes the winding (equation A11).
func (a *Armature) Room() Room {
	switch fill := a.SlotFill(); {
	case math.IsNaN(fill):
		return RoomUnknown
	case fill <= HandWound:
		return RoomByHand
	case fill <= Honeycomb:
		return RoomTight
	}
	return RoomNone
}

// LargestWire returns the diameter of the thickest bare wire [m] with which the
// armature's turns and strands take a share [1] of the slot, or an error where
// the slot's area is not known.
func (a *Armature) LargestWire(fill float64) (float64, error) {
	if !(fill > 0 && fill <= 1) || a.Turns < 1 || a.Strands < 1 {
		return 0, fmt.Errorf("%d turns of %d strands to fill %g of a slot; wanted one or more of each, and a share up to 1", a.Turns, a.Strands, fill)
	}
	if a.SlotArea == 0 {
		return 0, fmt.Errorf("the slot's area is not known; wanted armature.slot_area")
	}
	each := fill * a.SlotArea / (2 * float64(a.Turns) * float64(a.Strands)) // of a wire with enamel [m2]
	return wire.Bare(math.Sqrt(4 * each / math.Pi)), nil
}
