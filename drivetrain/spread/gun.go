package spread

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// guns fires builds that differ in the values of some keys, from many goroutines.
type guns struct {
	question *Question
	target   figure.Target
	figures  []figure.Info
	variant  *buildfile.Variant
	workers  chan *worker

	mutex sync.Mutex
	told  []told         // bit k of a draw's codes is told[k]
	bits  map[string]int // of each code
	keys  []string       // outcome misfit+k of a draw is a misfit by keys[k]
	of    map[string]int // of each key
}

// told is a code that some draw's findings have.
type told struct {
	code  string
	fault bool
}

// worker is what one goroutine fires builds with.
type worker struct {
	variant   *buildfile.Variant
	evaluator *study.Evaluator
}

// What a draw's outputs are, behind the figures.
const (
	atMeets   = iota // 1 if all wants are met
	atSound          // 1 if it meets and has no failure
	atOutcome        // outcome
	atCodes          // a bit for each code, in two numbers
	atMore
	behind
)

// codesEach is how many bits a number keeps exactly.
const codesEach = 52

// Outcomes of a draw; a misfit's key is added.
const (
	steady = iota
	once
	stalls
	unfinished
	misfit
)

func newGuns(q *Question, figures []figure.Info, keys []Key) (*guns, error) {
	paths := make([]string, len(keys))
	for i := range keys {
		paths[i] = keys[i].Path
	}
	v, err := q.Document.Vary(paths...)
	if err != nil {
		return nil, err
	}
	g := &guns{
		question: q, target: q.Document.Target, figures: figures, variant: v, workers: make(chan *worker, runtime.GOMAXPROCS(0)),
		bits: map[string]int{}, of: map[string]int{},
	}
	w, err := g.worker()
	if err != nil { // a figure that another question is asked for
		return nil, &quantity.Fault{Text: err.Error(), Cause: err}
	}
	g.put(w)
	return g, nil
}

// outputs counts the numbers that a draw gives.
func (g *guns) outputs() int { return len(g.figures) + behind }

// take gives a worker to a goroutine, put takes it back.
func (g *guns) take() *worker {
	select {
	case w := <-g.workers:
		return w
	default:
		w, err := g.worker()
		if err != nil {
			panic(err) // the first one could be made
		}
		return w
	}
}

// worker makes one.
func (g *guns) worker() (*worker, error) {
	q := study.Question{Target: g.target, Findings: true, Settings: g.question.Cycle}
	for i := range g.figures {
		q.Figures = append(q.Figures, g.figures[i].Name)
	}
	e, err := study.NewEvaluator(q)
	if err != nil {
		return nil, err
	}
	g.mutex.Lock()
	defer g.mutex.Unlock()
	return &worker{g.variant.Clone(), e}, nil
}

func (g *guns) put(w *worker) {
	select {
	case g.workers <- w:
	default:
	}
}

// fire fires the build of the keys' values x, and fills y.
func (g *guns) fire(ctx context.Context, x, y []float64) error {
	w := g.take()
	defer g.put(w)
	for i := range g.figures {
		y[i] = math.NaN()
	}
	own := y[len(g.figures):]
	clear(own)
	b, err := w.variant.Put(x)
	if err == nil {
		var a *study.Answer
		if a, err = w.evaluator.Evaluate(ctx, b); err == nil {
			copy(y, a.Values)
			g.judge(own, a)
			return nil
		}
	}
	f, is := faultOf(err)
	switch {
	case is:
		own[atOutcome] = float64(misfit + g.keyOf(f.Field))
	case study.Unfinished(err):
		own[atOutcome] = unfinished
	default:
		return err
	}
	return nil
}

// faultOf returns what is wrong with a build that can't be; false for an error of another
// sort.
func faultOf(err error) (quantity.Fault, bool) {
	if f := new(quantity.Fault); errors.As(err, &f) {
		return *f, true
	}
	return quantity.Fault{}, false
}

// judge fills in what a draw comes to.
func (g *guns) judge(own []float64, a *study.Answer) {
	switch a.Status {
	case cycle.Once:
		own[atOutcome] = once
	case cycle.Stall:
		own[atOutcome] = stalls
	}
	broken := false
	for _, f := range a.Findings {
		broken = broken || f.Weight == finding.Fault
		// Wants and stalls are told by themselves.
		if f.Weight == finding.Unchecked || f.Code == "target" || f.Code == "stall" {
			continue
		}
		bit := g.bitOf(f.Code, f.Weight == finding.Fault)
		own[atCodes+bit/codesEach] += float64(uint64(1) << (bit % codesEach))
	}
	if a.Met() {
		own[atMeets] = 1
		if !broken && a.Status != cycle.Stall {
			own[atSound] = 1
		}
	}
}

// at returns where a figure stands among the outputs.
func (g *guns) at(name string) int {
	return slices.IndexFunc(g.figures, func(f figure.Info) bool { return f.Name == name })
}

// bitOf returns the bit of a code. Which it is depends on which draw comes first, so that
// nothing that is told may follow from it.
func (g *guns) bitOf(code string, fault bool) int {
	g.mutex.Lock()
	defer g.mutex.Unlock()
	bit, known := g.bits[code]
	if !known {
		bit = len(g.told)
		if bit >= 2*codesEach {
			panic("spread: more codes of findings than there is room for")
		}
		g.bits[code] = bit
		g.told = append(g.told, told{code, fault})
	}
	return bit
}

// keyOf returns the number of a misfit's key, of which the same holds.
func (g *guns) keyOf(key string) int {
	g.mutex.Lock()
	defer g.mutex.Unlock()
	k, known := g.of[key]
	if !known {
		k = len(g.keys)
		g.of[key] = k
		g.keys = append(g.keys, key)
	}
	return k
}

// has tells whether a draw's outputs have a code.
func (g *guns) has(y []float64, bit int) bool {
	own := y[len(g.figures):]
	return uint64(own[atCodes+bit/codesEach])>>(bit%codesEach)&1 == 1
}

// outcome is what a draw's outputs say of it.
func (g *guns) outcome(y []float64) int { return int(y[len(g.figures)+atOutcome]) }

// codes lists those of faults, or of cautions, by their names.
func (g *guns) codes(fault bool) (all []string) {
	for _, t := range g.told {
		if t.fault == fault {
			all = append(all, t.code)
		}
	}
	slices.Sort(all)
	return all
}

// reason says what is wrong with a build of the keys' values.
func (g *guns) reason(ctx context.Context, x []float64) (string, error) {
	w := g.take()
	defer g.put(w)
	b, err := w.variant.Put(x)
	if err == nil {
		_, err = w.evaluator.Evaluate(ctx, b)
	}
	if f, is := faultOf(err); is {
		return f.Text, nil
	}
	if err == nil {
		err = fmt.Errorf("a draw was a misfit, and is none any more")
	}
	return "", err
}
