package listen

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Frames, bands and lag of the sampling rates that recorders have, by hand from L1 to L3.
func TestGrid(t *testing.T) {
	for _, c := range []struct{ rate, hop, window, lag, bands, lastBin int }{
		{8000, 8, 64, 4, 8, 29},     // to 3600 Hz: bins of 125 Hz up to 3500
		{16000, 16, 128, 4, 10, 58}, // to 7200 Hz
		{22050, 22, 176, 4, 11, 80}, // to 9922 Hz: bins of 125.28 Hz
		{44100, 44, 352, 4, 11, 96}, // to 12 kHz
		{48000, 48, 384, 4, 11, 96}, // bins of 125 Hz, bin 96 is 12 kHz itself
		{192000, 192, 1536, 4, 11, 96},
	} {
		g := newGrid(c.rate, 1)
		assert.Equal(t, [5]int{c.hop, c.window, c.lag, c.bands, c.lastBin}, [5]int{g.hop, g.window, g.lag(), len(g.bands), g.bands[len(g.bands)-1][1]}, "%d Hz", c.rate)
		assert.Equal(t, 3, g.bands[0][0], "300 Hz lies between bins 2 and 3")
		for i := range g.bands[1:] {
			assert.Equal(t, g.bands[i][1], g.bands[i+1][0], "bands join")
		}
		assert.InDelta(t, (10*float64(c.hop)+float64(c.window)/2)/float64(c.rate), g.time(10), 1e-15)
	}
	assert.Zero(t, newGrid(48000, 1).hann[0])
	assert.Equal(t, 1., newGrid(48000, 1).hann[192], "periodic: the middle is one of the samples")
}

// A tone is heard in its band alone, but for what leaks next to it, with the amplitude that a
// Hann window leaves: 3/8 of its mean power in all bins together.
func TestAmplitudes(t *testing.T) {
	const fs = 48000
	g := newGrid(fs, 2)
	a := newAnalyser(g)
	samples := make([]float64, 2*g.window)
	for i := range g.window {
		samples[2*i] = math.Sin(2 * math.Pi * 2000 * float64(i) / fs)
		samples[2*i+1] = -samples[2*i]
	}
	got := make([]float32, len(g.bands))
	a.amplitudes(got, samples)
	// A sine in the middle of bin 16 has |X| = N/4 there and N/8 in the bins beside it, which
	// are all within the band from 1697 to 2400 Hz; two channels double the power.
	want := math.Sqrt(2 * (1./16 + 2./64))
	for b, v := range got {
		if b == 5 {
			assert.InDelta(t, want, float64(v), 1e-6)
		} else {
			assert.Less(t, float64(v), 1e-7)
		}
	}
}

func TestQuantiles(t *testing.T) {
	assert.Zero(t, quantile(nil, 0.5))
	assert.Equal(t, 3., quantile([]float64{3}, 0.9))
	assert.InDelta(t, 1.9, quantile([]float64{1, 2, 3, 10}, 0.3), 1e-12)
	assert.Equal(t, 10., quantile([]float64{1, 2, 3, 10}, 1))
	assert.Equal(t, 2.5, median([]float64{10, 1, 3, 2}))
}

// A histogram's quantiles are those of the numbers, to the width of its bins.
func TestHistogram(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, n := range []int{1, 2, 3, 10, 1000, 30000} {
		h, all := new(histogram), []float64{}
		for range n {
			v := float32(math.Exp(5 * r.NormFloat64()))
			h.add(v)
			all = append(all, float64(v))
		}
		slices.Sort(all)
		for _, share := range []float64{0, 0.1, 0.2, 0.5, 0.99, 1} {
			assert.InEpsilon(t, quantile(all, share), h.quantile(share), 1.0/4096, "%d numbers", n)
		}
		assert.Equal(t, all[n-1], h.most())
	}
	empty := new(histogram)
	assert.Zero(t, empty.quantile(0.2))
	zeros := new(histogram)
	for range 10 {
		zeros.add(0)
	}
	assert.Zero(t, zeros.quantile(0.2))
}

