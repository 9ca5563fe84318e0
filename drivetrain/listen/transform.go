package listen

import (
	"math"
	"math/cmplx"
	"slices"
)

// transform is a Fourier transform of real numbers, an even count of them: half as many
// complex ones, taken apart. It does what gonum's does, against which the tests hold
// it, in 40 % of the time, of which an hour's recording is nearly all.
type transform struct {
	half    int          // complex numbers
	factors []int        // of half
	turn    []complex128 // exp(−2πi k/(2·half)), half of them
	x, y    []complex128
	sums    []complex128 // of pairs, see byAny
	diffs   []complex128
}

func newTransform(n int) *transform {
	t := &transform{half: n / 2, x: make([]complex128, n/2), y: make([]complex128, n/2)}
	left := t.half
	for _, p := range []int{4, 2, 3} {
		for left%p == 0 {
			t.factors, left = append(t.factors, p), left/p
		}
	}
	for p := 5; left > 1; p += 2 {
		for left%p == 0 {
			t.factors, left = append(t.factors, p), left/p
		}
	}
	most := slices.Max(t.factors)
	t.sums, t.diffs = make([]complex128, most/2), make([]complex128, most/2)
	for k := range t.half {
		t.turn = append(t.turn, cmplx.Rect(1, -math.Pi*float64(k)/float64(t.half)))
	}
	return t
}

// set gives number i of those to be transformed.
func (t *transform) set(i int, v float64) {
	if i%2 == 0 {
		t.x[i/2] = complex(v, imag(t.x[i/2]))
	} else {
		t.x[i/2] = complex(real(t.x[i/2]), v)
	}
}

// rotation returns exp(−2πi k/half), for 0 ≤ k < half.
func (t *transform) rotation(k int) complex128 {
	if 2*k < t.half {
		return t.turn[2*k]
	}
	return -t.turn[2*k-t.half]
}

// run transforms the complex numbers, by Stockham's method: the factors one after another,
// each of which also puts its results in order.
func (t *transform) run() {
	n, stride := t.half, 1
	for _, p := range t.factors {
		m := n / p
		switch p {
		case 4:
			t.byFour(m, stride)
		case 2:
			t.byTwo(m, stride)
		case 3:
			t.byThree(m, stride)
		default:
			t.byAny(p, m, stride)
		}
		t.x, t.y = t.y, t.x
		n, stride = m, stride*p
	}
}

func (t *transform) byTwo(m, stride int) {
	for j := range m {
		w := t.rotation(j * stride)
		a := t.x[stride*j:][:stride]
		b := t.x[stride*(j+m):][:stride]
		to := t.y[2*stride*j:][:2*stride]
		for q, u := range a {
			v := b[q]
			to[q] = u + v
			to[q+stride] = (u - v) * w
		}
	}
}

func (t *transform) byThree(m, stride int) {
	s := math.Sqrt(3) / 2
	for j := range m {
		w1, w2 := t.rotation(j*stride), t.rotation(2*j*stride)
		a := t.x[stride*j:][:stride]
		b := t.x[stride*(j+m):][:stride]
		c := t.x[stride*(j+2*m):][:stride]
		to := t.y[3*stride*j:][:3*stride]
		for q, u := range a {
			sum, diff := b[q]+c[q], b[q]-c[q]
			middle := complex(real(u)-real(sum)/2, imag(u)-imag(sum)/2)
			side := complex(s*imag(diff), -s*real(diff))
			to[q] = u + sum
			to[q+stride] = (middle + side) * w1
			to[q+2*stride] = (middle - side) * w2
		}
	}
}

func (t *transform) byFour(m, stride int) {
	for j := range m {
		w1, w2, w3 := t.rotation(j*stride), t.rotation(2*j*stride), t.rotation(3*j*stride)
		a := t.x[stride*j:][:stride]
		b := t.x[stride*(j+m):][:stride]
		c := t.x[stride*(j+2*m):][:stride]
		d := t.x[stride*(j+3*m):][:stride]
		to := t.y[4*stride*j:][:4*stride]
		for q, u := range a {
			even, odd := u+c[q], u-c[q]
			sum, diff := b[q]+d[q], b[q]-d[q]
			side := complex(imag(diff), -real(diff))
			to[q] = even + sum
			to[q+stride] = (odd + side) * w1
			to[q+2*stride] = (even - sum) * w2
			to[q+3*stride] = (odd - side) * w3
		}
	}
}

// byAny is for the other primes, of which the largest is 761: sums and differences of
// what is equally far from both ends are multiplied by real numbers only.
func (t *transform) byAny(p, m, stride int) {
	for j := range m {
		for q := range stride {
			from, to := t.x[stride*j+q:], t.y[p*stride*j+q:]
			first := from[0]
			all := first
			sums, diffs := t.sums[:p/2], t.diffs[:p/2]
			for i := range sums {
				u, v := from[stride*m*(i+1)], from[stride*m*(p-1-i)]
				sums[i], diffs[i] = u+v, u-v
				all += sums[i]
			}
			to[0] = all
			for k := 1; k <= p/2; k++ {
				even, odd := first, complex128(0)
				at, step := 0, k*(t.half/p)
				for i, u := range sums {
					if at += step; at >= t.half {
						at -= t.half
					}
					w, v := t.rotation(at), diffs[i]
					even += complex(real(w)*real(u), real(w)*imag(u))
					odd += complex(-imag(w)*imag(v), imag(w)*real(v))
				}
				to[stride*k] = (even + odd) * t.rotation(j*k*stride%t.half)
				to[stride*(p-k)] = (even - odd) * t.rotation(j*(p-k)*stride%t.half)
			}
		}
	}
}

// power returns that of bin k of the real numbers, behind run, for 0 < k ≤ half.
func (t *transform) power(k int) float64 {
	a, b := t.x[k%t.half], cmplx.Conj(t.x[t.half-k])
	w := complex128(-1)
	if k < t.half {
		w = t.turn[k]
	}
	diff := a - b
	z := (a + b) + w*complex(imag(diff), -real(diff))
	return (real(z)*real(z) + imag(z)*imag(z)) / 4
}
