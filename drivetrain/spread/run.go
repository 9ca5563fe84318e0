package spread

import (
	"context"
	"fmt"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/study"
)

// Result is how guns spread that are built alike.
type Result struct {
	Build *drivetrain.Build
	// Settings are those that the draws were made by, defaults put in.
	Settings Settings
	// Evaluations is how many guns were fired.
	Evaluations int
	// Keys are those that vary.
	Keys []Key
	// Nominal is the build as it stands in the file.
	Nominal *study.Examination
	// Meets is the share of guns that meet all wants, Sound that of those that have no
	// failure besides.
	Meets, Sound Share
	// Wants are those of the target, each with the share of guns that meet it.
	Wants []WantShare
	// Failures are the shares of guns with a misfit, no end, a stall, or a fault of some
	// code; Warnings those with a caution. Only those that occurred.
	Failures, Warnings []CodeShare
	// Misfits are the draws that give no build that can be, by the key at fault.
	Misfits []Misfit
	// Figures are those of the target, the headline ones, and those asked for.
	Figures []Figure
	// MeetsDrivers and SoundDrivers tell which keys decide whether a gun meets all wants,
	// and whether it is sound besides; nil where that isn't told.
	MeetsDrivers, SoundDrivers []Driver
	// Correlation is that of each pair of Figures; NaN where there is none [1].
	Correlation [][]float64
	// Reach is how more guns could be sound; nil if it wasn't asked.
	Reach *Reach

	guns     *guns
	analysis *Analysis
}

// Share is a share of all draws.
type Share struct {
	Estimate
	// Low is the lower end of its interval by Wilson, of 95 % [1].
	Low float64
	// High is the upper end [1].
	High float64
}

// WantShare is a want with the share of guns that meet it.
type WantShare struct {
	figure.Want
	Share Share
}

// CodeShare is a failure or a caution with the share of guns that have it.
type CodeShare struct {
	Code  string
	Share Share
}

// Misfit is a key by which draws give no build that can be.
type Misfit struct {
	Key string
	// Draws is how many there are.
	Draws int
	// Text says what is wrong with the first of them.
	Text string
}

// Figure is one of the figures with how it spreads.
type Figure struct {
	figure.Info
	Output
}

// Run draws guns whose keys vary, fires each, and tells how their figures spread, how many
// meet the target and stay whole, and what decides it. Of the settings, Outputs and Within
// are its own.
//
// Errors of the question name a figure or a key ([quantity.Fault]), or are
// [ErrNothingVaries] or [ErrAllMisfit]; those of a key are buildfile.Faults too.
func Run(ctx context.Context, q Question, settings Settings) (*Result, error) {
	if err := settings.Validate(); err != nil {
		return nil, err
	}
	figures, err := q.asks()
	if err != nil {
		return nil, err
	}
	keys, err := q.keys()
	if err != nil {
		return nil, err
	}
	g, err := newGuns(&q, figures, keys)
	if err != nil {
		return nil, err
	}
	r := &Result{Build: q.Document.Build, Keys: keys, guns: g}
	if r.Nominal, err = study.Examine(ctx, q.Document.Build, q.Document.Target, q.Cycle); err != nil {
		return nil, err
	}
	settings.set()
	settings.Outputs, settings.Within = g.outputs(), nil
	if settings.Drivers == 0 {
		settings.Drivers = -1
	}
	inputs := make([]Input, len(keys))
	for i := range keys {
		inputs[i] = keys[i].input(0, 1)
		if keys[i].Shot {
			settings.Within = append(settings.Within, i)
		}
	}
	fire := func(x, y []float64) error { return g.fire(ctx, x, y) }
	made, tell := 0, settings.Progress
	if tell != nil && q.Reach > 0 { // what the search fires is guessed until it is done
		extra := extraDraws(settings.Draws)
		settings.Progress = func(done, all int) { tell(made+done, max(made+done, all+extra)) }
	}
	r.analysis, err = Analyse(ctx, inputs, fire, settings)
	if err != nil {
		return nil, err
	}
	r.Settings, r.Evaluations = r.analysis.Settings, r.analysis.Evaluations
	if err := r.sum(ctx); err != nil {
		return nil, err
	}
	if q.Reach > 0 {
		all := r.Evaluations
		err := r.reach(ctx, q.Reach, func(ctx context.Context, inputs []Input, seed uint64) (*Analysis, error) {
			s := settings
			s.Seed, s.Draws = seed, settings.Draws/confirming
			a := newAnalysis(inputs, s)
			a.a = make([]float64, s.Draws*s.Outputs)
			work := &labour{ctx: ctx, f: fire, outputs: s.Outputs, all: all, progress: s.Progress}
			made = r.Evaluations
			err := work.do(a.a, len(inputs), s.Draws, func(x []float64, i int) { a.At(x, i) })
			r.Evaluations += work.done
			return a, err
		})
		if err != nil {
			return nil, err
		}
	}
	return r, ctx.Err() // whoever interrupts the last draw wants nothing of it
}

// share counts draws.
func (r *Result) share(is func(y []float64) bool) Share { return shareOf(r.analysis, is) }

func shareOf(a *Analysis, is func(y []float64) bool) Share {
	s := Share{Estimate: a.Share(is)}
	s.Low, s.High = Wilson(s.Value, a.Settings.Draws)
	return s
}

