// Package harness holds what lies between battery and motor: leads, connectors,
// switch and fuse.
//
// # Model
//
// Equations C1, C3 and the resistances of C4 and C5 of the reference model.
// Every part is a resistance at its temperature; the fuse is not in the circuit.
// The fields that only temperatures need are kept for them and don't touch the
// current.
//
// # Symbols and units
//
// SI throughout, temperatures in kelvin. A lead's length is that of the whole
// loop, out and back.
//
// # Range of validity
//
// Contacts are one spot by Holm, clean and of one metal; a MOSFET is a resistance
// that grows linearly with temperature, fully on.
//
// # References
//
//   - ASTM B258, IEC 60028: wire (package wire).
//   - R. Holm, Electric Contacts, 4th ed.: constriction resistance (from memory).
package harness
