package spread

import (
	"fmt"
	"strconv"
	"strings"
)

// PerMille counts guns of a thousand in words: a share that is neither none nor all is
// never said to be.
func PerMille(share float64) string {
	n := 1000 * share
	switch {
	case share == 0:
		return "none"
	case share == 1:
		return "all"
	case n < 0.5:
		return "fewer than 1"
	case n > 999.5:
		return "more than 999"
	case n < 9.95:
		return strconv.FormatFloat(n, 'f', 1, 64)
	}
	return strconv.FormatFloat(n, 'f', 0, 64)
}

// Verdict is the result in one sentence.
func (r *Result) Verdict() string {
	var b strings.Builder
	if len(r.Wants) > 0 {
		meet := "meet"
		if r.Meets.Value == 0 {
			meet = "meets"
		}
		fmt.Fprintf(&b, "%s of 1000 such guns %s the wish, %s stay whole", PerMille(r.Meets.Value), meet, PerMille(r.Sound.Value))
	} else {
		fmt.Fprintf(&b, "%s of 1000 such guns stay whole", PerMille(r.Sound.Value))
	}
	if i := Leading(r.SoundDrivers); i >= 0 {
		most := "decides most of it"
		if r.SoundDrivers[i].Total.Value < 0.5 {
			most = "decides more of it than any other"
		}
		fmt.Fprintf(&b, "; %s %s", r.Keys[i].Path, most)
	}
	if h := r.Reach; h != nil {
		goal := strconv.FormatFloat(100*h.Goal, 'g', 4, 64)
		switch p := &h.Plan; {
		case h.Sound.Value >= h.Goal:
			fmt.Fprintf(&b, "; that is enough where %s of 100 are wanted", goal)
		case p.Reached:
			fmt.Fprintf(&b, "; the plan below brings it to %.0f of 100", 100*p.Confirmed.Value)
		case len(p.Steps) > 0:
			fmt.Fprintf(&b, "; the plan below brings it no farther than to %.0f of 100", 100*p.Confirmed.Value)
		default:
			fmt.Fprintf(&b, "; nothing was found that brings it to %s of 100", goal)
		}
	}
	return b.String()
}
