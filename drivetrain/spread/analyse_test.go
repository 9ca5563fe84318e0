package spread_test

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"os"
	"runtime"
	"strconv"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/spread"
)

// ishigami is a function whose third input acts by the first alone (Ishigami & Homma,
// ISUMA 1990, 398).
func ishigami(x, y []float64) error {
	const a, b = 7, 0.1
	y[0] = math.Sin(x[0]) + a*math.Pow(math.Sin(x[1]), 2) + b*math.Pow(x[2], 4)*math.Sin(x[0])
	return nil
}

// gFunction is a product whose inputs matter the less the larger their number (Sobol',
// Math. Model. Comput. Exp. 1, 1993, 407).
func gFunction(x, y []float64) error {
	y[0] = 1
	for i, a := range []float64{0, 1, 4.5, 9, 99, 99, 99, 99} {
		y[0] *= (math.Abs(4*x[i]-2) + a) / (1 + a)
	}
	return nil
}

func times(n int, in spread.Input) []spread.Input {
	all := make([]spread.Input, n)
	for i := range all {
		all[i] = in
	}
	return all
}

// published are functions whose indices are known in closed form.
var published = []struct {
	name     string
	inputs   []spread.Input
	f        func(x, y []float64) error
	first    []float64
	total    []float64
	variance float64
	reason   string
}{
	{
		"Ishigami", times(3, spread.Uniform{Low: -math.Pi, High: math.Pi}), ishigami,
		[]float64{.313905, .442411, 0}, []float64{.557589, .442411, .243684}, 13.844588,
		"Ishigami & Homma 1990; Saltelli et al. 2010, closed form",
	},
	{
		"g-function", times(8, spread.Uniform{Low: 0, High: 1}), gFunction,
		[]float64{.71619, .17905, .02368, .00716, .00007, .00007, .00007, .00007},
		[]float64{.78714, .24220, .03432, .01046, .00010, .00010, .00010, .00010}, .465424,
		"Sobol' 1993; Saltelli et al. 2010, closed form",
	},
	{
		"linear", times(4, spread.Gauss(0, 1)),
		func(x, y []float64) error {
			y[0] = 4*x[0] + 3*x[1] + 2*x[2] + x[3]
			y[1] = 0
			if y[0] > 5 {
				y[1] = 1
			}
			return nil
		},
		[]float64{16. / 30, 9. / 30, 4. / 30, 1. / 30}, []float64{16. / 30, 9. / 30, 4. / 30, 1. / 30}, 30,
		"each input's share of the variance is its factor squared",
	},
}

// Indices and variance of the published functions, within 0.01 (relative of the variance)
// and eight standard errors, of which eight replicates tell no more than seven degrees of
// freedom can.
func TestPublishedFunctions(t *testing.T) {
	for _, c := range published {
		t.Run(c.name, func(t *testing.T) {
			a, err := spread.Analyse(context.Background(), c.inputs, c.f, spread.Settings{Draws: 1 << 16, Drivers: 1 << 16, Outputs: 2, Seed: 1})
			require.NoError(t, err)
			o := &a.Outputs[0]
			near := func(what string, e spread.Estimate, want, scale float64) {
				t.Helper()
				assert.InDelta(t, want, e.Value, .01*scale, what+": "+c.reason)
				assert.InDelta(t, want, e.Value, 8*e.SE+5e-6*scale, "%s in standard errors (%g): %s", what, e.SE, c.reason)
				t.Logf("%s: %.6f ± %.1g for %.6f", what, e.Value, e.SE, want)
			}
			require.Len(t, o.Drivers, len(c.inputs))
			for i, d := range o.Drivers {
				near(fmt.Sprint("first order of ", i), d.First, c.first[i], 1)
				near(fmt.Sprint("total of ", i), d.Total, c.total[i], 1)
			}
			near("variance", spread.Estimate{Value: o.SD.Value * o.SD.Value, SE: 2 * o.SD.Value * o.SD.SE}, c.variance, c.variance)
			if c.name == "linear" {
				near("P(y > 5)", a.Outputs[1].Mean, .180655, 1) // 1 − Φ(5/√30)
			}
		})
	}
}

