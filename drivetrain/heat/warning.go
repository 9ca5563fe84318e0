package heat

import (
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/quantity"
)

// nearlyBlown is the part of its melting integral from which on a fuse that did not
// blow is spoken of: fuses scatter, and age (a closure of this project) [1].
const nearlyBlown = 0.75

// Cure says what keeps a part of a build cooler.
func (r *Result) Cure(part string) string {
	contacts := r.Build.Harness.Switch.Contacts != nil
	switch part {
	case Winding:
		return "longer pauses or shorter bursts; a higher ratio, a softer spring or a motor of more magnet take less current for the same shot"
	case Magnets:
		return "longer pauses or shorter bursts; magnets of a higher grade, or a can that sheds more heat"
	case Brushes:
		return "longer pauses or shorter bursts; a higher ratio or a softer spring take less current"
	case Leads:
		return "thicker or shorter leads, or a jacket that stands more, such as silicone; --gauges shows what each gauge does"
	case Connectors:
		return "connectors of fewer milliohms, or fewer of them; thicker leads draw heat off"
	case Switch:
		if contacts {
			return "a MOSFET in their place; harder-pressed contacts or silver help, and so does what takes less inrush"
		}
		return "a MOSFET of fewer milliohms, a better path for its heat, or what takes less inrush"
	case Pack:
		return "a pack of less resistance or more cells in parallel, longer pauses, or a pack change"
	case Fuse:
		return "find out why so much flows; a higher rating or a slower fuse only as far as leads and connectors stand it"
	}
	return ""
}

// CureKeys lists the keys of the build file that Cure speaks of.
func (r *Result) CureKeys(part string) []string {
	load := []string{"gears.ratio", "spring.rate", "motor.armature.turns"}
	switch part {
	case Winding, Brushes:
		return load
	case Magnets:
		return append([]string{"motor.stator.magnet.limit", "motor.heat.can_to_ambient"}, load...)
	case Leads:
		return []string{"harness.lead.gauge", "harness.lead.length", "harness.lead.insulation"}
	case Connectors:
		return []string{"harness.connectors", "harness.lead.gauge"}
	case Switch:
		if r.Build.Harness.Switch.Contacts != nil {
			return []string{"harness.switch.mosfet", "harness.switch.contacts.force", "harness.switch.contacts.material"}
		}
		return []string{"harness.switch.mosfet.resistance", "harness.switch.mosfet.to_ambient"}
	case Pack:
		return []string{"battery.resistance", "battery.parallel"}
	case Fuse:
		return []string{"harness.fuse.rating", "harness.fuse.melting"}
	}
	return nil
}

func warnings(r *Result, m *model) (all []finding.Finding) {
	b := m.build
	warn := func(code string, keys []string, format string, args ...any) {
		all = append(all, finding.New(code, keys, format, args...))
	}
	// A plan that ends early is a fault, whatever the same means for one shot.
	ends := func(code string, keys []string, format string, args ...any) {
		all = append(all, finding.New(code, keys, format, args...).As(finding.Fault))
	}
	degrees := func(kelvin float64) string { return fmt.Sprintf("%.0f °C", kelvin-quantity.Celsius) }
	for _, p := range r.Parts {
		if math.IsNaN(p.LimitAt) || p.Name == Fuse {
			continue
		}
		what := "the " + p.Name
		if p.Name == Switch {
			what = "the switch (its junction)"
			if r.Switching.Contacts {
				what = "the switch (the spot between its contacts)"
			}
		}
		verb := "reaches"
		if Plural(p.Name) {
			verb = "reach"
		}
		warn(p.Name+"-limit", r.CureKeys(p.Name), "%s %s %s %s, and up to %s: %s", what, verb, degrees(p.Limit), p.When(), degrees(p.Peak), r.Cure(p.Name))
	}
	s := &r.Switching
	contacts := r.CureKeys(Switch)
	if s.Contacts && s.Voltage >= s.Melting {
		warn("contact-melting", contacts, "the peak current drops %.3f V over the contacts, and at %.3f V the metal melts between them: they weld or burn; a MOSFET in their place, more force, or what takes less inrush", s.Voltage, s.Melting)
	}
	if math.IsInf(s.Arc, 1) {
		warn("standing-arc", contacts, "when the contacts open, %.1f V go on driving the current, and an arc in air stands from %.1f V on: it burns until they are far apart or gone; fewer cells, a later cut-off, or a MOSFET in their place", s.Drive, s.ArcVoltage)
	}
	if rated := b.Battery.ContinuousCurrent(); r.PackCurrent > rated {
		warn("pack-rating", []string{"battery.capacity", "battery.discharge_rating", "gears.ratio"}, "a pull takes %.1f A on the average, more than the %.1f A the pack is rated for: a larger pack, a higher rating or a higher ratio", r.PackCurrent, rated)
	}
	if r.DemagnetisationMargin < 0 {
		by := fmt.Sprintf("exceeds the coercivity by %.0f %%", -100*r.DemagnetisationMargin)
		if math.IsInf(r.DemagnetisationMargin, -1) {
			by = "meets no coercivity any more"
		}
		warn("demagnetisation", []string{"motor.stator.magnet.coercivity", "motor.stator.magnet.thickness", "battery.series"},
			"the peak current weakens the warm magnets for good (the field at their edge %s): more resistance, fewer cells, thicker magnets or a grade of higher coercivity", by)
	}
	pack := []string{"battery.capacity", "battery.state_of_charge"}
	switch r.Status {
	case FuseBlown:
		ends("fuse-nuisance", r.CureKeys(Fuse), "the fuse blows in plain firing, after %s in round %.0f, with nothing at fault: %s", Span(r.Duration), r.Part(Fuse).RoundsToLimit, r.Cure(Fuse))
	case Stall:
		ends("stall", []string{"gears.ratio", "motor.armature.turns", "battery.series", "spring.rate"}, "the motor can't turn the gears through round %d: the switch must open at once; what the parts stand then is said below the table", r.Rounds+1)
	case CutOff:
		ends("cut-off", pack, "the pack falls below its cut-off of %.2f V under load after %d of %d rounds: a charged or larger pack, or a pack change", b.Battery.CutoffVoltage(), r.Rounds, r.Asked)
	case Empty:
		ends("pack-empty", pack, "the pack is empty after %d of %d rounds: a charged or larger pack, or a pack change", r.Rounds, r.Asked)
	}
	if r.Status != FuseBlown && r.FuseShare > nearlyBlown {
		warn("fuse-near", r.CureKeys(Fuse), "the fuse comes to %.0f %% of what melts it, in plain firing: fuses scatter and age, and this one may blow with nothing at fault; %s", 100*r.FuseShare, r.Cure(Fuse))
	}
	if r.Status == Done && r.Rounds != r.Asked {
		warn("rounds", []string{"trigger.cutoff"}, "%d rounds were fired for %d asked: the cut-off opens too early or too late, or the train runs on; 'cycle --set trigger.mode=single' shows it", r.Rounds, r.Asked)
	}
	return all
}

