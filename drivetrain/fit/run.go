package fit

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/mathext"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// Settings say how to fit. The zero value is good.
type Settings struct {
	// Robust counts readings that lie far off by their distance, not its square.
	Robust bool
	// Starts is from how many places to search. The default is 1, the build itself.
	Starts int
	// LeaveOut fits again without each reading in turn, to see it predicted.
	LeaveOut bool
	// Hold are keys that are not to move.
	Hold []string
	// Target is what the next reading is to tell of, a figure or an unknown. The default is
	// the first figure of the build's target, or the rate of fire.
	Target string
	// Watch, unless nil, is told of every step of the searches; Unknowns, before, of what
	// they move.
	Watch    func(Step)
	Unknowns func([]Unknown)
	// Progress, unless nil, is told of every simulation; never twice at a time.
	Progress func()
}

// seen is how far the readings have to move by an unknown's standard deviation, in their
// own, for it to be fitted [1].
const seen = 0.1

// Bounds of what is said of a fit.
const (
	toldBelow    = 0.9  // ratio of standard deviations: nothing is told of what lies over it
	togetherFrom = 0.8  // correlation
	outlierFrom  = 3    // standard deviations
	stillBelow   = 0.05 // standard deviations that no unknown moves by if the build stays
	apartFrom    = 0.1  // standard deviations between minima that are two
)

// Run fits a build to readings: it moves what is unknown of it by as little as needed, and
// says how well all is known then. The document stays as it is.
//
// An error is made of faults ([quantity.Faults]) where the two don't go together (a figure that
// the build doesn't have, a key without a ±), [Unfinished] or [NoSlope] where the search
// comes to no end, or the context's.
func Run(ctx context.Context, d *buildfile.Document, r *buildfile.Readings, s Settings) (*Result, error) {
	unknowns, err := priors(d, r, s.Hold)
	if err != nil {
		return nil, err
	}
	f := &fitting{model: newModel(d, unknowns, s.Progress), file: r, settings: s}
	if err := f.prepare(); err != nil {
		return nil, err
	}
	return f.run(ctx)
}

// fitting is a fit on its way.
type fitting struct {
	*model
	file     *buildfile.Readings
	settings Settings

	readings []reading
	figures  []gauge
	target   string // a figure's name or an unknown's key
	aim      int    // of the target: the place among the figures, or −1 − that among the unknowns

	all      []int // every unknown
	fitted   []int
	unseen   []int
	before   []float64 // values of readings and figures at u = 0 [SI]
	beforeSD []float64 // of the figures [SI]
	result   Result
}

// reported are the figures that are said before and after.
func reported() []string {
	return []string{
		"rate_of_fire", "trigger_delay", "pme_margin", "muzzle_velocity", "muzzle_energy", "current_mean", "current_peak", "inrush",
		"pack_voltage_min", "charge_per_shot", "spring_peak_force", "overall_efficiency",
	}
}

