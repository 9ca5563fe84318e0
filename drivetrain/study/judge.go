package study

import (
	"fmt"
	"math"
	"strings"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/quantity"
)

// What is still believable of a build of this kind: closures of this project, from
// what the trade is used to (common practice, no source). They ask for a second look
// at what was written down; the physics knows none of them.
const (
	// mostMotorSpeed is where commutators of this size begin to throw segments
	// [rad/s].
	mostMotorSpeed = 45000 * math.Pi / 30
	// mostRate is beyond what feeding a pellet takes [1/s].
	mostRate = 60
	// mostIdle is the share of the stall current that a sound motor needs without
	// load, at most [1].
	mostIdle = 0.1
	// closeMargin is what a pack a little fuller, or a spring a little tired, uses up
	// [s].
	closeMargin = 0.5e-3
	// mostImpact is where cylinder heads and piston heads are known to break
	// [m/s].
	mostImpact = 12
	// sameStroke is what a caliper tells apart in a shell [m].
	sameStroke = 0.5e-3
)

// wishes says which wants of the target are missed.
func (x *Examination) wishes() (all []finding.Finding) {
	for _, v := range x.Verdicts {
		if v.Fate == figure.Met {
			continue
		}
		keys := []string{"target." + v.Figure}
		f, _ := FindFigure(v.Figure)
		name := strings.ReplaceAll(v.Figure, "_", " ")
		switch {
		case NotJudged(x.Build, &v):
			all = append(all, finding.New("target", append(keys, "trigger.mode"), "%s: single fire has no such figure, so that this want isn't judged: set trigger.mode to automatic, or leave it out", name))
		case v.Fate == figure.NoFigure:
			all = append(all, finding.New("target", keys, "%s: this build doesn't come to it, so that the want is missed", name))
		case v.Figure == "muzzle_energy" && v.Max.Given && v.Value > v.Max.At:
			all = append(all, finding.New("muzzle-energy", []string{"spring.rate", "spring.preload", "cylinder.port"},
				"the muzzle energy of %s is above the %s that the target allows: local law and club rules say how much is; a softer spring, less preload or a port farther forward lower it", f.Kind.Format(short(v.Value)), f.Kind.Format(v.Max.At)))
		default:
			all = append(all, finding.New("target", keys, "%s: %s", name, Missed(&v)))
		}
	}
	return all
}

// NotJudged tells whether a want asks for what a build's mode of fire can't have,
// whatever else becomes of the build.
func NotJudged(b *drivetrain.Build, v *figure.Verdict) bool {
	f, _ := FindFigure(v.Figure)
	return v.Fate == figure.NoFigure && f.Steady && b.Trigger.Mode == drivetrain.Single
}

// Missed says by how much a verdict misses its want, with value and bound.
func Missed(v *figure.Verdict) string {
	f, _ := FindFigure(v.Figure)
	side, bound := "below", v.Min.At
	if v.Max.Given && v.Value > v.Max.At {
		side, bound = "above", v.Max.At
	}
	return fmt.Sprintf("%s is %s %s the wanted %s", Shown(f.Kind, v.Value), Shown(f.Kind, v.Shortfall()), side, Shown(f.Kind, bound))
}

// Shown gives a figure of a target with few digits; velocities in both the units that
// are used of them, short times in milliseconds.
func Shown(k quantity.Kind, v float64) string {
	switch k {
	case quantity.Velocity:
		return fmt.Sprintf("%.1f m/s (%.1f ft/s)", v, v/quantity.Foot)
	case quantity.Time:
		return fmt.Sprintf("%.4g ms", 1e3*v)
	case quantity.AngularSpeed, quantity.Angle: // whose units aren't powers of ten of SI's
		return fmt.Sprintf("%.5g %s", k.In(k.Unit())*v, k.Unit())
	}
	return k.Format(short(v))
}

// short rounds a number to four digits.
func short(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-3)
	return math.Round(v/unit) * unit
}

