package flight

import (
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// matrix solves (d − J)·k = b for the active states, with J of a point and d =
// 1/(hγ). The travels are eliminated by hand, then the speeds, which leaves masses
// and energies. Of these the rows of the cylinder are replaced by the sums over both
// volumes, in which the stiff flow through the nozzle is not; the barrel's block of
// two is eliminated first, which takes that flow up, and what remains of the sums'
// block has no small difference of large terms.
type matrix struct {
	h float64 // hγ; kx = ξ + xu·ku1 with ξ = xx·bx + xv·bv, and so on

	xx, xv, xu, vx, vv, vu         float64
	zz, zw, zk, zn, wz, ww, wk, wn float64

	// The slopes in the rows' right-hand sides.
	sx, tx, tv, nx, kx     float64
	sz, tz, tw, nz, kz, kw float64
	sw, nw                 float64

	// The inverse for the right-hand sides s, t, n, k: km1 is their first row's product.
	i11, i12, i13, i14 float64
	i21, i22, i23, i24 float64
	i31, i32, i33, i34 float64
	i41, i42, i43, i44 float64
}

// factor prepares the matrix for a step of h. It returns false if it is singular.
func (m *matrix) factor(p *point, h float64) bool {
	const gamma = ode.RodasGamma
	hg := h * gamma
	d := 1 / hg
	alpha := 1 / (d - p.vv - p.vx*hg)
	beta := 1 / (d - p.ww - p.wz*hg)
	m.h = hg
	m.vv, m.vx, m.vu = alpha, alpha*p.vx*hg, alpha*p.vu
	m.xv, m.xx, m.xu = hg*m.vv, hg+hg*m.vx, hg*m.vu
	m.ww, m.wz, m.wk, m.wn = beta, beta*p.wz*hg, beta*p.wk, beta*p.wn
	m.zw, m.zz, m.zk, m.zn = hg*m.ww, hg+hg*m.wz, hg*m.wk, hg*m.wn
	m.sx, m.tx, m.tv, m.nx, m.kx = p.sx, p.tx, p.tv, p.nx, p.kx
	m.sz, m.tz, m.tw, m.nz, m.kz, m.kw = p.sz, p.tz, p.tw, p.nz, p.kz, p.kw

	m.sw, m.nw = p.sw, p.nw

	// Rows s, t by columns m1, u1; the same by m2, u2; rows n, k by both.
	a11, a12 := d-p.sm, -p.su-p.sx*m.xu
	a21, a22 := -p.tm, d-p.tu-p.tx*m.xu-p.tv*m.vu
	b11, b12 := d-p.sn-p.sz*m.zn-p.sw*m.wn, -p.sk-p.sz*m.zk-p.sw*m.wk
	b21, b22 := -p.tn-p.tz*m.zn-p.tw*m.wn, d-p.tk-p.tz*m.zk-p.tw*m.wk
	c11, c12 := -p.nm, -p.nu-p.nx*m.xu
	c21, c22 := -p.km, -p.ku-p.kx*m.xu
	d11, d12 := d-p.nn-p.nz*m.zn-p.nw*m.wn, -p.nk-p.nz*m.zk-p.nw*m.wk
	d21, d22 := -p.kn-p.kz*m.zn-p.kw*m.wn, d-p.kk-p.kz*m.zk-p.kw*m.wk

	// With the blocks A B, C D: D⁻¹ first, then the inverse of what remains, A − B·D⁻¹·C.
	per := 1 / (d11*d22 - d12*d21)
	d11, d12, d21, d22 = d22*per, -d12*per, -d21*per, d11*per
	g11, g12 := b11*d11+b12*d21, b11*d12+b12*d22 // B·D⁻¹
	g21, g22 := b21*d11+b22*d21, b21*d12+b22*d22
	e11, e12 := d11*c11+d12*c21, d11*c12+d12*c22 // D⁻¹·C
	e21, e22 := d21*c11+d22*c21, d21*c12+d22*c22
	a11 -= b11*e11 + b12*e21
	a12 -= b11*e12 + b12*e22
	a21 -= b21*e11 + b22*e21
	a22 -= b21*e12 + b22*e22
	rest := 1 / (a11*a22 - a12*a21)
	a11, a12, a21, a22 = a22*rest, -a12*rest, -a21*rest, a11*rest
	m.i11, m.i12, m.i21, m.i22 = a11, a12, a21, a22
	m.i13, m.i14 = -(a11*g11 + a12*g21), -(a11*g12 + a12*g22)
	m.i23, m.i24 = -(a21*g11 + a22*g21), -(a21*g12 + a22*g22)
	m.i31, m.i32 = -(e11*a11 + e12*a21), -(e11*a12 + e12*a22)
	m.i41, m.i42 = -(e21*a11 + e22*a21), -(e21*a12 + e22*a22)
	m.i33, m.i34 = d11-(e11*m.i13+e12*m.i23), d12-(e11*m.i14+e12*m.i24)
	m.i43, m.i44 = d21-(e21*m.i13+e22*m.i23), d22-(e21*m.i14+e22*m.i24)
	all := alpha * beta * per * rest
	return all != 0 && math.Abs(all) <= math.MaxFloat64
}

// solve returns the k for a right-hand side.
func (m *matrix) solve(x, v, m1, u1, m2, u2, z, w float64) (kx, kv, km1, ku1, km2, ku2, kz, kw float64) {
	xi, vi := m.xx*x+m.xv*v, m.vv*v+m.vx*x
	zi, wi := m.zz*z+m.zw*w, m.ww*w+m.wz*z
	s := (m1 + m2) + (m.sx*xi + (m.sz*zi + m.sw*wi))
	t := ((u1 + u2) + (m.tx*xi + m.tv*vi)) + (m.tz*zi + m.tw*wi)
	n := m2 + (m.nx*xi + (m.nz*zi + m.nw*wi))
	k := (u2 + m.kx*xi) + (m.kz*zi + m.kw*wi)
	km1 = (m.i11*s + m.i12*t) + (m.i13*n + m.i14*k)
	ku1 = (m.i21*s + m.i22*t) + (m.i23*n + m.i24*k)
	km2 = (m.i31*s + m.i32*t) + (m.i33*n + m.i34*k)
	ku2 = (m.i41*s + m.i42*t) + (m.i43*n + m.i44*k)
	return xi + m.xu*ku1, vi + m.vu*ku1, km1, ku1, km2, ku2, zi + (m.zk*ku2 + m.zn*km2), wi + (m.wk*ku2 + m.wn*km2)
}
