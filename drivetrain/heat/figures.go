package heat

import (
	"fmt"
	"slices"
	"sync"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
)

// Figures lists the figures of a firing plan. The list is the caller's.
func Figures() figure.List[*Result] { return slices.Clone(figures()) }

var figures = sync.OnceValue(func() figure.List[*Result] {
	all := slices.Concat(rates(), magnetsAndFuse(), switching(), books())
	for _, part := range PartNames() {
		all = append(all, ofPart(part)...)
	}
	return all.Keyed()
})

func rates() figure.List[*Result] {
	const g = "firing"
	return figure.List[*Result]{
		{Info: figure.Info{
			Name: "rate_of_fire_first", Label: "rate of fire, first", Group: g, Kind: quantity.Rate, Unit: "/s", Digits: 4, Better: figure.Higher,
			Meaning: "of the first pull of two rounds or more",
		}, Value: func(r *Result) float64 { return r.RateFirst }},
		{Info: figure.Info{
			Name: "rate_of_fire_last", Label: "rate of fire, last", Group: g, Kind: quantity.Rate, Unit: "/s", Digits: 4, Better: figure.Higher,
			Meaning: "of the last one",
		}, Value: func(r *Result) float64 { return r.RateLast }},
		{Info: figure.Info{
			Name: "release_first", Label: "release, first", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4, Better: figure.Lower,
			Meaning: "from closing the switch, first pull",
		}, Value: func(r *Result) float64 { return r.ReleaseFirst }},
		{Info: figure.Info{
			Name: "release_last", Label: "release, last", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4, Better: figure.Lower,
			Meaning: "last pull",
		}, Value: func(r *Result) float64 { return r.ReleaseLast }},
		{Info: figure.Info{
			Name: "rounds", Label: "rounds", Group: g, Kind: quantity.Count, Digits: 6, Better: figure.Higher,
			Meaning: "fired in the plan",
		}, Value: func(r *Result) float64 { return float64(r.Rounds) }, Note: func(r *Result) string { return fmt.Sprintf("for %d asked", r.Asked) }},
		{Info: figure.Info{
			Name: "state_of_charge_end", Label: "charge left", Group: g, Kind: quantity.Share, Unit: "%", Digits: 3, Better: figure.Higher,
			Meaning: "of the pack's capacity, in the pack that is in at the end",
		}, Value: func(r *Result) float64 { return r.Charge }},
		{Info: figure.Info{
			Name: "rounds_per_charge", Label: "rounds a charge", Group: g, Kind: quantity.Number, Digits: 4, Better: figure.Higher,
			Meaning: "such rounds from a full pack until its reserve is touched",
		}, Value: func(r *Result) float64 { return r.RoundsPerCharge }, Note: func(r *Result) string {
			return fmt.Sprintf("such rounds, from full, %.0f %% left in the pack", 100*r.Build.Battery.Reserve)
		}},
		{Info: figure.Info{
			Name: "pull_mean_current", Label: "pull, mean current", Group: g, Kind: quantity.Current, Unit: "A", Digits: 3, Better: figure.Lower,
			Meaning: "of the pull that asks most of the pack",
		}, Value: func(r *Result) float64 { return r.PackCurrent }, Note: func(r *Result) string {
			const what = "of the pull that asks most of the pack"
			if rated := r.Build.Battery.ContinuousCurrent(); quantity.Finite(rated) {
				return fmt.Sprintf("%s, which is rated for %.1f A", what, rated)
			}
			return what
		}},
		{Info: figure.Info{
			Name: "pull_rms_current", Label: "pull, RMS current", Group: g, Kind: quantity.Current, Unit: "A", Digits: 3, Better: figure.Lower,
			Meaning: "what heats, over the pull that heats most",
		}, Value: func(r *Result) float64 { return r.PullRMS }},
		{Info: figure.Info{
			Name: "plan_current_peak", JSON: "current_peak_a", Label: "current, peak", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4, Better: figure.Lower,
			Meaning: "largest battery current of the plan",
		}, Value: func(r *Result) float64 { return r.PeakCurrent }, Note: func(*Result) string { return "" }},
		{Info: figure.Info{
			Name: "duration", Label: "duration", Group: g, Kind: quantity.Time, Unit: "s", Digits: 4, Quiet: true,
			Meaning: "of pulls, coasting included, and pauses",
		}, Value: func(r *Result) float64 { return r.Duration }},
	}
}

