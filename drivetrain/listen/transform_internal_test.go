package listen

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/dsp/fourier"
)

// Every length that a sampling rate leads to, against gonum's transform.
func TestTransform(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	seen := 0
	for half := 32; half <= 768; half++ {
		n := 2 * half
		mine, other := newTransform(n), fourier.NewFFT(n)
		x := make([]float64, n)
		for i := range x {
			x[i] = r.NormFloat64()
			mine.set(i, x[i])
		}
		mine.run()
		for k, z := range other.Coefficients(nil, x) {
			if k == 0 {
				continue
			}
			want := real(z)*real(z) + imag(z)*imag(z)
			if math.Abs(mine.power(k)-want) > 1e-11*float64(n)*math.Sqrt(want+1) {
				assert.InDelta(t, want, mine.power(k), 1e-11*float64(n), "length %d, bin %d", n, k)
			}
			seen++
		}
	}
	assert.Greater(t, seen, 100000)
}

func BenchmarkTransform(b *testing.B) {
	const n = 384 // of a frame at 48 kHz
	x := make([]float64, n)
	for i := range x {
		x[i] = float64(i * 7919 % 101)
	}
	b.Run("own", func(b *testing.B) {
		t, sum := newTransform(n), 0.
		for b.Loop() {
			for i, v := range x {
				t.set(i, v)
			}
			t.run()
			for k := 3; k < 96; k++ {
				sum += t.power(k)
			}
		}
	})
	b.Run("gonum", func(b *testing.B) {
		f, c, sum := fourier.NewFFT(n), make([]complex128, n/2+1), 0.
		for b.Loop() {
			f.Coefficients(c, x)
			for k := 3; k < 96; k++ {
				sum += real(c[k])*real(c[k]) + imag(c[k])*imag(c[k])
			}
		}
	})
}
