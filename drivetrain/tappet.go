package drivetrain

import "example.org/ampstroke/drivetrain/quantity"

// Tappet draws the nozzle back once a lobe, by a cam on the sector.
type Tappet struct {
	// From is the sector angle where the work begins [rad].
	From float64
	// To is the sector angle where it ends [rad].
	To float64
	// Work is what one return of the nozzle takes [J].
	Work float64
}

// Torque returns the load of the working tappet at the motor shaft [N m], with
// ratio motor turns per sector turn (equation D4).
func (t *Tappet) Torque(ratio float64) float64 { return t.Work / ((t.To - t.From) * ratio) }

// Validate reports every field that can't be used.
func (t *Tappet) Validate() error {
	var c quantity.Check
	c.Range("from", t.From, quantity.Angle, 0, 360*degree)
	c.Range("to", t.To, quantity.Angle, 0, 360*degree)
	if c.OK("from", "to") && !(t.From < t.To) {
		c.Add("to", "%s does not lie behind the start of %s; wanted from < to", quantity.Angle.Format(t.To), quantity.Angle.Format(t.From))
	}
	c.Range("work", t.Work, quantity.Energy, 0, 100)
	return c.Err()
}
