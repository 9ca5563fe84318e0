package heat

import (
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
)

// Status says how a plan ended.
type Status int

// The ends of a plan (equation G7).
const (
	Done      Status = iota // all of it was fired
	CutOff                  // the pack's voltage under load fell below its cut-off
	Empty                   // no charge is left
	FuseBlown               // the fuse blew
	Stall                   // the motor could not turn the gears through a round
)

// String names the status as files do.
func (s Status) String() string {
	return [...]string{"done", "cut-off", "empty", "fuse", "stall"}[s]
}

// Result is what a plan does to a build.
type Result struct {
	Build *drivetrain.Build // with the plan's surroundings
	Plan  *Plan
	// Status is how the plan ended.
	Status Status
	// Rounds are the releases, Asked what the plan asks for.
	Rounds, Asked int
	// Duration is that of pulls, coasting included, and pauses [s].
	Duration float64
	// RateFirst is the rate of fire of the first pull of two rounds or more [1/s].
	RateFirst float64
	// RateLast is the rate of fire of the last such pull [1/s].
	RateLast float64
	// ReleaseFirst is from closing the switch to the release, of the first pull [s].
	ReleaseFirst float64
	// ReleaseLast is the same of the last pull [s].
	ReleaseLast float64
	// Charge is the pack's state of charge at the end [1].
	Charge float64
	// RoundsPerCharge is how many such rounds a full pack gives before its reserve,
	// over the plan [1].
	RoundsPerCharge float64
	// PackCurrent is the mean current of the pull that asks most of the pack, its
	// coasting included [A].
	PackCurrent float64
	// PullRMS is the root mean square of the battery's current over the pull that heats
	// most, its coasting included [A].
	PullRMS float64
	// PeakCurrent is the largest battery current [A].
	PeakCurrent float64
	// FuseShare is the largest part of its melting integral that the fuse held; NaN
	// without one [1].
	FuseShare float64
	// InrushShare is the part of the fuse's melting integral that ∫i²dt of a round from
	// rest comes to, at most; NaN without one [1].
	InrushShare float64
	// Remanence is the part of the magnets' remanence that the hottest can takes for
	// as long as it is hot; NaN where the magnets aren't known [1].
	Remanence float64
	// DemagnetisationMargin is the least share of the coercivity that a round's peak
	// current leaves, the magnets as warm as they were (A15) [1].
	DemagnetisationMargin float64
	Switching             Switching
	// FirstOut is the part that reaches its limit first, "" for none.
	FirstOut string
	// Parts are those of PartNames, in that order.
	Parts []Part
	// End are the temperatures of all nodes at the end [K].
	End      []NodeEnd
	Balance  Balance
	Warnings []finding.Finding
	Stats    Stats
	// Course is that of all parts, nil unless asked for.
	Course *Course
}

// Part is what a plan does to one part. What the build lacks has NaN everywhere.
type Part struct {
	Name string
	// Start is its temperature at the start [K].
	Start float64
	// Peak is the highest [K].
	Peak float64
	// PeakAt is when that was reached first [s].
	PeakAt float64
	// Limit is what it stands; NaN: not known [K].
	Limit float64
	// LimitAt is when that was reached first; NaN: never [s].
	LimitAt float64
	// RoundsToLimit is the number of the round that reached it, or of the last one
	// before; NaN: none did [1].
	RoundsToLimit float64
}

// Plural tells that a part is spoken of as many: "the leads".
func Plural(part string) bool {
	switch part {
	case Winding, Switch, Pack, Fuse:
		return false
	}
	return true
}

// NodeEnd is a node at the end of a plan.
type NodeEnd struct {
	Name string
	// Temperature is its temperature [K].
	Temperature float64
}

// Balance is what heat went into the network, and where it is at the end.
type Balance struct {
	// In is what the rounds and the relaxing pack put in [J].
	In float64
	// Stored is what the nodes hold above the surroundings [J].
	Stored float64
	// Off is what the surroundings took, also with packs that were swapped [J].
	Off float64
	// Residual is In less Stored and Off [J].
	Residual float64
}

// Stats is what a plan took.
type Stats struct {
	// Solves is how many rounds were computed, Reused how many were not.
	Solves, Reused int
}

func newPart(name string, start, limit float64) Part {
	return Part{Name: name, Start: start, Peak: start, Limit: limit, LimitAt: math.NaN(), RoundsToLimit: math.NaN()}
}

// peak notes a temperature [K] at a time [s].
func (p *Part) peak(time, temperature float64) {
	if temperature > p.Peak {
		p.Peak, p.PeakAt = temperature, time
	}
}

// reached notes that the limit was reached.
func (p *Part) reached(time float64, round int) {
	p.LimitAt, p.RoundsToLimit = time, float64(round)
}

