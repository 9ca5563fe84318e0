//go:build !race

package pickup_test

const scarce = 1
