package spread

// SobolPoint returns a point of the sequence as published.
func SobolPoint(i, dims int) []float64 {
	x := make([]float64, dims)
	plainNet(dims).point(x, i, 0)
	return x
}

// Moments is moments, for tests.
type Moments struct{ m moments }

// Add takes a number.
func (m *Moments) Add(v float64) { m.m.add(v) }

// Mean is that of the numbers.
func (m *Moments) Mean() float64 { return m.m.average() }

// Percentile is percentile.
var Percentile = percentile
