package fit

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"example.org/ampstroke/drivetrain/internal/lsq"
)

// Huber's constant: a reading counts by its square up to so many standard deviations, and
// by its distance beyond (Huber 1964; 1.345 gives up 5 % where all readings are good) [1].
const huber = 1.345

// gain ends a search when the undamped step would lower S by no more: a thousandth of a
// posterior standard deviation [1].
const gain = 1e-6

// mostSteps bounds a search.
const mostSteps = 100

// mostRounds bounds how often a robust fit weighs its readings anew.
const mostRounds = 300

// enough is by how little no unknown may move for the weights to be left [1].
const enough = 1e-4

// reading is a gauge with what was measured.
type reading struct {
	gauge
	value, sd float64 // [SI]
}

// estimate is where a search has ended.
type estimate struct {
	u       []float64  // of all unknowns; those that are not fitted are 0 [1]
	values  []float64  // of the readings, computed [SI]
	weights []float64  // of the readings [1]
	slopes  *mat.Dense // of the residuals by the fitted unknowns, unweighted [1]
	chi2    float64    // S [1]
	parts   [2]float64 // of readings and of priors [1]
	steps   int
}

// Unfinished says that a search has not converged in the steps that it may take.
type Unfinished struct {
	// Steps is how many it took.
	Steps int
	// Unknowns are those that moved.
	Unknowns []Unknown
	// Values are what they had come to [SI].
	Values []float64
	// Chi2 is S there [1].
	Chi2 float64
}

func (e *Unfinished) Error() string {
	text := fmt.Sprintf("the fit has not converged in %d steps; it came to chi2 %.6g with", e.Steps, e.Chi2)
	for i := range e.Unknowns {
		k := &e.Unknowns[i]
		text += fmt.Sprintf("\n  %s = %s", k.Key, k.Kind.Format(e.Values[i]))
	}
	return text
}

// solver estimates the unknowns which from readings.
type solver struct {
	*model
	readings []reading
	which    []int
	robust   bool
	watch    func(Step)
	start    int // number of the start, for watch
}

func (s *solver) gauges(readings []reading) []gauge {
	all := make([]gauge, len(readings))
	for j := range readings {
		all[j] = readings[j].gauge
	}
	return all
}

// parts are Σρ of the readings and Σu² of the priors.
func (s *solver) parts(values, u []float64) (parts [2]float64) {
	for j := range s.readings {
		r := math.Abs(values[j]-s.readings[j].value) / s.readings[j].sd
		if s.robust && r > huber {
			parts[0] += 2*huber*r - huber*huber
		} else {
			parts[0] += r * r
		}
	}
	for _, i := range s.which {
		parts[1] += u[i] * u[i]
	}
	return parts
}

// solve searches from a start, u of all unknowns. With robust, it weighs the readings anew
// after each search until no unknown moves any more. The error is an Unfinished, a NoSlope,
// lsq.ErrOutside at a start that can't be computed, or the context's.
func (s *solver) solve(ctx context.Context, start []float64) (*estimate, error) {
	e := &estimate{u: slices.Clone(start), weights: make([]float64, len(s.readings))}
	for j := range e.weights {
		e.weights[j] = 1
	}
	var last []float64 // by what the round before moved
	for range mostRounds {
		before := slices.Clone(e.u)
		if err := s.search(ctx, e); err != nil {
			return nil, err
		}
		if !s.robust {
			return e, nil
		}
		moves := make([]float64, len(e.u))
		floats.SubTo(moves, e.u, before)
		same := s.weigh(e, e.values)
		if same || floats.Norm(moves, math.Inf(1)) < enough {
			return e, nil
		}
		leaped, err := s.leap(ctx, e, last, moves)
		if err != nil {
			return nil, err
		}
		if last = moves; leaped {
			last = nil
		}
	}
	return nil, s.unfinished(e)
}

// weigh gives the readings their weights by what is computed of them, and tells whether they
// are what they were.
func (s *solver) weigh(e *estimate, values []float64) (same bool) {
	same = true
	for j := range s.readings {
		r := math.Abs(values[j]-s.readings[j].value) / s.readings[j].sd
		w := 1.
		if r > huber {
			w = huber / r
		}
		same = same && w == e.weights[j]
		e.weights[j] = w
	}
	return same
}

