package drivetrain

import "example.org/ampstroke/drivetrain/quantity"

// Piston is what the rack pulls back and the spring drives.
type Piston struct {
	// Mass is that of piston, head and rack [kg].
	Mass float64
	// Drag is the friction of the seal in the flight; 0: none [N].
	Drag float64
	// DragPull is the friction of the seal while the rack pulls; 0: none [N].
	DragPull float64
	// SealArea is what the pressure in the cylinder presses the seal against the wall
	// with, as friction per pressure above the surroundings': μ·π·B·w of a ring on a bore B
	// that passes it on over a width w; 0: it doesn't (equation D11) [m2].
	SealArea float64
	// Clear is the travel from home below which the sector's next tooth passes
	// the pickup tooth [m].
	Clear float64
	// Spacer is the thickness of the pads that move the piston's rest back; 0:
	// none [m].
	Spacer float64
}

// NewPiston returns a piston of a mass [kg] with what is commonly assumed for the
// rest: 5 N of seal friction, in pull and flight, whatever the pressure, clear of the
// sector 2.5 mm from home, no spacer (closures of this project).
func NewPiston(mass float64) Piston {
	return Piston{Mass: mass, Drag: 5, DragPull: 5, Clear: 2.5e-3}
}

// Validate reports every field that can't be used.
func (p *Piston) Validate() error {
	var c quantity.Check
	c.Range("mass", p.Mass, quantity.Mass, 0.1e-3, 10)
	c.Range("drag", p.Drag, quantity.Force, 0, 1000)
	c.Range("drag_pull", p.DragPull, quantity.Force, 0, 1000)
	c.Range("seal_area", p.SealArea, quantity.Area, 0, 0.01)
	c.Range("clear", p.Clear, quantity.Length, 1e-6, 0.2)
	c.Range("spacer", p.Spacer, quantity.Length, 0, 0.1)
	return c.Err()
}
