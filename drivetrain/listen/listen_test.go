package listen_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/listen"
	"example.org/ampstroke/drivetrain/listen/listentest"
	"example.org/ampstroke/drivetrain/listen/wav"
)

var pcm16 = listentest.Kind{Bits: 16}

// rifle is one burst of a scene without anything odd.
func rifle() listentest.Scene {
	return listentest.Scene{SampleRate: 44100, Seconds: 1.4, Noise: 35, Seed: 7, Guns: []listentest.Gun{{
		Start: 0.2, Rate: 22, Shots: 20, Sag: 0.03, Jitter: 0.004, Uneven: 0.15, Pickup: 14, PickupAt: 0.4, Whine: 28, Switch: 22,
	}}}
}

// The same sound is heard alike however it is kept.
func TestFormatsAlike(t *testing.T) {
	s := rifle()
	sound, strikes := s.Make()
	one := heard(t, listentest.WAV(s.SampleRate, pcm16, sound))
	require.Equal(t, len(strikes[0]), one.Shots)
	require.Len(t, one.Bursts, 1)
	for _, c := range []struct {
		kind listentest.Kind
		tol  float64 // s
	}{
		{listentest.Kind{Bits: 24}, 1e-4}, {listentest.Kind{Bits: 32}, 1e-4}, {listentest.Kind{Bits: 32, Float: true}, 1e-4},
		{listentest.Kind{Bits: 16, Extensible: true}, 1e-4}, {listentest.Kind{Bits: 24, Extensible: true}, 1e-4},
		{listentest.Kind{Bits: 32, Float: true, Extensible: true}, 1e-4}, {listentest.Kind{Bits: 8}, 1e-3},
	} {
		for _, channels := range [][][]float64{{sound}, {sound, sound}} {
			r := heard(t, listentest.WAV(s.SampleRate, c.kind, channels...))
			require.Equal(t, one.Shots, r.Shots, "%+v", c.kind)
			require.Equal(t, len(channels), r.Channels)
			for i, at := range one.Bursts[0].Times() {
				assert.InDelta(t, at, r.Bursts[0].Times()[i], c.tol, "%+v, shot %d", c.kind, i+1)
			}
			if c.kind.Bits > 8 {
				assert.InDelta(t, one.RateOfFire, r.RateOfFire, 0.002)
			}
		}
	}
}

// Channels of opposite sign, of which one is empty, or that are turned round, sound like
// one.
func TestChannelsDoNotCancel(t *testing.T) {
	s := rifle()
	sound, _ := s.Make()
	opposite := make([]float64, len(sound))
	for i, v := range sound {
		opposite[i] = -v
	}
	one := heard(t, listentest.WAV(s.SampleRate, pcm16, sound))
	for name, pair := range map[string][2][]float64{"opposite": {sound, opposite}, "left alone": {sound, make([]float64, len(sound))}, "right alone": {make([]float64, len(sound)), sound}} {
		r := heard(t, listentest.WAV(s.SampleRate, pcm16, pair[0], pair[1]))
		require.Equal(t, one.Shots, r.Shots, name)
		assert.InDelta(t, one.RateOfFire, r.RateOfFire, 1e-3, name)
		assert.InDelta(t, one.Loudest, r.Loudest, 0.01*one.Loudest, name)
	}
}

// Unit impulses every 1000 samples at 22.05 kHz are 22.05 shots a second: the clock of the
// recording is that of the answer. 0.02 % is a fifth of the sd of a recorder's own clock twice over.
func TestImpulses(t *testing.T) {
	for _, every := range []int{1000, 500, 3000} {
		sound := make([]float64, 22050*2)
		n := 0
		for i := 5000; i < len(sound)-5000; i += every {
			sound[i] = 0.9
			n++
		}
		r := heard(t, listentest.WAV(22050, pcm16, sound))
		require.Equal(t, n, r.Shots, "every %d", every)
		assert.InEpsilon(t, 22050/float64(every), r.RateOfFire, 2e-4)
		assert.InDelta(t, 5000./22050, r.Bursts[0].First(), 0.003)
		assert.Zero(t, r.Bursts[0].Missed)
	}
}

