//go:build race

package cycle_test

// scarce divides the counts of random builds: the race detector makes them ten
// times as slow, and looks for other things.
const scarce = 10
