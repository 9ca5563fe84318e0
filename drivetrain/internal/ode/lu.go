package ode

import "math"

// block is the order of the blocks that triangles are solved in.
const block = 4

// lu is a dense matrix of order n, factored in place by Gaussian elimination with
// partial pivoting into L·D·U, where the triangles have ones on the diagonal. It lies
// column by column, and is filled up with zeros to whole blocks.
type lu struct {
	n, wide int
	a       []float64 // row i of column j is a[j*wide+i]
	inverse []float64 // of the pivots, 0 for the filling
	row     []int     // row i comes from that of the matrix
	x       []float64 // the solution, with the filling
}

// luSize returns the number of values that a matrix of order n needs.
func luSize(n int) int {
	wide := (n + block - 1) / block * block
	return (wide + 2) * wide
}

// newLU returns a matrix of zeros in a slab of luSize(n) zeros.
func newLU(slab []float64, n int) lu {
	wide := (n + block - 1) / block * block
	return lu{
		n: n, wide: wide,
		a:       slab[: wide*wide : wide*wide],
		inverse: slab[wide*wide : (wide+1)*wide : (wide+1)*wide],
		x:       slab[(wide+1)*wide : (wide+2)*wide : (wide+2)*wide],
		row:     make([]int, n),
	}
}

// factor factors the matrix. It returns false if a pivot is zero or not finite.
func (m *lu) factor() bool {
	n, wide := m.n, m.wide
	for i := range m.row {
		m.row[i] = i
	}
	for k := range n {
		col := m.a[k*wide : k*wide+n]
		p, largest := k, math.Abs(col[k])
		for i := k + 1; i < n; i++ {
			if v := math.Abs(col[i]); v > largest {
				p, largest = i, v
			}
		}
		inverse := 1 / col[p]
		if inverse == 0 || !finite(inverse) {
			return false
		}
		m.inverse[k] = inverse
		if p != k {
			m.row[p], m.row[k] = m.row[k], m.row[p]
			for j := range n {
				c := m.a[j*wide : j*wide+n]
				c[p], c[k] = c[k], c[p]
			}
		}
		col = col[k+1:]
		for i := range col {
			col[i] *= inverse
		}
		for j := k + 1; j < n; j++ {
			right := m.a[j*wide+k : j*wide+n]
			f := right[0]
			if f == 0 {
				continue // the matrices of machines are sparse
			}
			right = right[1:][:len(col)]
			for i, v := range col {
				right[i] -= f * v
			}
		}
	}
	for j := 1; j < n; j++ {
		for i, v := range m.inverse[:j] {
			m.a[j*wide+i] *= v
		}
	}
	return true
}

// solve replaces the right-hand side by the solution.
func (m *lu) solve(b []float64) {
	x := m.x
	for i, p := range m.row {
		x[i] = b[p]
	}
	if m.wide == 2*block {
		m.solve8()
	} else {
		m.solveBlocks()
	}
	copy(b, x[:m.n])
}

// solveBlocks solves in x block by block: the triangle on the diagonal, then its share
// in the other blocks.
func (m *lu) solveBlocks() {
	wide, x := m.wide, m.x
	for k := 0; k < wide; k += block {
		c0, c1, c2, c3 := m.columns(k)
		v := (*[block]float64)(x[k:])
		t0, t1, t2 := (*[block]float64)(c0[k:]), (*[block]float64)(c1[k:]), (*[block]float64)(c2[k:])
		x0 := v[0]
		x1 := v[1] - t0[1]*x0
		x2 := v[2] - t0[2]*x0 - t1[2]*x1
		x3 := v[3] - t0[3]*x0 - t1[3]*x1 - t2[3]*x2
		v[1], v[2], v[3] = x1, x2, x3
		for i := k + block; i < wide; i += block {
			share((*[block]float64)(x[i:]), x0, x1, x2, x3,
				(*[block]float64)(c0[i:]), (*[block]float64)(c1[i:]), (*[block]float64)(c2[i:]), (*[block]float64)(c3[i:]))
		}
	}
	for i, v := range m.inverse {
		x[i] *= v
	}
	for k := wide - block; k >= 0; k -= block {
		c0, c1, c2, c3 := m.columns(k)
		v := (*[block]float64)(x[k:])
		t1, t2, t3 := (*[block]float64)(c1[k:]), (*[block]float64)(c2[k:]), (*[block]float64)(c3[k:])
		x3 := v[3]
		x2 := v[2] - t3[2]*x3
		x1 := v[1] - t3[1]*x3 - t2[1]*x2
		x0 := v[0] - t3[0]*x3 - t2[0]*x2 - t1[0]*x1
		v[0], v[1], v[2] = x0, x1, x2
		for i := 0; i < k; i += block {
			share((*[block]float64)(x[i:]), x0, x1, x2, x3,
				(*[block]float64)(c0[i:]), (*[block]float64)(c1[i:]), (*[block]float64)(c2[i:]), (*[block]float64)(c3[i:]))
		}
	}
}

