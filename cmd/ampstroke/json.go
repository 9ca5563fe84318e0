package main

import (
	"encoding/json"
	"io"
	"math"
	"strconv"
	"sync"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/motor"
)

// number is one in JSON; NaN is null.
type number float64

// member is one key of an object that keeps its order.
type member struct {
	key   string
	value any
}

type object []member

// MarshalJSON implements [json.Marshaler].
func (n number) MarshalJSON() ([]byte, error) { return appendJSON(nil, n) }

// MarshalJSON implements [json.Marshaler].
func (o object) MarshalJSON() ([]byte, error) { return appendJSON(nil, o) }

// appendJSON appends a value as [json.Marshal] has it, without reflection for what a
// document is made of: a batch writes tens of thousands of them.
func appendJSON(b []byte, v any) ([]byte, error) {
	switch v := v.(type) {
	case nil:
		return append(b, "null"...), nil
	case bool:
		return strconv.AppendBool(b, v), nil
	case int:
		return strconv.AppendInt(b, int64(v), 10), nil
	case number:
		return appendNumber(b, float64(v)), nil
	case string:
		return appendString(b, v)
	case object:
		b = append(b, '{')
		for i := range v {
			if i > 0 {
				b = append(b, ',')
			}
			var err error
			if b, err = appendString(b, v[i].key); err != nil {
				return nil, err
			}
			if b, err = appendJSON(append(b, ':'), v[i].value); err != nil {
				return nil, err
			}
		}
		return append(b, '}'), nil
	case []object:
		if v == nil {
			return append(b, "null"...), nil
		}
		b = append(b, '[')
		for i := range v {
			if i > 0 {
				b = append(b, ',')
			}
			var err error
			if b, err = appendJSON(b, v[i]); err != nil {
				return nil, err
			}
		}
		return append(b, ']'), nil
	}
	text, err := json.Marshal(v)
	return append(b, text...), err
}

// appendString appends a text in quotes.
func appendString(b []byte, s string) ([]byte, error) {
	for i := range len(s) {
		if c := s[i]; c < ' ' || c > '~' || c == '"' || c == '\\' || c == '<' || c == '>' || c == '&' {
			text, err := json.Marshal(s)
			return append(b, text...), err
		}
	}
	return append(append(append(b, '"'), s...), '"'), nil
}

// appendNumber appends a number as package json does: the shortest that reads back the
// same, with an exponent of one digit where that is enough.
func appendNumber(b []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(b, "null"...)
	}
	if size := math.Abs(v); size == 0 || size >= 1e-6 && size < 1e21 {
		return strconv.AppendFloat(b, v, 'f', -1, 64)
	}
	b = strconv.AppendFloat(b, v, 'e', -1, 64)
	if n := len(b); n >= 4 && b[n-4] == 'e' && b[n-3] == '-' && b[n-2] == '0' {
		b[n-2] = b[n-1]
		b = b[:n-1]
	}
	return b
}

func printJSON(w io.Writer, v any) error {
	text, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}

// allFigures are those of every line of a batch, listed once.
var allFigures = sync.OnceValue(cycle.Figures)

func cycleJSON(r *cycle.Result, verdict []figure.Verdict, found finding.List, assumed []buildfile.Assumption) object {
	var phase, second any
	if r.Status == cycle.Once {
		phase, second = r.Pull.Phase(), r.Pull.Extra() > 0
	}
	o := object{
		{"format", 1},
		{"build", r.Build.Name},
		{"mode", string(r.Build.Trigger.Mode)},
		{"outcome", r.Status.String()},
	}
	o = append(o, figuresJSON(allFigures(), r)...)
	o = append(o, object{
		{"stop_phase", phase},
		{"second_shot", second},
		{"flight", flightJSON(r.Flight)},
		{"pull", pullJSON(r.Pull)},
		{"motor", constantsJSON(&r.Motor)},
		{"ledger_j", ledgerJSON(&r.Ledger)},
	}...)
	verdicts := []object{}
	for _, v := range verdict {
		var ok any
		if v.Fate != figure.NoFigure {
			ok = v.Fate == figure.Met
		}
		none := math.NaN()
		verdicts = append(verdicts, object{
			{"what", v.Figure}, {"value", number(v.Value)}, {"min", number(v.Min.Or(none))}, {"max", number(v.Max.Or(none))}, {"ok", ok},
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
			{"release_s", number(s.Release)}, {"muzzle_s", number(s.Muzzle)},
			{"muzzle_velocity_m_s", number(f.MuzzleVelocity)}, {"time_to_home_s", number(f.TimeToHome)},
		})
	}
	return object{
		{"rounds", p.Rounds}, {"shots", shots}, {"opened_s", number(p.Opened)}, {"rest_s", number(p.Rest)},
		{"stop_angle_rad", number(p.StopAngle)}, {"stop_phase", p.Phase()}, {"overspin_rad", number(p.Overspin)},
		{"spring_left_j", number(p.SpringLeft)}, {"brake_current_a", number(p.BrakeCurrent)}, {"charge_c", number(p.Charge)},
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
		{"status", r.Status.String()}, {"time_to_muzzle_s", number(f.TimeToMuzzle)}, {"peak_pressure_pa", number(f.PeakPressure)},
		{"peak_barrel_pressure_pa", number(f.PeakBarrelPressure)}, {"duration_s", number(f.Duration)},
	}
}

// constantsJSON are a motor's constants.
func constantsJSON(c *motor.Constants) object {
	return figuresJSON(motor.Figures().In("constants"), &motor.Supplied{Constants: *c})
}

func ledgerJSON(l *cycle.Ledger) object {
	o := object{{"battery", number(l.Battery)}}
	for _, r := range l.Rows() {
		o = append(o, member{r.Name, number(r.Energy)})
	}
	return append(o, member{"residual", number(l.Residual)})
}
