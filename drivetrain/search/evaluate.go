package search

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"sync"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// What a drive feels and a flight doesn't, what both feel, and what only a flight does, by
// the sections of a build file.
var (
	electricKeys = []string{"motor", "battery", "harness", "gears", "trigger", "tappet"}
	commonKeys   = []string{"sector", "rack", "piston", "spring", "ambient"}
	airKeys      = []string{"cylinder", "barrel", "pellet"}
)

const (
	// worthATable is from how many electric choices on flights are read off tables, whose
	// cells cost some dozen flights each.
	worthATable = 64
	// leastOfCell and mostOfCell bound the flights that a cell of speeds may take; what is
	// asked of a gun lies in between.
	leastOfCell, mostOfCell = 100, 1000
	// mostDrives and mostTables bound what is remembered.
	mostDrives, mostTables = 1 << 14, 1 << 12
	// edge is how near to a want's bound a figure that was read off is computed in full,
	// as a share of it.
	edge = 1e-6
)

// works is what the goroutines of a search share.
type works struct {
	*question
	shelf       *buildfile.Shelf
	composer    *buildfile.Composer // to be cloned
	numbers     *numbers
	settings    Settings
	first, last int64

	drive, air, gear buildfile.Choices
	keep             bool // drives are remembered
	tabled           bool // flights are read off
	ofCell           int  // the flights that a cell of speeds may take

	drives [16]struct {
		sync.Mutex
		of map[int64]*driven
	}
	tables struct {
		sync.Mutex
		of    map[int64]*flight.Table
		byGun map[flight.Gun]*flight.Table
	}
}

// driven is what is remembered of a drive.
type driven struct {
	*cycle.Drive
	faults []string // without those of the flight
	err    error
}

func newWorks(shelf *buildfile.Shelf, settings Settings) (*works, error) {
	c, err := shelf.Compose()
	if err != nil {
		return nil, err
	}
	w := &works{shelf: shelf, composer: c, numbers: newNumbers(c, shelf), settings: settings}
	if w.question, err = newQuestion(c.Base().Target, settings.Figures); err != nil {
		return nil, err
	}
	if w.first, w.last, err = settings.interval(w.numbers.count); err != nil {
		return nil, err
	}
	if _, err := study.NewEvaluator(study.Question{Figures: w.names, Settings: settings.Cycle}); err != nil {
		return nil, err
	}
	choices := func(keys ...[]string) buildfile.Choices {
		all := slices.Concat(keys...)
		return c.Choices(func(path string) bool {
			top, _, _ := strings.Cut(path, ".")
			return slices.Contains(all, top)
		})
	}
	w.drive, w.air, w.gear = choices(electricKeys, commonKeys), choices(airKeys, commonKeys), choices([]string{"sector", "rack", "piston"})
	electric, air := choices(electricKeys), choices(airKeys)
	w.keep = air.Count > 1
	w.tabled = !settings.Apart && electric.Count > worthATable
	w.ofCell = int(min(max(electric.Count, leastOfCell), mostOfCell))
	for i := range w.drives {
		w.drives[i].of = map[int64]*driven{}
	}
	w.tables.of, w.tables.byGun = map[int64]*flight.Table{}, map[flight.Gun]*flight.Table{}
	return w, nil
}

// worker is what one goroutine has to itself.
type worker struct {
	*works
	composer *buildfile.Composer
	cycles   cycle.Evaluator
	asked    *study.Evaluator // for the figures alone
	found    *study.Evaluator // for the findings too
	flyer    flight.Flyer
	steady   flight.Arc   // flown beside the first shot of the build that is looked at
	known    bool         // it was
	result   cycle.Result // of the build that is looked at
	stages   study.Stages // which is that result
	parts    []int
	gears    map[int64][]string // faults of the pickup

	numbersRoom []int
	valuesRoom  []float64
	sidesRoom   []side
}

func (w *works) worker() *worker {
	n := &worker{works: w, composer: w.composer.Clone(), parts: make([]int, len(w.shelf.Slots)), gears: map[int64][]string{}}
	n.asked, n.found = w.evaluator(false), w.evaluator(true)
	n.stages.Cycle = &n.result
	return n
}

// evaluator makes one that looks at builds in full; newWorks has seen that it can.
func (w *works) evaluator(findings bool) *study.Evaluator {
	e, err := study.NewEvaluator(study.Question{Figures: w.names, Settings: w.settings.Cycle, Findings: findings})
	if err != nil {
		panic(err)
	}
	return e
}

