// Package figure says what there is to know of a result's figures, and holds figures
// against what is wanted of them.
//
// A room that simulates or examines (motor, cycle, pickup, heat) has one [List]: each
// figure with its name, label, meaning, kind and the function that gets it out of the
// room's result. Tables, JSON, comparisons, targets, heads of CSV files and captions
// follow from these lists, so that a figure that is added to one is everywhere.
//
// # Names
//
// A name is unique over all rooms, in lower case with underscores, and without a unit:
// "rate_of_fire". In JSON and CSV the SI unit stands behind it ([Info.Key]):
// "rate_of_fire_hz".
//
// # Targets
//
// A [Target] lists what is wanted, a [Verdict] what a build makes of one [Want]. A figure
// that doesn't exist for a build is NaN, and misses whatever is wanted of it.
package figure
