package spread

import (
	"cmp"
	"context"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
)

// Reach is what could be done so that more guns are sound. A surrogate looks for it, guns
// that are fired confirm it.
type Reach struct {
	// Goal is the share that is to be sound [1].
	Goal float64
	// Without are faults that the build has as it stands in the file and that no wanted
	// figure carries, by their codes: no tolerance cures them, and the goal leaves them out.
	Without []string
	// Sound is the share of guns that are sound now, but for those faults.
	Sound Share
	// Surrogate says how well each figure is stood for.
	Surrogate []Fit
	// Alone says for each of the keys what it would take if nothing else were changed.
	Alone []Alone
	// AllAlike is what it would take if all tolerances were tightened alike.
	AllAlike AllAlike
	// Plan is a way that changes as little as it can at each step.
	Plan Plan
}

// Fit is a figure that the surrogate stands for.
type Fit struct {
	figure.Info
	// R2 is the share of its variance that is explained in draws that it wasn't fitted to,
	// NaN where it doesn't vary [1].
	R2 float64
}

// Alone is what one key can do.
type Alone struct {
	// Key is its number among the Keys.
	Key int
	// Tighten is the largest factor of its tolerance that reaches the goal, at most 1; NaN
	// where none does [1].
	Tighten float64
	// Shift is the smallest step of its middle that reaches it; NaN where none does, or
	// where nobody can shift the key [SI].
	Shift float64
	// Confirmed is the share of sound guns among some that were fired with the tighter
	// tolerance, or else with the shift; NaN where none were fired.
	Confirmed Estimate
}

// AllAlike is what one factor for all tolerances can do; those of whole numbers stay.
type AllAlike struct {
	// Factor is the largest that reaches the goal; NaN where none does [1].
	Factor float64
	// Confirmed is as that of Alone.
	Confirmed Estimate
}

// Plan is changes to several keys.
type Plan struct {
	// Steps are the changes, each of another key.
	Steps []Step
	// Confirmed is as that of Alone; NaN where there are no steps.
	Confirmed Estimate
	// Reached tells that the goal is, within two standard errors.
	Reached bool
	// Refitted is how often the guns that were fired showed less than the surrogate had
	// promised, so that it was fitted anew to them too.
	Refitted int
}

// Step is what a plan does to a key.
type Step struct {
	// Key is its number among the Keys.
	Key int
	// Tighten is the factor of its tolerance, 1 where that stays [1].
	Tighten float64
	// Shift is how far its middle goes, 0 where that stays [SI].
	Shift float64
}

// Bounds of the search.
const (
	scanned    = 25   // values of a factor or a shift, since what they do needn't rise steadily
	farthest   = 6    // a shift goes, in standard deviations
	tightest   = 0.01 // factor of a tolerance
	sharpness  = 0.01 // of a factor
	shiftSharp = 0.05 // of a shift, in standard deviations
	mostSteps  = 16
	mostRefits = 2
	mostAlone  = 3 // of the keys alone that are confirmed
	confirming = 4 // the draws that confirm are one of so many
)

// extraDraws is about how many draws a search fires beside those of Analyse.
func extraDraws(draws int) int { return draws / confirming * (mostAlone + 2) }

// reaching is a search for a way.
type reaching struct {
	r     *Result
	reach *Reach
	s     *surrogate
	board *board
	ask   func(ctx context.Context, design []change) (*Analysis, error)
	fired []firedDesign // what the surrogate is fitted to, beside the draws
}

// firedDesign is guns that were fired to confirm a design.
type firedDesign struct {
	analysis *Analysis
	design   []change
}

// carried tells whether a fault shows in a wanted figure or in the margin, so that
// bringing those into their bands cures it.
func (g *guns) carried(code string) bool {
	wanted := func(names ...string) bool {
		return slices.ContainsFunc(g.target, func(w figure.Want) bool { return slices.Contains(names, w.Figure) })
	}
	margin := g.at(marginName) >= 0
	switch code {
	case "stall", "no-start":
		return margin || len(g.target) > 0
	case "premature-engagement":
		return margin
	case "piston-not-home":
		return margin || wanted("time_to_home")
	case "pellet-stuck", "no-release":
		return wanted("muzzle_velocity", "muzzle_energy", "trigger_delay")
	}
	return false
}