func magnetsAndFuse() figure.List[*Result] {
	const magnets, fuse = "magnets", "fuse"
	return figure.List[*Result]{
		{Info: figure.Info{
			Name: "remanence_lost", Label: "remanence lost", Group: magnets, Kind: quantity.Share, Unit: "%", Digits: 2, Better: figure.Lower,
			Meaning: "for as long as the can is as hot as at its peak",
		}, Value: func(r *Result) float64 { return r.Remanence }},
		{Info: figure.Info{
			Name: "plan_demagnetisation_margin", JSON: "demagnetisation_margin", Label: "demagnetisation margin", Group: magnets, Kind: quantity.Share, Unit: "%", Digits: 3, Better: figure.Higher,
			Meaning: "of coercivity left at the peak current, the magnets as warm as then",
		}, Value: func(r *Result) float64 { return r.DemagnetisationMargin }},
		{Info: figure.Info{
			Name: "fuse_start_share", Label: "a start from rest", Group: fuse, Kind: quantity.Share, Unit: "%", Digits: 2, Better: figure.Lower,
			Meaning: "of the melting integral, its inrush included",
		}, Value: func(r *Result) float64 { return r.InrushShare }},
		{Info: figure.Info{
			Name: "fuse_share", Label: "most in the plan", Group: fuse, Kind: quantity.Share, Unit: "%", Digits: 2, Better: figure.Lower,
			Meaning: "bursts and starts in a row, less what it forgets in between",
		}, Value: func(r *Result) float64 { return r.FuseShare }},
	}
}

func switching() figure.List[*Result] {
	const g = "switch"
	of := func(get func(*Switching) float64) func(*Result) float64 {
		return func(r *Result) float64 { return get(&r.Switching) }
	}
	return figure.List[*Result]{
		{Info: figure.Info{
			Name: "switch_voltage", Label: "voltage, closed", Group: g, Kind: quantity.Voltage, Unit: "mV", Digits: 3, Better: figure.Lower,
			Meaning: "at the peak current",
		}, Value: of(func(s *Switching) float64 { return s.Voltage })},
		{Info: figure.Info{
			Name: "melting_voltage", Label: "melting voltage", Group: g, Kind: quantity.Voltage, Unit: "mV", Digits: 3, Better: figure.Higher,
			Meaning: "at which the metal melts in the spot",
		}, Value: of(func(s *Switching) float64 { return s.Melting })},
		{Info: figure.Info{
			Name: "switch_hottest", Label: "spot or junction, hottest", Group: g, Kind: quantity.Temperature, Unit: "°C", Digits: 4, Better: figure.Lower,
			Meaning: "where the current goes through, in the hottest round",
		}, Value: of(func(s *Switching) float64 { return s.Hottest })},
		{Info: figure.Info{
			Name: "breaks", Label: "breaks", Group: g, Kind: quantity.Count, Digits: 6, Better: figure.Lower,
			Meaning: "of a current that still flowed",
		}, Value: of(func(s *Switching) float64 { return float64(s.Breaks) })},
		{Info: figure.Info{
			Name: "break_current", Label: "current, broken", Group: g, Kind: quantity.Current, Unit: "A", Digits: 3, Better: figure.Lower,
			Meaning: "at most",
		}, Value: of(func(s *Switching) float64 { return s.BreakCurrent })},
		{Info: figure.Info{
			Name: "break_energy", Label: "break energy", Group: g, Kind: quantity.Energy, Unit: "mJ", Digits: 3, Better: figure.Lower,
			Meaning: "in the motor's inductance then, at most",
		}, Value: of(func(s *Switching) float64 { return s.BreakEnergy })},
		{Info: figure.Info{
			Name: "arc_energy", Label: "arc", Group: g, Kind: quantity.Energy, Unit: "mJ", Digits: 3, Better: figure.Lower,
			Meaning: "largest energy of an arc; infinite where one stands",
		}, Value: of(func(s *Switching) float64 { return s.Arc })},
		{Info: figure.Info{
			Name: "arc_drive", Label: "arc, driven by", Group: g, Kind: quantity.Voltage, Unit: "V", Digits: 3, Better: figure.Lower,
			Meaning: "largest voltage that would go on driving a current through an arc",
		}, Value: of(func(s *Switching) float64 { return s.Drive })},
		{Info: figure.Info{
			Name: "arc_voltage", Label: "arc, stands from", Group: g, Kind: quantity.Voltage, Unit: "V", Digits: 3, Better: figure.Higher,
			Meaning: "least voltage of an arc of the metal",
		}, Value: of(func(s *Switching) float64 { return s.ArcVoltage })},
		{Info: figure.Info{
			Name: "plan_brake_current", JSON: "brake_current_a", Label: "brake current", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4, Better: figure.Lower,
			Meaning: "largest, through the short",
		}, Value: of(func(s *Switching) float64 { return s.Brake })},
		{Info: figure.Info{
			Name: "switch_conduction", Label: "heat of the closed switch", Group: g, Kind: quantity.Energy, Unit: "J", Digits: 4, Better: figure.Lower, Quiet: true,
			Meaning: "what the resistance of the closed switch turns into heat",
		}, Value: of(func(s *Switching) float64 { return s.Conduction })},
		{Info: figure.Info{
			Name: "switch_loss", Label: "heat of the switch", Group: g, Kind: quantity.Energy, Unit: "J", Digits: 4, Better: figure.Lower, Quiet: true,
			Meaning: "all that the switch turns into heat",
		}, Value: of(func(s *Switching) float64 { return s.Loss })},
	}
}

