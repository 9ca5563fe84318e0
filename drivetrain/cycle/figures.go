package cycle

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/quantity"
)

// Figures lists the figures of a cycle. The list is the caller's.
func Figures() figure.List[*Result] { return slices.Clone(figures()) }

var figures = sync.OnceValue(func() figure.List[*Result] {
	of := func(get func(*Summary) float64) func(*Result) float64 {
		return func(r *Result) float64 { return get(&r.Summary) }
	}
	ofPull := func(get func(*Pull) float64) func(*Result) float64 {
		return func(r *Result) float64 {
			if r.Pull == nil {
				return math.NaN()
			}
			return get(r.Pull)
		}
	}
	ofFlight := func(get func(*flight.Summary) float64) func(*Result) float64 {
		return func(r *Result) float64 {
			if r.Flight == nil {
				return math.NaN()
			}
			return get(&r.Flight.Summary)
		}
	}
	return figure.List[*Result].Keyed(slices.Concat(
		firing(of),
		afterTheShot(ofPull),
		currents(of),
		shot(of, ofFlight),
		springAndAir(of),
		figure.List[*Result]{
			{Info: figure.Info{
				Name: "demagnetisation_margin", Label: "demagnetisation margin", Group: "motor", Kind: quantity.Share, Unit: "%", Digits: 3, Better: figure.Higher,
				Meaning: "of coercivity left at the inrush, or at the brake's current",
			}, Value: of(func(s *Summary) float64 { return s.DemagnetisationMargin })},
			{Info: figure.Info{
				Name: "motor_heat", Label: "motor heat", Group: "motor", Kind: quantity.Power, Unit: "W", Digits: 4, Better: figure.Lower, Steady: true,
				Meaning: "in winding, brushes and by drag, while it fires",
			}, Value: of(func(s *Summary) float64 { return s.MotorHeat })},
		},
	))
})

// says is a note that is the same for every result.
func says(text string) func(*Result) string { return func(*Result) string { return text } }

func firing(of func(func(*Summary) float64) func(*Result) float64) figure.List[*Result] {
	const g = "firing"
	return figure.List[*Result]{
		{Info: figure.Info{
			Name: "rate_of_fire", Label: "rate of fire", Group: g, Kind: quantity.Rate, Unit: "/s", Digits: 4, Better: figure.Higher, Steady: true,
			Meaning:  "rounds a second in the steady cycle",
			Measured: "record a burst with a telephone and count the clacks over a few seconds; a chronograph with two light gates gives it as well",
		}, Value: of(func(s *Summary) float64 { return s.RateOfFire })},
		{Info: figure.Info{
			Name: "period", Label: "period", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4, Better: figure.Lower, Steady: true,
			Meaning:  "from pickup to pickup",
			Measured: "one over the rate of fire",
		}, Value: of(func(s *Summary) float64 { return s.Period })},
		{Info: figure.Info{
			Name: "trigger_delay", Label: "trigger delay", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4, Better: figure.Lower,
			Meaning:  "from closing the switch to the muzzle, first shot",
			Measured: "record trigger click and shot close to the gun and read the time between the two in a sound editor",
		}, Value: of(func(s *Summary) float64 { return s.TriggerDelay })},
		{Info: figure.Info{
			Name: "free_time", Label: "free time", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4, Steady: true,
			Meaning: "from release to the next pickup: what the piston has to come home",
		}, Value: of(func(s *Summary) float64 { return s.FreeTime })},
		{Info: figure.Info{
			Name: "time_to_home", Label: "time to home", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4, Better: figure.Lower,
			Meaning:  "from release until the rack is clear of the next tooth",
			Measured: "film the piston at a thousand pictures a second through an open shell; count the pictures",
		}, Value: of(func(s *Summary) float64 { return s.TimeToHome })},
		{Info: figure.Info{
			Name: "pme_margin", Label: "PME margin", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 3, Better: figure.Higher, Steady: true,
			Meaning:  "free time less time to home; below 0 is premature engagement",
			Measured: "not to be had by hand; a slow-motion film through an open shell shows it roughly",
		}, Value: of(func(s *Summary) float64 { return s.PMEMargin }), Note: says("between the two; below 0 is premature engagement")},
		{Info: figure.Info{
			Name: "pme_rate_of_fire", Label: "PME rate of fire", Group: g, Kind: quantity.Rate, Unit: "/s", Digits: 4, Better: figure.Higher, Steady: true,
			Meaning:  "where the margin would be used up",
			Measured: "reckoned only: a gun that gets there strips its rack",
		}, Value: of(func(s *Summary) float64 { return s.PMERateOfFire })},
		{Info: figure.Info{
			Name: "engagement_speed", Label: "PME closing speed", Group: g, Kind: quantity.Velocity, Unit: "m/s", Digits: 3, Better: figure.Lower, Steady: true,
			Meaning: "of sector tooth and rack, would they meet",
		}, Value: of(func(s *Summary) float64 { return s.EngagementSpeed })},
		{Info: figure.Info{
			Name: "engagement_travel", Label: "PME place", Group: g, Kind: quantity.Length, Unit: "mm", Digits: 3, Better: figure.Lower, Steady: true,
			Meaning: "of the piston from home then",
		}, Value: of(func(s *Summary) float64 { return s.EngagementTravel })},
		{Info: figure.Info{
			Name: "engagement_share", Label: "PME stroke left", Group: g, Kind: quantity.Share, Unit: "%", Digits: 3, Better: figure.Lower, Steady: true,
			Meaning: "of the stroke",
		}, Value: of(func(s *Summary) float64 { return s.EngagementShare })},
		{Info: figure.Info{
			Name: "release_time", Label: "first release", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4, Better: figure.Lower,
			Meaning: "after the switch closes, from rest",
		}, Value: of(func(s *Summary) float64 { return s.ReleaseTime })},
		{Info: figure.Info{
			Name: "release_speed", Label: "rack speed at release", Group: g, Kind: quantity.Velocity, Unit: "m/s", Digits: 4, Quiet: true,
			Meaning: "the rack's when it is let go, rearwards",
		}, Value: of(func(s *Summary) float64 { return s.ReleaseSpeed })},
		{Info: figure.Info{
			Name: "stall_angle", Label: "stall angle", Group: g, Kind: quantity.Angle, Unit: "°", Digits: 4,
			Meaning: "of the sector, where the shaft comes to rest",
		}, Value: of(func(s *Summary) float64 { return s.StallAngle })},
		{Info: figure.Info{
			Name: "stall_time", Label: "stall time", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4,
			Meaning: "after the switch closes",
		}, Value: of(func(s *Summary) float64 { return s.StallTime })},
	}
}