// sought tells whether a draw is sound but for the faults that are left out.
func (h *reaching) sought(y []float64) bool {
	g := h.r.guns
	if y[len(g.figures)+atMeets] != 1 || g.outcome(y) >= stalls {
		return false
	}
	for bit, t := range g.told {
		if t.fault && g.has(y, bit) && !slices.Contains(h.reach.Without, t.code) {
			return false
		}
	}
	return true
}

// reach looks for ways to a share of sound guns.
func (r *Result) reach(ctx context.Context, goal float64, fire func(ctx context.Context, inputs []Input, seed uint64) (*Analysis, error)) error {
	g := r.guns
	h := &reaching{r: r, reach: &Reach{Goal: goal}}
	r.Reach = h.reach
	for _, f := range r.Nominal.Findings.Of(finding.Fault) {
		if !g.carried(f.Code) && !slices.Contains(h.reach.Without, f.Code) {
			h.reach.Without = append(h.reach.Without, f.Code)
		}
	}
	fires := uint64(0)
	h.ask = func(ctx context.Context, design []change) (*Analysis, error) {
		inputs := make([]Input, len(r.Keys))
		for k := range inputs {
			inputs[k] = r.Keys[k].input(design[k].shift, design[k].tighten)
		}
		fires++
		return fire(ctx, inputs, r.Settings.Seed+fires*golden)
	}
	h.reach.Sound = r.share(h.sought)
	h.nothing()
	if h.reach.Sound.Value >= goal {
		h.already()
		return nil
	}
	if ok, err := h.fit(ctx); err != nil || !ok {
		return err
	}
	for _, do := range []func(context.Context) error{h.alone, h.alike, h.plan} {
		if err := do(ctx); err != nil {
			return err
		}
	}
	return nil
}

// golden is an odd number whose multiples lie far apart, the golden section of 2^64.
const golden = 0x9E3779B97F4A7C15

// nothing fills in that there is no way.
func (h *reaching) nothing() {
	n := math.NaN()
	h.reach.AllAlike = AllAlike{n, none()}
	h.reach.Plan = Plan{Confirmed: none()}
	for k := range h.r.Keys {
		h.reach.Alone = append(h.reach.Alone, Alone{k, n, n, none()})
	}
}

// already fills in that nothing needs to be done.
func (h *reaching) already() {
	h.reach.AllAlike = AllAlike{1, h.reach.Sound.Estimate}
	h.reach.Plan.Reached = true
	for k := range h.reach.Alone {
		a, key := &h.reach.Alone[k], &h.r.Keys[k]
		if !key.Whole {
			a.Tighten = 1
		}
		if !key.fixed() {
			a.Shift = 0
		}
	}
}

// fit makes the surrogate, and tells whether it could.
func (h *reaching) fit(ctx context.Context) (bool, error) {
	r := h.r
	s := &surrogate{aims: r.guns.aimsOf()}
	if len(s.aims) == 0 {
		return false, nil
	}
	values := make([]map[float64]bool, len(r.Keys))
	for k := range values {
		values[k] = map[float64]bool{}
	}
	exist := make([]moments, len(s.aims))
	for z, y := range h.draws {
		for a := range s.aims {
			if v := s.aims[a].of(y); !math.IsNaN(v) {
				exist[a].add(v)
			}
		}
		for k, v := range z {
			if len(values[k]) <= mostPower {
				values[k][v] = true
			}
		}
	}
	least, counts := math.MaxInt, make([]int, len(r.Keys))
	for a := range exist {
		least = min(least, exist[a].n)
		if s.aims[a].sd = exist[a].sd(); !(s.aims[a].sd > 0) {
			s.aims[a].sd = 1
		}
	}
	for k := range counts {
		counts[k] = len(values[k])
	}
	if !s.suit(least, counts) {
		return false, nil
	}
	s.fit(h.draws)
	if err := ctx.Err(); err != nil {
		return false, err
	}
	held, err := h.held(ctx)
	if err != nil {
		return false, err
	}
	for a := range s.aims {
		h.reach.Surrogate = append(h.reach.Surrogate, Fit{s.aims[a].figure, s.explains(a, held)})
	}
	h.s = s
	h.board = r.newBoard(s)
	return true, nil
}