// Told says whether a build meets a target, in a few words, and what of it is met, or by
// how much it is missed.
func Told(b *drivetrain.Build, verdicts []figure.Verdict) (head, text string) {
	if len(verdicts) == 0 {
		return "no target", "the build file asks for no figure"
	}
	var met, missed, none []string
	for _, v := range verdicts {
		f, _ := FindFigure(v.Figure)
		name := strings.ReplaceAll(v.Figure, "_", " ")
		switch {
		case v.Fate == figure.Met:
			met = append(met, name+" "+Shown(f.Kind, v.Value))
		case v.Fate == figure.Missed:
			missed = append(missed, name+", "+Missed(&v))
		case NotJudged(b, &v):
			none = append(none, name)
		default:
			missed = append(missed, name+", which this build doesn't come to")
		}
	}
	var parts []string
	part := func(what string, all []string, between string) {
		if len(all) > 0 {
			parts = append(parts, what+strings.Join(all, between))
		}
	}
	head = "target not judged"
	part("", missed, "; ")
	switch {
	case len(missed) > 0:
		head = "target MISSED"
		part("met: ", met, ", ")
	case len(met) > 0:
		head = "target met"
		part("", met, ", ")
	}
	part("single fire has no ", none, ", no ")
	return head, strings.Join(parts, "; ")
}

// Asked says what a target asks for: "at least 20 /s", "117 m/s to 122 m/s".
func Asked(k quantity.Kind, w *figure.Want) string {
	switch {
	case !w.Max.Given:
		return "at least " + Shown(k, w.Min.At)
	case !w.Min.Given:
		return "at most " + Shown(k, w.Max.At)
	}
	return Shown(k, w.Min.At) + " to " + Shown(k, w.Max.At)
}

// plausible says what looks like a slip of the pen, or asks for trouble.
func (x *Examination) plausible() (all []finding.Finding) {
	b, s := x.Build, &x.Cycle.Summary
	tell := func(code string, keys []string, format string, args ...any) {
		all = append(all, finding.New(code, keys, format, args...))
	}
	length := quantity.Length.Format
	if s.RateOfFire > mostRate {
		tell("rate-of-fire", []string{"gears.ratio", "motor.armature.turns", "battery.series"},
			"%.1f rounds a second are more than the %.0f at which pellets are still fed (common practice, no source): check ratio, turns and cells", s.RateOfFire, float64(mostRate))
	}
	if port := b.Cylinder.Port; port != 0 && port >= s.Stroke+b.Piston.Spacer {
		tell("port-behind-stroke", []string{"cylinder.port"},
			"the port's front edge stands %s from home, behind the stroke of %s, so that the piston never uncovers it: leave cylinder.port out, or measure it again", length(port), length(short(s.Stroke)))
	}
	if m := s.PMEMargin; m >= 0 && m < closeMargin {
		tell("close-margin", []string{"gears.ratio", "sector.removed", "spring.rate"},
			"the piston is home only %.2f ms before the sector comes round: a fuller pack, more drag or a tired spring uses that up; %.1f ms are a margin to begin with", 1e3*m, 1e3*closeMargin)
	}
	if v := s.PistonImpact; v > mostImpact {
		tell("piston-impact", []string{"cylinder.nozzle", "piston.mass", "barrel.bore"},
			"the piston arrives home at %.1f m/s, beyond the %.0f that piston and cylinder heads are known to stand (common practice, no source): a narrower nozzle, a tighter barrel or a heavier pellet cushions it", v, float64(mostImpact))
	}
	if b.Sector.EngagedAngle != 0 && b.Rack != nil && b.Rack.PickupOffset != nil {
		byTeeth := b.Sector.PitchRadius()*b.ReleaseAngleByTeeth() - b.Piston.Spacer
		if off := s.Stroke - byTeeth; math.Abs(off) > sameStroke {
			more := "more"
			if off < 0 {
				more = "less"
			}
			tell("engaged-angle", []string{"sector.engaged_angle", "rack.pickup_offset", "sector.removed"},
				"the stroke of %s that sector.engaged_angle gives is %s %s than the teeth come to (%s): measure again, or leave it out and the stroke follows from the teeth", length(short(s.Stroke)), length(short(math.Abs(off))), more, length(short(byTeeth)))
		}
	}
	return all
}

