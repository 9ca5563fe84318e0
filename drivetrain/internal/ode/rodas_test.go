package ode

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// square multiplies a stages' matrix by a vector.
type square [stages][stages]float64

func (m *square) apply(x []float64) []float64 {
	y := make([]float64, stages)
	for i := range y {
		y[i] = dot(m[i][:], x)
	}
	return y
}

// plain are the coefficients before the transformation: with l[i] = Σ Γ[i][j]·k[j] for
// the k of the transformed form, the stages' states are y + h·Σ alpha[i][j]·l[j], and
// beta = alpha + Γ stands in the order conditions.
type plain struct {
	alpha, gamma, beta square
}

// plain undoes the transformation: Γ = (1/γ − C)⁻¹ row by row, alpha = A·Γ.
func (tab *rosenbrockTableau) plain() plain {
	var p plain
	for i := range stages {
		p.gamma[i][i] = tab.gamma
		for j := range i {
			for l := j; l < i; l++ {
				p.gamma[i][j] += tab.gamma * tab.c[i][l] * p.gamma[l][j]
			}
		}
	}
	for i := range stages {
		for j := range stages {
			p.alpha[i][j] = 0
			for l := range stages {
				p.alpha[i][j] += tab.a[i][l] * p.gamma[l][j]
			}
			p.beta[i][j] = p.alpha[i][j] + p.gamma[i][j]
		}
	}
	return p
}

// weights returns those of the untransformed stages, from those of the k.
func (p *plain) weights(m [stages]float64) []float64 {
	b := make([]float64, stages)
	for i := range stages {
		for j := range stages {
			b[j] += m[i] * p.gamma[i][j]
		}
	}
	return b
}

// results are the weights of the k in the result, in the embedded one and in the dense
// output at s.
func (tab *rosenbrockTableau) results() (result, embedded [stages]float64, dense func(s float64) [stages]float64) {
	embedded = tab.a[stages-1]
	result = embedded
	result[stages-1] = 1
	dense = func(s float64) [stages]float64 {
		var m [stages]float64
		for i := range m {
			m[i] = s * (result[i] + (1-s)*(tab.d2[i]+s*tab.d3[i]))
		}
		return m
	}
	return result, embedded, dense
}

// rosenbrockConditions are the order conditions of Rosenbrock methods up to order 4
// (Hairer & Wanner, Solving ODEs II, table IV.7.1, from memory; one a rooted tree, so
// the count for each order, 1 1 2 4, is complete): Σ b·weight = 1/density, where a node
// with one child takes beta and one with several takes alpha.
var rosenbrockConditions = []struct {
	name    string
	order   int
	density float64
	weight  func(p *plain) []float64
}{
	{"1", 1, 1, func(*plain) []float64 { return ones() }},
	{"β", 2, 2, func(p *plain) []float64 { return p.beta.apply(ones()) }},
	{"α²", 3, 3, func(p *plain) []float64 { return power(p.alpha.apply(ones()), 2) }},
	{"ββ", 3, 6, func(p *plain) []float64 { return p.beta.apply(p.beta.apply(ones())) }},
	{"α³", 4, 4, func(p *plain) []float64 { return power(p.alpha.apply(ones()), 3) }},
	{"α·αβ", 4, 8, func(p *plain) []float64 {
		return times(p.alpha.apply(ones()), p.alpha.apply(p.beta.apply(ones())))
	}},
	{"βα²", 4, 12, func(p *plain) []float64 { return p.beta.apply(power(p.alpha.apply(ones()), 2)) }},
	{"βββ", 4, 24, func(p *plain) []float64 { return p.beta.apply(p.beta.apply(p.beta.apply(ones()))) }},
}

func ones() []float64 { return power(make([]float64, stages), 0) }

// residuals are what the conditions leave: of the row sums, of the order conditions of
// the result (4), the embedded result (3) and the dense output (3) at two places, and of
// the embedded result's own stiff accuracy. All must be zero.
func (tab *rosenbrockTableau) residuals() map[string]float64 {
	p := tab.plain()
	result, embedded, dense := tab.results()
	all := map[string]float64{}
	for i, sum := range p.alpha.apply(ones()) {
		all[fmt.Sprint("row ", i)] = sum - tab.alpha[i]
	}
	for _, c := range rosenbrockConditions {
		w := c.weight(&p)
		all["result, "+c.name] = dot(p.weights(result), w) - 1/c.density
		if c.order > 3 {
			continue
		}
		all["embedded, "+c.name] = dot(p.weights(embedded), w) - 1/c.density
		for _, s := range []float64{0.3, 0.8} {
			all[fmt.Sprint("dense output at ", s, ", ", c.name)] =
				dot(p.weights(dense(s)), w) - math.Pow(s, float64(c.order))/c.density
		}
	}
	return all
}

// printed bounds the residuals: the coefficients have 16 digits and stand in sums of some
// twenty products of up to 100.
const printed = 1e-12

func TestRodasOrder(t *testing.T) {
	tab := rodas()
	for name, residual := range tab.residuals() {
		assert.InDelta(t, 0, residual, printed, name)
	}
	p := tab.plain()
	_, embedded, dense := tab.results()
	misses := func(m [stages]float64, s float64) (misses int) {
		for _, c := range rosenbrockConditions {
			if c.order == 4 && math.Abs(dot(p.weights(m), c.weight(&p))-math.Pow(s, 4)/c.density) > 1e-6 {
				misses++
			}
		}
		return misses
	}
	assert.Positive(t, misses(embedded, 1), "the embedded result has order 3 only, or there is no estimate")
	assert.Positive(t, misses(dense(0.5), 0.5), "the dense output has order 3 only")
}

