package flight

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What is read off between nodes is the polynomial itself, up to the degrees of the nodes,
// over one number or two.
func TestSmoothedIsThePolynomial(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 16))
	for range 20 {
		for ways := 1; ways <= most; ways++ {
			p := smoothed{box: box{lo: place{1, -3}, hi: place{2.5, -2.9}}}
			for d := range ways {
				p.n[d] = 2 << rng.IntN(4)
			}
			var powers [most][]float64
			for d := range ways {
				for range p.n[d] + 1 {
					powers[d] = append(powers[d], rng.NormFloat64())
				}
			}
			value := func(x *place) float64 {
				product := 1.
				for d := range ways {
					u := (2*x[d] - p.lo[d] - p.hi[d]) / (p.hi[d] - p.lo[d])
					sum := 0.
					for k := len(powers[d]) - 1; k >= 0; k-- {
						sum = sum*u + powers[d][k]
					}
					product *= sum
				}
				return product
			}
			for _, x := range p.nodes(p.n, ways) {
				var y [arcs]float64
				for q := range y {
					y[q] = float64(q+1) * value(&x)
				}
				p.coeff = append(p.coeff, y)
			}
			p.fit(ways)
			for range 20 {
				var x place
				for d := range ways {
					x[d] = p.lo[d] + (p.hi[d]-p.lo[d])*rng.Float64()
				}
				y, want := p.at(&x, ways), value(&x)
				for q := range y {
					assert.InDelta(t, float64(q+1)*want, y[q], 1e-9*float64(q+1)*math.Max(1, math.Abs(want)))
				}
			}
		}
	}
}
