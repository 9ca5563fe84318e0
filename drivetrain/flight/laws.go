package flight

import "math"

// laws are the equations of a gun in a mode, as the inner loop wants them.
type laws struct {
	nozzle, leak, front float64 // squares of effective areas [m4]

	pressure, enthalpy float64 // of the air around [Pa], [J/kg]
	air                float64 // p·ρ of it

	area1, dead, area2, breech float64 // V1 = area1·x + dead, V2 = area2·z + breech

	perMoving, perPellet float64 // one over the masses, 0 for what rests [1/kg]
	rate, preload, drag  float64
	hold                 float64 // on the pellet: brake and air around [N]

	full bool // there is more than equations E1 to E5
	more
	times [5]moment // of the stages
	extra extra     // of the last evaluation
}

// more is what D11, D12, E8 and E9 want to know.
type more struct {
	waves     bool
	impedance float64 // Z; the spring's force is then Z·v and the push
	seal      float64

	kinetic, inert, column float64
	pellet, length         float64
	stirred, brisk         bool
	rough, ahead           bool
	// Friction is behind the pellet roughly·z·√√(ρ³·μ)·w^1.75, or roughly·z·μ·w if smooth,
	// in front of it tearing·(L − z)·w^1.75, or ·w.
	roughly, tearing float64

	warm1, warm2 float64
	around       float64 // temperature of the walls [K]
	wall1        float64 // area of the cylinder's walls but for bare·x [m2]
	bare         float64 // their area per travel [m]
	perBore      float64 // 1/Ab [1/m2]
	start        float64 // Vb0/Ab [m]
	entry        float64 // D^(2/3)
	bore2        float64 // D [m]
	// Of a step's start: 1/length behind the pellet and its root, the Reynolds number at
	// the wall and its logarithm.
	perLength, rooted float64
	re, logRe         float64
}

// moment is what equations read of a time.
type moment struct {
	push  float64 // of the spring [N]
	layer float64 // √(cp/(π·t)), and the factor on it
}

// extra is what is summed up beside heat and drag.
type extra struct {
	walls, surge, column float64 // [W]
}

// The constants of Sutherland's formula, gathered: c·T^1.5/(T + S).
var (
	viscosityC    = viscosityAt0 * (freezing + viscosityS) / (freezing * math.Sqrt(freezing))
	conductivityC = conductivityAt0 * (freezing + conductivityS) / (freezing * math.Sqrt(freezing))
	prandtlC      = cp * viscosityC / conductivityC // Pr = c·(T + 194)/(T + 110.4)
)

// follow takes over a gun in a mode.
func (o *laws) follow(g *gun, m *mode) {
	*o = laws{
		nozzle: g.nozzle * g.nozzle, leak: m.leak * m.leak, front: m.front * m.front,
		pressure: g.pressure, enthalpy: g.enthalpy, air: g.jet * g.jet,
		area1: g.piston, dead: g.dead, area2: g.bore, breech: g.breech,
		rate: g.rate, preload: g.preload, drag: g.drag,
		hold: m.brake + g.pressure*g.bore,
	}
	if !m.seated {
		o.perMoving = 1 / g.moving
	}
	if m.pellet == sliding {
		o.perPellet = 1 / g.pellet
	}
	o.full = !g.plain()
	if !o.full {
		return
	}
	o.more = more{
		waves: g.impedance > 0, impedance: g.impedance, seal: g.seal,
		kinetic: g.kinetic, inert: g.inert, column: g.column, pellet: g.pellet, length: g.length,
		stirred: m.stirred, brisk: m.brisk && g.pipe, rough: m.rough, ahead: m.ahead,
		warm1: g.warm1, warm2: g.warm2, around: g.temperature,
		perBore: 1 / g.bore, start: g.breech / g.bore, bore2: g.bore2,
	}
	if g.warm1 > 0 {
		o.wall1 = 2*g.piston + 4*g.dead/g.bore1
		o.bare = math.Pi * g.bore1
	}
	if g.warm2 > 0 {
		o.entry = math.Cbrt(g.bore2 * g.bore2)
	}
	if m.pellet == out {
		o.warm2 = 0
	}
	if o.brisk {
		d, density, viscosity := g.bore2, g.density(), Viscosity(g.temperature)
		o.roughly, o.tearing = 16*g.bore/(d*d), 32*viscosity*g.bore/(d*d)
		if m.rough {
			o.roughly = 0.0791 * g.bore / (d * math.Sqrt(math.Sqrt(d)))
		}
		if m.ahead {
			o.tearing = 0.1582 * g.bore / (d * math.Sqrt(math.Sqrt(d))) * math.Sqrt(math.Sqrt(density*density*density*viscosity))
		}
	}
}