// White noise alone is nothing: of 100 noises at most one may hold a single shot (one in 300
// was measured when the thresholds were set), none a burst.
func TestNoise(t *testing.T) {
	singles := 0
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(seed, 3))
		sound := make([]float64, 2*[]int{8000, 16000, 22050}[seed%3])
		for i := range sound {
			sound[i] = 0.2 * r.NormFloat64()
		}
		got := heard(t, listentest.WAV(len(sound)/2, listentest.Kind{Bits: 32, Float: true}, sound))
		require.NotEqual(t, listen.Bursts, got.Outcome, "seed %d", seed)
		singles += got.Shots
		if got.Shots == 0 {
			assert.Equal(t, listen.Nothing, got.Outcome)
			assert.LessOrEqual(t, got.Loudest, got.Threshold)
		}
	}
	assert.LessOrEqual(t, singles, 1)
}

// The gain changes nothing, bit by bit where it is a power of two; nor do floats of absurd
// sizes.
func TestGain(t *testing.T) {
	s := rifle()
	sound, _ := s.Make()
	louder := func(by float64) *listen.Result {
		all := make([]float64, len(sound))
		for i, v := range sound {
			all[i] = by * float64(float32(v))
		}
		return heard(t, listentest.WAV(s.SampleRate, listentest.Kind{Bits: 32, Float: true}, all))
	}
	one := louder(1)
	for _, by := range []float64{2, 0.5, 1024, math.Ldexp(1, -40), math.Ldexp(1, 100)} {
		r := louder(by)
		require.Equal(t, one.RateOfFire, r.RateOfFire, "gain %g", by)
		require.Equal(t, one.Bursts[0].Times(), r.Bursts[0].Times(), "gain %g", by)
		require.Equal(t, [2]float64{one.Threshold, one.Loudest}, [2]float64{r.Threshold, r.Loudest})
	}
	for _, by := range []float64{0.3, 7, 1e37, 1e-30} {
		r := louder(by)
		assert.Equal(t, one.Shots, r.Shots, "gain %g", by)
		assert.InDelta(t, one.RateOfFire, r.RateOfFire, 1e-3, "gain %g", by)
	}
}

// A recording that begins earlier has the same shots later.
func TestShift(t *testing.T) {
	s := rifle()
	sound, _ := s.Make()
	one := heard(t, listentest.WAV(s.SampleRate, pcm16, sound))
	before := slices.Repeat(sound[:150*44], 2) // hops of noise, before the gun starts
	late := heard(t, listentest.WAV(s.SampleRate, pcm16, append(before, sound...)))
	require.Equal(t, one.Shots, late.Shots)
	for i, at := range one.Bursts[0].Times() {
		assert.InDelta(t, at+float64(len(before))/44100, late.Bursts[0].Times()[i], 1e-4)
	}
	half := heard(t, listentest.WAV(s.SampleRate, pcm16, sound[22:])) // half a hop
	require.Equal(t, one.Shots, half.Shots)
	for i, at := range one.Bursts[0].Times() {
		assert.InDelta(t, at-22./44100, half.Bursts[0].Times()[i], 3e-4, "times are known better than to a frame of 1 ms")
	}
}

// Silence and sounds too short are an outcome, not an error.
func TestNothing(t *testing.T) {
	click := make([]float64, 8000)
	click[4000] = 1
	constant := slices.Repeat([]float64{0.3}, 8000)
	for name, c := range map[string]struct {
		sound []float64
		shots int
	}{
		"no samples": {nil, 0}, "one sample": {[]float64{0.5}, 0}, "49 ms": {click[3800:4192], 0}, "silence": {make([]float64, 8000), 0},
		"a constant": {constant, 0}, "one click in silence": {click, 1}, "60 ms of a click": {click[3700:4180], 1},
	} {
		r := heard(t, listentest.WAV(8000, pcm16, c.sound))
		assert.Equal(t, c.shots, r.Shots, name)
		assert.Equal(t, []listen.Outcome{listen.Nothing, listen.SingleShots}[c.shots], r.Outcome, name)
		assert.True(t, math.IsNaN(r.RateOfFire) && math.IsNaN(r.RateSD), name)
		assert.InDelta(t, float64(len(c.sound))/8000, r.Duration, 1e-12)
	}
	assert.Equal(t, []string{"nothing", "single-shots", "burst"}, []string{listen.Nothing.String(), listen.SingleShots.String(), listen.Bursts.String()})
}