// prepare turns readings, figures and target into gauges.
func (f *fitting) prepare() error {
	var faults []*quantity.Fault
	for j := range f.file.Readings {
		one := &f.file.Readings[j]
		g, err := f.gauge(one)
		if err != nil {
			faults = append(faults, keyed(err, f.path(j, ""))...)
			continue
		}
		f.readings = append(f.readings, reading{g, one.Value, one.SD(one.Value)})
	}
	for i := range f.file.Candidates {
		if _, err := f.gauge(&f.file.Candidates[i]); err != nil {
			faults = append(faults, keyed(err, "candidates."+strconv.Itoa(i))...)
		}
	}
	if len(faults) > 0 {
		return quantity.Join(faults...)
	}
	base, err := f.condition(nil)
	if err != nil {
		return err
	}
	names := reported()
	for _, w := range f.document.Target {
		if !slices.Contains(names, w.Figure) {
			names = append(names, w.Figure)
		}
	}
	f.target = f.settings.Target
	if f.target == "" {
		f.target = "rate_of_fire"
		if all := f.document.Target; len(all) > 0 {
			f.target = all[0].Figure
		}
	}
	aim := slices.IndexFunc(f.unknowns, func(k Unknown) bool { return k.Key == f.target })
	if _, ok := study.FindFigure(f.target); ok && aim < 0 {
		if !slices.Contains(names, f.target) {
			names = append(names, f.target)
		}
	} else if aim < 0 {
		return &quantity.Fault{Place: quantity.Place{File: "--target " + f.target}, Text: "neither a figure nor an unknown of this fit" + f.near(f.target)}
	}
	for _, name := range names {
		g := gauge{condition: base, instrument: -1}
		if one, ok := buildfile.GunFigures().Find(name); ok {
			g.figure, g.fired = one.Info, one.Value
		} else { // a target may ask for more than a gun can be read of
			g.figure, _ = study.FindFigure(name)
			g.other = len(f.others)
			f.others = append(f.others, name)
		}
		f.figures = append(f.figures, g)
	}
	if aim >= 0 {
		f.aim = -1 - aim
	} else {
		f.aim = slices.IndexFunc(f.figures, func(g gauge) bool { return g.figure.Name == f.target })
	}
	for i := range f.unknowns {
		f.all = append(f.all, i)
	}
	return nil
}

// near says which figure or unknown a mistyped one may mean.
func (f *fitting) near(name string) string {
	var all []string
	for _, g := range study.Figures() {
		all = append(all, g.Name)
	}
	for _, k := range f.unknowns {
		all = append(all, k.Key)
	}
	if near := quantity.Nearest(name, all); near != "" {
		return "; did you mean " + near + "?"
	}
	return "; wanted one such as rate_of_fire"
}

// path is that of a key of a reading.
func (f *fitting) path(reading int, key string) string {
	path := "readings." + strconv.Itoa(reading)
	if key != "" {
		path += "." + key
	}
	return path
}

// keyed puts a reading's path before the fields of faults.
func keyed(err error, path string) []*quantity.Fault {
	all := quantity.Faults(err)
	for i, f := range all {
		all[i] = f.At(f.Place, path+"."+f.Field)
	}
	return all
}

// gauge is what computes a reading.
func (f *fitting) gauge(r *buildfile.Reading) (gauge, error) {
	c, err := f.condition(r.With)
	if err != nil {
		return gauge{}, err
	}
	g := gauge{condition: c, figure: r.Figure, supply: r.Supply, instrument: -1}
	if r.Supply > 0 {
		one, _ := buildfile.MotorFigures().Find(r.Figure.Name)
		g.alone = one.Value
	} else {
		one, _ := buildfile.GunFigures().Find(r.Figure.Name)
		g.fired = one.Value
	}
	if r.Instrument != "" {
		g.instrument = slices.IndexFunc(f.unknowns, func(k Unknown) bool { return k.Key == "instruments."+r.Instrument }) // −1: held
	}
	return g, nil
}

// run does all that is to be done, in turn.
func (f *fitting) run(ctx context.Context) (*Result, error) {
	if err := f.look(ctx); err != nil {
		return nil, err
	}
	best, err := f.searches(ctx)
	if err != nil {
		return nil, err
	}
	cov, err := f.covariance(best)
	if err != nil {
		return nil, err
	}
	f.judge(best, cov)
	if err := f.predict(ctx, best, cov); err != nil {
		return nil, err
	}
	if f.settings.LeaveOut {
		if err := f.leaveOut(ctx, best); err != nil {
			return nil, err
		}
	}
	f.result.Fit.Evaluations = int(f.count.Load())
	f.warn()
	return &f.result, nil
}

