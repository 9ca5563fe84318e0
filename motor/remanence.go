package motor

import (
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// EffectiveRemanence is what a reading of a known armature says of the can it
// turned in (equation A14).
type EffectiveRemanence struct {
	// Remanence is that at 20 °C which the can's magnets behave as if they had [T].
	Remanence float64
	// Sensitivity is by how many per cent Remanence changes when Ke changes by one.
	// It is large where the tooth is saturated, and the reading then says little
	// about the magnets [1].
	Sensitivity float64
}

// Effective returns the remanence of a can from Ke [V s/rad] of a known armature
// in it, with the magnets at a temperature [K]: the inverse of equations A1 to
// A5. Of the stator, all but the remanence must be right. A Ke that the teeth
// can't carry, whatever the magnets, is an error.
func Effective(s Stator, a Armature, ke, magnets float64) (EffectiveRemanence, error) {
	m := Motor{Stator: s, Armature: a}
	m.Stator.Magnet.Remanence = 1
	if err := m.validateParts(); err != nil {
		return EffectiveRemanence{}, err
	}
	if !(m.Stator.Magnet.At(magnets) >= leastWarmth) {
		return EffectiveRemanence{}, fmt.Errorf("magnets with a drift of %s have nothing left at %s",
			quantity.Drift.Format(s.Magnet.Drift), quantity.Temperature.Format(magnets))
	}
	flux := ke / machineConstant(2, 2*a.Slots*a.Turns, 2)
	limit := m.saturationFlux()
	if !(flux > 0) || math.IsInf(flux, 1) {
		return EffectiveRemanence{}, fmt.Errorf("a Ke of %g V s comes from no magnet; wanted more than 0", ke)
	}
	if flux >= limit {
		return EffectiveRemanence{}, fmt.Errorf("a Ke of %.4g mV s asks for %.4g µWb through a tooth that takes no more than %.4g µWb: reading and armature don't go together (turns, tooth width, saturation)",
			1e3*ke, 1e6*flux, 1e6*limit)
	}
	gap := s.Gap(a.RotorDiameter)
	unit := GapDensity(m.Stator.Magnet.At(magnets), s.Leakage, s.Magnet.Permeability, s.Carter, gap, s.Magnet.Thickness)
	free := unsaturated(flux, limit)
	return EffectiveRemanence{
		Remanence:   free / (unit * m.coilFace()),
		Sensitivity: 1 + math.Pow(free/limit, saturationExponent),
	}, nil
}
