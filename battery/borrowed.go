package battery

// borrowedCircuit is for cells whose voltage alone is published: how their
// resistances and capacitances follow the charge is taken from the
// lithium-polymer cell of [ChenRinconMora] (a closure of this project). A pack
// scales it to the resistance of the cell in hand, as equation B2 does.
type borrowedCircuit struct{}

// Circuit implements [Cell], with the shape of the lithium-polymer cell of
// [ChenRinconMora] (a closure of this project): no RC pairs are published for
// this one.
func (borrowedCircuit) Circuit(s float64) Circuit { return ChenRinconMora{}.Circuit(s) }
