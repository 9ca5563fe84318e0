package flight

// point is where a step starts: state, what changes it, and the derivatives of
// that.
type point struct {
	y [states]float64
	rates
	partials

	p1, p2 float64         // pressures [Pa]
	r1, r2 float64         // how fast they rise [Pa/s]
	per    [states]float64 // one over what each state's error is measured in
}

// rates are the derivatives by time of the states, but those of the travels,
// which are the speeds.
type rates struct {
	v, m1, u1, m2, u2, w float64
	heat                 float64 // enthalpy that leaves [W]
	drag                 float64 // power of the piston's drag [W]
}

// partials are the derivatives of rates by the states. A name is the row's and then the
// column's. Rows: v and w the speeds; n and k mass and energy in the barrel; s and t
// the sums of both masses and of both energies, in which the flow through the nozzle,
// the stiff part, is not; e the enthalpy that leaves. Columns: x, v, m and u of the
// cylinder; z, w, n and k of the barrel.
type partials struct {
	vx, vv, vu float64
	wz, wk     float64

	sx, sm, su, sz, sn, sk         float64
	tx, tv, tm, tu, tz, tw, tn, tk float64
	nx, nm, nu, nz, nn, nk         float64
	kx, km, ku, kz, kw, kn, kk     float64
	ex, em, eu, ez, en, ek         float64

	dragV float64 // of the drag's power
}

