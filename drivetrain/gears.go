package drivetrain

import "example.org/ampstroke/drivetrain/quantity"

// Gears is the train between motor and sector.
type Gears struct {
	// Ratio is motor turns per sector turn; 0 where Teeth is given [1].
	Ratio float64
	// Teeth gives the ratio by tooth counts, in place of Ratio.
	Teeth *GearTeeth
	// Efficiency is the product of the efficiencies of all meshes [1].
	Efficiency float64
	// Inertia is that of all gears, referred to the sector's shaft; 0: none [kg m2].
	Inertia float64
	// Churning is a drag torque per speed at the sector's shaft; 0: none [N m s/rad].
	Churning float64
}

// NewGears returns a train of a ratio with what is commonly assumed for the rest:
// meshes of 80 % in all and 30 g·cm² at the sector's shaft (closures of this
// project).
func NewGears(ratio float64) Gears { return Gears{Ratio: ratio, Efficiency: 0.80, Inertia: 30e-7} }

// GearTeeth are the tooth counts from the motor to the sector gear.
type GearTeeth struct {
	Pinion, Bevel, BevelPinion, Spur, SpurPinion, Sector int
}

// Ratio returns motor turns per sector turn [1] (equation D1).
func (t *GearTeeth) Ratio() float64 {
	return float64(t.Bevel) / float64(t.Pinion) * float64(t.Spur) / float64(t.BevelPinion) * float64(t.Sector) / float64(t.SpurPinion)
}

// MotorTurns returns motor turns per sector turn [1], however it is given.
func (g *Gears) MotorTurns() float64 {
	if g.Teeth != nil {
		return g.Teeth.Ratio()
	}
	return g.Ratio
}

// Validate reports every field that can't be used.
func (g *Gears) Validate() error {
	var c quantity.Check
	switch {
	case g.Teeth != nil && g.Ratio != 0:
		c.Add("ratio", "%g is given beside tooth counts; give one of the two", g.Ratio)
	case g.Teeth != nil:
		t := g.Teeth
		for _, f := range []struct {
			field string
			n     int
		}{{"pinion", t.Pinion}, {"bevel", t.Bevel}, {"bevel_pinion", t.BevelPinion}, {"spur", t.Spur}, {"spur_pinion", t.SpurPinion}, {"sector", t.Sector}} {
			c.Whole("teeth."+f.field, f.n, 3, 1000)
		}
		if c.Err() == nil {
			c.Range("teeth", t.Ratio(), quantity.Number, 0.1, 1000)
		}
	default:
		c.Range("ratio", g.Ratio, quantity.Ratio, 0.1, 1000)
	}
	c.Range("efficiency", g.Efficiency, quantity.Share, 0.01, 1)
	c.Range("inertia", g.Inertia, quantity.Inertia, 0, 0.1)
	c.Range("churning", g.Churning, quantity.ViscousDrag, 0, 10)
	return c.Err()
}
