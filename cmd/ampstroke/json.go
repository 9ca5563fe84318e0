package main

import (
	"encoding/json"
	"io"
	"math"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/motor"
)

// figure is a number in JSON; NaN is null.
type figure float64

// MarshalJSON implements [json.Marshaler].
func (f figure) MarshalJSON() ([]byte, error) {
	if math.IsNaN(float64(f)) || math.IsInf(float64(f), 0) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(f))
}

// member is one key of an object that keeps its order.
type member struct {
	key   string
	value any
}

type object []member

// MarshalJSON implements [json.Marshaler].
func (o object) MarshalJSON() ([]byte, error) {
	b := []byte{'{'}
	for i, m := range o {
		if i > 0 {
			b = append(b, ',')
		}
		key, err := json.Marshal(m.key)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(m.value)
		if err != nil {
			return nil, err
		}
		b = append(append(append(b, key...), ':'), value...)
	}
	return append(b, '}'), nil
}

func printJSON(w io.Writer, v any) error {
	text, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}

func cycleJSON(r *cycle.Result, verdict []cycle.Verdict, found finding.List, assumed []buildfile.Assumption) object {
	s := &r.Summary
	f := func(v float64) figure { return figure(v) }
	var phase, second any
	if r.Status == cycle.Once {
		phase, second = stopPhase(r.Pull), r.Pull.Extra() > 0
	}
	o := object{
		{"format", 1},
		{"build", r.Build.Name},
		{"mode", string(r.Build.Trigger.Mode)},
		{"outcome", r.Status.String()},
		{"rate_of_fire_hz", f(s.RateOfFire)},
		{"period_s", f(s.Period)},
		{"release_time_s", f(s.ReleaseTime)},
		{"trigger_delay_s", f(s.TriggerDelay)},
		{"free_time_s", f(s.FreeTime)},
		{"time_to_home_s", f(s.TimeToHome)},
		{"pme_margin_s", f(s.PMEMargin)},
		{"pme_rate_of_fire_hz", f(s.PMERateOfFire)},
		{"muzzle_velocity_m_s", f(s.MuzzleVelocity)},
		{"muzzle_energy_j", f(s.MuzzleEnergy)},
		{"swept_volume_m3", f(s.SweptVolume)},
		{"barrel_volume_m3", f(s.BarrelVolume)},
		{"piston_impact_m_s", f(s.PistonImpact)},
		{"stroke_m", f(s.Stroke)},
		{"spring_energy_j", f(s.SpringEnergy)},
		{"spring_peak_force_n", f(s.SpringPeakForce)},
		{"current_peak_a", f(s.CurrentPeak)},
		{"current_mean_a", f(s.CurrentMean)},
		{"current_rms_a", f(s.CurrentRMS)},
		{"inrush_a", f(s.Inrush)},
		{"pack_voltage_min_v", f(s.PackVoltageMin)},
		{"charge_per_shot_c", f(s.ChargePerShot)},
		{"shots_per_charge", f(s.ShotsPerCharge)},
		{"overspin_rad", f(s.Overspin)},
		{"stop_angle_rad", f(s.StopAngle)},
		{"stop_phase", phase},
		{"time_to_rest_s", f(s.TimeToRest)},
		{"stall_angle_rad", f(s.StallAngle)},
		{"stall_current_a", f(s.StallCurrent)},
		{"stall_time_s", f(s.StallTime)},
		{"second_shot", second},
		{"overall_efficiency", f(s.OverallEfficiency)},
		{"release_speed_m_s", f(s.ReleaseSpeed)},
		{"engagement_speed_m_s", f(s.EngagementSpeed)},
		{"engagement_travel_m", f(s.EngagementTravel)},
		{"engagement_share", f(s.EngagementShare)},
		{"motor_heat_w", f(s.MotorHeat)},
		{"demagnetisation_margin", f(s.DemagnetisationMargin)},
		{"flight", flightJSON(r.Flight)},
		{"pull", pullJSON(r.Pull)},
		{"motor", constantsJSON(&r.Motor)},
		{"ledger_j", ledgerJSON(&r.Ledger)},
	}
	verdicts := []object{}
	for _, v := range verdict {
		var ok any
		if v.Outcome != cycle.NoFigure {
			ok = v.Outcome == cycle.Met
		}
		verdicts = append(verdicts, object{
			{"what", v.Figure}, {"value", f(v.Value)}, {"min", f(v.Min)}, {"max", f(v.Max)}, {"ok", ok},
		})
	}
	o = append(o, member{"verdict", verdicts}, member{"warnings", warningsJSON(r.Warnings)})
	if found != nil {
		o = append(o, member{"findings", findingsJSON(found)})
	}
	o = append(o, member{"cautions", cautions()})
	if assumed != nil {
		list := []object{}
		for _, a := range assumed {
			list = append(list, object{{"key", a.Path}, {"value", a.Text}, {"why", a.Why}})
		}
		o = append(o, member{"assumed", list})
	}
	return o
}

// pullJSON is a pull that the cut-off ends, null without one.
func pullJSON(p *cycle.Pull) any {
	if p == nil {
		return nil
	}
	shots := []object{}
	for _, s := range p.Releases {
		f := &s.Flight.Summary
		shots = append(shots, object{
			{"release_s", figure(s.Release)}, {"muzzle_s", figure(s.Muzzle)},
			{"muzzle_velocity_m_s", figure(f.MuzzleVelocity)}, {"time_to_home_s", figure(f.TimeToHome)},
		})
	}
	return object{
		{"rounds", p.Rounds}, {"shots", shots}, {"opened_s", figure(p.Opened)}, {"rest_s", figure(p.Rest)},
		{"stop_angle_rad", figure(p.StopAngle)}, {"stop_phase", stopPhase(p)}, {"overspin_rad", figure(p.Overspin)},
		{"spring_left_j", figure(p.SpringLeft)}, {"brake_current_a", figure(p.BrakeCurrent)}, {"charge_c", figure(p.Charge)},
		{"ledger_j", ledgerJSON(&p.Ledger)},
	}
}

// flightJSON is how the steady cycle's flight ended, null without one.
func flightJSON(r *flight.Result) any {
	if r == nil {
		return nil
	}
	f := &r.Summary
	return object{
		{"status", r.Status.String()}, {"time_to_muzzle_s", figure(f.TimeToMuzzle)}, {"peak_pressure_pa", figure(f.PeakPressure)},
		{"peak_barrel_pressure_pa", figure(f.PeakBarrelPressure)}, {"duration_s", figure(f.Duration)},
	}
}

func constantsJSON(c *motor.Constants) object {
	return object{
		{"ke_v_s", figure(c.Ke)},
		{"resistance_ohm", figure(c.Resistance)},
		{"inductance_h", figure(c.Inductance)},
		{"inertia_kg_m2", figure(c.Inertia)},
		{"tooth_flux_wb", figure(c.CoilFlux)},
		{"gap_flux_density_t", figure(c.GapFluxDensity)},
		{"slot_fill", figure(c.SlotFill)},
		{"commutation", figure(c.Reversal)},
	}
}

func ledgerJSON(l *cycle.Ledger) object {
	o := object{{"battery", figure(l.Battery)}}
	for _, r := range l.Rows() {
		o = append(o, member{r.Name, figure(r.Energy)})
	}
	return append(o, member{"residual", figure(l.Residual)})
}