// The form of the method: lower triangles, the last two stages at the end, and the last
// rows of beta as the weights (stiffly accurate).
func TestRodasForm(t *testing.T) {
	tab := rodas()
	for i := range stages {
		for j := i; j < stages; j++ {
			assert.Zero(t, tab.a[i][j])
			assert.Zero(t, tab.c[i][j])
		}
		assert.True(t, tab.alpha[i] >= 0 && tab.alpha[i] <= 1, "not beyond the step")
	}
	assert.Equal(t, tab.a[4][:4], tab.a[5][:4])
	assert.Equal(t, 1., tab.a[5][4])
	p := tab.plain()
	result, embedded, _ := tab.results()
	assert.InDeltaSlice(t, p.weights(result), p.beta[5][:], printed)
	assert.InDeltaSlice(t, p.weights(embedded), p.beta[4][:], printed)
}

// Each coefficient is held by some condition: a fault of 1e-6 in any of them shows.
func TestRodasCoefficientsAreHeld(t *testing.T) {
	places := func(tab *rosenbrockTableau) map[string]*float64 {
		all := map[string]*float64{"γ": &tab.gamma}
		for i := range stages {
			if i > 0 {
				all[fmt.Sprint("alpha", i)] = &tab.alpha[i]
			}
			if i < stages-1 {
				all[fmt.Sprint("d2", i)], all[fmt.Sprint("d3", i)] = &tab.d2[i], &tab.d3[i]
			}
			for j := range i {
				all[fmt.Sprint("a", i, j)], all[fmt.Sprint("c", i, j)] = &tab.a[i][j], &tab.c[i][j]
			}
		}
		return all
	}
	count := 0
	for name := range places(rodas()) {
		tab := rodas()
		*places(tab)[name] += 1e-6
		var worst float64
		for _, residual := range tab.residuals() {
			worst = max(worst, math.Abs(residual))
		}
		assert.Greater(t, worst, 100*printed, name)
		count++
	}
	assert.Equal(t, 1+15+15+5+10, count)
}

// stability is the factor from a step to the next for y' = λy with z = hλ, from the
// transformed form.
func (tab *rosenbrockTableau) stability(z complex128, m [stages]float64) complex128 {
	var k [stages]complex128
	for i := range stages {
		state, coupled := complex(1, 0), complex(0, 0)
		for j := range i {
			state += complex(tab.a[i][j], 0) * k[j]
			coupled += complex(tab.c[i][j], 0) * k[j]
		}
		k[i] = (z*state + coupled) / (complex(1/tab.gamma, 0) - z)
	}
	r := complex(1, 0)
	for i := range stages {
		r += complex(m[i], 0) * k[i]
	}
	return r
}

// A-stable, since |R| ≤ 1 on the imaginary axis and its poles lie at 1/γ; L-stable, since
// R falls to zero, as that of the embedded result does. Up to z⁴ R is the exponential.
func TestRodasStability(t *testing.T) {
	tab := rodas()
	result, embedded, _ := tab.results()
	for i := -60; i <= 60; i++ {
		y := math.Pow(10, float64(i)/10)
		assert.LessOrEqual(t, cmplx.Abs(tab.stability(complex(0, y), result)), 1+1e-12, "at %v·i", y)
	}
	for _, m := range [][stages]float64{result, embedded} {
		for _, direction := range []complex128{-1, 1i, -1 + 1i} {
			far, farther := cmplx.Abs(tab.stability(1e4*direction, m)), cmplx.Abs(tab.stability(1e5*direction, m))
			assert.Less(t, far, 1e-2)
			assert.Less(t, farther, 0.11*far, "like 1/z at least")
		}
	}
	off := func(z float64) float64 { return real(tab.stability(complex(z, 0), result)) - math.Exp(z) }
	assert.InDelta(t, 5, math.Log2(off(-0.1)/off(-0.05)), 0.1)
}

// An entry of a passive state's column is not read; others that are not finite are found.
func TestJacobianIsChecked(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for i := range 3 {
			for j := range 3 {
				f := rhs{passive: 1, jacobian: func(dfdy []float64, _ float64, _ []float64) { dfdy[3*i+j] = bad }}
				ok := f.evalJacobian([]float64{9, 9, 9, 9, 9, 9, 9, 9, 9}, 7, make([]float64, 3))
				require.Equal(t, j == 2, ok)
				if !ok {
					assert.Equal(t, "Jacobian", f.fault.quantity)
					assert.Equal(t, i, f.fault.index)
					assert.Equal(t, 7., f.fault.time)
				}
			}
		}
	}
}

// The polynomial of a segment used before has no fourth coefficient left.
func TestRodasDenseIsCubic(t *testing.T) {
	x := newRosenbrock(rodas(), 1, 0)
	var g segment
	g.lay([]float64{7, 7, 7, 7, 7}, 1)
	x.dense(&g, nil, nil)
	assert.Equal(t, []float64{0, 0, 0}, []float64{g.r2[0], g.r3[0], g.r4[0]}, "all stages are zero")
}