// fill computes rates and their slopes at the point's state. With M the flow out
// of a volume of mass m, energy U and size V at a ratio r, and e = r·∂M/∂r,
//
//	∂M/∂m = M/(2m)   ∂M/∂U = (M/2 − e)/U   ∂M/∂V = −(M − e)/V
//
// and downstream ∂M/∂U = e/U, ∂M/∂V = −e/V; the heat is h·M with h = γ·U/m.
func (o *laws) fill(p *point) {
	y := &p.y
	x, v, m1, u1, m2, u2, z, w := y[travel], y[speed], y[mass1], y[energy1], y[mass2], y[energy2], y[along], y[fast]
	V1, V2 := o.area1*x+o.dead, o.area2*z+o.breech
	a1, a2 := (Gamma-1)*u1, (Gamma-1)*u2
	c1, c2 := a1*V2, a2*V1
	perV1, perV2 := 1/V1, 1/V2
	perM1, perM2 := 1/m1, 1/m2
	perU1, perU2 := 1/u1, 1/u2
	p1, p2 := a1*perV1, a2*perV2
	q1, q2 := p1*m1*perV1, p2*m2*perV2
	h1, h2 := Gamma*u1*perM1, Gamma*u2*perM2
	thin1, thin2 := o.area1*perV1, o.area2*perV2

	p.p1, p.p2 = p1, p2
	if c1 >= c2 {
		M, e := throttle(o.nozzle*q1, c2/c1)
		m, u, x, k, z := M/2*perM1, (M/2-e)*perU1, -thin1*(M-e), e*perU2, -thin2*e
		p.m1, p.m2, p.u1, p.u2 = -M, M, -M*h1, M*h1
		p.nm, p.nu, p.nx, p.nk, p.nz = m, u, x, k, z
		p.km, p.ku, p.kx, p.kk, p.kz = -h1*m, h1*(u+M*perU1), h1*x, h1*k, h1*z
		p.nn, p.kn = 0, 0
	} else {
		M, e := throttle(o.nozzle*q2, c1/c2)
		n, k, z, u, x := M/2*perM2, (M/2-e)*perU2, -thin2*(M-e), e*perU1, -thin1*e
		p.m1, p.m2, p.u1, p.u2 = M, -M, M*h2, -M*h2
		p.nn, p.nk, p.nz, p.nu, p.nx = -n, -k, -z, -u, -x
		p.kn, p.kk, p.kz, p.ku, p.kx = h2*n, -h2*(k+M*perU2), -h2*z, -h2*u, -h2*x
		p.nm, p.km = 0, 0
	}
	p.heat = 0
	p.sm, p.su, p.sx, p.em, p.eu, p.ex = 0, 0, 0, 0, 0, 0
	p.sn, p.sk, p.sz, p.en, p.ek, p.ez = 0, 0, 0, 0, 0, 0
	if o.leak > 0 {
		var M, heat float64
		if b := o.pressure * V1; a1 >= b {
			var e float64
			M, e = throttle(o.leak*q1, b/a1)
			p.sm, p.su, p.sx = M/2*perM1, (M/2-e)*perU1, -thin1*(M-e)
			p.em, p.eu, p.ex = -h1*p.sm, h1*(p.su+M*perU1), h1*p.sx
			heat = M * h1
		} else {
			var e float64
			M, e = throttle(o.leak*o.air, a1/b)
			M = -M
			p.su, p.sx = -e*perU1, thin1*e
			p.eu, p.ex = o.enthalpy*p.su, o.enthalpy*p.sx
			heat = M * o.enthalpy
		}
		p.m1 -= M
		p.u1 -= heat
		p.heat = heat
		p.sm, p.su, p.sx = -p.sm, -p.su, -p.sx
	}
	if o.front > 0 {
		var M, heat float64
		if b := o.pressure * V2; a2 >= b {
			var e float64
			M, e = throttle(o.front*q2, b/a2)
			p.sn, p.sk, p.sz = M/2*perM2, (M/2-e)*perU2, -thin2*(M-e)
			p.en, p.ek, p.ez = -h2*p.sn, h2*(p.sk+M*perU2), h2*p.sz
			heat = M * h2
		} else {
			var e float64
			M, e = throttle(o.front*o.air, a2/b)
			M = -M
			p.sk, p.sz = -e*perU2, thin2*e
			p.ek, p.ez = o.enthalpy*p.sk, o.enthalpy*p.sz
			heat = M * o.enthalpy
		}
		p.m2 -= M
		p.u2 -= heat
		p.heat += heat
		p.sn, p.sk, p.sz = -p.sn, -p.sk, -p.sz
		p.nn, p.nk, p.nz = p.nn+p.sn, p.nk+p.sk, p.nz+p.sz
		p.kn, p.kk, p.kz = p.kn-p.en, p.kk-p.ek, p.kz-p.ez
	}
	p.tm, p.tu, p.tx = -p.em, -p.eu, -p.ex
	p.tn, p.tk, p.tz = -p.en, -p.ek, -p.ez

	f1, f2 := p1*o.area1, p2*o.area2
	p.u1 -= f1 * v
	p.u2 -= f2 * w
	way := sense(v)
	grip := o.drag * way
	p.drag = grip * v
	p.v = (f1 - o.pressure*o.area1 - o.rate*(o.preload+x) - grip) * o.perMoving
	p.w = (f2 - o.hold) * o.perPellet

	turn := o.drag * (1 - way*way) * (1 / creep)
	p.dragV = grip + v*turn
	p.r1 = ((Gamma-1)*p.u1 - f1*v) * perV1
	p.r2 = ((Gamma-1)*p.u2 - f2*w) * perV2
	p.vx, p.vv, p.vu = -(f1*thin1+o.rate)*o.perMoving, -turn*o.perMoving, f1*perU1*o.perMoving
	p.wz, p.wk = -f2*thin2*o.perPellet, f2*perU2*o.perPellet
	p.tx += f1 * thin1 * v
	p.tv = -f1
	p.tu -= f1 * perU1 * v
	work, perEnergy := f2*thin2*w, f2*perU2*w
	p.tz += work
	p.kz += work
	p.tw, p.kw = -f2, -f2
	p.tk -= perEnergy
	p.kk -= perEnergy
}

// finite tells whether all rates are numbers.
func (p *point) finite() bool {
	sum := p.v + p.m1 + p.u1 + p.m2 + p.u2 + p.w + p.heat + p.drag
	return sum-sum == 0
}
