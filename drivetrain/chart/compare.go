package chart

import (
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
)

// Compare draws the steady cycles of several builds over each other, from pickup
// to pickup; of one that fires single or stalls, the course from closing the switch.
// The dots mark where the sector lets go, the crosses where it meets a rack that is not
// home. The legend counts the builds, as tables do with ! behind the number of one that has
// a fault: by what its own warnings say, or by faults, which may say more of each. The
// error is [ErrNothing] of no result, and where one kept no course.
func Compare(results []*cycle.Result, faults ...bool) (*Picture, error) {
	if len(results) == 0 {
		return nil, nothing("there is no result of a cycle")
	}
	for _, r := range results {
		if err := drawable(r); err != nil {
			return nil, err
		}
	}
	return compareStack(results, faults...).picture(19*vg.Centimeter, 21*vg.Centimeter+legendLine*vg.Length(len(results))), nil
}

// compareStack is what Compare draws.
func compareStack(results []*cycle.Result, faults ...bool) *stack {
	s := &stack{
		title:    several(len(results), func(i int) string { return results[i].Build.Name }),
		subtitle: "one steady cycle of each, from pickup to pickup  ·  singles and stalls from closing the switch  ·  a dot at each release",
		axis:     "time, ms",
		panels:   cyclePanels(),
		column:   true,
	}
	var told [2]string
	for i, r := range results {
		t, what := r.Steady, fmt.Sprintf("%.1f rounds a second, %.1f A RMS", r.Summary.RateOfFire, r.Summary.CurrentRMS)
		switch {
		case r.Status == cycle.Once:
			t, what = r.First, fmt.Sprintf("single, stands at %.0f° after %.0f ms", deg(r.Pull.StopAngle), 1e3*r.Pull.Rest)
		case t == nil:
			t, what = r.First, fmt.Sprintf("stalls at %.0f°, from closing the switch", deg(r.Summary.StallAngle))
		}
		number := numbered(i, len(results))
		if finding.List(r.Warnings).Broken() || i < len(faults) && faults[i] {
			number = strings.TrimSpace(number) + "!  "
			told[0] = "!  a build that has a fault"
		}
		clash := meetings(r)
		if len(clash) > 0 {
			what += ", " + namePME
		}
		style := series(i, entry(number, r.Build.Name, ": "+what))
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
		for _, m := range clash {
			s.panels[3].points = append(s.panels[3].points, mark{x: 1e3 * m.time, y: 1e3 * m.travel, cross: true})
		}
	}
	if slices.ContainsFunc(s.panels[3].points, func(m mark) bool { return m.cross }) {
		told[1] = "a cross where the sector meets a rack that is not home"
	}
	s.second = strings.TrimPrefix(strings.TrimSuffix(strings.Join(told[:], "  ·  "), "  ·  "), "  ·  ")
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
	case 1:
		return short(name(0), 50)
	case 2:
		return short(name(0), 24) + " and " + short(name(1), 24)
	}
	return fmt.Sprintf("%s and %d others", short(name(0), 40), n-1)
}