// leap goes to where rounds lead that each move by a share of what the one before did: with
// readings far off, that share is hardly less than 1. It stays where S would not fall.
func (s *solver) leap(ctx context.Context, e *estimate, last, moves []float64) (bool, error) {
	if last == nil {
		return false, nil
	}
	share := floats.Dot(moves, last) / floats.Dot(last, last)
	if !(share > leastShare && share < mostShare) {
		return false, nil
	}
	u := slices.Clone(e.u)
	floats.AddScaled(u, share/(1-share), moves)
	for _, i := range s.which {
		u[i] = min(max(u[i], s.unknowns[i].Lower), s.unknowns[i].Upper)
	}
	all, _, err := s.values(ctx, [][]float64{u}, nil, s.gauges(s.readings))
	if err != nil {
		return false, err
	}
	if parts := s.parts(all[0], u); !(parts[0]+parts[1] < e.chi2) {
		return false, nil
	}
	copy(e.u, u)
	s.weigh(e, all[0])
	return true, nil
}

// Rounds that move by shares between these lead somewhere [1].
const (
	leastShare = 0.3
	mostShare  = 0.999
)

func (s *solver) unfinished(e *estimate) error {
	err := &Unfinished{Steps: e.steps, Chi2: e.chi2}
	for _, i := range s.which {
		k := &s.unknowns[i]
		err.Unknowns = append(err.Unknowns, *k)
		err.Values = append(err.Values, k.At(e.u[i]))
	}
	return err
}

// search searches with the weights as they are, from where e is.
func (s *solver) search(ctx context.Context, e *estimate) error {
	m, n := len(s.readings), len(s.which)
	gauges := s.gauges(s.readings)
	full := slices.Clone(e.u)
	values := make([]float64, m) // of the point that was looked at last
	of := map[string][]float64{} // values by point: the search asks for slopes where it has been
	place := func(u []float64) []float64 {
		for c, i := range s.which {
			full[i] = u[c]
		}
		return full
	}
	key := func(u []float64) string { return fmt.Sprint(u) }
	slopes := mat.NewDense(m, max(n, 1), nil)
	p := lsq.Problem{
		Rows: m + n, Columns: n,
		Lower: make([]float64, n), Upper: make([]float64, n),
		Residuals: func(ctx context.Context, dst, u []float64) error {
			all, why, err := s.values(ctx, [][]float64{place(u)}, nil, gauges)
			if err != nil {
				return err
			}
			copy(values, all[0])
			for j := range s.readings {
				r := &s.readings[j]
				if math.IsNaN(values[j]) {
					return fmt.Errorf("reading %d, %s: %v: %w", j+1, r.figure.Name, why[0][r.condition], lsq.ErrOutside)
				}
				dst[j] = math.Sqrt(e.weights[j]) * (values[j] - r.value) / r.sd
			}
			copy(dst[m:], u)
			clear(of)
			of[key(u)] = slices.Clone(values)
			return nil
		},
		Jacobian: func(ctx context.Context, dst *mat.Dense, u []float64) error {
			j, err := s.model.slopes(ctx, place(u), of[key(u)], gauges, s.which)
			if err != nil {
				return err
			}
			dst.Zero()
			for r := range s.readings {
				for c, i := range s.which {
					v := j.At(r, c) / s.readings[r].sd
					if math.IsNaN(v) {
						return &NoSlope{s.unknowns[i].Key, r + 1, s.readings[r].figure.Name}
					}
					slopes.Set(r, c, v)
					dst.Set(r, c, math.Sqrt(e.weights[r])*v)
				}
			}
			for c := range n {
				dst.Set(m+c, c, 1)
			}
			return nil
		},
	}
	start := make([]float64, n)
	for c, i := range s.which {
		k := &s.unknowns[i]
		start[c], p.Lower[c], p.Upper[c] = e.u[i], k.Lower, k.Upper
	}
	steps := e.steps
	res, err := lsq.Solve(ctx, p, start, lsq.Settings{Gain: gain, Steps: mostSteps, Watch: func(step lsq.Step) {
		if s.watch == nil {
			return
		}
		u := place(step.U)
		parts := s.parts(values, u)
		x := make([]float64, n)
		for c, i := range s.which {
			x[c] = s.unknowns[i].At(u[i])
		}
		s.watch(Step{Start: s.start, Number: steps + step.Number, Chi2: parts[0] + parts[1], Damping: step.Damping, Values: x})
	}})
	if err != nil {
		return err
	}
	for c, i := range s.which {
		e.u[i] = res.U[c]
	}
	e.steps += res.Steps
	e.slopes = slopes
	e.values = make([]float64, m)
	for j := range s.readings {
		r := &s.readings[j]
		e.values[j] = r.value + res.R[j]/math.Sqrt(e.weights[j])*r.sd
	}
	e.parts = s.parts(e.values, e.u)
	e.chi2 = e.parts[0] + e.parts[1]
	// Where readings and build are far apart, S is not told to the gain asked for: an error of
	// the simulations, some 1e-6, moves a residual of hundreds.
	if res.Status != lsq.Converged && res.Gain > gain*(1+res.S) {
		return s.unfinished(e)
	}
	return nil
}
