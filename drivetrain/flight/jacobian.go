package flight

// jacobian writes the derivatives of derive by the states to the zeroed f, row by
// row, without those by the passive states. They are those that [Flyer] steps with, so
// that what holds them against differences of derive holds both.
func (m *mode) jacobian(g *gun, e *echo, f, y []float64) {
	var p point
	s := stepper{echo: e}
	s.follow(g, m)
	copy(p.y[:], y)
	if m.seated {
		p.y[speed] = 0
	}
	if m.pellet != sliding {
		p.y[fast] = 0
	}
	s.begin(&p)
	row := func(i int, v map[int]float64) {
		for j, d := range v {
			f[i*states+j] = d
		}
	}
	// Rows s and t are sums over both volumes.
	row(mass1, map[int]float64{travel: p.sx - p.nx, mass1: p.sm - p.nm, energy1: p.su - p.nu, along: p.sz - p.nz, mass2: p.sn - p.nn, energy2: p.sk - p.nk, fast: p.sw - p.nw})
	row(energy1, map[int]float64{travel: p.tx - p.kx, speed: p.tv, mass1: p.tm - p.km, energy1: p.tu - p.ku, along: p.tz - p.kz, mass2: p.tn - p.kn, energy2: p.tk - p.kk, fast: p.tw - p.kw, clock: p.in.u1})
	row(mass2, map[int]float64{travel: p.nx, mass1: p.nm, energy1: p.nu, along: p.nz, mass2: p.nn, energy2: p.nk, fast: p.nw})
	row(energy2, map[int]float64{travel: p.kx, mass1: p.km, energy1: p.ku, along: p.kz, mass2: p.kn, energy2: p.kk, fast: p.kw})
	row(sumEnthalpy, map[int]float64{travel: p.ex, mass1: p.em, energy1: p.eu, along: p.ez, mass2: p.en, energy2: p.ek, fast: p.ew})
	row(sumWalls, map[int]float64{travel: p.hx, mass1: p.hm, energy1: p.hu, along: p.hz, mass2: p.hn, energy2: p.hk, fast: p.hw, clock: p.in.walls})
	if m.seated {
		f[energy1*states+speed] = 0
	}
	if m.pellet != sliding {
		for i := range states {
			f[i*states+fast] = 0
		}
	}
	if !m.seated {
		row(travel, map[int]float64{speed: 1})
		row(speed, map[int]float64{travel: p.vx, speed: p.vv, energy1: p.vu, clock: p.in.v})
		row(sumDrag, map[int]float64{travel: p.dragX, speed: p.dragV, energy1: p.dragU})
		row(sumSpring, map[int]float64{speed: p.fv, clock: p.in.spring})
	}
	if m.pellet == sliding {
		row(along, map[int]float64{fast: 1})
		row(fast, map[int]float64{along: p.wz, fast: p.ww, mass2: p.wn, energy2: p.wk})
		row(sumColumn, map[int]float64{along: p.cz, fast: p.cw, mass2: p.cn, energy2: p.ck})
	}
}
