package listen_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/listen/listentest"
)

// slope is the rate of times over their numbers by plain least squares. Over evenly spaced
// numbers it is that of a parabola's middle as well.
func slope(times []float64) float64 {
	squares, products := 0., 0.
	for i, t := range times {
		x := float64(i) - float64(len(times)-1)/2
		squares += x * x
		products += x * t
	}
	return squares / products
}

// Two hundred guns that are drawn at random: none is an octave off, the count is exact but
// for a few where an echo comes just one period behind the last shot, and the ± is what it
// says, two standard deviations.
func TestRandomGuns(t *testing.T) {
	scenes := effort.Of(200)
	exact, within, worst := 0, 0, 0.
	for seed := range uint64(scenes) {
		s := listentest.Random(seed)
		sound, strikes := s.Make()
		r := heard(t, listentest.WAV(s.SampleRate, pcm16, sound))
		want, n := slope(strikes[0]), len(strikes[0])
		off := math.Abs(r.RateOfFire/want - 1)
		assert.Less(t, off, 0.03, "seed %d: %v for %v", seed, r.RateOfFire, want)
		worst = max(worst, off)
		assert.InDelta(t, n, r.Shots, 2, "seed %d", seed)
		if r.Shots == n && len(r.Bursts) == 1 {
			exact++
		}
		if math.Abs(r.RateOfFire-want) < 2*r.RateSD {
			within++
		}
	}
	t.Logf("%d of %d counts exact, %d rates within their ±, the worst %.2f %% off", exact, scenes, within, 100*worst)
	assert.GreaterOrEqual(t, exact, scenes*95/100)
	assert.GreaterOrEqual(t, within, scenes*93/100)
}
