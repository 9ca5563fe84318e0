package fit_test

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/fit"
)

const reference = "../../testdata/reference/fit/"

// plain are the overrides that make a build's physics those of the reference.
func plain(text string) []string {
	all := []string{"spring.waves=false", "barrel.air=still", "barrel.wall_heat=0", "cylinder.wall_heat=0"}
	if !strings.Contains(text, "commutation:") {
		all = append(all, "motor.commutation=0 %")
	}
	return all
}

// referenceCase reads a case's build and readings.
func referenceCase(t testing.TB, name string) (*buildfile.Document, *buildfile.Readings) {
	t.Helper()
	text, err := os.ReadFile(reference + name + ".yaml")
	require.NoError(t, err)
	d, err := buildfile.Parse(name+".yaml", text, plain(string(text))...)
	require.NoError(t, err)
	r, err := buildfile.ReadReadings(reference + name + ".readings.yaml")
	require.NoError(t, err)
	return d, r
}

// truth is what a second, independent program makes of a case.
type truth struct {
	Unknowns []struct {
		Key     string
		Prior   float64
		PriorSD float64 `json:"prior_sd"`
		Value   float64
		SD      float64
		Shift   float64
		Told    float64 `json:"told_ratio"`
	}
	Unseen []string
	Fit    struct {
		Chi2     float64
		Readings float64 `json:"chi2_readings"`
		DOF      int
		P        *float64
	}
	Readings []struct {
		Figure       string
		Measured     float64
		SD           float64
		After        float64
		Residual     float64
		Weight       float64
		Standardised float64
		Outlier      bool
	}
	Singular       []float64 `json:"singular_values"`
	Together       [][]string
	Contradictions [][]int
	Outcome        string
	Figures        []struct {
		Figure   string
		Before   float64
		BeforeSD float64 `json:"before_sd"`
		After    float64
		AfterSD  float64 `json:"after_sd"`
	}
	Next []struct {
		Figure    string
		Target    string
		Reduction float64
	}
	LeftOut []struct {
		Reading   int
		Predicted float64
		PSD       float64 `json:"predicted_sd"`
		Apart     float64 `json:"sd_apart"`
	} `json:"left_out"`
}