// layer is what the cylinder's walls read of a time.
func (o *laws) layer(t float64) float64 {
	if o.warm1 == 0 {
		return 0
	}
	return o.warm1 * math.Sqrt(cp/math.Pi/max(t, thinLayer))
}

// rates is equations E1 to E5, as [mode.derive], for the stages of a step. Who rests
// has no speed.
func (o *laws) rates(stage int, x, v, m1, u1, m2, u2, z, w float64) (dv, dm1, du1, dm2, du2, dw, heat, drag float64) {
	if o.full {
		return o.whole(&o.times[stage], x, v, m1, u1, m2, u2, z, w)
	}
	V1, V2 := o.area1*x+o.dead, o.area2*z+o.breech
	a1, a2 := (Gamma-1)*u1, (Gamma-1)*u2

	// Upstream of nozzle, leak and front stands the first or the second side.
	var rn, rl, rf float64
	c1, c2 := a1*V2, a2*V1 // as p1 to p2, without waiting for a quotient
	b1, b2 := o.pressure*V1, o.pressure*V2
	forwards, outwards, onwards := c1 >= c2, a1 >= b1, a2 >= b2
	if forwards {
		rn = c2 / c1
	} else {
		rn = c1 / c2
	}
	if outwards {
		rl = b1 / a1
	} else {
		rl = a1 / b1
	}
	if onwards {
		rf = b2 / a2
	} else {
		rf = a2 / b2
	}
	per1, per2 := 1/V1, 1/V2
	under1, jet, under2, lost, under3, front := throats(rn, rl, rf)
	q1, q2 := a1*m1, a2*m2 // √(p·ρ) is their root by the volume
	h1, h2 := Gamma*u1/m1, Gamma*u2/m2

	var jetHeat, lostHeat, frontHeat float64
	if forwards {
		jet *= per1 * math.Sqrt(o.nozzle*q1*under1)
		jetHeat = jet * h1
	} else {
		jet *= -per2 * math.Sqrt(o.nozzle*q2*under1)
		jetHeat = jet * h2
	}
	if outwards {
		lost *= per1 * math.Sqrt(o.leak*q1*under2)
		lostHeat = lost * h1
	} else {
		lost *= -math.Sqrt(o.leak * o.air * under2)
		lostHeat = lost * o.enthalpy
	}
	if onwards {
		front *= per2 * math.Sqrt(o.front*q2*under3)
		frontHeat = front * h2
	} else {
		front *= -math.Sqrt(o.front * o.air * under3)
		frontHeat = front * o.enthalpy
	}
	p1, p2 := a1*per1, a2*per2
	f1, f2 := p1*o.area1, p2*o.area2
	dm1, dm2 = -jet-lost, jet-front
	du1, du2 = -jetHeat-(lostHeat+f1*v), jetHeat-(frontHeat+f2*w)
	grip := o.drag
	if v < -20*creep {
		grip = -grip
	} else if v <= 20*creep {
		grip *= sense(v)
	}
	drag = grip * v
	dv = (f1 - o.pressure*o.area1 - o.rate*(o.preload+x) - grip) * o.perMoving
	dw = (f2 - o.hold) * o.perPellet
	return dv, dm1, du1, dm2, du2, dw, lostHeat + frontHeat, drag
}