// Single shots stay single, bursts of three are bursts, and their sum is in words.
func TestBurstsAndSingles(t *testing.T) {
	gun := rifle().Guns[0]
	gun.Sag = 0
	at := func(start float64, shots int) listentest.Gun {
		g := gun
		g.Start, g.Shots = start, shots
		return g
	}
	s := rifle()
	s.Seconds = 4
	s.Guns = []listentest.Gun{at(0.3, 1), at(0.8, 3), at(1.5, 1), at(2, 10), at(3, 12)}
	sound, strikes := s.Make()
	r := heard(t, listentest.WAV(s.SampleRate, pcm16, sound))
	require.Len(t, r.Bursts, 5)
	for i, b := range r.Bursts {
		assert.Equal(t, len(strikes[i]), b.Shots)
		assert.InDelta(t, strikes[i][0], b.First(), 0.004)
		assert.Equal(t, b.Shots < 3, math.IsNaN(b.Rate))
		assert.Equal(t, b.Shots < 8, math.IsNaN(b.Drift))
		for k, p := range b.Places {
			assert.Equal(t, k+1, p.Number)
			assert.Greater(t, p.Strength, 0.)
		}
	}
	assert.Equal(t, [2]int{27, 2}, [2]int{r.Shots, r.Singles})
	assert.Equal(t, "27 shots, 3 bursts and 2 single shots", r.Sum())
	assert.InEpsilon(t, 22, r.RateOfFire, 0.005)
	one := heard(t, listentest.WAV(s.SampleRate, pcm16, sound[:int(0.6*44100)]))
	assert.Equal(t, "1 shot", one.Sum())
}

// A shot that is not heard within a burst is missed, and counts in the numbers; two
// running end the burst.
func TestMissed(t *testing.T) {
	s := rifle()
	s.Guns[0].Jitter, s.Guns[0].Uneven, s.Guns[0].Pickup, s.Guns[0].Sag = 0.002, 0.05, 40, 0
	sound, strikes := s.Make()
	quiet := func(sound []float64, shots ...int) []float64 {
		sound = slices.Clone(sound)
		r := rand.New(rand.NewPCG(1, 8))
		for _, i := range shots {
			from := int((strikes[0][i] - 0.012) * 44100)
			for k := range int(0.040 * 44100) {
				sound[from+k] = 0.003 * r.NormFloat64()
			}
		}
		return sound
	}
	r := heard(t, listentest.WAV(s.SampleRate, pcm16, quiet(sound, 6)))
	require.Len(t, r.Bursts, 1)
	b := r.Bursts[0]
	assert.Equal(t, [3]int{19, 1, 20}, [3]int{b.Shots, b.Missed, len(b.Places)})
	assert.False(t, b.Places[6].Heard)
	assert.Len(t, b.Times(), 19)
	assert.InEpsilon(t, 22, b.Rate, 0.003, "the missed one counts in the numbers")

	r = heard(t, listentest.WAV(s.SampleRate, pcm16, quiet(sound, 6, 7)))
	require.Len(t, r.Bursts, 2)
	assert.Equal(t, [4]int{6, 0, 12, 0}, [4]int{r.Bursts[0].Shots, r.Bursts[0].Missed, r.Bursts[1].Shots, r.Bursts[1].Missed})
	assert.InDelta(t, strikes[0][8], r.Bursts[1].First(), 0.004)
}

// A second gun that is faster and as loud is odd; one that is far off is faint.
func TestOtherGuns(t *testing.T) {
	s := rifle()
	s.Seconds = 3
	other := s.Guns[0]
	other.Start, other.Rate, other.Shots = 1.8, 30, 12
	for name, c := range map[string]struct {
		level      float64
		faint, odd bool
	}{"as loud": {-1, false, true}, "far off": {-18, true, true}} {
		g := other
		g.Level = c.level
		two := s
		two.Guns = []listentest.Gun{s.Guns[0], g}
		sound, _ := two.Make()
		r := heard(t, listentest.WAV(s.SampleRate, pcm16, sound))
		require.Len(t, r.Bursts, 2, name)
		assert.Equal(t, [4]bool{false, false, c.faint, c.odd}, [4]bool{r.Bursts[0].Faint, r.Bursts[0].Odd, r.Bursts[1].Faint, r.Bursts[1].Odd}, name)
		assert.Equal(t, [2]int{20, 0}, [2]int{r.Shots, r.Singles}, name)
		assert.InEpsilon(t, 22, r.RateOfFire, 0.03)
	}
}