// The posterior of six cases as an independent program has found it, by another optimiser and
// differences of fourth order: values to a hundredth of their standard deviation.
func TestReference(t *testing.T) {
	for name, settings := range map[string]fit.Settings{
		"rifle": {}, "trainer": {LeaveOut: true, Target: "rate_of_fire"}, "two-as-one": {}, "outlier": {Robust: true}, "contradiction": {}, "as-built": {},
	} {
		t.Run(name, func(t *testing.T) {
			d, file := referenceCase(t, name)
			var want truth
			text, err := os.ReadFile(reference + name + ".truth.json")
			require.NoError(t, err)
			require.NoError(t, json.Unmarshal(text, &want))
			r, err := fit.Run(t.Context(), d, file, settings)
			require.NoError(t, err)
			near := func(what string, have, want, tolerance float64) {
				t.Helper()
				assert.LessOrEqual(t, math.Abs(have-want), tolerance, "%s: %g for %g", what, have, want)
			}

			assert.Equal(t, want.Outcome, string(r.Outcome))
			assert.ElementsMatch(t, want.Unseen, r.Unseen)
			require.Len(t, r.Unknowns, len(want.Unknowns))
			for _, u := range want.Unknowns {
				i := slices.IndexFunc(r.Unknowns, func(k fit.Estimate) bool { return k.Key == u.Key })
				require.GreaterOrEqual(t, i, 0, u.Key)
				k := &r.Unknowns[i]
				near(u.Key+" prior", k.Prior, u.Prior, 1e-9*math.Abs(u.Prior))
				near(u.Key+" prior's", k.PriorSD, u.PriorSD, 1e-9*u.PriorSD)
				near(u.Key, k.Value, u.Value, 0.005*u.SD)
				near(u.Key+" sd", k.SD, u.SD, 0.005*u.SD)
				near(u.Key+" shift", k.Shift, u.Shift, 0.005)
				near(u.Key+" ratio", k.ToldRatio, u.Told, 0.005)
			}
			near("chi2", r.Fit.Chi2, want.Fit.Chi2, 1e-4*(1+want.Fit.Chi2))
			near("chi2 of readings", r.Fit.Readings, want.Fit.Readings, 1e-3*(1+want.Fit.Readings))
			near("parts", r.Fit.Readings+r.Fit.Priors, r.Fit.Chi2, 1e-9*(1+r.Fit.Chi2))
			assert.Equal(t, want.Fit.DOF, r.Fit.DOF)
			if want.Fit.P == nil {
				assert.True(t, math.IsNaN(r.Fit.P))
			} else {
				near("p", r.Fit.P, *want.Fit.P, 1e-4)
			}
			require.Len(t, r.Readings, len(want.Readings))
			for j, o := range want.Readings {
				have := &r.Readings[j]
				assert.Equal(t, o.Figure, have.Figure.Name)
				near("measured", have.Measured, o.Measured, 1e-9*math.Abs(o.Measured))
				near("sd", have.SD, o.SD, 1e-9*o.SD)
				near(o.Figure+" after", have.After, o.After, 0.005*o.SD)
				near(o.Figure+" residual", have.Residual, o.Residual, 0.005)
				near(o.Figure+" weight", have.Weight, o.Weight, 0.003)
				near(o.Figure+" standardised", have.Standardised, o.Standardised, 0.02+0.005*math.Abs(o.Standardised))
				assert.Equal(t, o.Outlier, have.Outlier)
			}
			require.Len(t, r.Singular, len(want.Singular))
			for i, s := range want.Singular {
				near("singular value", r.Singular[i], s, 0.005+0.005*s)
			}
			var together [][]string
			for _, p := range r.Together {
				pair := []string{r.Unknowns[p.First].Key, r.Unknowns[p.Second].Key}
				slices.Sort(pair)
				together = append(together, pair)
			}
			assert.ElementsMatch(t, want.Together, together)
			contradictions := [][]int{}
			for _, c := range r.Contradictions {
				contradictions = append(contradictions, []int{c.First, c.Second})
			}
			assert.ElementsMatch(t, want.Contradictions, contradictions)
			for _, f := range want.Figures {
				i := slices.IndexFunc(r.Figures, func(c fit.Change) bool { return c.Figure.Key() == f.Figure })
				require.GreaterOrEqual(t, i, 0, f.Figure)
				c := &r.Figures[i]
				near(f.Figure+" before", c.Before, f.Before, 2e-5*math.Abs(f.Before)+1e-6)
				near(f.Figure+" before's", c.BeforeSD, f.BeforeSD, 0.005*f.BeforeSD+1e-12)
				near(f.Figure+" after", c.After, f.After, 0.005*f.AfterSD+2e-5*math.Abs(f.After))
				near(f.Figure+" after's", c.AfterSD, f.AfterSD, 0.005*f.AfterSD+1e-12)
			}
			require.Len(t, r.Next, len(want.Next))
			for _, n := range want.Next {
				assert.Equal(t, n.Target, r.Target)
				assert.True(t, slices.ContainsFunc(r.Next, func(x fit.Next) bool {
					return x.Figure.Name == n.Figure && math.Abs(x.Reduction-n.Reduction) < 0.002
				}), "%s by %g", n.Figure, n.Reduction)
			}
			assert.True(t, slices.IsSortedFunc(r.Next, func(a, b fit.Next) int {
				if a.Reduction > b.Reduction {
					return -1
				}
				return 1
			}) || len(r.Next) < 2)
			require.Len(t, r.LeftOut, len(want.LeftOut))
			for i, l := range want.LeftOut {
				assert.Equal(t, l.Reading, r.LeftOut[i].Reading)
				near("left out", r.LeftOut[i].Predicted, l.Predicted, 0.01*l.PSD)
				near("left out's", r.LeftOut[i].PredictedSD, l.PSD, 0.01*l.PSD)
				near("left out, apart", r.LeftOut[i].Apart, l.Apart, 0.01)
			}
		})
	}
}
