package fit

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/mathext"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/internal/lsq"
	"example.org/ampstroke/drivetrain/quantity"
)

// covariance is that of the fitted unknowns at an estimate, in units of their priors.
func (f *fitting) covariance(e *estimate) (*mat.SymDense, error) {
	return covariance(e, len(f.fitted))
}

func covariance(e *estimate, n int) (*mat.SymDense, error) {
	m := len(e.weights)
	stacked := mat.NewDense(m+n, n, nil)
	for j, w := range e.weights {
		for c := range n {
			stacked.Set(j, c, math.Sqrt(w)*e.slopes.At(j, c))
		}
	}
	for c := range n {
		stacked.Set(m+c, c, 1)
	}
	return lsq.Covariance(stacked)
}

// form is g·C·hᵀ.
func form(g []float64, c mat.Symmetric, h []float64) float64 {
	return mat.Inner(mat.NewVecDense(len(g), g), c, mat.NewVecDense(len(h), h))
}

// judge says what the estimate is worth.
func (f *fitting) judge(e *estimate, cov *mat.SymDense) {
	r := &f.result
	r.Robust = f.settings.Robust
	r.Outcome = Unchanged
	m, n := len(f.readings), len(f.fitted)
	for c, i := range f.fitted {
		k := f.unknowns[i]
		u := e.u[i]
		ratio := math.Sqrt(cov.At(c, c))
		drive := u // the gradient of S/2
		for j := range f.readings {
			drive += e.weights[j] * e.slopes.At(j, c) * (e.values[j] - f.readings[j].value) / f.readings[j].sd
		}
		one := Estimate{
			Unknown: k, Value: k.At(u), SD: math.Abs(k.Slope(u)) * ratio, Shift: u, ToldRatio: ratio, Told: ratio <= toldBelow,
			AtBound: u <= k.Lower && drive > 0 || u >= k.Upper && drive < 0,
		}
		r.Unknowns = append(r.Unknowns, one)
		if math.Abs(u) >= stillBelow {
			r.Outcome = Converged
		}
	}
	for _, i := range f.unseen {
		r.Unseen = append(r.Unseen, f.unknowns[i].Key)
	}
	g := &r.Fit
	g.Chi2, g.Readings, g.Priors, g.DOF, g.P = e.chi2, e.parts[0], e.parts[1], m, math.NaN()
	if !f.settings.Robust {
		g.P = chance(e.chi2, m)
	}
	for j := range f.readings {
		one := &f.readings[j]
		row := e.slopes.RawRowView(j)[:n]
		res := (one.value - e.values[j]) / one.sd
		leverage := min(max(e.weights[j]*form(row, cov, row), 0), 1)
		t := 0.
		if res != 0 {
			t = res / math.Sqrt(max(1-leverage, 1e-12))
		}
		r.Readings = append(r.Readings, Residual{
			Reading: f.file.Readings[j], Measured: one.value, SD: one.sd, Before: f.before[j], After: e.values[j], Residual: res,
			Weight: e.weights[j], Leverage: leverage, Standardised: t, Outlier: math.Abs(t) > outlierFrom,
		})
	}
	for a := range n {
		row := make([]float64, n)
		for b := range n {
			row[b] = cov.At(a, b) / math.Sqrt(cov.At(a, a)*cov.At(b, b))
			if b < a && math.Abs(row[b]) >= togetherFrom {
				r.Together = append(r.Together, Pair{b, a, row[b]})
			}
		}
		r.Correlation = append(r.Correlation, row)
	}
	slices.SortStableFunc(r.Together, func(a, b Pair) int {
		switch x, y := math.Abs(a.Correlation), math.Abs(b.Correlation); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	weighted := mat.NewDense(m, n, nil)
	for j := range m {
		for c := range n {
			weighted.Set(j, c, math.Sqrt(e.weights[j])*e.slopes.At(j, c))
		}
	}
	var svd mat.SVD
	if svd.Factorize(weighted, mat.SVDNone) {
		r.Singular = svd.Values(nil)
	}
	for a := range f.readings {
		for b := range a {
			x, y := &f.readings[b], &f.readings[a]
			if x.figure.Name != y.figure.Name || x.supply != y.supply || x.condition != y.condition {
				continue
			}
			if apart := math.Abs(x.value-y.value) / math.Hypot(x.sd, y.sd); apart > outlierFrom {
				r.Contradictions = append(r.Contradictions, Contradiction{b + 1, a + 1, apart})
			}
		}
	}
	slices.SortFunc(r.Contradictions, func(a, b Contradiction) int {
		if a.First != b.First {
			return a.First - b.First
		}
		return a.Second - b.Second
	})
}

// chance is that of a χ² so large, or larger, of so many degrees of freedom.
func chance(chi2 float64, dof int) float64 {
	return mathext.GammaIncRegComp(float64(dof)/2, chi2/2)
}

// predict computes the figures after, and what readings to come would tell.
func (f *fitting) predict(ctx context.Context, e *estimate, cov *mat.SymDense) error {
	r := &f.result
	gauges := slices.Clone(f.figures)
	candidates, next, err := f.candidates(ctx, e)
	if err != nil {
		return err
	}
	gauges = append(gauges, candidates...)
	values, _, err := f.values(ctx, [][]float64{e.u}, nil, gauges)
	if err != nil {
		return err
	}
	slopes, err := f.model.slopes(ctx, e.u, values[0], gauges, f.all)
	if err != nil {
		return err
	}
	full := f.full(cov)
	for i := range f.figures {
		info := f.figures[i].figure
		before := f.before[len(f.readings)+i]
		if math.IsNaN(before) && math.IsNaN(values[0][i]) {
			continue
		}
		row := slopes.RawRowView(i)
		c := Change{Figure: info, Before: before, BeforeSD: f.beforeSD[i], After: values[0][i], AfterSD: math.Sqrt(form(row, full, row))}
		for _, w := range f.document.Target {
			if w.Figure == info.Name {
				v := w.Judge(c.After)
				c.Verdict = &v
			}
		}
		r.Figures = append(r.Figures, c)
	}
	r.Target = f.target
	aim := make([]float64, len(f.unknowns))
	if f.aim >= 0 {
		copy(aim, slopes.RawRowView(f.aim))
	} else {
		aim[-1-f.aim] = 1
	}
	variance := form(aim, full, aim)
	for i := range next {
		g := len(f.figures) + i
		row := slopes.RawRowView(g)
		one := Next{Reading: next[i], SD: next[i].SD(values[0][g])}
		if math.IsNaN(values[0][g]) || !(one.SD > 0) || slices.ContainsFunc(row, math.IsNaN) {
			continue
		}
		if both := form(aim, full, row); both != 0 && variance > 0 {
			one.Reduction = both * both / ((one.SD*one.SD + form(row, full, row)) * variance)
		}
		if math.IsNaN(one.Reduction) {
			continue
		}
		r.Next = append(r.Next, one)
	}
	slices.SortStableFunc(r.Next, func(a, b Next) int {
		switch {
		case a.Reduction > b.Reduction:
			return -1
		case a.Reduction < b.Reduction:
			return 1
		}
		return 0
	})
	return nil
}

// full is the covariance of all unknowns: what is unseen keeps its prior's.
func (f *fitting) full(cov *mat.SymDense) *mat.SymDense {
	full := mat.NewSymDense(len(f.unknowns), nil)
	for a, i := range f.fitted {
		for b, k := range f.fitted {
			full.SetSym(i, k, cov.At(a, b))
		}
	}
	for _, i := range f.unseen {
		full.SetSym(i, i, 1)
	}
	return full
}

// candidates are the readings that could be taken next: the file's, or the usual ones.
func (f *fitting) candidates(ctx context.Context, e *estimate) ([]gauge, []buildfile.Reading, error) {
	if len(f.file.Candidates) > 0 {
		var gauges []gauge
		for i := range f.file.Candidates {
			g, err := f.gauge(&f.file.Candidates[i])
			if err != nil {
				return nil, nil, err
			}
			gauges = append(gauges, g)
		}
		return gauges, f.file.Candidates, nil
	}
	base, err := f.condition(nil)
	if err != nil {
		return nil, nil, err
	}
	b, err := f.build(&worker{variants: map[int][2]*buildfile.Variant{}}, base, e.u)
	if err != nil {
		return nil, nil, err
	}
	supply := 0.
	if cell, err := b.Battery.Cell(); err == nil {
		supply = b.Battery.OCV(cell, b.Battery.StateOfCharge)
	}
	heavy := []buildfile.Overlay{{Override: buildfile.Override{Path: "pellet.mass", Value: quantity.Mass.Print(1.5 * b.Pellet.Mass)}}}
	low := []buildfile.Overlay{{Override: buildfile.Override{Path: "battery.state_of_charge", Value: "40 %"}}}
	var gauges []gauge
	var next []buildfile.Reading
	for _, c := range []struct {
		name  string
		share float64
		alone bool
		with  []buildfile.Overlay
	}{
		{"no_load_speed", 0.01, true, nil},
		{"no_load_current", 0.05, true, nil},
		{"stall_current", 0.04, true, nil},
		{"rate_of_fire", 0.01, false, nil},
		{"current_mean", 0.03, false, nil},
		{"inrush", 0.05, false, nil},
		{"pack_voltage_min", 0.015, false, nil},
		{"trigger_delay", 0.02, false, nil},
		{"muzzle_velocity", 0.01, false, nil},
		{"muzzle_velocity", 0.01, false, heavy},
		{"rate_of_fire", 0.01, false, low},
		{"spring_peak_force", 0.03, false, nil},
	} {
		one := buildfile.Reading{Value: math.NaN(), Share: c.share, Times: 1, With: c.with}
		list := buildfile.GunFigures().Infos()
		if c.alone {
			one.Supply, list = supply, buildfile.MotorFigures().Infos()
		}
		for _, info := range list {
			if info.Name == c.name {
				one.Figure = info
			}
		}
		g, err := f.gauge(&one)
		if err != nil || c.alone && !(supply > 0) {
			continue // there is no such build, and no such reading
		}
		gauges = append(gauges, g)
		next = append(next, one)
	}
	return gauges, next, ctx.Err()
}

// leaveOut fits without each reading in turn, from the estimate, and predicts it.
func (f *fitting) leaveOut(ctx context.Context, e *estimate) error {
	for j := range f.readings {
		one := &f.readings[j]
		others := slices.Delete(slices.Clone(f.readings), j, j+1)
		u := make([]float64, len(f.unknowns))
		cov := mat.NewSymDense(len(f.fitted), nil)
		for c := range f.fitted {
			cov.SetSym(c, c, 1)
		}
		if len(others) > 0 {
			without, err := f.solver(others).solve(ctx, e.u)
			if err != nil {
				return fmt.Errorf("without reading %d: %w", j+1, err)
			}
			u = without.u
			if cov, err = covariance(without, len(f.fitted)); err != nil {
				return err
			}
		}
		gauges := []gauge{one.gauge}
		values, why, err := f.values(ctx, [][]float64{u}, nil, gauges)
		if err != nil {
			return err
		}
		out := LeftOut{Reading: j + 1, Predicted: values[0][0], PredictedSD: math.NaN(), Apart: math.NaN()}
		if math.IsNaN(out.Predicted) {
			f.caution("left-out", "without reading %d it can't be predicted: %v", j+1, why[0][one.condition])
		} else {
			slopes, err := f.model.slopes(ctx, u, values[0], gauges, f.fitted)
			if err != nil {
				return err
			}
			row := slopes.RawRowView(0)
			out.PredictedSD = math.Sqrt(form(row, cov, row))
			out.Apart = (one.value - out.Predicted) / math.Hypot(out.PredictedSD, one.sd)
		}
		f.result.LeftOut = append(f.result.LeftOut, out)
	}
	return nil
}
