package ode_test

import (
	"fmt"

	"example.org/ampstroke/drivetrain/internal/ode"
)

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
