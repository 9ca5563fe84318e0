// Package wire knows copper wire: gauges, resistivity and the room that an
// enamelled wire takes. Windings and leads share it.
//
// # Model
//
// Equations C1 (gauge), A6 (resistance) and A11 (enamel) of the reference
// model. Diameters are those of the bare copper unless a name says otherwise.
//
// # Symbols and units
//
// SI throughout; temperatures in kelvin. A gauge is its AWG number; 0, 00, 000
// and 0000 are 0, −1, −2 and −3.
//
// # Range of validity
//
// Resistivity is linear in temperature, good between about −50 and 200 °C.
// The enamel's thickness is an engineering closure for grade-1 magnet wire of
// 0.1 to 2 mm.
//
// # References
//
//   - ASTM B258: diameters of the American Wire Gauge, as quoted by NBS
//     Handbook 100 §2.1.
//   - IEC 60028: resistivity of annealed copper and its temperature
//     coefficient.
package wire
