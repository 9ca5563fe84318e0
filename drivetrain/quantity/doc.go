// Package quantity reads and prints numbers with units, such as "350 mm",
// "18 AWG" or "9 mohm ± 5 %", and gathers the faults of values that can't be
// used.
//
// # Conventions
//
// Inside, every value is in SI units: radians, kelvin, coulombs. A unit stands
// only where a number enters or leaves. A [Kind] says which units fit: a mass
// wants grams, a pure number wants none, and a bare number where a unit is needed
// is an error that shows the right form.
//
// # Units
//
// Products are written with a blank or a dot (N m, N·m), powers behind the unit
// (mm2, mm^2, mm²), one or more slashes divide by the unit that follows (ft/s,
// %/K, /s). Prefixes run from p to G, with u or µ for a millionth. The radian may
// be left out of torques per speed.
//
// Other spellings of units, which are read but never written:
//
//   - sec; hPa; Ohm and milliohm; Nmm and Ncm; gcm2, g·cm², kgcm2; A²s
//   - RPM, U/min and r/min; of a speed of rotation 1/min as well, but not 1/s, which
//     may be turns or radians
//   - rps: of a rate rounds a second, of a speed of rotation turns a second
//   - fps, psi, lbf (lbf/in), kgf (kgf/mm); oz, which is a mass
//   - °F and degF, which count from -459.67 where they stand alone
//   - AWG in any case, before the number or behind it: 22 awg, AWG 22
//
// Two kinds have spellings of their own: a ratio may be written 18:1, a battery's
// discharge rating 25C, which anywhere else are no such thing (25 C is a charge).
//
// # Tolerances
//
// "x ± y", "x +/- y" or "x +- y" carries a tolerance of two standard deviations: y in the
// unit of x, or in per cent of x (in degrees Celsius or Fahrenheit: of the degrees).
//
// # Range of validity
//
// Numbers are decimal, with a point and at most a hundred characters. A decimal comma,
// a separator of thousands, not a number and infinities are refused.
//
// # References
//
// Factors to SI are definitions: 1 in = 25.4 mm, 1 ft = 304.8 mm and the pound of
// 0.45359237 kg (agreement of 1959), standard gravity of 9.80665 m/s2 (3rd General
// Conference on Weights and Measures, 1901), 0 °C = 273.15 K, 1 °F = 5/9 K. AWG is
// ASTM B258 (package wire).
package quantity