// whole is rates with what D11, D12, E8 and E9 add, at a moment.
func (o *laws) whole(now *moment, x, v, m1, u1, m2, u2, z, w float64) (dv, dm1, du1, dm2, du2, dw, heat, drag float64) {
	V1, V2 := o.area1*x+o.dead, o.area2*z+o.breech
	a1, a2 := (Gamma-1)*u1, (Gamma-1)*(u2-o.kinetic/2*m2*w*w)

	var rn, rl, rf float64
	c1, c2 := a1*V2, a2*V1
	b1, b2 := o.pressure*V1, o.pressure*V2
	forwards, outwards, onwards := c1 >= c2, a1 >= b1, a2 >= b2
	if forwards {
		rn = c2 / c1
	} else {
		rn = c1 / c2
	}
	if outwards {
		rl = b1 / a1
	} else {
		rl = a1 / b1
	}
	if onwards {
		rf = b2 / a2
	} else {
		rf = a2 / b2
	}
	per1, per2 := 1/V1, 1/V2
	under1, jet, under2, lost, under3, front := throats(rn, rl, rf)
	q1, q2 := a1*m1, a2*m2
	t1, t2 := a1/(m1*GasConstant), a2/(m2*GasConstant)

	var jetHeat, lostHeat, frontHeat float64
	if forwards {
		jet *= per1 * math.Sqrt(o.nozzle*q1*under1)
		jetHeat = jet * cp * t1
	} else {
		jet *= -per2 * math.Sqrt(o.nozzle*q2*under1)
		jetHeat = jet * cp * t2
	}
	if outwards {
		lost *= per1 * math.Sqrt(o.leak*q1*under2)
		lostHeat = lost * cp * t1
	} else {
		lost *= -math.Sqrt(o.leak * o.air * under2)
		lostHeat = lost * o.enthalpy
	}
	if onwards {
		front *= per2 * math.Sqrt(o.front*q2*under3)
		frontHeat = front * cp * t2
	} else {
		front *= -math.Sqrt(o.front * o.air * under3)
		frontHeat = front * o.enthalpy
	}
	p1, p2 := a1*per1, a2*per2
	f1, f2 := p1*o.area1, p2*o.area2
	d2 := m2 * per2

	var walls1, walls2 float64
	if o.warm1 > 0 {
		film := (t1 + o.around) / 2
		walls1 = now.layer * math.Sqrt(conductivityC*film*math.Sqrt(film)/(film+conductivityS)*m1*per1) * (o.wall1 + o.bare*x) * (t1 - o.around)
	}
	if o.warm2 > 0 {
		film := (t2 + o.around) / 2
		power := film * math.Sqrt(film)
		var coefficient float64 // Nu·λ
		if o.stirred {
			// As stirredNu, with Pr·λ = cp·μ.
			half := o.bore2 / 2 * (d2*w + math.Abs(jet)*o.perBore)
			perS := 1 / (film + viscosityS)
			mu := viscosityC * power * perS
			// ln Re by its series about that of the step's start: no call, and good to 1e-15
			// where a tenth lies between.
			var log float64
			if s := (half - mu*o.re) / (half + mu*o.re); s < 0.05 && s > -0.05 {
				s2 := s * s
				log = o.logRe + 2*s*((1+s2*(1./3))+(1./5+s2*(1./7)+s2*s2*(1./9))*(s2*s2))
			} else {
				log = math.Log(half / mu)
			}
			g := 0.790*log - 1.64
			P := prandtlP * twoThirds((film+conductivityS)*perS)
			coefficient = cp * (half - 1000*mu) / (g * (8*g + gnielinskiB*(P-1)))
		} else {
			coefficient = laminarNu * conductivityC * power / (film + conductivityS)
		}
		// D^(2/3)·∛length by the binomial series about that of the step's start, good to
		// 1e-12.
		length := z + o.start
		var root float64
		if d := length*o.perLength - 1; d < 0.04 && d > -0.04 {
			d2 := d * d
			root = o.rooted * ((1 + root1*d) + (root2+root3*d)*d2 + ((root4+root5*d)+(root6+root7*d)*d2)*(d2*d2))
		} else {
			root = o.entry * math.Cbrt(length)
		}
		walls2 = o.warm2 * math.Pi * coefficient * (length + root) * (t2 - o.around)
	}

	push := (f1 - o.pressure*o.area1)
	spring := o.rate * (o.preload + x)
	if o.waves {
		static := spring
		spring = now.push + o.impedance*v
		o.extra.surge = (spring - static) * v
	}
	force := o.drag
	if p1 > o.pressure {
		force += o.seal * (p1 - o.pressure)
	}
	grip := force
	if v < -20*creep {
		grip = -force
	} else if v <= 20*creep {
		grip = force * sense(v)
	}
	drag = grip * v
	dv = (push - spring - grip) * o.perMoving

	base := f2
	if o.perPellet > 0 {
		ahead := o.column * (o.length - z)
		grind := 0.
		if o.brisk {
			quarter := 0.
			if o.rough || o.ahead {
				root := math.Sqrt(w)
				quarter = w * root * math.Sqrt(root)
			}
			grind = o.grindBehind(z, w, quarter, d2, t2) + o.grindAhead(z, w, quarter)
		}
		dw = (f2 - o.hold - grind) / (o.pellet + o.inert*m2 + ahead)
		base -= o.inert * m2 * dw
		o.extra.column = (ahead*dw + grind) * w
	} else {
		o.extra.column = 0
	}
	o.extra.walls = walls1 + walls2
	dm1, dm2 = -jet-lost, jet-front
	du1, du2 = -jetHeat-(lostHeat+f1*v)-walls1, jetHeat-(frontHeat+base*w)-walls2
	return dv, dm1, du1, dm2, du2, dw, lostHeat + frontHeat, drag
}

