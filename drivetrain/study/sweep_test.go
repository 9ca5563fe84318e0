package study_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// Turns against ratio: what each makes of the rate of fire.
func ExampleSweep() {
	d, err := buildfile.DemoDocument()
	if err != nil {
		fmt.Println(err)
		return
	}
	var axes []study.Axis
	for _, text := range []string{"motor.armature.turns=22..26 by 2", "gears.ratio=10.5,12"} {
		a, err := study.ParseAxis(text)
		if err != nil {
			fmt.Println(err)
			return
		}
		axes = append(axes, a)
	}
	s, err := study.NewSweep(d, study.Question{Figures: []string{"rate_of_fire"}}, axes...)
	if err != nil {
		fmt.Println(err)
		return
	}
	for p, err := range s.Points(context.Background()) {
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%g turns, %g to 1: %.1f rounds a second\n", p.Values[0], p.Values[1], p.Answer.Values[0])
	}
	// Output:
	// 22 turns, 10.5 to 1: 26.1 rounds a second
	// 22 turns, 12 to 1: 23.6 rounds a second
	// 24 turns, 10.5 to 1: 24.2 rounds a second
	// 24 turns, 12 to 1: 21.8 rounds a second
	// 26 turns, 10.5 to 1: 22.5 rounds a second
	// 26 turns, 12 to 1: 20.3 rounds a second
}

func TestParseAxis(t *testing.T) {
	for text, want := range map[string][]float64{
		"motor.armature.turns=20..23":                 {20, 21, 22, 23},
		"motor.armature.turns=23..20":                 {23, 22, 21, 20},
		"motor.armature.turns=20..32 by 5":            {20, 25, 30},
		"motor.armature.turns=20..32:4":               {20, 24, 28, 32},
		"gears.ratio=10,12, 14":                       {10, 12, 14},
		"gears.ratio=10:1..14:1:3":                    {10, 12, 14},
		"gears.ratio=18:1, 20:1":                      {18, 20},
		"gears.ratio=10..12:1 by 1":                   {10, 11, 12},
		"spring.rate=600..800 N/m:9":                  {600, 625, 650, 675, 700, 725, 750, 775, 800},
		"spring.rate=600 N/m..0.8 kN/m:2":             {600, 800},
		"spring.rate = 600..700 N/m by 50":            {600, 650, 700},
		"spring.rate=600..690 N/m by 50 N/m":          {600, 650},
		"pellet.mass=0.20,0.25 g":                     {0.0002, 0.00025},
		"barrel.length=300 mm":                        {0.3},
		"harness.lead.gauge=14..18 AWG by 2":          {14, 16, 18},
		"harness.connectors.1.resistance=0..1 mohm:3": {0, 0.0005, 0.001},
		"battery.state_of_charge=20..80 % by 30 %":    {0.2, 0.5, 0.8},
		"ambient.temperature=-10..20 degC by 15 K":    {263.15, 278.15, 293.15},
		"motor.stator.magnet.drift=-0.2..-0.1 %/K:2":  {-0.002, -0.001},
	} {
		a, err := study.ParseAxis(text)
		require.NoError(t, err, text)
		assert.InDeltaSlice(t, want, a.Values, 1e-12, text)
		assert.Len(t, a.Values, len(want), text)
	}
	for text, says := range map[string]string{
		"motor.armature.turns":                     "wanted a key and its values",
		"=3":                                       "wanted a key and its values",
		"motor.armature.tunrs=20..32":              "no such key",
		"motor.armature=20..32":                    "no such key that holds a value",
		"trigger.mode=single":                      "is a word",
		"motor.armature.turns=20..x":               "turns: ",
		"motor.armature.turns=20.5,21":             "whole number",
		"motor.armature.turns=20..21:7":            "aren't whole numbers",
		"motor.armature.turns=20..20":              "begins and ends at 20",
		"motor.armature.turns=20..32 by 0":         "a step of nothing",
		"motor.armature.turns=20,21,20":            "20 is there twice",
		"gears.efficiency=50,200 %":                "200 % is out of range; wanted 1 % to 100 %",
		"spring.rate=600..800 N/m":                 "how many values from 600 N/m to 800 N/m",
		"spring.rate=600..800:9":                   "bare number",
		"spring.rate=600..800 N:9":                 "wanted a spring rate",
		"spring.rate=600..800 N/m:1":               "wanted how many values behind the colon",
		"spring.rate=600..800 N/m:9 by 10 N/m":     "both a count",
		"spring.rate=600..800 N/m:100000":          "2 to 10000",
		"spring.rate=600..800 N/m by 0.001 N/m":    "wanted at most 10000",
		"spring.rate=600..800 N/m by 10 mm":        "by: ",
		"spring.rate=600 ± 10 N/m":                 "has a tolerance",
		"spring.rate=":                             "nothing is given",
		"ambient.temperature=0..20 degC by 5 degC": "in K",
	} {
		_, err := study.ParseAxis(text)
		assert.ErrorContains(t, err, says, text)
	}
}

func FuzzParseAxis(f *testing.F) {
	for _, text := range []string{"gears.ratio=10,12,14", "motor.armature.turns=20..32 by 3", "spring.rate=600..800 N/m:9", "ambient.temperature=0..20 degC by 5 K", "gears.ratio=18:1..20:1:3"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		a, err := study.ParseAxis(text)
		if err != nil {
			assert.NotEmpty(t, err.Error())
			return
		}
		assert.NotEmpty(t, a.Values)
		assert.LessOrEqual(t, len(a.Values), study.MostPoints)
		for _, v := range a.Values {
			assert.True(t, quantity.Finite(v) && a.Kind.Holds(v), "%g", v)
		}
	})
}