// merge takes in another place of the same part: the hotter one is the part, the
// first to reach its limit counts.
func (p *Part) merge(o *Part) {
	sooner := o.LimitAt < p.LimitAt || math.IsNaN(p.LimitAt) && !math.IsNaN(o.LimitAt)
	hotter := o.Peak > p.Peak
	if sooner || hotter && math.IsNaN(p.LimitAt) {
		p.Limit = o.Limit
	}
	if sooner {
		p.LimitAt, p.RoundsToLimit = o.LimitAt, o.RoundsToLimit
	}
	if hotter {
		p.Peak, p.PeakAt = o.Peak, o.PeakAt
	}
}

// finish closes the books.
func (f *firing) finish() {
	r, m := f.res, f.m
	n := math.NaN()
	for i, name := range PartNames() {
		part := Part{name, n, n, n, n, n, n}
		first := true
		for k := range f.slots {
			switch {
			case m.watches[k].part != i:
			case first:
				part, first = f.slots[k], false
			default:
				part.merge(&f.slots[k])
			}
		}
		if name == Fuse && f.fuse.fuse != nil {
			part = f.fusePart
		}
		r.Parts = append(r.Parts, part)
	}
	least := math.Inf(1)
	for _, p := range r.Parts {
		if p.LimitAt < least {
			least, r.FirstOut = p.LimitAt, p.Name
		}
	}
	for i, node := range m.net.Nodes {
		r.End = append(r.End, NodeEnd{node.Name, m.ambient + f.rise[i]})
	}
	r.Duration = f.time
	r.Charge = f.charge()
	r.Balance.Stored = m.net.Stored(f.rise)
	r.Balance.Residual = r.Balance.In - r.Balance.Stored - r.Balance.Off
	if r.Rounds > 0 && f.drawn > 0 {
		r.RoundsPerCharge = m.build.Battery.Shots(f.drawn / float64(r.Rounds))
	}
	r.FuseShare = n
	if f.fuse.fuse != nil {
		r.FuseShare = (f.fusePart.Peak - m.ambient) / fuseSpan
	}
	if can := r.Part(Magnets); m.build.Motor.Bench == nil {
		g := &m.build.Motor.Stator.Magnet
		r.Remanence = 1 - g.At(can.Peak)/g.At(m.ambient)
	}
	r.Stats = f.rounds.stats
	r.Warnings = warnings(r, m)
}

// Part returns the part of a name; all NaN if there is none.
func (r *Result) Part(name string) Part {
	for _, p := range r.Parts {
		if p.Name == name {
			return p
		}
	}
	n := math.NaN()
	return Part{name, n, n, n, n, n, n}
}

// pull is what one pull of the trigger came to.
type pull struct {
	start, first, last float64 // closing, first and last release [s]
	releases           int
	charge, square     float64 // what the battery gave [C], and ∫i² [A2 s]
	time               float64 // of its rounds [s]
}

func (p *pull) release(at float64) {
	if p.releases == 0 {
		p.first = at
	}
	p.last = at
	p.releases++
}

// rate returns the rate of fire of two releases or more [1/s] (equation G9).
func (p *pull) rate() float64 { return float64(p.releases-1) / (p.last - p.first) }

func (p *pull) add(r *cycle.Round) {
	p.charge += r.Charge
	p.square += r.Square
	p.time += r.Duration
}

// note takes a pull of n rounds into the figures (equation G9).
func (r *Result) note(p *pull, n int) {
	if p.time > 0 {
		r.PackCurrent = larger(r.PackCurrent, p.charge/p.time)
		r.PullRMS = larger(r.PullRMS, math.Sqrt(p.square/p.time))
	}
	if p.releases == 0 {
		return
	}
	r.ReleaseLast = p.first - p.start
	if math.IsNaN(r.ReleaseFirst) {
		r.ReleaseFirst = r.ReleaseLast
	}
	if n < 2 || p.releases < 2 {
		return
	}
	r.RateLast = p.rate()
	if math.IsNaN(r.RateFirst) {
		r.RateFirst = r.RateLast
	}
}

// larger is the larger of two numbers, of which the first may not be there yet.
func larger(a, b float64) float64 {
	if math.IsNaN(a) || b > a {
		return b
	}
	return a
}

// smaller is the smaller of two numbers, of which the first may not be there yet.
func smaller(a, b float64) float64 {
	if math.IsNaN(a) || b < a {
		return b
	}
	return a
}

// round takes in what a round says beside its losses.
func (r *Result) round(m *model, o *cycle.Round, k *cycle.Conditions, h hold, fromRest bool) {
	if d := m.build.Motor.Demagnetisation(max(o.Peak, o.Brake), k.Magnets).Margin(); !math.IsNaN(d) {
		r.DemagnetisationMargin = smaller(r.DemagnetisationMargin, d)
	}
	r.PeakCurrent = larger(r.PeakCurrent, o.Peak)
	if fuse := m.build.Harness.Fuse; fuse != nil && fromRest {
		r.InrushShare = larger(r.InrushShare, o.Square/fuse.Melting)
	}
	r.Switching.round(m, o, k, h)
}
