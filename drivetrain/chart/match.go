package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/plotter"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
)

// Match draws the muzzle energy over the barrel's length and over the port's
// position, with the build as it stands and the best of each marked. Without either of
// the two the error is [ErrNothing].
func Match(b *drivetrain.Build, m *flight.Match) (*Picture, error) {
	if b == nil || m == nil || len(m.Lengths) == 0 || len(m.Ports) == 0 {
		return nil, nothing("no barrels and ports were tried")
	}
	return pair(match(b, m)), nil
}

// match is what Match draws.
func match(b *drivetrain.Build, m *flight.Match) (top, bottom *stack) {
	top = curve(m.Lengths, "barrel length, mm", moment{x: 1e3 * b.Barrel.Length, name: "as built", style: dashed("")}, m.BestLength)
	top.title = short(b.Name, 50)
	top.subtitle = fmt.Sprintf("%.2f g pellet  ·  swept volume %.1f cm3, barrel %.1f cm3: %.2f to 1  ·  other parts as built",
		1e3*b.Pellet.Mass, 1e6*m.Swept, 1e6*m.Barrel, m.Swept/m.Barrel)
	at := moment{x: 1e3 * b.Cylinder.Port, name: "as built", style: dashed("")}
	if port := b.Cylinder.Port; port == 0 || 1e3*port > 1e3*m.Ports[len(m.Ports)-1].Value {
		at = moment{x: 1e3 * m.Ports[len(m.Ports)-1].Value, name: "as built, no port open", style: dashed("")}
	}
	bottom = curve(m.Ports, "port position, mm ahead of the piston at home", at, m.BestPort)
	return top, bottom
}

func curve(shots []flight.Trial, axis string, built moment, best flight.Trial) *stack {
	style := solid("")
	s := &stack{axis: axis, lo: 1e3 * shots[0].Value, hi: 1e3 * shots[len(shots)-1].Value}
	var xy plotter.XYs
	for _, v := range shots {
		xy = append(xy, plotter.XY{X: 1e3 * v.Value, Y: v.Energy})
	}
	s.panels = []panel{{
		label: "muzzle energy, J", least: 0, span: 0.01, lines: []course{{xy, style}},
	}}
	if math.IsNaN(best.Energy) {
		s.panels[0].note = noPellet
	}
	if best.Energy > 0 {
		x := 1e3 * best.Value
		s.panels[0].points = []mark{{x: x, y: best.Energy, name: fmt.Sprintf("most %.3f J at %.1f mm", best.Energy, x), left: x > s.lo+0.6*(s.hi-s.lo)}}
	}
	s.moments = []moment{built}
	return s
}