// What is kept of a rise is right to one part in 512, of any size.
func TestCoarse(t *testing.T) {
	assert.Zero(t, fine(coarse(0)))
	for v := float32(1e-37); v < loudest; v *= 1.37 {
		assert.InEpsilon(t, float64(v), fine(coarse(v)), 1./512)
		assert.Equal(t, 2*fine(coarse(v)), fine(coarse(2*v)))
	}
}

// Rises count over the lag, none before it, each in units of its band's floor: the 20 %
// quantile of a band, or a thousandth of its largest.
func TestStrength(t *testing.T) {
	r := newRises(2, 2)
	low := []float32{1, 1, 1, 1, 1, 3, 3, 1, 1, 1}    // floor 1
	high := []float32{0, 0, 0, 0, 0, 0, 20, 20, 0, 0} // floor 0.02
	var both []float32
	for i := range low {
		both = append(both, low[i], high[i])
	}
	r.add(both[:6]) // in pieces
	r.add(both[6:])
	got := r.strength()
	want := []float64{0, 0, 0, 0, 0, 2. / 2, 2./2 + 20/0.02/2, 20 / 0.02 / 2, 0, 0}
	require.Len(t, got, len(want))
	for i := range want {
		assert.InDelta(t, want[i], got[i], want[i]/400+1e-12, "frame %d", i)
	}
}

func TestSmooth(t *testing.T) {
	x := make([]float64, 21)
	x[10], x[0] = 1, 1
	in := slices.Clone(x)
	smooth(in, in, 1, 3)
	out := make([]float64, len(x))
	smooth(out, x, 1, 3)
	assert.Equal(t, out, in, "in place or not")
	sum := 0.
	for i := -3; i <= 3; i++ {
		sum += math.Exp(-float64(i*i) / 2)
	}
	for i := range x[4:18] {
		want := 0.
		if d := float64(i + 4 - 10); math.Abs(d) <= 3 {
			want = math.Exp(-d*d/2) / sum
		}
		assert.InDelta(t, want, out[i+4], 1e-12)
	}
	assert.InDelta(t, 1/sum, out[0], 1e-12, "nothing lies before the beginning")
}

// Of peaks within 12 ms the highest counts, of equals the first; groups end at a fifth of a
// second.
func TestPeaksAndGroups(t *testing.T) {
	s := &onsets{g: newGrid(8000, 1), o: make([]float64, 1000)}
	for k, v := range map[int]float64{0: 3, 20: 2, 31: 5, 50: 4, 61: 4, 80: 1, 81: 1, 280: 2, 481: 2, 999: 7} {
		s.o[k] = v
	}
	// 20 has the higher 31 within 12 frames, 61 its equal 50; 81 is level with 80.
	assert.Equal(t, []int{0, 31, 50, 80, 280, 481, 999}, s.peaks(0.5))
	assert.Equal(t, []int{0, 31, 50, 999}, s.peaks(2))
	assert.Equal(t, [][]int{{0, 31, 50, 80, 280}, {481}, {999}}, s.groups(s.peaks(0.5)), "200 ms are within")
	assert.Empty(t, s.groups(nil))
}

func TestVertex(t *testing.T) {
	f := func(x, top float64) float64 { return 5 - (x-top)*(x-top) }
	for _, top := range []float64{-0.5, -0.2, 0, 0.3, 0.5} {
		assert.InDelta(t, top, vertex(f(-1, top), f(0, top), f(1, top)), 1e-12)
	}
	assert.Zero(t, vertex(1, 1, 1))
	assert.Equal(t, 0.5, vertex(0, 1, 1.9), "not beyond half a frame")
}

// The autocorrelation of a sine is a cosine.
func TestAutocorrelation(t *testing.T) {
	x := make([]float64, 4000)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * float64(i) / 40)
	}
	for lag, v := range autocorrelation(x, 169) {
		assert.InDelta(t, math.Cos(2*math.Pi*float64(lag)/40), v, 0.002)
	}
	assert.Len(t, autocorrelation(x[:50], 169), 50)
	assert.Equal(t, []float64{0, 0}, autocorrelation([]float64{0, 0}, 5), "of nothing")
}

