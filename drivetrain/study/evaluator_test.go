package study_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/drivetrain/study"
	"example.org/ampstroke/motor"
)

// examples are builds of all sorts.
func examples(t testing.TB) (all []*buildfile.Document) {
	for _, pattern := range []string{"../../examples/builds/*.yaml", "../../testdata/builds/*.yaml"} {
		paths, err := filepath.Glob(pattern)
		require.NoError(t, err)
		for _, path := range paths {
			for _, overrides := range [][]string{nil, {"trigger.mode=single"}, {"trigger.rounds=3"}, {"battery.series=3", "battery.discharge_rating="}, {"spring.rate=2400 N/m"}} {
				if d, err := buildfile.Read(path, overrides...); err == nil {
					all = append(all, d)
				}
			}
		}
	}
	require.Greater(t, len(all), 40)
	return all
}

// withoutPlan names the figures but those of heat.
func withoutPlan() []string {
	return slices.Concat(named(cycle.Figures().Infos()), named(motor.Figures().Infos()), named(pickup.Figures().Infos()))
}

func named(infos []figure.Info) (names []string) {
	for _, f := range infos {
		names = append(names, f.Name)
	}
	return names
}

// An evaluator says of a build what a whole examination says, and what it says doesn't
// depend on the builds before, nor on what else is asked.
func TestEvaluatorSaysWhatExamineSays(t *testing.T) {
	ctx := context.Background()
	target := figure.Target{{Figure: "rate_of_fire", Min: figure.At(20)}, {Figure: "pickup_tooth_safety", Min: figure.At(1.5)}, {Figure: "no_load_speed", Max: figure.At(2500)}}
	all, err := study.NewEvaluator(study.Question{Figures: withoutPlan(), Target: target, Findings: true})
	require.NoError(t, err)
	two, err := study.NewEvaluator(study.Question{Figures: []string{"ke"}, Target: target[:1]})
	require.NoError(t, err)
	require.Equal(t, []string{"ke", "rate_of_fire"}, named(two.Figures()))
	exist, fates := 0, map[figure.Fate]int{}
	for _, d := range examples(t) {
		x, err := study.Examine(ctx, d.Build, target, cycle.Settings{})
		require.NoError(t, err)
		a, err := all.Evaluate(ctx, d.Build)
		require.NoError(t, err)
		assert.Equal(t, x.Cycle.Status, a.Status)
		for i, f := range all.Figures() {
			want := x.Value(f.Name)
			require.Equal(t, math.Float64bits(want), math.Float64bits(a.Values[i]), "%s of %s", f.Name, d.Build.Name)
			require.Equal(t, math.Float64bits(want), math.Float64bits(all.Value(f.Name)))
			if !math.IsNaN(want) {
				exist++
			}
		}
		require.Equal(t, fmt.Sprint(x.Verdicts), fmt.Sprint(a.Verdicts))
		met := true
		for _, v := range a.Verdicts {
			fates[v.Fate]++
			met = met && v.Fate == figure.Met
		}
		assert.Equal(t, met, a.Met())
		assert.Equal(t, said(x.Findings), said(a.Findings))
		few, err := two.Evaluate(ctx, d.Build)
		require.NoError(t, err)
		assert.Equal(t, fmt.Sprint([]float64{x.Value("ke"), x.Value("rate_of_fire")}), fmt.Sprint(few.Values))
		assert.Nil(t, few.Findings)
	}
	assert.Greater(t, exist, 2000)
	for _, f := range []figure.Fate{figure.Met, figure.Missed, figure.NoFigure} {
		assert.Positive(t, fates[f], "%d", f)
	}
}

func said(l finding.List) (all []string) {
	for _, f := range l {
		all = append(all, f.Code+" "+string(f.Weight)+" "+f.Text)
	}
	return all
}

// Figures of heat come from the plan.
func TestEvaluatorFiresThePlan(t *testing.T) {
	ctx := context.Background()
	b, plan := buildfile.Demo(), buildfile.DemoPlan()
	e, err := study.NewEvaluator(study.Question{Figures: []string{"winding_peak", "voltage"}, Plan: plan})
	require.NoError(t, err)
	a, err := e.Evaluate(ctx, b)
	require.NoError(t, err)
	r, err := heat.Simulate(ctx, b, plan, heat.Settings{})
	require.NoError(t, err)
	assert.Equal(t, r.Part(heat.Winding).Peak, a.Values[0])
	assert.Nil(t, a.Cycle, "nobody asked for it")
	assert.InDelta(t, 8, a.Values[1], 0.5)
}

func TestQuestionsThatCannotBeAnswered(t *testing.T) {
	for text, q := range map[string]study.Question{
		`"colour" is no figure`:             {Figures: []string{"colour"}},
		"winding_peak is a figure of a":     {Figures: []string{"winding_peak"}},
		"neither min nor max":               {Target: figure.Target{{Figure: "stroke"}}},
		"is no figure a target can ask for": {Target: figure.Target{{Figure: "colour", Min: figure.At(1)}}},
		"tolerance":                         {Settings: cycle.Settings{Tolerance: 2}},
	} {
		_, err := study.NewEvaluator(q)
		assert.ErrorContains(t, err, text)
	}
}

// A build that is refused says which key, and the evaluator goes on.
func TestEvaluatorRefuses(t *testing.T) {
	e, err := study.NewEvaluator(study.Question{})
	require.NoError(t, err)
	b := buildfile.Demo()
	b.Piston.Mass = -1
	_, err = e.Evaluate(context.Background(), b)
	require.ErrorContains(t, err, "piston.mass")
	assert.False(t, study.Unfinished(err))
	assert.True(t, study.Unfinished(fmt.Errorf("x: %w", cycle.ErrUnfinished)))
	a, err := e.Evaluate(context.Background(), buildfile.Demo())
	require.NoError(t, err)
	assert.Equal(t, cycle.Steady, a.Status)
}

// Map's order is that of the items on any number of cores; errors stand where they arise.
func TestMapKeepsTheOrder(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	odd := errors.New("odd")
	for _, cores := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(cores)
		i := 0
		for m, err := range study.Map(context.Background(), func(yield func(int) bool) {
			for n := range 500 {
				if !yield(n) {
					return
				}
			}
		}, func() func(context.Context, int) (string, error) {
			return func(_ context.Context, n int) (string, error) {
				if n%5 == 3 {
					return "", odd
				}
				return fmt.Sprint(n * n), nil
			}
		}) {
			require.Equal(t, i, m.Item)
			require.Equal(t, i%5 == 3, err != nil)
			if err == nil {
				require.Equal(t, fmt.Sprint(i*i), m.Result)
			}
			i++
		}
		assert.Equal(t, 500, i)
	}
}

// A build costs what its cycle costs, and nothing is kept between builds.
func BenchmarkEvaluator(b *testing.B) {
	build := buildfile.Demo()
	for _, q := range []struct {
		name     string
		question study.Question
	}{
		{"cycle", study.Question{Figures: study.Headline(drivetrain.Automatic)}},
		{"motor", study.Question{Figures: []string{"no_load_speed"}}},
		{"findings", study.Question{Findings: true}},
	} {
		b.Run(q.name, func(b *testing.B) {
			e, err := study.NewEvaluator(q.question)
			require.NoError(b, err)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := e.Evaluate(context.Background(), build); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
