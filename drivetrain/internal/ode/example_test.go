package ode_test

import (
	"fmt"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// Three chemical reactions after H. H. Robertson, whose rates differ by nine powers of
// ten:
//
//	a' = −0.04·a + 1e4·b·c
//	b' = 0.04·a − 1e4·b·c − 3e7·b²
//	c' = 3e7·b²
//
// with the parts a, b and c of three substances. Time runs over six powers of ten, and
// so do the steps.
func Example_stiff() {
	problem := ode.Problem{
		Deriv: func(dydt []float64, _ float64, y []float64) {
			first, second, third := 0.04*y[0], 1e4*y[1]*y[2], 3e7*y[1]*y[1]
			dydt[0], dydt[1], dydt[2] = second-first, first-second-third, third
		},
		Jacobian: func(dfdy []float64, _ float64, y []float64) {
			dfdy[0], dfdy[1], dfdy[2] = -0.04, 1e4*y[2], 1e4*y[1]
			dfdy[3], dfdy[4], dfdy[5] = 0.04, -1e4*y[2]-6e7*y[1], -1e4*y[1]
			dfdy[7] = 6e7 * y[1]
		},
		T1: 4e5,
		Y0: []float64{1, 0, 0},
	}
	solver, err := ode.New(problem, ode.Settings{
		Method: ode.Rodas, RelTol: 1e-6, AbsTol: []float64{1e-9, 1e-13, 1e-9},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	var run ode.Trajectory
	for solver.Status() != ode.Done {
		if err := solver.Step(); err != nil {
			fmt.Println(err)
			return
		}
		run.Append(solver, 0)
	}
	y := make([]float64, 3)
	for _, t := range []float64{0.4, 40, 4e3, 4e5} {
		run.At(y, t)
		fmt.Printf("%-6g s: %.4f  %.1e  %.4f\n", t, y[0], y[1], y[2])
	}
	fmt.Println("fewer than 300 steps:", solver.Stats().Steps < 300)
	// Output:
	// 0.4    s: 0.9852  3.4e-05  0.0148
	// 40     s: 0.7158  9.2e-06  0.2842
	// 4000   s: 0.1832  8.9e-07  0.8168
	// 400000 s: 0.0049  2.0e-08  0.9951
	// fewer than 300 steps: true
}

// A weight of 1 kg hangs on a spring of 100 N/m; at 0.5 s it is dropped. The
// equations are
//
//	x' = v
//	v' = g − k·x/m, without the spring after the drop: v' = g
//
// with x the way down [m] and v the speed down [m/s].
func Example() {
	const g, k, m = 9.81, 100.0, 1.0
	held := true
	problem := ode.Problem{
		Deriv: func(dydt []float64, _ float64, y []float64) {
			dydt[0], dydt[1] = y[1], g
			if held {
				dydt[1] -= k * y[0] / m
			}
		},
		T1: 0.7,
		Y0: []float64{0, 0},
		Events: []ode.Event{{
			Name: "drop", Terminal: true,
			Func: func(t float64, _ []float64) float64 { return t - 0.5 },
		}},
	}
	solver, err := ode.New(problem, ode.Settings{RelTol: 1e-8})
	if err != nil {
		fmt.Println(err)
		return
	}
	var run ode.Trajectory
	for solver.Status() != ode.Done {
		if err := solver.Step(); err != nil {
			fmt.Println(err)
			return
		}
		mode := 0
		if !held {
			mode = 1
		}
		run.Append(solver, mode)
		if solver.Status() == ode.Stopped {
			held = false
			if err := solver.Reset(solver.T(), solver.Y()); err != nil {
				fmt.Println(err)
				return
			}
		}
	}
	y := make([]float64, 2)
	for _, t := range []float64{0.1, 0.3, 0.5, 0.7} {
		run.At(y, t)
		fmt.Printf("%.1f s: %.4f m, %.3f m/s\n", t, y[0], y[1])
	}
	// Output:
	// 0.1 s: 0.0451 m, 0.825 m/s
	// 0.3 s: 0.1952 m, 0.138 m/s
	// 0.5 s: 0.0703 m, -0.941 m/s
	// 0.7 s: 0.0783 m, 1.021 m/s
}
