package pickup

import (
	"fmt"
	"math"
	"strings"

	"example.org/ampstroke/drivetrain"
)

// Steps lists what the hands do to come from the build as it stands to that after the
// work, in their order.
func (r *Result) Steps() (all []string) {
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	mm := func(v float64) string { return fmt.Sprintf("%.2f mm", 1e3*v) }
	say("Take the pack out before the shell is opened, and let off a pulled spring. Wear eye protection: the spring is under load until it is out, so hold its guide when the shell comes apart.")
	before, after := &r.Before, &r.After
	wrong := unsound(after)
	if len(r.Pads) == 0 && len(r.TakeDown) == 0 {
		switch {
		case r.Spacer > 1e-5 && after.Contact.Kind == Land:
			say("The gun jams, tip on tip. Flush would take a spacer of %s, but no pad in stock is so thin: cut one.", mm(r.Spacer))
		case wrong != "":
			say("No pad and no file mends this rack: %s. Take another rack or sector.", wrong)
		case r.Spacer == 0 && before.Offset < -1e-5:
			say("The contact is late by %s: take out that much spacer if there is any, else nothing that is put in helps.", mm(-before.Offset))
		case r.Spacer > 1e-5:
			say("Flush would take a spacer of %s, but no pad in stock is so thin: cut one, or leave it.", mm(r.Spacer))
		default:
			say("Nothing is to be done: the contact is square and no rack tooth is in the way.")
		}
		return all
	}
	if in := before.Build.Piston.Spacer; before.Offset < -1e-5 && in > 0 {
		say("The contact is late by %s, and a spacer of %s is in: take that out first and begin anew. What follows is for the spacer left in.", mm(-before.Offset), mm(in))
	}
	if before.Offset < -1e-5 && before.Build.Piston.Spacer == 0 {
		say("The contact is late by %s, and no spacer is in that could come out: nothing that is put in helps. What follows only frees the sector's way.", mm(-before.Offset))
	}
	if wrong != "" {
		say("Change nothing yet: with the work below done, %s. Look for another spacer, rack or sector first, and begin anew.", wrong)
	}
	step := func(v float64) string { return fmt.Sprintf("%.3g mm", 1e3*v) }
	switch {
	case len(before.Build.Pads) == 0 && len(r.Pads) > 0:
		say("No pads are in stock: cut a spacer of %s and put it in, so that the piston rests that much farther back.", mm(r.CutSpacer()))
	case len(r.Pads) > 0:
		var pads []string
		for _, p := range r.Pads {
			pads = append(pads, step(p))
		}
		what, sum := "pad of "+pads[0], ""
		if len(pads) > 1 {
			what, sum = "pads of "+strings.Join(pads, " and "), ", "+step(r.Added())+" in all"
		}
		say("Put in the %s%s, so that the piston rests that much farther back.%s", what, sum, rest(r))
	}
	had := map[int]float64{}
	for _, t := range before.Build.Rack.TakenDown {
		had[t.Tooth] = t.Depth
	}
	for _, t := range r.TakeDown {
		depth, more := Filed(after.Build, t.Depth), ""
		if h := had[t.Tooth]; h > 0 {
			more = fmt.Sprintf(", %s more than it is", mm(depth-h))
		}
		whole := ""
		if depth > height(after.Build)-1e-6 {
			whole = " (the whole tooth)"
		}
		say("Take rack tooth %d (the pickup tooth is 1) down by %s from its original tip%s%s: flat, over the whole width. Round no edge of the pickup tooth.", t.Tooth, mm(depth), more, whole)
	}
	on := ", and hand the rack on through the whole pull"
	if wrong != "" {
		on = "; the pull will not be sound, as said above"
	}
	say("Check again before the spring goes in: turn the sector by hand. Its first tooth has to pass the rack freely and meet the pickup tooth %s%s.", after.Contact.Where(), on)
	say("Write the work down (--after FILE.yaml) and compare both builds: the figures of the shot move with the spacer. In the file, pickup_offset stays what it is without spacers.")
	return all
}

// fine is what a caliper shows, and so what hands are asked to keep to [m].
const fine = 1e-5

// Filed returns the depth [m] to which a rack tooth of a build is filed that has to come
// down by a depth at least [m]: to the next hundredth of a millimetre, or all of it.
func Filed(b *drivetrain.Build, depth float64) float64 {
	return min(math.Ceil(depth/fine-1e-4)*fine, height(b))
}

// Cut returns the thickness [m] to which a spacer is cut that may be a thickness at most
// [m]: to the hundredth of a millimetre below.
func Cut(thickness float64) float64 { return math.Floor(thickness/fine+1e-4) * fine }

// CutSpacer returns the thickness [m] of the spacer that is cut where no pads are in
// stock, so that with what is in already nothing passes flush.
func (p *Work) CutSpacer() float64 {
	return Cut(p.Then.Build.Piston.Spacer) - p.Now.Build.Piston.Spacer
}

// height is that of a rack tooth [m].
func height(b *drivetrain.Build) float64 {
	t := b.Teeth()
	return t.Addendum + t.Dedendum
}

// unsound says why the pull of a state can't be left as it is; empty if it can.
func unsound(s *State) string {
	h := &s.HandOver
	switch {
	case s.Contact.Kind == Land:
		return "the sector's first tooth would strike the pickup tooth tip on tip"
	case h.Lost:
		return fmt.Sprintf("tooth %d lets the rack go and no later one has it", h.Last)
	case h.Caught():
		return "the sector's next first tooth comes among the rack's before the last one lets go"
	case len(h.Strikes) > 0:
		return fmt.Sprintf("tips strike at tooth %d in the pull", h.Strikes[0].Tooth)
	}
	return ""
}

// rest says what a stack leaves of the spacer that flush asks for.
func rest(r *Result) string {
	left := r.Spacer - r.Added()
	if left < 1e-6 {
		return ""
	}
	return fmt.Sprintf(" Flush asks for %.2f mm; no stack of the pads in stock comes nearer without passing it.", 1e3*r.Spacer)
}

// Where says where a contact lies.
func (c *Contact) Where() string {
	switch size := Degrees(math.Abs(c.Angle), "°"); {
	case size == "0.0°":
		return "square"
	case c.Angle < 0:
		return size + " late"
	default:
		return size + " ahead of square"
	}
}

// Degrees shows an angle [rad] as all texts and pictures of a pickup do, so that they give
// the same number, with the sign of degrees behind it.
func Degrees(angle float64, sign string) string {
	return fmt.Sprintf("%.1f%s", math.Round(angle*1800/math.Pi)/10+0, sign)
}
