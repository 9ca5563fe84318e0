package chart

import (
	"math"
	"strconv"

	"gonum.org/v1/plot"
)

// round is a ticker with labels at round numbers and small ticks between.
type round struct {
	most int     // how many labels there may be
	step float64 // between labels; 0: 1, 2 or 5 times a power of ten
}

// Ticks implements [plot.Ticker].
func (r round) Ticks(lo, hi float64) (ticks []plot.Tick) {
	step := r.step
	if step == 0 {
		step = roundStep((hi - lo) / float64(r.most))
	}
	small := step / 2
	digits := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	const slack = 1e-9
	for n := math.Ceil(lo/small - slack); n*small <= hi+small*slack; n++ {
		t := plot.Tick{Value: n * small}
		if math.Mod(n, 2) == 0 {
			t.Label = strconv.FormatFloat(n*small+0, 'f', digits, 64)
		}
		ticks = append(ticks, t)
	}
	return ticks
}

// roundStep returns the least of 1, 2 and 5 times a power of ten that is not
// below a step.
func roundStep(least float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(least)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= least*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}
