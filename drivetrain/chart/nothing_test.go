package chart_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/motor"
)

// evaluated is what an Evaluator makes of a build: figures without a course.
func evaluated(t *testing.T, overrides ...string) *cycle.Result {
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	r, err := new(cycle.Evaluator).Evaluate(t.Context(), d.Build, cycle.Settings{})
	require.NoError(t, err)
	return r.Clone()
}

// What can't be drawn is an error that says why, and never a panic.
func TestNothingToDraw(t *testing.T) {
	fires, stalls, single := result(t), result(t, "spring.rate=4000 N/m"), result(t, "trigger.mode=single")
	long := result(t, "trigger.rounds=60")
	require.NotNil(t, long.Pull)
	plain, err := flight.Simulate(t.Context(), fires.Build, flight.Settings{ReleaseSpeed: 1})
	require.NoError(t, err)
	cool, err := heat.Simulate(t.Context(), fires.Build, buildfile.DemoPlan(), heat.Settings{})
	require.NoError(t, err)
	work, err := pickup.Examine(fires.Build)
	require.NoError(t, err)
	m, err := flight.FindMatch(t.Context(), fires.Build, fires.FlightSettings())
	require.NoError(t, err)
	type picture func() (*chart.Picture, error)
	cycles := func(draw func(*cycle.Result) (*chart.Picture, error)) map[string]picture {
		all := map[string]picture{}
		for name, r := range map[string]*cycle.Result{
			"nil": nil, "zero": {}, "of a build only": {Build: fires.Build}, "evaluated": evaluated(t), "evaluated, stalled": evaluated(t, "spring.rate=4000 N/m"),
			"evaluated, single": evaluated(t, "trigger.mode=single"), "evaluated, burst": evaluated(t, "trigger.rounds=3"),
		} {
			all[name] = func() (*chart.Picture, error) { return draw(r) }
		}
		return all
	}
	for what, pictures := range map[string]map[string]picture{
		"Cycle":   cycles(chart.Cycle),
		"angle":   cycles(func(r *cycle.Result) (*chart.Picture, error) { return chart.CycleOver(r, chart.OverAngle) }),
		"Pull":    cycles(chart.Pull),
		"Flight":  cycles(chart.FlightIn),
		"Compare": cycles(func(r *cycle.Result) (*chart.Picture, error) { return chart.Compare([]*cycle.Result{fires, r}) }),
		"none": {
			"compared": func() (*chart.Picture, error) { return chart.Compare(nil) },
			"flights":  func() (*chart.Picture, error) { return chart.Flights("none") },
			"motors":   func() (*chart.Picture, error) { return chart.Motor() },
		},
		"shots": {
			"pull of automatic fire":  func() (*chart.Picture, error) { return chart.Pull(fires) },
			"pull of a stall":         func() (*chart.Picture, error) { return chart.Pull(stalls) },
			"burst of 60":             func() (*chart.Picture, error) { return chart.Pull(long) },
			"flight of a stall":       func() (*chart.Picture, error) { return chart.FlightIn(stalls) },
			"no flight":               func() (*chart.Picture, error) { return chart.Flight(nil) },
			"flight without a course": func() (*chart.Picture, error) { return chart.Flight(plain) },
			"one of two": func() (*chart.Picture, error) {
				return chart.Flights("two", chart.NamedFlight{Name: "a", Result: fires.Flight}, chart.NamedFlight{Name: "b", Result: plain})
			},
			"no match":      func() (*chart.Picture, error) { return chart.Match(fires.Build, nil) },
			"empty match":   func() (*chart.Picture, error) { return chart.Match(fires.Build, &flight.Match{Lengths: m.Lengths}) },
			"no build":      func() (*chart.Picture, error) { return chart.Match(nil, m) },
			"delays of nil": func() (*chart.Picture, error) { return chart.Delays(nil, nil, nil, nil) },
		},
		"rooms": {
			"no plan":               func() (*chart.Picture, error) { return chart.Heat(nil) },
			"plan without a course": func() (*chart.Picture, error) { return chart.Heat(cool) },
			"no pickup":             func() (*chart.Picture, error) { return chart.Pickup(nil) },
			"pickup not fired":      func() (*chart.Picture, error) { return chart.Pickup(&pickup.Result{Work: work}) },
			"empty pickup":          func() (*chart.Picture, error) { return chart.Pickup(&pickup.Result{}) },
			"layout of nothing": func() (*chart.Picture, error) {
				of := pickup.State{Layout: &pickup.Layout{Build: fires.Build}}
				return chart.Pickup(&pickup.Result{Work: work, Before: of, After: of})
			},
			"no tolerance": func() (*chart.Picture, error) { return chart.Convergence("", nil, nil, nil) },
			"errors amiss": func() (*chart.Picture, error) { return chart.Convergence("", []float64{1e-3}, []string{"a"}, nil) },
			"errors of few": func() (*chart.Picture, error) {
				return chart.Convergence("", []float64{1e-3, 1e-4}, []string{"a"}, [][]float64{{1}})
			},
		},
	} {
		for name, draw := range pictures {
			t.Run(what+"/"+name, func(t *testing.T) {
				p, err := draw()
				assert.ErrorIs(t, err, chart.ErrNothing)
				assert.Nil(t, p)
			})
		}
	}
	// What is there is drawn to the end, however little it is.
	for name, draw := range map[string]picture{
		"stall":           func() (*chart.Picture, error) { return chart.Cycle(stalls) },
		"stall, compared": func() (*chart.Picture, error) { return chart.Compare([]*cycle.Result{stalls}) },
		"single":          func() (*chart.Picture, error) { return chart.Pull(single) },
		"flight":          func() (*chart.Picture, error) { return chart.FlightIn(single) },
		"no delays":       func() (*chart.Picture, error) { return chart.Delays(fires, []int{2}, nil, nil) },
		"unturned motor": func() (*chart.Picture, error) {
			return chart.Motor(chart.Named{Name: "none", Characteristic: motor.Characteristic{}})
		},
		"match of nothing": func() (*chart.Picture, error) {
			return chart.Match(&drivetrain.Build{}, &flight.Match{Lengths: m.Lengths, Ports: m.Ports})
		},
	} {
		for i, format := range chart.Formats() {
			if !effort.All() && i != len(name)%len(chart.Formats()) {
				continue // each in one of them
			}
			p, err := draw()
			require.NoError(t, err, name)
			assert.NotEmpty(t, encode(t, p, format), name)
		}
	}
}