// price is the sum of the parts'.
func (w *works) price(parts []int) (sum int64) {
	for i, k := range parts {
		sum += w.shelf.Slots[i].Parts[k].Price
	}
	return sum
}

// start is what there is of a combination before it is looked at; w.parts are its parts.
func (w *worker) start(number int64) Found {
	f := Found{Number: number, Parts: room(&w.numbersRoom, len(w.parts)), Price: w.price(w.parts)}
	copy(f.Parts, w.parts)
	return f
}

// find looks at the combination whose parts are w.parts. The error is the context's.
func (w *worker) find(ctx context.Context, number int64) (Found, error) {
	f := w.start(number)
	b, fault := w.composer.Build(w.parts)
	if fault != nil {
		f.Fate, f.Fault = Misfit, fault
		return f, nil
	}
	if w.need&whole != 0 {
		return w.inFull(ctx, f, b, false)
	}
	d := w.driven(ctx, b)
	if errors.Is(d.err, cycle.ErrPull) {
		return w.inFull(ctx, f, b, false)
	}
	if d.err != nil {
		return w.failed(ctx, f, d.err)
	}
	if d.Result.Status == cycle.Stall {
		f.Fate = Stalled
		return f, nil
	}
	f.Fate = Fired
	f.Values, f.sides = room(&w.valuesRoom, len(w.figures)), room(&w.sidesRoom, len(w.wants))
	if err := w.fly(ctx, &f, b, d, w.tabled); err != nil {
		return w.failed(ctx, f, err)
	}
	if f.Met {
		w.fault(&f, b, d)
	}
	return f, nil
}

// failed is a combination whose simulation came to no end, unless that is the context's.
func (w *worker) failed(ctx context.Context, f Found, err error) (Found, error) {
	if ctx.Err() != nil {
		return f, ctx.Err()
	}
	f.Values, f.sides, f.Met = nil, nil, false
	f.Fate = Unfinished
	if all := quantity.Faults(err); all[0].Field != "" {
		f.Fate, f.Fault = Misfit, &quantity.Fault{Field: all[0].Field, Text: all[0].Text}
	}
	return f, nil
}

// driven returns what the build does apart from its flights, remembered where another one
// may do the same.
func (w *worker) driven(ctx context.Context, b *drivetrain.Build) *driven {
	if !w.keep {
		return w.runDrive(ctx, b)
	}
	id := w.drive.Of(w.parts)
	shard := &w.drives[uint64(id)%uint64(len(w.drives))]
	shard.Lock()
	d := shard.of[id]
	shard.Unlock()
	if d != nil {
		return d
	}
	d = w.runDrive(ctx, b)
	if d.err != nil && ctx.Err() != nil {
		return d
	}
	shard.Lock()
	if len(shard.of) >= mostDrives/len(w.drives) {
		clear(shard.of)
	}
	shard.of[id] = d
	shard.Unlock()
	return d
}

func (w *worker) runDrive(ctx context.Context, b *drivetrain.Build) *driven {
	d := new(driven)
	d.Drive, d.err = w.cycles.Drive(ctx, b, w.settings.Cycle)
	if d.err == nil && d.Result.Status != cycle.Stall {
		d.faults = faultsOf(w.cycles.Warnings())
	}
	return d
}

// faultsOf lists the codes of faults among findings, each once.
func faultsOf(all []finding.Finding) (codes []string) {
	for _, f := range all {
		if f.Weight == finding.Fault && !slices.Contains(codes, f.Code) {
			codes = append(codes, f.Code)
		}
	}
	return codes
}

