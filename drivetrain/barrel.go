package drivetrain

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Barrel is the tube the pellet leaves by.
type Barrel struct {
	// Bore is the inner diameter [m].
	Bore float64
	// Length is the pellet's travel to the muzzle [m].
	Length float64
	// BreechVolume is the room behind the pellet before it moves [m3].
	BreechVolume float64
	// ClearanceDischarge is the discharge coefficient of the gap around the
	// pellet [1].
	ClearanceDischarge float64
}

// Area returns that of the bore, Ab [m2].
func (b *Barrel) Area() float64 { return math.Pi / 4 * b.Bore * b.Bore }

// Volume returns the room that the pellet's travel sweeps, Ab·Lb [m3].
func (b *Barrel) Volume() float64 { return b.Area() * b.Length }

// Validate reports every field that can't be used.
func (b *Barrel) Validate() error {
	var c quantity.Check
	c.Range("bore", b.Bore, quantity.Length, 1e-3, 0.1)
	c.Range("length", b.Length, quantity.Length, 1e-3, 3)
	c.Range("breech_volume", b.BreechVolume, quantity.Volume, 1e-10, 1e-3)
	c.Range("clearance_discharge", b.ClearanceDischarge, quantity.Number, 0, 1)
	return c.Err()
}
