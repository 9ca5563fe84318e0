package ode

import "math"

// The constants of the step control are those of Hairer's codes DOPRI5 and RODAS,
// from memory, but that RODAS lets a step grow by 6.
const (
	controlBeta   = 0.04 // weight of the last step's error
	controlSafety = 0.9
	controlShrink = 0.2 // least factor from a step to the next
	controlGrow   = 10  // largest factor
	controlFloor  = 1e-4
	faultShrink   = 0.1 // after a value that is not finite

	predictiveFloor = 1e-2
)

// control chooses steps from errors in units of the tolerance, after E. Hairer and
// G. Wanner, Solving Ordinary Differential Equations II, 2nd ed.: a PI controller
// (IV.2), or the predictive controller of K. Gustafsson (IV.8), which expects the
// error of the same step to go on changing as it did from the last step to this.
type control struct {
	order      float64 // power of the step in the error estimate
	predictive bool
	last       float64 // error of the last accepted step
	h          float64 // its length, 0 if there is none
	rejected   bool    // the last trial was rejected
}

func (c *control) reset(order int, predictive bool) {
	*c = control{order: float64(order), predictive: predictive, last: controlFloor}
}

// accept returns the factor from the accepted step of length h to the next.
func (c *control) accept(h, err float64) float64 {
	var factor float64
	floor := controlFloor
	if c.predictive {
		floor = predictiveFloor
		factor = controlSafety / c.root(err)
		if c.h > 0 {
			factor = min(factor, controlSafety*h/c.h*c.root(c.last/err/err))
		}
	} else {
		factor = controlSafety * math.Pow(c.last, controlBeta) / math.Pow(err, c.power())
	}
	factor = max(controlShrink, min(controlGrow, factor))
	if c.rejected {
		factor = min(1, factor)
	}
	c.last, c.h = max(err, floor), h
	c.rejected = false
	return factor
}

// power is that of the error in the PI controller.
func (c *control) power() float64 { return 1/c.order - 0.75*controlBeta }

// root returns the step that changes the error by x. The second case is for speed.
func (c *control) root(x float64) float64 {
	if c.order != 4 {
		return math.Pow(x, 1/c.order)
	}
	return math.Sqrt(math.Sqrt(x))
}

// reject returns the factor from the rejected step to the next trial.
func (c *control) reject(err float64) float64 {
	c.rejected = true
	if c.predictive {
		return max(controlShrink, controlSafety/c.root(err))
	}
	return max(controlShrink, controlSafety/math.Pow(err, c.power()))
}

// norm returns the largest error in units of its component's tolerance.
func (s *Solver) norm(err, y0, y1 []float64) float64 {
	var largest float64
	for i, e := range err {
		largest = max(largest, s.scaled(i, e, y0[i], y1[i]))
	}
	return largest
}

// scaled returns an error of component i in units of its tolerance.
func (s *Solver) scaled(i int, err, y0, y1 float64) float64 {
	return math.Abs(err) / (s.set.AbsTol[i] + s.set.RelTol*max(math.Abs(y0), math.Abs(y1)))
}

// firstStep estimates the first step from the size of the state, of its slope and
// of the slope's change, after E. Hairer, S. P. Nørsett and G. Wanner, Solving
// Ordinary Differential Equations I, 2nd ed., II.4, from memory. The slope at the
// start is known.
func (s *Solver) firstStep() float64 {
	rest := s.prob.T1 - s.from.t
	longest := rest
	if s.set.MaxStep > 0 {
		longest = min(rest, s.set.MaxStep)
	}
	if s.set.InitialStep > 0 {
		return min(longest, s.set.InitialStep)
	}
	y, slope := s.from.y, s.from.slope
	d0, d1 := s.norm(y, y, y), s.norm(slope, y, y)
	h := 1e-6 * rest
	if d0 > 1e-5 && d1 > 1e-5 {
		h = 0.01 * d0 / d1
	}
	h = min(h, longest)
	t1 := min(s.from.t+h, s.prob.T1)
	h = t1 - s.from.t
	if !(h > 0) {
		return min(longest, 100*ulp(s.from.t))
	}
	for i := range y {
		s.to.y[i] = y[i] + h*slope[i]
	}
	if !s.rhs.eval(s.to.slope, t1, s.to.y) {
		return h
	}
	for i := range slope {
		s.to.err[i] = (s.to.slope[i] - slope[i]) / h
	}
	d2 := s.norm(s.to.err, y, y)
	var next float64
	if steepest := max(d1, d2); steepest > 1e-15 {
		next = math.Pow(0.01/steepest, 1/s.control.order)
	} else {
		next = max(1e-6*rest, 1e-3*h)
	}
	return min(100*h, next, longest)
}