// draws are those that the surrogate is fitted to.
func (h *reaching) draws(yield func(z, y []float64) bool) {
	a := h.r.analysis
	each := min(a.points, mostSearched/a.Settings.Replicates)
	z := make([]float64, len(h.r.Keys))
	for i := range each * a.Settings.Replicates {
		draw := i/each*a.points + i%each
		a.At(z, draw)
		h.standardise(z)
		if !yield(z, a.Values(draw)) {
			return
		}
	}
	for _, f := range h.fired {
		for draw := range f.analysis.Settings.Draws {
			f.analysis.At(z, draw)
			h.standardise(z)
			if !yield(z, f.analysis.Values(draw)) {
				return
			}
		}
	}
}

// standardise puts values of the keys into their standard deviations about the middle.
func (h *reaching) standardise(x []float64) {
	for k := range x {
		x[k] = (x[k] - h.r.Keys[k].Value) / h.r.Keys[k].SD
	}
}

// held are draws that the surrogate isn't fitted to: the partners of the drivers', or some
// that are fired where there are none.
func (h *reaching) held(ctx context.Context) (sample, error) {
	a := h.r.analysis
	z := make([]float64, len(h.r.Keys))
	if k, m := a.Settings.Outputs, a.Settings.Drivers; m > 0 {
		return func(yield func(z, y []float64) bool) {
			for i := range m {
				a.exchange(z, i, func(int) bool { return true })
				h.standardise(z)
				if !yield(z, a.b[i*k:(i+1)*k]) {
					return
				}
			}
		}, nil
	}
	b, err := h.ask(ctx, h.unchanged())
	return func(yield func(z, y []float64) bool) {
		for draw := range b.Settings.Draws {
			b.At(z, draw)
			h.standardise(z)
			if !yield(z, b.Values(draw)) {
				return
			}
		}
	}, err
}

// unchanged is the design as it is.
func (h *reaching) unchanged() []change {
	design := make([]change, len(h.r.Keys))
	for k := range design {
		design[k] = asItIs
	}
	return design
}

// wanted is how many of the board's draws must meet.
func (h *reaching) wanted() int { return int(math.Ceil(h.reach.Goal * float64(h.board.n))) }

// allowed tells whether a key's middle may be moved so many of its standard deviations.
func (h *reaching) allowed(k int, shift float64) bool {
	key := &h.r.Keys[k]
	v := key.Value + shift*key.SD
	return math.Abs(shift) <= farthest+1e-9 && v >= max(key.least, key.floor) && v <= min(key.most, key.ceiling)
}