// Every second place half as strong is half as even, but for the benefit of the doubt;
// every third likewise, from twelve places on.
func TestEvenness(t *testing.T) {
	assert.Equal(t, 1., evenness(slices.Repeat([]float64{3}, 20)))
	assert.InDelta(t, 0.5, evenness(slices.Repeat([]float64{2, 1}, 4)), 1e-12)
	assert.Equal(t, 1., evenness(slices.Repeat([]float64{2, 1}, 3)), "six places are too few to tell")
	assert.InDelta(t, 0.5, evenness(slices.Repeat([]float64{2, 2, 1}, 4)), 1e-12)
	// Two classes of four, 4 ± 1 and 2 ± 1: variances of the means are 1/4 each.
	assert.InDelta(t, (2+math.Sqrt(0.5))/4, evenness([]float64{5, 3, 3, 1, 5, 3, 3, 1}), 1e-12)
}

// course is a stretch of an onset strength with peaks of some heights at some frames.
func course(n int, heights map[int]float64) *stretch {
	s := &onsets{g: newGrid(8000, 1), o: make([]float64, n), high: 0.5, low: 0.25}
	for k, v := range heights {
		for d := -4; d <= 4; d++ {
			s.o[k+d] = max(s.o[k+d], v*math.Exp(-float64(d*d)/3))
		}
	}
	return newStretch(s, s.peaks(s.low), make([]float64, n))
}

// A chain follows a period that grows by a third, over a place where nothing is.
func TestTrackFollowsASag(t *testing.T) {
	heights, want := map[int]float64{}, []int{}
	at, period := 200., 40.
	for i := range 20 {
		k := int(math.Round(at))
		want = append(want, k)
		heights[k] = 1
		if i == 8 {
			heights[k] = 0.01
		}
		at += period
		period *= 1.015
	}
	r := course(2000, heights)
	p, err := r.period(t.Context())
	require.NoError(t, err)
	require.Len(t, p.places, 20)
	for i, k := range p.places {
		if i == 8 {
			assert.InDelta(t, want[i], k, 4)
		} else {
			assert.Equal(t, want[i], k)
		}
	}
	all := r.s.pieces(p)
	require.Len(t, all, 1)
	assert.Equal(t, [2]int{19, 1}, [2]int{all[0].Shots, all[0].Missed})
	assert.Less(t, all[0].Drift, 0.)
}

// The period is known to better than a frame, and places at the ends are found although
// they are no peaks.
func TestPeriodAndEnds(t *testing.T) {
	heights := map[int]float64{}
	for i := range 21 {
		heights[200+40*i+i/2] = 1 // 40 and 41 frames in turn
	}
	p, err := course(1300, heights).period(t.Context())
	require.NoError(t, err)
	assert.InDelta(t, 40.5, p.frames, 0.2)
	assert.Len(t, p.places, 21)

	heights = map[int]float64{}
	for i := range 12 {
		heights[200+40*i] = 1
	}
	heights[200], heights[640] = 0.45, 0.45
	s := course(1000, heights).s
	s.low = 0.6
	r := newStretch(s, s.peaks(s.low), make([]float64, 1000))
	require.Len(t, r.peaks, 10)
	p, err = r.period(t.Context())
	require.NoError(t, err)
	assert.Equal(t, [3]int{12, 200, 640}, [3]int{len(p.places), p.places[0], p.places[len(p.places)-1]})
}

// A place is heard above a fifth of the median, and above half the threshold, or half the
// median where that is less.
func TestHeard(t *testing.T) {
	for _, c := range []struct {
		high, strength float64
		missed         int
	}{{0.1, 0.21, 0}, {0.1, 0.19, 1}, {0.8, 0.41, 0}, {0.8, 0.39, 1}, {5, 0.51, 0}, {5, 0.49, 1}} {
		s := &onsets{g: newGrid(8000, 1), o: make([]float64, 500), high: c.high}
		var places []int
		for i := range 9 {
			places = append(places, 40+40*i)
			s.o[40+40*i] = 1
		}
		s.o[places[4]] = c.strength
		all := s.pieces(period{places: places, salience: 1})
		require.Len(t, all, 1)
		assert.Equal(t, c.missed, all[0].Missed, "%+v", c)
	}
}

