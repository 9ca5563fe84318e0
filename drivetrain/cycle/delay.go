package cycle

import (
	"context"
	"errors"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
)

// Response is how soon a shot comes after the switch has closed.
type Response struct {
	// At is what was varied: a state of charge [1], or a sector angle [rad], by the
	// function that returns it [SI].
	At float64
	// Release is when the rack is let go; NaN: never [s].
	Release float64
	// Delay is when the pellet leaves the muzzle; NaN: never [s].
	Delay float64
}

// Respond returns how soon the first shot comes from the conditions of the
// settings. The cut-off is taken to be behind the release. A motor that stalls
// has no shot.
func Respond(ctx context.Context, b *drivetrain.Build, settings Settings) (Response, error) {
	none := Response{math.NaN(), math.NaN(), math.NaN()}
	if err := errors.Join(b.Validate(), settings.Validate()); err != nil {
		return none, err
	}
	m, err := newMachine(b, &settings.Conditions)
	if err != nil {
		return none, err
	}
	r := newRun(m, tight(settings.tolerance()), false, 0, nil)
	r.begin()
	for len(r.releases) == 0 {
		end, err := r.toPickup(ctx)
		if err != nil {
			return none, err
		}
		if end == stalled && len(r.releases) == 0 {
			return none, nil
		}
	}
	l := r.releases[0]
	f, err := flight.Simulate(ctx, b, flight.Settings{Tolerance: settings.flight(), ReleaseSpeed: l.rack, ToMuzzle: true, Delay: l.time})
	if err != nil {
		return none, err
	}
	return Response{none.At, l.time, l.time + f.Summary.TimeToMuzzle}, nil
}

// OverCharge returns how soon the first shot comes at several states of charge
// [1] with a count of cells in series.
func OverCharge(ctx context.Context, b *drivetrain.Build, settings Settings, series int, charges []float64) ([]Response, error) {
	c := *b
	c.Battery.Series = series
	return respond(ctx, charges, func(charge float64) (Response, error) {
		c.Battery.StateOfCharge = charge
		return Respond(ctx, &c, settings)
	})
}

// OverStop returns how soon the next shot comes if the train stands at several
// sector angles [rad], with the pack as the settings' conditions say.
func OverStop(ctx context.Context, b *drivetrain.Build, settings Settings, angles []float64) ([]Response, error) {
	g := b.Geometry()
	return respond(ctx, angles, func(angle float64) (Response, error) {
		settings.Conditions.Advance = angle - g.Pickup - b.Trigger.Start
		return Respond(ctx, b, settings)
	})
}

func respond(ctx context.Context, at []float64, do func(float64) (Response, error)) ([]Response, error) {
	var all []Response
	for _, v := range at {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		r, err := do(v)
		if err != nil {
			return nil, err
		}
		r.At = v
		all = append(all, r)
	}
	return all, nil
}

// StopAngles returns n sector angles [rad] over a whole lobe, from a pickup to
// just before the next, the last in the pull just before the release.
func StopAngles(b *drivetrain.Build, n int) []float64 {
	g := b.Geometry()
	pull := max(2, int(math.Round(float64(n)*(g.Release-g.Pickup)/g.Lobe)))
	var all []float64
	const edge = 1e-3 // [rad]
	for i := range pull {
		all = append(all, g.Pickup+(g.Release-edge-g.Pickup)*float64(i)/float64(pull-1))
	}
	free := max(2, n-pull)
	for i := range free {
		all = append(all, g.Release+edge+(g.Pickup+g.Lobe-2*edge-g.Release)*float64(i)/float64(free-1))
	}
	return all
}

// Quickest returns the response with the least delay; all NaN where none fires.
func Quickest(all []Response) Response {
	best := Response{math.NaN(), math.NaN(), math.NaN()}
	for _, r := range all {
		if r.Delay < best.Delay || math.IsNaN(best.Delay) && !math.IsNaN(r.Delay) {
			best = r
		}
	}
	return best
}
