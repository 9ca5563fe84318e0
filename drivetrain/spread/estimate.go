package spread

import (
	"math"
	"slices"
)

// Estimate is a statistic of the draws.
type Estimate struct {
	// Value is the statistic over all draws, NaN if there is none [the statistic's unit].
	Value float64
	// SE is its standard error, from how far the replicates lie apart; NaN where fewer than two of them have the statistic [the statistic's unit].
	SE float64
}

// none is a statistic that doesn't exist.
func none() Estimate { return Estimate{math.NaN(), math.NaN()} }

// estimate joins a statistic over all draws with what the replicates show each.
func estimate(value float64, replicates []float64) Estimate {
	var m moments
	for _, v := range replicates {
		if !math.IsNaN(v) {
			m.add(v)
		}
	}
	return Estimate{value, m.sd() / math.Sqrt(float64(m.n))}
}

// moments gathers mean and spread of numbers that come one by one (Welford,
// Technometrics 4, 1962, 419).
type moments struct {
	n         int
	mean, sum float64 // of squares about the mean
}

func (m *moments) add(v float64) {
	m.n++
	d := v - m.mean
	m.mean += d / float64(m.n)
	m.sum += d * (v - m.mean)
}

// average is the mean, NaN of nothing.
func (m *moments) average() float64 {
	if m.n == 0 {
		return math.NaN()
	}
	return m.mean
}

// sd is the standard deviation of what the numbers were drawn from, NaN of fewer than two.
func (m *moments) sd() float64 {
	if m.n < 2 {
		return math.NaN()
	}
	return math.Sqrt(m.sum / float64(m.n-1))
}

// variance is that of the numbers themselves, NaN of nothing.
func (m *moments) variance() float64 {
	if m.n == 0 {
		return math.NaN()
	}
	return m.sum / float64(m.n)
}

// Percents are the percentiles that an [Output] has.
func Percents() []float64 { return []float64{5, 25, 50, 75, 95} }

// percentile returns a percentile of sorted numbers by Hazen's plotting position, in
// which number i of n stands at (i − ½)/n (Trans. Am. Soc. Civ. Eng. 77, 1914, 1539);
// straight lines between, NaN of nothing.
func percentile(sorted []float64, percent float64) float64 {
	if len(sorted) == 0 {
		return math.NaN()
	}
	place := min(max(percent/100*float64(len(sorted))-0.5, 0), float64(len(sorted)-1))
	i := min(int(place), len(sorted)-2)
	if i < 0 {
		return sorted[0]
	}
	return sorted[i] + (place-float64(i))*(sorted[i+1]-sorted[i])
}

// sure is how many standard deviations 95 % of a normal distribution lie within.
const sure = 1.959963984540054

// Wilson returns the interval in which, by 95 %, the share lies from which a share of n
// draws was found (Wilson, J. Am. Stat. Assoc. 22, 1927, 209). It takes draws for random
// ones, and is wider than the truth where they are spread evenly.
func Wilson(share float64, n int) (low, high float64) {
	N, z2 := float64(n), sure*sure
	middle := (share + z2/(2*N)) / (1 + z2/N)
	half := sure / (1 + z2/N) * math.Sqrt(share*(1-share)/N+z2/(4*N*N))
	return max(0, middle-half), min(1, middle+half)
}

// sortedOf returns those of numbers that exist, in order, in a slice that is used again.
func sortedOf(into, numbers []float64, from, step int) []float64 {
	into = into[:0]
	for i := from; i < len(numbers); i += step {
		if v := numbers[i]; !math.IsNaN(v) {
			into = append(into, v)
		}
	}
	slices.Sort(into)
	return into
}
