package drivetrain

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Air is what the air in a barrel does while the pellet is on its way.
type Air string

// Air that moves with the pellet has inertia and friction, behind it and in front of it
// (equation E9); air that is still has none.
const (
	MovingAir Air = "moving"
	StillAir  Air = "still"
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
	// Air is what the air in the barrel does; "" is StillAir.
	Air Air
	// WallHeat is a factor on the heat that the air behind the pellet gives to the
	// walls; 0: none, an adiabatic barrel (equation E8) [1].
	WallHeat float64
}

// MostBarrelHeat is the largest factor on the heat to a barrel's walls [1].
const MostBarrelHeat = 3

// NewBarrel returns a barrel of a bore and a length [m] with what is commonly
// assumed for the rest: 0.25 cm³ behind the pellet, discharge 0.8 around it
// (closures of this project), air that moves, and heat to the walls as reckoned.
func NewBarrel(bore, length float64) Barrel {
	return Barrel{Bore: bore, Length: length, BreechVolume: 0.25e-6, ClearanceDischarge: 0.8, Air: MovingAir, WallHeat: 1}
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
	if b.Air != "" && b.Air != MovingAir && b.Air != StillAir {
		c.Add("air", "%q is not known; wanted moving or still", string(b.Air))
	}
	c.Range("wall_heat", b.WallHeat, quantity.Number, 0, MostBarrelHeat)
	return c.Err()
}
