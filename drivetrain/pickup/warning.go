package pickup

import (
	"fmt"
	"math"
	"strings"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
)

// shallow is the depth of contact below which a warning is given (a closure of this
// project) [1].
const shallow = 0.5

// Warnings lists what a technician should know of a state, with cause and cure.
func (s *State) Warnings() []finding.Finding {
	var all []finding.Finding
	length := func(v float64) string { return fmt.Sprintf("%.2f mm", 1e3*v) }
	add := func(code string, keys []string, format string, args ...any) {
		all = append(all, finding.New(code, keys, format, args...))
	}
	forward, down := []string{"piston.spacer", "rack.pickup_offset"}, []string{"rack.taken_down"}
	h := &s.HandOver
	if len(s.Blocking) > 0 {
		add("blocked", down, "rack %s in the way of the sector's first tooth, which meets tooth %d first: the gun jams; take down what stands in the way", teeth(s.Blocking, " stands", " stand"), s.FirstTooth)
	}
	switch s.Contact.Kind {
	case Land:
		add("land", forward, "the sector's first tooth strikes the pickup tooth tip on tip: they don't mesh; a spacer moves the rack back")
	case RackCorner:
		add("rack-corner", forward, "the sector's flank meets the corner of the pickup tooth, which chips: a spacer moves the rack back")
	case SectorCorner:
		cure := "take out spacer"
		if s.Build.Piston.Spacer == 0 {
			cure = "no spacer is in that could come out; measure again, or take another rack or sector"
		}
		add("sector-corner", forward, "the sector's first tooth comes late and meets the pickup tooth with its corner: %s", cure)
	case Flank:
		if s.Depth < shallow {
			add("shallow-contact", forward, "the contact is shallow, %.0f %% of full depth, and bends the pickup tooth near its tip: a spacer moves the rack back", 100*s.Depth)
		}
	}
	if h.Lost {
		add("drive-lost", down, "tooth %d lets the rack go at %s and no later tooth has it: too much is taken down in a row, or too far", h.Last, length(h.Stroke))
	}
	if h.Caught() {
		add("caught", []string{"sector.removed"}, "the sector's next first tooth is among the rack's at %.0f°, before the last one lets go at %.0f°: the rack is caught and can't go home; take teeth off the sector's release end", h.Next*180/math.Pi, h.End*180/math.Pi)
	}
	if h.Slip > sameLength {
		add("drive-slip", down, "where tooth %d lets go the rack falls by %s on to the next tooth that carries: a blow at each shot; leave one tooth more standing", h.SlipAfter, length(h.Slip))
	}
	for _, t := range h.Strikes {
		add("tips-strike", down, "sector and rack tooth %d strike tip on tip in the pull, since the rack stands %s too far ahead when they meet: leave more teeth standing before it", t.Tooth, length(t.Short))
	}
	safety := func(code, what, cure string, keys []string, stress, safety float64) {
		if safety < 1 {
			add(code, keys, "%s is bent by %.0f MPa, more than its static strength bears (safety %.3g): %s", what, stress/1e6, safety, cure)
		}
	}
	rack := fmt.Sprintf("(%s, %.0f MPa)", s.Build.Rack.Material, s.Build.Rack.Strength/1e6)
	safety("pickup-tooth", "the pickup tooth "+rack, "take a deeper contact, a stronger rack or a slower sector", []string{"rack.material", "piston.spacer", "gears.ratio"}, s.PickupStress, s.PickupSafety)
	safety("release-tooth", "the release tooth "+rack, "take a stronger rack or a softer spring", []string{"rack.material", "spring.rate"}, s.ReleaseStress, s.ReleaseSafety)
	if s.SpringSafety < 1 {
		add("spring", []string{"spring.wire", "spring.coils", "spring.preload"}, "the spring's wire is sheared by %.0f MPa, more than is allowed for it (safety %.3g): take thicker wire, more coils or less preload", s.SpringShear/1e6, s.SpringSafety)
	}
	if s.SpringBinds() {
		add("spring-binds", []string{"spring.coils", "spring.installed_length", "sector.removed"}, "the spring's coils touch before the release: it would be pressed to %s and is solid at %s", length(s.ShortestLength), length(s.SolidLength))
	}
	if s.Cycle.Status != cycle.Steady {
		add("stall", []string{"gears.ratio", "motor.armature.turns", "battery.series", "spring.rate"}, "the motor stalls at %.0f°, so that there is no pickup in steady fire to reckon with", s.Cycle.Summary.StallAngle*180/math.Pi)
	}
	return all
}

// teeth counts teeth off: "tooth 2 stands", "teeth 2 and 3 stand".
func teeth(all []int, one, many string) string {
	if len(all) == 1 {
		return fmt.Sprintf("tooth %d%s", all[0], one)
	}
	var words []string
	for _, t := range all[:len(all)-1] {
		words = append(words, fmt.Sprint(t))
	}
	return fmt.Sprintf("teeth %s and %d%s", strings.Join(words, ", "), all[len(all)-1], many)
}
