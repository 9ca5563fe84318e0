package motor

import (
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Brush is the pair of brushes on the commutator.
type Brush struct {
	// Drop is the voltage lost in the pair, whatever the current; 0: none [V].
	Drop float64
	// Arc is the angle one brush covers on the commutator [rad].
	Arc float64
	// Limit is the highest temperature the brushes are meant for; 0: not known [K].
	Limit float64
}

// Stator is the can with magnets and brushes, whatever armature turns in it.
type Stator struct {
	Magnet Magnet
	// AirGap is the distance between magnet and rotor; 0 where Bore is given [m].
	AirGap float64
	// Bore is the inner diameter over the magnets, in place of AirGap: the gap
	// then follows from the rotor's diameter; 0 where AirGap is given [m].
	Bore float64
	// Length is the longest stack the can takes; 0: not known, any fits [m].
	Length float64
	// Carter is the factor by which slots lengthen the gap [1].
	Carter float64
	// Leakage is the share of the magnets' flux that misses the rotor [1].
	Leakage float64
	Brush   Brush
}

// NewStator returns a stator with the magnet and air gap [m] given and what is
// commonly assumed for the rest: Carter factor 1.1, leakage 10 %, brushes of 15°
// that drop 0.30 V and stand 130 °C (closures of this project).
func NewStator(magnet Magnet, gap float64) Stator {
	return Stator{
		Magnet: magnet, AirGap: gap, Carter: 1.1, Leakage: 0.10,
		Brush: Brush{Drop: DefaultBrushDrop, Arc: 15 * degree, Limit: quantity.Celsius + 130},
	}
}

// DefaultBrushDrop is what a pair of brushes commonly drops (a closure of this
// project) [V].
const DefaultBrushDrop = 0.30

const degree = math.Pi / 180 // [rad]

// Gap returns the air gap [m] around a rotor of the diameter [m]; negative where
// the rotor is larger than the bore.
func (s *Stator) Gap(rotorDiameter float64) float64 {
	if s.Bore > 0 {
		return (s.Bore - rotorDiameter) / 2
	}
	return s.AirGap
}

// Validate reports every field that can't be used.
func (s *Stator) Validate() error {
	var c quantity.Check
	c.Part("magnet", s.Magnet.Validate())
	switch {
	case s.Bore != 0 && s.AirGap != 0:
		c.Add("air_gap", "%s is given beside a bore of %s, from which the gap follows; give one of the two",
			quantity.Length.Format(s.AirGap), quantity.Length.Format(s.Bore))
	case s.Bore != 0:
		c.Range("bore", s.Bore, quantity.Length, 1e-3, 1)
	default:
		c.Range("air_gap", s.AirGap, quantity.Length, 0.02e-3, 10e-3)
	}
	if s.Length != 0 {
		c.Range("length", s.Length, quantity.Length, 1e-3, 1)
	}
	c.Range("carter", s.Carter, quantity.Number, 1, 3)
	c.Range("leakage", s.Leakage, quantity.Share, 0, 0.9)
	c.Range("brush.drop", s.Brush.Drop, quantity.Voltage, 0, 5)
	c.Range("brush.arc", s.Brush.Arc, quantity.Angle, 0, 180*degree)
	if s.Brush.Limit != 0 {
		c.Range("brush.limit", s.Brush.Limit, quantity.Temperature, quantity.Celsius, quantity.Celsius+600)
	}
	return c.Err()
}

// fits says what stops the armature from turning in the stator, with the field
// at fault and ErrMisfit as its cause.
func (s *Stator) fits(a *Armature) *quantity.Fault {
	gap := s.Gap(a.RotorDiameter)
	if !(gap >= minGap) {
		return &quantity.Fault{Cause: ErrMisfit, Field: "armature.rotor_diameter", Text: fmt.Sprintf(
			"a rotor of %s does not turn in a bore of %s: the gap would be %s; wanted at least %s",
			quantity.Length.Format(a.RotorDiameter), quantity.Length.Format(s.Bore),
			quantity.Length.Format(gap), quantity.Length.Format(minGap))}
	}
	if gap > maxGap {
		return &quantity.Fault{Cause: ErrMisfit, Field: "armature.rotor_diameter", Text: fmt.Sprintf(
			"a rotor of %s is lost in a bore of %s: the gap would be %s; wanted at most %s",
			quantity.Length.Format(a.RotorDiameter), quantity.Length.Format(s.Bore),
			quantity.Length.Format(gap), quantity.Length.Format(maxGap))}
	}
	if s.Length > 0 && a.StackLength > s.Length {
		return &quantity.Fault{Cause: ErrMisfit, Field: "armature.stack_length", Text: fmt.Sprintf(
			"a stack of %s does not go into a can that takes %s",
			quantity.Length.Format(a.StackLength), quantity.Length.Format(s.Length))}
	}
	return nil
}

const (
	minGap = 0.02e-3 // [m]
	maxGap = 10e-3   // [m]
)
