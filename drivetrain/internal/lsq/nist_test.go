package lsq_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/num/dual"

	"example.org/ampstroke/drivetrain/internal/lsq"
)

// certified is a problem of the Statistical Reference Datasets for nonlinear regression
// of the National Institute of Standards and Technology, with its certified answer.
type certified struct {
	Name          string    `json:"name"`
	Start1        []float64 `json:"start_1"`
	Start2        []float64 `json:"start_2"`
	Certified     []float64 `json:"certified"`
	StandardError []float64 `json:"standard_error"`
	Sum           float64   `json:"residual_sum_of_squares"`
	Residual      float64   `json:"residual_standard_deviation"`
	X             []float64 `json:"x"`
	Y             []float64 `json:"y"`
}

type d = dual.Number

func num(x float64) d { return d{Real: x} }
func exp(x d) d       { return dual.Exp(x) }
func neg(x d) d       { return dual.Scale(-1, x) }
func add(all ...d) (s d) {
	for _, x := range all {
		s = dual.Add(s, x)
	}
	return s
}
func mul(all ...d) d {
	p := num(1)
	for _, x := range all {
		p = dual.Mul(p, x)
	}
	return p
}
func div(a, b d) d { return dual.Mul(a, dual.Inv(b)) }

// poly is b[0] + b[1]·x + b[2]·x² …
func poly(x float64, b ...d) (s d) {
	for i := len(b) - 1; i >= 0; i-- {
		s = add(b[i], dual.Scale(x, s))
	}
	return s
}

// models are the functions of the problems, by their names, as their files state them.
func models() map[string]func(b []d, x float64) d {
	return map[string]func([]d, float64) d{
		"Misra1a":  func(b []d, x float64) d { return mul(b[0], add(num(1), neg(exp(dual.Scale(-x, b[1]))))) },
		"BoxBOD":   func(b []d, x float64) d { return mul(b[0], add(num(1), neg(exp(dual.Scale(-x, b[1]))))) },
		"Chwirut2": func(b []d, x float64) d { return div(exp(dual.Scale(-x, b[0])), poly(x, b[1], b[2])) },
		"DanWood":  func(b []d, x float64) d { return mul(b[0], exp(dual.Scale(math.Log(x), b[1]))) },
		"Lanczos3": func(b []d, x float64) d {
			return add(mul(b[0], exp(dual.Scale(-x, b[1]))), mul(b[2], exp(dual.Scale(-x, b[3]))), mul(b[4], exp(dual.Scale(-x, b[5]))))
		},
		"Kirby2": func(b []d, x float64) d { return div(poly(x, b[0], b[1], b[2]), poly(x, num(1), b[3], b[4])) },
		"MGH17": func(b []d, x float64) d {
			return add(b[0], mul(b[1], exp(dual.Scale(-x, b[3]))), mul(b[2], exp(dual.Scale(-x, b[4]))))
		},
		"MGH09": func(b []d, x float64) d {
			return mul(b[0], div(add(num(x*x), dual.Scale(x, b[1])), add(num(x*x), dual.Scale(x, b[2]), b[3])))
		},
		"MGH10": func(b []d, x float64) d { return mul(b[0], exp(div(b[1], add(num(x), b[2])))) },
		"Thurber": func(b []d, x float64) d {
			return div(poly(x, b[0], b[1], b[2], b[3]), poly(x, num(1), b[4], b[5], b[6]))
		},
		"Rat43": func(b []d, x float64) d {
			return div(b[0], dual.Pow(add(num(1), exp(add(b[1], dual.Scale(-x, b[2])))), dual.Inv(b[3])))
		},
		"Eckerle4": func(b []d, x float64) d {
			z := div(add(num(x), neg(b[2])), b[1])
			return mul(div(b[0], b[1]), exp(dual.Scale(-0.5, mul(z, z))))
		},
		"Bennett5": func(b []d, x float64) d { return mul(b[0], dual.Pow(add(b[1], num(x)), neg(dual.Inv(b[2])))) },
	}
}

func (c *certified) problem(f func([]d, float64) d) lsq.Problem {
	at := func(u []float64) []d {
		b := make([]d, len(u))
		for i := range u {
			b[i].Real = u[i]
		}
		return b
	}
	return lsq.Problem{
		Rows: len(c.X), Columns: len(c.Certified),
		Residuals: func(_ context.Context, dst, u []float64) error {
			b := at(u)
			for j, x := range c.X {
				dst[j] = f(b, x).Real - c.Y[j]
			}
			return nil
		},
		Jacobian: func(_ context.Context, dst *mat.Dense, u []float64) error {
			b := at(u)
			for i := range b {
				b[i].Emag = 1
				for j, x := range c.X {
					dst.Set(j, i, f(b, x).Emag)
				}
				b[i].Emag = 0
			}
			return nil
		},
	}
}

// digits is to how many decimal digits two numbers agree.
func digits(have, want float64) float64 {
	return min(11, -math.Log10(math.Abs(have-want)/math.Abs(want)))
}

func TestCertified(t *testing.T) {
	// From the farther start, BoxBOD runs into b2 → ∞, where it is flat, and MGH10 has
	// e^(2e5/…), for which no step is short enough in any arithmetic.
	notAsked := map[string]bool{"BoxBOD 1": true, "MGH10 1": true}
	files, err := filepath.Glob("testdata/nist/*.json")
	require.NoError(t, err)
	require.Len(t, files, 13)
	all := models()
	worst, longest := [3]float64{99, 99, 99}, 0
	for _, file := range files {
		var c certified
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(text, &c))
		for k, start := range [][]float64{c.Start1, c.Start2} {
			name := c.Name + " " + string('1'+rune(k))
			if notAsked[name] {
				continue
			}
			t.Run(name, func(t *testing.T) {
				res, err := lsq.Solve(t.Context(), c.problem(all[c.Name]), start, lsq.Settings{Gain: 1e-20, Relative: true, Step: 1e-15, Steps: 2000})
				require.NoError(t, err)
				assert.Equal(t, lsq.Converged, res.Status)
				cov, err := lsq.Covariance(res.Jacobian)
				require.NoError(t, err)
				variance := res.S / float64(len(c.X)-len(c.Certified))
				least := [3]float64{99, 99, digits(res.S, c.Sum)}
				for i := range res.U {
					least[0] = min(least[0], digits(res.U[i], c.Certified[i]))
					least[1] = min(least[1], digits(math.Sqrt(variance*cov.At(i, i)), c.StandardError[i]))
				}
				t.Logf("%d steps; %.1f digits of the parameters, %.1f of their errors, %.1f of the sum", res.Steps, least[0], least[1], least[2])
				assert.GreaterOrEqual(t, least[0], 6., "parameters")
				assert.GreaterOrEqual(t, least[1], 5., "standard errors")
				assert.GreaterOrEqual(t, least[2], 9., "sum of squares")
				for i := range worst {
					worst[i] = min(worst[i], least[i])
				}
				longest = max(longest, res.Steps)
				assert.InEpsilon(t, c.Residual, math.Sqrt(variance), 1e-6, "residual standard deviation")
			})
		}
	}
	t.Logf("the worst: %.1f digits, up to %d steps", worst, longest)
}
