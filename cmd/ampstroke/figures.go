package main

import (
	"fmt"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain/cycle"
)

// figureRow is a figure of a cycle as tables show it.
type figureRow struct {
	key, name string // key is that of the JSON output, "" where it has none
	target    string // what a target calls it, "" if none can ask for it
	value     func(*cycle.Result) float64
	scale     float64 // of the unit shown, in one SI unit
	digits    int
	unit      string
	note      func(*cycle.Result) string
}

// text shows the figure of a result, "" where there is none.
func (f *figureRow) text(r *cycle.Result) string { return sig(f.scale*f.value(r), f.digits, f.unit) }

// ofWhole tells that a figure is that of the whole pull in a single, where it is that of one
// steady shot in automatic: the two say different things.
func (f *figureRow) ofWhole() bool {
	return slices.Contains([]string{"charge_per_shot_c", "shots_per_charge", "overall_efficiency"}, f.key)
}

// figureGroup is figures below one heading.
type figureGroup struct {
	heading string
	rows    []figureRow
}

// foot in metres, by definition.
const foot = 0.3048

// stopPhase says in which phase a pull ends.
func stopPhase(p *cycle.Pull) string {
	if p.StopsInPull {
		return "pull"
	}
	return "free"
}

// cycleFigures lists what tables show of a cycle.
func cycleFigures() []figureGroup {
	of := func(get func(*cycle.Summary) float64) func(*cycle.Result) float64 {
		return func(r *cycle.Result) float64 { return get(&r.Summary) }
	}
	ofPull := func(get func(*cycle.Pull) float64) func(*cycle.Result) float64 {
		return func(r *cycle.Result) float64 {
			if r.Pull == nil {
				return math.NaN()
			}
			return get(r.Pull)
		}
	}
	says := func(text string) func(*cycle.Result) string { return func(*cycle.Result) string { return text } }
	// A single's are those of the whole pull, however many shots it fired.
	ofWhole := func(text string) func(*cycle.Result) string {
		return func(r *cycle.Result) string {
			switch {
			case r.Status != cycle.Once:
				return text
			case text == "":
				return "of the whole pull"
			}
			return text + ", of the whole pull"
		}
	}
	const ms, degrees = 1e3, 180 / math.Pi
	return []figureGroup{
		{"firing", []figureRow{
			{"rate_of_fire_hz", "rate of fire", "rate_of_fire", of(func(s *cycle.Summary) float64 { return s.RateOfFire }), 1, 4, "/s", says("rounds a second in the steady cycle")},
			{"period_s", "period", "", of(func(s *cycle.Summary) float64 { return s.Period }), ms, 4, "ms", says("from pickup to pickup")},
			{"trigger_delay_s", "trigger delay", "trigger_delay", of(func(s *cycle.Summary) float64 { return s.TriggerDelay }), ms, 4, "ms", says("from closing the switch to the muzzle, first shot")},
			{"free_time_s", "free time", "", of(func(s *cycle.Summary) float64 { return s.FreeTime }), ms, 4, "ms", says("from release to the next pickup: what the piston has to come home")},
			{"time_to_home_s", "time to home", "time_to_home", of(func(s *cycle.Summary) float64 { return s.TimeToHome }), ms, 4, "ms", says("from release until the rack is clear of the next tooth")},
			{"pme_margin_s", "PME margin", "pme_margin", of(func(s *cycle.Summary) float64 { return s.PMEMargin }), ms, 3, "ms", says("between the two; below 0 is premature engagement")},
			{"pme_rate_of_fire_hz", "PME rate of fire", "pme_rate_of_fire", of(func(s *cycle.Summary) float64 { return s.PMERateOfFire }), 1, 4, "/s", says("where the margin would be used up")},
			{"engagement_speed_m_s", "PME closing speed", "", of(func(s *cycle.Summary) float64 { return s.EngagementSpeed }), 1, 3, "m/s", says("of sector tooth and rack, would they meet")},
			{"engagement_travel_m", "PME place", "", of(func(s *cycle.Summary) float64 { return s.EngagementTravel }), ms, 3, "mm", says("of the piston from home then")},
			{"engagement_share", "PME stroke left", "", of(func(s *cycle.Summary) float64 { return s.EngagementShare }), 100, 3, "%", says("of the stroke")},
			{"release_time_s", "first release", "", of(func(s *cycle.Summary) float64 { return s.ReleaseTime }), ms, 4, "ms", says("after the switch closes, from rest")},
			{"stall_angle_rad", "stall angle", "", of(func(s *cycle.Summary) float64 { return s.StallAngle }), degrees, 4, "°", says("of the sector, where the shaft comes to rest")},
			{"stall_time_s", "stall time", "", of(func(s *cycle.Summary) float64 { return s.StallTime }), ms, 4, "ms", says("after the switch closes")},
		}},
		{"after the shot", []figureRow{
			{"releases", "shots fired", "", ofPull(func(p *cycle.Pull) float64 { return float64(len(p.Releases)) }), 1, 1, "", func(r *cycle.Result) string {
				if r.Pull == nil {
					return ""
				}
				return fmt.Sprintf("for %d asked", r.Pull.Rounds)
			}},
			{"switch_opens_s", "switch opens", "", ofPull(func(p *cycle.Pull) float64 { return p.Opened }), ms, 4, "ms", says("after it closed, by the cut-off")},
			{"time_to_rest_s", "time to rest", "", ofPull(func(p *cycle.Pull) float64 { return p.Rest }), ms, 4, "ms", says("from closing the switch until the train stands")},
			{"stop_angle_rad", "stop angle", "", ofPull(func(p *cycle.Pull) float64 { return p.StopAngle }), degrees, 4, "°", func(r *cycle.Result) string {
				if r.Pull == nil {
					return ""
				}
				return "of the sector, in the " + stopPhase(r.Pull) + " phase"
			}},
			{"overspin_rad", "overspin", "", ofPull(func(p *cycle.Pull) float64 { return p.Overspin }), degrees, 4, "°", says("turned after the switch opened")},
			{"spring_left_j", "spring left", "", ofPull(func(p *cycle.Pull) float64 { return p.SpringLeft }), 1, 3, "J", func(r *cycle.Result) string {
				if r.Pull == nil || r.Pull.SpringLeft == 0 {
					return ""
				}
				return "held by the latch: fire it off before the shell is opened"
			}},
			{"brake_current_a", "brake current", "", ofPull(func(p *cycle.Pull) float64 { return p.BrakeCurrent }), 1, 4, "A", says("largest, through the short")},
		}},
		{"current and voltage", []figureRow{
			{"current_mean_a", "current, mean", "", of(func(s *cycle.Summary) float64 { return s.CurrentMean }), 1, 4, "A", says("at the battery over the steady cycle")},
			{"current_rms_a", "current, RMS", "current_rms", of(func(s *cycle.Summary) float64 { return s.CurrentRMS }), 1, 4, "A", says("what heats")},
			{"current_peak_a", "current, peak", "", func(r *cycle.Result) float64 {
				if r.Status != cycle.Steady {
					return math.NaN() // the inrush again
				}
				return r.Summary.CurrentPeak
			}, 1, 4, "A", says("of the steady cycle")},
			{"inrush_a", "inrush", "inrush", of(func(s *cycle.Summary) float64 { return s.Inrush }), 1, 4, "A", says("peak of the first shot")},
			{"stall_current_a", "stall current", "", of(func(s *cycle.Summary) float64 { return s.StallCurrent }), 1, 4, "A", says("flows for as long as the switch stays closed")},
			{"pack_voltage_min_v", "pack voltage, least", "", of(func(s *cycle.Summary) float64 { return s.PackVoltageMin }), 1, 4, "V", says("under load")},
			{"charge_per_shot_c", "charge a shot", "", of(func(s *cycle.Summary) float64 { return s.ChargePerShot }), 1 / 3.6, 3, "mAh", ofWhole("")},
			{"shots_per_charge", "shots a charge", "shots_per_charge", of(func(s *cycle.Summary) float64 { return s.ShotsPerCharge }), 1, 3, "", func(r *cycle.Result) string {
				return fmt.Sprintf("from full, %.0f %% left in the pack", 100*r.Build.Battery.Reserve)
			}},
		}},
		{"shot", []figureRow{
			{"muzzle_velocity_m_s", "muzzle velocity", "muzzle_velocity", of(func(s *cycle.Summary) float64 { return s.MuzzleVelocity }), 1, 4, "m/s", func(r *cycle.Result) string {
				return fmt.Sprintf("%.1f ft/s, with %.2f g", r.Summary.MuzzleVelocity/foot, 1e3*r.Build.Pellet.Mass)
			}},
			{"muzzle_energy_j", "muzzle energy", "muzzle_energy", of(func(s *cycle.Summary) float64 { return s.MuzzleEnergy }), 1, 4, "J", says("local law and club rules say how much is allowed")},
			{"piston_impact_m_s", "piston impact", "", of(func(s *cycle.Summary) float64 { return s.PistonImpact }), 1, 4, "m/s", says("when it first arrives home")},
			{"overall_efficiency", "overall efficiency", "overall_efficiency", of(func(s *cycle.Summary) float64 { return s.OverallEfficiency }), 100, 3, "%", ofWhole("pellet energy over battery energy")},
		}},
		{"spring and air", []figureRow{
			{"stroke_m", "stroke", "", of(func(s *cycle.Summary) float64 { return s.Stroke }), ms, 4, "mm", says("of the piston")},
			{"spring_peak_force_n", "spring force, peak", "", of(func(s *cycle.Summary) float64 { return s.SpringPeakForce }), 1, 4, "N", says("at release")},
			{"spring_energy_j", "spring energy", "", of(func(s *cycle.Summary) float64 { return s.SpringEnergy }), 1, 4, "J", says("gained over the stroke")},
			{"swept_volume_m3", "swept volume", "", of(func(s *cycle.Summary) float64 { return s.SweptVolume }), 1e6, 4, "cm3", says("pushed once the port has shut")},
			{"barrel_volume_m3", "barrel volume", "", of(func(s *cycle.Summary) float64 { return s.BarrelVolume }), 1e6, 4, "cm3", says("")},
		}},
		{"motor", []figureRow{
			{"ke_v_s", "Ke = Kt", "", func(r *cycle.Result) float64 { return r.Motor.Ke }, 1e3, 4, "mV s", says("voltage per rad/s, the same as mN m per A")},
			{"resistance_ohm", "resistance", "", func(r *cycle.Result) float64 { return r.Motor.Resistance }, 1e3, 4, "mohm", says("at the terminals")},
			{"inductance_h", "inductance", "", func(r *cycle.Result) float64 { return r.Motor.Inductance }, 1e6, 4, "uH", says("at the terminals")},
			{"slot_fill", "slot fill", "", func(r *cycle.Result) float64 { return r.Motor.SlotFill }, 100, 3, "%", says("")},
			{"demagnetisation_margin", "demagnetisation margin", "", of(func(s *cycle.Summary) float64 { return s.DemagnetisationMargin }), 100, 3, "%", says("of coercivity left at the inrush, or at the brake's current")},
			{"motor_heat_w", "motor heat", "", of(func(s *cycle.Summary) float64 { return s.MotorHeat }), 1, 4, "W", says("in winding, brushes and by drag, while it fires")},
		}},
	}
}
