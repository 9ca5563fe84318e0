package main

import (
	"math"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/fit"
)

func withJSON(all []buildfile.Overlay) object {
	o := object{}
	for _, w := range all {
		o = append(o, member{w.Path, w.Value})
	}
	return o
}

func supplyJSON(v float64) any {
	if v == 0 {
		return nil
	}
	return number(v)
}

// fitJSON is the whole result in SI units; standard deviations are one.
func fitJSON(d *buildfile.Document, file *buildfile.Readings, r *fit.Result) object {
	unknowns := []object{}
	for i := range r.Unknowns {
		k := &r.Unknowns[i]
		unknowns = append(unknowns, object{
			{"key", k.Key}, {"scale", k.Scale.String()}, {"prior", number(k.Prior)}, {"prior_sd", number(k.PriorSD)}, {"value", number(k.Value)}, {"sd", number(k.SD)},
			{"shift", number(k.Shift)}, {"told_ratio", number(k.ToldRatio)}, {"told", k.Told}, {"at_bound", k.AtBound},
		})
	}
	readings := []object{}
	for i := range r.Readings {
		o := &r.Readings[i]
		readings = append(readings, object{
			{"figure", o.Figure.Name}, {"supply_v", supplyJSON(o.Supply)}, {"with", withJSON(o.With)}, {"instrument", orNull(o.Instrument)}, {"times", o.Times}, {"measured", number(o.Measured)}, {"sd", number(o.SD)},
			{"before", number(o.Before)}, {"after", number(o.After)}, {"residual", number(o.Residual)}, {"weight", number(o.Weight)}, {"leverage", number(o.Leverage)},
			{"standardised", number(o.Standardised)}, {"outlier", o.Outlier},
		})
	}
	correlation := [][]number{}
	for _, row := range r.Correlation {
		line := []number{}
		for _, v := range row {
			line = append(line, number(v))
		}
		correlation = append(correlation, line)
	}
	singular := []number{}
	for _, v := range r.Singular {
		singular = append(singular, number(v))
	}
	together := []object{}
	for _, p := range r.Together {
		together = append(together, object{{"keys", []string{r.Unknowns[p.First].Key, r.Unknowns[p.Second].Key}}, {"correlation", number(p.Correlation)}})
	}
	contradictions := []object{}
	for _, p := range r.Contradictions {
		contradictions = append(contradictions, object{{"readings", []int{p.First, p.Second}}, {"sd_apart", number(p.Apart)}})
	}
	figures := []object{}
	for i := range r.Figures {
		x := &r.Figures[i]
		figures = append(figures, object{{"figure", x.Figure.Key()}, {"before", number(x.Before)}, {"before_sd", number(x.BeforeSD)}, {"after", number(x.After)}, {"after_sd", number(x.AfterSD)}})
	}
	next := []object{}
	for i := range r.Next {
		x := &r.Next[i]
		next = append(next, object{{"figure", x.Figure.Name}, {"supply_v", supplyJSON(x.Supply)}, {"with", withJSON(x.With)}, {"sd", number(x.SD)}, {"target", r.Target}, {"reduction", number(x.Reduction)}})
	}
	var p any
	if !math.IsNaN(r.Fit.P) {
		p = number(r.Fit.P)
	}
	unseen := append([]string{}, r.Unseen...)
	o := object{
		{"format", 1}, {"build", d.Build.Name}, {"readings_name", file.Name}, {"outcome", string(r.Outcome)}, {"robust", r.Robust},
		{"unknowns", unknowns}, {"unseen", unseen},
		{"fit", object{
			{"chi2", number(r.Fit.Chi2)}, {"chi2_readings", number(r.Fit.Readings)}, {"chi2_priors", number(r.Fit.Priors)}, {"dof", r.Fit.DOF}, {"p", p},
			{"iterations", r.Fit.Iterations}, {"evaluations", r.Fit.Evaluations}, {"starts", r.Fit.Starts}, {"minima", r.Fit.Minima},
		}},
		{"readings", readings}, {"correlation", correlation}, {"singular_values", singular}, {"together", together}, {"contradictions", contradictions},
		{"figures", figures}, {"next", next},
	}
	if r.LeftOut != nil {
		out := []object{}
		for _, l := range r.LeftOut {
			out = append(out, object{{"reading", l.Reading}, {"predicted", number(l.Predicted)}, {"predicted_sd", number(l.PredictedSD)}, {"sd_apart", number(l.Apart)}})
		}
		o = append(o, member{"left_out", out})
	}
	warnings := []object{}
	for _, w := range r.Warnings {
		warnings = append(warnings, object{{"code", w.Code}, {"text", w.Text}})
	}
	return append(o, member{"warnings", warnings}, member{"cautions", cautions()})
}