// The maximum is found between frames, and from a frame or two beside it.
func TestSummit(t *testing.T) {
	s := &onsets{g: newGrid(8000, 1), o: make([]float64, 60)}
	for k := range s.o {
		s.o[k] = 100 - (float64(k)-30.3)*(float64(k)-30.3)
	}
	for _, from := range []int{28, 29, 30, 31, 32} {
		assert.InDelta(t, 30.3, s.summit(from), 1e-9)
	}
	s.o[59] = 1000
	assert.Equal(t, 59., s.summit(59), "at the end of the sound")
}

// Three samples running at the largest, or the smallest, on five places are clipped; two,
// or four places, are not.
func TestClipping(t *testing.T) {
	for _, c := range []struct {
		running, places int
		want            bool
	}{{3, 5, true}, {2, 50, false}, {3, 4, false}, {10, 5, true}, {10, 4, false}} {
		for _, sign := range []float64{1, -1} {
			var clips clipping
			clips.add([]float64{0.3 * sign, 0.3 * sign, 0.3 * sign, 0}, 1) // no longer the largest
			for range c.places {
				clips.add(append(slices.Repeat([]float64{0.5 * sign}, c.running), 0.1*sign), 1)
			}
			assert.Equal(t, c.want, clips.found(), "%+v", c)
		}
	}
}

// A weak place at an end is a switch's click or an echo.
func TestTrim(t *testing.T) {
	heights := map[int]float64{160: 0.34, 860: 0.3, 900: 0.34}
	for i := range 16 {
		heights[200+40*i] = 1 + 0.01*float64(i)
	}
	r := course(1200, heights)
	places := r.trim(r.track(40))
	assert.Equal(t, [3]int{200, 800, 16}, [3]int{places[0], places[len(places)-1], len(places)})
	heights[160] = 0.36
	r = course(1200, heights)
	assert.Equal(t, 160, r.trim(r.track(40))[0], "of more than 0.35 it is a shot")
}

// times makes a burst of times, all heard.
func times(at ...float64) *Burst {
	b := &Burst{Shots: len(at)}
	for i, v := range at {
		b.Places = append(b.Places, Place{Number: i + 1, Time: v, Heard: true})
	}
	return b
}

// Rates in closed form: an even train, a parabola, an outlier, what is missing, and what
// half a frame leaves of the sd: s/√Σi² with s = 0.5 ms, beside the clock's.
func TestRate(t *testing.T) {
	even := []float64{}
	for i := range 20 {
		even = append(even, 0.1+0.05*float64(i))
	}
	b := times(even...)
	b.rate(0.001)
	assert.InDelta(t, 20, b.Rate, 1e-9)
	assert.InDelta(t, 20, b.RateEnds, 1e-9)
	assert.InDelta(t, 0, b.Drift, 1e-9)
	assert.InDelta(t, 0.0005, b.Jitter, 1e-12)
	assert.InDelta(t, math.Hypot(0.0005/math.Sqrt(665)*400, 20e-4), b.RateSD, 1e-9, "Σi² of 20 numbers is 20·(400 − 1)/12 = 665")

	curve := []float64{}
	for i := range 21 {
		x := float64(i - 10)
		curve = append(curve, 2+0.05*x+0.0004*x*x)
	}
	b = times(curve...)
	b.rate(0.001)
	assert.InDelta(t, 20, b.Rate, 1e-9)
	assert.InDelta(t, -2*0.0004*400, b.Drift, 1e-9)

	far := slices.Clone(even)
	far[0] -= 0.02
	b = times(far...)
	b.rate(0.001)
	assert.InDelta(t, 20, b.Rate, 0.02, "20 ms of one shot weigh little")
	assert.Greater(t, math.Abs(b.RateEnds-20), 0.4, "but move the ends")

	b = times(even[:7]...)
	b.rate(0.001)
	assert.True(t, math.IsNaN(b.Drift), "of seven the course is straight")
	b = times(even[:3]...)
	b.rate(0.001)
	assert.InDelta(t, 20, b.Rate, 1e-9)
	b = times(even[:2]...)
	b.rate(0.001)
	assert.True(t, math.IsNaN(b.Rate) && math.IsNaN(b.RateSD) && math.IsNaN(b.Jitter))
	assert.InDelta(t, 20, b.RateEnds, 1e-9)
	b = times(even[:1]...)
	b.rate(0.001)
	assert.True(t, math.IsNaN(b.RateEnds))

	b = times(even...)
	b.Places[5].Heard, b.Places[5].Time, b.Shots = false, 0, 19
	b.rate(0.001)
	assert.InDelta(t, 20, b.Rate, 1e-9, "a missed one counts in the numbers alone")
}

