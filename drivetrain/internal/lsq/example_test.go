package lsq_test

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"example.org/ampstroke/drivetrain/internal/lsq"
)

// A kettle of 90 K above the room cools to these differences, one a minute. How large was
// the first one, and how many minutes take it down by e?
func ExampleSolve() {
	read := []float64{90, 73.7, 60.3, 49.4, 40.4}
	p := lsq.Problem{
		Rows: len(read), Columns: 2,
		Residuals: func(_ context.Context, dst, u []float64) error {
			for j, y := range read {
				dst[j] = u[0]*math.Exp(-float64(j)/u[1]) - y
			}
			return nil
		},
		Jacobian: func(_ context.Context, dst *mat.Dense, u []float64) error {
			for j := range read {
				e := math.Exp(-float64(j) / u[1])
				dst.Set(j, 0, e)
				dst.Set(j, 1, u[0]*e*float64(j)/(u[1]*u[1]))
			}
			return nil
		},
	}
	res, err := lsq.Solve(context.Background(), p, []float64{50, 1}, lsq.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f K, %.2f minutes\n", res.U[0], res.U[1])
	// Output: 90.0 K, 5.00 minutes
}