// Motor says what there is to say of a build's motor alone, on the rested pack at the
// build's ambient temperature; all of it is among what [Examine] finds.
func Motor(b *drivetrain.Build) []finding.Finding {
	t := b.Ambient.Temperature
	c := b.Motor.At(t, t)
	all := cycle.MotorWarnings(b, c.SlotFill)
	tell := func(code string, keys []string, format string, args ...any) {
		all = append(all, finding.New(code, keys, format, args...))
	}
	cell, err := b.Battery.Cell()
	if err != nil { // a valid pack has one
		panic(err)
	}
	h := c.Characteristic(b.Battery.OCV(cell, b.Battery.StateOfCharge))
	if b.Motor.Demagnetisation(h.Stall.Current, t).Margin() < 0 {
		tell("held-demagnetisation", []string{"motor.stator.magnet.coercivity", "motor.stator.magnet.thickness", "battery.series"},
			"held on the pack's voltage with nothing in between, the motor would draw %.1f A, which weakens the magnets for good: never hold it on a supply without a limit; in the gun, pack and leads hold the current down", h.Stall.Current)
	}
	if v := h.NoLoad.Speed; v > mostMotorSpeed {
		tell("motor-speed", []string{"motor.armature.turns", "motor.stator.magnet.remanence", "battery.series"},
			"without load the motor would turn at %.0f rpm, beyond the %.0f that commutators of this size are known to stand (common practice, no source): check turns, magnets and cells", math.Round(v*3/math.Pi)*10, mostMotorSpeed*30/math.Pi)
	}
	if share := h.NoLoad.Current / h.Stall.Current; share > mostIdle {
		tell("no-load-current", []string{"motor.drag.constant", "motor.bench.no_load_current"},
			"without load the motor draws %.1f A, %.0f %% of its stall current, where a sound one takes less than %.0f %% (common practice, no source): check the drag or the readings, else bearings and brushes", h.NoLoad.Current, 100*share, 100*mostIdle)
	}
	missing := func(code, key, format string, args ...any) { tell(code, []string{key}, format, args...) }
	switch {
	case b.Motor.Bench != nil:
		missing("fill-unchecked", "motor.armature.slot_area", "slot fill, because a motor by bench readings says nothing of its winding")
		missing("magnets-unchecked", "motor.stator.magnet.coercivity", "whether the current weakens the magnets, because a motor by bench readings says nothing of them")
	default:
		if math.IsNaN(c.SlotFill) {
			missing("fill-unchecked", "motor.armature.slot_area", "slot fill, because motor.armature.slot_area is missing")
		}
		if b.Motor.Stator.Magnet.Coercivity == 0 {
			missing("magnets-unchecked", "motor.stator.magnet.coercivity", "whether the current weakens the magnets, because motor.stator.magnet.coercivity is missing")
		}
	}
	return all
}

// missing says what can't be looked at, since a value is not given, and what is
// assumed in its place.
func (x *Examination) missing() (all []finding.Finding) {
	b := x.Build
	tell := func(code, key, format string, args ...any) {
		all = append(all, finding.New(code, []string{key}, format, args...))
	}
	if b.Battery.DischargeRating == 0 {
		tell("pack-unchecked", "battery.discharge_rating", "whether the pack stands the current, because battery.discharge_rating is missing")
	}
	if b.Rack == nil || b.Rack.PickupOffset == nil {
		assumed := "a flush contact is assumed"
		if b.Sector.EngagedAngle != 0 {
			assumed = "the stroke is that of sector.engaged_angle"
		}
		tell("contact-unchecked", "rack.pickup_offset", "how the sector meets the rack and what the teeth bear, because rack.pickup_offset is missing; %s", assumed)
	}
	if b.Cylinder.Port == 0 {
		tell("port-unchecked", "cylinder.port", "the port, because cylinder.port is missing; a closed cylinder is assumed")
	}
	if len(b.Harness.Connectors) == 0 {
		tell("connectors-unchecked", "harness.connectors", "connectors, because harness.connectors is missing; soldered leads are assumed")
	}
	if b.Harness.Fuse == nil {
		tell("fuse-unchecked", "harness.fuse", "the fuse, because harness.fuse is missing; none is assumed, so that nothing opens if the motor stalls")
	}
	return all
}
