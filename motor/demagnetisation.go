package motor

import "math"

// Demagnetisation is how near a current comes to weakening the magnets for good
// (equation A15).
type Demagnetisation struct {
	// Field is what demagnetises at the magnet's edge [A/m].
	Field float64
	// Coercivity is the field that the magnet withstands [A/m].
	Coercivity float64
}

// Margin returns the share of the coercivity that is left [1]; negative where the
// magnets lose strength for good, −∞ where no coercivity is left at all.
func (d Demagnetisation) Margin() float64 { return 1 - d.Field/max(0, d.Coercivity) }

// Demagnetisation returns the field at the magnet's edge when the armature
// carries a current [A], and the coercivity, with the magnets at a temperature
// [K]. Both are NaN where the coercivity, or the motor's parts, are not known.
func (m *Motor) Demagnetisation(current, magnets float64) Demagnetisation {
	s, a := &m.Stator, &m.Armature
	magnet := &s.Magnet
	if m.Bench != nil || magnet.Coercivity == 0 {
		return Demagnetisation{math.NaN(), math.NaN()}
	}
	gap := s.Gap(a.RotorDiameter)
	remanence := magnet.At(magnets)
	density := GapDensity(remanence, s.Leakage, magnet.Permeability, s.Carter, gap, magnet.Thickness)
	own := (remanence - density/(1-s.Leakage)) / (Mu0 * magnet.Permeability)
	turns := float64(a.Slots*a.Turns) * current / 4 // ampere-turns a pole
	armature := turns * (magnet.Arc / math.Pi) / (magnet.Thickness + magnet.Permeability*s.Carter*gap)
	return Demagnetisation{
		Field:      own + armature,
		Coercivity: max(0, magnet.Coercivity*(1+magnet.CoercivityDrift*(magnets-reference))),
	}
}
