package fit

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/study"
	"example.org/ampstroke/motor"
)

// gauge is one number that can be computed of a build: a figure under a condition.
type gauge struct {
	condition  int
	figure     figure.Info
	fired      func(*cycle.Result) float64 // of the gun
	supply     float64                     // of the motor alone [V]; 0: the gun
	alone      func(*motor.Supplied) float64
	other      int // the place among the model's others, if neither fired nor alone is there
	instrument int // the unknown by whose scale it is multiplied; -1: none
}

// condition is what is laid over the build for some readings.
type condition struct {
	with  []buildfile.Overlay
	name  string // the same as one text, in one order
	whole *buildfile.Variant
	auto  *buildfile.Variant // of the keys without those that the build derives until they move; nil: there are none
	moves []int              // the unknowns that this condition leaves to move, in the order of the Variant's values
	still []int              // of these, those of auto
}

// model computes figures from unknowns.
type model struct {
	document   *buildfile.Document
	unknowns   []Unknown
	conditions []condition
	others     []string // figures that neither a cycle nor a motor alone has
	workers    []*worker
	count      atomic.Int64 // of simulations
	progress   func()
	mu         sync.Mutex
}

// worker is what one goroutine computes with.
type worker struct {
	evaluator cycle.Evaluator
	study     *study.Evaluator // of the model's others
	variants  map[int][2]*buildfile.Variant
	x         []float64
}

// tolerance is the settings of the simulations, which are set here lest a batch's are taken:
// their errors are to be small beside what a hundredth of a standard deviation does, also in
// the differences that derivatives are made of. Of builds about the demo, plain and full
// physics alike, no figure of a flight is further off than 5e-8 at these; at a batch's, of
// 1e-6, a fit without one of its readings has been seen to go on and on about its end.
func tolerance() cycle.Settings { return cycle.Settings{Tolerance: 1e-9, Flight: 3e-7} }

func newModel(d *buildfile.Document, unknowns []Unknown, progress func()) *model {
	return &model{document: d, unknowns: unknowns, progress: progress}
}

// condition returns the index of a condition, made if need be.
func (m *model) condition(with []buildfile.Overlay) (int, error) {
	var texts []string
	for _, o := range with {
		texts = append(texts, o.String())
	}
	sorted := slices.Clone(texts)
	slices.Sort(sorted)
	name := strings.Join(sorted, "\n")
	for i := range m.conditions {
		if m.conditions[i].name == name {
			return i, nil
		}
	}
	c := condition{with: with, name: name}
	d := m.document
	if len(with) > 0 {
		var err error
		if d, err = d.Overlaid(with); err != nil {
			return 0, err
		}
	}
	var paths, fixed []string
	for i := range m.unknowns {
		k := &m.unknowns[i]
		if k.instrument || overridden(k.Key, with) {
			continue
		}
		if _, ok := inEffect(d, k.Key); !ok {
			if _, before := inEffect(m.document, k.Key); before {
				continue // another key stands in its place here
			}
		}
		c.moves = append(c.moves, i)
		paths = append(paths, k.Key)
		if !k.auto {
			c.still = append(c.still, i)
			fixed = append(fixed, k.Key)
		}
	}
	var err error
	if c.whole, err = d.Vary(paths...); err != nil {
		return 0, buildfile.PlacedOverlays(err, with)
	}
	if len(fixed) < len(paths) {
		if c.auto, err = d.Vary(fixed...); err != nil {
			return 0, buildfile.PlacedOverlays(err, with)
		}
	}
	m.conditions = append(m.conditions, c)
	return len(m.conditions) - 1, nil
}

// overridden tells whether overrides set a key, or something that it is part of.
func overridden(key string, with []buildfile.Overlay) bool {
	return slices.ContainsFunc(with, func(o buildfile.Overlay) bool {
		return key == o.Path || strings.HasPrefix(key, o.Path+".") || strings.HasPrefix(o.Path, key+".")
	})
}

// trouble is what became of a condition at a point.
type trouble struct {
	refused error // no such build, or its simulation came to no end
	stalls  bool
}

func (t trouble) String() string {
	switch {
	case t.refused != nil:
		return "the build is refused there: " + strings.ReplaceAll(t.refused.Error(), "\n", "; ")
	case t.stalls:
		return "the build stalls there"
	}
	return "the build has no such figure there"
}

