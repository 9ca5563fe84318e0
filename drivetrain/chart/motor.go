package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"example.org/ampstroke/motor"
)

// Named is a motor's characteristic with the name it goes by.
type Named struct {
	Name string
	motor.Characteristic
}

// Motor draws what motors do on a constant voltage: speed, current, power at the
// shaft and efficiency over the torque at the shaft. Of one motor, the points of
// no load, best efficiency, most power and stall are named; of several, they are
// marked and the figures stand in the legend. A motor that doesn't turn has no
// lines. The error is [ErrNothing] of no motor at all.
func Motor(motors ...Named) (*Picture, error) {
	if len(motors) == 0 {
		return nil, nothing("there is no motor")
	}
	return motorStack(motors).picture(19*vg.Centimeter, 21*vg.Centimeter+legendLine*vg.Length(len(motors))), nil
}

// motorStack is what Motor draws.
func motorStack(motors []Named) *stack {
	s := &stack{
		title:    several(len(motors), func(i int) string { return motors[i].Name }),
		subtitle: "motor on a constant voltage at its terminals, without pack and leads",
		axis:     "torque at the shaft, mN m",
		panels: []panel{
			{label: "speed, 1000 rpm", least: 0, span: 1},
			{label: "current, A", least: 0, span: 1},
			{label: "power at the shaft, W", least: 0, span: 1},
			{label: "efficiency, %", least: 0, span: 10},
		},
		column: true,
	}
	for i, m := range motors {
		style := series(i, entry(numbered(i, len(motors)), m.Name, fmt.Sprintf(", %.2f V: %s", m.Voltage, described(&m.Characteristic))))
		s.legend = append(s.legend, style)
		lines := make([]plotter.XYs, len(s.panels))
		for _, p := range m.Sample(nil, 400) {
			for k, y := range carried(p) {
				lines[k] = append(lines[k], plotter.XY{X: 1e3 * p.Torque, Y: y})
			}
		}
		for k, xy := range lines {
			s.panels[k].lines = append(s.panels[k].lines, course{xy, style})
		}
		if math.IsNaN(m.NoLoad.Speed) {
			continue
		}
		s.hi = max(s.hi, 1e3*m.Stall.Torque)
		for _, n := range []struct {
			panel int
			at    motor.Point
			name  string
			left  bool
		}{
			{0, m.NoLoad, fmt.Sprintf("no load %.0f rpm, %.1f A", rpm(m.NoLoad.Speed), m.NoLoad.Current), false},
			{1, m.Stall, fmt.Sprintf("stall %.1f A", m.Stall.Current), true},
			{2, m.Strongest, fmt.Sprintf("most power %.0f W, %.1f A", m.Strongest.Output, m.Strongest.Current), false},
			{3, m.Best, fmt.Sprintf("best %.0f %%, %.1f A", 100*m.Best.Efficiency, m.Best.Current), false},
		} {
			if len(motors) > 1 {
				n.name = ""
			}
			s.panels[n.panel].points = append(s.panels[n.panel].points, mark{x: 1e3 * n.at.Torque, y: carried(n.at)[n.panel], name: n.name, left: n.left})
		}
	}
	if s.hi <= 0 {
		s.hi = 1
	}
	s.hi *= 1.02
	return s
}

// carried is what the panels of a motor show of a point.
func carried(p motor.Point) [4]float64 {
	return [4]float64{thousandRPM(p.Speed), p.Current, p.Output, 100 * p.Efficiency}
}

// rpm is a speed in revolutions a minute, to the nearest ten.
func rpm(speed float64) float64 { return 10 * math.Round(100*thousandRPM(speed)) }

func described(h *motor.Characteristic) string {
	if math.IsNaN(h.NoLoad.Speed) {
		return "does not turn"
	}
	return fmt.Sprintf("%.0f rpm without load, best %.0f %%, most %.0f W, stall %.1f A",
		rpm(h.NoLoad.Speed), 100*h.Best.Efficiency, h.Strongest.Output, h.Stall.Current)
}
