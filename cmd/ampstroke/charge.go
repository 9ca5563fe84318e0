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
	leaves    bool    // in automatic the pellet does
	pulls     float64 // of single shots [1]
	fires     int     // shots of such a pull
	leave     int     // pellets that leave by it
}

func chargeOf(x *study.Examination) charge {
	c := charge{automatic: math.NaN(), pulls: math.NaN()}
	if r := x.Automatic; r.Status == cycle.Steady {
		c.automatic, c.leaves = r.Summary.ShotsPerCharge, !math.IsNaN(r.Summary.MuzzleVelocity)
	}
	if r := x.Single; r != nil && r.Pull != nil {
		c.pulls, c.fires = x.Build.Battery.Shots(r.Pull.Charge), len(r.Pull.Releases)
		for _, s := range r.Pull.Releases {
			if !math.IsNaN(s.Muzzle) {
				c.leave++
			}
		}
	}
	return c
}

// pellets is how many leave by all single shots [1].
func (c *charge) pellets() float64 { return c.pulls * float64(c.leave) }

// printCharge puts the modes of fire side by side; nothing where there is none.
func printCharge(w io.Writer, x *study.Examination) {
	c := chargeOf(x)
	automatic, single := "shots, the trigger held; starts and run-downs of bursts are left out", "pulls, one pellet each"
	if !c.leaves {
		automatic = "cycles, the trigger held, but no pellet leaves"
	}
	switch {
	case c.fires == 0:
		single = "pulls that fire nothing"
	case c.leave == 0:
		single = "pulls, but no pellet leaves"
	case c.leave > 1 || c.fires > 1:
		single = fmt.Sprintf("pulls that fire %d each, so %.0f pellets", c.leave, math.Floor(c.pulls)*float64(c.leave))
	}
	shots, pulls := whole(c.automatic), whole(c.pulls)
	if shots == "" && pulls == "" {
		return
	}
	if shots == "" {
		shots, automatic = "-", "the motor stalls"
	}
	switch {
	case x.Single == nil:
		pulls, single = "-", "the cut-off lies behind the end of the lobe (trigger.cutoff)"
	case pulls == "":
		pulls, single = "-", "the motor stalls"
	}
	printRows(w, fmt.Sprintf("what a full pack gives, %.0f %% left in it", 100*x.Build.Battery.Reserve), []row{
		{"in automatic", shots, automatic},
		{"in single", pulls, single},
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
		{"shots_automatic", number(c.automatic)}, {"pulls_single", number(c.pulls)}, {"pellets_single", number(c.pellets())}, {"reserve", number(x.Build.Battery.Reserve)},
	}}}
}
