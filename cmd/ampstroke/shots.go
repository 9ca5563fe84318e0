package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/quantity"
)

// shotFlags are those of cycle that look closer at the shot, with what they find.
type shotFlags struct {
	flight  string
	pellets string
	match   bool
	delays  string
	pull    string

	masses []float64      // [kg]
	shots  []flight.Trial // of pellets of those masses
	result *flight.Match
	next   *cycle.Result // the shot after a single one
	best   cycle.Response
	chart  *chart.Picture // what --delays draws
}

func (s *shotFlags) add(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&s.flight, "flight", "", "draw pressures, piston and pellet after the release to `FILE` (.png, .svg or .pdf)")
	f.StringVar(&s.pellets, "pellets", "", `velocity and energy with pellets of other masses, such as "0.20 g, 0.25 g"`)
	f.StringVar(&s.delays, "delays", "", "draw the trigger delay over charge, cells and stop angle to `FILE` (.png, .svg or .pdf)")
	f.StringVar(&s.pull, "pull", "", "draw a single shot, or the burst of trigger.rounds, to `FILE` (.png, .svg or .pdf)")
	writes(c, "flight", "delays", "pull")
	f.BoolVar(&s.match, "match", false, "match cylinder and barrel: energy over barrel length and port position; --plot draws that")
}

// most pellets that are flown at once.
const mostPellets = 100

// any tells whether any of the flags is given.
func (s *shotFlags) any() bool {
	return s.flight != "" || s.pellets != "" || s.match || s.delays != "" || s.pull != ""
}

func (s *shotFlags) check() error {
	for _, p := range []struct{ flag, path string }{{"flight", s.flight}, {"delays", s.delays}, {"pull", s.pull}} {
		if p.path == "" {
			continue
		}
		if _, err := chart.Format(p.path); err != nil {
			return bad(fmt.Errorf("--%s: %w", p.flag, err))
		}
	}
	if s.pellets == "" {
		return nil
	}
	parts := strings.Split(s.pellets, ",")
	for i, part := range parts {
		if cut := strings.TrimSpace(part); i+1 < len(parts) && cut != "" && strings.Trim(cut, "0123456789") == "" && parts[i+1] != strings.TrimLeft(parts[i+1], "0123456789") {
			part = cut + "," + parts[i+1] // a decimal comma, which is said
		}
		v, err := quantity.Parse(strings.TrimSpace(part), quantity.Mass)
		if err == nil && !(v.SI >= 1e-5 && v.SI <= 0.1) {
			err = fmt.Errorf("%s is out of range; wanted 0.01 g to 100 g", quantity.Mass.Format(v.SI))
		} else if err == nil && v.Tolerance != 0 {
			err = errors.New("a tolerance has no meaning here; wanted a mass such as 0.20 g")
		}
		if err != nil {
			return bad(fmt.Errorf("--pellets: %w", err))
		}
		s.masses = append(s.masses, v.SI)
	}
	if len(s.masses) > mostPellets {
		return bad(fmt.Errorf("--pellets: %d masses; wanted at most %d", len(s.masses), mostPellets))
	}
	return nil
}

// compute flies what the flags ask for, each released as in the steady cycle; the
// motor doesn't feel which pellet it was.
func (s *shotFlags) compute(ctx context.Context, r *cycle.Result) (err error) {
	if s.pull != "" && (r.Pull == nil || r.Pull.Trace == nil) {
		return bad(errors.New("--pull: there is no pull to draw; wanted trigger.mode single, or trigger.rounds from 1 to 50, and a build that turns"))
	}
	if err := s.trigger(ctx, r); err != nil {
		return err
	}
	if len(s.masses) == 0 && !s.match && s.flight == "" {
		return nil
	}
	if r.Flight == nil {
		return bad(errors.New("--flight, --pellets, --match: the build stalls, or lets no shot go, and has none to look at"))
	}
	settings := r.FlightSettings()
	if s.shots, err = flight.Pellets(ctx, r.Build, settings, s.masses); err != nil {
		return err
	}
	if s.match {
		s.result, err = flight.FindMatch(ctx, r.Build, settings)
	}
	return err
}

// trigger computes what the next shot finds after a single one, and the delays
// that --delays draws.
func (s *shotFlags) trigger(ctx context.Context, r *cycle.Result) (err error) {
	if r.Status == cycle.Once {
		s.next, err = cycle.Simulate(ctx, r.Build, cycle.Settings{Conditions: r.Pull.After})
		if err != nil {
			return err
		}
	}
	if r.Status != cycle.Once && s.delays == "" {
		return nil
	}
	settings := cycle.Settings{Tolerance: 1e-6, Flight: 1e-4} // as much as is shown
	after := settings
	if r.Pull != nil {
		after.Conditions = r.Pull.After
	}
	stops, err := cycle.OverStop(ctx, r.Build, after, cycle.StopAngles(r.Build, 72))
	if err != nil {
		return err
	}
	s.best = cycle.Quickest(stops)
	if s.delays == "" {
		return nil
	}
	var charges []float64
	for i := range 20 {
		charges = append(charges, 0.05*float64(i+1))
	}
	var cells []int
	curves := map[int][]cycle.Response{}
	for n := max(1, r.Build.Battery.Series-1); n <= r.Build.Battery.Series+1; n++ {
		cells = append(cells, n)
		if curves[n], err = cycle.OverCharge(ctx, r.Build, settings, n, charges); err != nil {
			return err
		}
	}
	s.chart, err = chart.Delays(r, cells, curves, stops)
	return err
}

