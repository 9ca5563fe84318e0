package lsq

import (
	"context"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// ErrOutside says that the residuals have no value at a point. Residuals return it, or an
// error that wraps it; Solve turns back there.
var ErrOutside = errors.New("no residuals at this point")

// Problem is what a sum of squares is made of.
type Problem struct {
	// Rows is the number of residuals, Columns that of unknowns.
	Rows, Columns int
	// Residuals puts r(u) into dst. An error that is ErrOutside tells that there is none
	// at u; any other ends the search.
	Residuals func(ctx context.Context, dst, u []float64) error
	// Jacobian puts ∂r/∂u into dst, of Rows and Columns. It is asked only at points at
	// which Residuals was asked last, or before points that were refused since. Any error
	// ends the search.
	Jacobian func(ctx context.Context, dst *mat.Dense, u []float64) error
	// Lower and Upper bound each unknown; nil: none is bounded [1].
	Lower, Upper []float64
}

// Settings are those of a search. The zero value is good for residuals in units of their
// standard deviation.
type Settings struct {
	// Gain ends the search when the undamped step would lower S by no more, or by no more
	// than that share of S if Relative is set [1]. The default is 1e-6, a thousandth of a
	// standard deviation.
	Gain float64
	// Relative takes Gain as a share of S.
	Relative bool
	// Step ends the search when no unknown would move by more than this share of itself
	// [1]. The default is none: it is Stuck once a step is too short to be one.
	Step float64
	// Steps is the largest number of steps, refused ones included. The default is 100.
	Steps int
	// Damping is the first μ [1]. The default is 1e-3.
	Damping float64
	// Watch, unless nil, is told of the start and of every step that was taken. What it
	// is told of is overwritten later.
	Watch func(Step)
}

// Step is where a search has come to.
type Step struct {
	// Number counts the steps, refused ones included; 0 is the start.
	Number int
	// U are the unknowns [1].
	U []float64
	// S is the sum of squares [1].
	S float64
	// Damping is the μ of the step to come [1].
	Damping float64
}

// Status says why a search has ended.
type Status int

// A search has converged by the gain or the step asked for, has taken all its steps, or can
// take none that is short enough to help.
const (
	Converged Status = iota
	TooManySteps
	Stuck
)

// Result is where a search has ended.
type Result struct {
	Status Status
	// U are the unknowns with the least S [1].
	U []float64
	// R are the residuals there [1].
	R []float64
	// S is the sum of their squares [1].
	S float64
	// Jacobian is ∂r/∂u there.
	Jacobian *mat.Dense
	// Gain is by how much the undamped step would lower S there, if r were straight [1].
	Gain float64
	// Steps counts the steps, refused ones included.
	Steps int
}

// floor is the least gain ratio of a step that is taken.
const floor = 1e-4

// Solve looks for the least sum of squares from the point start. The error is that of
// Residuals at the start, any of theirs that isn't ErrOutside, or the context's.
func Solve(ctx context.Context, p Problem, start []float64, s Settings) (*Result, error) {
	if s.Gain == 0 {
		s.Gain = 1e-6
	}
	if s.Steps == 0 {
		s.Steps = 100
	}
	if s.Damping == 0 {
		s.Damping = 1e-3
	}
	if len(start) != p.Columns {
		panic(fmt.Sprintf("lsq: %d values for %d unknowns", len(start), p.Columns))
	}
	m, n := p.Rows, p.Columns
	w := &search{Problem: p, scale: make([]float64, n), held: make([]bool, n), p: make([]float64, n)}
	res := &Result{U: make([]float64, n), R: make([]float64, m), Jacobian: mat.NewDense(m, n, nil)}
	for i, u := range start {
		res.U[i] = w.clamp(i, u)
	}
	if err := p.Residuals(ctx, res.R, res.U); err != nil {
		return nil, err
	}
	if res.S = floats.Dot(res.R, res.R); math.IsNaN(res.S) || math.IsInf(res.S, 0) {
		return nil, fmt.Errorf("the start: %w", ErrOutside)
	}
	if err := p.Jacobian(ctx, res.Jacobian, res.U); err != nil {
		return nil, err
	}
	u, r := make([]float64, n), make([]float64, m)
	mu, nu := s.Damping, 2.
	watch := func() {
		if s.Watch != nil {
			s.Watch(Step{Number: res.Steps, U: res.U, S: res.S, Damping: mu})
		}
	}
	watch()
	for fresh := true; ; {
		if fresh {
			w.hold(res)
			gain := s.Gain
			if s.Relative {
				gain *= res.S
			}
			if res.Gain = 0; w.free > 0 {
				res.Gain = w.step(res, 0)
			}
			if res.Gain <= gain {
				return res, nil
			}
		}
		if res.Steps == s.Steps {
			res.Status = TooManySteps
			return res, nil
		}
		res.Steps++
		w.step(res, mu)
		moves := 0.
		for i := range u {
			u[i] = w.clamp(i, res.U[i]+w.p[i])
			w.p[i] = u[i] - res.U[i]
			moves = max(moves, math.Abs(w.p[i])/max(math.Abs(res.U[i]), math.SmallestNonzeroFloat64))
		}
		if moves <= s.Step {
			if s.Step == 0 {
				res.Status = Stuck
			}
			return res, nil
		}
		sum := math.Inf(1)
		switch err := p.Residuals(ctx, r, u); {
		case err == nil:
			if sum = floats.Dot(r, r); math.IsNaN(sum) {
				sum = math.Inf(1)
			}
		case !errors.Is(err, ErrOutside):
			return nil, err
		}
		ratio := (res.S - sum) / w.predicted(res)
		if fresh = sum < res.S && ratio > floor; !fresh {
			mu *= nu
			nu *= 2
			if math.IsInf(mu, 0) {
				res.Status = Stuck
				return res, nil
			}
			continue
		}
		copy(res.U, u)
		copy(res.R, r)
		res.S = sum
		mu *= max(1./3, 1-math.Pow(2*ratio-1, 3))
		nu = 2
		if err := p.Jacobian(ctx, res.Jacobian, res.U); err != nil {
			return nil, err
		}
		watch()
	}
}

// search is what a search works with.
type search struct {
	Problem
	scale []float64 // D: the largest norm of each column so far
	held  []bool    // stands at a bound that it is driven against
	free  int       // how many are not held
	p     []float64 // the step, 0 of those held
}

// clamp returns the value of unknown i that is within its bounds.
func (w *search) clamp(i int, u float64) float64 {
	if w.Lower != nil {
		u = max(u, w.Lower[i])
	}
	if w.Upper != nil {
		u = min(u, w.Upper[i])
	}
	return u
}

// hold looks at a new Jacobian: how long its columns are, and which unknowns are driven
// against their bounds.
func (w *search) hold(res *Result) {
	w.free = 0
	column := make([]float64, w.Rows)
	for i := range w.scale {
		mat.Col(column, i, res.Jacobian)
		w.scale[i] = max(w.scale[i], floats.Norm(column, 2))
		slope := floats.Dot(column, res.R)
		w.held[i] = w.Lower != nil && res.U[i] <= w.Lower[i] && slope > 0 ||
			w.Upper != nil && res.U[i] >= w.Upper[i] && slope < 0
		if !w.held[i] {
			w.free++
		}
	}
}

// step finds the step of a damping and returns by how much it would lower S if the
// residuals were linear.
func (w *search) step(res *Result, mu float64) float64 {
	n := w.free
	rows := w.Rows
	if mu > 0 {
		rows += n
	}
	// The residuals stand behind the columns, so that their part in the columns' space
	// comes out in the last column of R.
	a := mat.NewDense(max(rows, n+1), n+1, nil)
	var length []float64 // of each column, which is taken to 1: units must not matter
	k := 0
	for i, held := range w.held {
		if held {
			continue
		}
		d := w.scale[i]
		if d == 0 { // nothing depends on it
			d = 1
		}
		length = append(length, d)
		for j := range w.Rows {
			a.Set(j, k, res.Jacobian.At(j, i)/d)
		}
		if mu > 0 {
			a.Set(w.Rows+k, k, math.Sqrt(mu))
		}
		k++
	}
	for j, r := range res.R {
		a.Set(j, n, -r)
	}
	var qr mat.QR
	qr.Factorize(a)
	var t mat.Dense
	qr.RTo(&t)
	if mu == 0 {
		gain := 0.
		for k := range n {
			gain += t.At(k, n) * t.At(k, n)
		}
		return gain
	}
	clear(w.p)
	x := make([]float64, n)
	for k := n - 1; k >= 0; k-- {
		x[k] = t.At(k, n)
		for j := k + 1; j < n; j++ {
			x[k] -= t.At(k, j) * x[j]
		}
		x[k] /= t.At(k, k)
	}
	k = 0
	for i, held := range w.held {
		if !held {
			w.p[i] = x[k] / length[k]
			k++
		}
	}
	return w.predicted(res)
}

// predicted returns by how much the step lowers S if the residuals are linear.
func (w *search) predicted(res *Result) float64 {
	var after mat.VecDense
	after.MulVec(res.Jacobian, mat.NewVecDense(len(w.p), w.p))
	sum := 0.
	for j, r := range res.R {
		// r² − (r + Jp)², without the difference of the two
		sum -= after.AtVec(j) * (2*r + after.AtVec(j))
	}
	return sum
}

// Covariance returns (JᵀJ)⁻¹ by the QR factorisation of J. Where columns of J depend on
// each other to 14 digits, the error says so.
func Covariance(jacobian *mat.Dense) (*mat.SymDense, error) {
	m, n := jacobian.Dims()
	a := mat.NewDense(max(m, n), n, nil)
	length := make([]float64, n)
	column := make([]float64, m)
	for i := range n {
		mat.Col(column, i, jacobian)
		if length[i] = floats.Norm(column, 2); length[i] == 0 {
			return nil, fmt.Errorf("lsq: no residual depends on unknown %d", i)
		}
		for j, v := range column {
			a.Set(j, i, v/length[i])
		}
	}
	var qr mat.QR
	qr.Factorize(a)
	var full mat.Dense
	qr.RTo(&full)
	t := mat.NewTriDense(n, mat.Upper, nil)
	for i := range n {
		for j := i; j < n; j++ {
			t.SetTri(i, j, full.At(i, j))
		}
	}
	for i := range n {
		// The columns have length 1: this is what of one the earlier ones don't say already.
		if math.Abs(t.At(i, i)) < alike {
			return nil, fmt.Errorf("lsq: unknown %d can't be told from those before it", i)
		}
	}
	var inverse mat.TriDense
	if err := inverse.InverseTri(t); err != nil && !errors.As(err, new(mat.Condition)) {
		return nil, err
	}
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			sum := 0.
			for k := j; k < n; k++ {
				sum += inverse.At(i, k) * inverse.At(j, k)
			}
			cov.SetSym(i, j, sum/(length[i]*length[j]))
		}
	}
	return cov, nil
}

// alike is how little two columns may differ, as a share of their length.
const alike = 1e-14
