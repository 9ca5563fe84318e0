// Package chart draws what the simulations found: pictures for people, as PNG,
// SVG or PDF. It is the only importer of gonum/plot.
//
// # Conventions
//
// Every picture carries the build's name, units on its axes, and marks for
// events. What matters is told apart by line style as well as by colour, so that
// a grey print can be read. The same result gives the same bytes.
//
// A function makes a [Picture], whose Save writes it by the ending of the file's name. What
// there is nothing to draw of, such as a result that kept no course, is an error that
// wraps [ErrNothing] and says what is missing.
//
// # Symbols and units
//
// Results come in SI; pictures show degrees, milliseconds, millimetres and
// revolutions per minute.
package chart