func swept(t *testing.T, d *buildfile.Document, q study.Question, texts ...string) (*study.Sweep, []study.Point, []error) {
	t.Helper()
	var axes []study.Axis
	for _, text := range texts {
		a, err := study.ParseAxis(text)
		require.NoError(t, err)
		axes = append(axes, a)
	}
	s, err := study.NewSweep(d, q, axes...)
	require.NoError(t, err)
	var points []study.Point
	var errs []error
	for p, err := range s.Points(context.Background()) {
		points, errs = append(points, p), append(errs, err)
	}
	return s, points, errs
}

// Each point is what the build is with its values set as text, figures and findings; the
// last axis goes fastest.
func TestSweepIsWhatEachBuildDoes(t *testing.T) {
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	s, points, errs := swept(t, d, study.Question{Figures: []string{"pme_margin", "motor_stall_current"}, Target: d.Target, Findings: true},
		"battery.series=2,3", "spring.rate=700..750 N/m:2", "gears.ratio=10,12")
	require.Len(t, points, 8)
	require.Equal(t, 8, s.Count())
	require.Equal(t, "pme_margin", s.Figures()[0].Name)
	seen, good := map[float64]bool{}, 0
	for i, p := range points {
		require.NoError(t, errs[i])
		assert.Equal(t, i, p.Number)
		assert.Equal(t, []float64{[]float64{2, 3}[i/4], []float64{700, 750}[i/2%2], []float64{10, 12}[i%2]}, p.Values)
		n, err := d.With(fmt.Sprintf("battery.series=%g", p.Values[0]), fmt.Sprintf("spring.rate=%g N/m", p.Values[1]), fmt.Sprintf("gears.ratio=%g", p.Values[2]))
		require.NoError(t, err)
		x, err := study.Examine(context.Background(), n.Build, n.Target, cycle.Settings{})
		require.NoError(t, err)
		for k, f := range s.Figures() {
			assert.InEpsilon(t, x.Value(f.Name), p.Answer.Values[k], 1e-12, f.Name)
		}
		assert.Equal(t, fmt.Sprint(x.Findings), fmt.Sprint(p.Answer.Findings))
		met := !x.Findings.Broken()
		for _, v := range x.Verdicts {
			met = met && v.Fate == figure.Met
		}
		assert.Equal(t, met, s.Good(p.Answer))
		if met {
			good++
		}
		seen[p.Answer.Values[0]] = true
	}
	assert.Len(t, seen, 8, "no two are alike")
	assert.Positive(t, good)
}

// The same comes in the same order on one core.
func TestSweepOnOneCore(t *testing.T) {
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	all := func() string {
		_, points, errs := swept(t, d, study.Question{Figures: []string{"rate_of_fire", "muzzle_velocity"}}, "motor.armature.turns=15..40")
		var b strings.Builder
		for i, p := range points {
			fmt.Fprintln(&b, p.Number, p.Values, p.Answer.Values, errs[i])
		}
		return b.String()
	}
	want := all()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	assert.Equal(t, want, all())
}

// A combination that can't be used has its error and its place; others go on.
func TestSweepGoesOnBehindFaults(t *testing.T) {
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	_, points, errs := swept(t, d, study.Question{Figures: []string{"muzzle_velocity"}}, "barrel.bore=5.9,6.05,6.1 mm")
	require.Len(t, points, 3)
	assert.ErrorAs(t, errs[0], new(*quantity.Fault), "narrower than the pellet")
	assert.Equal(t, []float64{0.0059}, points[0].Values)
	assert.Nil(t, points[0].Answer)
	for i := range 2 {
		assert.NoError(t, errs[i+1])
		assert.False(t, math.IsNaN(points[i+1].Answer.Values[0]))
	}
}

func TestNewSweepRefuses(t *testing.T) {
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	axis := func(text string) study.Axis {
		a, err := study.ParseAxis(text)
		require.NoError(t, err)
		return a
	}
	for says, axes := range map[string][]study.Axis{
		"no key is named": nil,
		"is named twice":  {axis("gears.ratio=10,12"), axis("gears.ratio=10,13")},
		"10000":           {axis("gears.ratio=10..12:101"), axis("spring.rate=600..700 N/m:100")},
		"no values":       {{Key: "gears.ratio"}},
		"another of the keys to vary stands in its place": {axis("harness.lead.gauge=14..16 AWG"), axis("harness.lead.area=1,2 mm2")},
		"only numbers can be varied":                      {{Key: "trigger.mode", Values: []float64{1}}},
	} {
		_, err := study.NewSweep(d, study.Question{}, axes...)
		assert.ErrorContains(t, err, says)
	}
	_, err = study.NewSweep(d, study.Question{}, axis("gears.ratio=10..12:100"), axis("spring.rate=600..700 N/m:100"))
	assert.NoError(t, err, "ten thousand are allowed")
	_, err = study.NewSweep(d, study.Question{Figures: []string{"colour"}}, axis("gears.ratio=10,12"))
	assert.ErrorContains(t, err, "is no figure")
}

func TestSweepEndsWithTheContext(t *testing.T) {
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	a, err := study.ParseAxis("gears.ratio=10..20:500")
	require.NoError(t, err)
	s, err := study.NewSweep(d, study.Question{Figures: []string{"rate_of_fire"}}, a)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	n := 0
	var last error
	for _, err := range s.Points(ctx) {
		if last = err; err != nil {
			assert.True(t, errors.Is(err, context.Canceled))
			continue
		}
		if n++; n == 3 {
			stop()
		}
	}
	assert.ErrorIs(t, last, context.Canceled)
	assert.Less(t, n, 100)
}
