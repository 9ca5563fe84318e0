// Package battery makes a pack of cells and gives what a circuit sees of it: the
// open-circuit voltage and an equivalent circuit of a resistance and two RC pairs.
//
// # Model
//
// Equations B1 to B3 and B5 of the reference model. A [Chemistry] knows how a
// cell's voltage, resistances and capacitances follow its charge; a [Pack] puts
// cells in series and parallel and sets temperature and state of charge. What
// the pack does in time is computed elsewhere.
//
// # Symbols and units
//
// SI throughout: charge in coulombs, temperatures in kelvin. The state of charge
// runs from 0 to 1.
//
// # Sign convention
//
// A current is positive when it discharges the pack.
//
// # Range of validity
//
// The lithium-polymer cell was measured on one 850 mAh cell near 25 °C; only its
// shape is used, scaled by the resistance of the cell in the build. Below a
// state of charge of 2 % the published capacitances fall towards zero and turn
// negative; here they stay at their values of 2 %. Resistance rises in the cold
// by one activation energy (a closure). No ageing, no hysteresis.
//
// # References
//
//   - M. Chen, G. A. Rincón-Mora, Accurate electrical battery model capable of
//     predicting runtime and I–V performance, IEEE Trans. Energy Conv. 21(2),
//     504–511, 2006 (coefficients from secondary sources that agree).
package battery
