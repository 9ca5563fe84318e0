package flight

import (
	"context"
	"errors"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/quantity"
)

// Trial is the pellet's velocity and energy of one variant of a build.
type Trial struct {
	// Value is what was varied: a length [m], or a mass [kg], by the function that
	// returns it [SI].
	Value float64
	// Velocity is that at the muzzle, NaN where the pellet doesn't come out [m/s].
	Velocity float64
	// Energy is that at the muzzle, NaN where the pellet doesn't come out [J].
	Energy float64
	// TimeToHome is the piston's, NaN where it doesn't come home [s].
	TimeToHome float64
}

// Match is how a cylinder goes with a barrel.
type Match struct {
	// Swept is the air pushed once the port has shut [m3].
	Swept float64
	// Barrel is the room that the pellet's travel sweeps [m3].
	Barrel float64
	// Built is the build as it stands; its Value is the barrel's length [m].
	Built Trial
	// Lengths are shots over the barrel's length, rising.
	Lengths []Trial
	// Ports are shots over the port's position, rising; at the last one, the end of
	// the stroke, the port is never open.
	Ports []Trial
	// BestLength is the barrel with the most energy for this cylinder, among Lengths
	// and between them.
	BestLength Trial
	// BestPort is the port position with the most energy for this barrel; at the end
	// of the stroke a cylinder without a port is best.
	BestPort Trial
}

// variants is how many flights a curve is drawn from.
const variants = 41

// FindMatch varies the barrel's length from a tenth of its own to one and a half
// times it, and the port's position over the stroke, one flight each, and finds
// the best of both by golden-section search around the best of them. A build
// without a port is varied as if it had the default port.
func FindMatch(ctx context.Context, b *drivetrain.Build, settings Settings) (*Match, error) {
	settings.Trace = false
	if err := errors.Join(b.Validate(), settings.Validate()); err != nil {
		return nil, err
	}
	length := func(v float64) (Trial, error) {
		c := *b
		c.Barrel.Length = v
		return fire(ctx, &c, settings, v)
	}
	port := func(v float64) (Trial, error) {
		c := *b
		c.Cylinder.Port = v
		if c.Cylinder.PortArea == 0 {
			c.Cylinder.PortArea = drivetrain.NewCylinder(c.Cylinder.Bore).PortArea
		}
		return fire(ctx, &c, settings, v)
	}
	m := &Match{Swept: b.SweptVolume(), Barrel: b.Barrel.Volume()}
	var err error
	if m.Built, err = length(b.Barrel.Length); err != nil {
		return nil, err
	}
	own := b.Barrel.Length
	if m.Lengths, m.BestLength, err = sweep(max(1e-2, own/10), min(1.5*own, 3), length); err != nil {
		return nil, err
	}
	g := b.Geometry()
	least := b.Piston.Spacer + max(0.02*g.Stroke, 0.2e-3)
	if m.Ports, m.BestPort, err = sweep(least, b.Piston.Spacer+g.Stroke, port); err != nil {
		return nil, err
	}
	return m, nil
}

// Pellets flies pellets of several masses [kg] in place of the build's own.
func Pellets(ctx context.Context, b *drivetrain.Build, settings Settings, masses []float64) ([]Trial, error) {
	var all []Trial
	for _, mass := range masses {
		c := *b
		c.Pellet.Mass = mass
		s, err := fire(ctx, &c, settings, mass)
		if err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	return all, nil
}

func fire(ctx context.Context, b *drivetrain.Build, settings Settings, value float64) (Trial, error) {
	r, err := Simulate(ctx, b, settings)
	if err != nil {
		return Trial{}, err
	}
	return Trial{Value: value, Velocity: r.Summary.MuzzleVelocity, Energy: r.Summary.MuzzleEnergy, TimeToHome: r.Summary.TimeToHome}, nil
}

// sweep draws a curve and finds its highest point. No energy counts as the least.
func sweep(lo, hi float64, at func(float64) (Trial, error)) (all []Trial, best Trial, err error) {
	step := (hi - lo) / (variants - 1)
	place := 0
	for i := range variants {
		v := lo + float64(i)*step
		if i == variants-1 {
			v = hi
		}
		s, err := at(v)
		if err != nil {
			return nil, Trial{}, err
		}
		all = append(all, s)
		if i == 0 || better(s, all[place]) {
			place = i
		}
	}
	best = all[place]
	const golden = 0.6180339887498949
	a, b := all[max(place-1, 0)].Value, all[min(place+1, variants-1)].Value
	if !quantity.Finite(best.Energy) {
		return all, best, nil
	}
	fly := func(v float64) (s Trial) {
		if err == nil {
			s, err = at(v)
		}
		if better(s, best) {
			best = s
		}
		return s
	}
	left, right := fly(b-golden*(b-a)), fly(a+golden*(b-a))
	for b-a > 1e-3*(hi-lo) && err == nil {
		if better(right, left) { // the right one is the next left one
			a, left = left.Value, right
			right = fly(a + golden*(b-a))
		} else {
			b, right = right.Value, left
			left = fly(b - golden*(b-a))
		}
	}
	return all, best, err
}

func better(a, b Trial) bool {
	return a.Energy > b.Energy || math.IsNaN(b.Energy) && !math.IsNaN(a.Energy)
}