// Wilson's intervals as Newcombe tables them (Stat. Med. 17, 1998, 857, table I).
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		hits, n   int
		low, high float64
	}{{81, 263, .2553, .3662}, {15, 148, .0624, .1605}, {0, 20, 0, .1611}, {1, 29, .0061, .1718}} {
		low, high := spread.Wilson(float64(c.hits)/float64(c.n), c.n)
		assert.InDelta(t, c.low, low, 5e-5, "%d of %d", c.hits, c.n)
		assert.InDelta(t, c.high, high, 5e-5, "%d of %d", c.hits, c.n)
	}
}

// The points before they are scrambled, against another program's, digit by digit.
func TestSobolPoints(t *testing.T) {
	f, err := os.Open("testdata/sobol.csv")
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment, r.FieldsPerRecord = '#', -1
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 24)
	for i, row := range rows {
		number, scale := i, 16.
		if i >= 16 {
			number, scale = 4092+i-16, 8192
		}
		for j, x := range spread.SobolPoint(number, len(row)) {
			want, err := strconv.ParseFloat(row[j], 64)
			require.NoError(t, err)
			require.Equal(t, want/scale, x, "point %d, dimension %d", number, j)
		}
	}
}

// Scrambled points stay as even as they were: of the first 2^k, one lies in each of 2^k equal
// stretches of every dimension, and of the first two dimensions in each box of 2^i by
// 2^(k−i).
func TestScrambledPointsAreEven(t *testing.T) {
	const k = 8
	a, err := spread.Analyse(context.Background(), times(60, spread.Uniform{Low: 0, High: 1}), func(x, y []float64) error { copy(y, x); return nil },
		spread.Settings{Draws: 8 << k, Outputs: 60, Drivers: -1, Seed: 3})
	require.NoError(t, err)
	for r := range 8 {
		for j := range 60 {
			seen := map[int]bool{}
			for p := range 1 << k {
				seen[int(a.Values(r<<k + p)[j]*(1<<k))] = true
			}
			require.Len(t, seen, 1<<k, "replicate %d, dimension %d", r, j)
		}
		for i := range k + 1 {
			seen := map[[2]int]bool{}
			for p := range 1 << k {
				v := a.Values(r<<k + p)
				seen[[2]int{int(v[0] * float64(int(1)<<i)), int(v[1] * float64(int(1)<<(k-i)))}] = true
			}
			require.Len(t, seen, 1<<k, "replicate %d, boxes %d", r, i)
		}
	}
}

// What is left of a normal distribution cut at three standard deviations has the standard
// deviation √(1 − 6·φ(3)/(Φ(3) − Φ(−3))) of it.
func TestCutNormal(t *testing.T) {
	a, err := spread.Analyse(context.Background(), []spread.Input{spread.Cut(5, 2)}, func(x, y []float64) error { y[0] = x[0]; return nil },
		spread.Settings{Draws: 1 << 20, Drivers: -1})
	require.NoError(t, err)
	o := &a.Outputs[0]
	assert.InDelta(t, 2*.98657839, o.SD.Value, 2e-6)
	assert.InDelta(t, 5, o.Mean.Value, 1e-6)
	least, most := math.Inf(1), math.Inf(-1)
	for i := range a.Settings.Draws {
		least, most = min(least, a.Values(i)[0]), max(most, a.Values(i)[0])
	}
	assert.GreaterOrEqual(t, least, -1.)
	assert.LessOrEqual(t, most, 11.)
	assert.InDelta(t, 11, most, 0.02, "the cut is reached")
}

// Inputs by their quantiles, against closed forms and limits.
func TestQuantiles(t *testing.T) {
	half := spread.Cut(0, 1).Within(0, 9)
	for _, c := range []struct {
		name       string
		in         spread.Input
		u          float64
		want, tol  float64
		whyAnother string
	}{
		{"median", spread.Cut(5, 2), .5, 5, 1e-15, "symmetric"},
		{"95 of 100", spread.Gauss(0, 1), .975, 1.959963984540054, 1e-14, "tables of the normal distribution"},
		{"one in a million", spread.Gauss(0, 1), 1e-6, -4.753424308822899, 1e-9, "tables of the normal distribution"},
		{"lower end", spread.Cut(5, 2), 1e-12, -1, 1e-8, "the cut"},
		{"half of a half", half, .5, 0.6723672950630585, 1e-14, "Φ⁻¹ of the mean of ½ and Φ(3), by scipy"},
		{"cut above the mean", spread.Cut(0, 1).Within(2.5, 9), .5, 2.671133238829895, 1e-12, "Φ⁻¹ of the mean of Φ(2.5) and Φ(3), by scipy"},
		{"far out", spread.Normal{Mean: 0, SD: 1, Low: 5, High: 6}, .5, 5.131371763283919, 1e-8, "Φ⁻¹ of the mean of Φ(5) and Φ(6), by scipy"},
		{"nothing varies", spread.Normal{Mean: 4, Low: 4, High: 4}, .3, 4, 0, "no spread"},
		{"whole", spread.Whole{Normal: spread.Cut(28, .5)}, .5, 28, 0, "the middle"},
		{"whole above", spread.Whole{Normal: spread.Cut(28, .5)}, .9, 29, 0, "Φ⁻¹(.9)·½ rounds up"},
		{"uniform", spread.Uniform{Low: 2, High: 4}, .25, 2.5, 0, "a quarter of the way"},
	} {
		assert.InDelta(t, c.want, c.in.Quantile(c.u), c.tol, c.name+": "+c.whyAnother)
	}
}

