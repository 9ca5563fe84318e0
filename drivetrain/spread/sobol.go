package spread

import (
	"math/bits"
	"math/rand/v2"
)

// digits of a point's coordinate, binary.
const digits = 32

// net is a Sobol' sequence: points that fill a cube far more evenly than random ones
// (Sobol', USSR Comput. Math. Math. Phys. 7(4), 1967, 86). The first 2^k of them hold, in
// each coordinate, one point in each of 2^k equal stretches.
type net struct {
	columns [][digits]uint32 // of each dimension: what each bit of a point's number adds
	shift   []uint32         // of each dimension
	half    float64          // from a coordinate's lower end to its middle, in units of the last digit
}

// plainNet is the sequence as published, with the origin first.
func plainNet(dims int) *net {
	n := &net{columns: make([][digits]uint32, dims), shift: make([]uint32, dims)}
	for j := range n.columns {
		n.columns[j] = directions[j].numbers()
	}
	return n
}

// numbers continues those of a dimension (Joe & Kuo 2008, equation 2), each with its
// leading binary digit in the highest bit.
func (d *direction) numbers() (v [digits]uint32) {
	degree := bits.Len32(d.polynomial) - 1
	for k := range v {
		switch {
		case degree == 0:
			v[k] = 1 << (digits - 1 - k)
		case k < degree:
			v[k] = d.first[k] << (digits - 1 - k)
		default:
			v[k] = v[k-degree] ^ v[k-degree]>>degree
			for i := 1; i < degree; i++ {
				if d.polynomial>>(degree-i)&1 == 1 {
					v[k] ^= v[k-i]
				}
			}
		}
	}
	return v
}

// newNet is the sequence scrambled anew for each seed and replicate: the digits of each
// dimension are mixed by a random lower triangular matrix (Matoušek, J. Complexity 14,
// 1998, 527) and shifted by random digits. The points are as even as before, and each
// of them by itself is spread evenly over the cube, so that replicates show the error.
// A coordinate stands in the middle of its last digit, hence never at 0 or 1.
func newNet(dims int, seed uint64, replicate int) *net {
	n := plainNet(dims)
	n.half = 0.5
	rng := rand.New(rand.NewPCG(seed, uint64(replicate)))
	for j := range n.columns {
		var matrix [digits]uint32 // rows, the leading digit first
		for r := range matrix {
			one := uint32(1) << (digits - 1 - r)
			matrix[r] = rng.Uint32()&^(one<<1-1) | one // what lies above and left of the diagonal
		}
		for k, v := range n.columns[j] {
			var mixed uint32
			for r, row := range matrix {
				mixed |= uint32(bits.OnesCount32(row&v)&1) << (digits - 1 - r)
			}
			n.columns[j][k] = mixed
		}
		n.shift[j] = rng.Uint32()
	}
	return n
}

// point fills dst with the coordinates of point i from a dimension on [1]. The points come
// in the order of Gray's code.
func (n *net) point(dst []float64, i, from int) {
	gray := uint32(i ^ i>>1)
	for j := range dst {
		x := n.shift[from+j]
		column := &n.columns[from+j]
		for g := gray; g != 0; g &= g - 1 {
			x ^= column[bits.TrailingZeros32(g)]
		}
		dst[j] = (float64(x) + n.half) / (1 << digits)
	}
}