// A talker's throat, which beats every 8 ms for as long as a syllable, is no gun; beside one
// it is left out.
func TestVoice(t *testing.T) {
	const fs = 16000
	s := rifle()
	s.SampleRate, s.Seconds, s.Guns[0].Start = fs, 4, 2
	quiet := s
	quiet.Guns, quiet.Peak = nil, 0.001
	talk := func(s listentest.Scene) []byte {
		sound, _ := s.Make()
		r := rand.New(rand.NewPCG(1, 1))
		for i := range sound[:3*fs/2] {
			if phase := i % (8 * fs / 1000); i%(fs/2) > fs/4 && phase < 40 {
				sound[i] += 0.4 * (1 + 0.1*r.NormFloat64()) * math.Sin(float64(phase)) * math.Exp(-float64(phase)/12)
			}
		}
		return listentest.WAV(fs, pcm16, sound)
	}
	alone, beside := heard(t, talk(quiet)), heard(t, talk(s))
	for _, r := range []*listen.Result{alone, beside} {
		require.NotEmpty(t, r.Warnings)
		assert.Equal(t, listen.Voice, r.Warnings[0].Code)
		assert.Contains(t, r.Warnings[0].Text, "voice")
	}
	assert.Equal(t, listen.Nothing, alone.Outcome)
	assert.Equal(t, 20, beside.Shots)
	assert.InEpsilon(t, 22, beside.RateOfFire, 0.03)
}

// Sounds that stand at an end of the range for three samples running, five times, are
// clipped, be it the recorder's range or a smaller one; others are not.
func TestClipped(t *testing.T) {
	s := rifle()
	sound, _ := s.Make()
	cut := func(level float64, channels ...func(float64) float64) []listen.Warning {
		all := [][]float64{}
		for _, change := range channels {
			c := make([]float64, len(sound))
			for i, v := range sound {
				c[i] = min(max(change(v), -level), level)
			}
			all = append(all, c)
		}
		return heard(t, listentest.WAV(s.SampleRate, listentest.Kind{Bits: 24}, all...)).Warnings
	}
	same := func(v float64) float64 { return v }
	assert.Empty(t, cut(1, same))
	assert.NotEmpty(t, cut(0.2, same), "a phone's own limit")
	assert.Empty(t, cut(0.04, func(v float64) float64 { return v / 5 }), "too quiet to tell")
	assert.NotEmpty(t, cut(0.2, func(v float64) float64 { return v / 10 }, same), "one channel alone")
	assert.NotEmpty(t, cut(1, func(v float64) float64 { return min(v, 0.2) }), "one end alone")
	w := cut(0.2, same)
	assert.Equal(t, listen.Clipped, w[0].Code)
	assert.Contains(t, w[0].Text, "clipped")
	assert.Contains(t, w[0].Text, "further away")
}

// What a recording is read in makes no difference, nor on how many cores.
func TestReading(t *testing.T) {
	file := recording(t, "sagging-stereo")
	one := heard(t, file)
	for name, in := range map[string]io.Reader{"in bytes": iotest.OneByteReader(bytes.NewReader(file)), "in halves": iotest.HalfReader(bytes.NewReader(file)), "with its end": iotest.DataErrReader(bytes.NewReader(file))} {
		r, err := listen.Listen(context.Background(), in, listen.Settings{})
		require.NoError(t, err, name)
		assert.Equal(t, fmt.Sprintf("%+v", one), fmt.Sprintf("%+v", r), name)
	}
	old := runtime.GOMAXPROCS(1)
	r := heard(t, file)
	runtime.GOMAXPROCS(old)
	assert.Equal(t, fmt.Sprintf("%+v", one), fmt.Sprintf("%+v", r), "on one core")
}

// A sound of many slabs is heard as one, across their borders.
func TestLongSound(t *testing.T) {
	const fs, seconds = 8000, 30
	sound := make([]float64, fs*seconds)
	n := 0
	for i := 4000; i < len(sound)-4000; i += 400 {
		sound[i] = 0.5
		n++
	}
	var done, claimed []float64
	r, err := listen.Listen(context.Background(), bytes.NewReader(listentest.WAV(fs, pcm16, sound)), listen.Settings{
		Progress: func(d, c float64) { done, claimed = append(done, d), append(claimed, c) },
	})
	require.NoError(t, err)
	require.Len(t, r.Bursts, 1)
	assert.Equal(t, n, r.Shots)
	assert.Zero(t, r.Bursts[0].Missed)
	assert.InEpsilon(t, 20, r.RateOfFire, 1e-5)
	assert.True(t, slices.IsSorted(done))
	assert.Greater(t, len(done), 4)
	assert.Equal(t, [2]float64{seconds, seconds}, [2]float64{done[len(done)-1], claimed[0]})
	c := r.Course
	assert.Len(t, c.Strength, (len(sound)-64)/8+1, "whole windows only")
	assert.InDelta(t, seconds, c.Column*float64(len(c.Most)), c.Column)
	assert.LessOrEqual(t, len(c.Most), 8192)
	assert.Equal(t, 0.5, slices.Max(c.Most))
	assert.Zero(t, slices.Min(c.Least))
}

