package fit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

// afterDigits are those of a value that is written back: far more than is known of it, so
// that the file computes what the fit says.
const afterDigits = 7

// Corrected returns the build's document with the fitted keys as they are known now, each
// with a ± of two standard deviations, comments kept. A note on top says when, from which
// readings (the name of their file) and how well they agree, and which of the ± are not
// independent. What has not moved and is derived stays so. The document that is given
// stays as it is.
func (r *Result) Corrected(d *buildfile.Document, readings string, when time.Time) (*buildfile.Document, error) {
	var overrides []string
	for i := range r.Unknowns {
		k := &r.Unknowns[i]
		if k.instrument || k.auto && k.Shift == 0 {
			continue
		}
		overrides = append(overrides, k.Key+"="+written(k.Kind, k.Value, 2*k.SD))
	}
	after, err := d.With(overrides...)
	if err != nil {
		return nil, fmt.Errorf("the corrected build can't be written down: %w", err)
	}
	agree := "fitted robustly, so that there is no p"
	if !math.IsNaN(r.Fit.P) {
		agree = fmt.Sprintf("p = %.3g", r.Fit.P)
	}
	after.Note(fmt.Sprintf("Corrected on %s by %d readings of %s (%s). Fitted to this model, not proved of this gun. Each ± is two standard deviations of what is known now; ampstroke spread takes them as independent.",
		when.Format(time.DateOnly), len(r.Readings), quantity.Printable(readings, 100), agree))
	if pairs := r.pairs(); len(pairs) > 0 {
		after.Note("These are not independent, and together known better than the ± of each says: " + strings.Join(pairs, "; ") + ".")
	}
	after.Note("To fit this file to the same readings again would count them twice.")
	return after, nil
}

// pairs says what is told only as one, instruments apart.
func (r *Result) pairs() (all []string) {
	for _, p := range r.Together {
		a, b := &r.Unknowns[p.First], &r.Unknowns[p.Second]
		if !a.instrument && !b.instrument {
			all = append(all, fmt.Sprintf("%s with %s (correlation %.2f)", a.Key, b.Key, p.Correlation))
		}
	}
	return all
}

// written shows a value [SI] with its tolerance [SI] as a build file has it.
func written(k quantity.Kind, v, tolerance float64) string {
	unit, scale, offset := k.Unit(), 1., 0.
	switch {
	case k == quantity.Temperature:
		offset = quantity.Celsius
	case unit != "":
		scale = k.In(unit)
	}
	number := func(x float64) string {
		text := strconv.FormatFloat(x, 'g', afterDigits, 64)
		if unit != "" {
			text += " " + unit
		}
		return text
	}
	return number((v-offset)*scale) + " ± " + number(tolerance*scale)
}