// fly finds the figures of a build that was driven, by a table where that is asked and no
// figure lies at a want's edge.
func (w *worker) fly(ctx context.Context, f *Found, b *drivetrain.Build, d *driven, table bool) error {
	w.known = false
	arcs := [2]*flight.Arc{}
	speeds := [2]float64{d.First, d.Steady}
	kinds := [2]needs{firstShot, steadyShot}
	w.result = d.Result
	w.result.Build = b
	w.result.Summary = d.Fly(b, nil, nil)
	have := driveOnly
	quick := func() bool { return w.settings.Quick && w.judge(f, have) }
	if quick() {
		f.quick = true
		return nil
	}
	for i, kind := range kinds {
		if w.need&kind == 0 {
			continue
		}
		if math.IsNaN(speeds[i]) {
			arcs[i] = &flight.Arc{Summary: flight.NoSummary()}
		} else {
			a, err := w.arc(ctx, b, d, speeds[i], kind, table)
			if err != nil {
				return err
			}
			arcs[i] = &a
		}
		have |= kind
		w.result.Summary = d.Fly(b, arcs[0], arcs[1])
		if quick() {
			f.quick = true
			return nil
		}
	}
	w.judge(f, have)
	if f.Met && arcs[1] == nil { // whether it is sound the flight tells
		a, err := w.arc(ctx, b, d, d.Steady, steadyShot, table)
		if err != nil {
			return err
		}
		arcs[1] = &a
		w.result.Summary = d.Fly(b, arcs[0], arcs[1])
	}
	if table && !f.near && w.edged(f) {
		f.near = true
		return w.fly(ctx, f, b, d, false)
	}
	f.Faults = nil
	if f.Met {
		f.Faults = flown(arcs[1], &w.result.Summary)
	}
	return nil
}

// flown lists the faults of a flight, by the codes of cycle.
func flown(a *flight.Arc, s *cycle.Summary) (codes []string) {
	if a.Status == flight.PelletStuck || math.IsNaN(s.MuzzleVelocity) {
		codes = append(codes, "pellet-stuck")
	}
	switch {
	case math.IsNaN(s.TimeToHome):
		codes = append(codes, "piston-not-home")
	case s.PMEMargin < 0:
		codes = append(codes, "premature-engagement")
	}
	return codes
}

// judge puts in the values of the figures that a build has so far, and holds them against
// the wants. It tells whether any is missed.
func (w *worker) judge(f *Found, have needs) (missed bool) {
	f.worst = 0
	for i := range w.figures {
		if w.needed[i]&^have != 0 {
			f.Values[i] = math.NaN()
			if i < len(w.wants) {
				f.sides[i] = met
			}
			continue
		}
		f.Values[i] = w.figures[i].Value(&w.stages)
		if i < len(w.wants) {
			var relative float64
			f.sides[i], _, relative = judge(&w.wants[i], f.Values[i])
			f.worst = max(f.worst, relative)
			missed = missed || f.sides[i] != met
		}
	}
	f.Met = !missed
	return missed
}

// edged tells whether a figure that was read off lies at a want's edge.
func (w *worker) edged(f *Found) bool {
	for i := range w.wants {
		if w.needed[i] == driveOnly {
			continue
		}
		v := f.Values[i]
		slack := edge * math.Abs(v)
		if w.wants[i].Figure == "pme_margin" {
			slack = max(slack, 1e-8)
		}
		for _, b := range [2]float64{w.wants[i].Min.Or(math.NaN()), w.wants[i].Max.Or(math.NaN())} {
			if math.Abs(v-b) <= slack {
				return true
			}
		}
	}
	return false
}

// arc flies a shot whose rack is let go at a speed [m/s].
func (w *worker) arc(ctx context.Context, b *drivetrain.Build, d *driven, speed float64, kind needs, table bool) (flight.Arc, error) {
	if table {
		return w.table(b).At(ctx, b, speed)
	}
	settings := flight.Settings{Tolerance: w.accuracy(), ReleaseSpeed: speed}
	if kind == steadyShot {
		if w.known {
			return w.steady, nil
		}
		return w.launch(ctx, b, settings)
	}
	// As cycle flies it: what counts is the delay, which is found beside the other shot if it
	// can be.
	released := d.Result.Summary.ReleaseTime
	if !math.IsNaN(d.Steady) {
		other := flight.Settings{Tolerance: w.accuracy(), ReleaseSpeed: d.Steady, Neighbour: flight.Neighbour{Speed: speed, Delay: released}}
		r, err := w.flyer.Fly(ctx, b, other)
		w.steady, w.known = flownArc(&r), true
		if t := r.Neighbour.Time; err != nil || !math.IsNaN(t) {
			a := flight.Arc{Summary: flight.NoSummary(), Flown: true}
			a.TimeToMuzzle = t
			return a, err
		}
	}
	settings.ToMuzzle, settings.Delay = true, released
	return w.launch(ctx, b, settings)
}

