// Package chart draws what the simulations found: pictures for people, as PNG,
// SVG or PDF. It is the only importer of gonum/plot.
//
// # Conventions
//
// Every picture carries the build's name, units on its axes, and marks for
// events. What matters is told apart by line style as well as by colour, so that
// a grey print can be read. The same result gives the same bytes.
//
// # Symbols and units
//
// Results come in SI; pictures show degrees, milliseconds, millimetres and
// revolutions per minute.
package chart