// pictures are those that the flags ask for.
func (s *shotFlags) pictures(r *cycle.Result) []also {
	return []also{
		{path: s.flight, picture: func() (*chart.Picture, error) { return chart.FlightIn(r) }},
		{path: s.delays, picture: func() (*chart.Picture, error) { return s.chart, nil }},
		{path: s.pull, picture: func() (*chart.Picture, error) { return chart.Pull(r) }},
	}
}

func (s *shotFlags) print(w io.Writer, r *cycle.Result) {
	s.printNext(w, r)
	var table [][]string
	for _, p := range s.shots {
		line := []string{quantity.Mass.Format(p.Value), "stays in the barrel", "", "", "", ""}
		if !math.IsNaN(p.Velocity) {
			line = []string{
				quantity.Mass.Format(p.Value), sig(p.Velocity, 4, "m/s"), sig(p.Velocity/quantity.Foot, 4, "ft/s"), sig(p.Energy, 4, "J"),
			}
		}
		line = append(line[:4], or(sig(1e3*p.TimeToHome, 4, "ms"), "never"), or(sig(1e3*(r.Summary.FreeTime-p.TimeToHome), 3, "ms"), "-"))
		table = append(table, line)
	}
	printTable(w, "other pellets, released alike", []string{"mass", "velocity", "", "energy", "time to home", "PME margin"}, table)
	if s.result == nil {
		return
	}
	m := s.result
	last := m.Ports[len(m.Ports)-1].Value
	port := sig(1e3*m.BestPort.Value, 4, "mm")
	if m.BestPort.Value >= last {
		port = "none open"
	}
	now := "none"
	if r.Build.Cylinder.Port != 0 {
		now = quantity.Length.Format(r.Build.Cylinder.Port)
	}
	rows := []row{
		{"swept volume", sig(1e6*m.Swept, 4, "cm3"), "pushed once the port has shut"},
		{"barrel volume", sig(1e6*m.Barrel, 4, "cm3"), ""},
		{"ratio", sig(m.Swept/m.Barrel, 3, "to 1"), "swept over barrel"},
	}
	built := "as built " + now + ": the pellet stays in the barrel"
	if !math.IsNaN(m.Built.Energy) {
		built = fmt.Sprintf("as built %s: %.4g J", now, m.Built.Energy)
	}
	if math.IsNaN(m.BestPort.Energy) {
		rows = append(rows, row{"best port", "none", "no port gets the pellet out of this barrel"})
	} else {
		rows = append(rows, row{"best port", port, fmt.Sprintf("for this barrel: %.4g J; %s", m.BestPort.Energy, built)})
	}
	if !math.IsNaN(m.BestLength.Energy) {
		note := fmt.Sprintf("for this cylinder: %.4g J; as built %s", m.BestLength.Energy, quantity.Length.Format(r.Build.Barrel.Length))
		if m.BestLength.Value >= m.Lengths[len(m.Lengths)-1].Value {
			note += "; the longest that was tried"
		}
		rows = append(rows, row{"best barrel", sig(1e3*m.BestLength.Value, 4, "mm"), note})
	}
	printRows(w, "cylinder and barrel", rows)
}

func (s *shotFlags) printNext(w io.Writer, r *cycle.Result) {
	if s.next == nil {
		return
	}
	n := &s.next.Summary
	rows := []row{
		{"trigger delay", or(sig(1e3*n.TriggerDelay, 4, "ms"), "none"), "of the next shot, from where the train stands; the first one's: " + or(sig(1e3*r.Summary.TriggerDelay, 4, "ms"), "none")},
		{"first release", sig(1e3*n.ReleaseTime, 4, "ms"), ""},
		{"inrush", sig(n.Inrush, 4, "A"), ""},
	}
	if s.next.Status == cycle.Stall {
		rows[0].note = "the motor can't pull the spring from where the train stands"
	}
	if !math.IsNaN(s.best.Delay) {
		rows = append(rows, row{"quickest stop", sig(s.best.At*180/math.Pi, 4, "°"), fmt.Sprintf("would give %.1f ms: as a rule just before the release, where a shot nobody asked for is near", 1e3*s.best.Delay)})
	}
	printRows(w, "the next shot", rows)
}

func or(text, without string) string {
	if text == "" {
		return without
	}
	return text
}

// json gives the keys that the flags add.
func (s *shotFlags) json() (o object) {
	shot := func(key string, p flight.Trial) object {
		return object{{key, number(p.Value)}, {"muzzle_velocity_m_s", number(p.Velocity)}, {"muzzle_energy_j", number(p.Energy)}, {"time_to_home_s", number(p.TimeToHome)}}
	}
	list := func(key string, all []flight.Trial) []object {
		list := []object{}
		for _, p := range all {
			list = append(list, shot(key, p))
		}
		return list
	}
	if s.next != nil {
		n := &s.next.Summary
		o = append(o, member{"next_shot", object{
			{"outcome", s.next.Status.String()}, {"trigger_delay_s", number(n.TriggerDelay)}, {"release_time_s", number(n.ReleaseTime)},
			{"inrush_a", number(n.Inrush)}, {"stop_angle_rad", number(n.StopAngle)},
			{"quickest_stop_angle_rad", number(s.best.At)}, {"quickest_trigger_delay_s", number(s.best.Delay)},
		}})
	}
	if len(s.masses) > 0 {
		o = append(o, member{"pellets", list("mass_kg", s.shots)})
	}
	if m := s.result; m != nil {
		o = append(o, member{"match", object{
			{"swept_volume_m3", number(m.Swept)}, {"barrel_volume_m3", number(m.Barrel)},
			{"best_port", shot("port_m", m.BestPort)}, {"best_barrel", shot("length_m", m.BestLength)},
			{"ports", list("port_m", m.Ports)}, {"barrels", list("length_m", m.Lengths)},
		}})
	}
	return o
}
