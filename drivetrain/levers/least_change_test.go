package levers

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/quantity"
)

// The least change within planes is that of a fine grid.
func TestLeastChange(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	found := 0
	for range 200 {
		lo, hi := [2]float64{-0.5, -0.5}, [2]float64{1, r.Float64()}
		var planes []plane
		for range 1 + r.IntN(4) {
			angle := 2 * math.Pi * r.Float64()
			planes = append(planes, plane{[2]float64{math.Cos(angle), math.Sin(angle)}, 0.6 * (r.Float64() - 0.3)})
		}
		x, largest, ok := leastChange(planes, lo, hi)
		best := math.Inf(1)
		const n = 300
		for i := range n + 1 {
			for k := range n + 1 {
				v := [2]float64{lo[0] + (hi[0]-lo[0])*float64(i)/n, lo[1] + (hi[1]-lo[1])*float64(k)/n}
				good := true
				for _, p := range planes {
					good = good && p.n[0]*v[0]+p.n[1]*v[1] >= p.at
				}
				if good {
					best = min(best, max(math.Abs(v[0]), math.Abs(v[1])))
				}
			}
		}
		if !ok {
			assert.True(t, math.IsInf(best, 1), "a grid finds %g", best)
			continue
		}
		found++
		for _, p := range planes {
			assert.GreaterOrEqual(t, p.n[0]*x[0]+p.n[1]*x[1], p.at-1e-9)
		}
		assert.LessOrEqual(t, largest, best+1e-9)
		if !math.IsInf(best, 1) { // a corner may lie between the grid's points
			assert.Greater(t, largest, best-0.02)
		}
	}
	assert.Greater(t, found, 100)
}

// Values are shortened away from where they come from, and by little.
func TestRounded(t *testing.T) {
	for _, c := range []struct {
		kind          quantity.Kind
		from, x, want float64
	}{
		{quantity.SpringRate, 680, 711.8432, 711.85}, {quantity.SpringRate, 720, 403.7391, 403.73}, {quantity.Length, 0.022, 0.0195543, 0.019554}, {quantity.Number, 1, 1.0000123456, 1.00001235},
		{quantity.Charge, 4680, 5000, 5000.004}, {quantity.Share, 0.9, 0.912345, 0.91235},
	} {
		assert.InEpsilon(t, c.want, rounded(c.kind, c.from, c.x), 1e-12, "%v %g", c.kind, c.x)
	}
}