func afterTheShot(of func(func(*Pull) float64) func(*Result) float64) figure.List[*Result] {
	const g = "after the shot"
	// where tells of a pull what a table says beside its figure.
	where := func(say func(*Pull) string) func(*Result) string {
		return func(r *Result) string {
			if r.Pull == nil {
				return ""
			}
			return say(r.Pull)
		}
	}
	return figure.List[*Result]{
		{Info: figure.Info{
			Name: "releases", Label: "shots fired", Group: g, Kind: quantity.Count, Digits: 1,
			Meaning: "by the pull that the cut-off ends",
		}, Value: of(func(p *Pull) float64 { return float64(len(p.Releases)) }), Note: where(func(p *Pull) string { return fmt.Sprintf("for %d asked", p.Rounds) })},
		{Info: figure.Info{
			Name: "switch_opens", Label: "switch opens", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4,
			Meaning: "after it closed, by the cut-off",
		}, Value: of(func(p *Pull) float64 { return p.Opened })},
		{Info: figure.Info{
			Name: "time_to_rest", Label: "time to rest", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4, Better: figure.Lower,
			Meaning: "from closing the switch until the train stands",
		}, Value: of(func(p *Pull) float64 { return p.Rest })},
		{Info: figure.Info{
			Name: "stop_angle", Label: "stop angle", Group: g, Kind: quantity.Angle, Unit: "°", Digits: 4,
			Meaning: "of the sector, where the train stands after the shot",
		}, Value: of(func(p *Pull) float64 { return p.StopAngle }), Note: where(func(p *Pull) string { return "of the sector, in the " + p.Phase() + " phase" })},
		{Info: figure.Info{
			Name: "overspin", Label: "overspin", Group: g, Kind: quantity.Angle, Unit: "°", Digits: 4, Better: figure.Lower,
			Meaning: "turned after the switch opened",
		}, Value: of(func(p *Pull) float64 { return p.Overspin })},
		{Info: figure.Info{
			Name: "spring_left", Label: "spring left", Group: g, Kind: quantity.Energy, Unit: "J", Digits: 3, Better: figure.Lower,
			Meaning: "held by the latch when the train stands",
		}, Value: of(func(p *Pull) float64 { return p.SpringLeft }), Note: where(func(p *Pull) string {
			if p.SpringLeft == 0 {
				return ""
			}
			return "held by the latch: fire it off before the shell is opened"
		})},
		{Info: figure.Info{
			Name: "brake_current", Label: "brake current", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4, Better: figure.Lower,
			Meaning: "largest, through the short",
		}, Value: of(func(p *Pull) float64 { return p.BrakeCurrent })},
		{Info: figure.Info{
			Name: "pull_charge", Label: "charge of the pull", Group: g, Kind: quantity.Charge, Unit: "mAh", Digits: 3, Better: figure.Lower, Quiet: true,
			Meaning: "what the battery gives from closing the switch to rest",
		}, Value: of(func(p *Pull) float64 { return p.Charge })},
	}
}

