// Package battery makes a pack of cells and gives what a circuit sees of it: the
// open-circuit voltage and an equivalent circuit of a resistance and two RC pairs.
//
// # Model
//
// Equations B1 to B3, B5 and B6 of the reference model. A [Chemistry] knows how a
// cell's voltage, resistances and capacitances follow its charge; a [Pack] puts
// cells in series and parallel and sets temperature and state of charge. What
// the pack does in time is computed elsewhere.
//
// A [Cell] is one of [ChenRinconMora] (lithium polymer), [IronPhosphate],
// [MetalHydride] and [Table] (chemistry custom: measured points, straight
// between). All but the first borrow the first one's circuit, since only their
// open-circuit voltage is published.
//
// A chemistry is one row of a registry (chemistry.go). A [Cell] that is none of them is
// given to [Pack.Model]: everything further up takes a pack's cell from [Pack.Cell].
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
// by one activation energy (a closure). No ageing, no hysteresis, and the
// open-circuit voltage doesn't follow the temperature.
//
// For iron phosphate, nickel-metal hydride and a custom table no RC pairs were
// at hand. Their resistances and capacitances follow the charge as those of the
// lithium-polymer cell do, scaled by the resistance of the cell in the build
// (a closure). Of nickel-metal hydride, the voltage at 1C agrees with test data
// at 83, 50 and 17 % charge within the 0.05 V these are read to, of a drop of
// 0.07 V; how fast a drop builds up was compared with nothing.
//
// The iron-phosphate curve is the positive electrode against lithium and kept as
// published; a cell with a graphite electrode gives some 0.1 V less (from
// memory), so that a real one is read about 3 % high. A measured table with
// chemistry custom cures it. The nickel-metal-hydride table is of a cell at
// 25 °C and ends at 1.21 V, where a real cell would fall steeply.
//
// # References
//
//   - M. Chen, G. A. Rincón-Mora, Accurate electrical battery model capable of
//     predicting runtime and I–V performance, IEEE Trans. Energy Conv. 21(2),
//     504–511, 2006 (coefficients from secondary sources that agree).
//   - Iron phosphate: Afshar 2017, as in PyBaMM's Prada2013 set.
//   - Nickel-metal hydride: NREL ADVISOR data (from a secondary source); checked
//     under load against NREL SSC test data after Tremblay 2007, Fig. 3.
package battery
