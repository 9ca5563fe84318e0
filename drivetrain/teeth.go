package drivetrain

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"example.org/ampstroke/drivetrain/quantity"
)

// Teeth are the teeth of sector and rack as they mesh: the constants of section H
// of the reference model.
type Teeth struct {
	// PitchRadius is the sector's, rp [m].
	PitchRadius float64
	// BaseRadius is that of the sector's involutes, rb [m].
	BaseRadius float64
	// TipRadius is the sector's, ra [m].
	TipRadius float64
	// PressureAngle is α [rad].
	PressureAngle float64
	// Pitch is from rack tooth to rack tooth, p [m].
	Pitch float64
	// Thickness is that of the teeth on their reference lines, t [m].
	Thickness float64
	// Lift is that of the rack's reference line over the pitch line [m].
	Lift float64
	// Addendum is the rack's, hr [m].
	Addendum float64
	// Dedendum is the rack's, hf [m].
	Dedendum float64
	// Backlash is the play between the teeth [m].
	Backlash float64
	// Clearance is the room between the sector's tips and the rack's roots [m].
	Clearance float64
	// Lag is A, by how much the tip of a sector tooth's leading flank lags behind its
	// pitch point [rad].
	Lag float64
	// Rack is the number of the rack's teeth.
	Rack int
	// Pulls is z−q, the number of sector teeth that pull.
	Pulls int
	// Down are the teeth of the rack that are shortened.
	Down []TakenDown
}

// sameLength is a length that no bench can tell from none [m].
const sameLength = 1e-9

// shownLength shows a length that was computed, to four digits: no more are known of
// what was measured.
func shownLength(v float64) string {
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 4, 64), 64)
	if err != nil { // a number that was just written
		panic(err)
	}
	return quantity.Length.Format(short)
}

// involute returns inv a = tan a − a [rad].
func involute(a float64) float64 { return math.Tan(a) - a }

// Teeth returns the teeth of sector and rack. A rack that isn't described is that
// of [NewRack].
func (b *Build) Teeth() Teeth {
	s := &b.Sector
	height := s.Addendum * s.Module
	t := Teeth{
		PitchRadius: s.PitchRadius(), PressureAngle: s.PressureAngle, Pitch: math.Pi * s.Module, Pulls: s.Teeth - s.Removed,
	}
	t.BaseRadius, t.TipRadius = t.PitchRadius*math.Cos(s.PressureAngle), t.PitchRadius+height
	t.Lag = involute(math.Acos(t.BaseRadius/t.TipRadius)) - involute(s.PressureAngle)
	if r := b.Rack; r != nil {
		t.Lift, t.Addendum, t.Backlash, t.Clearance = r.Lift, r.Addendum, r.Backlash, r.TipClearance
		t.Rack, t.Down = r.Teeth, r.TakenDown
	} else {
		t.Addendum, t.Backlash, t.Clearance = height, usualBacklash, usualClearance*s.Module
		t.Rack = t.Pulls
	}
	t.Thickness, t.Dedendum = (t.Pitch-t.Backlash)/2, height+t.Clearance
	return t
}

// TakenDown returns by how much rack tooth k is shortened [m], at most all of it.
func (t *Teeth) TakenDown(k int) float64 {
	for _, d := range t.Down {
		if d.Tooth == k {
			return min(d.Depth, t.Addendum+t.Dedendum)
		}
	}
	return 0
}

// TipLine returns yt, the height of the tip of rack tooth k over the sector's
// centre [m].
func (t *Teeth) TipLine(k int) float64 {
	return t.PitchRadius + t.Lift - t.Addendum + t.TakenDown(k)
}

// releaseAngle returns θr [rad] by the teeth, where the last of them lets a rack go
// whose pickup tooth stands ahead of the line of centres by an offset with the
// piston home and no spacer in [m] (equation D2); NaN where it is out of reach.
func (t *Teeth) releaseAngle(offset float64) float64 {
	tip := t.TipLine(t.Pulls)
	behind := math.Sqrt(t.TipRadius*t.TipRadius - tip*tip)
	return (offset + float64(t.Pulls-1)*t.Pitch + behind + (tip-t.PitchRadius)*math.Tan(t.PressureAngle)) / t.PitchRadius
}

