package fit_test

import (
	"os"
	"runtime/debug"
	"testing"
)

// Results are soon forgotten: collecting less often takes a twentieth of the tests' time away.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	os.Exit(m.Run())
}