func books() figure.List[*Result] {
	const g = "where the heat goes"
	return figure.List[*Result]{
		{Info: figure.Info{
			Name: "heat_in", Label: "from the rounds", Group: g, Kind: quantity.Energy, Unit: "J", Digits: 4, Better: figure.Lower,
			Meaning: "winding, brushes, motor drag, pack, leads, connectors, switch",
		}, Value: func(r *Result) float64 { return r.Balance.In }},
		{Info: figure.Info{
			Name: "heat_off", Label: "given off", Group: g, Kind: quantity.Energy, Unit: "J", Digits: 4,
			Meaning: "to the surroundings",
		}, Value: func(r *Result) float64 { return r.Balance.Off }, Note: func(*Result) string { return "" }},
		{Info: figure.Info{
			Name: "heat_stored", Label: "still in the parts", Group: g, Kind: quantity.Energy, Unit: "J", Digits: 4,
			Meaning: "at the end of the plan",
		}, Value: func(r *Result) float64 { return r.Balance.Stored }, Note: func(*Result) string { return "" }},
	}
}

// ofPart are the figures of one part over the plan.
func ofPart(part string) figure.List[*Result] {
	of := func(get func(*Part) float64) func(*Result) float64 {
		return func(r *Result) float64 { p := r.Part(part); return get(&p) }
	}
	const g = "how hot"
	return figure.List[*Result]{
		{Info: figure.Info{
			Name: part + "_start", Label: part + ", at the start", Group: g, Kind: quantity.Temperature, Unit: "°C", Digits: 3,
			Meaning: "temperature of the " + part + " before the first round",
		}, Value: of(func(p *Part) float64 { return p.Start })},
		{Info: figure.Info{
			Name: part + "_peak", Label: part + ", hottest", Group: g, Kind: quantity.Temperature, Unit: "°C", Digits: 4, Better: figure.Lower,
			Meaning: "highest temperature of the " + part + " in the plan",
		}, Value: of(func(p *Part) float64 { return p.Peak })},
		{Info: figure.Info{
			Name: part + "_peak_at", Label: part + ", hottest after", Group: g, Kind: quantity.Time, Unit: "s", Digits: 4,
			Meaning: "when that was reached first",
		}, Value: of(func(p *Part) float64 { return p.PeakAt })},
		{Info: figure.Info{
			Name: part + "_limit", Label: part + ", limit", Group: g, Kind: quantity.Temperature, Unit: "°C", Digits: 3, Better: figure.Higher,
			Meaning: "what the " + part + " stands",
		}, Value: of(func(p *Part) float64 { return p.Limit })},
		{Info: figure.Info{
			Name: part + "_limit_at", Label: part + ", limit reached after", Group: g, Kind: quantity.Time, Unit: "s", Digits: 4, Better: figure.Higher,
			Meaning: "when the limit was reached first",
		}, Value: of(func(p *Part) float64 { return p.LimitAt })},
		{Info: figure.Info{
			Name: part + "_rounds_to_limit", Label: part + ", limit in round", Group: g, Kind: quantity.Number, Digits: 6, Better: figure.Higher,
			Meaning: "the round that reached the limit, or the last one before",
		}, Value: of(func(p *Part) float64 { return p.RoundsToLimit })},
	}
}