// alone finds out what each key can do by itself, and confirms the best.
func (h *reaching) alone(ctx context.Context) error {
	b, want := h.board, h.wanted()
	err := over(ctx, b.d, func(k int) error {
		column, slopes := make([]float64, b.n), b.each()
		b.slopes(slopes, k)
		reaches := func(c change) (bool, error) {
			t := b.tried(column, slopes, k, c, nil)
			if t.met < want {
				return false, nil
			}
			t, err := b.fits(ctx, t, k, c)
			return t.met >= want, err
		}
		// narrow halves the way from what doesn't reach to what does.
		narrow := func(not, does, sharp float64, of func(v float64) change) (float64, error) {
			for math.Abs(does-not) > sharp {
				middle := (not + does) / 2
				ok, err := reaches(of(middle))
				if err != nil {
					return 0, err
				}
				if ok {
					does = middle
				} else {
					not = middle
				}
			}
			return does, nil
		}
		a, key := &h.reach.Alone[k], &h.r.Keys[k]
		if !key.Whole {
			factor := func(v float64) change { return change{0, v} }
			step := (1 - tightest) / (scanned - 1)
			for i := 1; i < scanned; i++ {
				ok, err := reaches(factor(1 - float64(i)*step))
				if err != nil {
					return err
				}
				if ok {
					if a.Tighten, err = narrow(1-float64(i-1)*step, 1-float64(i)*step, sharpness, factor); err != nil {
						return err
					}
					break
				}
			}
		}
		if key.fixed() {
			return nil
		}
		shift := func(v float64) change { return change{v, 1} }
		step := 2. * farthest / (scanned - 1)
		if key.Whole {
			step = 1 / key.SD
		}
		for i := 1; float64(i)*step <= farthest+1e-9; i++ {
			for _, sign := range []float64{1, -1} {
				v := sign * float64(i) * step
				if !h.allowed(k, v) {
					continue
				}
				ok, err := reaches(shift(v))
				if err != nil {
					return err
				}
				if !ok {
					continue
				}
				if !key.Whole {
					if v, err = narrow(v-sign*step, v, shiftSharp, shift); err != nil {
						return err
					}
				}
				if math.IsNaN(a.Shift) || math.Abs(v*key.SD) < math.Abs(a.Shift) {
					a.Shift = v * key.SD
				}
			}
			if !math.IsNaN(a.Shift) {
				break
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	// The best are those that take least: of tolerances the loosest, then the smallest shifts.
	var order []int
	for k := range h.reach.Alone {
		if a := &h.reach.Alone[k]; !math.IsNaN(a.Tighten) || !math.IsNaN(a.Shift) {
			order = append(order, k)
		}
	}
	effort := func(k int) float64 {
		if a := &h.reach.Alone[k]; math.IsNaN(a.Tighten) {
			return 1 + math.Abs(a.Shift)/h.r.Keys[k].SD
		}
		return 1 - h.reach.Alone[k].Tighten
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(effort(i), effort(j)) })
	for _, k := range order[:min(mostAlone, len(order))] {
		a, design := &h.reach.Alone[k], h.unchanged()
		if math.IsNaN(a.Tighten) {
			design[k].shift = a.Shift / h.r.Keys[k].SD
		} else {
			design[k].tighten = a.Tighten
		}
		if a.Confirmed, _, err = h.confirm(ctx, design); err != nil {
			return err
		}
	}
	return nil
}

// confirm fires guns of a design, and returns the share of sound ones.
func (h *reaching) confirm(ctx context.Context, design []change) (Estimate, *Analysis, error) {
	a, err := h.ask(ctx, design)
	if err != nil {
		return none(), nil, err
	}
	return a.Share(h.sought), a, nil
}

// alike finds the common factor of all tolerances.
func (h *reaching) alike(ctx context.Context) error {
	y, x := make([]float64, h.r.guns.outputs()), make([]float64, len(h.r.Keys))
	for k := range x {
		x[k] = h.r.Keys[k].Value
	}
	if err := h.r.guns.fire(ctx, x, y); err != nil {
		return err
	}
	h.r.Evaluations++
	if !h.sought(y) { // the middles themselves miss
		return nil
	}
	b, want := h.board, h.wanted()
	of := func(v float64) []change {
		design := h.unchanged()
		for k := range design {
			if !h.r.Keys[k].Whole {
				design[k].tighten = v
			}
		}
		return design
	}
	reaches := func(v float64) (bool, error) {
		b.design = of(v)
		b.lay()
		t := b.judge()
		if t.met < want {
			return false, ctx.Err()
		}
		t, err := b.fits(ctx, t, -1, asItIs)
		return t.met >= want, err
	}
	defer func() {
		b.design = h.unchanged()
		b.lay()
	}()
	step := (1 - tightest) / (scanned - 1)
	for i := 1; i < scanned; i++ {
		not, does := 1-float64(i-1)*step, 1-float64(i)*step
		ok, err := reaches(does)
		if err != nil {
			return err
		}
		if !ok {
			continue
		}
		for not-does > sharpness {
			ok, err := reaches((not + does) / 2)
			if err != nil {
				return err
			}
			if ok {
				does = (not + does) / 2
			} else {
				not = (not + does) / 2
			}
		}
		h.reach.AllAlike.Factor = does
		h.reach.AllAlike.Confirmed, _, err = h.confirm(ctx, of(does))
		return err
	}
	return nil
}

// plan goes step by step, each time the one that gains most.
func (h *reaching) plan(ctx context.Context) error {
	p := &h.reach.Plan
	var touched []int
	for steps := 0; ; {
		// At least one step, since as it is the goal wasn't reached by guns that were fired.
		before := steps
		for must := true; steps < mostSteps; steps++ {
			now, err := h.board.fits(ctx, h.board.judge(), -1, asItIs)
			if err != nil {
				return err
			}
			if now.met >= h.wanted() && !must {
				break
			}
			k, c, better, err := h.step(ctx, now)
			if err != nil {
				return err
			}
			if !better {
				break
			}
			h.board.keep(k, c)
			if !slices.Contains(touched, k) {
				touched = append(touched, k)
			}
			must = false
		}
		if steps == before {
			break
		}
		share, a, err := h.confirm(ctx, h.board.design)
		if err != nil {
			return err
		}
		p.Confirmed = share
		if p.Reached = share.Value >= h.reach.Goal-2*share.SE; p.Reached || p.Refitted == mostRefits || steps == mostSteps {
			break
		}
		p.Refitted++
		h.fired = append(h.fired, firedDesign{a, slices.Clone(h.board.design)})
		h.s.fit(h.draws)
		h.board.lay()
	}
	for _, k := range touched {
		c, key := h.board.design[k], &h.r.Keys[k]
		p.Steps = append(p.Steps, Step{k, c.tighten, c.shift * key.SD})
	}
	return nil
}

// step finds the change that gains most over what is now: half a tolerance, or a middle moved
// by half a standard deviation, or by one where only whole numbers will do.
func (h *reaching) step(ctx context.Context, now trial) (best int, to change, better bool, err error) {
	b := h.board
	type candidate struct {
		key int
		c   change
		t   trial
	}
	each := make([][]candidate, b.d)
	err = over(ctx, b.d, func(k int) error {
		column, slopes := make([]float64, b.n), b.each()
		b.slopes(slopes, k)
		key, is := &h.r.Keys[k], b.design[k]
		var all []change
		if !key.Whole {
			all = append(all, change{is.shift, is.tighten / 2})
		}
		if !key.fixed() {
			step := 0.5
			if key.Whole {
				step = 1 / key.SD
			}
			for _, shift := range []float64{is.shift + step, is.shift - step} {
				if h.allowed(k, shift) {
					all = append(all, change{shift, is.tighten})
				}
			}
		}
		for _, c := range all {
			each[k] = append(each[k], candidate{k, c, b.tried(column, slopes, k, c, nil)})
		}
		return nil
	})
	if err != nil {
		return 0, asItIs, false, err
	}
	all := slices.Concat(each...)
	// What Validate hasn't been asked of counts too many: it is asked from the best on,
	// until the best is one that it was asked of.
	for {
		i := -1
		for j := range all {
			if i < 0 || all[j].t.better(all[i].t) {
				i = j
			}
		}
		if i < 0 || !all[i].t.better(now) {
			return 0, asItIs, false, nil
		}
		if all[i].t.safe {
			return all[i].key, all[i].c, true, nil
		}
		if all[i].t, err = b.fits(ctx, all[i].t, all[i].key, all[i].c); err != nil {
			return 0, asItIs, false, err
		}
	}
}
