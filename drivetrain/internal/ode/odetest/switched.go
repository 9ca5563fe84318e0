package odetest

import (
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// Switched is a problem whose mode changes at terminal events that are known in
// closed form. Its functions share the mode, so that one goroutine at a time may
// use it, and Start puts it back.
type Switched struct {
	Name string
	// Source says where definition and values come from.
	Source string
	// Problem ends after the last of the Times.
	Problem ode.Problem
	// Start puts the mode back to that at T0.
	Start func()
	// Switch changes mode and state at an event.
	Switch func(event int, y []float64)
	// Times are those of all events up to T1 [1].
	Times []float64
	// States are those just before the switch at Times [1].
	States [][]float64
	// End is the state at T1 [1].
	End []float64
}

// Found is what a run of a switched problem finds.
type Found struct {
	// Times are those of the events [1].
	Times []float64
	// States are those just before the switch at Times [1].
	States [][]float64
	// End is the state at T1 [1].
	End        []float64
	Trajectory ode.Trajectory
	Stats      ode.Stats
}

// Run integrates the problem. The mode of a segment is the number of switches
// before it.
func (p *Switched) Run(set ode.Settings) (*Found, error) {
	p.Start()
	s, err := ode.New(p.Problem, set)
	if err != nil {
		return nil, err
	}
	found := &Found{}
	switches := 0
	for s.Status() != ode.Done {
		if err := s.Step(); err != nil {
			return found, err
		}
		found.Trajectory.Append(s, switches)
		if s.Status() != ode.Stopped {
			continue
		}
		y := s.At(nil, s.T())
		for _, e := range s.Events() {
			found.Times = append(found.Times, e.T)
			found.States = append(found.States, append([]float64(nil), e.Y...))
			p.Switch(e.Index, y)
			switches++
		}
		if err := s.Reset(s.T(), y); err != nil {
			return found, err
		}
	}
	found.End = append([]float64(nil), s.Y()...)
	found.Stats = s.Stats()
	return found, nil
}

// Ball is a ball that falls from a height of 1 m and keeps 0.8 of its speed at
// each bounce, for 3 s. The state is height and speed upwards.
func Ball() Switched {
	const g, keep = 9.81, 0.8
	p := Switched{
		Name:   "ball",
		Source: "closed form",
		Problem: ode.Problem{
			Deriv:    func(dydt []float64, _ float64, y []float64) { dydt[0], dydt[1] = y[1], -g },
			Jacobian: func(dfdy []float64, _ float64, _ []float64) { dfdy[1] = 1 },
			T1:       3,
			Y0:       []float64{1, 0},
			Events: []ode.Event{{
				Name:      "floor",
				Func:      func(_ float64, y []float64) float64 { return y[0] },
				Direction: ode.Falling,
				Terminal:  true,
			}},
			Names: []string{"height", "speed"},
		},
		Start:  func() {},
		Switch: func(_ int, y []float64) { y[0], y[1] = 0, -keep*y[1] },
	}
	t, v := math.Sqrt(2/g), math.Sqrt(2*g)
	for t < p.Problem.T1 {
		p.Times = append(p.Times, t)
		p.States = append(p.States, []float64{0, -v})
		v *= keep
		t += 2 * v / g
	}
	u := p.Problem.T1 - (t - 2*v/g)
	p.End = []float64{v*u - g*u*u/2, v - g*u}
	return p
}

// Contact is a mass of 1 kg between two walls 1 m apart. Each is a spring gap of
// 10 N/m with a damper of 1.5 N·s/m that only pushes: contact begins at the wall's
// rest position and ends when the wall's force is zero, after which the wall is at
// rest again. The mass starts midway at 2 m/s. The state is place and speed.
//
// In contact the penetration u is that of a damped oscillator,
//
//	u = v0/w·e^(−σt) sin wt,  σ = d/2m,  w = √(c/m − σ²)
//
// and the force c·u + d·u' = −m·u″ is zero for the first time when
//
//	tan wt = 2σw/(σ² − w²),
//
// which does not depend on v0: each contact takes the same time and keeps the same
// part of the speed.
func Contact() Switched {
	const (
		m, c, d = 1, 10, 1.5
		half    = 0.5 // from the middle to a wall
		start   = 2.0
	)
	const (
		free = iota
		left
		right
	)
	mode := free
	// The force of the wall that is touched, towards the middle, for contact with
	// either side.
	force := func(side float64, y []float64) float64 { return c*(side*y[0]-half) + d*side*y[1] }
	p := Switched{
		Name: "contact",
		Source: "mass 1 kg against a spring gap c 10 N/m, d 1.5 N·s/m: numbers of the Modelica Standard Library's " +
			"ElastoGap; the walls and the law that only pushes are chosen here; closed form",
		Start: func() { mode = free },
	}
	p.Problem = ode.Problem{
		Deriv: func(dydt []float64, _ float64, y []float64) {
			dydt[0] = y[1]
			switch mode {
			case free:
				dydt[1] = 0
			case left:
				dydt[1] = force(-1, y) / m
			case right:
				dydt[1] = -force(1, y) / m
			}
		},
		Jacobian: func(dfdy []float64, _ float64, _ []float64) {
			dfdy[1] = 1
			if mode != free {
				dfdy[2], dfdy[3] = -c/m, -d/m
			}
		},
		Y0: []float64{0, start},
		Events: []ode.Event{
			{Name: "left", Terminal: true, Direction: ode.Rising, Func: func(_ float64, y []float64) float64 {
				if mode != free {
					return -1
				}
				return -y[0] - half
			}},
			{Name: "right", Terminal: true, Direction: ode.Rising, Func: func(_ float64, y []float64) float64 {
				if mode != free {
					return -1
				}
				return y[0] - half
			}},
			{Name: "release", Terminal: true, Direction: ode.Falling, Func: func(_ float64, y []float64) float64 {
				switch mode {
				case left:
					return force(-1, y)
				case right:
					return force(1, y)
				}
				return 1
			}},
		},
		Mode:  func() string { return [...]string{"free", "left", "right"}[mode] },
		Names: []string{"place", "speed"},
	}
	p.Switch = func(event int, _ []float64) { mode = [...]int{left, right, free}[event] }

	sigma := d / 2. / m
	w := math.Sqrt(c/m - sigma*sigma)
	contact := math.Atan2(2*sigma*w, sigma*sigma-w*w) / w // wt lies between π/2 and π
	sin, cos := math.Sincos(w * contact)
	decay := math.Exp(-sigma * contact)
	deep := decay * sin / w              // penetration at the end, per speed at the start
	keep := -decay * (cos - sigma/w*sin) // speed kept
	t, v, x, side := 0., start, 0., 1.   // free flight from x towards side
	for range 5 {
		t += (half - side*x) / v
		p.Times = append(p.Times, t)
		p.States = append(p.States, []float64{side * half, side * v})
		t += contact
		x = side * (half + deep*v)
		v *= keep
		side = -side
		p.Times = append(p.Times, t)
		p.States = append(p.States, []float64{x, side * v})
	}
	p.Problem.T1 = t + 0.25
	p.End = []float64{x + side*v*0.25, side * v}
	return p
}
