package drivetrain

import (
	"math"

	"example.org/ampstroke/drivetrain/quantity"
)

// Sector is the gear that pulls the rack back and, where its teeth end, lets go.
type Sector struct {
	// Module is the module of sector and rack [m].
	Module float64
	// Teeth is z, the teeth of a lobe before any is removed.
	Teeth int
	// FullTeeth is Z, the teeth a full circle would have.
	FullTeeth int
	// Removed is q, the teeth removed at the release end.
	Removed int
	// Lobes is how often the toothed part repeats around the sector.
	Lobes int
	// PressureAngle is that of the teeth [rad].
	PressureAngle float64
	// Addendum is the height of the teeth over the pitch circle, in modules [1].
	Addendum float64
	// FaceWidth is the width of the teeth [m].
	FaceWidth float64
	// EngagedAngle is θr of a stroke that was measured, (stroke + spacer)/rp; 0: it
	// follows from the teeth (equation D2) [rad].
	EngagedAngle float64
}

// NewSector returns a sector of a module [m], teeth of a full circle, none
// removed, one lobe, with standard 20° teeth of one module and a face width of
// 5.5 mm (a closure of this project).
func NewSector(module float64, teeth, full int) Sector {
	return Sector{
		Module: module, Teeth: teeth, FullTeeth: full, Lobes: 1,
		PressureAngle: 20 * degree, Addendum: 1, FaceWidth: 5.5e-3,
	}
}

const degree = math.Pi / 180 // [rad]

// PitchRadius returns rp [m] (equation D2).
func (s *Sector) PitchRadius() float64 { return s.Module * float64(s.FullTeeth) / 2 }

// LobeAngle returns θn [rad], the angle after which all repeats (equation D2).
func (s *Sector) LobeAngle() float64 { return 2 * math.Pi / float64(s.Lobes) }

// Validate reports every field that can't be used.
func (s *Sector) Validate() error {
	var c quantity.Check
	c.Range("module", s.Module, quantity.Length, 0.05e-3, 20e-3)
	c.Whole("full_teeth", s.FullTeeth, 4, 1000)
	c.Whole("teeth", s.Teeth, 1, 1000)
	c.Whole("removed", s.Removed, 0, 1000)
	c.Whole("lobes", s.Lobes, 1, 20)
	c.Range("pressure_angle", s.PressureAngle, quantity.Angle, 10*degree, 35*degree)
	c.Range("addendum", s.Addendum, quantity.Number, 0.2, 2)
	c.Range("face_width", s.FaceWidth, quantity.Length, 0.1e-3, 0.2)
	if s.EngagedAngle != 0 {
		c.Range("engaged_angle", s.EngagedAngle, quantity.Angle, 1*degree, 360*degree)
	}
	if c.OK("teeth", "removed") && s.Removed >= s.Teeth {
		c.Add("removed", "%d of %d teeth are removed and none is left to pull; wanted at most %d", s.Removed, s.Teeth, s.Teeth-1)
	}
	return c.Err()
}
