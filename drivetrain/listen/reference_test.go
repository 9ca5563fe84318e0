package listen_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/listen"
)

const recordings = "../../testdata/listen"

// truth is what a recording was made of, by a synthesiser that shares nothing with this
// module.
type truth struct {
	Shots   int
	Singles int
	// Strangers are other loud sounds, which may be counted as single shots.
	Strangers int
	Bursts    []struct {
		Shots int
		First float64 `json:"first_s"`
		Last  float64 `json:"last_s"`
		Rate  float64 `json:"rate_hz"`
	}
	SNR  float64 `json:"snr_db"` // 0: no noise is told
	Warn string
}

func truths(t *testing.T) (all map[string]truth) {
	text, err := os.ReadFile(filepath.Join(recordings, "truth.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &all))
	require.Len(t, all, 13)
	return all
}

func heard(t *testing.T, file []byte) *listen.Result {
	t.Helper()
	r, err := listen.Listen(context.Background(), bytes.NewReader(file), listen.Settings{})
	require.NoError(t, err)
	return r
}

func recording(t *testing.T, name string) []byte {
	t.Helper()
	file, err := os.ReadFile(filepath.Join(recordings, name+".wav"))
	require.NoError(t, err)
	return file
}

// The recordings of testdata/listen: rates to half a per cent (1 % where the noise is within
// 15 dB), or what 0.6 ms over the burst's length come to, counts exact, first shots within
// 4 ms.
func TestReference(t *testing.T) {
	worst := 0.
	for name, want := range truths(t) {
		t.Run(name, func(t *testing.T) {
			r := heard(t, recording(t, name))
			assert.GreaterOrEqual(t, r.Shots, want.Shots)
			assert.LessOrEqual(t, r.Shots, want.Shots+want.Strangers)
			for _, w := range r.Warnings {
				assert.Contains(t, []string{want.Warn, string(listen.Voice)}, string(w.Code))
			}
			if want.Warn != "" {
				assert.NotEmpty(t, r.Warnings, want.Warn)
			}
			var got []*listen.Burst
			for _, b := range r.Counted() {
				if b.Shots >= 3 {
					got = append(got, b)
				}
			}
			i := 0
			close := 0.005
			if want.SNR != 0 && want.SNR <= 15 {
				close = 0.01
			}
			periods, span := 0., 0.
			for _, b := range want.Bursts {
				if b.Shots < 3 {
					continue
				}
				require.Greater(t, len(got), i)
				g := got[i]
				i++
				off := math.Abs(g.Rate/b.Rate - 1)
				assert.LessOrEqual(t, off, max(close, 0.0006/(b.Last-b.First)), "rate %v for %v", g.Rate, b.Rate)
				assert.Equal(t, b.Shots, g.Shots)
				assert.InDelta(t, b.First, g.First(), 0.004)
				assert.InDelta(t, b.Last, g.Last(), 0.004)
				worst = max(worst, off)
				periods, span = periods+float64(b.Shots-1), span+float64(b.Shots-1)/b.Rate
			}
			require.Len(t, got, i)
			if i == 0 {
				assert.True(t, math.IsNaN(r.RateOfFire))
				assert.Equal(t, want.Singles > 0, r.Outcome == listen.SingleShots)
				return
			}
			assert.Equal(t, listen.Bursts, r.Outcome)
			assert.InEpsilon(t, periods/span, r.RateOfFire, max(close, 0.0006*periods/span/periods))
			assert.Greater(t, r.RateSD, 0.)
			assert.Less(t, r.RateSD, 0.05*r.RateOfFire)
		})
	}
	t.Logf("worst rate %.3f %% off", 100*worst)
	assert.Greater(t, worst, 0.)
}

// What else the recordings were made to show.
func TestReferenceDetails(t *testing.T) {
	r := heard(t, recording(t, "sagging-stereo"))
	b := r.Leading()
	assert.Less(t, b.Drift, -0.05, "the rate sags")
	assert.Less(t, b.RateEnds, b.Rate, "the first shot is slow")
	assert.Equal(t, 2, r.Channels)

	r = heard(t, recording(t, "far-gun"))
	for _, b := range r.Bursts {
		if !b.Faint {
			assert.InDelta(t, 21.17, b.Rate, 0.1, "the second gun, at 29 /s, is not counted")
		}
	}
	r = heard(t, recording(t, "clipped-hum"))
	require.Equal(t, 1, r.Singles, "the knock behind the burst")
	last := r.Bursts[len(r.Bursts)-1]
	assert.Equal(t, 1, last.Shots)
	assert.True(t, math.IsNaN(last.Rate) && math.IsNaN(last.Salience) && math.IsNaN(last.Jitter))

	r = heard(t, recording(t, "nothing-but-noise"))
	assert.Empty(t, r.Bursts)
	assert.Less(t, r.Loudest, r.Threshold)
	r = heard(t, recording(t, "quick-truncated"))
	assert.Equal(t, listen.Truncated, r.Warnings[0].Code)
	r = heard(t, recording(t, "voices"))
	assert.Equal(t, 2, len(r.Counted())-r.Singles)
}
