package heat

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"

	"example.org/ampstroke/drivetrain/quantity"
)

// Course is how the temperatures of the parts and the rate of fire went.
type Course struct {
	Names []string
	// Times are counted from the start of the plan; a time that stands twice is a
	// jump [s].
	Times []float64
	// Temperatures are those of each part over Times, nil of one that the build
	// lacks [K].
	Temperatures [][]float64
	// Charge is the pack's state of charge over Times [1].
	Charge []float64
	// Rounds are those fired so far, over Times.
	Rounds []int
	// Pulls are all pulls of the trigger.
	Pulls []PullTimes

	stride, skip int // every so many points are kept
}

// PullTimes is when one pull of the trigger of a plan fired, and how fast.
type PullTimes struct {
	// Start is when the switch closed [s].
	Start float64
	// End is when the train stood [s].
	End float64
	// Releases are the rounds that it fired.
	Releases int
	// Rate is its rate of fire; NaN if fewer than two rounds were asked for or fired [1/s].
	Rate float64
	// Release is from closing the switch to the first release; NaN without one [s].
	Release float64
}

// mostPoints bounds the points of a course; beyond, every second one goes.
const mostPoints = 100_000

// point keeps the present temperatures.
func (f *firing) point() { f.keep(f.time, f.rise) }

// keep puts the temperatures at a time into the course, if there is one.
func (f *firing) keep(time float64, rise []float64) {
	c := f.res.Course
	if c == nil {
		return
	}
	if c.skip++; c.skip < c.stride {
		return
	}
	c.skip = 0
	c.Times = append(c.Times, time)
	c.Charge = append(c.Charge, f.charge())
	c.Rounds = append(c.Rounds, f.res.Rounds)
	at := len(c.Times) - 1
	note := func(part int, v float64) {
		if len(c.Temperatures[part]) > at { // the hotter of several places
			c.Temperatures[part][at] = max(c.Temperatures[part][at], v)
			return
		}
		c.Temperatures[part] = append(c.Temperatures[part], v)
	}
	for i := range f.m.watches {
		w := &f.m.watches[i]
		note(w.part, f.m.value(w, rise, f.hold))
	}
	if f.fuse.fuse != nil {
		note(len(c.Names)-1, f.m.ambient+f.fuse.rise())
	}
	if len(c.Times) > mostPoints {
		c.thin()
	}
}

// thin drops every second point.
func (c *Course) thin() {
	n := 0
	for i := 0; i < len(c.Times); i += 2 {
		c.Times[n], c.Charge[n], c.Rounds[n] = c.Times[i], c.Charge[i], c.Rounds[i]
		for _, t := range c.Temperatures {
			if t != nil {
				t[n] = t[i]
			}
		}
		n++
	}
	c.Times, c.Charge, c.Rounds = c.Times[:n], c.Charge[:n], c.Rounds[:n]
	for k, t := range c.Temperatures {
		if t != nil {
			c.Temperatures[k] = t[:n]
		}
	}
	c.stride *= 2
}

// sample keeps points inside a step of a pause, so that its curves are smooth.
func (f *firing) sample(start float64, s *stretch) {
	if f.res.Course == nil || !f.resting {
		return
	}
	const inside = 4
	for i := range inside {
		at := s.from + (s.to-s.from)*float64(i)/inside
		x := f.fuse
		if x.fuse != nil {
			f.fuse.x = x.after(0, at)
		}
		f.keep(start+at, s.at(at))
		f.fuse = x
	}
}

// ended keeps a pull of n rounds.
func (f *firing) ended(p *pull, n int) {
	c := f.res.Course
	if c == nil {
		return
	}
	none := math.NaN()
	one := PullTimes{Start: p.start, End: f.time, Releases: p.releases, Rate: none, Release: none}
	if p.releases > 0 {
		one.Release = p.first - p.start
	}
	if n > 1 && p.releases > 1 {
		one.Rate = p.rate()
	}
	c.Pulls = append(c.Pulls, one)
}

// WriteCSV writes the course as a table with a header that names units. What doesn't
// exist is empty; the rate of fire stands in the rows of its pull.
func (r *Result) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	head := []string{"time_s", "rounds", "state_of_charge", "rate_of_fire_hz"}
	c := r.Course
	if c == nil {
		c = &Course{}
	}
	for _, name := range c.Names {
		head = append(head, name+"_degc")
	}
	_ = out.Write(head)
	pull := 0
	for i, time := range c.Times {
		for pull < len(c.Pulls) && c.Pulls[pull].End < time {
			pull++
		}
		rate := math.NaN()
		if pull < len(c.Pulls) && time >= c.Pulls[pull].Start {
			rate = c.Pulls[pull].Rate
		}
		row := []string{quantity.TableText(time), strconv.Itoa(c.Rounds[i]), quantity.TableText(c.Charge[i]), quantity.TableText(rate)}
		for _, t := range c.Temperatures {
			if t == nil {
				row = append(row, "")
			} else {
				row = append(row, quantity.TableText(t[i]-quantity.Celsius))
			}
		}
		_ = out.Write(row)
	}
	out.Flush()
	return out.Error()
}