// launch flies a shot.
func (w *worker) launch(ctx context.Context, b *drivetrain.Build, settings flight.Settings) (flight.Arc, error) {
	r, err := w.flyer.Fly(ctx, b, settings)
	return flownArc(&r), err
}

// flownArc is what a table would know of a flight.
func flownArc(r *flight.Result) flight.Arc {
	return flight.Arc{Summary: r.Summary, Ledger: r.Ledger, Status: r.Status, Flown: true}
}

// accuracy is what flights are computed to.
func (w *works) accuracy() float64 { return w.settings.Cycle.FlightAccuracy() }

// table returns that of the build's gun.
func (w *worker) table(b *drivetrain.Build) *flight.Table {
	t := &w.tables
	id := w.air.Of(w.parts)
	t.Lock()
	defer t.Unlock()
	if found := t.of[id]; found != nil {
		return found
	}
	if len(t.byGun) >= mostTables || len(t.of) >= 16*mostTables {
		clear(t.byGun)
		clear(t.of)
	}
	gun := flight.GunOf(b)
	found := t.byGun[gun]
	if found == nil {
		found = flight.NewTable(b, w.accuracy(), w.ofCell)
		t.byGun[gun] = found
	}
	t.of[id] = found
	return found
}

// fault finds what is wrong with a build that meets all wants.
func (w *worker) fault(f *Found, b *drivetrain.Build, d *driven) {
	f.Faults = slices.Concat(f.Faults, d.faults)
	w.pickup(f, b)
	f.Sound = len(f.Faults) == 0
}

// pickup adds the faults of how sector and rack meet.
func (w *worker) pickup(f *Found, b *drivetrain.Build) {
	id := w.gear.Of(f.Parts)
	codes, ok := w.gears[id]
	if !ok {
		codes = pickupFaults(b)
		if len(w.gears) >= mostTables {
			clear(w.gears)
		}
		w.gears[id] = codes
	}
	for _, code := range codes {
		if !slices.Contains(f.Faults, code) {
			f.Faults = append(f.Faults, code)
		}
	}
}

// pickupFaults lists the faults that sector, rack and piston have, whatever drives them.
func pickupFaults(b *drivetrain.Build) []string {
	if b.Rack == nil || b.Rack.PickupOffset == nil {
		return nil
	}
	l, err := pickup.Stand(b)
	if err != nil {
		return []string{"missed"}
	}
	turning := &cycle.Result{Status: cycle.Steady, PickupSpeed: math.NaN()}
	s := l.With(turning)
	return faultsOf(s.Warnings())
}

// inFull finds what becomes of a valid build by all that there is to know of it, with its
// faults even where it isn't met, if asked.
func (w *worker) inFull(ctx context.Context, f Found, b *drivetrain.Build, faults bool) (Found, error) {
	e := w.asked
	if faults {
		e = w.found
	}
	a, err := e.Evaluate(ctx, b)
	if err != nil {
		return w.failed(ctx, f, err)
	}
	if a.Status == cycle.Stall {
		f.Fate = Stalled
		return f, nil
	}
	f.Fate = Fired
	f.Values, f.sides = room(&w.valuesRoom, len(w.figures)), room(&w.sidesRoom, len(w.wants))
	copy(f.Values, a.Values)
	w.hold(&f)
	if !faults {
		if !f.Met {
			return f, nil
		}
		if a, err = w.found.Evaluate(ctx, b); err != nil {
			return w.failed(ctx, f, err)
		}
	}
	f.Faults = faultsOf(a.Findings)
	f.Sound = f.Met && len(f.Faults) == 0
	return f, nil
}

// hold judges the values of a build that fired.
func (w *worker) hold(f *Found) {
	f.worst, f.Met = 0, true
	for i := range w.wants {
		var relative float64
		f.sides[i], _, relative = judge(&w.wants[i], f.Values[i])
		f.worst = max(f.worst, relative)
		f.Met = f.Met && f.sides[i] == met
	}
}

// again looks at the combination of a number once more, in full or as a search does.
func (w *worker) again(ctx context.Context, number int64, full bool) (Found, error) {
	w.numbers.parts(number, w.parts)
	if !full {
		return w.find(ctx, number)
	}
	f := w.start(number)
	b, fault := w.composer.Build(w.parts)
	if fault != nil {
		f.Fate, f.Fault = Misfit, fault
		return f, nil
	}
	return w.inFull(ctx, f, b, true)
}
