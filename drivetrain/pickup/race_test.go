//go:build race

package pickup_test

// scarce divides the counts of random builds: the race detector makes them ten
// times as slow, and looks for other things.
const scarce = 5
