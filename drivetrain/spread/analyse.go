package spread

import (
	"context"
	"math"
	"slices"
)

// Analysis is what the draws of a function's inputs make of its outputs.
type Analysis struct {
	// Settings are those that the draws were made by, defaults put in.
	Settings Settings
	// Outputs has the statistics of each.
	Outputs []Output
	// Evaluations is how often the function was asked.
	Evaluations int

	inputs []Input
	nets   []*net
	points int       // of a replicate
	a      []float64 // the outputs at the draws, draw by draw
	b      []float64 // and at the first ones' partners, of whom the drivers ask
}

// Output is what is known of one of the outputs. Statistics are over the draws in which it
// exists, and NaN where they have no meaning.
type Output struct {
	// Exists is the share of draws in which the output exists.
	Exists Estimate
	// Mean and SD are its mean and standard deviation.
	Mean, SD Estimate
	// Percentiles are those of [Percents].
	Percentiles [5]Estimate
	// Drivers tell for each input how much it decides; nil if they weren't asked for, the
	// output doesn't vary, or a pair of draws has it in too few cases (see leastJoint).
	Drivers []Driver
	// WithinSD is the standard deviation within one of a kind, from shot to shot, and
	// BetweenSD that from one to another; NaN where drivers would be nil, or where
	// inputs of one sort only vary.
	WithinSD, BetweenSD Estimate
}

// Driver is how much one input decides of an output's variance.
type Driver struct {
	// First is the share that would go if the input didn't vary (Saltelli et al., Comput.
	// Phys. Commun. 181, 2010, 259, table 2).
	First Estimate
	// Total is the share that would stay if nothing but the input varied, with all that it
	// does together with others (Jansen, Comput. Phys. Commun. 117, 1999, 35).
	Total Estimate
}

// leastJoint is the share of points that must have an output, as drawn and with an input
// changed, for its drivers to be told.
const leastJoint = 0.9

// Analyse draws inputs, asks a function for its outputs at each draw, and returns what
// these show. The function is called from many goroutines at once, with x the inputs and y
// to be filled: NaN is an output that doesn't exist there. What it returns as an error ends
// all, and the first draw's is returned.
//
// What comes out depends on inputs, function and settings alone, whatever the cores. Of each
// draw only its outputs are kept.
func Analyse(ctx context.Context, inputs []Input, f func(x, y []float64) error, settings Settings) (*Analysis, error) {
	if err := settings.Validate(); err != nil {
		return nil, err
	}
	settings.set()
	if err := settings.checkInputs(inputs); err != nil {
		return nil, err
	}
	a := newAnalysis(inputs, settings)
	d, between, within := len(inputs), 0, 0
	for i := range inputs {
		if slices.Contains(settings.Within, i) {
			within++
		} else {
			between++
		}
	}
	split := within > 0 && between > 0
	m := settings.Drivers
	all := settings.Draws
	if m > 0 {
		all += m * (1 + d)
		if split && within > 1 {
			all += m
		}
	}
	work := &labour{ctx: ctx, f: f, outputs: settings.Outputs, all: all, progress: settings.Progress}
	a.a = make([]float64, settings.Draws*settings.Outputs)
	if err := work.do(a.a, len(inputs), settings.Draws, func(x []float64, i int) { a.At(x, i) }); err != nil {
		return nil, err
	}
	a.describe()
	if m > 0 {
		if err := a.drive(work, split, within); err != nil {
			return nil, err
		}
	}
	a.Evaluations = work.done
	return a, nil
}

// newAnalysis makes the points; settings have their defaults.
func newAnalysis(inputs []Input, settings Settings) *Analysis {
	a := &Analysis{Settings: settings, inputs: slices.Clone(inputs), points: settings.Draws / settings.Replicates}
	a.nets = make([]*net, settings.Replicates)
	for r := range a.nets {
		a.nets[r] = newNet(2*len(inputs), settings.Seed, r)
	}
	return a
}

// Place returns which replicate a draw is of, and which point of it.
func (a *Analysis) Place(draw int) (replicate, point int) { return draw / a.points, draw % a.points }

// At fills x with the inputs of a draw.
func (a *Analysis) At(x []float64, draw int) {
	a.shares(x, draw)
	for i, in := range a.inputs {
		x[i] = in.Quantile(x[i])
	}
}

// shares fills u with the shares from which the inputs of a draw follow.
func (a *Analysis) shares(u []float64, draw int) {
	r, p := a.Place(draw)
	a.nets[r].point(u, p, 0)
}

// Values returns the outputs of a draw, which are to be read only.
func (a *Analysis) Values(draw int) []float64 {
	k := a.Settings.Outputs
	return a.a[draw*k : (draw+1)*k : (draw+1)*k]
}

// Share returns the share of draws whose outputs are such as is tells.
func (a *Analysis) Share(is func(y []float64) bool) Estimate {
	return a.over(a.points, func(from, to int) float64 {
		n := 0
		for i := from; i < to; i++ {
			if is(a.Values(i)) {
				n++
			}
		}
		return float64(n) / float64(to-from)
	})
}

// over takes a statistic over all draws, and over those of each replicate, of which there
// are so many.
func (a *Analysis) over(points int, statistic func(from, to int) float64) Estimate {
	each := make([]float64, a.Settings.Replicates)
	for r := range each {
		each[r] = statistic(r*points, (r+1)*points)
	}
	return estimate(statistic(0, points*len(each)), each)
}

// describe makes the statistics of each output by itself.
func (a *Analysis) describe() {
	k := a.Settings.Outputs
	a.Outputs = make([]Output, k)
	sorted := make([]float64, 0, a.Settings.Draws)
	for j := range a.Outputs {
		o := &a.Outputs[j]
		o.Exists = a.Share(func(y []float64) bool { return !math.IsNaN(y[j]) })
		gather := func(from, to int) (m moments) {
			for i := from; i < to; i++ {
				if v := a.a[i*k+j]; !math.IsNaN(v) {
					m.add(v)
				}
			}
			return m
		}
		o.Mean = a.over(a.points, func(from, to int) float64 { m := gather(from, to); return m.average() })
		o.SD = a.over(a.points, func(from, to int) float64 { m := gather(from, to); return m.sd() })
		var each [5][]float64
		for r := range a.Settings.Replicates {
			sorted = sortedOf(sorted, a.a[:(r+1)*a.points*k], r*a.points*k+j, k)
			for p, percent := range Percents() {
				each[p] = append(each[p], percentile(sorted, percent))
			}
		}
		sorted = sortedOf(sorted, a.a, j, k)
		for p, percent := range Percents() {
			o.Percentiles[p] = estimate(percentile(sorted, percent), each[p])
		}
		o.WithinSD, o.BetweenSD = none(), none()
	}
}

// Correlation is Pearson's, of two outputs over the draws in which both exist; NaN where one of
// them doesn't vary.
func (a *Analysis) Correlation(i, j int) float64 {
	var x, y moments
	product := 0.
	for draw := range a.Settings.Draws {
		v := a.Values(draw)
		if math.IsNaN(v[i]) || math.IsNaN(v[j]) {
			continue
		}
		off := v[i] - x.mean
		x.add(v[i])
		y.add(v[j])
		product += off * (v[j] - y.mean)
	}
	if !varies(&x) || !varies(&y) {
		return math.NaN()
	}
	if i == j {
		return 1
	}
	return min(max(product/math.Sqrt(x.sum*y.sum), -1), 1)
}

// varies tells whether numbers differ by more than their last digits.
func varies(m *moments) bool {
	const last = 1e-14
	return m.n > 1 && m.variance() > last*last*m.mean*m.mean
}
