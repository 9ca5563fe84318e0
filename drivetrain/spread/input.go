package spread

import "math"

// Input is a distribution that a number is drawn from.
type Input interface {
	// Quantile returns the value that a share u, above 0 and below 1, of all numbers drawn
	// lies below.
	Quantile(u float64) float64
}

// Uniform is spread evenly between two bounds.
type Uniform struct {
	// Low is the lower bound [1].
	Low float64
	// High is the upper one [1].
	High float64
}

// Quantile implements [Input].
func (d Uniform) Quantile(u float64) float64 { return d.Low + u*(d.High-d.Low) }

// Normal is a normal distribution of which nothing beyond two cuts is left, the rest
// renormalised. One that isn't cut has its cuts at infinity ([Gauss]); of one whose cuts
// are equal, such as the zero Normal, all numbers are that value.
type Normal struct {
	// Mean is that of the normal distribution, before it is cut [1].
	Mean float64
	// SD is its standard deviation, before it is cut [1].
	SD float64
	// Low is the lower cut [1].
	Low float64
	// High is the upper cut [1].
	High float64
}

// Gauss is a normal distribution without cuts.
func Gauss(mean, sd float64) Normal { return Normal{mean, sd, math.Inf(-1), math.Inf(1)} }

// cutAt is where a part is sent back, in standard deviations [1].
const cutAt = 3

// Cut is a normal distribution cut at three standard deviations to both sides.
func Cut(mean, sd float64) Normal { return Normal{mean, sd, mean - cutAt*sd, mean + cutAt*sd} }

// Within cuts what is left of a distribution once more.
func (d Normal) Within(low, high float64) Normal {
	d.Low, d.High = max(d.Low, low), min(d.High, high)
	return d
}

// Quantile implements [Input].
func (d Normal) Quantile(u float64) float64 {
	if d.SD == 0 || d.Low >= d.High {
		return min(max(d.Mean, d.Low), d.High)
	}
	return d.at(d.standard(u))
}

// standard returns by how many standard deviations the number of a share lies above the
// mean.
func (d Normal) standard(u float64) float64 {
	low, high := (d.Low-d.Mean)/d.SD, (d.High-d.Mean)/d.SD
	if low > 0 { // where shares below are nearly 1, and keep few digits
		a, b := above(low), above(high)
		return -inverse(a + u*(b-a))
	}
	a, b := above(-low), above(-high)
	return inverse(a + u*(b-a))
}

// at returns the number so many standard deviations above the mean.
func (d Normal) at(z float64) float64 { return min(max(d.Mean+d.SD*z, d.Low), d.High) }

// above is the share of a normal distribution beyond z standard deviations.
func above(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }

// inverse returns below how many standard deviations a share of a normal distribution lies.
func inverse(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }

// Whole is whole numbers: the nearest of a normal distribution's.
type Whole struct{ Normal }

// Quantile implements [Input].
func (d Whole) Quantile(u float64) float64 { return math.Round(d.Normal.Quantile(u)) }
