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
	put := func(row int, of ...entry) {
		for _, v := range of {
			f[row*states+v.column] = v.slope
		}
	}
	// Rows s and t are sums over both volumes.
	put(mass1, entry{travel, p.sx - p.nx}, entry{mass1, p.sm - p.nm}, entry{energy1, p.su - p.nu},
		entry{along, p.sz - p.nz}, entry{mass2, p.sn - p.nn}, entry{energy2, p.sk - p.nk}, entry{fast, p.sw - p.nw})
	put(energy1, entry{travel, p.tx - p.kx}, entry{speed, p.tv}, entry{mass1, p.tm - p.km}, entry{energy1, p.tu - p.ku},
		entry{along, p.tz - p.kz}, entry{mass2, p.tn - p.kn}, entry{energy2, p.tk - p.kk}, entry{fast, p.tw - p.kw}, entry{clock, p.in.u1})
	put(mass2, entry{travel, p.nx}, entry{mass1, p.nm}, entry{energy1, p.nu},
		entry{along, p.nz}, entry{mass2, p.nn}, entry{energy2, p.nk}, entry{fast, p.nw})
	put(energy2, entry{travel, p.kx}, entry{mass1, p.km}, entry{energy1, p.ku},
		entry{along, p.kz}, entry{mass2, p.kn}, entry{energy2, p.kk}, entry{fast, p.kw})
	put(sumEnthalpy, entry{travel, p.ex}, entry{mass1, p.em}, entry{energy1, p.eu},
		entry{along, p.ez}, entry{mass2, p.en}, entry{energy2, p.ek}, entry{fast, p.ew})
	put(sumWalls, entry{travel, p.hx}, entry{mass1, p.hm}, entry{energy1, p.hu},
		entry{along, p.hz}, entry{mass2, p.hn}, entry{energy2, p.hk}, entry{fast, p.hw}, entry{clock, p.in.walls})
	if m.seated { // who rests has no speed
		f[energy1*states+speed] = 0
	} else {
		put(travel, entry{speed, 1})
		put(speed, entry{travel, p.vx}, entry{speed, p.vv}, entry{energy1, p.vu}, entry{clock, p.in.v})
		put(sumDrag, entry{travel, p.dragX}, entry{speed, p.dragV}, entry{energy1, p.dragU})
		put(sumSurge, entry{travel, p.fx}, entry{speed, p.fv}, entry{clock, p.in.surge})
	}
	if m.pellet == sliding {
		put(along, entry{fast, 1})
		put(fast, entry{along, p.wz}, entry{fast, p.ww}, entry{mass2, p.wn}, entry{energy2, p.wk})
		put(sumColumn, entry{along, p.cz}, entry{fast, p.cw}, entry{mass2, p.cn}, entry{energy2, p.ck})
	} else {
		for i := range states {
			f[i*states+fast] = 0
		}
	}
}

// entry is one of a row of the Jacobian.
type entry struct {
	column int
	slope  float64
}
