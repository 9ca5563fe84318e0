package sheet

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
)

// Measured is a reading of the bench beside what is computed under its conditions.
type Measured struct {
	Reading *buildfile.Reading
	// Tolerance is two standard deviations of the reading: of the mean of its takings, and
	// of the instrument's scale [SI].
	Tolerance float64
	// Computed is the figure under the reading's overrides and supply; NaN: there is none
	// then, as Why says [SI].
	Computed float64
	Why      string
}

// Apart is how far measured and computed lie apart, in the reading's tolerance; NaN where
// nothing is computed [1].
func (m *Measured) Apart() float64 { return math.Abs(m.Computed-m.Reading.Value) / m.Tolerance }

// measured computes what the readings have measured.
func measured(ctx context.Context, d *buildfile.Document, r *buildfile.Readings) (all []Measured, err error) {
	var evaluator cycle.Evaluator
	for i := range r.Readings {
		one := &r.Readings[i]
		scale := 0.
		if k := slices.IndexFunc(r.Instruments, func(n buildfile.Instrument) bool { return n.Name == one.Instrument }); k >= 0 {
			scale = r.Instruments[k].Tolerance * math.Abs(one.Value)
		}
		m := Measured{Reading: one, Tolerance: math.Hypot(2*one.SD(math.NaN()), scale), Computed: math.NaN()}
		under, err := d.Overlaid(one.With)
		if err != nil {
			return nil, err
		}
		b := under.Build
		if one.Supply > 0 {
			f, _ := buildfile.MotorFigures().Find(one.Figure.Name)
			alone := b.Motor.On(one.Supply, b.Ambient.Temperature, b.Ambient.Temperature)
			m.Computed = f.Value(&alone)
		} else {
			f, _ := buildfile.GunFigures().Find(one.Figure.Name)
			res, err := evaluator.Evaluate(ctx, b, cycle.Settings{})
			switch {
			case errors.Is(err, cycle.ErrUnfinished):
				m.Why = "its simulation comes to no end"
			case err != nil:
				return nil, fmt.Errorf("reading %d: %w", i+1, err)
			default:
				if m.Computed = f.Value(res); math.IsNaN(m.Computed) && res.Status == cycle.Stall {
					m.Why = "the motor stalls"
				}
			}
		}
		if math.IsNaN(m.Computed) && m.Why == "" {
			m.Why = "the build has no such figure"
		}
		all = append(all, m)
	}
	return all, ctx.Err()
}
