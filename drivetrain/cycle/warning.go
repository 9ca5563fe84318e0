package cycle

import (
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// Warning is something about a build that a technician should know, with cause
// and cure in one sentence.
type Warning struct {
	Code string
	Text string
	// Limit tells that a limit of a part is broken, not only touched on.
	Limit bool
}

func warnings(res *Result, m *machine) []Warning {
	b, s := res.Build, &res.Summary
	var all []Warning
	warn := func(code, format string, args ...any) {
		all = append(all, Warning{Code: code, Text: fmt.Sprintf(format, args...)})
	}
	broken := func(code, format string, args ...any) {
		warn(code, format, args...)
		all[len(all)-1].Limit = true
	}
	amps := func(v float64) string { return fmt.Sprintf("%.1f A", v) }
	if s.StallCurrent == 0 {
		broken("no-start", "the pack gives no more than the brushes drop, so that no current flows: take more cells or charge the pack")
	} else if !math.IsNaN(s.StallAngle) {
		broken("stall", "the motor can't turn the sector past %.0f°: the switch must open at once, or the %s cook winding, leads and switch; a higher ratio, more turns or magnet, another cell or a softer spring lets it turn",
			s.StallAngle*180/math.Pi, amps(s.StallCurrent))
	}
	if res.Flight != nil {
		shotWarnings(res, warn, broken)
	}
	if fill := m.motor.SlotFill; fill > motor.HandWound {
		warn("slot-fill", "the winding would fill %.0f %% of the slot, more than the %.0f %% that hands can wind: take thinner wire, fewer strands or fewer turns",
			100*fill, 100*motor.HandWound)
	}
	if s.DemagnetisationMargin < 0 {
		broken("demagnetisation", "the inrush of %s weakens the magnets for good (the field at their edge exceeds the coercivity by %.0f %%): take more resistance or fewer cells, thicker magnets or a grade of higher coercivity", amps(s.Inrush), -100*s.DemagnetisationMargin)
	}
	if remark := b.Battery.Chemistry.Remark(); remark != "" {
		warn("cell-curve", "%s", remark)
	}
	if rated := b.Battery.ContinuousCurrent(); s.CurrentMean > rated {
		broken("pack-rating", "the mean current of %s exceeds the %s the pack is rated for: take a larger pack, a higher rating or a higher ratio", amps(s.CurrentMean), amps(rated))
	} else if s.StallCurrent > rated {
		broken("pack-rating", "the stalled motor draws %s, more than the %s the pack is rated for: let the trigger go at once and find a build that turns", amps(s.StallCurrent), amps(rated))
	} else if s.Inrush > rated {
		warn("pack-inrush", "the inrush of %s exceeds the %s the pack is rated for, for a few milliseconds at each start: a higher rating keeps the voltage up", amps(s.Inrush), amps(rated))
	}
	if cutoff := b.Battery.CutoffVoltage(); s.PackVoltageMin < cutoff {
		broken("cut-off", "the pack falls to %.2f V under load, below its cut-off of %.2f V: charge it, or take a larger pack or one of less resistance", s.PackVoltageMin, cutoff)
	}
	if f := b.Harness.Fuse; f != nil && s.CurrentRMS > f.Rating {
		broken("fuse-rating", "the current of %s (RMS) is above the fuse's %s: it will blow in a long burst; find out why so much flows before fitting a larger one", amps(s.CurrentRMS), amps(f.Rating))
	}
	if b.Spring.Wire != 0 && b.Spring.FreeLength != 0 {
		shortest := b.Spring.InstalledLength - b.Piston.Spacer - m.geometry.Stroke
		if solid := b.Spring.SolidLength(); shortest < solid {
			broken("spring-solid", "the spring would be %s long at release, less than its solid length of %s: take fewer coils, a longer room or less stroke", quantity.Length.Format(shortest), quantity.Length.Format(solid))
		}
	}
	if p := res.Pull; p != nil {
		pullWarnings(b, p, warn, broken)
	}
	return all
}

// shotWarnings speak of the steady cycle's flight.
func shotWarnings(res *Result, warn, broken func(code, format string, args ...any)) {
	b, s := res.Build, &res.Summary
	length, speed := quantity.Length.Format, quantity.Velocity.Format
	where := func() string {
		tooth := 1 + int(math.Round(s.EngagementTravel/(math.Pi*b.Sector.Module)))
		return fmt.Sprintf("the sector would meet the rack about tooth %d, %s from home (%.0f %% of the stroke), at %s",
			tooth, length(round(s.EngagementTravel)), 100*s.EngagementShare, speed(round(s.EngagementSpeed)))
	}
	switch {
	case math.IsNaN(s.TimeToHome):
		text := fmt.Sprintf("the piston does not come home after the release (%s): look for too much drag, too soft a spring or air that can't get out", res.Flight.Status)
		if !math.IsNaN(s.EngagementTravel) {
			text += "; " + where()
		}
		broken("piston-not-home", "%s", text)
	case s.PMEMargin < 0:
		broken("premature-engagement", "the piston is home %.2f ms after the sector has come round, and %s: a stiffer spring, a shorter stroke (fewer teeth), a higher ratio, more turns or a cell less keep them apart, up to %.1f rounds a second",
			-1e3*s.PMEMargin, where(), s.PMERateOfFire)
	}
	if res.Flight.Status == flight.PelletStuck || math.IsNaN(s.MuzzleVelocity) {
		broken("pellet-stuck", "the pellet does not leave the barrel: less hop, more spring or a better seal; clear the barrel with the pack out before anything else")
	}
}

// round shortens a number for a sentence.
func round(v float64) float64 {
	if v == 0 || math.IsNaN(v) {
		return v
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
	return math.Round(v/unit) * unit
}

// pullWarnings speak of a pull that the cut-off ends.
func pullWarnings(b *drivetrain.Build, p *Pull, warn, broken func(code, format string, args ...any)) {
	degrees := func(rad float64) float64 { return rad * 180 / math.Pi }
	cure := "an earlier cut-off, a higher ratio, more drag or a stiffer spring stops it"
	if m := b.Harness.Switch.MOSFET; m == nil || !m.ActiveBraking {
		cure = "active braking (a MOSFET), " + cure
	}
	switch extra := p.Extra(); {
	case len(p.Releases) == 0:
		warn("no-release", "the train stops at %.0f° before it has let the rack go: let the switch open later (trigger.cutoff, now %.0f°)", degrees(p.StopAngle), degrees(b.Trigger.Cutoff))
	case extra > 0:
		broken("second-shot", "the gun fires %d for %d asked: the train runs on through %.0f° after the switch has opened; %s", len(p.Releases), p.Rounds, degrees(p.Overspin), cure)
	case extra < 0:
		warn("too-few-shots", "the gun fires %d for %d asked: the switch opens too early (trigger.cutoff, now %.0f°)", len(p.Releases), p.Rounds, degrees(b.Trigger.Cutoff))
	}
}
