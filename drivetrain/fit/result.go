package fit

import (
	"math"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/figure"
)

// Outcome says what became of the build.
type Outcome string

// Readings confirm the build as it is, or correct it.
const (
	Unchanged Outcome = "unchanged"
	Converged Outcome = "converged"
)

// Result is what readings tell of a build.
type Result struct {
	Outcome Outcome
	// Robust tells that readings which lie far off count by their distance, not its square.
	Robust bool
	// Unknowns are those that were fitted.
	Unknowns []Estimate
	// Unseen are the keys of those that the readings tell nothing of.
	Unseen []string
	Fit    Goodness
	// Readings are those of the file.
	Readings []Residual
	// Correlation is that of the unknowns, in their order [1].
	Correlation [][]float64
	// Singular are the singular values of the weighted slopes, falling: how many lie over 1
	// is how many combinations of unknowns the readings tell [1].
	Singular []float64
	// Together are pairs of unknowns that the readings tell only as one.
	Together []Pair
	// Contradictions are readings of the same that lie too far apart.
	Contradictions []Contradiction
	// Figures are those of the build before and after.
	Figures []Change
	// Target is the figure or unknown that Next is to tell of, Next the readings that
	// could be taken next, the best one first.
	Target string
	Next   []Next
	// LeftOut are the readings as the others predict them, if that was asked for.
	LeftOut  []LeftOut
	Warnings []Warning
}

// Estimate is an unknown with what became of it.
type Estimate struct {
	Unknown
	// Value is the estimate [SI].
	Value float64
	// SD is its standard deviation [SI].
	SD float64
	// Shift is by how many standard deviations of the prior it moved [1].
	Shift float64
	// ToldRatio is the standard deviation over that of the prior: 1 is nothing learnt [1].
	ToldRatio float64
	// Told tells that the readings tell of it at all.
	Told bool
	// AtBound tells that it would go on if it might.
	AtBound bool
}

// Goodness says how well readings and build agree.
type Goodness struct {
	// Chi2 is the sum of squares, of readings and priors [1].
	Chi2 float64
	// Readings and Priors are its parts [1].
	Readings, Priors float64
	// DOF is the number of readings: a prior is a reading of its unknown.
	DOF int
	// P is the chance of so large a sum by chance alone; NaN of a robust fit [1].
	P float64
	// Iterations counts the steps of the search, refused ones included.
	Iterations int
	// Evaluations counts simulations.
	Evaluations int
	// Starts counts where searches began, Minima where they ended.
	Starts, Minima int
}

// Agreement says what p means.
type Agreement int

// Readings and build agree, don't agree, or agree better than their ± allow.
const (
	Agree Agreement = iota
	Disagree
	TooWell
)

// Levels of p beyond which the ± are doubted [1].
const (
	leastP = 0.01
	mostP  = 0.99
)

// Agreement says whether readings and build agree. Of a robust fit, which has no p, it is
// Agree.
func (g *Goodness) Agreement() Agreement {
	switch {
	case g.P < leastP:
		return Disagree
	case g.P > mostP:
		return TooWell
	}
	return Agree
}

// Residual is a reading with what is computed of it.
type Residual struct {
	buildfile.Reading
	// Measured is what was read, and SD its standard deviation [SI].
	Measured, SD float64
	// Before is what the build says, After what the corrected one does [SI].
	Before, After float64
	// Residual is the distance, measured less computed, in standard deviations [1].
	Residual float64
	// Weight is what it counts [1].
	Weight float64
	// Leverage is how far the estimate follows it: 0 not at all, 1 wherever it goes [1].
	Leverage float64
	// Standardised is Residual over what chance leaves of it at that leverage [1].
	Standardised float64
	// Outlier tells that this is over 3.
	Outlier bool
}

// Pair is two unknowns that the readings tell only as one.
type Pair struct {
	// First and Second are places among the unknowns.
	First, Second int
	// Correlation is theirs [1].
	Correlation float64
}

// Contradiction is two readings of the same that lie too far apart.
type Contradiction struct {
	// First and Second are numbers of readings, from 1.
	First, Second int
	// Apart is their distance in standard deviations of it [1].
	Apart float64
}

// Change is a figure of the build before and after.
type Change struct {
	Figure figure.Info
	// Before and After are the figure's values [SI].
	Before, After float64
	// BeforeSD and AfterSD are their standard deviations [SI].
	BeforeSD, AfterSD float64
	// Verdict is that of the target, after; nil: it asks nothing of it.
	Verdict *figure.Verdict
}

// Next is a reading that could be taken next.
type Next struct {
	buildfile.Reading
	// SD would be its standard deviation [SI].
	SD float64
	// Reduction is the share of the target's variance that it would take away [1].
	Reduction float64
}

// LeftOut is a reading as the others predict it.
type LeftOut struct {
	// Reading is its number, from 1.
	Reading int
	// Predicted is what the others say, and PredictedSD how well [SI].
	Predicted, PredictedSD float64
	// Apart is how far the reading lies from it, in standard deviations of both [1].
	Apart float64
}

// Warning is something to look at.
type Warning struct {
	// Code is what kind of thing.
	Code string
	Text string
}

// Step is where a search has come to.
type Step struct {
	// Start is the number of the search, from 1; Number that of the step, from 0.
	Start, Number int
	// Chi2 is the sum of squares [1].
	Chi2 float64
	// Damping is that of the step to come [1].
	Damping float64
	// Values are those of the unknowns that are fitted [SI].
	Values []float64
}

// Outliers are the numbers of the readings that are, from 1.
func (r *Result) Outliers() (all []int) {
	for i := range r.Readings {
		if r.Readings[i].Outlier {
			all = append(all, i+1)
		}
	}
	return all
}

// Combinations is how many combinations of unknowns the readings tell.
func (r *Result) Combinations() (n int) {
	for _, s := range r.Singular {
		if s > 1 {
			n++
		}
	}
	return n
}

// Missed lists the figures that miss the target after.
func (r *Result) Missed() (all []string) {
	for i := range r.Figures {
		if v := r.Figures[i].Verdict; v != nil && v.Fate != figure.Met {
			all = append(all, r.Figures[i].Figure.Name)
		}
	}
	return all
}

// Doubted tells whether something speaks against the fit: readings and build that don't
// agree, an outlier, a contradiction.
func (r *Result) Doubted() bool {
	return r.Fit.Agreement() == Disagree || len(r.Outliers()) > 0 || len(r.Contradictions) > 0
}

// NextAfter is the best reading to take next; false if none would tell anything.
func (r *Result) NextAfter() (Next, bool) {
	if len(r.Next) == 0 || !(r.Next[0].Reduction > 0) || math.IsNaN(r.Next[0].Reduction) {
		return Next{}, false
	}
	return r.Next[0], true
}