// validate reports teeth that can't work together; it tells whether they can.
func (t *Teeth) validate(all *quantity.Check, b *Build) bool {
	c := new(quantity.Check)
	length := shownLength
	tan := math.Tan(t.PressureAngle)
	if t.Rack < t.Pulls {
		c.Add("rack.teeth", "%d are fewer than the %d that the sector pulls; wanted at least as many", t.Rack, t.Pulls)
	}
	if room := t.Clearance + t.Lift; room < 0 {
		c.Add("rack.lift", "%s with a tip clearance of %s leaves a negative clearance of %s: tips would run into roots", length(t.Lift), length(t.Clearance), length(room))
	}
	if play := t.Backlash + 2*t.Lift*tan; play < 0 {
		c.Add("rack.lift", "%s with a backlash of %s leaves a negative clearance of %s between flanks: the teeth would jam", length(t.Lift), length(t.Backlash), length(play))
	}
	if tip := (t.Thickness/t.PitchRadius - 2*t.Lag) * t.TipRadius; !(tip > 0) {
		c.Add("sector.addendum", "%g modules with this pressure angle make pointed teeth on the sector (%s at the tip): take a lower addendum or pressure angle", b.Sector.Addendum, length(tip))
	}
	if tip := t.Thickness - 2*t.Addendum*tan; !(tip > 0) {
		c.Add("rack.addendum", "%s makes pointed teeth on the rack (%s at the tip): take a lower addendum or pressure angle", length(t.Addendum), length(tip))
	}
	t.validateDown(c)
	if c.Err() == nil {
		t.validateReach(c, b.Rack != nil)
	}
	all.Part("", c.Err())
	return c.Err() == nil
}

// validateReach reports teeth whose tips go too far into those of the other side, or
// not far enough.
func (t *Teeth) validateReach(c *quantity.Check, described bool) {
	length, sin := shownLength, math.Sin(t.PressureAngle)
	otherwise := ""
	if !described {
		otherwise = "; or give the stroke that was measured (sector.engaged_angle)"
	}
	for k := 1; k <= t.Rack; k++ {
		if depth := t.PitchRadius - t.TipLine(k); depth > t.PitchRadius*sin*sin {
			c.Add("rack.addendum", "tooth %d reaches %s below the pitch line, where the sector's flank ends at %s: it would undercut the sector; lower the rack's addendum, or take a larger pressure angle or more full_teeth%s",
				k, length(depth), length(t.PitchRadius*sin*sin), otherwise)
			break
		}
	}
	for _, tooth := range []struct {
		k    int
		name string
	}{{1, "the pickup tooth"}, {t.Pulls, "the release tooth"}} {
		over := t.TipLine(tooth.k) - t.TipRadius
		if over < 0 {
			continue
		}
		field, cure := "rack.addendum", "a higher addendum reaches the sector"
		switch i := slices.IndexFunc(t.Down, func(d TakenDown) bool { return d.Tooth == tooth.k }); {
		case i >= 0:
			field, cure = fmt.Sprintf("rack.taken_down.%d.depth", i), "take a rack with that tooth standing, or one that is less taken down"
		case t.Lift > 0:
			field, cure = "rack.lift", "lower the rack"
		}
		c.Add(field, "the tip of %s (rack tooth %d) stands %s above the sector's tips, out of the sector's reach: %s", tooth.name, tooth.k, length(over), cure)
		break
	}
}

// validateDown reports taken-down teeth that can't be.
func (t *Teeth) validateDown(c *quantity.Check) {
	for i, d := range t.Down {
		at := func(field string) string { return fmt.Sprintf("rack.taken_down.%d.%s", i, field) }
		twice := false
		for _, before := range t.Down[:i] {
			twice = twice || before.Tooth == d.Tooth
		}
		switch {
		case d.Tooth > t.Rack:
			c.Add(at("tooth"), "%d is none of the rack's %d teeth", d.Tooth, t.Rack)
		case twice:
			c.Add(at("tooth"), "tooth %d is listed twice; wanted its whole depth once", d.Tooth)
		case d.Depth > t.Addendum+t.Dedendum+sameLength:
			c.Add(at("depth"), "%s is more than the tooth's height of %s", quantity.Length.Format(d.Depth), quantity.Length.Format(t.Addendum+t.Dedendum))
		}
	}
}
