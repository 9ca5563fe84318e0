package ode

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// filled returns a matrix with the entries of rows.
func filled(rows [][]float64) lu {
	n := len(rows)
	m := newLU(make([]float64, luSize(n)), n)
	for i, row := range rows {
		for j, v := range row {
			m.a[j*m.wide+i] = v
		}
	}
	return m
}

// The residual of a solution by elimination with partial pivoting is some roundings of
// the matrix times the solution, about n of them for each of n terms; the growth of
// the entries is small but for made-up matrices.
func TestLU(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for n := 1; n <= 17; n++ {
		for _, sparse := range []float64{0, 0.6} {
			t.Run(fmt.Sprint(n, sparse), func(t *testing.T) {
				for range 20 {
					rows, b := make([][]float64, n), make([]float64, n)
					for i := range rows {
						rows[i] = make([]float64, n)
						for j := range n {
							if random.Float64() >= sparse {
								rows[i][j] = random.NormFloat64() * math.Exp(5*random.NormFloat64())
							}
						}
						rows[i][(i+1)%n] += 1 // regular, with zeros on the diagonal
						b[i] = random.NormFloat64()
					}
					m := filled(rows)
					require.True(t, m.factor())
					x := append([]float64(nil), b...)
					m.solve(x)
					for i, row := range rows {
						var residual, size float64
						for j, v := range row {
							residual += v * x[j]
						}
						for _, row := range rows { // the largest: rows are combined
							var sum float64
							for j, v := range row {
								sum += math.Abs(v * x[j])
							}
							size = max(size, sum)
						}
						require.InDelta(t, b[i], residual, float64(10*n*n)*0x1p-53*size)
					}
				}
			})
		}
	}
}

// Without the right order of rows the solution of these is wrong in all digits.
func TestLUPivots(t *testing.T) {
	m := filled([][]float64{{1e-20, 1}, {1, 1}})
	require.True(t, m.factor())
	x := []float64{1, 2}
	m.solve(x)
	assert.InDeltaSlice(t, []float64{1, 1}, x, 1e-15)

	// A rotation of five rows: several exchanges, across a block.
	m = filled([][]float64{{0, 2, 0, 0, 0}, {0, 0, 3, 0, 0}, {0, 0, 0, 4, 0}, {0, 0, 0, 0, 5}, {1, 0, 0, 0, 0}})
	require.True(t, m.factor())
	x = []float64{2, 6, 12, 20, 1}
	m.solve(x)
	assert.InDeltaSlice(t, []float64{1, 1, 2, 3, 4}, x, 1e-15)
}

func TestLURefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, test := range []struct {
		name string
		rows [][]float64
	}{
		{"zero", [][]float64{{0}}},
		{"equal rows", [][]float64{{1, 2, 3}, {4, 5, 6}, {1, 2, 3}}},
		{"empty column", [][]float64{{1, 0}, {2, 0}}},
		{"NaN", [][]float64{{nan}}},
		{"infinite", [][]float64{{inf, 1}, {1, 1}}},
		{"too small to divide by", [][]float64{{1e-310}}},
	} {
		m := filled(test.rows)
		assert.False(t, m.factor(), test.name)
	}
}
