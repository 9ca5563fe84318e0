package lsq_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"example.org/ampstroke/drivetrain/internal/lsq"
)

// line is r = a·u − b.
func line(a *mat.Dense, b []float64) lsq.Problem {
	m, n := a.Dims()
	return lsq.Problem{
		Rows: m, Columns: n,
		Residuals: func(_ context.Context, dst, u []float64) error {
			for j := range dst {
				dst[j] = -b[j]
				for i := range u {
					dst[j] += a.At(j, i) * u[i]
				}
			}
			return nil
		},
		Jacobian: func(_ context.Context, dst *mat.Dense, _ []float64) error { dst.Copy(a); return nil },
	}
}

// A straight line through (0, 1), (1, 3), (2, 4): slope 3/2, 7/6 at 0, S = 1/6; of the
// inverse of JᵀJ, 1/2 and 5/6 (any textbook's formulas).
func TestLine(t *testing.T) {
	p := line(mat.NewDense(3, 2, []float64{0, 1, 1, 1, 2, 1}), []float64{1, 3, 4})
	res, err := lsq.Solve(t.Context(), p, []float64{50, -50}, lsq.Settings{Gain: 1e-24})
	require.NoError(t, err)
	assert.Equal(t, lsq.Converged, res.Status)
	assert.InDelta(t, 1.5, res.U[0], 1e-12)
	assert.InDelta(t, 7./6, res.U[1], 1e-12)
	assert.InDelta(t, 1./6, res.S, 1e-12)
	cov, err := lsq.Covariance(res.Jacobian)
	require.NoError(t, err)
	assert.InDelta(t, 0.5, cov.At(0, 0), 1e-12)
	assert.InDelta(t, 5./6, cov.At(1, 1), 1e-12)
	assert.InDelta(t, -0.5, cov.At(0, 1), 1e-12)
}

// The units of an unknown change nothing but its value.
func TestUnitsDoNotMatter(t *testing.T) {
	a := mat.NewDense(3, 2, []float64{0, 1e9, 1, 1e9, 2, 1e9})
	res, err := lsq.Solve(t.Context(), line(a, []float64{1, 3, 4}), []float64{50, -50e-9}, lsq.Settings{Gain: 1e-24})
	require.NoError(t, err)
	assert.InDelta(t, 1.5, res.U[0], 1e-12)
	assert.InEpsilon(t, 7./6*1e-9, res.U[1], 1e-11)
}

// With the slope held to at most 1, the line goes through the mean, 8/3 at 1.
func TestBounds(t *testing.T) {
	p := line(mat.NewDense(3, 2, []float64{0, 1, 1, 1, 2, 1}), []float64{1, 3, 4})
	for _, c := range []struct {
		name         string
		lower, upper []float64
		want         [2]float64
		reason       string
	}{
		{"upper", nil, []float64{1, 100}, [2]float64{1, 5. / 3}, "the other unknown goes on to its own least"},
		{"lower", []float64{2, -100}, nil, [2]float64{2, 2. / 3}, "the same from below"},
		{"not reached", []float64{-9, -9}, []float64{9, 9}, [2]float64{1.5, 7. / 6}, "a bound that is not reached changes nothing"},
		{"both", []float64{0, 2}, []float64{1, 3}, [2]float64{2. / 3, 2}, "only the second is driven against its bound: slope of the line through (0, 2)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			q := p
			q.Lower, q.Upper = c.lower, c.upper
			for _, start := range [][]float64{{0, 0}, {100, 100}, {1, 5. / 3}} {
				res, err := lsq.Solve(t.Context(), q, start, lsq.Settings{Gain: 1e-20})
				require.NoError(t, err)
				assert.Equal(t, lsq.Converged, res.Status)
				if c.name == "both" {
					// the least for the second at 2: Σ x·(y − 2)/Σ x² = (1 + 4)/5 = 1
					assert.InDeltaSlice(t, []float64{1, 2}, res.U, 1e-9, c.reason)
					continue
				}
				assert.InDeltaSlice(t, c.want[:], res.U, 1e-9, c.reason)
			}
		})
	}
}