// Of bursts, each period weighs by one less than its shots; two bursts that differ widen
// the ±.
func TestWeigh(t *testing.T) {
	burst := func(shots int, rate, sd, strength float64) Burst {
		b := Burst{Shots: shots, Rate: rate, RateSD: sd, Strength: strength}
		for range shots {
			b.Places = append(b.Places, Place{Strength: strength, Heard: true})
		}
		return b
	}
	single := func(strength float64) Burst { return burst(1, math.NaN(), math.NaN(), strength) }
	r := Result{Bursts: []Burst{burst(11, 20, 0.01, 10), burst(6, 20, 0.01, 10), single(9)}}
	r.weigh()
	assert.Equal(t, [2]int{18, 1}, [2]int{r.Shots, r.Singles})
	assert.InDelta(t, 20, r.RateOfFire, 1e-12)
	assert.InDelta(t, 0.01*math.Sqrt(125)/15, r.RateSD, 1e-12)

	r = Result{Bursts: []Burst{burst(11, 20, 0.01, 10), burst(11, 25, 0.01, 10)}}
	r.Bursts[1].Rate = 23
	r.weigh()
	mean := (1./20 + 1./23) / 2
	assert.InDelta(t, 1/mean, r.RateOfFire, 1e-12)
	half := (1./20 - 1./23) / 2
	own := math.Hypot(0.01/400, 0.01/529) / 2
	assert.InDelta(t, math.Hypot(half, own)/(mean*mean), r.RateSD, 1e-12)

	for name, c := range map[string]struct {
		other      Burst
		faint, odd bool
	}{
		"weak":     {burst(9, 20, 0.01, 2.4), true, false},
		"weakish":  {burst(9, 20, 0.01, 2.6), false, false},
		"fast":     {burst(9, 24.1, 0.01, 9), false, true},
		"fastish":  {burst(9, 23.9, 0.01, 9), false, false},
		"a single": {single(2.4), true, false},
	} {
		r := Result{Bursts: []Burst{c.other, burst(20, 20, 0.01, 10)}}
		r.weigh()
		assert.Equal(t, [2]bool{c.faint, c.odd}, [2]bool{r.Bursts[0].Faint, r.Bursts[0].Odd}, name)
		assert.Equal(t, &r.Bursts[1], r.Leading(), name)
		want := 20
		if !c.faint && !c.odd {
			want += c.other.Shots
		}
		assert.Equal(t, want, r.Shots, name)
		assert.Equal(t, Bursts, r.Outcome)
	}
	r = Result{Bursts: []Burst{single(10), single(2.4), single(2.6)}}
	r.weigh()
	assert.Equal(t, [2]int{2, 2}, [2]int{r.Shots, r.Singles}, "without a burst the strongest counts")
	assert.Equal(t, SingleShots, r.Outcome)
	assert.True(t, math.IsNaN(r.RateOfFire))
	assert.Nil(t, r.Leading())
}

// The envelope of a long sound is that of the sound, in fewer columns.
func TestEnvelope(t *testing.T) {
	const n = 100001
	e := newEnvelope(2)
	samples := make([]float64, 2*n)
	r := rand.New(rand.NewPCG(2, 2))
	for i := range samples {
		samples[i] = r.NormFloat64()
	}
	for from := 0; from < len(samples); from += 998 {
		e.add(samples[from:min(from+998, len(samples))])
	}
	c := e.course(1000)
	require.Equal(t, 16, e.width)
	require.Len(t, c.Least, (n+15)/16)
	assert.Equal(t, 0.016, c.Column)
	for i := range c.Least {
		part := samples[32*i : min(32*i+32, len(samples))]
		assert.Equal(t, [2]float64{slices.Min(part), slices.Max(part)}, [2]float64{c.Least[i], c.Most[i]})
	}
}