// sum makes the shares and figures.
func (r *Result) sum(ctx context.Context) error {
	g, a, n := r.guns, r.analysis, len(r.guns.figures)
	if err := r.misfits(ctx); err != nil {
		return err
	}
	r.Meets = r.share(func(y []float64) bool { return y[n+atMeets] == 1 })
	r.Sound = r.share(func(y []float64) bool { return y[n+atSound] == 1 })
	for _, w := range g.target {
		at := g.at(w.Figure)
		r.Wants = append(r.Wants, WantShare{w, r.share(func(y []float64) bool { return w.Judge(y[at]).Fate == figure.Met })})
	}
	add := func(to *[]CodeShare, code string, is func(y []float64) bool) {
		if s := r.share(is); s.Value > 0 {
			*to = append(*to, CodeShare{code, s})
		}
	}
	add(&r.Failures, "misfit", func(y []float64) bool { return g.outcome(y) >= misfit })
	add(&r.Failures, "unfinished", func(y []float64) bool { return g.outcome(y) == unfinished })
	add(&r.Failures, "stall", func(y []float64) bool { return g.outcome(y) == stalls })
	for _, fault := range []bool{true, false} {
		to := &r.Failures
		if !fault {
			to = &r.Warnings
		}
		for _, code := range g.codes(fault) {
			bit := g.bits[code]
			add(to, code, func(y []float64) bool { return g.has(y, bit) })
		}
	}
	for i, f := range g.figures {
		r.Figures = append(r.Figures, Figure{f, a.Outputs[i]})
		row := make([]float64, n)
		for j := range row {
			row[j] = a.Correlation(i, j)
		}
		r.Correlation = append(r.Correlation, row)
	}
	r.MeetsDrivers, r.SoundDrivers = a.Outputs[n+atMeets].Drivers, a.Outputs[n+atSound].Drivers
	return nil
}

// misfits counts the draws that give no build, by key.
func (r *Result) misfits(ctx context.Context) error {
	g, a := r.guns, r.analysis
	index := map[string]int{}
	all := 0
	for draw := range a.Settings.Draws {
		k := g.outcome(a.Values(draw)) - misfit
		if k < 0 {
			continue
		}
		all++
		i, known := index[g.keys[k]]
		if !known {
			x := make([]float64, len(r.Keys))
			a.At(x, draw)
			text, err := g.reason(ctx, x)
			if err != nil {
				return err
			}
			i = len(r.Misfits)
			index[g.keys[k]] = i
			r.Misfits = append(r.Misfits, Misfit{Key: g.keys[k], Text: text})
		}
		r.Misfits[i].Draws++
	}
	slices.SortStableFunc(r.Misfits, func(a, b Misfit) int { return b.Draws - a.Draws })
	if all == a.Settings.Draws {
		return fmt.Errorf("%w: %s: %s", ErrAllMisfit, r.Misfits[0].Key, r.Misfits[0].Text)
	}
	return nil
}

// Draw is one gun that was fired.
type Draw struct {
	// Replicate and Point say which it is.
	Replicate, Point int
	// Keys are the values of those that vary [SI].
	Keys []float64
	// Figures are the values of those looked at, NaN where it has none [SI].
	Figures []float64
	// Outcome is that of its cycle, or misfit or unfinished.
	Outcome string
	// Failures are the codes of its faults.
	Failures []string
	// Meets tells that it meets all wants, Sound that it has no failure besides.
	Meets, Sound bool
}

// Draws gives each gun that was fired for shares and figures, of which the next one
// overwrites the last; the drivers' aren't among them.
func (r *Result) Draws(yield func(*Draw) bool) {
	g, a, n := r.guns, r.analysis, len(r.guns.figures)
	faults := g.codes(true)
	d := Draw{Keys: make([]float64, len(r.Keys))}
	for draw := range a.Settings.Draws {
		y := a.Values(draw)
		d.Replicate, d.Point = a.Place(draw)
		a.At(d.Keys, draw)
		d.Figures = y[:n:n]
		d.Meets, d.Sound = y[n+atMeets] == 1, y[n+atSound] == 1
		d.Failures = d.Failures[:0]
		d.Outcome = []string{"steady", "single", "stall", "unfinished", "misfit"}[min(g.outcome(y), misfit)]
		if o := g.outcome(y); o >= stalls {
			d.Failures = append(d.Failures, d.Outcome)
		}
		for _, code := range faults {
			if g.has(y, g.bits[code]) {
				d.Failures = append(d.Failures, code)
			}
		}
		if !yield(&d) {
			return
		}
	}
}

// Leading returns which key decides most, by its total; −1 where none can be told.
func Leading(drivers []Driver) int {
	best := -1
	for i, d := range drivers {
		if Told(d.Total) && (best < 0 || d.Total.Value > drivers[best].Total.Value) {
			best = i
		}
	}
	return best
}

// Told tells whether a statistic stands out of its error: that is known, and at most a
// third of it.
func Told(e Estimate) bool { return e.SE <= math.Abs(e.Value)/3 }

// Faults lists what is wrong with the nominal build.
func (r *Result) Faults() finding.List { return r.Nominal.Findings.Of(finding.Fault) }