// ofWhole says of a single's figures that they are those of the whole pull, however many
// shots it fired.
func ofWhole(text string) func(*Result) string {
	return func(r *Result) string {
		switch {
		case r.Status != Once:
			return text
		case text == "":
			return "of the whole pull"
		}
		return text + ", of the whole pull"
	}
}

func currents(of func(func(*Summary) float64) func(*Result) float64) figure.List[*Result] {
	const g = "current and voltage"
	return figure.List[*Result]{
		{Info: figure.Info{
			Name: "current_mean", Label: "current, mean", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4, Better: figure.Lower, Steady: true,
			Meaning: "at the battery over the steady cycle",
		}, Value: of(func(s *Summary) float64 { return s.CurrentMean })},
		{Info: figure.Info{
			Name: "current_rms", Label: "current, RMS", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4, Better: figure.Lower, Steady: true,
			Meaning:  "what heats",
			Measured: "clamp meter with true effective values around one lead, in a long burst",
		}, Value: of(func(s *Summary) float64 { return s.CurrentRMS })},
		{Info: figure.Info{
			Name: "current_peak", Label: "current, peak", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4, Better: figure.Lower,
			Meaning: "of the steady cycle",
		}, Value: of(func(s *Summary) float64 { return s.CurrentPeak }), Hidden: func(r *Result) bool { return r.Status != Steady }}, // the inrush again
		{Info: figure.Info{
			Name: "inrush", Label: "inrush", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4, Better: figure.Lower,
			Meaning:  "peak of the first shot",
			Measured: "clamp meter with a peak hold, or a millivolt reading over a known piece of lead on an oscilloscope",
		}, Value: of(func(s *Summary) float64 { return s.Inrush })},
		{Info: figure.Info{
			Name: "stall_current", Label: "stall current", Group: g, Kind: quantity.Current, Unit: "A", Digits: 4, Better: figure.Lower,
			Meaning: "flows for as long as the switch stays closed",
		}, Value: of(func(s *Summary) float64 { return s.StallCurrent })},
		{Info: figure.Info{
			Name: "pack_voltage_min", Label: "pack voltage, least", Group: g, Kind: quantity.Voltage, Unit: "V", Digits: 4, Better: figure.Higher,
			Meaning: "under load",
		}, Value: of(func(s *Summary) float64 { return s.PackVoltageMin })},
		{Info: figure.Info{
			Name: "charge_per_shot", Label: "charge a shot", Group: g, Kind: quantity.Charge, Unit: "mAh", Digits: 3, Better: figure.Lower, Whole: true,
			Meaning: "what a steady shot takes from the pack",
		}, Value: of(func(s *Summary) float64 { return s.ChargePerShot }), Note: ofWhole("")},
		{Info: figure.Info{
			Name: "shots_per_charge", Label: "shots a charge", Group: g, Kind: quantity.Number, Digits: 3, Better: figure.Higher, Whole: true,
			Meaning:  "such shots from a full pack until its reserve is touched",
			Measured: "count the rounds between two full charges and what the charger puts back",
		}, Value: of(func(s *Summary) float64 { return s.ShotsPerCharge }), Note: func(r *Result) string {
			return fmt.Sprintf("from full, %.0f %% left in the pack", 100*r.Build.Battery.Reserve)
		}},
	}
}

