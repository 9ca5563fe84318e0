package fit

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Scale says how an unknown moves: by what function of u, which is 0 at its prior and
// of which the prior's standard deviation is 1.
type Scale int

// The scales. What can't be negative moves by its logarithm, a share well inside 0 and 1 by
// its odds, all else in a straight line.
const (
	Log Scale = iota
	Share
	Linear
)

func (s Scale) String() string { return [...]string{"log", "share", "linear"}[s] }

// farthest bounds how many standard deviations an unknown may move [1].
const farthest = 6

// insideShare is how much of the way from a share to the nearer of 0 and 1 a standard
// deviation may take for the odds to be a good measure [1].
const insideShare = 0.8

// Unknown is a value that may move, with what is known of it beforehand.
type Unknown struct {
	// Key is that of the build file, or instruments.NAME.
	Key  string
	Kind quantity.Kind
	// Scale is how it moves.
	Scale Scale
	// Prior is what it is believed to be, the build's value as a rule [SI].
	Prior float64
	// PriorSD is the standard deviation of that belief [SI].
	PriorSD float64
	// Lower and Upper bound u: the value's own range, and so many standard deviations that
	// it is no longer the prior that is doubted, but the build [1].
	Lower, Upper float64

	least, most float64 // what the value may lie between [SI]
	instrument  bool
	auto        bool // the build derives it until it moves
}

// newUnknown picks the scale for a prior of a value that may lie between two bounds [SI].
func newUnknown(key string, kind quantity.Kind, prior, sd, least, most float64, instrument bool) Unknown {
	k := Unknown{Key: key, Kind: kind, Scale: Log, Prior: prior, PriorSD: sd, Lower: -farthest, Upper: farthest, instrument: instrument}
	if math.IsNaN(least) || math.IsNaN(most) { // there are none
		least, most = math.Inf(-1), math.Inf(1)
	}
	share := (kind == quantity.Share || key == "cylinder.discharge" || key == "barrel.clearance_discharge") && prior >= 0 && prior <= 1
	switch {
	case instrument, kind == quantity.Temperature, kind == quantity.Angle, kind == quantity.Drift:
		k.Scale = Linear
	case share && sd <= insideShare*min(prior, 1-prior):
		k.Scale = Share
	case share:
		k.Scale = Linear
		least, most = max(least, 0), min(most, 1)
	case prior == 0:
		k.Scale = Linear
		least = max(least, 0)
	}
	k.least, k.most = least, most
	if u := k.of(least); u > k.Lower {
		k.Lower = min(u, 0)
	}
	if u := k.of(most); u < k.Upper {
		k.Upper = max(u, 0)
	}
	return k
}

// of returns the u [1] of a value [SI], infinite where no u has it.
func (k *Unknown) of(x float64) float64 {
	switch p := k.Prior; k.Scale {
	case Log:
		if x/p <= 0 {
			return math.Copysign(math.Inf(1), x-p)
		}
		return math.Log(x/p) * p / k.PriorSD
	case Share:
		switch {
		case x <= 0:
			return math.Inf(-1)
		case x >= 1:
			return math.Inf(1)
		}
		return math.Log(x*(1-p)/((1-x)*p)) * p * (1 - p) / k.PriorSD
	}
	return (x - k.Prior) / k.PriorSD
}

// At returns the value [SI] at u [1].
func (k *Unknown) At(u float64) float64 {
	if u == 0 {
		return k.Prior // to the last bit
	}
	x := k.Prior + u*k.PriorSD
	switch k.Scale {
	case Log:
		x = k.Prior * math.Exp(u*k.PriorSD/k.Prior)
	case Share:
		p := k.Prior
		x = 1 / (1 + (1-p)/p*math.Exp(-u*k.PriorSD/(p*(1-p))))
	}
	return min(max(x, k.least), k.most) // a bound of u is no exact number
}

// Slope returns how the value moves with u, at u [1]: the standard deviation of the value
// over that of u [SI].
func (k *Unknown) Slope(u float64) float64 {
	x := k.At(u)
	switch k.Scale {
	case Log:
		return x * k.PriorSD / k.Prior
	case Share:
		return x * (1 - x) * k.PriorSD / (k.Prior * (1 - k.Prior))
	}
	return k.PriorSD
}

// holds tells whether u [1] may be looked at: what a value may be is no belief, as the
// farthest is.
func (k *Unknown) holds(u float64) bool {
	return !(u < k.Lower && k.Lower > -farthest) && !(u > k.Upper && k.Upper < farthest)
}

// usual is the typical ± of a key.
type usual struct {
	key string
	// relative is two standard deviations as a share of the value, absolute in SI.
	relative, absolute float64
}

// usuals are the losses and other values that nobody knows of a gun that is put
// together, with what they vary by from one to the next (closures of this project), in the
// order of the build file.
func usuals() []usual {
	return []usual{
		{key: "motor.stator.magnet.remanence", relative: 0.06},
		{key: "motor.stator.leakage", absolute: 0.05},
		{key: "motor.stator.brush.drop", relative: 0.40},
		{key: "motor.armature.saturation", relative: 0.06},
		{key: "motor.armature.mean_turn", relative: 0.08},
		{key: "motor.armature.inertia", relative: 0.20},
		{key: "motor.drag.constant", relative: 0.60},
		{key: "motor.drag.viscous", relative: 1.00},
		{key: commutation, relative: 0.50},
		{key: "battery.resistance", relative: 0.40},
		{key: "battery.state_of_charge", absolute: 0.10},
		{key: "harness.switch.mosfet.resistance", relative: 0.30},
		{key: "harness.switch.contacts.hardness", relative: 0.60},
		{key: "gears.efficiency", absolute: 0.08},
		{key: "gears.inertia", relative: 0.30},
		{key: "spring.rate", relative: 0.06},
		{key: "spring.modulus", relative: 0.05},
		{key: "spring.preload", relative: 0.06},
		{key: "piston.drag", relative: 0.80},
		{key: "piston.seal_area", relative: 0.80},
		{key: "cylinder.dead_volume", relative: 0.40},
		{key: "cylinder.discharge", absolute: 0.1},
		{key: "cylinder.seal_leak", relative: 1.20},
		{key: "cylinder.wall_heat", relative: 0.60},
		{key: "barrel.clearance_discharge", absolute: 0.1},
		{key: "barrel.wall_heat", relative: 0.40},
		{key: "pellet.hop_force", relative: 0.80},
		{key: "pellet.barrel_drag", relative: 1.00},
	}
}

// commutation is the key of which the build derives the value, until it moves.
const commutation = "motor.commutation"

// of returns two standard deviations of a value [SI].
func (k *usual) of(value float64) float64 { return k.absolute + k.relative*math.Abs(value) }