// The error of the mean falls faster than N^−0.8, where random points have N^−0.5, and the
// standard error tells it: over fifty seeds the root of its mean square is within a factor 1.5
// of the error's.
func TestConvergence(t *testing.T) {
	var logN, logE []float64
	most := 12
	if effort.All() {
		most = 14
	}
	for k := 8; k <= most; k++ {
		var off, se float64
		for seed := range 50 {
			a, err := spread.Analyse(context.Background(), times(8, spread.Uniform{Low: 0, High: 1}), gFunction, spread.Settings{Draws: 1 << k, Drivers: -1, Seed: uint64(seed)})
			require.NoError(t, err)
			m := a.Outputs[0].Mean
			off += (m.Value - 1) * (m.Value - 1) / 50
			se += m.SE * m.SE / 50
		}
		ratio := math.Sqrt(se / off)
		t.Logf("2^%d draws: error %.2g, standard error %.2g of it", k, math.Sqrt(off), ratio)
		assert.Greater(t, ratio, 1/1.5, "2^%d", k)
		assert.Less(t, ratio, 1.5, "2^%d", k)
		logN, logE = append(logN, float64(k)), append(logE, math.Log2(off)/2)
	}
	var x, y spread.Moments
	slope, below := 0., 0.
	for i := range logN {
		x.Add(logN[i])
		y.Add(logE[i])
	}
	for i := range logN {
		slope += (logN[i] - x.Mean()) * (logE[i] - y.Mean())
		below += (logN[i] - x.Mean()) * (logN[i] - x.Mean())
	}
	t.Logf("falls with N^%.2f", slope/below)
	assert.Less(t, slope/below, -.8)
}

// Within and between one of a kind: of y = a + 2b with b drawn anew at each shot, 2 and 1; an
// input that acts on nothing changes nothing, and one sort alone has no split.
func TestShotToShot(t *testing.T) {
	f := func(x, y []float64) error {
		y[0], y[1] = x[0]+2*x[1]+x[2], 0
		return nil
	}
	in := []spread.Input{spread.Gauss(0, 1), spread.Gauss(0, 1), spread.Uniform{Low: 0, High: math.Sqrt(12)}}
	for _, within := range [][]int{{1}, {1, 2}, {0}, {}, {0, 1, 2}} {
		a, err := spread.Analyse(context.Background(), in, f, spread.Settings{Outputs: 2, Within: within, Seed: 9})
		require.NoError(t, err)
		shot := 0.
		for _, i := range within {
			shot += []float64{1, 4, 1}[i]
		}
		o := &a.Outputs[0]
		if len(within) == 0 || len(within) == 3 {
			assert.True(t, math.IsNaN(o.WithinSD.Value) && math.IsNaN(o.BetweenSD.Value))
		} else {
			assert.InDelta(t, math.Sqrt(shot), o.WithinSD.Value, .02, "%v", within)
			assert.InDelta(t, math.Sqrt(6-shot), o.BetweenSD.Value, .02, "%v", within)
		}
		assert.Nil(t, a.Outputs[1].Drivers, "what doesn't vary has no drivers")
		assert.True(t, math.IsNaN(a.Outputs[1].WithinSD.Value))
	}
}

