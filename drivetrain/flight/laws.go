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
}

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
}

// rates is equations E1 to E5, as [mode.derive], for the stages of a step. Who rests
// has no speed.
func (o *laws) rates(x, v, m1, u1, m2, u2, z, w float64) (dv, dm1, du1, dm2, du2, dw, heat, drag float64) {
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
	grip := o.drag * sense(v)
	drag = grip * v
	dv = (f1 - o.pressure*o.area1 - o.rate*(o.preload+x) - grip) * o.perMoving
	dw = (f2 - o.hold) * o.perPellet
	return dv, dm1, du1, dm2, du2, dw, lostHeat + frontHeat, drag
}