// When says for people when a part reached its limit: not in a round where the
// surroundings alone are as warm, and not at a time where all that is known is the
// round, over which spot and junction are held.
func (p *Part) When() string {
	switch {
	case p.RoundsToLimit == 0:
		return "before the first round, in such surroundings"
	case p.LimitAt < 1e-3 && p.RoundsToLimit <= 1:
		return "in the first round"
	}
	return fmt.Sprintf("after %s, in round %.0f", Span(p.LimitAt), p.RoundsToLimit)
}

// Verdict says what gives out first, and the cure.
func (r *Result) Verdict() string {
	if r.FirstOut != "" {
		p := r.Part(r.FirstOut)
		verb := "reaches its limit of " + fmt.Sprintf("%.0f °C", p.Limit-quantity.Celsius)
		switch {
		case p.Name == Fuse:
			verb = "blows"
		case Plural(p.Name):
			verb = "reach their limit of " + fmt.Sprintf("%.0f °C", p.Limit-quantity.Celsius)
		}
		return fmt.Sprintf("first to give out: the %s %s %s. Cure: %s.", p.Name, verb, p.When(), r.Cure(p.Name))
	}
	if r.Rounds == 0 && r.Status == Stall {
		return "no round is fired, so that nothing warms."
	}
	nearest, most := "", math.Inf(-1)
	for _, p := range r.Parts {
		if v := (p.Peak - p.Start) / (p.Limit - p.Start); v > most {
			nearest, most = p.Name, v
		}
	}
	if nearest == "" {
		return "no part has a limit that is known."
	}
	verb := "comes"
	if Plural(nearest) {
		verb = "come"
	}
	return fmt.Sprintf("no part reaches its limit in this plan; the %s %s nearest, with %.0f %% of the way from start to limit.", nearest, verb, 100*most)
}

// Span shows a time [s] for people.
func Span(seconds float64) string {
	switch {
	case seconds < 1:
		return fmt.Sprintf("%.0f ms", 1e3*seconds)
	case seconds < 120:
		return fmt.Sprintf("%.1f s", seconds)
	case seconds < 7200:
		return fmt.Sprintf("%.1f min", seconds/60)
	}
	return fmt.Sprintf("%.1f h", seconds/3600)
}

// Warnings says what a stalled motor asks of its fuse.
func (s *Stalled) Warnings() []finding.Finding {
	first, at := "", math.Inf(1)
	how := "the fuse does not blow"
	for _, p := range s.Parts {
		switch {
		case p.Name == Fuse && math.IsNaN(p.Start):
			how = "there is no fuse"
		case p.Name != Fuse && p.LimitAt < at:
			first, at = p.Name, p.LimitAt
		}
	}
	if first == "" || s.FuseFalling <= at {
		return nil
	}
	if !math.IsNaN(s.FuseFalling) {
		how = "the fuse blows only after " + Span(s.FuseFalling)
	}
	comes := "comes to its limit within " + Span(at)
	switch plural := Plural(first); {
	case at < 1e-3 && plural:
		comes = "are at their limit from the start"
	case at < 1e-3:
		comes = "is at its limit from the start"
	case plural:
		comes = "come to their limit within " + Span(at)
	}
	return []finding.Finding{finding.New("stall-fuse", []string{"harness.fuse.rating", "harness.fuse.melting"}, "if the motor stalls, at %.0f A, the %s %s, and %s: fit one that blows sooner and still lasts through firing", s.Current, first, comes, how)}
}