// An output that is missing in some draws: its statistics are over the others, and its
// drivers are told only where nine of ten points have it in all three draws.
func TestMissingOutputs(t *testing.T) {
	for _, c := range []struct {
		missing float64
		told    bool
	}{{.01, true}, {.3, false}, {1, false}} {
		a, err := spread.Analyse(context.Background(), times(2, spread.Uniform{Low: 0, High: 1}), func(x, y []float64) error {
			y[0], y[1] = x[0], x[1]
			if x[1] <= c.missing {
				y[0] = math.NaN()
			}
			return nil
		}, spread.Settings{Outputs: 2})
		require.NoError(t, err)
		o := &a.Outputs[0]
		assert.InDelta(t, 1-c.missing, o.Exists.Value, .001)
		assert.Equal(t, c.told, o.Drivers != nil, "%g", c.missing)
		if c.missing == 1 {
			assert.True(t, math.IsNaN(o.Mean.Value) && math.IsNaN(o.SD.Value) && math.IsNaN(o.Percentiles[2].Value))
			assert.True(t, math.IsNaN(a.Correlation(0, 1)))
			continue
		}
		assert.InDelta(t, .5, o.Mean.Value, .002)
		assert.InDelta(t, .05, o.Percentiles[0].Value, .002)
		assert.InDelta(t, .95, o.Percentiles[4].Value, .002)
	}
}

// Hazen's percentiles of few numbers: of 1, 2, 3, 4 the quarter stands at number 1½.
func TestHazen(t *testing.T) {
	for _, c := range []struct{ percent, want float64 }{{25, 1.5}, {50, 2.5}, {75, 3.5}, {5, 1}, {95, 4}, {37.5, 2}} {
		assert.InDelta(t, c.want, spread.Percentile([]float64{1, 2, 3, 4}, c.percent), 1e-14, "%g", c.percent)
	}
	assert.Equal(t, 7., spread.Percentile([]float64{7}, 30))
	assert.True(t, math.IsNaN(spread.Percentile(nil, 30)))
}

// Pearson's correlation of y with itself, its opposite, a mix and a constant.
func TestCorrelation(t *testing.T) {
	a, err := spread.Analyse(context.Background(), times(2, spread.Gauss(0, 1)), func(x, y []float64) error {
		y[0], y[1], y[2], y[3] = x[0], -3*x[0]+2, x[0]+x[1], 4
		return nil
	}, spread.Settings{Outputs: 4, Drivers: -1})
	require.NoError(t, err)
	assert.Equal(t, 1., a.Correlation(0, 0))
	assert.InDelta(t, -1, a.Correlation(0, 1), 1e-12)
	assert.InDelta(t, math.Sqrt(.5), a.Correlation(0, 2), 2e-3)
	assert.True(t, math.IsNaN(a.Correlation(0, 3)))
	assert.True(t, math.IsNaN(a.Correlation(3, 3)))
}

// The same bits on one core and on all; other draws by another seed.
func TestAnalyseIsTheSameOnAllCores(t *testing.T) {
	run := func(cores int, seed uint64) string {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		a, err := spread.Analyse(context.Background(), times(8, spread.Uniform{Low: 0, High: 1}), gFunction, spread.Settings{Draws: 1024, Within: []int{2, 3}, Seed: seed})
		require.NoError(t, err)
		return fmt.Sprint(a.Outputs, a.Evaluations)
	}
	want := run(1, 1)
	for _, cores := range []int{1, 2, 7} {
		assert.Equal(t, want, run(cores, 1))
	}
	assert.NotEqual(t, want, run(1, 2))
	assert.Contains(t, want, " "+fmt.Sprint(1024+256*(1+8+1))+"", "evaluations")
}

// The first draw's error ends all, whatever the cores; so does the context.
func TestAnalyseFails(t *testing.T) {
	odd := errors.New("odd")
	for range 20 {
		a, err := spread.Analyse(context.Background(), times(1, spread.Uniform{Low: 0, High: 1}), func(x, y []float64) error {
			if x[0] > .9 {
				return fmt.Errorf("%w: %g", odd, x[0])
			}
			return nil
		}, spread.Settings{Seed: 4})
		assert.Nil(t, a)
		require.ErrorIs(t, err, odd)
		first := ""
		_, _ = spread.Analyse(context.Background(), times(1, spread.Uniform{Low: 0, High: 1}), func(x, y []float64) error { return nil }, spread.Settings{})
		b, _ := spread.Analyse(context.Background(), times(1, spread.Uniform{Low: 0, High: 1}), func(x, y []float64) error { y[0] = x[0]; return nil }, spread.Settings{Seed: 4, Drivers: -1})
		for i := 0; first == ""; i++ {
			if x := b.Values(i)[0]; x > .9 {
				first = fmt.Sprintf("odd: %g", x)
			}
		}
		assert.EqualError(t, err, first)
	}
	ctx, stop := context.WithCancel(context.Background())
	var n atomic.Int64
	_, err := spread.Analyse(ctx, times(1, spread.Uniform{Low: 0, High: 1}), func(x, y []float64) error {
		if n.Add(1) == 100 {
			stop()
		}
		return nil
	}, spread.Settings{})
	require.ErrorIs(t, err, context.Canceled)
	assert.Less(t, n.Load(), int64(200))
}

