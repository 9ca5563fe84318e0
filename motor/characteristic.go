package motor

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Point is a motor that carries a steady load.
type Point struct {
	// Torque is that at the shaft, drag taken off [N m].
	Torque float64
	// Speed is that of the shaft [rad/s].
	Speed float64
	// Current is what the motor draws [A].
	Current float64
	// Input is the electrical power [W].
	Input float64
	// Output is the mechanical power at the shaft [W].
	Output float64
	// Efficiency is Output over Input [1].
	Efficiency float64
}

// Characteristic is what a motor does on a constant voltage, from no load to
// standstill.
type Characteristic struct {
	constants Constants
	// Voltage is that at the terminals [V].
	Voltage float64
	// NoLoad is the motor that turns nothing but itself.
	NoLoad Point
	// Best is the load of the best efficiency.
	Best Point
	// Strongest is the load of the most power at the shaft.
	Strongest Point
	// Stall is the motor just before it stands: its torque is what is left of Kt·I
	// when the drag is taken off.
	Stall Point
}

// Characteristic returns what the motor does on a constant voltage [V] at its
// terminals. A motor that doesn't turn has a stall only; the other points are NaN.
func (c *Constants) Characteristic(voltage float64) Characteristic {
	n := math.NaN()
	none := Point{n, n, n, n, n, n}
	h := Characteristic{constants: *c, Voltage: voltage, NoLoad: none, Best: none, Strongest: none}
	h.Stall = h.At(0)
	top := c.SteadySpeed(0, voltage, 0)
	if math.IsNaN(top) {
		return h
	}
	h.NoLoad = h.At(top)
	h.NoLoad.Torque, h.NoLoad.Output, h.NoLoad.Efficiency = 0, 0, 0
	// Both are hills with one top: the output is a falling line, bent downwards,
	// times the speed, and the efficiency lies below it by what the current takes.
	h.Best = h.At(top * hilltop(func(x float64) float64 { return h.At(x * top).Efficiency }))
	h.Strongest = h.At(top * hilltop(func(x float64) float64 { return h.At(x * top).Output }))
	return h
}

// At returns the load that holds the motor at a speed [rad/s] between 0 and that
// without load. The drag counts at 0 too, as just before the motor stands.
func (h *Characteristic) At(speed float64) Point {
	c := &h.constants
	p := Point{Speed: speed, Current: max(0, c.VoltageLeft(h.Voltage, 0, speed, 1)) / (c.Resistance + c.Commutation*speed)}
	p.Torque = c.TorqueLeft(p.Current, speed, 0)
	p.Input = h.Voltage * p.Current
	p.Output = p.Torque * speed
	p.Efficiency = p.Output / p.Input
	if p.Input == 0 {
		p.Efficiency = 0
	}
	return p
}

// Sample appends n points (two or more) from no load to standstill, at even steps
// of the speed, to dst. A motor that doesn't turn has none.
func (h *Characteristic) Sample(dst []Point, n int) []Point {
	if !quantity.Finite(h.NoLoad.Speed) {
		return dst
	}
	dst = append(dst, h.NoLoad)
	for i := n - 2; i >= 0; i-- {
		dst = append(dst, h.At(h.NoLoad.Speed*float64(i)/float64(n-1)))
	}
	return dst
}

// hilltop returns where in 0 to 1 a function with one maximum has it, by
// golden-section search; the value there is exact to rounding, the place to its
// root.
func hilltop(f func(float64) float64) float64 {
	const golden = 0.6180339887498949
	lo, hi := 0., 1.
	a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
	fa, fb := f(a), f(b)
	for hi-lo > 1e-9 {
		if fa < fb {
			lo, a, fa = a, b, fb
			b = lo + golden*(hi-lo)
			fb = f(b)
		} else {
			hi, b, fb = b, a, fa
			a = hi - golden*(hi-lo)
			fa = f(a)
		}
	}
	return (lo + hi) / 2
}
