package listen_test

import (
	"bytes"
	"context"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/listen"
	"example.org/ampstroke/drivetrain/listen/listentest"
	"example.org/ampstroke/drivetrain/listen/wav"
)

// Whatever stands in a file, what is heard adds up, or the file is told to be at fault.
func FuzzListen(f *testing.F) {
	clicks := make([]float64, 4000)
	for i := 100; i < len(clicks); i += 400 {
		clicks[i] = 0.9
	}
	for _, k := range []listentest.Kind{{Bits: 8}, {Bits: 16}, {Bits: 24}, {Bits: 32, Float: true}} {
		f.Add(listentest.WAV(8000, k, clicks))
		f.Add(listentest.WAV(8000, k, clicks[:300], clicks[100:400]))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		r, err := listen.Listen(context.Background(), bytes.NewReader(file), listen.Settings{})
		if err != nil {
			require.True(t, errors.As(err, new(*wav.Fault)), err)
			return
		}
		require.False(t, math.IsNaN(r.Threshold) || math.IsNaN(r.Loudest) || math.IsInf(r.Loudest, 0))
		require.Equal(t, r.Outcome == listen.Bursts, r.RateOfFire > 0)
		require.Equal(t, r.Outcome == listen.Bursts, r.RateSD > 0)
		shots, last := 0, 0.
		for _, b := range r.Bursts {
			require.Equal(t, len(b.Places), b.Shots+b.Missed)
			require.Len(t, b.Times(), b.Shots)
			require.True(t, b.Places[0].Heard && b.Places[len(b.Places)-1].Heard)
			require.True(t, b.First() >= last && b.Last() <= r.Duration, "in order, within the sound")
			last = b.First()
			if !b.Faint && !b.Odd {
				shots += b.Shots
			}
			if !math.IsNaN(b.Rate) {
				require.True(t, b.Rate > 0 && b.RateSD > 0 && b.Jitter > 0)
			}
		}
		require.Equal(t, shots, r.Shots)
	})
}