// look computes all at the priors: what doesn't exist, and what the readings see.
func (f *fitting) look(ctx context.Context) error {
	gauges := f.gauges()
	zero := make([]float64, len(f.unknowns))
	values, why, err := f.values(ctx, [][]float64{zero}, nil, gauges)
	if err != nil {
		return err
	}
	f.before = values[0]
	var faults []*quantity.Fault
	for j := range f.readings {
		if math.IsNaN(f.before[j]) {
			key := f.path(j, "figure")
			place, _ := f.file.Position(key)
			faults = append(faults, &quantity.Fault{Place: place, Field: key, Text: fmt.Sprintf("%s doesn't exist: %v; wanted a reading of what the build does", f.readings[j].figure.Name, why[0][f.readings[j].condition])})
		}
	}
	if len(faults) > 0 {
		return quantity.Join(faults...)
	}
	m := len(f.readings)
	if f.aim >= 0 && math.IsNaN(f.before[m+f.aim]) {
		if f.settings.Target != "" {
			return &quantity.Fault{Place: quantity.Place{File: "--target " + f.target}, Text: "doesn't exist: " + why[0][f.figures[f.aim].condition].String()}
		}
		for i := range f.figures { // another default
			if !math.IsNaN(f.before[m+i]) {
				f.aim, f.target = i, f.figures[i].figure.Name
				break
			}
		}
	}
	if len(f.unknowns) == 0 {
		return f.nothing()
	}
	slopes, err := f.model.slopes(ctx, zero, f.before, gauges, f.all)
	if err != nil {
		return err
	}
	f.beforeSD = make([]float64, len(f.figures))
	for i := range f.figures {
		f.beforeSD[i] = floats.Norm(slopes.RawRowView(m+i), 2)
	}
	for _, i := range f.all {
		norm := 0.
		for j := range f.readings {
			v := slopes.At(j, i) / f.readings[j].sd
			if math.IsNaN(v) {
				return &NoSlope{f.unknowns[i].Key, j + 1, f.readings[j].figure.Name}
			}
			norm = math.Hypot(norm, v)
		}
		if norm >= seen || len(f.file.Free) > 0 {
			f.fitted = append(f.fitted, i)
		} else {
			f.unseen = append(f.unseen, i)
		}
	}
	if len(f.fitted) == 0 {
		return f.nothing()
	}
	if n := len(f.fitted); n > buildfile.MostUnknowns {
		place, _ := f.file.Position("free")
		return &quantity.Fault{Place: place, Field: "free", Text: fmt.Sprintf("%d unknowns would be fitted; wanted at most %d, named here", n, buildfile.MostUnknowns)}
	}
	return nil
}

// nothing says that there is nothing to fit.
func (f *fitting) nothing() error {
	place, _ := f.file.Position("readings")
	return &quantity.Fault{Place: place, Field: "readings", Text: "they tell of nothing that is free to move; wanted other readings, fewer --hold, or keys below free"}
}

// gauges are those of readings and figures.
func (f *fitting) gauges() (all []gauge) {
	for j := range f.readings {
		all = append(all, f.readings[j].gauge)
	}
	return append(all, f.figures...)
}

// searches finds the least sum of squares from all starts.
func (f *fitting) searches(ctx context.Context) (*estimate, error) {
	if f.settings.Unknowns != nil {
		var moving []Unknown
		for _, i := range f.fitted {
			moving = append(moving, f.unknowns[i])
		}
		f.settings.Unknowns(moving)
	}
	starts := max(1, f.settings.Starts)
	var found []*estimate
	var first error
	steps, skipped := 0, 0
	for n := 1; n <= starts; n++ {
		s := f.solver(f.readings)
		s.watch, s.start = f.settings.Watch, n
		e, err := s.solve(ctx, f.start(n))
		switch {
		case err == nil:
			found = append(found, e)
			steps += e.steps
		case ended(err):
			return nil, err
		default:
			skipped++
			if first == nil {
				first = err
			}
		}
	}
	if len(found) == 0 {
		return nil, first
	}
	best := found[0]
	for _, e := range found {
		if e.chi2 < best.chi2 {
			best = e
		}
	}
	cov, err := f.covariance(best)
	if err != nil {
		return nil, err
	}
	var minima []*estimate
	for _, e := range found {
		if !slices.ContainsFunc(minima, func(o *estimate) bool { return !f.apart(e, o, cov) }) {
			minima = append(minima, e)
		}
	}
	f.result.Fit.Starts, f.result.Fit.Minima, f.result.Fit.Iterations = starts, len(minima), steps
	if skipped > 0 {
		f.caution("starts", "%d of %d starts came to no end, the first one: %v", skipped, starts, first)
	}
	return best, nil
}