// What can't be drawn is refused, with what could be.
func TestSettings(t *testing.T) {
	one := times(1, spread.Uniform{Low: 0, High: 1})
	for _, c := range []struct {
		s      spread.Settings
		inputs []spread.Input
		says   string
	}{
		{spread.Settings{Draws: 1000}, one, "draws: 1000 is no power of two times 8; wanted 512 or 1024"},
		{spread.Settings{Draws: 64}, one, "draws: 64 is no power of two times 8 within bounds; wanted 128"},
		{spread.Settings{Draws: -1}, one, "wanted 128"},
		{spread.Settings{Draws: 1 << 30}, one, "wanted 134217728"},
		{spread.Settings{Drivers: 100}, one, "drivers: 100 is no power of two times 8; wanted 64 or 128"},
		{spread.Settings{Drivers: 1 << 15}, one, "drivers: 32768 is no power of two times 8 within bounds; wanted 8192"},
		{spread.Settings{Replicates: 1}, one, "replicates: 1 are out of range"},
		{spread.Settings{Outputs: -1}, one, "outputs"},
		{spread.Settings{Within: []int{1}}, one, "within: there is no input 1"},
		{spread.Settings{}, nil, "inputs: 0 are out of range; wanted 1 to 60"},
		{spread.Settings{}, times(61, one[0]), "inputs: 61"},
		{spread.Settings{}, []spread.Input{nil}, "inputs.0"},
		{spread.Settings{}, []spread.Input{spread.Gauss(math.NaN(), 1)}, "inputs.0"},
	} {
		_, err := spread.Analyse(context.Background(), c.inputs, func(x, y []float64) error { return nil }, c.s)
		require.Error(t, err, "%+v", c.s)
		assert.Contains(t, err.Error(), c.says)
	}
}

// Progress counts up to all there is to do.
func TestProgress(t *testing.T) {
	last, most := 0, 0
	a, err := spread.Analyse(context.Background(), times(3, spread.Uniform{Low: 0, High: 1}), ishigami, spread.Settings{Draws: 1024, Within: []int{0}, Progress: func(done, all int) {
		assert.GreaterOrEqual(t, done, last)
		last, most = done, all
	}})
	require.NoError(t, err)
	assert.Equal(t, most, last)
	assert.Equal(t, a.Evaluations, most)
}

// Ishigami's function: the second input acts by itself, the third only together with the
// first.
func ExampleAnalyse() {
	pi := spread.Uniform{Low: -math.Pi, High: math.Pi}
	a, err := spread.Analyse(context.Background(), []spread.Input{pi, pi, pi}, func(x, y []float64) error {
		y[0] = math.Sin(x[0]) + 7*math.Pow(math.Sin(x[1]), 2) + 0.1*math.Pow(x[2], 4)*math.Sin(x[0])
		return nil
	}, spread.Settings{Seed: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	o := a.Outputs[0]
	fmt.Printf("mean %.1f, standard deviation %.1f\n", o.Mean.Value, o.SD.Value)
	for i, d := range o.Drivers {
		fmt.Printf("x%d: %.1f by itself, %.1f in all\n", i+1, math.Abs(d.First.Value), d.Total.Value)
	}
	// Output:
	// mean 3.5, standard deviation 3.7
	// x1: 0.3 by itself, 0.6 in all
	// x2: 0.4 by itself, 0.4 in all
	// x3: 0.0 by itself, 0.2 in all
}

func BenchmarkAnalyse(b *testing.B) {
	for b.Loop() {
		if _, err := spread.Analyse(context.Background(), times(8, spread.Uniform{Low: 0, High: 1}), gFunction, spread.Settings{}); err != nil {
			b.Fatal(err)
		}
	}
}