func shot(of func(func(*Summary) float64) func(*Result) float64, ofFlight func(func(*flight.Summary) float64) func(*Result) float64) figure.List[*Result] {
	const g = "shot"
	return figure.List[*Result]{
		{Info: figure.Info{
			Name: "muzzle_velocity", Label: "muzzle velocity", Group: g, Kind: quantity.Velocity, Unit: "m/s", Digits: 4, Better: figure.Higher,
			Meaning:  "of the pellet",
			Measured: "ten shots over a chronograph with the pellet that the file names; the mean",
		}, Value: of(func(s *Summary) float64 { return s.MuzzleVelocity }), Note: func(r *Result) string {
			return fmt.Sprintf("%.1f ft/s, with %.2f g", r.Summary.MuzzleVelocity/quantity.Foot, 1e3*r.Build.Pellet.Mass)
		}},
		{Info: figure.Info{
			Name: "muzzle_energy", Label: "muzzle energy", Group: g, Kind: quantity.Energy, Unit: "J", Digits: 4, Better: figure.Higher,
			Meaning:  "local law and club rules say how much is allowed",
			Measured: "half the pellet's mass times the square of the chronograph's velocity",
		}, Value: of(func(s *Summary) float64 { return s.MuzzleEnergy })},
		{Info: figure.Info{
			Name: "piston_impact", Label: "piston impact", Group: g, Kind: quantity.Velocity, Unit: "m/s", Digits: 4, Better: figure.Lower,
			Meaning: "when it first arrives home",
		}, Value: of(func(s *Summary) float64 { return s.PistonImpact })},
		{Info: figure.Info{
			Name: "time_to_muzzle", Label: "time to muzzle", Group: g, Kind: quantity.Time, Unit: "ms", Digits: 4, Better: figure.Lower, Quiet: true,
			Meaning: "from release until the pellet leaves the barrel",
		}, Value: ofFlight(func(s *flight.Summary) float64 { return s.TimeToMuzzle })},
		{Info: figure.Info{
			Name: "peak_pressure", Label: "cylinder pressure, peak", Group: g, Kind: quantity.Pressure, Unit: "kPa", Digits: 4, Better: figure.Lower, Quiet: true,
			Meaning: "absolute, in the cylinder",
		}, Value: ofFlight(func(s *flight.Summary) float64 { return s.PeakPressure })},
		{Info: figure.Info{
			Name: "peak_barrel_pressure", Label: "barrel pressure, peak", Group: g, Kind: quantity.Pressure, Unit: "kPa", Digits: 4, Better: figure.Lower, Quiet: true,
			Meaning: "absolute, behind the pellet",
		}, Value: ofFlight(func(s *flight.Summary) float64 { return s.PeakBarrelPressure })},
		{Info: figure.Info{
			Name: "overall_efficiency", Label: "overall efficiency", Group: g, Kind: quantity.Share, Unit: "%", Digits: 3, Better: figure.Higher, Whole: true,
			Meaning:  "pellet energy over battery energy",
			Measured: "muzzle energy over voltage times charge of a shot, the charge from what the charger puts back after a known number of shots",
		}, Value: of(func(s *Summary) float64 { return s.OverallEfficiency }), Note: ofWhole("pellet energy over battery energy")},
	}
}

func springAndAir(of func(func(*Summary) float64) func(*Result) float64) figure.List[*Result] {
	const g = "spring and air"
	return figure.List[*Result]{
		{Info: figure.Info{
			Name: "stroke", Label: "stroke", Group: g, Kind: quantity.Length, Unit: "mm", Digits: 4,
			Meaning: "of the piston",
		}, Value: of(func(s *Summary) float64 { return s.Stroke })},
		{Info: figure.Info{
			Name: "spring_peak_force", Label: "spring force, peak", Group: g, Kind: quantity.Force, Unit: "N", Digits: 4, Better: figure.Lower,
			Meaning: "at release",
		}, Value: of(func(s *Summary) float64 { return s.SpringPeakForce })},
		{Info: figure.Info{
			Name: "spring_energy", Label: "spring energy", Group: g, Kind: quantity.Energy, Unit: "J", Digits: 4,
			Meaning: "gained over the stroke",
		}, Value: of(func(s *Summary) float64 { return s.SpringEnergy })},
		{Info: figure.Info{
			Name: "swept_volume", Label: "swept volume", Group: g, Kind: quantity.Volume, Unit: "cm3", Digits: 4,
			Meaning: "pushed once the port has shut",
		}, Value: of(func(s *Summary) float64 { return s.SweptVolume })},
		{Info: figure.Info{
			Name: "barrel_volume", Label: "barrel volume", Group: g, Kind: quantity.Volume, Unit: "cm3", Digits: 4,
			Meaning: "the room that the pellet's travel sweeps",
		}, Value: of(func(s *Summary) float64 { return s.BarrelVolume }), Note: says("")},
	}
}
