package listen

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// clock is how far a recorder's is off, as a standard deviation of the rate: quartz keeps
// to some ten millionths, and a chip without one of its own to some ten thousandths.
const clock = 1e-4

// rate fits the times of the shots over their numbers (L9): a straight line, from eight
// shots on a parabola, with less weight for what lies far off.
func (b *Burst) rate(step float64) {
	const (
		forCurve = 8
		rounds   = 3
		far      = 3      // deviations from which on a time weighs less
		leastS   = 0.0003 // s
		scatter  = 1.4826
	)
	b.Rate, b.RateSD, b.RateEnds, b.Drift, b.Jitter = math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN()
	if n := len(b.Places); n > 1 {
		b.RateEnds = float64(b.Places[n-1].Number-b.Places[0].Number) / (b.Last() - b.First())
	}
	if b.Shots < fewestShots {
		return
	}
	var numbers, times []float64
	for _, p := range b.Places {
		if p.Heard {
			numbers, times = append(numbers, float64(p.Number)), append(times, p.Time)
		}
	}
	n, terms := len(times), 2
	if n >= forCurve {
		terms = 3
	}
	middle := 0.
	for _, v := range numbers {
		middle += v / float64(n)
	}
	squares := 0.
	for i := range numbers {
		numbers[i] -= middle
		squares += numbers[i] * numbers[i]
	}
	weights := slices.Repeat([]float64{1}, n)
	rest, off := make([]float64, n), make([]float64, n)
	var c [3]float64
	for round := 0; ; round++ {
		c = fit(numbers, times, weights, terms)
		for i, v := range numbers {
			rest[i] = times[i] - (c[0] + v*(c[1]+v*c[2]))
			off[i] = math.Abs(rest[i])
		}
		if round == rounds {
			break
		}
		s := max(scatter*median(off), leastS)
		for i, v := range off {
			weights[i] = min(1, far*s/max(v, math.SmallestNonzeroFloat64))
		}
	}
	variance := 0.
	for i, v := range rest {
		variance += weights[i] * v * v / float64(n-terms)
	}
	b.Jitter = math.Sqrt(max(variance, step*step/4))
	period := c[1]
	b.Rate = 1 / period
	b.RateSD = math.Hypot(b.Jitter/math.Sqrt(squares)/(period*period), clock/period)
	if terms == 3 {
		b.Drift = -2 * c[2] / (period * period)
	}
}

// fit returns the polynomial of so many terms with the least weighted squares of y over x.
func fit(x, y, weights []float64, terms int) (c [3]float64) {
	a, right := mat.NewDense(len(x), terms, nil), mat.NewVecDense(len(x), nil)
	for i, v := range x {
		w := math.Sqrt(weights[i])
		for j, power := 0, w; j < terms; j, power = j+1, power*v {
			a.Set(i, j, power)
		}
		right.SetVec(i, w*y[i])
	}
	var qr mat.QR
	qr.Factorize(a)
	var solution mat.VecDense
	if err := qr.SolveVecTo(&solution, false, right); err != nil {
		return c // numbers are whole and differ, so that there is a solution
	}
	for j := range terms {
		c[j] = solution.AtVec(j)
	}
	return c
}

// weigh tells apart what counts (L10), and gives the recording its rate.
func (r *Result) weigh() {
	const (
		faint = 0.25 // of the leading burst's strength
		odd   = 0.2  // of its rate
	)
	r.RateOfFire, r.RateSD = math.NaN(), math.NaN()
	lead := r.Leading()
	strongest := 0.
	if lead != nil {
		strongest, r.Course.Repeats = lead.Strength, lead.repeats
	} else {
		for _, b := range r.Bursts {
			strongest = max(strongest, b.Strength)
		}
	}
	var sum, spread, weights float64
	var rated []*Burst
	for i := range r.Bursts {
		b := &r.Bursts[i]
		b.Faint = b.Strength < faint*strongest
		b.Odd = lead != nil && !math.IsNaN(b.Rate) && math.Abs(b.Rate-lead.Rate) > odd*lead.Rate
		if b.Faint || b.Odd {
			continue
		}
		r.Shots += b.Shots
		if b.Shots == 1 {
			r.Singles++
		}
		r.Outcome = max(r.Outcome, SingleShots)
		if math.IsNaN(b.Rate) {
			continue
		}
		r.Outcome = Bursts
		w := float64(b.Shots - 1)
		sum, weights = sum+w/b.Rate, weights+w
		sd := b.RateSD / (b.Rate * b.Rate) // of the period
		spread += w * w * sd * sd
		rated = append(rated, b)
	}
	if rated == nil {
		return
	}
	period := sum / weights
	variance := spread / (weights * weights)
	if n := len(rated); n > 1 {
		squares := 0.
		for _, b := range rated {
			d := 1/b.Rate - period
			squares += float64(b.Shots-1) * d * d
		}
		variance += squares / weights / float64(n-1)
	}
	r.RateOfFire = 1 / period
	r.RateSD = math.Sqrt(variance) / (period * period)
}

// Leading returns the burst that others are held against, that with the greatest sum of
// strengths; nil without one of three shots.
func (r *Result) Leading() (lead *Burst) {
	most := 0.
	for i := range r.Bursts {
		b := &r.Bursts[i]
		if math.IsNaN(b.Rate) {
			continue
		}
		sum := 0.
		for _, p := range b.Places {
			sum += p.Strength
		}
		if sum > most {
			lead, most = b, sum
		}
	}
	return lead
}
