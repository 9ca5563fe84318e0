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
// # Tolerances
//
// "x ± y" or "x +/- y" carries a tolerance of two standard deviations: y in the
// unit of x, or in per cent of x (in degrees Celsius: of the degrees).
//
// # Range of validity
//
// Numbers are decimal, with a point and at most a hundred characters. Not a number and
// infinities are refused.
//
// # References
//
// Factors to SI are definitions: 1 in = 25.4 mm, 1 ft = 304.8 mm, 0 °C =
// 273.15 K. AWG is ASTM B258 (package wire).
package quantity