// columns returns those of the block at k.
func (m *lu) columns(k int) (c0, c1, c2, c3 []float64) {
	n := m.wide
	a := m.a[k*n : (k+block)*n]
	return a[:n], a[n : 2*n], a[2*n : 3*n], a[3*n:]
}

// share takes the part of four solved components from four others.
func share(x *[block]float64, x0, x1, x2, x3 float64, c0, c1, c2, c3 *[block]float64) {
	x[0] -= c0[0]*x0 + c1[0]*x1 + (c2[0]*x2 + c3[0]*x3)
	x[1] -= c0[1]*x0 + c1[1]*x1 + (c2[1]*x2 + c3[1]*x3)
	x[2] -= c0[2]*x0 + c1[2]*x1 + (c2[2]*x2 + c3[2]*x3)
	x[3] -= c0[3]*x0 + c1[3]*x1 + (c2[3]*x2 + c3[3]*x3)
}

// solve8 is solveBlocks for the order 8, or 5 to 7 filled up, unrolled.
func (m *lu) solve8() {
	a, x, d := (*[64]float64)(m.a), (*[8]float64)(m.x), (*[8]float64)(m.inverse)
	x0, x1, x2, x3, x4, x5, x6, x7 := x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7]
	x1 -= a[1] * x0
	x2 -= a[2] * x0
	x3 -= a[3] * x0
	x4 -= a[4] * x0
	x5 -= a[5] * x0
	x6 -= a[6] * x0
	x7 -= a[7] * x0
	x2 -= a[10] * x1
	x3 -= a[11] * x1
	x4 -= a[12] * x1
	x5 -= a[13] * x1
	x6 -= a[14] * x1
	x7 -= a[15] * x1
	x3 -= a[19] * x2
	x4 -= a[20] * x2
	x5 -= a[21] * x2
	x6 -= a[22] * x2
	x7 -= a[23] * x2
	x4 -= a[28] * x3
	x5 -= a[29] * x3
	x6 -= a[30] * x3
	x7 -= a[31] * x3
	x5 -= a[37] * x4
	x6 -= a[38] * x4
	x7 -= a[39] * x4
	x6 -= a[46] * x5
	x7 -= a[47] * x5
	x7 -= a[55] * x6

	x0, x1, x2, x3 = x0*d[0], x1*d[1], x2*d[2], x3*d[3]
	x4, x5, x6, x7 = x4*d[4], x5*d[5], x6*d[6], x7*d[7]

	x6 -= a[62] * x7
	x5 -= a[61] * x7
	x4 -= a[60] * x7
	x3 -= a[59] * x7
	x2 -= a[58] * x7
	x1 -= a[57] * x7
	x0 -= a[56] * x7
	x5 -= a[53] * x6
	x4 -= a[52] * x6
	x3 -= a[51] * x6
	x2 -= a[50] * x6
	x1 -= a[49] * x6
	x0 -= a[48] * x6
	x4 -= a[44] * x5
	x3 -= a[43] * x5
	x2 -= a[42] * x5
	x1 -= a[41] * x5
	x0 -= a[40] * x5
	x3 -= a[35] * x4
	x2 -= a[34] * x4
	x1 -= a[33] * x4
	x0 -= a[32] * x4
	x2 -= a[26] * x3
	x1 -= a[25] * x3
	x0 -= a[24] * x3
	x1 -= a[17] * x2
	x0 -= a[16] * x2
	x0 -= a[8] * x1

	x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7] = x0, x1, x2, x3, x4, x5, x6, x7
}
