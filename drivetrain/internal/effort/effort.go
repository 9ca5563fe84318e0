// Package effort says how much of what a test repeats is done: how many random builds it
// draws, how many of a long sweep's places it looks at. It is the only place that does.
//
// A test names the full count, and gets a share of it; it gets all of it where the
// environment variable AMPSTROKE_TESTS is "all", as the continuous checks set it. Only
// samples are counted so: what has a name of its own, such as a published case, is always
// looked at, and no tolerance knows of the effort.
//
//	for i, b := range randomBuilds(t, 1, effort.Of(250)) {
//
// A test that counts what it has seen among them asks for less, too:
//
//	assert.Greater(t, compared, effort.Seen(100))
package effort

import (
	"fmt"
	"os"
	"runtime/debug"
	"testing"
)

// Variable is the environment variable that asks for all.
const Variable = "AMPSTROKE_TESTS"

const (
	share = 10 // one in so many is a sample
	few   = 4  // the least that is one
)

// All tells whether everything is asked for. It panics on a value of the variable that it
// doesn't know: whoever has mistyped it would take a share for all.
func All() bool {
	switch v := os.Getenv(Variable); v { // at every call, so that the cache of test results knows of it
	case "":
		return false
	case "all":
		return true
	default:
		panic(fmt.Sprintf("effort: %s is %q: set it to \"all\", or not at all", Variable, v))
	}
}

// Of returns how many of n samples are taken: n, or a tenth of it, and four at least where
// there are as many.
func Of(n int) int {
	if All() {
		return n
	}
	return min(n, max(few, n/share))
}

// Seen returns what to ask of a count over samples that comes to more than n when all are
// taken: n, or half a tenth of it, since few samples stray farther from their mean.
func Seen(n int) int {
	if All() {
		return n
	}
	return n / share / 2
}

// Step returns the step of a sweep that takes n steps of a length when all are asked for,
// and else goes as far by as many steps as [Of] says.
func Step(length float64, n int) float64 {
	return length * float64(n) / float64(Of(n))
}

// Some returns the samples that are taken of many: all, or as many as [Of] says, evenly
// over them, with the first and the last.
func Some[T any](many []T) []T {
	n := Of(len(many))
	if n == len(many) {
		return many
	}
	some := make([]T, n)
	for i := range some {
		some[i] = many[i*(len(many)-1)/(n-1)]
	}
	return some
}

// Main runs the tests of a package that read, fly and draw thousands of things that are soon
// forgotten: collecting less often takes a twentieth to a third of their time away.
func Main(m *testing.M) {
	debug.SetGCPercent(400)
	os.Exit(m.Run())
}
