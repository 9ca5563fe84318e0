package drivetrain

import "example.org/ampstroke/drivetrain/quantity"

// Pellet is what is fired, with what holds it back in the barrel.
type Pellet struct {
	// Mass is that of the pellet [kg].
	Mass float64
	// Diameter is that of the pellet [m].
	Diameter float64
	// HopForce is the drag of the hop over its length; 0: none [N].
	HopForce float64
	// HopLength is the travel over which the hop drags [m].
	HopLength float64
	// BarrelDrag is the drag along the whole barrel; 0: none [N].
	BarrelDrag float64
}

// NewPellet returns a pellet of a mass [kg] with what is commonly assumed for the
// rest: 5.95 mm, a hop of 1 N over 10 mm, 0.02 N along the barrel (closures of
// this project).
func NewPellet(mass float64) Pellet {
	return Pellet{Mass: mass, Diameter: 5.95e-3, HopForce: 1, HopLength: 10e-3, BarrelDrag: 0.02}
}

// Validate reports every field that can't be used.
func (p *Pellet) Validate() error {
	var c quantity.Check
	c.Range("mass", p.Mass, quantity.Mass, 0.01e-3, 0.1)
	c.Range("diameter", p.Diameter, quantity.Length, 1e-3, 0.1)
	c.Range("hop_force", p.HopForce, quantity.Force, 0, 1000)
	c.Range("hop_length", p.HopLength, quantity.Length, 0, 1)
	c.Range("barrel_drag", p.BarrelDrag, quantity.Force, 0, 1000)
	return c.Err()
}
