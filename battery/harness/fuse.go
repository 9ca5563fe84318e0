package harness

import "example.org/ampstroke/drivetrain/quantity"

// Fuse protects the leads. Its resistance is not part of the circuit.
type Fuse struct {
	// Rating is the current it carries for good [A].
	Rating float64
	// Melting is the melting integral ∫i²dt of a short pulse [A2 s].
	Melting float64
}

// NewFuse returns a fuse of a rating [A] that melts at 1.0 s · rating² (a
// closure of this project).
func NewFuse(rating float64) Fuse { return Fuse{Rating: rating, Melting: rating * rating} }

// Validate reports every field that can't be used.
func (f *Fuse) Validate() error {
	var c quantity.Check
	c.Range("rating", f.Rating, quantity.Current, 0.1, 1000)
	c.Range("melting", f.Melting, quantity.MeltingIntegral, 1e-3, 1e9)
	return c.Err()
}
