package chart

import (
	"fmt"

	"gonum.org/v1/plot/vg"

	"example.org/ampstroke/drivetrain/cycle"
)

// Compare draws the steady cycles of several builds over each other, from pickup
// to pickup; of one that fires single or stalls, the course from closing the switch.
// The dots mark where the sector lets go. The legend counts the builds.
func Compare(results []*cycle.Result) *Picture {
	return compareStack(results).picture(19*vg.Centimeter, 21*vg.Centimeter+legendLine*vg.Length(len(results)))
}

// compareStack is what Compare draws.
func compareStack(results []*cycle.Result) *stack {
	s := &stack{
		title:    several(len(results), func(i int) string { return results[i].Build.Name }),
		subtitle: "one steady cycle of each, from pickup to pickup; singles and stalls from closing the switch; a dot at each release",
		axis:     "time, ms",
		panels:   cyclePanels(),
		column:   true,
	}
	for i, r := range results {
		t, what := r.Steady, fmt.Sprintf("%.1f rounds a second, %.1f A RMS", r.Summary.RateOfFire, r.Summary.CurrentRMS)
		switch {
		case r.Status == cycle.Once:
			t, what = r.First, fmt.Sprintf("single, stands at %.0f° after %.0f ms", deg(r.Pull.StopAngle), 1e3*r.Pull.Rest)
		case t == nil:
			t, what = r.First, fmt.Sprintf("stalls at %.0f°, from closing the switch", deg(r.Summary.StallAngle))
		}
		style := series(i, numbered(i, len(results))+short(r.Build.Name, 45)+": "+what)
		s.legend = append(s.legend, style)
		points := t.Sample(samples)
		s.course(points, style, OverTime)
		s.hi = max(s.hi, 1e3*t.Duration())
		for _, e := range t.Events {
			if e.Kind == cycle.Release {
				p := t.Before(e.Time)
				for k, y := range travelled(p) {
					s.panels[k].points = append(s.panels[k].points, mark{x: OverTime.place(p), y: y})
				}
			}
		}
	}
	if s.hi <= 0 {
		s.hi = 1
	}
	s.hi *= 1.02
	return s
}

// numbered is the number of a line in a legend, as tables count.
func numbered(i, n int) string {
	if n == 1 {
		return ""
	}
	return fmt.Sprintf("%d  ", i+1)
}

// several is the title of a picture of n things.
func several(n int, name func(int) string) string {
	switch n {
	case 0:
		return "nothing to show"
	case 1:
		return short(name(0), 50)
	case 2:
		return short(name(0), 24) + " and " + short(name(1), 24)
	}
	return fmt.Sprintf("%s and %d others", short(name(0), 40), n-1)
}