// What is wrong with a file, or with its reading, is the error; an interrupt, too.
func TestErrors(t *testing.T) {
	_, err := listen.Listen(context.Background(), bytes.NewReader([]byte("not a recording")), listen.Settings{})
	var fault *wav.Fault
	assert.ErrorAs(t, err, &fault)
	file := recording(t, "plain")
	broken := errors.New("the card was pulled out")
	_, err = listen.Listen(context.Background(), io.MultiReader(bytes.NewReader(file[:20000]), iotest.ErrReader(broken)), listen.Settings{})
	assert.Equal(t, broken, err)
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err = listen.Listen(ctx, bytes.NewReader(file), listen.Settings{})
	assert.Equal(t, context.Canceled, err)
}

// counting ends after so many looks.
type counting struct {
	context.Context
	left int
}

func (c *counting) Err() error {
	if c.left--; c.left < 0 {
		return context.Canceled
	}
	return nil
}

// An interrupt is seen in all stages.
func TestInterrupted(t *testing.T) {
	file := recording(t, "three-bursts")
	all := &counting{context.Background(), 1 << 30}
	_, err := listen.Listen(all, bytes.NewReader(file), listen.Settings{})
	require.NoError(t, err)
	looks := 1<<30 - all.left
	require.Greater(t, looks, 6)
	for n := range looks {
		_, err := listen.Listen(&counting{context.Background(), n}, bytes.NewReader(file), listen.Settings{})
		assert.Equal(t, context.Canceled, err, "after %d looks", n)
	}
}

// noisy is minutes of noise with knocks in it, made as it is read.
type noisy struct {
	left int // bytes
	seed uint64
	at   int
}

func (n *noisy) Read(p []byte) (int, error) {
	if n.left == 0 {
		return 0, io.EOF
	}
	p = p[:min(len(p), n.left)]
	for i := range p {
		n.seed = n.seed*6364136223846793005 + 1442695040888963407
		p[i] = 124 + byte(n.seed>>61)
		if n.at%500 < 12 {
			p[i] = byte(n.seed >> 56)
		}
		n.at++
	}
	n.left -= len(p)
	return len(p), nil
}

// What ten minutes take of memory is a sixth of what an hour may: 200 MiB, less what any
// program takes. Onsets all along are the worst, since they are one burst.
func TestMemory(t *testing.T) {
	const minutes, fs = 10, 8000
	head := listentest.File(listentest.Format(fs, 1, listentest.Kind{Bits: 8}), listentest.Claim("data", 0xFFFFFFFF, nil))
	runtime.GC()
	var before, now runtime.MemStats
	runtime.ReadMemStats(&before)
	most := uint64(0)
	look := func() {
		runtime.ReadMemStats(&now)
		most = max(most, now.HeapAlloc-min(before.HeapAlloc, now.HeapAlloc))
	}
	r, err := listen.Listen(context.Background(), io.MultiReader(bytes.NewReader(head), &noisy{left: minutes * 60 * fs}), listen.Settings{Progress: func(float64, float64) { look() }})
	require.NoError(t, err)
	look()
	assert.Equal(t, minutes*60*16-1, r.Shots, "the sound begins with a knock, which is no rise")
	assert.InEpsilon(t, 16, r.RateOfFire, 1e-3)
	assert.Less(t, most, uint64(180<<20)/6)
}

func BenchmarkListen(b *testing.B) {
	s := rifle()
	s.SampleRate, s.Seconds = 48000, 10
	sound, _ := s.Make()
	file := listentest.WAV(s.SampleRate, pcm16, sound, sound)
	for b.Loop() {
		if _, err := listen.Listen(context.Background(), bytes.NewReader(file), listen.Settings{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(s.Seconds*float64(b.N)/b.Elapsed().Seconds(), "sound-s/s")
}
