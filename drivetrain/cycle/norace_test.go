//go:build !race

package cycle_test

const scarce = 1
