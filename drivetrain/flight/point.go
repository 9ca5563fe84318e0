package flight

import "math"

// point is where a step starts: state, what changes it, and the derivatives of
// that.
type point struct {
	y [states]float64
	rates
	partials

	p1, p2 float64         // pressures [Pa]
	r1, r2 float64         // how fast they rise [Pa/s]
	per    [states]float64 // one over what each state's error is measured in

	now moment
	in  in // derivatives by the time alone
	re  reynolds
	// Behind the pellet, 1/length and its root of equation E8.
	perLength, rooted float64
	logRe             float64
	extra
	partialsMore
}

// in are derivatives of rates by the time, of the states' rows and of sums.
type in struct {
	push  float64 // of the spring's push [N/s]
	v, u1 float64
	surge float64
	walls float64
}

// reynolds are the numbers that jumps of the equations are judged by; 0 where they
// don't matter.
type reynolds struct{ wall, behind float64 }

// partialsMore are the derivatives that only D11, D12, E8 and E9 have. Rows and columns
// as in partials; h is the heat to the walls, c the work on the column, f what a spring
// with waves keeps.
type partialsMore struct {
	ww, wn                     float64
	sw, nw, ew                 float64
	hx, hm, hu, hz, hw, hn, hk float64
	cz, cw, cn, ck             float64
	fx, fv                     float64
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

	dragV, dragX, dragU float64 // of the drag's power
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
	if o.full {
		u2 -= o.kinetic / 2 * m2 * w * w // of which column k is at first
	}
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
	jet, jn, jk, jz, jm, ju, jx := p.m2, p.nn, p.nk, p.nz, p.nm, p.nu, p.nx
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
	p.dragX, p.dragU = 0, 0
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
	if !o.full {
		p.r1 = ((Gamma-1)*p.u1 - f1*v) * perV1
		p.r2 = ((Gamma-1)*p.u2 - f2*w) * perV2
		return
	}
	p.partialsMore = partialsMore{}
	p.extra = extra{}
	p.in = in{push: p.in.push}
	p.re = reynolds{}

	// The spring's waves, and the seal pressed on by the air.
	if o.waves || o.seal > 0 {
		spring := o.rate * (o.preload + x)
		slope := o.rate
		if o.waves {
			static := spring
			spring, slope = p.now.push+o.impedance*v, 0
			p.extra.surge = (spring - static) * v
			p.fx = -o.rate * v
			p.fv = spring - static + o.impedance*v
			p.in.v = -p.in.push * o.perMoving
			p.in.surge = p.in.push * v
		}
		force, pressed := o.drag, 0.
		if p1 > o.pressure {
			pressed = o.seal
			force += pressed * (p1 - o.pressure)
		}
		grip = force * way
		turn = force * (1 - way*way) * (1 / creep)
		p.drag = grip * v
		p.dragV = grip + v*turn
		p.dragX, p.dragU = -pressed*p1*thin1*way*v, pressed*p1*perU1*way*v
		p.v = (f1 - o.pressure*o.area1 - spring - grip) * o.perMoving
		net := p1 * (o.area1 - pressed*way)
		p.vx, p.vv, p.vu = -(net*thin1+slope)*o.perMoving, -(turn+o.impedance)*o.perMoving, net*perU1*o.perMoving
	}

	// The pellet with the air that moves with it: p.w, p.u2 and their slopes by z, w, m2
	// and u2 without its motion.
	t1, t2 := h1*(1/cp), h2*(1/cp)
	d2 := m2 * perV2
	if o.perPellet > 0 {
		ahead := o.column * (o.length - z)
		moving := o.pellet + o.inert*m2 + ahead
		per := 1 / moving
		var grind, gz, gw, gn, gk float64
		mu := viscosityC * t2 * math.Sqrt(t2) / (t2 + viscosityS)
		p.re.behind = d2 * w * o.bore2 / mu
		if o.brisk {
			quarter := 0.
			if o.rough || o.ahead {
				root := math.Sqrt(w)
				quarter = w * root * math.Sqrt(root)
			}
			steep := 1.5 - t2/(t2+viscosityS) // dlnμ/dlnT
			b := o.grindBehind(z, w, quarter, d2, t2)
			if o.rough {
				gz, gw = b*(1/z-0.75*thin2), 1.75*b/w
				gn, gk = b*(0.75-0.25*steep)*perM2, b*0.25*steep*perU2
			} else {
				gz, gw = b/z, b/w
				gn, gk = -b*steep*perM2, b*steep*perU2
			}
			a := o.grindAhead(z, w, quarter)
			if o.ahead {
				gw += 1.75 * a / w
			} else {
				gw += a / w
			}
			gz -= a / (o.length - z)
			grind = a + b
		}
		p.w = (f2 - o.hold - grind) * per
		p.wz = (-f2*thin2 - gz + p.w*o.column) * per
		p.wk = (f2*perU2 - gk) * per
		p.wn = (-gn - p.w*o.inert) * per
		p.ww = -gw * per
		// base = f2 − κm·m2·dw in place of f2.
		less := o.inert * m2
		p.u2 += less * p.w * w
		bz, bk, bn, bw := less*p.wz*w, less*p.wk*w, (less*p.wn+o.inert*p.w)*w, less*(p.ww*w+p.w)
		p.tz, p.kz = p.tz+bz, p.kz+bz
		p.tk, p.kk = p.tk+bk, p.kk+bk
		p.tn, p.kn = p.tn+bn, p.kn+bn
		p.tw, p.kw = p.tw+bw, p.kw+bw
		p.extra.column = (ahead*p.w + grind) * w
		p.cz = (ahead*p.wz - o.column*p.w + gz) * w
		p.ck = (ahead*p.wk + gk) * w
		p.cn = (ahead*p.wn + gn) * w
		p.cw = (ahead*p.ww+gw)*w + ahead*p.w + grind
	}

	if o.warm1 > 0 {
		film := (t1 + o.around) / 2
		area := o.wall1 + o.bare*x
		c := p.now.layer * math.Sqrt(conductivityC*film*math.Sqrt(film)/(film+conductivityS)*m1*perV1)
		q := c * area * (t1 - o.around)
		byT := c*area + q*0.25*(1.5/film-1/(film+conductivityS))
		qx, qm, qu := q*-0.5*thin1+c*(t1-o.around)*o.bare, 0.5*q*perM1-byT*t1*perM1, byT*t1*perU1
		p.extra.walls += q
		p.u1 -= q
		p.hx, p.hm, p.hu = p.hx+qx, p.hm+qm, p.hu+qu
		p.tx, p.tm, p.tu = p.tx-qx, p.tm-qm, p.tu-qu
		if y[clock] > thinLayer {
			p.in.walls = -0.5 * q / y[clock]
			p.in.u1 = -p.in.walls
		}
	}
	if o.warm2 > 0 {
		film := (t2 + o.around) / 2
		power := film * math.Sqrt(film)
		perS := 1 / (film + viscosityS)
		perC := 1 / (film + conductivityS)
		flowing := (d2*w + math.Abs(jet)*o.perBore) / 2
		perMu := o.bore2 / (viscosityC * power * perS)
		re := flowing * perMu
		p.re.wall = re
		length := z + o.start
		root := o.entry * math.Cbrt(length)
		p.perLength, p.rooted = 1/length, root
		c := o.warm2 * math.Pi * conductivityC * power * perC * (length + root) // without Nu and ΔT
		hot := t2 - o.around
		nu := laminarNu
		var byRe, byShare float64
		if o.stirred {
			share := (film + conductivityS) * perS
			p.logRe = math.Log(re)
			nu, byRe, byShare = stirredNu(re, p.logRe, share)
			byShare *= perS - share*perS
		}
		q := c * nu * hot
		// By T2: through the difference, the conductivity, Re and Pr.
		byFlow := c * hot * byRe * perMu / 2
		byT := c*nu + q*0.5*(1.5/film-perC) + c*hot*0.5*(byShare-byRe*re*(1.5/film-perS))
		if jet < 0 {
			jn, jk, jz, jm, ju, jx = -jn, -jk, -jz, -jm, -ju, -jx
		}
		byJet := byFlow * o.perBore
		qz := q*(1+root/(3*length))/(length+root) - byFlow*d2*thin2*w + byJet*jz
		qn := -byT*t2*perM2 + byFlow*perV2*w + byJet*jn
		qk := byT*t2*perU2 + byJet*jk
		qw := byFlow * d2
		qx, qm, qu := byJet*jx, byJet*jm, byJet*ju
		p.extra.walls += q
		p.u2 -= q
		p.hz, p.hn, p.hk, p.hw = qz, qn, qk, qw
		p.hx, p.hm, p.hu = p.hx+qx, p.hm+qm, p.hu+qu
		p.tz, p.tn, p.tk, p.tw = p.tz-qz, p.tn-qn, p.tk-qk, p.tw-qw
		p.tx, p.tm, p.tu = p.tx-qx, p.tm-qm, p.tu-qu
		p.kz, p.kn, p.kk, p.kw = p.kz-qz, p.kn-qn, p.kk-qk, p.kw-qw
		p.kx, p.km, p.ku = p.kx-qx, p.km-qm, p.ku-qu
	}
	p.r1 = ((Gamma-1)*p.u1 - f1*v) * perV1
	p.r2 = ((Gamma-1)*(p.u2-o.kinetic*(0.5*p.m2*w*w+m2*w*p.w)) - f2*w) * perV2

	// From the energy without that of motion to the one with it: U = e + ½·κe·m2·w².
	if o.kinetic > 0 {
		n, k := -o.kinetic/2*w*w, -o.kinetic*m2*w
		p.wn, p.ww = p.wn+n*p.wk, p.ww+k*p.wk
		p.sn, p.sw = p.sn+n*p.sk, p.sw+k*p.sk
		p.tn, p.tw = p.tn+n*p.tk, p.tw+k*p.tk
		p.nn, p.nw = p.nn+n*p.nk, p.nw+k*p.nk
		p.kn, p.kw = p.kn+n*p.kk, p.kw+k*p.kk
		p.en, p.ew = p.en+n*p.ek, p.ew+k*p.ek
		p.hn, p.hw = p.hn+n*p.hk, p.hw+k*p.hk
		p.cn, p.cw = p.cn+n*p.ck, p.cw+k*p.ck
	}
}

// finite tells whether all rates are numbers.
func (p *point) finite() bool {
	sum := p.v + p.m1 + p.u1 + p.m2 + p.u2 + p.w + p.heat + p.drag + p.extra.walls + p.extra.surge + p.extra.column
	return sum-sum == 0
}
