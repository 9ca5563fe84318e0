package main

import (
	"fmt"
	"io"
	"math"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/study"
)

// charge is what a full pack gives in each mode of fire, whichever the build is set to.
type charge struct {
	automatic float64 // shots [1]
	pulls     float64 // of single shots [1]
	pellets   float64 // those that leave by these pulls [1]
}

func chargeOf(x *study.Examination) charge {
	c := charge{math.NaN(), math.NaN(), math.NaN()}
	if r := x.Automatic; r.Status == cycle.Steady {
		c.automatic = r.Summary.ShotsPerCharge
	}
	if r := x.Single; r != nil && r.Pull != nil {
		c.pulls = x.Build.Battery.Shots(r.Pull.Charge)
		c.pellets = c.pulls * float64(len(r.Pull.Releases))
	}
	return c
}

// printCharge puts the modes of fire side by side.
func printCharge(w io.Writer, x *study.Examination) {
	c := chargeOf(x)
	single := "pulls, one pellet each"
	switch n := c.pellets / c.pulls; {
	case n > 1:
		single = fmt.Sprintf("pulls that fire %.0f each, so %.0f pellets", n, math.Floor(c.pellets))
	case n < 1:
		single = "pulls that fire nothing"
	}
	printRows(w, fmt.Sprintf("what a full pack gives, %.0f %% left in it", 100*x.Build.Battery.Reserve), []row{
		{"in automatic", whole(c.automatic), "shots, the trigger held; starts and run-downs of bursts are left out"},
		{"in single", whole(c.pulls), single},
		{"", " ", "idle current, ageing, cold and a voltage that falls are left out"},
	})
}

// whole shows a number of whole things, "" where there is none.
func whole(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return fmt.Sprintf("%.0f", math.Floor(v))
}

func chargeJSON(x *study.Examination) object {
	c := chargeOf(x)
	return object{{"charge", object{
		{"shots_automatic", figure(c.automatic)}, {"pulls_single", figure(c.pulls)}, {"pellets_single", figure(c.pellets)}, {"reserve", figure(x.Build.Battery.Reserve)},
	}}}
}
