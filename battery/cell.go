package battery

// Circuit is the equivalent circuit of a cell or a pack: a resistance in series
// with two RC pairs.
type Circuit struct {
	// R0 is the resistance that answers at once [ohm].
	R0 float64
	// R1 is the resistance of the fast RC pair [ohm].
	R1 float64
	// C1 is the capacitance of the fast RC pair [F].
	C1 float64
	// R2 is the resistance of the slow RC pair [ohm].
	R2 float64
	// C2 is the capacitance of the slow RC pair [F].
	C2 float64
}

// Cell is what a chemistry knows of one cell at 25 °C. Its functions take a
// state of charge from 0 to 1 and are finite there.
type Cell interface {
	// OCV is the open-circuit voltage [V].
	OCV(charge float64) float64
	// Slope is the derivative of OCV by the charge [V]; at a kink, that of the
	// side of less charge.
	Slope(charge float64) float64
	// Circuit is the equivalent circuit of a published cell, before it is scaled
	// to the resistance of the cell in hand.
	Circuit(charge float64) Circuit
}
