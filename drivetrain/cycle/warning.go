package cycle

import (
	"fmt"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// teller gathers findings.
type teller struct{ all []finding.Finding }

func (t *teller) tell(code string, keys []string, format string, args ...any) {
	t.all = append(t.all, finding.New(code, keys, format, args...))
}

// melts is what melts a fuse for good, in times its rating (equation C6) [1].
const melts = 1.2

func amps(v float64) string { return fmt.Sprintf("%.1f A", v) }

// warnings says what a technician should know of a build that was fired, with cause
// and cure.
func warnings(res *Result, m *machine) []finding.Finding {
	b, s := res.Build, &res.Summary
	var t teller
	if s.StallCurrent == 0 {
		t.tell("no-start", []string{"battery.series", "battery.state_of_charge", "motor.stator.brush.drop"},
			"the pack gives no more than the brushes drop, so that no current flows: take more cells or charge the pack")
	} else if !math.IsNaN(s.StallAngle) {
		t.tell("stall", []string{"gears.ratio", "motor.armature.turns", "battery.series", "spring.rate"},
			"the motor can't turn the sector past %.0f°: the switch must open at once, or the %s cook winding, leads and switch; a higher ratio, more turns or magnet, another cell or a softer spring lets it turn",
			s.StallAngle*180/math.Pi, amps(s.StallCurrent))
	}
	if res.Flight != nil {
		t.shot(res)
	}
	if h := res.Hunt; h != nil {
		t.tell("hunts", []string{"motor.armature.inductance", "gears.inertia", "spring.rate"},
			"the gun hunts: from shot to shot it takes %.1f to %.1f ms, and no cycle repeats, so that the figures of the steady cycle are means over %d shots; an inductance of the usual size, or one that follows from the winding, keeps it even",
			1e3*h.Shortest, 1e3*h.Longest, h.Shots)
	}
	t.all = append(t.all, MotorWarnings(b, m.motor.SlotFill)...)
	t.electric(res)
	if b.Spring.Wire != 0 && b.Spring.FreeLength != 0 {
		shortest := b.Spring.InstalledLength - b.Piston.Spacer - m.geometry.Stroke
		if solid := b.Spring.SolidLength(); shortest < solid {
			t.tell("spring-solid", []string{"spring.coils", "spring.installed_length", "sector.removed"},
				"the spring would be %s long at release, less than its solid length of %s: take fewer coils, a longer room or less stroke", quantity.Length.Format(round(shortest)), quantity.Length.Format(round(solid)))
		}
	}
	if b.Trigger.Mode == drivetrain.Single && b.Trigger.Rounds > 0 {
		t.tell("rounds-ignored", []string{"trigger.rounds", "trigger.mode"},
			"trigger.rounds counts the rounds of automatic fire; in single the trigger fires one: leave it out, or set trigger.mode to automatic")
	}
	if p := res.Pull; p != nil {
		t.pull(b, p)
	}
	return t.all
}

// electric speaks of magnets, pack and fuse.
func (t *teller) electric(res *Result) {
	b, s := res.Build, &res.Summary
	if s.DemagnetisationMargin < 0 {
		what, cure, keys := "inrush", "more resistance or fewer cells", []string{"motor.stator.magnet.coercivity", "motor.stator.magnet.thickness", "battery.series"}
		if res.largest() > s.Inrush {
			what, cure = "braking current", "a brake of more resistance (brake_resistance) or a later one (brake_delay)"
			keys = []string{"harness.switch.mosfet.brake_resistance", "harness.switch.mosfet.brake_delay", "motor.stator.magnet.coercivity"}
		}
		t.tell("demagnetisation", keys, "the %s of %s weakens the magnets for good (the field at their edge exceeds the coercivity by %.0f %%): take %s, thicker magnets or a grade of higher coercivity",
			what, amps(res.largest()), -100*s.DemagnetisationMargin, cure)
	}
	pack := []string{"battery.capacity", "battery.discharge_rating", "gears.ratio"}
	if rated := b.Battery.ContinuousCurrent(); s.CurrentMean > rated {
		t.tell("pack-rating", pack, "the mean current of %s exceeds the %s the pack is rated for: take a larger pack, a higher rating or a higher ratio", amps(s.CurrentMean), amps(rated))
	} else if s.StallCurrent > rated {
		t.tell("pack-rating", pack, "the stalled motor draws %s, more than the %s the pack is rated for: let the trigger go at once and find a build that turns", amps(s.StallCurrent), amps(rated))
	} else if s.Inrush > rated {
		t.tell("pack-inrush", pack, "the inrush of %s exceeds the %s the pack is rated for, for a few milliseconds at each start: a higher rating keeps the voltage up", amps(s.Inrush), amps(rated))
	}
	if cutoff, least := b.Battery.CutoffVoltage(), leastVoltage(res); least < cutoff {
		t.tell("cut-off", []string{"battery.state_of_charge", "battery.resistance", "battery.capacity", "battery.cutoff"},
			"the pack falls to %.2f V under load, below its cut-off of %.2f V: charge it, or take a larger pack or one of less resistance", least, cutoff)
	}
	if f := b.Harness.Fuse; f != nil && s.CurrentRMS > f.Rating {
		blows := "blow in a long burst"
		if s.CurrentRMS < melts*f.Rating {
			blows = "age, and blow sooner or later"
		}
		t.tell("fuse-rating", []string{"harness.fuse.rating"}, "the current of %s (RMS) is above the fuse's %s: it will %s; find out why so much flows before fitting a larger one", amps(s.CurrentRMS), amps(f.Rating), blows)
	}
}

// engagementKeys are what keeps piston and sector apart.
func engagementKeys() []string {
	return []string{"gears.ratio", "sector.removed", "motor.armature.turns", "battery.series", "spring.rate"}
}

// shot speaks of the flight that is quoted.
func (t *teller) shot(res *Result) {
	b, s := res.Build, &res.Summary
	where := func() string {
		return meeting(b, Engagement{s.EngagementTravel, s.EngagementShare, s.EngagementSpeed})
	}
	if res.Flight.Status == flight.PelletStuck || math.IsNaN(s.MuzzleVelocity) { // the cause, ahead of what follows
		t.tell("pellet-stuck", []string{"pellet.hop_force", "spring.rate", "cylinder.seal_leak"},
			"the pellet does not leave the barrel: less hop, more spring or a better seal; clear the barrel with the pack out before anything else")
	}
	switch {
	case math.IsNaN(s.TimeToHome):
		text := "the piston does not come home after the release: look for too much drag, too soft a spring or air that can't get out"
		if !math.IsNaN(s.EngagementTravel) {
			text += "; " + where()
		}
		t.tell("piston-not-home", []string{"piston.drag", "spring.rate", "spring.preload", "cylinder.nozzle"}, "%s", text)
	case s.PMEMargin < 0:
		t.tell("premature-engagement", engagementKeys(), "the piston is home %.2f ms after the sector has come round, and %s: a stiffer spring, a shorter stroke (fewer teeth), a higher ratio, more turns or a cell less keep them apart, up to %.1f rounds a second",
			-1e3*s.PMEMargin, where(), s.PMERateOfFire)
	}
}

// meeting says where a sector would meet a rack that is not home.
func meeting(b *drivetrain.Build, e Engagement) string {
	place := fmt.Sprintf("%s from home (%.0f %% of the stroke)", quantity.Length.Format(round(e.Travel)), 100*e.Share)
	tooth := 1 + int(math.Round(e.Travel/(math.Pi*b.Sector.Module)))
	if teeth := b.Teeth(); tooth > teeth.Rack { // inertia carries it on behind the release
		return fmt.Sprintf("the sector would find none of the rack's %d teeth, since it is still %s, and strikes the turning sector on its way", teeth.Rack, place)
	}
	at := "at " + quantity.Velocity.Format(round(e.Speed))
	if e.Speed < 0 { // the air throws the piston back
		at = "while it still runs away from the sector"
	}
	return fmt.Sprintf("the sector would meet the rack about tooth %d, %s, %s", tooth, place, at)
}

// round shortens a number for a sentence.
func round(v float64) float64 {
	if v == 0 || math.IsNaN(v) {
		return v
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
	return math.Round(v/unit) * unit
}

// MotorWarnings speaks of winding and cells, whatever the motor drives: of the
// share of the slot that the winding would fill, NaN where it isn't known, and of a
// cell's curve.
func MotorWarnings(b *drivetrain.Build, fill float64) []finding.Finding {
	var t teller
	if fill > motor.HandWound {
		t.tell("slot-fill", []string{"motor.armature.wire", "motor.armature.strands", "motor.armature.turns"},
			"the winding would fill %.0f %% of the slot, more than the %.0f %% that hands can wind: take thinner wire, fewer strands or fewer turns",
			100*fill, 100*motor.HandWound)
	}
	if remark := b.Battery.Remark(); remark != "" {
		t.tell("cell-curve", []string{"battery.ocv"}, "%s", remark)
	}
	return t.all
}

// leastVoltage is the pack's over all that was simulated [V].
func leastVoltage(res *Result) float64 {
	if res.Pull != nil {
		return min(res.Summary.PackVoltageMin, res.Pull.PackVoltageMin)
	}
	return res.Summary.PackVoltageMin
}

// pull speaks of a pull that the cut-off ends.
func (t *teller) pull(b *drivetrain.Build, p *Pull) {
	said := slices.ContainsFunc(t.all, func(f finding.Finding) bool { return f.Code == "premature-engagement" })
	for i, s := range p.Releases {
		if said || math.IsNaN(s.Engagement.Travel) {
			continue
		}
		t.tell("premature-engagement", engagementKeys(), "shot %d of the pull: the piston is not home when the sector comes round, and %s: a stiffer spring, a shorter stroke, a higher ratio or braking keep them apart", i+1, meeting(b, s.Engagement))
		break
	}
	if p.After.Spent >= b.Battery.StateOfCharge {
		t.tell("pack-empty", []string{"battery.state_of_charge", "battery.capacity", "trigger.rounds"},
			"the pack is empty before the pull ends: %.0f mAh are drawn, %.0f are in it; fewer rounds or a larger pack", p.Charge/3.6, b.Battery.StateOfCharge*b.Battery.Capacity/3.6)
	}
	degrees := func(rad float64) float64 { return rad * 180 / math.Pi }
	cure, keys := "an earlier cut-off, a higher ratio, more drag or a stiffer spring stops it", []string{"trigger.cutoff", "gears.ratio", "spring.rate"}
	if m := b.Harness.Switch.MOSFET; m == nil || !m.ActiveBraking {
		cure, keys = "active braking (a MOSFET), "+cure, append([]string{"harness.switch.mosfet.active_braking"}, keys...)
	}
	switch extra := p.Extra(); {
	case len(p.Releases) == 0:
		t.tell("no-release", []string{"trigger.cutoff"}, "the train stops at %.0f° before it has let the rack go: let the switch open later (trigger.cutoff, now %.0f°)", degrees(p.StopAngle), degrees(b.Trigger.Cutoff))
	case extra > 0:
		t.tell("second-shot", keys, "the gun fires %d for %d asked: the train runs on through %.0f° after the switch has opened; %s", len(p.Releases), p.Rounds, degrees(p.Overspin), cure)
	case extra < 0:
		t.tell("too-few-shots", []string{"trigger.cutoff"}, "the gun fires %d for %d asked: the switch opens too early (trigger.cutoff, now %.0f°)", len(p.Releases), p.Rounds, degrees(b.Trigger.Cutoff))
	}
}