// Residuals that end at u = 1 and fall towards it: the search stays on this side.
func TestOutside(t *testing.T) {
	wall := lsq.Problem{
		Rows: 1, Columns: 1,
		Residuals: func(_ context.Context, dst, u []float64) error {
			dst[0] = 3 - u[0]
			switch {
			case u[0] > 2:
				return fmt.Errorf("no such build: %w", lsq.ErrOutside)
			case u[0] > 1:
				dst[0] = math.NaN()
			}
			return nil
		},
		Jacobian: func(_ context.Context, dst *mat.Dense, u []float64) error { dst.Set(0, 0, -1); return nil },
	}
	res, err := lsq.Solve(t.Context(), wall, []float64{0}, lsq.Settings{Steps: 1000})
	require.NoError(t, err)
	assert.Equal(t, lsq.Stuck, res.Status, "it would go on if it might")
	assert.Greater(t, res.Gain, 3.9)
	assert.LessOrEqual(t, res.U[0], 1.)
	assert.Greater(t, res.U[0], 0.9)
	_, err = lsq.Solve(t.Context(), wall, []float64{5}, lsq.Settings{})
	assert.ErrorIs(t, err, lsq.ErrOutside)
	_, err = lsq.Solve(t.Context(), wall, []float64{1.5}, lsq.Settings{})
	assert.ErrorIs(t, err, lsq.ErrOutside, "a NaN at the start")
}

// rosenbrock is the valley of Rosenbrock's function, whose least is 0 at (1, 1).
func rosenbrock() lsq.Problem {
	return lsq.Problem{
		Rows: 2, Columns: 2,
		Residuals: func(ctx context.Context, dst, u []float64) error {
			dst[0], dst[1] = 10*(u[1]-u[0]*u[0]), 1-u[0]
			return ctx.Err()
		},
		Jacobian: func(_ context.Context, dst *mat.Dense, u []float64) error {
			dst.SetRow(0, []float64{-20 * u[0], 10})
			dst.SetRow(1, []float64{-1, 0})
			return nil
		},
	}
}

func TestSteps(t *testing.T) {
	start := []float64{-1.2, 1}
	var seen []lsq.Step
	res, err := lsq.Solve(t.Context(), rosenbrock(), start, lsq.Settings{Gain: 1e-18, Watch: func(s lsq.Step) {
		s.U = append([]float64(nil), s.U...)
		seen = append(seen, s)
	}})
	require.NoError(t, err)
	assert.Equal(t, lsq.Converged, res.Status)
	assert.InDeltaSlice(t, []float64{1, 1}, res.U, 1e-8)
	assert.Equal(t, []float64{-1.2, 1}, start, "the start stays the caller's")
	require.Greater(t, len(seen), 3)
	assert.InDelta(t, 24.2, seen[0].S, 1e-12, "S at the classical start")
	for i := range seen[1:] {
		assert.Less(t, seen[i+1].S, seen[i].S, "S falls with every step that is taken")
	}
	few, err := lsq.Solve(t.Context(), rosenbrock(), start, lsq.Settings{Steps: 4})
	require.NoError(t, err)
	assert.Equal(t, lsq.TooManySteps, few.Status)
	assert.Equal(t, 4, few.Steps)
	assert.Less(t, few.S, 24.2)
}

func TestInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := lsq.Solve(ctx, rosenbrock(), []float64{-1.2, 1}, lsq.Settings{})
	assert.ErrorIs(t, err, context.Canceled)
	broken := errors.New("out of paper")
	p := rosenbrock()
	p.Jacobian = func(context.Context, *mat.Dense, []float64) error { return broken }
	_, err = lsq.Solve(t.Context(), p, []float64{-1.2, 1}, lsq.Settings{})
	assert.ErrorIs(t, err, broken)
}

// Two unknowns of which only the sum is told are found by their priors alone, and have no
// covariance without.
func TestDependent(t *testing.T) {
	alone := mat.NewDense(2, 2, []float64{1, 1, 1, 1})
	_, err := lsq.Covariance(alone)
	assert.Error(t, err)
	_, err = lsq.Covariance(mat.NewDense(2, 2, []float64{1, 0, 1, 0}))
	assert.ErrorContains(t, err, "unknown 1")
	// S = (u + v − 3)² + u² + v²: u = v = 1; (JᵀJ)⁻¹ = [[2, 1], [1, 2]]⁻¹ = [[2, −1], [−1, 2]]/3
	res, err := lsq.Solve(t.Context(), line(mat.NewDense(3, 2, []float64{1, 1, 1, 0, 0, 1}), []float64{3, 0, 0}), []float64{0, 0}, lsq.Settings{Gain: 1e-24})
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64{1, 1}, res.U, 1e-9)
	cov, err := lsq.Covariance(res.Jacobian)
	require.NoError(t, err)
	assert.InDelta(t, 2./3, cov.At(0, 0), 1e-14)
	assert.InDelta(t, -1./3, cov.At(0, 1), 1e-14)
}