// values computes gauges at points, each u of all unknowns, on all cores: NaN where there is
// none, of which trouble says why, by point and condition. Moved, unless nil, says which
// unknown a point differs by from one that is known: conditions that it doesn't move in are
// left out, NaN. The error is the context's.
func (m *model) values(ctx context.Context, points [][]float64, moved []int, gauges []gauge) ([][]float64, []map[int]trouble, error) {
	type job struct{ point, condition int }
	var jobs []job
	of := map[int][]int{} // gauges by condition
	for g := range gauges {
		of[gauges[g].condition] = append(of[gauges[g].condition], g)
	}
	out := make([][]float64, len(points))
	for p := range points {
		out[p] = make([]float64, len(gauges))
		for g := range out[p] {
			out[p][g] = math.NaN()
		}
		for _, c := range slices.Sorted(maps.Keys(of)) {
			if moved == nil || slices.Contains(m.conditions[c].moves, moved[p]) {
				jobs = append(jobs, job{p, c})
			}
		}
	}
	for len(m.workers) < min(runtime.GOMAXPROCS(0), len(jobs)) {
		m.workers = append(m.workers, &worker{variants: map[int][2]*buildfile.Variant{}})
	}
	troubles := make([]trouble, len(jobs))
	var next atomic.Int64
	var failed atomic.Pointer[error]
	var wait sync.WaitGroup
	for _, w := range m.workers {
		wait.Go(func() {
			for failed.Load() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(jobs) {
					return
				}
				j := jobs[i]
				var err error
				if troubles[i], err = m.measure(ctx, w, j.condition, points[j.point], gauges, of[j.condition], out[j.point]); err != nil {
					failed.CompareAndSwap(nil, &err)
				}
			}
		})
	}
	wait.Wait()
	if err := failed.Load(); err != nil {
		return nil, nil, *err
	}
	if err := ctx.Err(); err != nil { // of what needed no simulation
		return nil, nil, err
	}
	why := make([]map[int]trouble, len(points))
	for i, j := range jobs {
		if why[j.point] == nil {
			why[j.point] = map[int]trouble{}
		}
		why[j.point][j.condition] = troubles[i]
	}
	return out, why, nil
}

// measure computes the gauges of one condition at one point into dst.
func (m *model) measure(ctx context.Context, w *worker, condition int, u []float64, gauges []gauge, which []int, dst []float64) (trouble, error) {
	b, err := m.build(w, condition, u)
	if err != nil {
		return trouble{refused: err}, nil
	}
	var res *cycle.Result
	var answer *study.Answer
	asked := false
	var t trouble
	for _, g := range which {
		one := &gauges[g]
		v := math.NaN()
		if one.supply > 0 {
			t := b.Ambient.Temperature
			alone := b.Motor.On(one.supply, t, t)
			v = one.alone(&alone)
		} else if t.refused == nil && one.fired == nil {
			if !asked {
				asked = true
				if answer, err = m.ask(ctx, w, b); ended(err) {
					return t, err
				}
			}
			if answer != nil {
				v = answer.Values[one.other]
			}
		} else if t.refused == nil {
			if res == nil {
				res, err = w.evaluator.Evaluate(ctx, b, tolerance())
				m.simulated()
				if ended(err) {
					return t, err
				}
				if err != nil {
					t.refused = err
					continue
				}
				t.stalls = res.Status == cycle.Stall
			}
			v = one.fired(res)
		}
		if one.instrument >= 0 {
			k := &m.unknowns[one.instrument]
			v *= 1 + k.At(u[one.instrument])
		}
		dst[g] = v
	}
	return t, nil
}

// ask asks a build for the model's others.
func (m *model) ask(ctx context.Context, w *worker, b *drivetrain.Build) (*study.Answer, error) {
	if w.study == nil {
		var err error
		if w.study, err = study.NewEvaluator(study.Question{Figures: m.others, Settings: tolerance()}); err != nil {
			return nil, err
		}
	}
	m.simulated()
	return w.study.Evaluate(ctx, b)
}

// ended tells that an error is the context's.
func ended(err error) bool {
	return errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded)
}

// simulated counts a simulation.
func (m *model) simulated() {
	m.count.Add(1)
	if m.progress != nil {
		m.mu.Lock()
		defer m.mu.Unlock()
		m.progress()
	}
}

// build makes the build of a condition at a point. It is the worker's until the next one.
func (m *model) build(w *worker, condition int, u []float64) (*drivetrain.Build, error) {
	c := &m.conditions[condition]
	v, ok := w.variants[condition]
	if !ok {
		v[0] = c.whole.Clone()
		if c.auto != nil {
			v[1] = c.auto.Clone()
		}
		w.variants[condition] = v
	}
	moves, variant := c.moves, v[0]
	if c.auto != nil && !slices.ContainsFunc(c.moves, func(i int) bool { return m.unknowns[i].auto && u[i] != 0 }) {
		moves, variant = c.still, v[1] // what has not moved, the build derives
	}
	w.x = w.x[:0]
	for _, i := range moves {
		k := &m.unknowns[i]
		if !k.holds(u[i]) {
			return nil, fmt.Errorf("%s: %s is behind its bound", k.Key, k.Kind.Format(k.At(u[i])))
		}
		w.x = append(w.x, k.At(u[i]))
	}
	return variant.Put(w.x)
}