// apart tells whether two estimates are two.
func (f *fitting) apart(a, b *estimate, cov *mat.SymDense) bool {
	for c, i := range f.fitted {
		if math.Abs(a.u[i]-b.u[i]) > apartFrom*math.Sqrt(cov.At(c, c)) {
			return true
		}
	}
	return false
}

// start is where a search begins: the first one at the build as it is, the others at the
// normal deviates of Halton's sequence.
func (f *fitting) start(n int) []float64 {
	u := make([]float64, len(f.unknowns))
	if n == 1 {
		return u
	}
	for c, i := range f.fitted {
		k := &f.unknowns[i]
		u[i] = min(max(mathext.NormalQuantile(halton(n, prime(c))), k.Lower), k.Upper)
	}
	return u
}

// halton is a member of Halton's sequence to a base: the index written backwards behind the
// point.
func halton(index, base int) float64 {
	h, f := 0., 1.
	for ; index > 0; index /= base {
		f /= float64(base)
		h += f * float64(index%base)
	}
	return h
}

// prime is a prime number, counted from 0.
func prime(n int) int {
	for p := 2; ; p++ {
		divided := false
		for q := 2; q*q <= p; q++ {
			divided = divided || p%q == 0
		}
		if divided {
			continue
		}
		if n == 0 {
			return p
		}
		n--
	}
}

func (f *fitting) solver(readings []reading) *solver {
	return &solver{model: f.model, readings: readings, which: f.fitted, robust: f.settings.Robust}
}

// caution adds a warning.
func (f *fitting) caution(code, format string, args ...any) {
	f.result.Warnings = append(f.result.Warnings, Warning{code, fmt.Sprintf(format, args...)})
}

// warn says what there is to look at.
func (f *fitting) warn() {
	r := &f.result
	switch r.Fit.Agreement() {
	case Disagree:
		f.caution("disagree", "readings and build don't agree within their ± (p = %.2g): a reading is wrong, its ± is too narrow, or the build differs by something that no unknown stands for", r.Fit.P)
	case TooWell:
		f.caution("wide", "readings and build agree better than their ± let one expect (p = %.4g): the ± are wider than the scatter", r.Fit.P)
	}
	for _, n := range r.Outliers() {
		f.caution("outlier", "reading %d (%s) lies %.1f standard deviations from what the others and the build say", n, r.Readings[n-1].Figure.Name, math.Abs(r.Readings[n-1].Standardised))
	}
	for _, c := range r.Contradictions {
		f.caution("contradiction", "readings %d and %d are of the same figure (%s) and %.1f standard deviations apart: one of them is wrong", c.First, c.Second, r.Readings[c.First-1].Figure.Name, c.Apart)
	}
	for i := range r.Unknowns {
		if k := &r.Unknowns[i]; k.AtBound {
			if math.Abs(k.Shift) >= farthest {
				f.caution("at-bound", "%s has moved to %s, as far as any may, and would go on: the build differs by something else", k.Key, k.Kind.Format(k.Value))
			} else {
				f.caution("at-bound", "%s stands at the end of its range, %s, and would go on", k.Key, k.Kind.Format(k.Value))
			}
		}
	}
	if r.Fit.Minima > 1 {
		f.caution("minima", "the searches ended in %d places that differ; the best one is shown, and the ± hold near it only", r.Fit.Minima)
	}
	if r.Robust {
		f.caution("robust", "readings that lie far off were given less weight, so that there is no p")
	}
}