// The binomial series of a cube root.
const (
	root1 = 1. / 3
	root2 = root1 * (1./3 - 1) / 2
	root3 = root2 * (1./3 - 2) / 3
	root4 = root3 * (1./3 - 3) / 4
	root5 = root4 * (1./3 - 4) / 5
	root6 = root5 * (1./3 - 5) / 6
	root7 = root6 * (1./3 - 6) / 7
)

// grindBehind is the friction of the air behind the pellet, of a density and a
// temperature, with w^1.75, and grindAhead that of the air in front.
func (o *laws) grindBehind(z, w, quarter, density, T float64) float64 {
	mu := viscosityC * T * math.Sqrt(T) / (T + viscosityS)
	if o.rough {
		return o.roughly * z * quarter * math.Sqrt(math.Sqrt(density*density*density*mu))
	}
	return o.roughly * z * w * mu
}

func (o *laws) grindAhead(z, w, quarter float64) float64 {
	if o.ahead {
		return o.tearing * (o.length - z) * quarter
	}
	return o.tearing * (o.length - z) * w
}

// stirredNu is Gnielinski's Nusselt number at a Reynolds number, with its logarithm, and
// at a Prandtl number over prandtlC, and its derivatives by both.
func stirredNu(re, logRe, share float64) (nu, byRe, byShare float64) {
	// With g = 0.790·ln Re − 1.64 and P = Pr^(2/3) it is
	//
	//	(Re − 1000)·Pr/(8·g² + 12.7·√8·g·(P − 1))
	const b = gnielinskiB
	g := 0.790*logRe - 1.64
	P := prandtlP * twoThirds(share)
	pr := prandtlC * share
	per := 1 / (g * (8*g + b*(P-1)))
	nu = (re - 1000) * pr * per
	byRe = (pr - nu*(16*g+b*(P-1))*0.790/re) * per
	byShare = nu/share - nu*b*g*(2./3)*P/share*per
	return nu, byRe, byShare
}

const gnielinskiB = 12.7 * 2 * math.Sqrt2

var prandtlP = math.Pow(prandtlC, 2./3)

// twoThirds is q^(2/3) for q from 1 to 1.5, which (T + 194)/(T + 110.4) lies in above
// 60 K: the binomial series about 1.2, good to 1e-15 from 1.1 to 1.3, to 1e-9 at the
// ends.
func twoThirds(q float64) float64 {
	const (
		c1 = 2. / 3
		c2 = c1 * (2./3 - 1) / 2
		c3 = c2 * (2./3 - 2) / 3
		c4 = c3 * (2./3 - 3) / 4
		c5 = c4 * (2./3 - 4) / 5
		c6 = c5 * (2./3 - 5) / 6
		c7 = c6 * (2./3 - 6) / 7
		c8 = c7 * (2./3 - 7) / 8
		c9 = c8 * (2./3 - 8) / 9
	)
	d := q*(1/1.2) - 1
	d2 := d * d
	d4 := d2 * d2
	return twoThirdsMiddle * ((1 + c1*d) + (c2+c3*d)*d2 + ((c4+c5*d)+(c6+c7*d)*d2)*d4 + (c8+c9*d)*(d4*d4))
}

const twoThirdsMiddle = 1.1292432346572331 // 1.2^(2/3)
