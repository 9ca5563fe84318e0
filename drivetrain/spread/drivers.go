package spread

import "math"

// drive finds out what each input does to each output. Of the first points of each
// replicate's net, A is the draw itself and B its partner, made of the other half of the
// coordinates; C is A with some inputs of B.
func (a *Analysis) drive(work *labour, split bool, within int) error {
	d, k, m := len(a.inputs), a.Settings.Outputs, a.Settings.Drivers
	a.b = make([]float64, m*k)
	if err := work.do(a.b, d, m, func(x []float64, i int) { a.exchange(x, i, func(int) bool { return true }) }); err != nil {
		return err
	}
	c := make([]float64, m*k)
	joint := make([]float64, k)
	drivers := make([][]Driver, k)
	for j := range joint {
		joint[j] = 1
	}
	for i := range d {
		if err := work.do(c, d, m, func(x []float64, p int) { a.exchange(x, p, func(input int) bool { return input == i }) }); err != nil {
			return err
		}
		for j := range a.Outputs {
			drivers[j] = append(drivers[j], Driver{
				First: a.over(m/a.Settings.Replicates, func(from, to int) float64 { return a.compare(c, j, from, to).first() }),
				Total: a.over(m/a.Settings.Replicates, func(from, to int) float64 { return a.compare(c, j, from, to).total() }),
			})
			joint[j] = min(joint[j], float64(a.compare(c, j, 0, m).pairs)/float64(m))
		}
		if split && within == 1 && a.Settings.Within[0] == i { // the inputs of a shot are this one
			a.divide(c)
		}
	}
	for j := range a.Outputs {
		if o := &a.Outputs[j]; joint[j] >= leastJoint && !math.IsNaN(drivers[j][0].Total.Value) {
			o.Drivers = drivers[j]
		}
	}
	if !split || within == 1 {
		return nil
	}
	shot := make([]bool, d)
	for _, i := range a.Settings.Within {
		shot[i] = true
	}
	if err := work.do(c, d, m, func(x []float64, p int) { a.exchange(x, p, func(input int) bool { return shot[input] }) }); err != nil {
		return err
	}
	a.divide(c)
	return nil
}

// divide parts each output's variance into that within one of a kind and that between
// them; c has the outputs where the inputs that vary within are drawn anew.
func (a *Analysis) divide(c []float64) {
	for j := range a.Outputs {
		o := &a.Outputs[j]
		part := func(of func(s *sums) float64) Estimate {
			return a.over(a.Settings.Drivers/a.Settings.Replicates, func(from, to int) float64 {
				s := a.compare(c, j, from, to)
				return of(s)
			})
		}
		within, between := part((*sums).within), part((*sums).between)
		if all := a.compare(c, j, 0, a.Settings.Drivers); float64(all.pairs) >= leastJoint*float64(a.Settings.Drivers) {
			o.WithinSD, o.BetweenSD = within, between
		}
	}
}

// exchange fills x with the inputs of a driver's point, those that other tells from its
// partner.
func (a *Analysis) exchange(x []float64, i int, other func(input int) bool) {
	each := a.Settings.Drivers / a.Settings.Replicates
	n, p := a.nets[i/each], i%each
	for k, in := range a.inputs {
		from := k
		if other(k) {
			from += len(a.inputs)
		}
		n.point(x[k:k+1], p, from)
		x[k] = in.Quantile(x[k])
	}
}

// sums is what drivers are reckoned from.
type sums struct {
	moments         // of A and B
	pairs   int     // points at which A, B and C exist
	squares float64 // of A − C
	product float64 // of B − the mean and C − A
}

// compare sums up an output over driver's points, where A, B and C exist.
func (a *Analysis) compare(c []float64, j, from, to int) *sums {
	var s sums
	k, each := a.Settings.Outputs, a.Settings.Drivers/a.Settings.Replicates
	visit := func(do func(fa, fb, fc float64)) {
		for p := from; p < to; p++ {
			fa, fb, fc := a.a[(p/each*a.points+p%each)*k+j], a.b[p*k+j], c[p*k+j]
			if !math.IsNaN(fa) && !math.IsNaN(fb) && !math.IsNaN(fc) {
				do(fa, fb, fc)
			}
		}
	}
	visit(func(fa, fb, fc float64) {
		s.add(fa)
		s.add(fb)
	})
	visit(func(fa, fb, fc float64) {
		s.squares += (fa - fc) * (fa - fc)
		s.product += (fb - s.mean) * (fc - fa)
	})
	s.pairs = s.n / 2
	return &s
}

// first is the share of variance that the input has by itself.
func (s *sums) first() float64 {
	if !varies(&s.moments) {
		return math.NaN()
	}
	return s.product / float64(s.pairs) / s.variance()
}

// total is the share of variance that the input has a hand in.
func (s *sums) total() float64 {
	if !varies(&s.moments) {
		return math.NaN()
	}
	return s.squares / float64(2*s.pairs) / s.variance()
}

// within is the standard deviation that the exchanged inputs make.
func (s *sums) within() float64 { return math.Sqrt(min(s.total(), 1) * s.variance()) }

// between is the standard deviation that is left without them.
func (s *sums) between() float64 { return math.Sqrt(max(1-s.total(), 0) * s.variance()) }
