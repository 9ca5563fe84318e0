// Package levers answers what is asked after a missed target: which part, and by how much?
//
// [Find] takes a build file's number keys one by one. Of each that moves a figure it
// tells what a small change does ([Effect]); of each want that is missed, the value of
// each key that alone would just meet it ([Single]), with what else that value does; and
// where no value alone meets all wants, the pairs of keys that do with the least change
// ([Pair]).
//
// # How small a change is, and how far one goes
//
// A step is one per cent of the value, or one of a count. Effects are central differences
// over half the step, checked against those over the whole one; where a key is at the end
// of its range they look to one side. Values are looked for inside the key's range, between half
// and twice what it is, counts among whole numbers, at sixteen places in each direction;
// what meets a want between two of these and not at either is found where the figure has
// its peak there. Zero has neither per cent nor half: what is zero moves in counts only.
//
// # Accuracy
//
// Flights are computed to 1e-8 and cycles to 1e-9, so that an effect of a ten-thousandth
// of a figure has three good digits. A value that is found is then tried as every other
// command computes, and rounded away from what the build has, to a thousandth of the
// change, so that it meets the want as it is written.
package levers
